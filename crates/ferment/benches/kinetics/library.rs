//! The same course by BDF of the library diffsol, its Jacobian by num-dual. The model is
//! written out anew, as `tests/reference/kinetics_bench.py` does for SciPy: a peer shares
//! nothing with ours.

use diffsol::{MatrixCommon, NalgebraLU, NalgebraMat, OdeBuilder, OdeSolverMethod};
use num_dual::{Dual64, DualNum};

use super::Outcome;

/// a and b \[K\] of exp(a − b/T), in the order of `rates`: B. de Andrés-Toro et al. 1998, as
/// `data/andres_toro_1998.toml` has them.
const LAWS: [(f64, f64); 8] = [
    (108.31, 31_934.09),
    (89.92, 26_589.0),
    (-41.92, -11_654.64),
    (30.72, 9_501.54),
    (33.82, 10_033.28),
    (3.27, 1_267.24),
    (130.16, 38_313.0),
    (-119.63, -34_203.95),
];
/// Half of the sugar at the start \[g/L\].
const HALF: f64 = 65.0;

fn rates<D: DualNum<Primitive = f64> + Copy>(laws: [f64; 8], x: [D; 7]) -> [D; 7] {
    let [
        growth,
        esters,
        uptake,
        wakes,
        settles,
        ethanol_of,
        death,
        saturation,
    ] = laws;
    let [latent, active, dead, sugar, ethanol, _, diacetyl] = x;
    let crowd = (ethanol + HALF).recip();
    let grows = sugar * crowd * active * growth;
    let fed = sugar / (sugar + saturation) * active;
    [
        -latent * wakes,
        grows - active * death + latent * wakes,
        active * death - dead * crowd * (settles * HALF),
        -fed * uptake,
        (-ethanol / HALF + 1.0) * fed * ethanol_of,
        grows * esters,
        sugar * active * 1.276_72e-4 - diacetyl * ethanol * 1.138_64e-3,
    ]
}

/// The states each hour up to 240, from knot to knot of the temperatures.
pub fn solved(relative: f64, start: [f64; 7], knots: &[(f64, f64)]) -> Outcome<Vec<[f64; 7]>> {
    let last = knots.last().map_or(0.0, |knot| knot.1);
    let ends = knots.iter().skip(1).copied().chain([(240.0, last)]);
    let mut x = start;
    let mut all = Vec::new();
    for (from, to) in knots.iter().copied().zip(ends) {
        let hours = (1..=240).map(f64::from);
        let mut times: Vec<f64> = hours.filter(|h| *h > from.0 && *h < to.0).collect();
        times.push(to.0);
        let laws = |t: f64| {
            // The solver probes far past the end for its first step.
            let share = ((t - from.0) / (to.0 - from.0)).clamp(0.0, 1.0);
            let kelvin = from.1 + share * (to.1 - from.1) + 273.15;
            LAWS.map(|(a, b)| (a - b / kelvin).exp())
        };
        let states = |x: &[f64]| -> [f64; 7] { std::array::from_fn(|i| x[i]) };
        let value = |x: &[f64], _: &[f64], t: f64, y: &mut [f64]| {
            y.copy_from_slice(&rates(laws(t), states(x)));
        };
        let product = |x: &[f64], _: &[f64], t: f64, v: &[f64], y: &mut [f64]| {
            let dual = std::array::from_fn(|i| Dual64::new(x[i], v[i]));
            y.copy_from_slice(&rates(laws(t), dual).map(|r| r.eps));
        };
        let problem = OdeBuilder::<NalgebraMat<f64>>::new()
            .t0(from.0)
            .rtol(relative)
            .atol([0.1 * relative; 7])
            .rhs_implicit(value, product)
            .init(move |_: &[f64], _, y: &mut [f64]| y.copy_from_slice(&x), 7)
            .build()?;
        let mut solver = problem.bdf::<NalgebraLU<f64>>()?;
        let (matrix, _) = solver.solve_dense(&times)?;
        let at = |j: usize| std::array::from_fn(|i| matrix.inner()[(i, j)]);
        all.extend((0..times.len()).map(at));
        x = *all.last().ok_or("no state")?;
    }
    Ok(all)
}
