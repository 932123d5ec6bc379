//! A peer from outside: BDF of the library diffsol 0.18, on plain numbers.

use diffsol::{MatrixCommon, NalgebraLU, NalgebraMat, OdeBuilder, OdeSolverMethod};

use super::{Dual, Segment, System};

/// The states at times \[h\] in rising order over segments that follow each
/// other, the solver starting afresh on each.
pub(crate) fn bdf<const N: usize, S: System<N>>(
    system: &S,
    start: [f64; N],
    segments: &[Segment],
    times_h: &[f64],
) -> Vec<[f64; N]> {
    let mut out = Vec::new();
    let mut x = start;
    for segment in segments {
        let wanted = times_h.iter().skip(out.len()).copied();
        let mut times: Vec<f64> = wanted.take_while(|t| *t <= segment.to_h).collect();
        times.push(segment.to_h);
        out.extend(over_one(system, x, *segment, &times));
        x = out.pop().unwrap();
    }
    out.resize(times_h.len(), x);
    out
}

fn over_one<const N: usize, S: System<N>>(
    system: &S,
    start: [f64; N],
    segment: Segment,
    times_h: &[f64],
) -> Vec<[f64; N]> {
    // The solver probes far past the end for its first step.
    let warmth = |t: f64| system.warmth(segment.temp_c(t.clamp(segment.from_h, segment.to_h)));
    let value = |x: &[f64], _: &[f64], t: f64, y: &mut [f64]| {
        let x = x.first_chunk::<N>().unwrap();
        y.copy_from_slice(&system.rates(t, &warmth(t), x));
    };
    let product = |x: &[f64], _: &[f64], t: f64, v: &[f64], y: &mut [f64]| {
        let dual: [Dual<f64, 1>; N] = std::array::from_fn(|i| Dual {
            value: x[i],
            slopes: [v[i]],
        });
        y.copy_from_slice(&system.rates(t, &warmth(t), &dual).map(|r| r.slopes[0]));
    };
    let tolerances = system.tolerances();
    let problem = OdeBuilder::<NalgebraMat<f64>>::new()
        .t0(segment.from_h)
        .rtol(tolerances.relative)
        .atol(tolerances.absolute)
        .rhs_implicit(value, product)
        .init(|_: &[f64], _, y: &mut [f64]| y.copy_from_slice(&start), N)
        .build()
        .unwrap();
    let mut solver = problem.bdf::<NalgebraLU<f64>>().unwrap();
    let (matrix, _) = solver.solve_dense(times_h).unwrap();
    (0..times_h.len())
        .map(|j| std::array::from_fn(|i| matrix.inner()[(i, j)]))
        .collect()
}
