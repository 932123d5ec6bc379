//! The small solver against general ones.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettingsBuilder, DefaultSolver, IPSolver, SolverStatus, SupportedConeT,
};
use proptest::prelude::*;
use water::design::qp::{Quadratic, Row, Unsolved, minimise};

/// A stream of numbers between −1 and 1, the same everywhere.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        ((self.0 >> 11) as f64 / (1u64 << 53) as f64) * 2.0 - 1.0
    }
}

/// A problem with the shape of ours: fewer aims than unknowns, a ridge, doses not
/// below nought, shares that make a whole, and a few limits either way.
fn problem(seed: u64) -> Quadratic {
    let mut r = Numbers(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..4 {
        r.next();
    }
    let n = 2 + (seed % 11) as usize;
    let aims = 1 + (seed / 11 % 9) as usize;
    let mut hessian = vec![0.0; n * n];
    let mut gradient = vec![0.0; n];
    for _ in 0..aims {
        let row: Vec<f64> = (0..n).map(|_| 3.0 * r.next()).collect();
        let target = 10.0 * r.next();
        for i in 0..n {
            gradient[i] -= 2.0 * target * row[i];
            for k in 0..n {
                hessian[i * n + k] += 2.0 * row[i] * row[k];
            }
        }
    }
    for i in 0..n {
        hessian[i * n + i] += 2e-3;
    }
    let mut rows = vec![];
    if !seed.is_multiple_of(3) {
        let mut coefficients = vec![0.0; n];
        coefficients[0] = 1.0;
        coefficients[1] = 1.0;
        rows.push(Row {
            coefficients,
            at_least: 1.0,
            equal: true,
        });
    }
    for i in 0..n {
        let mut coefficients = vec![0.0; n];
        coefficients[i] = 1.0;
        rows.push(Row {
            coefficients,
            at_least: 0.0,
            equal: false,
        });
    }
    for _ in 0..seed % 7 {
        let coefficients = (0..n).map(|_| 3.0 * r.next()).collect();
        rows.push(Row {
            coefficients,
            at_least: 2.0 * r.next(),
            equal: false,
        });
    }
    Quadratic {
        hessian,
        gradient,
        rows,
    }
}

/// What the interior-point solver makes of it.
#[derive(Debug)]
enum Peer {
    Least(f64),
    None,
    /// It ends without being sure.
    Unsure,
}

fn peer(problem: &Quadratic) -> Peer {
    let n = problem.gradient.len();
    let upper: Vec<Vec<f64>> = (0..n)
        .map(|i| {
            (0..n)
                .map(|k| {
                    if k >= i {
                        problem.hessian[i * n + k]
                    } else {
                        0.0
                    }
                })
                .collect()
        })
        .collect();
    let p = CscMatrix::from(&upper);
    let ordered: Vec<&Row> = {
        let (equal, least): (Vec<&Row>, Vec<&Row>) = problem.rows.iter().partition(|r| r.equal);
        equal.into_iter().chain(least).collect()
    };
    let equal = problem.rows.iter().filter(|r| r.equal).count();
    let a: Vec<Vec<f64>> = ordered
        .iter()
        .map(|r| r.coefficients.iter().map(|x| -x).collect())
        .collect();
    let b: Vec<f64> = ordered.iter().map(|r| -r.at_least).collect();
    let cones = [
        SupportedConeT::ZeroConeT(equal),
        SupportedConeT::NonnegativeConeT(ordered.len() - equal),
    ];
    let settings = DefaultSettingsBuilder::default()
        .verbose(false)
        .tol_gap_abs(1e-10)
        .tol_gap_rel(1e-10)
        .tol_feas(1e-10)
        .build()
        .unwrap();
    let mut solver = DefaultSolver::new(
        &p,
        &problem.gradient,
        &CscMatrix::from(&a),
        &b,
        &cones,
        settings,
    )
    .unwrap();
    solver.solve();
    match solver.solution.status {
        SolverStatus::Solved => Peer::Least(problem.value(&solver.solution.x)),
        SolverStatus::PrimalInfeasible => Peer::None,
        _ => Peer::Unsure,
    }
}

/// clarabel 0.11.1 on 4000 random problems: the same least value, and the same
/// word on those that have none. Where it is not sure, it is not asked: the
/// conditions of a least value are checked below without it.
#[test]
fn agrees_with_an_interior_point_solver() {
    let (mut solved, mut none, mut unsure, mut worst) = (0, 0, 0, 0.0f64);
    for seed in 0..4000 {
        let problem = problem(seed);
        match (minimise(&problem), peer(&problem)) {
            (Ok(ours), Peer::Least(theirs)) => {
                solved += 1;
                let gap = (ours.value - theirs).abs() / (1.0 + theirs.abs());
                worst = worst.max(gap);
                assert!(gap < 1e-6, "seed {seed}: {} against {theirs}", ours.value);
            }
            (Err(Unsolved::Infeasible { .. }), Peer::None) => none += 1,
            (_, Peer::Unsure) => unsure += 1,
            (ours, theirs) => panic!("seed {seed}: {ours:?} against {theirs:?}"),
        }
    }
    println!("{solved} solved, {none} without an answer, {unsure} unsure, worst gap {worst:.1e}");
    assert!(solved > 2000 && none > 100 && unsure < 100);
}

/// The conditions that hold at a least value and nowhere else (Karush, Kuhn,
/// Tucker), so that no other solver need be believed.
fn stands_at_the_least_value(problem: &Quadratic) {
    let Ok(least) = minimise(problem) else { return };
    let n = problem.gradient.len();
    for i in 0..n {
        // What cancels may be large where rows are nearly parallel: the slope is
        // held to the size of its terms.
        let curved = (0..n).map(|k| problem.hessian[i * n + k] * least.x[k]);
        let held = problem.rows.iter().zip(&least.multipliers);
        let held = held.map(|(row, multiplier)| -multiplier * row.coefficients[i]);
        let terms: Vec<f64> = curved.chain(held).chain([problem.gradient[i]]).collect();
        let slope: f64 = terms.iter().sum();
        let size: f64 = terms.iter().map(|term| term.abs()).sum();
        assert!(slope.abs() < 1e-7 * (1.0 + size), "slope {slope} of {size}");
    }
    for (row, multiplier) in problem.rows.iter().zip(&least.multipliers) {
        let sum: f64 = row
            .coefficients
            .iter()
            .zip(&least.x)
            .map(|(a, x)| a * x)
            .sum();
        let slack = sum - row.at_least;
        assert!(slack > -1e-8, "missed by {slack}");
        if !row.equal {
            assert!(*multiplier >= 0.0 && (multiplier * slack).abs() < 1e-6 * (1.0 + multiplier));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn the_conditions_of_a_least_value_hold(seed in 0u64..1_000_000_000) {
        stands_at_the_least_value(&problem(seed));
    }
}

#[test]
fn what_cannot_be_solved_is_refused() {
    let row = |a: f64, b: f64| Row {
        coefficients: vec![a],
        at_least: b,
        equal: false,
    };
    let mut problem = Quadratic {
        hessian: vec![1.0],
        gradient: vec![0.0],
        rows: vec![row(1.0, 2.0), row(-1.0, -1.0)],
    };
    assert!(matches!(
        minimise(&problem),
        Err(Unsolved::Infeasible { .. })
    ));
    problem.hessian = vec![-1.0];
    assert_eq!(minimise(&problem), Err(Unsolved::NotConvex));
    problem.hessian = vec![f64::NAN];
    assert_eq!(minimise(&problem), Err(Unsolved::NotConvex));
    problem.hessian = vec![1.0];
    problem.rows[0].coefficients.push(1.0);
    assert_eq!(minimise(&problem), Err(Unsolved::NotConvex));
    assert!(minimise(&Quadratic::default()).unwrap().x.is_empty());
}
