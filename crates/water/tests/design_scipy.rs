//! Whole designs against scipy 1.17.1 (SLSQP and trust-constr, the better of the
//! two), which minimises the same misfit with the true mash pH. The cases and
//! their optima are made by `reference/design_scipy.py`.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod design_support;

use design_support::cases::{cases, of_case, squares};
use water::design::{design, settings};

#[test]
fn designs_reach_the_optimum_of_scipy() {
    let (mut count, mut worst) = (0, 0.0f64);
    for c in cases() {
        let task = of_case(&c, 1e-6);
        let found = design(&task).unwrap();
        let ours = found.misfit.weighed + settings().ridge.value * squares(&task, &found);
        let gap = (ours - c[39]) / c[39].abs().max(1.0);
        worst = worst.max(gap.abs());
        assert!(gap.abs() < 1e-6, "case {count}: {ours} against {}", c[39]);
        // Nothing but rounding lies between the two misfits.
        assert!((found.misfit.weighed - found.misfit.unrounded).abs() < 1e-4);
        count += 1;
    }
    println!("{count} cases, worst gap {worst:.1e}");
    assert_eq!(count, 200);
}

#[test]
fn the_ridge_is_that_of_the_script() {
    assert!((settings().ridge.value - 1e-6).abs() < 1e-18);
}
