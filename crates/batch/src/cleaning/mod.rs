//! How the vessels of a batch were cleaned: what that can leave in the beer, what was
//! wrong with it, and whether two agents met that must not.
//!
//! ```
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../../examples/lantern-pale.toml").to_owned()
//!     + "\n[[cleaning]]\nvessel = \"fermenter\"\nagent = \"hypochlorite\"\nconcentration = \"200 mg/L\"\nrinse = \"none\"\n";
//! let (document, assumptions) = Document::read(&text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! assert!(reckoning.cleaning.can_leave().any(|leaves| leaves.fault == "medicinal"));
//! # Ok::<(), String>(())
//! ```

mod question;

use package::PackageError;
use package::cleaning::{
    Agent, CleaningUse, Leaves, Mixture, Residue, Rinse, Severity, Strength, kinds_of, never_meet,
    residue,
};
use quantity::{Caution, Chlorine, Note, Volume};
use water::ResidualChlorine;

use crate::document::{Cleaned, CleaningEntry, Document, Material};
use crate::sign::Stage;

pub use question::{MixQuestion, Mixed, Together, mix, together};

/// Beer in the line that a glass is poured from (judgement: a pint of beer or so).
const LINE_BEER: Volume = Volume::from_l(0.5);

/// What became of all the cleaning of a batch.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cleanings {
    /// One for each entry of the document.
    pub steps: Vec<Step>,
}

/// One use of an agent.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What was cleaned.
    pub vessel: Cleaned,
    /// With what.
    pub agent: &'static Agent,
    /// How strong, if said.
    pub strength: Option<Strength>,
    /// How it was rinsed.
    pub rinse: Rinse,
    /// What is left, and what was wrong.
    pub residue: Residue,
    /// What it met that it must not.
    pub met: Vec<Met>,
}

/// A meeting that must not be.
#[derive(Debug, Clone, PartialEq)]
pub struct Met {
    /// With what, in words.
    pub with: String,
    /// What comes of it.
    pub mixture: &'static Mixture,
}

impl Cleanings {
    /// The faults that cleaning can have left in the beer.
    pub fn can_leave(&self) -> impl Iterator<Item = &'static Leaves> + '_ {
        self.steps
            .iter()
            .flat_map(|step| step.residue.leaves.iter().copied())
    }

    /// All that can hurt someone.
    pub(crate) fn cautions(&self) -> impl Iterator<Item = &Caution> {
        self.steps.iter().flat_map(|step| &step.residue.cautions)
    }

    /// The remarks that belong to a stage.
    pub(crate) fn notes(&self, stage: Stage) -> Vec<Note> {
        let steps = self
            .steps
            .iter()
            .filter(|step| stage_of(step.vessel) == stage);
        steps.flat_map(Step::notes).collect()
    }

    /// All remarks.
    #[must_use]
    pub fn all_notes(&self) -> Vec<Note> {
        self.steps.iter().flat_map(Step::notes).collect()
    }
}

impl Step {
    /// What was wrong, in words.
    #[must_use]
    pub fn notes(&self) -> Vec<Note> {
        let place = self.vessel.word();
        let told = |note: &Note| Note {
            weight: note.weight,
            text: format!("{place}: {}", note.text),
        };
        let met = self.met.iter().map(|met| {
            let text = format!(
                "{place}: {} must never meet {}: it gives {}",
                self.agent.name, met.with, met.mixture.gives
            );
            match met.mixture.severity {
                Severity::Danger => Note::act(text),
                Severity::Spoils => Note::look(text),
            }
        });
        met.chain(self.residue.notes.iter().map(told)).collect()
    }
}

fn stage_of(vessel: Cleaned) -> Stage {
    match vessel {
        Cleaned::MashTun | Cleaned::Kettle | Cleaned::Chiller => Stage::Boil,
        Cleaned::Fermenter => Stage::Ferment,
        Cleaned::Bottles | Cleaned::Keg | Cleaned::Line => Stage::Package,
    }
}

