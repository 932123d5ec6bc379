//! A question as it is typed: aims in words, what may move, what is locked, limits and
//! prices; each with what is wrong at its field.

use std::collections::BTreeMap;

use quantity::{Mass, Measured, parse_value};

use super::figure::{AIMED, aimed};
use super::goal::{self, From, Goal, Wish};
use super::settings::setting;
use crate::document::Document;
use crate::reader::{Assumption, Fault};
use crate::steer::fault;

/// Groups of what may move, with what each is; those that move unless something else is
/// said come first.
pub const GROUPS: [(&str, &str); 9] = [
    ("malts", "amounts of malts, adjuncts and sugars"),
    ("hops", "amounts of hops"),
    ("mash", "temperatures of the mash rests"),
    ("gas", "carbon dioxide of the package"),
    ("water", "salts and acid"),
    ("hop times", "hops to the other times of this recipe"),
    ("mash times", "times of the mash rests"),
    ("yeast", "how much yeast is pitched"),
    ("course", "all temperatures of the fermentation together"),
];

/// How many of the groups move unless something else is said.
const USUALLY: usize = 5;

/// Fields beside those of the figures.
pub const FIELDS: [&str; 17] = [
    "move",
    "lock",
    "limits",
    "prices",
    "most",
    "malt_scale",
    "hop_scale",
    "only_stores",
    "label_alcohol",
    "label_colour",
    "sample_gravity",
    "sample_refractometer",
    "draws",
    "only_best",
    "stores",
    "show",
    "on",
];

/// A question as typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TypedMatch {
    given: BTreeMap<String, String>,
}

impl<K: Into<String>, V: Into<String>> FromIterator<(K, V)> for TypedMatch {
    /// Ticks of one name are joined by commas.
    fn from_iter<I: IntoIterator<Item = (K, V)>>(pairs: I) -> Self {
        let mut given: BTreeMap<String, String> = BTreeMap::new();
        for (name, text) in pairs {
            let (name, text) = (name.into(), text.into());
            match given.get_mut(&name) {
                Some(before) if name == "move" => {
                    before.push_str(", ");
                    before.push_str(&text);
                }
                _ => {
                    given.insert(name, text);
                }
            }
        }
        Self { given }
    }
}

/// A limit that was asked for: of what, and between which amounts \[kg\].
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Asked {
    pub(super) of: String,
    pub(super) least: Option<f64>,
    pub(super) most: Option<f64>,
}

/// A question that was read.
#[derive(Debug, Clone)]
pub(super) struct Read {
    pub(super) goals: Vec<Goal>,
    pub(super) moves: Vec<String>,
    pub(super) locked: Vec<String>,
    pub(super) limits: Vec<Asked>,
    pub(super) prices: Vec<(String, f64)>,
    pub(super) most: Option<usize>,
    pub(super) malt_scale: Mass,
    pub(super) hop_scale: Mass,
    pub(super) only_stores: bool,
    /// No other answers beside the nearest.
    pub(super) only_best: bool,
    pub(super) draws: usize,
    pub(super) assumptions: Vec<Assumption>,
}

impl Read {
    /// Whether salts and acid may move.
    pub(super) fn water_moves(&self) -> bool {
        let locked = self.locked.iter().any(|l| l.starts_with("water"));
        !locked && self.moves.iter().any(|m| m == "water")
    }
}

impl TypedMatch {
    /// What was typed under a name; empty where nothing was.
    #[must_use]
    pub fn get(&self, name: &str) -> &str {
        self.given.get(name).map_or("", |text| text.trim())
    }

    /// The same with a text under a name, where nothing was typed there.
    #[must_use]
    pub fn or(mut self, name: &str, text: &str) -> Self {
        if self.get(name).is_empty() {
            self.given.insert(name.to_owned(), text.to_owned());
        }
        self
    }

    /// All that was typed: names and texts.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        let pairs = self.given.iter();
        pairs.map(|(name, text)| (name.as_str(), text.as_str()))
    }

    /// Whether a group moves.
    #[must_use]
    pub fn moves(&self, group: &str) -> bool {
        match self.get("move") {
            "" => GROUPS[..USUALLY].iter().any(|(name, _)| *name == group),
            some => parts(some, ',').any(|part| part == group),
        }
    }

    /// Reads it, for a document.
    ///
    /// # Errors
    /// Everything that is wrong, each at its field.
    pub(super) fn read(&self, document: &Document) -> Result<Read, Vec<Fault>> {
        self.read_beside(document, None)
    }

    /// The same, with goals in place of the aim of the document.
    ///
    /// # Errors
    /// Everything that is wrong, each at its field.
    pub(super) fn read_beside(
        &self,
        document: &Document,
        base: Option<Vec<Goal>>,
    ) -> Result<Read, Vec<Fault>> {
        let mut own = Fields {
            typed: self,
            faults: self.unknown(),
            assumptions: vec![],
        };
        let goals = own.goals(document, base);
        for word in parts(self.get("move"), ',') {
            if GROUPS.iter().all(|(name, _)| *name != word) {
                let names = GROUPS.map(|(name, _)| name).join(", ");
                own.wrong(
                    "move",
                    format!("{word:?} is nothing that moves"),
                    format!("write some of {names}"),
                );
            }
        }
        let read = Read {
            goals,
            moves: GROUPS
                .iter()
                .filter(|(name, _)| self.moves(name))
                .map(|(name, _)| (*name).to_owned())
                .collect(),
            locked: parts(self.get("lock"), ',')
                .map(str::to_lowercase)
                .collect(),
            limits: own.limits(),
            prices: own.prices(),
            most: own.whole("most", 1, 40),
            malt_scale: own.scale("malt_scale"),
            hop_scale: own.scale("hop_scale"),
            only_stores: self.get("only_stores") == "yes",
            only_best: self.get("only_best") == "yes",
            draws: own.whole("draws", 0, MOST_DRAWS).unwrap_or(USUAL_DRAWS),
            assumptions: std::mem::take(&mut own.assumptions),
        };
        if own.faults.is_empty() && read.goals.is_empty() {
            own.wrong(
                "original_gravity",
                "there is no aim".to_owned(),
                "say what the glass should hold, such as 1.050 ± 0.002, or give the batch an aim"
                    .to_owned(),
            );
        }
        if own.faults.is_empty() {
            Ok(read)
        } else {
            Err(own.faults)
        }
    }

    fn unknown(&self) -> Vec<Fault> {
        let known = |name: &str| FIELDS.contains(&name) || aimed(name).is_some();
        let names = self.given.keys().filter(|name| !known(name));
        names
            .map(|name| {
                let figures: Vec<&str> = AIMED.iter().map(|a| a.key).collect();
                let help = format!(
                    "ask for {}, {}",
                    figures.join(", "),
                    FIELDS[..FIELDS.len() - 2].join(", ")
                );
                fault(name, format!("{name:?} is no field of this question"), help)
            })
            .collect()
    }
}

