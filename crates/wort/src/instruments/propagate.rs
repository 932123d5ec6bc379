//! How well a result is known when its inputs are: first order.

/// A function's values at a point, and their standard deviations where the inputs
/// have these and know nothing of each other: u² = Σ (∂f/∂xᵢ · uᵢ)² (JCGM 100:2008,
/// equation 10). The slopes are central differences over a thousandth of a
/// standard deviation, one-sided where one side is outside what `f` takes.
///
/// # Errors
/// What `f` refuses at the point itself.
pub(crate) fn propagated<const N: usize, E>(
    at: &[f64],
    sds: &[f64],
    f: impl Fn(&[f64]) -> Result<[f64; N], E>,
) -> Result<([f64; N], [f64; N]), E> {
    let values = f(at)?;
    let mut variances = [0.0; N];
    for (i, &sd) in sds.iter().enumerate().filter(|(_, sd)| **sd > 0.0) {
        // Wide enough that the iterations inside a function do not show.
        let step = (sd * 1e-3).max(1e-7 * at.get(i).map_or(1.0, |x| x.abs()));
        let moved = |by: f64| {
            let mut point = at.to_vec();
            if let Some(x) = point.get_mut(i) {
                *x += by;
            }
            f(&point).ok().map(|v| (v, by))
        };
        let (up, up_by) = moved(step).unwrap_or((values, 0.0));
        let (down, down_by) = moved(-step).unwrap_or((values, 0.0));
        let width = up_by - down_by;
        if width <= 0.0 {
            // Neither side is possible: a lone point has no slope.
            continue;
        }
        for (variance, (u, d)) in variances.iter_mut().zip(up.iter().zip(down)) {
            *variance += ((u - d) / width * sd).powi(2);
        }
    }
    Ok((values, variances.map(f64::sqrt)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The calibration of a mass, JCGM 101:2008, clause 9.3: the first-order
    /// standard uncertainty of the framework of the GUM is 0.0539 mg.
    #[test]
    fn the_calibration_of_a_mass_comes_out_as_published() {
        let rectangular = |low: f64, high: f64| ((low + high) / 2.0, (high - low) / 12f64.sqrt());
        let (air, weight, reference) = (
            rectangular(1.1, 1.3),
            rectangular(7000.0, 9000.0),
            rectangular(7950.0, 8050.0),
        );
        let at = [100_000.0, 1.234, air.0, weight.0, reference.0];
        let sds = [0.050, 0.020, air.1, weight.1, reference.1];
        let (values, sds) = propagated(&at, &sds, |x| {
            let buoyancy = (x[2] - 1.2) * (1.0 / x[3] - 1.0 / x[4]);
            Ok::<_, ()>([(x[0] + x[1]) * (1.0 + buoyancy) - 100_000.0])
        })
        .unwrap();
        assert!((values[0] - 1.234).abs() < 1e-6, "{values:?}");
        assert!((sds[0] - 0.0539).abs() < 5e-5, "{sds:?}");
    }

    /// Sums of four quantities of standard deviation one, normal or rectangular, are
    /// known to 2.0, JCGM 101:2008, clause 9.2; and 9.4: Y = X₁² + X₂² at (0.010, 0),
    /// each ± 0.005, is known to 100 × 10⁻⁶ to first order, which is why the clause asks
    /// for more than that there (its Monte Carlo has 112 × 10⁻⁶).
    #[test]
    fn sums_and_squares_come_out_as_published() {
        let sum = |x: &[f64]| Ok::<_, ()>([x.iter().sum::<f64>()]);
        let (_, sds) = propagated(&[0.0; 4], &[1.0; 4], sum).unwrap();
        assert!((sds[0] - 2.0).abs() < 1e-9, "{sds:?}");
        let power = |x: &[f64]| Ok::<_, ()>([x[0].powi(2) + x[1].powi(2)]);
        let (y, sds) = propagated(&[0.010, 0.0], &[0.005, 0.005], power).unwrap();
        assert!((y[0] - 1e-4).abs() < 1e-12);
        assert!((sds[0] - 100e-6).abs() < 1e-8, "{sds:?}");
    }

    #[test]
    fn at_the_edge_of_what_is_possible_one_side_is_enough() {
        let root = |x: &[f64]| (x[0] <= 2.0).then(|| [3.0 * x[0]]).ok_or(());
        let (_, sds) = propagated(&[2.0], &[0.1], root).unwrap();
        assert!((sds[0] - 0.3).abs() < 1e-9);
        assert!(propagated(&[3.0], &[0.1], root).is_err());
    }
}