/// Goes through all that was cleaned.
pub(crate) fn cleanings(document: &Document, wort: Volume) -> Result<Cleanings, PackageError> {
    let mut steps: Vec<Step> = Vec::new();
    for (place, entry) in document.cleaning.iter().enumerate() {
        let agent = Agent::find(&entry.agent)?;
        let strength = strength(entry);
        let residue = residue(&CleaningUse {
            agent,
            strength,
            contact: entry.contact.map(|t| t.value),
            temperature: entry.temperature.map(|t| t.value),
            rinse: entry.rinse,
            rinse_volume: entry.rinse_volume.value,
            film: entry.left.upper(),
            beer: beer_of(entry.vessel, document, wort),
        })?;
        let met = met(entry, agent, document.cleaning.iter().take(place))?;
        steps.push(Step {
            vessel: entry.vessel,
            agent,
            strength,
            rinse: entry.rinse,
            residue,
            met,
        });
    }
    Ok(Cleanings { steps })
}

/// Chlorine that a vessel keeps meets beer as that of the tap does: it counts in what
/// can have been at most.
pub(crate) fn with_chlorine_left(met: &mut ResidualChlorine, cleaning: &Cleanings) {
    let chlorine = cleaning
        .steps
        .iter()
        .filter(|s| s.agent.kinds.iter().any(|k| k == "chlorine"));
    let left: f64 = chlorine
        .filter_map(|s| s.residue.at_most)
        .map(quantity::MassConcentration::mg_per_l)
        .sum();
    met.at_most = Chlorine::from_mg_per_l(met.at_most.mg_per_l() + left);
}

fn strength(entry: &CleaningEntry) -> Option<Strength> {
    let active = entry.concentration.map(|c| Strength::Active(c.value));
    active.or(entry.dilution.map(|d| Strength::Mixed(d.value)))
}

fn beer_of(vessel: Cleaned, document: &Document, wort: Volume) -> Volume {
    match vessel {
        Cleaned::Bottles => document.package.bottle_volume.value,
        Cleaned::Line => LINE_BEER,
        _ => wort,
    }
}

/// What an agent met: the wall, or whatever was in the vessel since it was last rinsed.
fn met<'e>(
    entry: &CleaningEntry,
    agent: &Agent,
    before: impl DoubleEndedIterator<Item = &'e CleaningEntry>,
) -> Result<Vec<Met>, PackageError> {
    let mut all = Vec::new();
    let mut meets = |kinds: &[String], with: &str| {
        let found = never_meet(&agent.kinds, kinds).into_iter();
        all.extend(found.map(|mixture| Met {
            with: with.to_owned(),
            mixture,
        }));
    };
    let wall = match entry.material {
        Some(Material::Aluminium) => Some("aluminium"),
        // Minutes at use strength do no harm.
        Some(Material::Stainless) if long(entry) => Some("stainless-steel"),
        _ => None,
    };
    if let Some(wall) = wall {
        let wall = kinds_of(wall)?;
        meets(wall.kinds, wall.name);
    }
    let same = before.rev().filter(|b| b.vessel == entry.vessel);
    for before in same.take_while(|b| !was_rinsed(b)) {
        let before = Agent::find(&before.agent)?;
        let with = format!("{} that was not rinsed out before", before.name);
        meets(&before.kinds, &with);
    }
    Ok(all)
}

/// A rinse without water is none.
fn was_rinsed(entry: &CleaningEntry) -> bool {
    entry.rinse != Rinse::None && entry.rinse_volume.value.l() > 0.0
}

/// Longer than an hour (judgement).
fn long(entry: &CleaningEntry) -> bool {
    entry.contact.is_some_and(|t| t.value.h() > 1.0)
}

#[cfg(test)]
mod tests {
    use crate::{Document, Reckoning, Stage};
    use glass::Grade;
    use quantity::Weight;

    const PALE: &str = include_str!("../../../../examples/lantern-pale.toml");

    fn reckoned(cleaning: &str) -> Reckoning {
        let (document, assumptions) = Document::read(&format!("{PALE}\n{cleaning}")).unwrap();
        Reckoning::of(document, assumptions).unwrap()
    }

    fn faults(cleaning: &str) -> String {
        let faults = Document::read(&format!("{PALE}\n{cleaning}")).unwrap_err();
        faults
            .iter()
            .map(|f| format!("{}: {} {}\n", f.path, f.message, f.help))
            .collect()
    }

    const BLEACHED: &str = "[[cleaning]]\nvessel = \"fermenter\"\nagent = \"hypochlorite\"\nconcentration = \"200 mg/L\"\ncontact = \"10 min\"\nrinse = \"none\"\n";