/// Draws of what is not known, for the chance of an answer.
const USUAL_DRAWS: usize = 128;
const MOST_DRAWS: usize = 1024;

fn parts(text: &str, by: char) -> impl Iterator<Item = &str> {
    let lines = text.split([by, '\n']).map(str::trim);
    lines.filter(|part| !part.is_empty())
}

struct Fields<'t> {
    typed: &'t TypedMatch,
    faults: Vec<Fault>,
    assumptions: Vec<Assumption>,
}

impl Fields<'_> {
    /// The aim of the document, with what the label, a sample and the question itself put
    /// in its place.
    fn goals(&mut self, document: &Document, base: Option<Vec<Goal>>) -> Vec<Goal> {
        let mut goals =
            base.unwrap_or_else(|| goal::of_document(document.aim.as_ref(), &mut self.assumptions));
        for (key, centre, within, from) in self.of_label().into_iter().chain(self.of_sample()) {
            if let Some(figure) = aimed(key) {
                let wish = Wish::Near { centre, within };
                let goal = Goal::of(figure, wish, from, &mut self.assumptions);
                replace(&mut goals, goal);
            }
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

    fn limits(&mut self) -> Vec<Asked> {
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

    fn prices(&mut self) -> Vec<(String, f64)> {
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
                    "write what a kilogram costs, such as pilsner malt 1.80; Perle 42".to_owned(),
                ),
            }
        }
        found
    }

    fn whole(&mut self, field: &str, least: usize, most: usize) -> Option<usize> {
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

    fn scale(&mut self, field: &'static str) -> Mass {
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

    fn wrong(&mut self, path: &str, message: String, help: String) {
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

#[cfg(test)]
mod tests {
    use super::*;

    fn document() -> Document {
        let text = include_str!("../../../../examples/lantern-pale.toml");
        Document::read(text).unwrap().0
    }

    fn typed(pairs: &[(&str, &str)]) -> TypedMatch {
        pairs.iter().copied().collect()
    }

    #[test]
    fn the_aim_of_the_document_gives_way_to_what_is_asked() {
        let asked = typed(&[
            ("colour", "12 ± 1 EBC"),
            ("clove", "free"),
            ("label_alcohol", "5.0 %"),
            ("limits", "wheat malt at most 100 g; Perle 10 g to 40 g"),
            ("prices", "pilsner malt 1.80; Perle 42,5"),
        ]);
        let read = asked.read(&document()).unwrap();
        let goal = |key: &str| read.goals.iter().find(|g| g.figure.key == key);
        assert_eq!(goal("colour").unwrap().high, Some(13.0));
        assert!(goal("clove").is_none() && goal("bitterness").is_some());
        let alcohol = goal("alcohol").unwrap();
        assert!(alcohol.from == From::Label && (alcohol.tolerance - 0.005).abs() < 1e-12);
        assert_eq!(read.limits[1].of, "perle");
        assert_eq!(read.limits[1].least, Some(0.01));
        assert!((read.prices[1].1 - 42.5).abs() < 1e-12);
    }

    #[test]
    fn everything_wrong_is_told_at_its_field() {
        let odd = typed(&[
            ("colour", "dark"),
            ("move", "malts, kettle"),
            ("limits", "malt; oats 3 kg to 1 kg"),
            ("prices", "malt dear"),
            ("most", "some"),
            ("malt_scale", "0 g"),
            ("hop_scale", "1 L"),
            ("label_alcohol", "strong"),
            ("sample_gravity", "heavy"),
            ("head", "2 cm"),
        ]);
        let faults = odd.read(&document()).unwrap_err();
        for path in [
            "colour",
            "move",
            "limits",
            "prices",
            "most",
            "malt_scale",
            "hop_scale",
            "label_alcohol",
            "sample_gravity",
            "head",
        ] {
            let fault = faults.iter().find(|f| f.path == path);
            assert!(
                fault.is_some_and(|f| !f.help.is_empty()),
                "{path}: {faults:?}"
            );
        }
    }
}
