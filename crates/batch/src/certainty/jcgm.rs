//! The draws against JCGM 101:2008 (GUM, Supplement 1), clause 9: the worked cases and
//! what they print.

use quantity::{Mass, Measured, Quantity, Spread};

use super::doubt::Doubts;
use super::sobol::point;

const DRAWS: u32 = 65_536;

fn normal(value: f64, sd: f64) -> Measured<Mass> {
    Measured::with_sd(Mass::from_canonical(value), sd)
}

fn rectangular(low: f64, high: f64) -> Measured<Mass> {
    Measured {
        value: Mass::from_canonical(f64::midpoint(low, high)),
        spread: Spread::Range { low, high },
    }
}

/// What a model makes of its inputs, draw by draw, sorted. Masses cannot fall below
/// nought: inputs are given far above it, and the models take that off again.
fn drawn(inputs: &[Measured<Mass>], model: impl Fn(&[f64]) -> f64) -> Vec<f64> {
    let mut all: Vec<f64> = (0..DRAWS)
        .map(|j| {
            let mut doubts = Doubts::Drawn {
                chances: point(j, 0..inputs.len(), 11),
                met: 0,
            };
            let met = inputs.iter().map(|input| {
                let met = doubts.of_class(String::new, String::new, *input);
                met.canonical()
            });
            model(&met.collect::<Vec<_>>())
        })
        .collect();
    all.sort_unstable_by(f64::total_cmp);
    all
}

fn sd(drawn: &[f64]) -> f64 {
    let n = drawn.len() as f64;
    let mean = drawn.iter().sum::<f64>() / n;
    (drawn.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n).sqrt()
}

/// The shortest interval that holds 95 of a hundred.
fn shortest(drawn: &[f64]) -> [f64; 2] {
    let held = (0.95 * drawn.len() as f64) as usize;
    let ends = drawn.iter().zip(&drawn[held..]);
    let ends = ends.min_by(|a, b| (a.1 - a.0).total_cmp(&(b.1 - b.0)));
    ends.map_or([0.0; 2], |(low, high)| [*low, *high])
}

fn middle(drawn: &[f64]) -> [f64; 2] {
    [0.025, 0.975].map(|p| super::summary::quantile(drawn, p))
}

fn near(found: f64, printed: f64, within: f64) {
    assert!((found - printed).abs() <= within, "{found} for {printed}");
}

/// Far above nought, so that none of the draws is cut there.
const UP: f64 = 100.0;

fn sum(x: &[f64]) -> f64 {
    x.iter().map(|x| x - UP).sum()
}

/// 9.2.2: u 2.0, \[−3.92, 3.92\].
#[test]
fn the_sum_of_four_normal_figures() {
    let found = drawn(&[normal(UP, 1.0); 4], sum);
    near(sd(&found), 2.0, 0.02);
    let [low, high] = middle(&found);
    near(low, -3.92, 0.04);
    near(high, 3.92, 0.04);
}

/// 9.2.3: u 2.0, \[−3.88, 3.88\], where the normal assumption gives 3.92.
#[test]
fn the_sum_of_four_rectangular_figures() {
    let half = 3.0_f64.sqrt();
    let found = drawn(&[rectangular(UP - half, UP + half); 4], sum);
    near(sd(&found), 2.0, 0.01);
    let [low, high] = middle(&found);
    near(low, -3.88, 0.02);
    near(high, 3.88, 0.02);
}

/// 9.3: 1.2341 mg, u 0.0754, shortest \[1.0834, 1.3825\] mg, where the first order gives
/// 0.0539. Densities in kg/m³, masses in mg, all as bare numbers.
#[test]
fn the_calibration_of_a_mass() {
    let inputs = [
        normal(UP, 0.050),
        normal(UP + 1.234, 0.020),
        rectangular(1.10, 1.30),
        rectangular(7000.0, 9000.0),
        rectangular(7950.0, 8050.0),
    ];
    let found = drawn(&inputs, |x| {
        let mass = 100_000.0 + (x[0] - UP) + (x[1] - UP);
        mass * (1.0 + (x[2] - 1.2) * (1.0 / x[3] - 1.0 / x[4])) - 100_000.0
    });
    near(
        found.iter().sum::<f64>() / found.len() as f64,
        1.2341,
        0.001,
    );
    near(sd(&found), 0.0754, 0.000_754);
    let [low, high] = shortest(&found);
    near(low, 1.0834, 0.02 * 1.0834);
    near(high, 1.3825, 0.02 * 1.3825);
}

/// 9.4.2.2, x₁ = 0.010, x₂ = 0, uncorrelated: y 150e-6, u 112e-6, shortest \[0, 367e-6\].
#[test]
fn the_comparison_loss_of_a_power_meter() {
    let inputs = [normal(UP + 0.010, 0.005), normal(UP, 0.005)];
    let found = drawn(&inputs, |x| (x[0] - UP).powi(2) + (x[1] - UP).powi(2));
    near(found.iter().sum::<f64>() / found.len() as f64, 150e-6, 1e-6);
    near(sd(&found), 112e-6, 1.12e-6);
    let [low, high] = shortest(&found);
    near(low, 0.0, 2e-6);
    near(high, 367e-6, 0.02 * 367e-6);
}
