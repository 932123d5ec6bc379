use num_dual::Dual64;
use proptest::prelude::*;

use super::peer::bdf;
use super::*;

/// One segment at one temperature, from 0 h.
pub(super) fn level(temp_c: f64, to_h: f64) -> Segment {
    Segment::between((0.0, temp_c), (to_h, temp_c))
}

/// y' = −k (y − cos t) − sin t, of which y = cos t is a solution at any k
/// (A. Prothero, A. Robinson, Math. Comput. 28 (1974) 145–162), beside
/// z' = −y z, z = exp(−sin t).
pub(super) struct Prothero {
    pub(super) k: f64,
    pub(super) tolerance: f64,
}

impl System<2> for Prothero {
    const TIMED: bool = true;
    type Warmth = ();
    fn warmth(&self, _: f64) {}
    fn rates<D: Over<f64>>(&self, t_h: f64, (): &(), x: &[D; 2]) -> [D; 2] {
        [-(x[0] - t_h.cos()) * self.k - t_h.sin(), -x[0] * x[1]]
    }
    fn tolerances(&self) -> Tolerances<2> {
        Tolerances {
            absolute: [self.tolerance; 2],
            relative: self.tolerance,
        }
    }
}

fn worst_error(k: f64, tolerance: f64) -> f64 {
    let times: Vec<f64> = (0..=200).map(|i| f64::from(i) * 0.05).collect();
    let system = Prothero { k, tolerance };
    let out = solve_along(&system, [1.0, 1.0], &[level(20.0, 10.0)], &times).unwrap();
    assert_eq!(out.len(), times.len());
    let errors = out.iter().zip(&times).map(|(x, t)| {
        let exact = [t.cos(), (-t.sin()).exp()];
        (x[0] - exact[0]).abs().max((x[1] - exact[1]).abs())
    });
    errors.fold(0.0, f64::max)
}

/// At k = 1e6 /h, far beyond any rate of a fermentation, the error stays within
/// 100 tolerances down to 1e-6 only: at 1e-8 it was 2.6e-6.
#[test]
fn a_known_solution_is_met_to_tolerance_on_stiff_systems() {
    for (k, tightest) in [(1.0, 1e-10), (50.0, 1e-10), (1e4, 1e-10), (1e6, 1e-6)] {
        for tolerance in [1e-4, 1e-6, 1e-8, 1e-10]
            .into_iter()
            .filter(|t| *t >= tightest)
        {
            let error = worst_error(k, tolerance);
            assert!(error < 100.0 * tolerance, "k {k}, {tolerance}: {error}");
        }
    }
}

#[test]
fn a_tighter_tolerance_gives_a_smaller_error() {
    assert!(worst_error(50.0, 1e-9) < 1e-3 * worst_error(50.0, 1e-4));
}

/// Steps that a solution of 10 h takes.
fn steps_of(k: f64) -> usize {
    let (system, tolerance) = (Prothero { k, tolerance: 1e-6 }, 1e-5);
    let mut steps = 0;
    let mut budget = march::Budget::new(MOST_STEPS);
    let end = march::march(&system, [1.0, 1.0], &level(20.0, 10.0), &mut budget, |_| {
        steps += 1;
        ControlFlow::Continue(())
    });
    assert!((end.unwrap()[0] - 10f64.cos()).abs() < tolerance);
    steps
}

/// At k = 10⁴/h the explicit method is stable to steps of 3.3/k (Hairer & Wanner 1996,
/// section IV.2), so that it would need 30,000; at 1/h neither is held back.
#[test]
fn the_implicit_method_takes_over_where_the_explicit_one_is_held_back() {
    let (mild, stiff) = (steps_of(1.0), steps_of(1e4));
    assert!(mild < 100, "{mild}");
    assert!(stiff < 1000, "{stiff}");
}

/// y' = a y^n; with n = 2 it leaves the finite numbers at t = 1/(a y).
struct Power<T> {
    a: T,
    n: i32,
}

impl<T: Real> System<1, T> for Power<T> {
    type Warmth = ();
    fn warmth(&self, _: T) {}
    fn rates<D: Over<T>>(&self, _: f64, (): &(), x: &[D; 1]) -> [D; 1] {
        [x[0].powi(self.n) * self.a]
    }
    fn tolerances(&self) -> Tolerances<1> {
        Tolerances {
            absolute: [1e-12],
            relative: 1e-9,
        }
    }
}

