//! What the tests of the stage share: worts, plans, and a logistic fit.

#![allow(dead_code, reason = "each test binary uses its own part of this")]

use ferment::{Aeration, CoursePoint, FermentPlan, Fermentation, Habits, Yeast, ferment, strain};
use quantity::{
    Altitude, Bitterness, Cells, Colour, Duration, Fraction, Gravity, Mass, MassConcentration, Ph,
    Temperature, Volume,
};
use wort::{Carbohydrates, PitchingWort, Traces};

/// An all-malt wort of 20 L.
pub(crate) fn wort(plato: f64, limit: f64) -> PitchingWort {
    let grams = |share: f64| MassConcentration::from_mg_per_l(share * plato * 10_500.0);
    let mg = MassConcentration::from_mg_per_l;
    PitchingWort {
        volume: Volume::from_l(20.0),
        gravity: Gravity::from_plato(plato),
        temperature: Temperature::from_c(18.0),
        ph: Ph::from_ph(5.3),
        colour: Colour::from_ebc(12.0),
        bitterness: Bitterness::from_ibu(30.0),
        attenuation_limit: Fraction::from_ratio(limit),
        carbohydrates: Carbohydrates {
            simple: grams(0.10),
            maltose: grams(0.41),
            maltotriose: grams(0.145),
            dextrin: grams(0.25),
        },
        ions: water::Ions::default(),
        traces: Traces {
            fan: mg(15.0 * plato),
            ferulic_acid: mg(3.0),
            dms: mg(0.05),
            iso_alpha: mg(28.0),
            ..Traces::default()
        },
    }
}

/// A plan with counted yeast at a share of the strain's usual pitch, enough
/// oxygen, and one temperature.
pub(crate) fn plan(name: &str, temp_c: f64, days: f64, wort: &PitchingWort) -> FermentPlan {
    let strain = strain(name).unwrap().clone();
    let usual = strain.usual_pitch.millions_per_ml_plato();
    let cells = usual * wort.gravity.plato() * wort.volume.l();
    FermentPlan {
        strain,
        yeast: Yeast::Counted {
            cells: Cells::from_billions(cells),
        },
        starter: None,
        pitch_rate: None,
        pitch_temperature: Temperature::from_c(temp_c),
        pitched_after: Duration::from_h(0.5),
        course: vec![point(0.0, temp_c)],
        aeration: Aeration::Air {
            saturation: Fraction::from_ratio(1.0),
        },
        altitude: Altitude::from_m(0.0),
        length: Duration::from_h(days * 24.0),
        habits: Habits::default(),
    }
}

/// A point of a course.
pub(crate) fn point(h: f64, c: f64) -> CoursePoint {
    CoursePoint {
        at: Duration::from_h(h),
        temperature: Temperature::from_c(c),
    }
}

/// The pilot plant of E. Lwele 2025: neutral dry ale yeast, 22 °C, 12.4 °P, little
/// oxygen. The pitch of 0.8 g/L is an assumption: it was not printed. The lag is
/// the plant's.
pub(crate) fn pilot(lag_h: f64) -> Fermentation {
    let wort = wort(12.4, 0.815);
    let mut plan = plan("neutral ale", 22.0, 5.0, &wort);
    plan.yeast = Yeast::Dry {
        packets: 1.0,
        packet: Mass::from_g(0.8 * wort.volume.l()),
        cells: None,
        age: Duration::from_h(0.0),
        storage: Temperature::from_c(5.0),
    };
    plan.aeration = Aeration::None;
    plan.habits.lag = Some(Duration::from_h(lag_h));
    ferment(&plan, &wort).unwrap()
}

/// Days until 90 % is gone.
pub(crate) fn days_to_ninety(fermented: &Fermentation) -> f64 {
    fermented
        .ninety_percent_at
        .map_or(f64::INFINITY, |t| t.h() / 24.0)
}

/// A four-parameter logistic P = (Pᵢ − Pₑ)/(1 + e^(B(t − M))) + Pₑ (Speers,
/// Rogers, Smith 2003) through a course, by damped Gauss–Newton: (Pᵢ, Pₑ, B, M).
pub(crate) fn logistic(fermented: &Fermentation) -> [f64; 4] {
    let data: Vec<(f64, f64)> = fermented
        .course
        .iter()
        .map(|m| (m.at.h(), m.gravity.plato()))
        .collect();
    let (first, last) = (data[0].1, data[data.len() - 1].1);
    let half = data
        .iter()
        .find(|(_, p)| *p < 0.5 * (first + last))
        .unwrap()
        .0;
    let mut k = [first, last, 0.1, half];
    let mut damping = 1e-3;
    for _ in 0..200 {
        let (square, normal, gradient) = normal_equations(&data, &k);
        let mut damped = normal;
        for (i, row) in damped.iter_mut().enumerate() {
            row[i] *= 1.0 + damping;
        }
        let step = solve4(damped, gradient);
        let next = [
            k[0] - step[0],
            k[1] - step[1],
            k[2] - step[2],
            k[3] - step[3],
        ];
        if normal_equations(&data, &next).0 < square {
            k = next;
            damping *= 0.3;
        } else {
            damping *= 10.0;
        }
    }
    k
}

fn normal_equations(data: &[(f64, f64)], k: &[f64; 4]) -> (f64, [[f64; 4]; 4], [f64; 4]) {
    let mut normal = [[0.0; 4]; 4];
    let mut gradient = [0.0; 4];
    let mut square = 0.0;
    for (t, p) in data {
        let s = 1.0 / (1.0 + (k[2] * (t - k[3])).exp());
        let slope = s * (1.0 - s) * (k[0] - k[1]);
        let j = [s, 1.0 - s, -slope * (t - k[3]), slope * k[2]];
        let r = (k[0] - k[1]) * s + k[1] - p;
        square += r * r;
        for a in 0..4 {
            gradient[a] += j[a] * r;
            for b in 0..4 {
                normal[a][b] += j[a] * j[b];
            }
        }
    }
    (square, normal, gradient)
}

fn solve4(mut a: [[f64; 4]; 4], mut y: [f64; 4]) -> [f64; 4] {
    for i in 0..4 {
        for j in i + 1..4 {
            let f = a[j][i] / a[i][i];
            let pivot = a[i];
            for (x, p) in a[j].iter_mut().zip(pivot) {
                *x -= f * p;
            }
            y[j] -= f * y[i];
        }
    }
    let mut x = [0.0; 4];
    for i in (0..4).rev() {
        let rest: f64 = (i + 1..4).map(|c| a[i][c] * x[c]).sum();
        x[i] = (y[i] - rest) / a[i][i];
    }
    x
}
