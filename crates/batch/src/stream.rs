//! The stream: one document through every stage, from tap to glass.

use std::collections::BTreeSet;

use ferment::{FermentError, Fermentation};
use glass::{Glass, GlassError};
use package::{PackageError, Packaging};
use quantity::{Caution, Note, Weight};
use water::mash_ph::{MashPh, mash_ph_in};
use water::mash_reading::{Advice, Mash};
use water::{TreatedWater, WaterError};
use wort::{Boiled, Mashed, Volumes, WortError, WortPlan};

use crate::aim::{AimLine, compare};
use crate::brew_day::{BrewDay, day_of};
use crate::certainty::decided::Decided;
use crate::certainty::doubt::{Doubts, Model};
use crate::certainty::drawn;
use crate::cleaning::{Cleanings, cleanings, with_chlorine_left};
use crate::document::{Document, SourceEntry};
use crate::liquor::chlorine::judgement;
use crate::liquor::reading::answered;
use crate::plan::{ferment_plan_doubting, mash_malts, package_plan, water_plan, wort_plan};
use crate::reader::{Assumption, Fault, Filled};
use crate::sign::{Sign, Stage, signs};

/// What a document comes to.
#[derive(Debug, Clone)]
pub struct Reckoning {
    /// The document.
    pub document: Document,
    /// The plan of the wort, with the figures of its malts and hops.
    pub wort_plan: WortPlan,
    /// Volumes from the fermenter back to the water to draw.
    pub volumes: Volumes,
    /// The water, treated.
    pub water: TreatedWater,
    /// The pH of the mash as predicted; none without malt.
    pub mash_ph: Option<MashPh>,
    /// What the readings of the mash come to; none without one.
    pub reading: Option<Advice>,
    /// The mash.
    pub mash: Mashed,
    /// The boil, from where the brew day stands.
    pub boil: Boiled,
    /// The brew day, with the boil as planned; none while nothing was read or done.
    pub day: Option<BrewDay>,
    /// The fermentation.
    pub fermentation: Fermentation,
    /// The package.
    pub packaging: Packaging,
    /// What cleaning leaves in the beer, and what was wrong with it.
    pub cleaning: Cleanings,
    /// The glass.
    pub glass: Glass,
    /// The glass and the stages against the aim.
    pub aim: Vec<AimLine>,
    /// Each stage's sign: fine, look or act, and why.
    pub signs: Vec<Sign>,
    /// The gaps that were filled.
    pub assumptions: Vec<Assumption>,
}

/// A mash as [`water::mash_reading::advise`] takes it.
#[derive(Debug, Clone, PartialEq)]
pub struct MashToRead {
    /// The mash.
    pub mash: Mash,
    /// Which entry of the grist each of its malts is, counted from nought.
    pub grist: Vec<usize>,
}

