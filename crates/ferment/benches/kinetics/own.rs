//! A batch on the course model of the stage, with all that is told of it, against LSODA on
//! the same twelve states.

use std::hint::black_box;

use ferment::{Aeration, CoursePoint, FermentPlan, Fermentation, Habits, Yeast, ferment, strain};
use quantity::density::{
    beer_specific_gravity, plato_from_specific_gravity, pure_ethanol_density, sucrose_density,
};
use quantity::{
    Altitude, Bitterness, Cells, Colour, Duration, Fraction, Gravity, MassConcentration, Measured,
    Ph, Temperature, Volume,
};
use wort::alcohol::{CO2_PER_ETHANOL, EXTRACT_PER_ETHANOL, YEAST_PER_ETHANOL};
use wort::{Carbohydrates, PitchingWort, Traces};

use super::{Outcome, shortest, told};

const PLATO: f64 = 12.0;
const LITRES: f64 = 20.0;
const CELLS: f64 = 9.0;
const FAN: f64 = 180.0;
const LAG_H: f64 = 12.0;
const SUGARS: [f64; 3] = [13.0, 51.0, 18.0];
const DAYS: f64 = 14.0;
/// \[h\], \[°C\].
const KNOTS: [(f64, f64); 4] = [(0.0, 18.0), (24.0, 20.0), (96.0, 20.0), (120.0, 22.0)];
const TOLERANCES: [&str; 9] = [
    "1e-4", "1e-5", "3e-6", "1e-6", "7e-7", "5e-7", "3e-7", "2e-7", "1e-7",
];

/// Seconds and the ratio, LSODA at the tightest of its tolerances whose errors are no
/// smaller than ours.
pub(super) fn course() -> Outcome<()> {
    let (plan, wort) = (plan()?, wort());
    let fermented = ferment(&plan, &wort)?;
    let took = shortest(300, || {
        black_box(ferment(&plan, &wort)?);
        Ok(())
    })?;
    let rows: Vec<[f64; 4]> = asked(&plan, &fermented)?;
    let (runs, exact) = rows.split_at(TOLERANCES.len());
    let errors = errors(&fermented, exact);
    println!(
        "a batch on the course model: {:.1} us, errors {:.1e} g/L, {:.1e} mg/L of diacetyl, {:.1e} million/mL",
        1e6 * took,
        errors[0],
        errors[1],
        errors[2]
    );
    for (tolerance, [seconds, peer @ ..]) in TOLERANCES.iter().zip(runs).rev() {
        if peer.iter().zip(errors).all(|(peer, ours)| *peer >= ours) {
            println!(
                "LSODA at {tolerance}: {:.2} ms, errors {:.1e}, {:.1e}, {:.1e}; ratio {:.0}",
                1e3 * seconds,
                peer[0],
                peer[1],
                peer[2],
                seconds / took
            );
            break;
        }
    }
    Ok(())
}

/// What the peer makes of the same batch: its runs, then the exact course.
fn asked(plan: &FermentPlan, fermented: &Fermentation) -> Outcome<Vec<[f64; 4]>> {
    let total = fermented_at(fermented.expected_gravity.plato());
    let sugars = SUGARS.map(|s| s * total / SUGARS.iter().sum::<f64>());
    let times: Vec<f64> = fermented.course.iter().skip(1).map(|m| m.at.h()).collect();
    let knots = KNOTS.map(|(h, c)| [h, c]);
    let tolerance = plan.strain.tolerance.ratio() * pure_ethanol_density();
    let asked = format!(
        r#"{{"sugars": {sugars:?}, "pitched": {CELLS:?}, "oxygen": {:?}, "fan": {FAN:?}, "tolerance": {tolerance:?}, "lag": {LAG_H:?}, "wort_ph": 5.3, "beer_ph": 4.3, "working_low": {:?}, "knots": {knots:?}, "times": {times:?}, "tolerances": [{}]}}"#,
        fermented.oxygen.dissolved.mg_per_l(),
        plan.strain.working.low.c(),
        TOLERANCES.join(", ")
    );
    told("course_bench.py", &[&asked])
}

/// Worst errors in the extract left \[g/L\], diacetyl \[mg/L\] and active cells
/// \[10⁶/mL\].
fn errors(fermented: &Fermentation, exact: &[[f64; 4]]) -> [f64; 3] {
    let total = fermented_at(fermented.expected_gravity.plato());
    let mut worst = [0.0; 3];
    for (m, [left, diacetyl, cells, _]) in fermented.course.iter().skip(1).zip(exact) {
        let ours = [
            total - fermented_at(m.gravity.plato()),
            m.flavour.diacetyl.mg_per_l(),
            m.active_cells.millions_per_ml(),
        ];
        for ((worst, ours), exact) in worst.iter_mut().zip(ours).zip([left, diacetyl, cells]) {
            *worst = f64::max(*worst, (ours - exact).abs());
        }
    }
    worst
}

/// Extract fermented \[g per L of wort\] at an apparent extract \[°P\], by halving.
fn fermented_at(apparent_plato: f64) -> f64 {
    let grams = sucrose_density(PLATO / 100.0, 20.0);
    let apparent = |fermented: f64| {
        let per_100_g = fermented / grams * 100.0;
        let ethanol = per_100_g / EXTRACT_PER_ETHANOL;
        let mass = 100.0 - ethanol * (CO2_PER_ETHANOL + YEAST_PER_ETHANOL);
        let real = (PLATO - per_100_g) / mass;
        plato_from_specific_gravity(beer_specific_gravity(real, ethanol / mass))
    };
    let (mut low, mut high) = (0.0, grams * PLATO / 100.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if apparent(middle) > apparent_plato {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

fn plan() -> Outcome<FermentPlan> {
    let mut strain = strain("neutral ale")?.clone();
    // It goes to the limit of the wort, so that the sugars are those of the wort.
    strain.attenuation = Measured::with_sd(Fraction::from_ratio(0.85), 0.02);
    let point = |(h, c): (f64, f64)| CoursePoint {
        at: Duration::from_h(h),
        temperature: Temperature::from_c(c),
    };
    Ok(FermentPlan {
        strain,
        yeast: Yeast::Counted {
            cells: Cells::from_billions(CELLS * LITRES),
        },
        starter: None,
        pitch_rate: None,
        pitch_temperature: Temperature::from_c(18.0),
        pitched_after: Duration::from_h(0.5),
        course: KNOTS.map(point).to_vec(),
        aeration: Aeration::Shaking,
        altitude: Altitude::from_m(0.0),
        length: Duration::from_h(24.0 * DAYS),
        habits: Habits {
            lag: Some(Duration::from_h(LAG_H)),
            ..Habits::default()
        },
    })
}

fn wort() -> PitchingWort {
    let mg = MassConcentration::from_mg_per_l;
    let [simple, maltose, maltotriose] = SUGARS.map(|s| mg(1000.0 * s));
    PitchingWort {
        volume: Volume::from_l(LITRES),
        gravity: Gravity::from_plato(PLATO),
        temperature: Temperature::from_c(18.0),
        ph: Ph::from_ph(5.3),
        colour: Colour::from_ebc(12.0),
        bitterness: Bitterness::from_ibu(30.0),
        attenuation_limit: Fraction::from_ratio(0.815),
        carbohydrates: Carbohydrates {
            simple,
            maltose,
            maltotriose,
            dextrin: mg(30_000.0),
        },
        ions: water::Ions::default(),
        traces: Traces {
            fan: mg(FAN),
            ..Traces::default()
        },
    }
}