    #[test]
    fn bleach_that_is_left_raises_the_medicinal_risk_of_the_glass() {
        let (clean, bleached) = (reckoned(""), reckoned(BLEACHED));
        let at_most = |r: &Reckoning| r.glass.medicinal.halogen_at_most.mg_per_l();
        let added = at_most(&bleached) - at_most(&clean);
        // 20 mL of 200 mg/L in the wort of the batch.
        let litres = bleached.boil.wort.volume.l();
        assert!((added - 4.0 / litres).abs() < 1e-9, "{added}");
        // 0.28 % of 0.2 mg/L as chlorophenol (× 1.813) are 1 µg/L: moderate.
        assert_eq!(bleached.glass.medicinal.at_most, Grade::Moderate);
        assert!(clean.glass.medicinal.at_most < Grade::Moderate);
        assert!(
            bleached
                .cleaning
                .can_leave()
                .any(|l| l.fault == "medicinal")
        );
        let sign = bleached.sign(Stage::Ferment).unwrap();
        assert_eq!(sign.weight, Weight::Act);
        assert!(sign.notes.iter().any(|n| n.text.contains("not rinsed off")));
        assert!(
            bleached
                .cautions()
                .contains(&quantity::Caution::ChlorineMixtures)
        );
        assert!(clean.cleaning.steps.is_empty() && clean.cleaning.all_notes().is_empty());
    }

    #[test]
    fn bleach_and_then_acid_without_a_rinse_is_stopped() {
        let acid = "[[cleaning]]\nvessel = \"fermenter\"\nagent = \"peracetic-acid\"\nconcentration = \"150 mg/L\"\nrinse = \"none\"\n";
        let r = reckoned(&format!("{BLEACHED}{acid}"));
        let notes = r.cleaning.all_notes();
        assert!(
            notes
                .iter()
                .any(|n| n.weight == Weight::Act && n.text.contains("chlorine gas")),
            "{notes:?}"
        );
        let rinsed = reckoned(&format!(
            "{}{acid}",
            BLEACHED.replace("\"none\"", "\"boiled water\"")
        ));
        assert!(rinsed.cleaning.steps.iter().all(|s| s.met.is_empty()));
        let between = "[[cleaning]]\nvessel = \"fermenter\"\nagent = \"heat\"\nrinse = \"none\"\n";
        let later = reckoned(&format!("{BLEACHED}{between}{acid}"));
        assert!(!later.cleaning.steps[2].met.is_empty(), "it is there still");
        let dry = BLEACHED.replace("\"none\"", "\"water\"\nrinse_volume = \"0 L\"");
        let dry = reckoned(&format!("{dry}{acid}"));
        assert!(!dry.cleaning.steps[1].met.is_empty(), "no water, no rinse");
        let elsewhere = reckoned(&format!("{BLEACHED}{}", acid.replace("fermenter", "keg")));
        assert!(elsewhere.cleaning.steps.iter().all(|s| s.met.is_empty()));
    }

    #[test]
    fn caustic_dissolves_an_aluminium_kettle() {
        let r = reckoned(
            "[[cleaning]]\nvessel = \"kettle\"\nmaterial = \"aluminium\"\nagent = \"caustic\"\nconcentration = \"20 g/L\"\nrinse = \"water\"\n",
        );
        let sign = r.sign(Stage::Boil).unwrap();
        assert!(
            sign.notes
                .iter()
                .any(|n| n.weight == Weight::Act && n.text.contains("hydrogen"))
        );
    }

    #[test]
    fn a_key_that_cannot_be_is_told_where_it_stands() {
        let said =
            faults("[[cleaning]]\nvessel = \"fermentor\"\nagent = \"bleach\"\nrinse = \"none\"\n");
        assert!(
            said.contains("cleaning[1].vessel") && said.contains("fermenter"),
            "{said}"
        );
        assert!(
            said.contains("cleaning[1].agent") && said.contains("hypochlorite"),
            "{said}"
        );
        let said = faults(
            "[[cleaning]]\nvessel = \"keg\"\nagent = \"acid-anionic\"\nconcentration = \"1 g/L\"\nrinse = \"none\"\n",
        );
        assert!(said.contains("write dilution"), "{said}");
    }
}
