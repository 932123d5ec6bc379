//! The chart of a water through the year, against what this mash and its aim want.

use batch::liquor::choice::{Chosen, Sample, Water};
use batch::{Reckoning, SourceEntry};
use chart::{Axis, CourseChart, Heading, Reading, SeasonPanel, Seasons};
use quantity::{CACO3_MG_PER_MEQ, Measured, Quantity};
use water::Ions;
use water::analysis::residual_alkalinity;

/// The first water of the best that was sampled more than once, or else the first of
/// all; none where none was.
pub fn seasons(r: &Reckoning, found: &Chosen) -> Option<CourseChart> {
    let best = found.choice.ranked.first()?;
    let sampled = |water: &&Water| water.samples().len() > 1;
    let water = found
        .waters_of(best)
        .find(sampled)
        .or_else(|| found.waters.iter().find(sampled))?;
    let samples = water.samples();
    let mut panels = vec![residual(&samples, found)];
    let aim = r.document.aim.as_ref();
    let ions = [
        ion("calcium", &samples, aim.and_then(|a| a.calcium), |e| {
            e.calcium
        }),
        ion("sulfate", &samples, aim.and_then(|a| a.sulfate), |e| {
            e.sulfate
        }),
        ion("chloride", &samples, aim.and_then(|a| a.chloride), |e| {
            e.chloride
        }),
    ];
    panels.extend(ions.into_iter().flatten());
    let turned = samples.iter().filter(|sample| {
        let mut changes = best.changes.iter();
        changes.any(|change| change.from == sample.from)
    });
    let seasons = Seasons {
        heading: Heading::new(
            "seasons",
            format!("{} through the year", water.title),
            "Each analysis on its day of the year, untreated, one standard deviation each way; lines stand where the answer for this batch turns.",
        ),
        panels,
        changes: turned
            .map(|sample| (sample.day, "other doses".to_owned()))
            .collect(),
    };
    Some(seasons.chart())
}

fn residual(samples: &[Sample<'_>], found: &Chosen) -> SeasonPanel {
    let readings = samples.iter().map(|sample| {
        let entry = sample.figures;
        let ions = Ions {
            calcium: entry.calcium.value,
            magnesium: entry.magnesium.value,
            ..Ions::default()
        };
        let residual = residual_alkalinity(&ions, entry.alkalinity.value);
        let sd = CACO3_MG_PER_MEQ * entry.alkalinity.sd();
        Reading::new(sample.day, CACO3_MG_PER_MEQ * residual.meq_per_l(), sd)
    });
    // A level that no water reaches would only press the readings together.
    let level = found.acid_above.filter(|above| above.meq_per_l() > 0.0);
    SeasonPanel {
        axis: Axis::new("residual alkalinity", "mg/L as CaCO3").decimals(0),
        readings: readings.collect(),
        spread: vec![],
        levels: level
            .map(|above| {
                let at = CACO3_MG_PER_MEQ * above.meq_per_l();
                (at, "acid needed above".to_owned())
            })
            .into_iter()
            .collect(),
    }
}

/// An ion that the batch aims at.
fn ion<Q: Quantity>(
    name: &str,
    samples: &[Sample<'_>],
    aim: Option<Measured<Q>>,
    of: fn(&SourceEntry) -> Measured<Q>,
) -> Option<SeasonPanel> {
    let aim = aim?;
    let reading = |sample: &Sample<'_>| {
        let measured = of(sample.figures);
        Reading::new(sample.day, measured.canonical(), measured.sd())
    };
    Some(SeasonPanel {
        axis: Axis::new(name, "mg/L").decimals(0),
        readings: samples.iter().map(reading).collect(),
        spread: vec![],
        levels: vec![(aim.canonical(), "aim".to_owned())],
    })
}
