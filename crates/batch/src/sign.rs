//! The sign of each stage: fine, look or act, with the reasons in words.

use glass::Grade;
use quantity::{Note, Weight};

use crate::stream::Reckoning;

/// A stage of the stream, as the page shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// The water.
    Water,
    /// The mash.
    Mash,
    /// The boil.
    Boil,
    /// The fermentation.
    Ferment,
    /// The package.
    Package,
    /// The glass.
    Glass,
}

impl Stage {
    /// All of them, from tap to glass.
    pub const ALL: [Self; 6] = [
        Self::Water,
        Self::Mash,
        Self::Boil,
        Self::Ferment,
        Self::Package,
        Self::Glass,
    ];

    /// The word for it, also used in addresses.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Water => "water",
            Self::Mash => "mash",
            Self::Boil => "boil",
            Self::Ferment => "ferment",
            Self::Package => "package",
            Self::Glass => "glass",
        }
    }
}

/// How a stage stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// The stage.
    pub stage: Stage,
    /// The heaviest of its notes.
    pub weight: Weight,
    /// Its notes, the heaviest first.
    pub notes: Vec<Note>,
}

impl Sign {
    fn of(stage: Stage, notes: impl IntoIterator<Item = Note>) -> Self {
        let mut notes: Vec<Note> = notes.into_iter().collect();
        notes.sort_by_key(|n| std::cmp::Reverse(n.weight));
        let mut seen = std::collections::BTreeSet::new();
        notes.retain(|n| seen.insert(n.text.clone()));
        Self {
            stage,
            weight: notes.first().map_or(Weight::Fine, |n| n.weight),
            notes,
        }
    }

    /// The heaviest reason, unless all is fine.
    #[must_use]
    pub fn reason(&self) -> Option<&str> {
        self.notes
            .first()
            .filter(|n| n.weight > Weight::Fine)
            .map(|n| n.text.as_str())
    }
}

/// What the aim says of the liquors.
const AIMS_OF_WATER: [&str; 9] = [
    "calcium",
    "magnesium",
    "sodium",
    "chloride",
    "sulfate",
    "sulfate_to_chloride",
    "alkalinity",
    "residual_alkalinity",
    "sparge_alkalinity",
];

pub(crate) fn signs(r: &Reckoning) -> Vec<Sign> {
    let water = r
        .water
        .notes
        .clone()
        .into_iter()
        .chain(off_aim(r, &AIMS_OF_WATER));
    let mash_ph = r.mash_ph.iter().flat_map(|m| m.notes.clone());
    let read = r.reading.iter().flat_map(|advice| advice.notes.clone());
    let missed = r.missed_mash().map(|missed| {
        Note::look(format!(
            "The mash read {} where {} was planned: the limit of attenuation comes to {} and not to {}.",
            missed.read, missed.planned, missed.limit_now, missed.limit_planned
        ))
    });
    let mash = mash_ph
        .chain(read)
        .chain(missed)
        .chain(r.mash.notes.clone())
        .chain(r.volumes.notes.clone())
        .chain(off_aim(r, &["mash_ph"]));
    let boil = r
        .boil
        .report
        .notes
        .clone()
        .into_iter()
        .chain(r.day.iter().flat_map(|d| d.stands.notes.clone()))
        .chain(r.cleaning.notes(Stage::Boil))
        .chain(off_aim(r, &["original_gravity", "bitterness"]));
    let ferment = r
        .fermentation
        .notes
        .clone()
        .into_iter()
        .chain(r.cleaning.notes(Stage::Ferment))
        .chain(off_aim(r, &["final_gravity"]));
    let package = r.packaging.notes.clone().into_iter();
    let package = package.chain(r.cleaning.notes(Stage::Package));
    let glass = r
        .glass
        .notes
        .clone()
        .into_iter()
        .chain(risks(r))
        .chain(off_aim(
            r,
            &["alcohol", "colour", "carbon_dioxide", "clove", "banana"],
        ));
    vec![
        Sign::of(Stage::Water, water),
        Sign::of(Stage::Mash, mash),
        Sign::of(Stage::Boil, boil),
        Sign::of(Stage::Ferment, ferment),
        Sign::of(Stage::Package, package),
        Sign::of(Stage::Glass, glass),
    ]
}

/// Figures that miss the aim by more than the spread that would do.
fn off_aim<'r>(r: &'r Reckoning, keys: &'r [&'static str]) -> impl Iterator<Item = Note> + 'r {
    r.aim
        .iter()
        .filter(move |line| keys.contains(&line.key) && line.met == Some(false))
        .map(|line| {
            Note::look(format!(
                "{} {}, aimed at {}",
                line.name, line.reckoned.metric, line.aim.metric
            ))
        })
}

/// Risks that nobody asked for. A note that the aim names is no fault: there the
/// aim's own line speaks.
fn risks(r: &Reckoning) -> impl Iterator<Item = Note> + '_ {
    let aimed = |key: &str| r.aim.iter().any(|line| line.key == key);
    r.glass
        .risks
        .iter()
        .filter(move |risk| !aimed(&risk.key))
        .filter_map(|risk| match (risk.grade, risk.at_most) {
            (Grade::High, _) if risk.key == "medicinal" => Some(Note::act(format!(
                "{} risk high: {}",
                risk.title.to_lowercase(),
                risk.reason
            ))),
            (Grade::High, _) => Some(Note::look(format!(
                "{}: {}",
                risk.title.to_lowercase(),
                risk.reason
            ))),
            (Grade::Moderate, _) => Some(Note::look(format!(
                "{} {}: {}",
                risk.title.to_lowercase(),
                risk.grade.word(),
                risk.reason
            ))),
            (_, Grade::High) if risk.key == "medicinal" => Some(Note::look(format!(
                "{} risk could be high: {}",
                risk.title.to_lowercase(),
                risk.reason
            ))),
            _ => None,
        })
}