/// Why a document that can be read cannot be reckoned.
#[derive(Debug, thiserror::Error)]
pub enum StreamError {
    /// The water stage refuses.
    #[error(transparent)]
    Water(#[from] WaterError),
    /// It refuses a reading of the mash.
    #[error(transparent)]
    Reading(WaterError),
    /// The wort stage refuses.
    #[error(transparent)]
    Wort(#[from] WortError),
    /// It refuses what was read or done on brew day.
    #[error(transparent)]
    Day(WortError),
    /// The fermentation stage refuses.
    #[error(transparent)]
    Ferment(#[from] FermentError),
    /// The package stage refuses.
    #[error(transparent)]
    Package(#[from] PackageError),
    /// The glass refuses.
    #[error(transparent)]
    Glass(#[from] GlassError),
}

impl StreamError {
    /// The section of the document that the refusing stage reads.
    #[must_use]
    pub fn section(&self) -> &'static str {
        match self {
            Self::Water(_) => "water",
            Self::Reading(_) => "mash",
            Self::Day(_) => "brew_day",
            Self::Wort(error) => wort_section(error),
            Self::Ferment(error) => ferment_section(error),
            Self::Package(PackageError::Unfermented { .. }) => "fermentation",
            Self::Package(_) | Self::Glass(_) => "package",
        }
    }
}

fn wort_section(error: &WortError) -> &'static str {
    match error {
        WortError::UnknownHop { .. } => "hop",
        WortError::Impossible { what, .. } if what.contains("hop") => "hop",
        WortError::UnknownFermentable { .. } | WortError::EmptyGrist => "grist",
        WortError::Impossible { what, .. } if what.contains("boil") => "boil",
        WortError::ImpossibleChill { .. } | WortError::BoilsDry { .. } => "boil",
        _ => "mash",
    }
}

fn ferment_section(error: &FermentError) -> &'static str {
    match error {
        FermentError::UnknownStrain { .. }
        | FermentError::NoYeast
        | FermentError::HardlyAlive { .. } => "yeast",
        FermentError::Impossible { what, .. }
            if ["cells", "packet", "slurry", "yeast", "starter"]
                .iter()
                .any(|word| what.contains(word)) =>
        {
            "yeast"
        }
        _ => "fermentation",
    }
}

impl Reckoning {
    /// Reckons a document.
    ///
    /// # Errors
    /// A fault without a place, where a stage finds the plan impossible; its
    /// path is the section that the stage reads.
    pub fn of(document: Document, assumptions: Vec<Assumption>) -> Result<Self, Fault> {
        Self::doubting(document, assumptions, &mut Doubts::Kept)
    }

    /// Reckons a document, meeting the doubts of the classes and models.
    pub(crate) fn doubting(
        document: Document,
        assumptions: Vec<Assumption>,
        doubts: &mut Doubts,
    ) -> Result<Self, Fault> {
        run(document, Filled::told(assumptions), None, doubts)
            .map(Self::judged)
            .map_err(|error| fault(&error))
    }

    /// The figures of a document, for searches: neither held against the aim nor signed.
    pub(crate) fn figures_of(document: Document) -> Option<Self> {
        run(document, Filled::untold(), None, &mut Doubts::Kept).ok()
    }

    /// The figures with doubts drawn; what a plan decided is what is brewed with, wherever
    /// it ends.
    pub(crate) fn drawn(
        document: Document,
        decided: &Decided,
        doubts: &mut Doubts,
    ) -> Result<Self, Fault> {
        run(document, Filled::untold(), Some(decided), doubts).map_err(|error| fault(&error))
    }

    /// Held against its aim, and signed.
    fn judged(mut self) -> Self {
        self.aim = compare(&self);
        self.signs = signs(&self);
        self
    }

    /// The sign of a stage.
    #[must_use]
    pub fn sign(&self, stage: Stage) -> Option<&Sign> {
        self.signs.iter().find(|s| s.stage == stage)
    }

    /// The mash for a meter to be read in.
    ///
    /// # Errors
    /// [`WaterError::DoNotUse`] for water that must not be brewed with.
    pub fn mash_to_read(&self) -> Result<MashToRead, WaterError> {
        mash_to_read(&self.document, &self.wort_plan, &self.water)
    }

    /// What the last temperature that was read in the mash asks for; none where nothing
    /// was read, or where it was met.
    #[must_use]
    pub fn missed_mash(&self) -> Option<wort::Missed> {
        wort::missed(
            &self.wort_plan,
            &self.volumes,
            &self.mash,
            self.mash.wort.ph,
        )
    }

    /// All that can hurt someone, each once.
    #[must_use]
    pub fn cautions(&self) -> BTreeSet<Caution> {
        let heat = self.mash.heat.iter().flat_map(|h| h.cautions.iter());
        self.water
            .cautions
            .iter()
            .chain(&self.mash.cautions)
            .chain(heat)
            .chain(&self.boil.report.cautions)
            .chain(self.day.iter().flat_map(|d| &d.stands.cautions))
            .chain(&self.fermentation.cautions)
            .chain(&self.packaging.cautions)
            .chain(self.cleaning.cautions())
            .chain(&self.glass.cautions)
            .copied()
            .collect()
    }

    /// What can hurt someone in packing, and in the cleaning before it; each once.
    #[must_use]
    pub fn packing_cautions(&self) -> BTreeSet<Caution> {
        let packing = self.packaging.cautions.iter();
        packing.chain(self.cleaning.cautions()).copied().collect()
    }

    /// The heaviest sign of all stages.
    #[must_use]
    pub fn weight(&self) -> Weight {
        self.signs
            .iter()
            .map(|s| s.weight)
            .max()
            .unwrap_or(Weight::Fine)
    }
}

fn fault(error: &StreamError) -> Fault {
    let (message, help) = split(&error.to_string());
    Fault {
        span: 0..0,
        path: error.section().to_owned(),
        message,
        help,
    }
}

/// Where nobody wants to be told of the gaps that are filled, figures are all that is
/// wanted: there is then no course of the fermentation but its end.
fn run(
    document: Document,
    mut filled: Filled,
    decided: Option<&Decided>,
    doubts: &mut Doubts,
) -> Result<Reckoning, StreamError> {
    let wort_plan = wort_plan(&document, &mut filled, doubts)?;
    let volumes = match decided {
        Some(d) => wort::volumes_of(&wort_plan, d.mash_liquor, d.sparge_liquor)?,
        None => wort::volumes(&wort_plan)?,
    };
    let mut water_plan = water_plan(&document, &volumes, &mut filled)?;
    if let Some(decided) = decided {
        decided.weigh(&mut water_plan.dechlorination);
    }
    let mut water = water::treat(&water_plan)?;
    water.notes.extend(of_chlorine(&document)?);
    let mash_ph = mash_ph(&document, &wort_plan, &water)?;
    let given = || mash_to_read(&document, &wort_plan, &water);
    let reading = answered(&document, given).map_err(StreamError::Reading)?;
    let predicted = mash_ph.as_ref().map(|m| m.ph);
    let read = reading.as_ref().map(|advice| advice.ph);
    let ph = read
        .or(predicted)
        .map_or(UNMASHED_PH, |ph| doubts.of_model(Model::MashPh, ph).value);
    let mut mash = wort::mash(&wort_plan, &volumes, &water.mash, &water.sparge, ph)?;
    let limit = drawn::limit(&mut mash, doubts);
    let planned = wort::boil(&wort_plan, &mash.wort)?;
    let (sweet, liquor) = (&mash.wort, &water.mash);
    let day = day_of(&document, &wort_plan, &volumes, sweet, liquor, &planned)
        .map_err(StreamError::Day)?;
    let mut boil = day.as_ref().map_or(planned, |d| d.stands.boiled.clone());
    drawn::boil(&mut boil, limit, doubts);
    let ferment_plan = ferment_plan_doubting(&document, &boil.wort, doubts)?;
    let mut fermentation = if filled.is_told() {
        ferment::ferment(&ferment_plan, &boil.wort)?
    } else {
        ferment::ferment_to_end(&ferment_plan, &boil.wort)?
    };
    drawn::flavour(&mut fermentation.beer.flavour, doubts);
    let cleaning = cleanings(&document, boil.wort.volume)?;
    with_chlorine_left(&mut fermentation.beer.halogen_met, &cleaning);
    let packaging = package::package(
        &package_plan(&document, decided.map(Decided::sugar))?,
        &fermentation.beer,
    )?;
    let glass = glass::glass(&packaging.beer)?;
    Ok(Reckoning {
        aim: Vec::new(),
        signs: Vec::new(),
        document,
        wort_plan,
        volumes,
        water,
        mash_ph,
        reading,
        mash,
        boil,
        day,
        fermentation,
        packaging,
        cleaning,
        glass,
        assumptions: filled.all(),
    })
}

/// What to do about chlorine that nobody measured.
fn of_chlorine(document: &Document) -> Result<Vec<Note>, WaterError> {
    let mut notes = vec![];
    let drawn = |entry: &&SourceEntry| entry.share.is_none_or(|s| s.value.ratio() > 0.0);
    let sources = document.water.sources.iter().filter(drawn);
    for entry in sources.filter(|entry| entry.total_chlorine.is_none()) {
        notes.extend(judgement(entry)?.and_then(|judged| judged.note()));
    }
    Ok(notes)
}

/// Wort of malt extract, dissolved in water (from memory: 5.2 to 5.6).
const UNMASHED_PH: quantity::Ph = quantity::Ph::from_ph(5.4);

fn mash_to_read(
    document: &Document,
    plan: &WortPlan,
    water: &TreatedWater,
) -> Result<MashToRead, WaterError> {
    let malts = mash_malts(document, plan);
    let mash = Mash::of(
        water,
        malts.buffering,
        malts.acid,
        document.batch.volume.value,
        document.mash.carbon_dioxide,
    )?;
    Ok(MashToRead {
        mash,
        grist: malts.entries,
    })
}

fn mash_ph(
    document: &Document,
    plan: &WortPlan,
    water: &TreatedWater,
) -> Result<Option<MashPh>, WaterError> {
    let malts = mash_malts(document, plan);
    if malts.buffering.is_empty() && malts.acid.is_empty() {
        return Ok(None);
    }
    let tun = document.mash.carbon_dioxide;
    let mut made = mash_ph_in(tun, &malts.buffering, &malts.acid, &water.mash_liquor)?;
    let names: Vec<&str> = malts.names.iter().map(String::as_str).collect();
    made.notes.extend(made.measure_next(&names));
    Ok(Some(made))
}

/// Messages of the stages read "what is wrong; what would work".
pub(crate) fn split(message: &str) -> (String, String) {
    match message.split_once("; ") {
        Some((wrong, works)) => (wrong.to_owned(), works.to_owned()),
        None => (message.to_owned(), String::new()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wort(what: &'static str) -> StreamError {
        let (given, unit, least, most) = (-1.0, "kg", 0.0, 1.0);
        StreamError::Wort(WortError::Impossible {
            what,
            given,
            unit,
            least,
            most,
        })
    }

    fn ferment(what: &'static str) -> StreamError {
        let (given, accepted) = ("-1".to_owned(), "0 to 1".to_owned());
        StreamError::Ferment(FermentError::Impossible {
            what,
            given,
            accepted,
        })
    }

    #[test]
    fn a_refusal_names_the_section_that_it_is_about() {
        assert_eq!(wort("mass of a hop").section(), "hop");
        assert_eq!(wort("boil").section(), "boil");
        assert_eq!(wort("grain temperature").section(), "mash");
        assert_eq!(StreamError::Wort(WortError::EmptyGrist).section(), "grist");
        assert_eq!(ferment("cells in slurry").section(), "yeast");
        assert_eq!(ferment("age of the yeast").section(), "yeast");
        assert_eq!(ferment("lag").section(), "fermentation");
        assert_eq!(
            StreamError::Ferment(FermentError::NoYeast).section(),
            "yeast"
        );
    }
}
