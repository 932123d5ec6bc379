//! The same beer in another volume, on another kit, in another place, on another water:
//! matched anew, not multiplied.
//!
//! What the batch comes to as it stands is the aim; the search begins where multiplying
//! alone would end, and what that alone would have given is told beside it.

use quantity::{Altitude, Mass, Volume, parse_value};

use super::figure::{AIMED, Aimed};
use super::goal::{From, Goal, Wish};
use super::lever::trimmed;
use super::levers::AtHand;
use super::{GoOn, MatchError, Matched, TypedMatch, found, read};
use crate::document::Document;
use crate::edit::{EditError, add_entry, remove_entry, set_value, written_values};
use crate::library::{Analysis, Brewhouse};
use crate::reader::Fault;
use crate::steer::fault;
use crate::stream::Reckoning;

/// Where a batch goes. Text as it is written; what is empty stays.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Destination {
    /// Wort into the fermenter.
    pub volume: String,
    /// Height of the place.
    pub altitude: String,
    /// The document of a brewhouse, whose kit takes the place of the batch's.
    pub brewhouse: Option<String>,
    /// The name of a water and the text of an analysis of it, which takes the place of all
    /// waters of the batch.
    pub water: Option<(String, String)>,
}

/// A batch moved.
#[derive(Debug, Clone)]
pub struct MovedBatch {
    /// The document with everything multiplied, in its new place.
    pub multiplied: String,
    /// By how much.
    pub factor: f64,
    /// What the batch came to before, figure by figure of [`Matched::goals`].
    pub reached: Vec<f64>,
    /// What came of the search from there; [`Matched::before`] is what multiplying alone
    /// gives.
    pub matched: Matched,
}

/// Figures that are kept wherever the batch goes.
const KEPT: [&str; 7] = [
    "original_gravity",
    "final_gravity",
    "alcohol",
    "colour",
    "bitterness",
    "carbon_dioxide",
    "mash_ph",
];
/// Figures that are kept on another water.
const KEPT_OF_WATER: [&str; 3] = ["calcium", "chloride", "sulfate"];
/// What moves unless something else is said: everything but the times of hops.
const MOVES: &str = "malts, hops, mash, gas, water, mash times, yeast, course";

/// Moves a batch; nothing is kept.
///
/// # Errors
/// [`MatchError`]; a destination that cannot be read is a fault of the question.
pub fn moved(
    text: &str,
    to: &Destination,
    typed: &TypedMatch,
    at_hand: Option<&AtHand<'_>>,
    go_on: GoOn<'_>,
) -> Result<MovedBatch, MatchError> {
    let (document, r) = read(text)?;
    let factor = to.factor(&document).map_err(MatchError::Question)?;
    let there = to.applied(text, &document, factor)?;
    let (new, new_r) = read(&there)?;
    let goals = to.goals(&document, &r);
    let typed = typed.clone().or("move", MOVES);
    let asked = typed
        .read_beside(&new, Some(goals))
        .map_err(MatchError::Question)?;
    let of = |g: &Goal| (g.figure.read)(&r);
    let reached: Option<Vec<f64>> = asked.goals.iter().map(of).collect();
    let matched = found(&there, &new, &new_r, asked, at_hand, go_on)?;
    Ok(MovedBatch {
        multiplied: there,
        factor,
        reached: reached.ok_or(MatchError::Unbrewable)?,
        matched,
    })
}

impl Destination {
    /// By how much everything is multiplied.
    fn factor(&self, document: &Document) -> Result<f64, Vec<Fault>> {
        let mut faults = Vec::new();
        let mut told = |path: &str, error: quantity::QuantityError| {
            faults.push(fault(path, error.fault(), error.help()));
        };
        if !self.altitude.trim().is_empty()
            && let Err(error) = parse_value::<Altitude>(self.altitude.trim())
        {
            told("altitude", error);
        }
        let mut factor = 1.0;
        if !self.volume.trim().is_empty() {
            match parse_value::<Volume>(self.volume.trim()) {
                Ok(volume) => factor = volume.l() / document.batch.volume.value.l(),
                Err(error) => told("volume", error),
            }
        }
        if !(factor > 1e-3 && factor < 1e4) {
            faults.push(fault(
                "volume",
                "there is no such brewing".to_owned(),
                "write the wort into the fermenter, such as 40 L".to_owned(),
            ));
        }
        if let Some(Err(mut wrong)) = self.brewhouse.as_deref().map(Brewhouse::read) {
            wrong
                .iter_mut()
                .for_each(|f| f.path = format!("brewhouse.{}", f.path));
            faults.append(&mut wrong);
        }
        if let Some((name, text)) = &self.water
            && let Err(mut wrong) = Analysis::read(name, text)
        {
            wrong
                .iter_mut()
                .for_each(|f| f.path = format!("water.{}", f.path));
            faults.append(&mut wrong);
        }
        if faults.is_empty() {
            Ok(factor)
        } else {
            Err(faults)
        }
    }

