//! A question as it is typed: aims in words, what may move, what is locked, limits and
//! prices; each with what is wrong at its field.

use std::collections::BTreeMap;

use quantity::Mass;

use super::fields::Fields;
use super::figure::{AIMED, aimed};
use super::goal::Goal;
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
pub const FIELDS: [&str; 18] = [
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
    "tasted",
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

pub(super) fn parts(text: &str, by: char) -> impl Iterator<Item = &str> {
    let lines = text.split([by, '\n']).map(str::trim);
    lines.filter(|part| !part.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::matching::goal::From;

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
            ("tasted", "banana faint; fusel not noticed"),
            ("limits", "wheat malt at most 100 g; Perle 10 g to 40 g"),
            ("prices", "pilsner malt 1.80; Perle 42,5"),
        ]);
        let read = asked.read(&document()).unwrap();
        let goal = |key: &str| read.goals.iter().find(|g| g.figure.key == key);
        assert_eq!(goal("colour").unwrap().high, Some(13.0));
        assert!(goal("clove").is_none() && goal("bitterness").is_some());
        let alcohol = goal("alcohol").unwrap();
        assert!(alcohol.from == From::Label && (alcohol.tolerance - 0.005).abs() < 1e-12);
        assert!(goal("banana").is_some_and(|g| g.from == From::Tasting));
        assert!(goal("fusel").is_some_and(|g| g.low.is_none()));
        let told = read.assumptions.iter().find(|a| a.path == "aim.banana");
        assert_eq!(told.map(|a| a.mark), Some(quantity::Mark::Judgement));
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
            ("tasted", "smoke clear"),
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
            "tasted",
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