#[test]
fn a_runaway_is_an_error_and_not_a_hang() {
    let system = Power { a: 1.0, n: 2 };
    let error = solve_along(&system, [1.0], &[level(20.0, 2.0)], &[2.0]).unwrap_err();
    let FermentError::Solver { after, .. } = &error else {
        panic!("{error}")
    };
    assert!((after.h() - 1.0).abs() < 1e-3, "{error}");
}

#[test]
fn a_state_or_a_parameter_that_is_no_number_is_refused() {
    let segments = [level(20.0, 2.0)];
    let system = Power { a: 1.0, n: 2 };
    assert!(solve_along(&system, [f64::NAN], &segments, &[2.0]).is_err());
    let system = Power { a: f64::NAN, n: 1 };
    let error = solve_along(&system, [1.0], &segments, &[2.0]).unwrap_err();
    assert!(
        error.to_string().contains("rates ceased to be finite"),
        "{error}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    /// Whatever is asked, there is an answer or an error, within the steps allowed.
    #[test]
    fn absurd_parameters_end_in_an_answer_or_an_error(
        size in -300.0..300.0f64, start in -30.0..30.0f64, n in 1..5i32, sign in prop::bool::ANY,
    ) {
        let a = 10f64.powf(size) * if sign { 1.0 } else { -1.0 };
        let out = solve_along(&Power { a, n }, [10f64.powf(start)], &[level(20.0, 9.0)], &[9.0]);
        if let Ok(states) = out {
            prop_assert!(states[0][0].is_finite());
        }
    }
}

/// Free fall with a bounce: what happens and where is known in closed form.
struct Fall;

impl System<2> for Fall {
    type Warmth = ();
    fn warmth(&self, _: f64) {}
    fn rates<D: Over<f64>>(&self, _: f64, (): &(), x: &[D; 2]) -> [D; 2] {
        [x[1], D::of(-2.0)]
    }
    fn tolerances(&self) -> Tolerances<2> {
        Tolerances {
            absolute: [1e-10; 2],
            relative: 1e-9,
        }
    }
}

/// Thrown up at 4 from 0 under −2: height 3 at 1 and 3, top at 2, ground at 4.
#[test]
fn events_are_found_in_order_and_end_the_course() {
    let watched = |_: f64, x: &[f64; 2]| [x[0] - 3.0, x[1], x[0] + 1e-12];
    let out = follow(
        &Fall,
        [0.0, 4.0],
        &[level(20.0, 50.0)],
        &[1.0, 3.5, 20.0],
        watched,
        [false, false, true],
    )
    .unwrap();
    let met: Vec<(usize, f64)> = out.met.iter().map(|m| (m.which, m.at_h)).collect();
    let wanted = [(0, 1.0), (1, 2.0), (0, 3.0), (2, 4.0)];
    assert_eq!(met.len(), wanted.len(), "{met:?}");
    for ((which, at), (w, t)) in met.iter().zip(wanted) {
        assert!(*which == w && (at - t).abs() < 1e-8, "{met:?}");
    }
    assert_eq!(out.ended_by, Some(2));
    assert!((out.end_h - 4.0).abs() < 1e-8 && (out.end[1] + 4.0).abs() < 1e-8);
    assert!((out.states[1][0] - (4.0 * 3.5 - 3.5 * 3.5)).abs() < 1e-8);
    assert!(
        (out.states[2][1] - out.end[1]).abs() < 1e-12,
        "the end stands for the rest"
    );
}

#[test]
fn without_events_the_course_goes_to_its_end() {
    let watched = |_: f64, x: &[f64; 2]| [x[0] - 100.0];
    let out = follow(
        &Fall,
        [0.0, 4.0],
        &[level(20.0, 5.0)],
        &[5.0],
        watched,
        [true],
    )
    .unwrap();
    assert!(out.met.is_empty() && out.ended_by.is_none());
    assert!((out.end_h - 5.0).abs() < 1e-12);
}

/// y' = k (T − y) with T a kinked line in time: slopes by k and by each knot.
struct Chase<T> {
    k: T,
}

impl<T: Real> System<1, T> for Chase<T> {
    type Warmth = T;
    fn warmth(&self, temp_c: T) -> T {
        temp_c
    }
    fn rates<D: Over<T>>(&self, _: f64, temp_c: &T, x: &[D; 1]) -> [D; 1] {
        [-(x[0] - *temp_c) * self.k]
    }
    fn tolerances(&self) -> Tolerances<1> {
        Tolerances {
            absolute: [1e-10],
            relative: 1e-9,
        }
    }
}

/// Over a level stretch of length 1 at T₁ and a ramp from T₁ to T₂ in 1 h, from
/// y = 0: y(1) = T₁(1 − e), y(2) = y(1) e + T₁(1 − e) + (T₂ − T₁)(1 − (1 − e)/k),
/// e = exp(−k).
#[test]
fn slopes_by_parameters_follow_the_closed_form() {
    let k: Dual<f64, 3> = Dual::variable(0.7, 0);
    let (t1, t2) = (Dual::variable(10.0, 1), Dual::variable(16.0, 2));
    let segments = [
        Segment::between((0.0, t1), (1.0, t1)),
        Segment::between((1.0, t1), (2.0, t2)),
    ];
    let start = [Dual::of(0.0)];
    let out = solve_along(&Chase { k }, start, &segments, &[1.0, 2.0]).unwrap();
    let e = (-k).exp();
    let first = t1 * (-e + 1.0);
    let second = first * e + first + (t2 - t1) * (-((-e + 1.0) / k) + 1.0);
    for (ours, exact) in [(out[0][0], first), (out[1][0], second)] {
        assert!((ours.value - exact.value).abs() < 1e-7);
        for (o, x) in ours.slopes.iter().zip(exact.slopes) {
            assert!((o - x).abs() < 1e-6, "{ours:?} {exact:?}");
        }
    }
}

/// Several members at once are each what they are alone.
#[test]
fn lanes_are_what_each_is_alone() {
    let a = [0.1, -0.4, 0.3, 1.0];
    let start = [1.0, 2.0, 0.5, 0.2];
    let segments = [Segment::between(
        (0.0, Lanes([20.0; 4])),
        (1.5, Lanes([20.0; 4])),
    )];
    let together = solve_along(
        &Power { a: Lanes(a), n: 2 },
        [Lanes(start)],
        &segments,
        &[1.5],
    );
    let Lanes(together) = together.unwrap()[0][0];
    for i in 0..4 {
        let alone = Power { a: a[i], n: 2 };
        let alone = solve_along(&alone, [start[i]], &[level(20.0, 1.5)], &[1.5]).unwrap()[0][0];
        let exact = start[i] / (1.0 - a[i] * start[i] * 1.5);
        assert!(
            (together[i] - exact).abs() < 1e-7 * exact,
            "{} {exact}",
            together[i]
        );
        assert!((alone - exact).abs() < 1e-7 * exact);
    }
}

#[test]
fn a_peer_agrees_on_the_stiff_problem() {
    let system = Prothero {
        k: 100.0,
        tolerance: 1e-9,
    };
    let (segments, times) = ([level(20.0, 6.0)], [0.5, 2.0, 6.0]);
    let ours = solve_along(&system, [1.5, 1.0], &segments, &times).unwrap();
    let peer = bdf(&system, [1.5, 1.0], &segments, &times);
    for (o, p) in ours.iter().flatten().zip(peer.iter().flatten()) {
        assert!((o - p).abs() < 1e-6, "{o} {p}");
    }
}

proptest! {
    /// The peer is the library num-dual 0.15.
    #[test]
    fn slopes_agree_with_another_library(x in 0.2..3.0f64, y in 0.2..3.0f64, n in 1..7i32) {
        let (a, b) = (Dual::<f64, 2>::variable(x, 0), Dual::variable(y, 1));
        let ours = (a * b + 1.0).ln() / (b - 5.0) - (a / 2.0).exp() * b.powi(n) + a.recip();
        for direction in 0..2 {
            let seed = |i: usize| f64::from(u8::from(i == direction));
            use num_dual::DualNum;
            let (a, b) = (Dual64::new(x, seed(0)), Dual64::new(y, seed(1)));
            let peer = (a * b + 1.0).ln() / (b - 5.0) - (a / 2.0).exp() * b.powi(n) + a.recip();
            let slope = ours.slopes[direction];
            prop_assert!((ours.value - peer.re).abs() < 1e-9 * (1.0 + peer.re.abs()));
            prop_assert!((slope - peer.eps).abs() < 1e-9 * (1.0 + peer.eps.abs()));
        }
    }
}