    /// The text in its new place, with everything multiplied.
    fn applied(&self, text: &str, document: &Document, factor: f64) -> Result<String, MatchError> {
        let wrong = |error: EditError| {
            MatchError::Question(vec![fault("volume", error.to_string(), String::new())])
        };
        let mut made = multiplied(text, document, factor).map_err(wrong)?;
        for (path, value) in [
            ("batch.volume", &self.volume),
            ("kit.altitude", &self.altitude),
        ] {
            if !value.trim().is_empty() {
                made = set_value(&made, path, value.trim()).map_err(wrong)?;
            }
        }
        if let Some(brewhouse) = &self.brewhouse {
            made = with_kit(&made, brewhouse, &self.altitude).map_err(wrong)?;
        }
        if let Some((name, analysis)) = &self.water {
            made = on_water(&made, document, name, analysis).map_err(wrong)?;
        }
        Ok(made)
    }

    /// What the batch comes to as it stands, within what its own aim or what is usual
    /// would do.
    fn goals(&self, document: &Document, r: &Reckoning) -> Vec<Goal> {
        let aim = document.aim.as_ref();
        let goal = |figure: &'static Aimed| {
            let own = aim.and_then(figure.aim);
            let kept = KEPT.contains(&figure.key)
                || own.is_some()
                || self.water.is_some() && KEPT_OF_WATER.contains(&figure.key);
            let centre = kept.then(|| (figure.read)(r)).flatten()?;
            let wish = match own {
                Some((most, _)) if figure.key == "sparge_alkalinity" => Wish::AtMost(most),
                own => Wish::Near {
                    centre,
                    within: own.map_or(0.0, |(_, within)| within),
                },
            };
            Some(Goal::of(figure, wish, From::Reached, &mut Vec::new()))
        };
        AIMED.iter().filter_map(goal).collect()
    }
}

/// Amounts of malts, hops, salts, acids and yeast by a factor.
fn multiplied(text: &str, document: &Document, factor: f64) -> Result<String, EditError> {
    let mut made = text.to_owned();
    if (factor - 1.0).abs() < 1e-9 {
        return Ok(made);
    }
    let mut set = |path: String, written: String| -> Result<(), EditError> {
        made = set_value(&made, &path, &written)?;
        Ok(())
    };
    let mass = |kg: f64| {
        if kg >= 1.0 {
            format!("{} kg", trimmed(kg))
        } else {
            format!("{} g", trimmed(1e3 * kg))
        }
    };
    let times = |m: Mass| mass(factor * m.kg());
    for (i, entry) in document.grist.iter().enumerate() {
        set(
            format!("grist[{}].amount", i + 1),
            times(entry.amount.value),
        )?;
    }
    for (i, entry) in document.hops.iter().enumerate() {
        set(format!("hop[{}].amount", i + 1), times(entry.amount.value))?;
    }
    for (i, entry) in document.water.salts.iter().enumerate() {
        set(
            format!("water.salt[{}].amount", i + 1),
            times(entry.amount.value),
        )?;
    }
    for (i, entry) in document.water.acids.iter().enumerate() {
        if let Some(volume) = entry.volume {
            let ml = format!("{} mL", trimmed(1e3 * factor * volume.value.l()));
            set(format!("water.acid[{}].volume", i + 1), ml)?;
        }
        if let Some(m) = entry.mass {
            set(format!("water.acid[{}].mass", i + 1), times(m.value))?;
        }
    }
    match document.yeast.slurry {
        Some(slurry) => {
            let ml = format!("{} mL", trimmed(1e3 * factor * slurry.value.l()));
            set("yeast.slurry".to_owned(), ml)?;
        }
        None => {
            let packets = trimmed(factor * document.yeast.packets);
            set("yeast.packets".to_owned(), packets)?;
        }
    }
    if let Some(starter) = document.yeast.starter {
        let litres = format!("{} L", trimmed(factor * starter.value.l()));
        set("yeast.starter".to_owned(), litres)?;
    }
    Ok(made)
}

/// The kit of a brewhouse in place of the one of the text.
fn with_kit(text: &str, brewhouse: &str, altitude: &str) -> Result<String, EditError> {
    let mut made = text.to_owned();
    for path in written_values(text)?
        .keys()
        .filter(|p| p.starts_with("kit."))
    {
        made = set_value(&made, path, "")?;
    }
    for (path, value) in written_values(brewhouse)? {
        if path.starts_with("kit.") {
            made = set_value(&made, &path, &value)?;
        }
    }
    if !altitude.trim().is_empty() {
        made = set_value(&made, "kit.altitude", altitude.trim())?;
    }
    Ok(made)
}

/// One water in place of all of the text.
fn on_water(
    text: &str,
    document: &Document,
    name: &str,
    analysis: &str,
) -> Result<String, EditError> {
    let mut made = text.to_owned();
    for at in (1..=document.water.sources.len()).rev() {
        made = remove_entry(&made, &format!("water.source[{at}]"))?;
    }
    // What is said of the analysis itself has no place in a source.
    let mut keys = written_values(analysis)?;
    keys.retain(|key, _| !matches!(key.as_str(), "laboratory" | "notes"));
    let mut values = vec![("name", name)];
    values.extend(keys.iter().map(|(k, v)| (k.as_str(), v.as_str())));
    add_entry(&made, "water.source", &values)
}
