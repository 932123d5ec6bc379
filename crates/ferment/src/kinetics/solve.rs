//! From a right-hand side to values at wanted times.

use diffsol::{MatrixCommon, NalgebraLU, NalgebraMat, OdeBuilder, OdeSolverMethod};
use num_dual::{Dual64, DualNum};
use quantity::Duration;

use crate::error::FermentError;
use crate::temperature::{Stretch, TemperatureCourse};

/// A number that may carry a derivative: a right-hand side is written once and
/// gives values with `f64` and Jacobian products with dual numbers.
pub(crate) trait Real: DualNum<Primitive = f64> + Copy {}
impl<T: DualNum<Primitive = f64> + Copy> Real for T {}

/// A system of ordinary differential equations in time \[h\].
pub(crate) trait System<const N: usize> {
    /// The rates of change \[per h\].
    fn rates<D: Real>(&self, t_h: f64, temp_c: f64, x: &[D; N]) -> [D; N];

    /// Absolute tolerance of each state, in its unit.
    fn tolerances(&self) -> [f64; N];

    /// Relative tolerance.
    fn relative_tolerance(&self) -> f64;
}

/// The states at times \[h\] in rising order, all within the length of the
/// course to the last of them.
///
/// Solved by BDF with the Jacobian from dual numbers. The solver starts afresh
/// wherever the temperature turns or jumps, as its polynomials must not reach
/// over a corner.
pub(crate) fn solve<const N: usize, S: System<N>>(
    system: &S,
    start: [f64; N],
    course: &TemperatureCourse,
    times_h: &[f64],
) -> Result<Vec<[f64; N]>, FermentError> {
    let mut out = Vec::with_capacity(times_h.len());
    out.extend(times_h.iter().take_while(|t| **t <= 0.0).map(|_| start));
    let until_h = times_h.last().copied().unwrap_or(0.0);
    let mut x = start;
    for stretch in course.stretches(until_h) {
        let wanted = times_h
            .iter()
            .skip(out.len())
            .copied()
            .take_while(|t| *t <= stretch.to_h)
            .collect::<Vec<f64>>();
        let (columns, end) = solve_stretch(system, x, stretch, &wanted)?;
        out.extend(columns);
        x = end;
    }
    // The last time may lie a rounding error beyond the last stretch.
    while out.len() < times_h.len() {
        out.push(x);
    }
    Ok(out)
}

type Columns<const N: usize> = (Vec<[f64; N]>, [f64; N]);

fn solve_stretch<const N: usize, S: System<N>>(
    system: &S,
    start: [f64; N],
    stretch: Stretch,
    wanted_h: &[f64],
) -> Result<Columns<N>, FermentError> {
    let failed = |reason: String| FermentError::Solver {
        after: Duration::from_h(stretch.from_h),
        reason,
    };
    let value = |x: &[f64], _: &[f64], t: f64, y: &mut [f64]| {
        if let Some(x) = x.first_chunk::<N>() {
            y.copy_from_slice(&system.rates(t, stretch.temp_c(t), x));
        }
    };
    let product = |x: &[f64], _: &[f64], t: f64, v: &[f64], y: &mut [f64]| {
        if let (Some(x), Some(v)) = (x.first_chunk::<N>(), v.first_chunk::<N>()) {
            let dual: [Dual64; N] = std::array::from_fn(|i| Dual64::new(x[i], v[i]));
            let rates = system.rates(t, stretch.temp_c(t), &dual);
            y.copy_from_slice(&rates.map(|r| r.eps));
        }
    };
    let problem = OdeBuilder::<NalgebraMat<f64>>::new()
        .t0(stretch.from_h)
        .rtol(system.relative_tolerance())
        .atol(system.tolerances())
        .rhs_implicit(value, product)
        .init(|_: &[f64], _, y: &mut [f64]| y.copy_from_slice(&start), N)
        .build()
        .map_err(|e| failed(e.to_string()))?;
    let mut times = wanted_h.to_vec();
    times.push(stretch.to_h);
    let mut solver = problem
        .bdf::<NalgebraLU<f64>>()
        .map_err(|e| failed(e.to_string()))?;
    let (matrix, _) = solver
        .solve_dense(&times)
        .map_err(|e| failed(e.to_string()))?;
    let mut columns: Vec<[f64; N]> = (0..matrix.ncols().min(times.len()))
        .map(|j| std::array::from_fn(|i| matrix.inner()[(i, j)]))
        .collect();
    let end = columns.pop().filter(|x| x.iter().all(|v| v.is_finite()));
    let end = end.ok_or_else(|| failed("the values ceased to be finite".to_owned()))?;
    Ok((columns, end))
}
