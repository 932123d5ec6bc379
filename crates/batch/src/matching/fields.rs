//! The fields of a question, each read with what is wrong in it.

use quantity::{Mass, Measured, parse_value};

use super::figure::{AIMED, aimed};
use super::goal::{self, From, Goal, Wish};
use super::settings::setting;
use super::tasted;
use super::typed::{Asked, TypedMatch, parts};
use crate::document::Document;
use crate::reader::{Assumption, Fault};
use crate::steer::fault;

/// What was typed, as it is read; what is wrong in it is gathered.
pub(super) struct Fields<'t> {
    pub(super) typed: &'t TypedMatch,
    pub(super) faults: Vec<Fault>,
    pub(super) assumptions: Vec<Assumption>,
}

impl Fields<'_> {
    /// The aim of the document, with what the label, a sample and the question itself put
    /// in its place.
    pub(super) fn goals(&mut self, document: &Document, base: Option<Vec<Goal>>) -> Vec<Goal> {
        let mut goals =
            base.unwrap_or_else(|| goal::of_document(document.aim.as_ref(), &mut self.assumptions));
        for (key, centre, within, from) in self.of_label().into_iter().chain(self.of_sample()) {
            if let Some(figure) = aimed(key) {
                let wish = Wish::Near { centre, within };
                let goal = Goal::of(figure, wish, from, &mut self.assumptions);
                replace(&mut goals, goal);
            }
        }
        for goal in self.of_tasting() {
            replace(&mut goals, goal);
        }
        for figure in &AIMED {
            let text = self.typed.get(figure.key);
            if text.is_empty() {
                continue;
            }
            match goal::asked(figure, text, &mut self.assumptions) {
                Ok(Some(goal)) => replace(&mut goals, goal),
                Ok(None) => goals.retain(|g| g.figure.key != figure.key),
                Err(fault) => self.faults.push(fault),
            }
        }
        // A tolerance that was taken for an aim that gave way says nothing.
        self.assumptions.retain(|a| {
            let of = a.path.strip_prefix("aim.").unwrap_or("");
            let goal = goals.iter().find(|g| g.figure.key == of);
            goal.is_none_or(|g| self.typed.get(of).is_empty() || g.from == From::Asked)
                && goal.is_some()
        });
        let mut seen = std::collections::BTreeSet::new();
        self.assumptions.retain(|a| seen.insert(a.path.clone()));
        goals.sort_by_key(|g| AIMED.iter().position(|a| a.key == g.figure.key));
        goals
    }

    /// What a label says: key, middle, half of the width.
    fn of_label(&mut self) -> Vec<(&'static str, f64, f64, From)> {
        let mut found = Vec::new();
        for (field, key) in [("label_alcohol", "alcohol"), ("label_colour", "colour")] {
            let (text, Some(figure)) = (self.typed.get(field), aimed(key)) else {
                continue;
            };
            if text.is_empty() {
                continue;
            }
            match (figure.parse)(text) {
                Ok((centre, sd)) => {
                    let within = if sd > 0.0 || key != "alcohol" {
                        sd
                    } else {
                        label_tolerance(centre)
                    };
                    found.push((key, centre, within, From::Label));
                }
                Err(error) => self.wrong(field, error.fault(), error.help()),
            }
        }
        found
    }

    /// What a tasting of the admired beer said, in words.
    fn of_tasting(&mut self) -> Vec<Goal> {
        let text = self.typed.get("tasted").to_owned();
        let mut found = Vec::new();
        for one in tasted::read(&text) {
            match one {
                Ok(tasted) => {
                    let goal = Goal::of(
                        tasted.figure,
                        tasted.wish,
                        From::Tasting,
                        &mut self.assumptions,
                    );
                    self.assumptions
                        .retain(|a| a.path != tasted.assumption.path);
                    self.assumptions.push(tasted.assumption);
                    found.push(goal);
                }
                Err(told) => self.wrong(
                    "tasted",
                    told,
                    "write such as clove clear; banana faint; fusel not noticed".to_owned(),
                ),
            }
        }
        found
    }

    /// What a hydrometer and a refractometer say of a sample without its gas.
    fn of_sample(&mut self) -> Vec<(&'static str, f64, f64, From)> {
        let (gravity, reading) = (
            self.typed.get("sample_gravity").to_owned(),
            self.typed.get("sample_refractometer").to_owned(),
        );
        if gravity.is_empty() && reading.is_empty() {
            return Vec::new();
        }
        let gravity = match gravity.parse::<Measured<quantity::Gravity>>() {
            Ok(gravity) => gravity,
            Err(error) => {
                self.wrong("sample_gravity", error.fault(), error.help());
                return Vec::new();
            }
        };
        let final_gravity = |sd: f64| ("final_gravity", gravity.canonical(), sd, From::Sample);
        if reading.is_empty() {
            return vec![final_gravity(2.0 * gravity.sd())];
        }
        let reading = match reading.parse() {
            Ok(reading) => reading,
            Err(error) => {
                let error: quantity::QuantityError = error;
                self.wrong("sample_refractometer", error.fault(), error.help());
                return Vec::new();
            }
        };
        match super::sample::beer_of(gravity, reading) {
            Ok(beer) => vec![
                final_gravity(2.0 * gravity.sd()),
                (
                    "original_gravity",
                    beer.original.canonical(),
                    2.0 * beer.original.sd(),
                    From::Sample,
                ),
                (
                    "alcohol",
                    beer.alcohol.canonical(),
                    2.0 * beer.alcohol.sd(),
                    From::Sample,
                ),
            ],
            Err(told) => {
                let (message, help) = crate::stream::split(&told);
                self.wrong("sample_refractometer", message, help);
                Vec::new()
            }
        }
    }

    pub(super) fn limits(&mut self) -> Vec<Asked> {
        let text = self.typed.get("limits").to_owned();
        let mut found = Vec::new();
        for line in parts(&text, ';') {
            match limit(line) {
                Ok(asked) => found.push(asked),
                Err(told) => self.wrong(
                    "limits",
                    format!("{line:?}: {told}"),
                    "write such as roasted barley at most 100 g; pilsner malt 2 kg to 4 kg"
                        .to_owned(),
                ),
            }
        }
        found
    }

    pub(super) fn prices(&mut self) -> Vec<(String, f64)> {
        let text = self.typed.get("prices").to_owned();
        let mut found = Vec::new();
        for line in parts(&text, ';') {
            let price = line.rsplit_once(' ').and_then(|(name, price)| {
                let price = price.replace(',', ".").parse::<f64>().ok()?;
                let fine = price.is_finite() && (0.0..=1e6).contains(&price);
                fine.then(|| (name.trim().to_lowercase(), price))
            });
            match price {
                Some(price) => found.push(price),
                None => self.wrong(
                    "prices",
                    format!("{line:?} is no price"),
                    "write what a kilogram costs, a packet of yeast or a litre of acid, such as \
                     pilsner malt 1.80; Perle 42"
                        .to_owned(),
                ),
            }
        }
        found
    }

    pub(super) fn whole(&mut self, field: &str, least: usize, most: usize) -> Option<usize> {
        let text = self.typed.get(field);
        if text.is_empty() {
            return None;
        }
        let number = text.parse::<usize>().ok();
        let number = number.filter(|n| (least..=most).contains(n));
        if number.is_none() {
            let help = format!("write a whole number from {least} to {most}");
            self.wrong(field, format!("{text:?} cannot be used"), help);
        }
        number
    }

    pub(super) fn scale(&mut self, field: &'static str) -> Mass {
        let text = self.typed.get(field);
        let usual = setting(field);
        if text.is_empty() {
            self.assumptions.push(usual.assumed(field));
            return usual.quantity();
        }
        match parse_value::<Mass>(text) {
            Ok(step) if step.kg() > 0.0 => step,
            Ok(_) => {
                let help = "write it such as 10 g".to_owned();
                self.wrong(field, "a step of nothing is none".to_owned(), help);
                usual.quantity()
            }
            Err(error) => {
                self.wrong(field, error.fault(), error.help());
                usual.quantity()
            }
        }
    }

    pub(super) fn wrong(&mut self, path: &str, message: String, help: String) {
        self.faults.push(fault(path, message, help));
    }
}

