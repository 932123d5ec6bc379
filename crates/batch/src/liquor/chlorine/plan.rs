//! A way out of chlorine as keys of the document.

use quantity::{Duration, FlowRate, Fraction, Volume, rounded};
use water::dechlorination::{CarbonBed, CarbonClaim, Dechlorination, Dose, Reagent};
use water::disinfectant::{Task, WayOut};

/// The keys of `[water.treatment]` for a way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Plan {
    /// Paths and values; an empty value takes the key out.
    pub values: Vec<(String, String)>,
    /// What it is, for the history.
    pub note: String,
}

/// Every key of a treatment: what a way does not name, it does without.
const KEYS: [&str; 14] = [
    "way",
    "reagent",
    "purity",
    "excess",
    "dose",
    "tablets",
    "tablet_mass",
    "time",
    "carbon_volume",
    "carbon_flow",
    "carbon_capacity",
    "carbon_rated_flow",
    "carbon_claim",
    "carbon_used",
];

/// How a way comes into the document; none for what a plan cannot hold.
#[must_use]
pub fn plan_of(task: &Task, way: &WayOut) -> Option<Plan> {
    let said = match way.plan? {
        Dechlorination::None => vec![("way", "none".to_owned())],
        Dechlorination::Stand { time } => timed("stand", time),
        Dechlorination::BoilLiquor { time } => timed("boil", time),
        Dechlorination::Aerate { time } => timed("aerate", time),
        Dechlorination::Carbon { bed, flow } => carbon(&bed, flow),
        Dechlorination::Reagent {
            reagent,
            purity,
            excess: _,
            dose,
        } => reagent_keys(task, reagent, purity, dose),
    };
    let values = KEYS.iter().map(|key| {
        let value = said.iter().find(|(k, _)| k == key).map(|(_, v)| v.clone());
        (format!("water.treatment.{key}"), value.unwrap_or_default())
    });
    Some(Plan {
        values: values.collect(),
        note: format!("{} planned against chlorine", way.way),
    })
}

fn timed(way: &str, lasting: Duration) -> Vec<(&'static str, String)> {
    vec![("way", way.to_owned()), ("time", time(lasting))]
}

fn carbon(bed: &CarbonBed, run_at: FlowRate) -> Vec<(&'static str, String)> {
    let mut keys = vec![
        ("way", "carbon".to_owned()),
        ("carbon_volume", litres(bed.volume)),
        ("carbon_flow", flow(run_at)),
    ];
    if bed.used.l() > 0.0 {
        keys.push(("carbon_used", litres(bed.used)));
    }
    if let Some(rated) = bed.rated {
        let claim = match rated.claim {
            CarbonClaim::FreeChlorine => "free chlorine",
            CarbonClaim::Chloramine => "chloramine",
        };
        keys.push(("carbon_capacity", litres(rated.capacity)));
        keys.push(("carbon_rated_flow", flow(rated.flow)));
        keys.push(("carbon_claim", claim.to_owned()));
    }
    keys
}

/// A dose by weight is written as an excess over the matched dose, so that it
/// follows the volumes; by hand only where the excess would pass 100 %.
fn reagent_keys(
    task: &Task,
    reagent: Reagent,
    purity: Fraction,
    dose: Dose,
) -> Vec<(&'static str, String)> {
    let mut keys = vec![
        ("way", "reagent".to_owned()),
        ("reagent", reagent.to_string()),
    ];
    match dose {
        Dose::Matched => keys.push(("purity", percent(purity))),
        Dose::Mass(mass) => {
            keys.push(("purity", percent(purity)));
            let total = task.water.total_chlorine.value.mg_per_l();
            let matched_g =
                task.volumes.total().l() * total * reagent.mg_per_mg_chlorine() / 1000.0;
            let times = mass.g() * purity.ratio() / matched_g;
            // Rounded up, so that what is written covers what was reckoned.
            let excess = (100.0 * (times - 1.0) - 1e-6).ceil().max(0.0);
            if excess <= 100.0 {
                keys.push(("excess", format!("{excess:.0} %")));
            } else {
                keys.push((
                    "dose",
                    format!("{:.3} g", (mass.g() * 1000.0).ceil() / 1000.0),
                ));
            }
        }
        Dose::Tablets { count, tablet_mass } => {
            keys.push(("tablets", rounded(count)));
            keys.push(("tablet_mass", format!("{} g", rounded(tablet_mass.g()))));
        }
    }
    keys
}

/// A time in minutes up to two hours, else in hours.
fn time(value: Duration) -> String {
    if value.h() < 2.0 {
        format!("{} min", rounded(value.min()))
    } else {
        format!("{} h", rounded(value.h()))
    }
}

fn litres(value: Volume) -> String {
    format!("{} L", rounded(value.l()))
}

fn flow(value: FlowRate) -> String {
    format!("{} L/min", rounded(value.l_per_min()))
}

fn percent(value: Fraction) -> String {
    format!("{} %", rounded(100.0 * value.ratio()))
}
