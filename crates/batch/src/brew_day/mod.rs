//! The brew day of a batch: where it stands, what the run-off does, what can be done.
//!
//! ```
//! use batch::{Document, Reckoning};
//! let text = include_str!("../../../../examples/lantern-pale.toml").to_owned()
//!     + "\n[[brew_day.reading]]\nat = \"kettle full\"\nvolume = \"27 L\"\nvolume_at = \"90 °C\"\ngravity = \"1.040\"\n";
//! let (document, assumptions) = Document::read(&text).map_err(|faults| faults[0].to_string())?;
//! let reckoning = Reckoning::of(document, assumptions).map_err(|fault| fault.to_string())?;
//! let day = reckoning.day.as_ref().ok_or("a reading is followed")?;
//! // What ferments is what was read, not what was planned.
//! assert_eq!(reckoning.boil, day.stands.boiled);
//! assert!(reckoning.boil.wort.gravity < day.planned.wort.gravity);
//! # Ok::<(), String>(())
//! ```

mod keys;
mod typed;

use quantity::{AlcoholByVolume, Gravity};
use water::BrewingWater;
use wort::correct::{self, Day, Done, Point, Reading, Stands, Way};
use wort::lauter::{self, Efficiency, Move, RunOff};
use wort::{Boiled, SweetWort, Volumes, WortError, WortPlan};

use crate::document::Document;
use crate::liquor::Wrong;
use crate::plan::ferment_plan;
use crate::stream::Reckoning;

pub(crate) use keys::brew_day;
pub use keys::{BrewDaySection, DayDone, DayReading, entry_of};
pub use typed::TypedReading;

/// A brew day under way.
#[derive(Debug, Clone)]
pub struct BrewDay {
    /// Where it stands, and the boil from there.
    pub stands: Stands,
    /// The boil as planned.
    pub planned: Boiled,
}

/// What can be done from a point on.
#[derive(Debug, Clone)]
pub struct Corrections {
    /// From where.
    pub at: Point,
    /// Where the day stands.
    pub stands: Stands,
    /// What the plan aims at, and the beer of it.
    pub aim: (correct::Outcome, Option<Beer>),
    /// What comes if nothing is done.
    pub now: (correct::Outcome, Option<Beer>),
    /// The ways that can be gone, the better first.
    pub ways: Vec<WayOn>,
    /// Those that cannot.
    pub impossible: Vec<Way>,
}

/// A way, and the beer that it leads to.
#[derive(Debug, Clone)]
pub struct WayOn {
    /// The way.
    pub way: Way,
    /// The beer; none where it cannot ferment.
    pub beer: Option<Beer>,
}

/// What ferments out of a wort.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beer {
    /// Alcohol.
    pub alcohol: AlcoholByVolume,
    /// Gravity at the end of the course.
    pub final_gravity: Gravity,
}

/// The lauter of a batch.
#[derive(Debug, Clone)]
pub struct Lautering {
    /// The runnings.
    pub run_off: RunOff,
    /// The chain of efficiencies.
    pub efficiency: Efficiency,
    /// What the kit would give.
    pub moves: Vec<Move>,
}

/// The day of a document; none while nothing was read or done.
pub(crate) fn day_of(
    document: &Document,
    plan: &WortPlan,
    volumes: &Volumes,
    sweet: &SweetWort,
    liquor: &BrewingWater,
    planned: &Boiled,
) -> Result<Option<BrewDay>, WortError> {
    let section = &document.brew_day;
    if section.is_empty() {
        return Ok(None);
    }
    let day = day(document, plan, volumes, sweet, liquor);
    let stands = correct::stands(&day, &section.read(), &section.changes())?;
    Ok(Some(BrewDay {
        stands,
        planned: planned.clone(),
    }))
}

fn day<'d>(
    document: &Document,
    plan: &'d WortPlan,
    volumes: &'d Volumes,
    sweet: &'d SweetWort,
    liquor: &'d BrewingWater,
) -> Day<'d> {
    let evaporation = &document.kit.evaporation;
    let relative = evaporation.sd() / evaporation.canonical();
    Day {
        plan,
        volumes,
        sweet,
        liquor,
        evaporation_sd: Some(relative).filter(|sd| sd.is_finite() && *sd > 0.0),
    }
}

impl Reckoning {
    /// The boil as planned, whatever was read since.
    fn planned_boil(&self) -> &Boiled {
        self.day.as_ref().map_or(&self.boil, |day| &day.planned)
    }