fn replace(goals: &mut Vec<Goal>, goal: Goal) {
    goals.retain(|g| g.figure.key != goal.figure.key);
    goals.push(goal);
}

/// What alcohol on a label may be off: 0.5 % vol up to 5.5 % vol, 1.0 above (EU Regulation
/// 1169/2011, annex XII, from memory).
fn label_tolerance(alcohol: f64) -> f64 {
    if alcohol <= 0.055 { 0.005 } else { 0.01 }
}

/// "NAME at most 100 g", "NAME at least 1 kg", "NAME 50 g to 300 g".
fn limit(line: &str) -> Result<Asked, String> {
    let mass = |text: &str| {
        parse_value::<Mass>(text.trim())
            .map(Mass::kg)
            .map_err(|error| error.fault())
    };
    let named = |of: &str| {
        let of = of.trim().to_lowercase();
        if of.is_empty() {
            Err("of what is not said".to_owned())
        } else {
            Ok(of)
        }
    };
    if let Some((of, most)) = line.split_once(" at most ") {
        return Ok(Asked {
            of: named(of)?,
            least: None,
            most: Some(mass(most)?),
        });
    }
    if let Some((of, least)) = line.split_once(" at least ") {
        return Ok(Asked {
            of: named(of)?,
            least: Some(mass(least)?),
            most: None,
        });
    }
    let (first, most) = line
        .rsplit_once(" to ")
        .ok_or("neither a least nor a most is said")?;
    let most = mass(most)?;
    // The least is the last number of the first part, with its unit.
    let digits = first
        .char_indices()
        .rfind(|(i, c)| c.is_ascii_digit() && (*i == 0 || first[..*i].ends_with(' ')));
    let (at, _) = digits.ok_or("the least is not said")?;
    let least = mass(&first[at..])?;
    if least > most {
        return Err("the least is above the most".to_owned());
    }
    Ok(Asked {
        of: named(&first[..at])?,
        least: Some(least),
        most: Some(most),
    })
}