    /// The last point of the day at which something was read or done.
    #[must_use]
    pub fn day_is_at(&self) -> Option<Point> {
        let section = &self.document.brew_day;
        let boil_min = self.document.boil.time.value.min();
        let read = section.read();
        let taken = read
            .iter()
            .filter(|r| r.volume.is_some() || r.gravity.is_some());
        let done = section.changes();
        taken
            .map(|r| r.at)
            .chain(done.iter().map(|d| d.at))
            .max_by(|a, b| a.order(boil_min).total_cmp(&b.order(boil_min)))
    }

    /// Where the day stands with readings beside those of the document.
    ///
    /// # Errors
    /// What cannot be, with the field of a [`TypedReading`] that it concerns.
    pub fn day_stands(&self, beside: &[Reading]) -> Result<Stands, Wrong> {
        let stands = correct::stands(
            &self.brew_day(),
            &self.readings_with(beside),
            &self.document.brew_day.changes(),
        );
        stands.map_err(|error| Wrong {
            field: field_of(&error).to_owned(),
            message: error.to_string(),
        })
    }

    /// What can be done from a point on, with readings beside those of the document.
    ///
    /// # Errors
    /// [`WortError`] for readings that cannot be.
    pub fn corrections(&self, at: Point, beside: &[Reading]) -> Result<Corrections, WortError> {
        let (day, readings) = (self.brew_day(), self.readings_with(beside));
        let done = self.document.brew_day.changes();
        let stands = correct::stands(&day, &readings, &done)?;
        let planned = self.planned_boil();
        let found = correct::options(&day, &readings, &done, at, planned)?;
        let now = self.beer_of(&stands.boiled);
        Ok(Corrections {
            at,
            aim: (found.aim, self.beer_of(planned)),
            now: (found.now, now),
            stands,
            ways: found
                .ways
                .into_iter()
                .map(|way| WayOn {
                    beer: way
                        .outcome
                        .as_ref()
                        .and_then(|(_, boiled)| self.beer_of(boiled)),
                    way,
                })
                .collect(),
            impossible: found.impossible,
        })
    }

    /// The run-off, the chain of efficiencies and what the kit would give.
    ///
    /// # Errors
    /// [`WortError`] for a plan without grain.
    pub fn lautering(&self) -> Result<Lautering, WortError> {
        let (plan, volumes) = (&self.wort_plan, &self.volumes);
        let sparge = &self.water.sparge;
        Ok(Lautering {
            run_off: lauter::run_off(plan, volumes, sparge, self.mash.wort.ph)?,
            efficiency: lauter::efficiency(plan, volumes),
            moves: lauter::moves(plan)?,
        })
    }

    fn brew_day(&self) -> Day<'_> {
        let (plan, sweet) = (&self.wort_plan, &self.mash.wort);
        day(&self.document, plan, &self.volumes, sweet, &self.water.mash)
    }

    fn readings_with(&self, beside: &[Reading]) -> Vec<Reading> {
        let mut readings = self.document.brew_day.read();
        readings.extend_from_slice(beside);
        readings
    }

    fn beer_of(&self, boiled: &Boiled) -> Option<Beer> {
        let plan = ferment_plan(&self.document, &boiled.wort).ok()?;
        let beer = ferment::ferment(&plan, &boiled.wort).ok()?.beer;
        Some(Beer {
            alcohol: beer.alcohol,
            final_gravity: beer.gravity,
        })
    }
}

/// The field of a [`TypedReading`] that a refusal concerns: what follows from too much or
/// too little wort stands at the volume.
fn field_of(error: &WortError) -> &'static str {
    let WortError::Impossible { what, .. } = error else {
        return "volume";
    };
    match *what {
        "gravity" | "gravity read" | "density of the sample" => "gravity",
        "temperature of the sample" => "gravity_at",
        "temperature of the volume" => "volume_at",
        _ => "volume",
    }
}

/// The entries of `brew_day.done` that a way is made of; with its hops, where wanted.
#[must_use]
pub fn entries_of(way: &Way, with_hops: bool) -> Vec<Vec<(String, String)>> {
    let mut entries: Vec<_> = way.changes.iter().map(entry_of).collect();
    if let (true, Some(shift), Some(first)) = (with_hops, &way.hops, way.changes.first()) {
        entries.push(entry_of(&Done {
            at: first.at,
            what: correct::Change::Hops(shift.times),
        }));
    }
    entries
}

#[cfg(test)]
mod tests;
