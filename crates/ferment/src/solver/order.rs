//! The coefficients of the methods, entered from memory, held to what makes a method
//! of their order: the algebraic conditions, and the order as measured.

use super::explicit;
use super::rodas::{A, ALPHA, C, D, GAMMA, Slopes, attempt};
use super::step::Step;
use super::tests::{Prothero, level};
use super::{Over, System, Tolerances};

type Square = [[f64; 6]; 6];

/// The inverse of a lower triangle.
#[expect(clippy::needless_range_loop, reason = "indices stand as in the formula")]
fn inverse(lower: &Square) -> Square {
    let mut out = [[0.0; 6]; 6];
    for (i, row) in lower.iter().enumerate() {
        for j in 0..=i {
            let known: f64 = (j..i).map(|k| row[k] * out[k][j]).sum();
            out[i][j] = (f64::from(u8::from(i == j)) - known) / row[i];
        }
    }
    out
}

fn times(a: &Square, b: &Square) -> Square {
    std::array::from_fn(|i| std::array::from_fn(|j| (0..6).map(|k| a[i][k] * b[k][j]).sum()))
}

fn sum(f: impl Fn(usize) -> f64) -> f64 {
    (0..6).map(f).sum()
}

/// Hairer & Wanner 1996, section IV.7: with C = diag(1/γ) − Γ⁻¹ and A = α Γ⁻¹ the
/// coefficients are turned back into α and Γ, β = α + Γ; then the eight
/// conditions of order 4 (7.15), stiff accuracy, and the sums of the rows.
#[test]
fn the_coefficients_meet_the_conditions_of_order_4() {
    let mut inverse_gamma = [[0.0; 6]; 6];
    let mut a = [[0.0; 6]; 6];
    for i in 0..6 {
        inverse_gamma[i][i] = 1.0 / GAMMA;
        for j in 0..i {
            inverse_gamma[i][j] = -C[i][j];
            a[i][j] = A[i][j];
        }
    }
    let gammas = inverse(&inverse_gamma);
    let alphas = times(&a, &gammas);
    let beta: Square = std::array::from_fn(|i| {
        std::array::from_fn(|j| alphas[i][j] + if j < i { gammas[i][j] } else { 0.0 })
    });
    // The new state is the last stage's state and the last stage.
    let m: [f64; 6] = std::array::from_fn(|j| if j == 5 { 1.0 } else { a[5][j] });
    let b: [f64; 6] = std::array::from_fn(|j| sum(|i| m[i] * gammas[i][j]));
    let row = |s: &Square, i: usize| sum(|j| s[i][j]);
    let beta_row: [f64; 6] = std::array::from_fn(|i| row(&beta, i));
    let near = |what: &str, ours: f64, wanted: f64| {
        assert!((ours - wanted).abs() < 1e-12, "{what}: {ours} {wanted}");
    };
    for i in 0..6 {
        near("times of the stages", row(&alphas, i), ALPHA[i]);
        near(
            "weights of the slope by time",
            row(&gammas, i),
            D.get(i).copied().unwrap_or(0.0),
        );
        let last = if i == 5 { GAMMA } else { beta[5][i] };
        near("stiff accuracy", b[i], last);
    }
    let g = GAMMA;
    near("1", sum(|i| b[i]), 1.0);
    near("2", sum(|i| b[i] * beta_row[i]), 0.5 - g);
    near("3a", sum(|i| b[i] * ALPHA[i].powi(2)), 1.0 / 3.0);
    let chain = |i: usize| sum(|j| beta[i][j] * beta_row[j]);
    near("3b", sum(|i| b[i] * chain(i)), 1.0 / 6.0 - g + g * g);
    near("4a", sum(|i| b[i] * ALPHA[i].powi(3)), 0.25);
    let mixed = |i: usize| ALPHA[i] * sum(|j| alphas[i][j] * beta_row[j]);
    near("4b", sum(|i| b[i] * mixed(i)), 1.0 / 8.0 - g / 3.0);
    let squares = |i: usize| sum(|j| beta[i][j] * ALPHA[j].powi(2));
    near("4c", sum(|i| b[i] * squares(i)), 1.0 / 12.0 - g / 3.0);
    let longer = |i: usize| sum(|j| beta[i][j] * chain(j));
    let wanted = 1.0 / 24.0 - g / 2.0 + 1.5 * g * g - g.powi(3);
    near("4d", sum(|i| b[i] * longer(i)), wanted);
}

/// The conditions of the rooted trees of up to five knots on weights of the explicit
/// method (E. Hairer, S. P. Nørsett, G. Wanner, Solving Ordinary Differential Equations I,
/// 2nd ed. 1993, section II.2), each as what it is off by, with its order.
fn explicit_conditions(b: [f64; 7]) -> Vec<(u32, f64)> {
    use explicit::{A, C};
    type Column = [f64; 7];
    let by_a = |v: &Column| -> Column {
        std::array::from_fn(|i| A[i].iter().zip(v).map(|(a, v)| a * v).sum())
    };
    let product = |u: &Column, v: &Column| -> Column { std::array::from_fn(|i| u[i] * v[i]) };
    let power = |n: i32| -> Column { C.map(|c| c.powi(n)) };
    let (c, c2, c3) = (C, power(2), power(3));
    let (ac, ac2) = (by_a(&c), by_a(&c2));
    let aac = by_a(&ac);
    let rows: [(u32, Column, f64); 17] = [
        (1, [1.0; 7], 1.0),
        (2, c, 2.0),
        (3, c2, 3.0),
        (3, ac, 6.0),
        (4, c3, 4.0),
        (4, product(&c, &ac), 8.0),
        (4, ac2, 12.0),
        (4, aac, 24.0),
        (5, power(4), 5.0),
        (5, product(&c2, &ac), 10.0),
        (5, product(&c, &ac2), 15.0),
        (5, product(&c, &aac), 30.0),
        (5, product(&ac, &ac), 20.0),
        (5, by_a(&c3), 20.0),
        (5, by_a(&product(&c, &ac)), 40.0),
        (5, by_a(&ac2), 60.0),
        (5, by_a(&aac), 120.0),
    ];
    let off = |(order, column, of): (u32, Column, f64)| {
        let sum: f64 = b.iter().zip(column).map(|(b, x)| b * x).sum();
        (order, sum - 1.0 / of)
    };
    rows.map(off).to_vec()
}

#[test]
fn the_explicit_coefficients_meet_the_conditions_of_orders_5_and_4() {
    use explicit::{A, C, OFF};
    for (row, c) in A.iter().zip(C) {
        assert!((row.iter().sum::<f64>() - c).abs() < 1e-14, "time {c}");
    }
    let fifth: [f64; 7] = std::array::from_fn(|i| A[6].get(i).copied().unwrap_or(0.0));
    for (order, off) in explicit_conditions(fifth) {
        assert!(off.abs() < 1e-14, "order {order}: {off}");
    }
    let fourth = std::array::from_fn(|i| fifth[i] - OFF[i]);
    let conditions = explicit_conditions(fourth);
    for (order, off) in conditions.iter().filter(|(order, _)| *order < 5) {
        assert!(off.abs() < 1e-14, "order {order} of the other: {off}");
    }
    // Else the difference would say nothing of the error.
    assert!(conditions.iter().any(|(_, off)| off.abs() > 1e-4));
}

/// The methods.
#[derive(Debug, Clone, Copy)]
enum Method {
    Explicit,
    Implicit,
}

impl Method {
    fn step(self, system: &Prothero, t_h: f64, x: &[f64; 2], step_h: f64) -> Step<f64, 2> {
        let segment = level(20.0, 2.0);
        match self {
            Self::Explicit => {
                let rates = system.rates(t_h, &(), x);
                explicit::attempt(system, &segment, &(), (t_h, x), step_h, &rates)
                    .unwrap()
                    .step
            }
            Self::Implicit => {
                let slopes = Slopes::at(system, &segment, &(), t_h, x);
                attempt(system, &segment, &(), (t_h, x), step_h, &slopes)
                    .unwrap()
                    .0
            }
        }
    }
}

/// Error at t = 2 h after equal steps, and the worst of the dense output between.
fn error_of(method: Method, k: f64, steps: u32) -> (f64, f64) {
    let system = Prothero { k, tolerance: 1.0 };
    let step_h = 2.0 / f64::from(steps);
    let mut x = [1.0, 1.0];
    let (mut worst, mut between) = (0.0_f64, 0.0_f64);
    let exact = |t: f64| [t.cos(), (-t.sin()).exp()];
    let error = |x: [f64; 2], t: f64| {
        let [a, b] = exact(t);
        (x[0] - a).abs().max((x[1] - b).abs())
    };
    for i in 0..steps {
        let t_h = f64::from(i) * step_h;
        let step = method.step(&system, t_h, &x, step_h);
        for part in [0.25, 0.5, 0.75] {
            let at_h = t_h + part * step_h;
            between = between.max(error(step.at(at_h), at_h));
        }
        x = step.to;
        worst = worst.max(error(x, t_h + step_h));
    }
    (worst, between)
}

fn order_of(method: Method, k: f64, coarse: u32) -> (f64, f64) {
    let (a, b) = (error_of(method, k, coarse), error_of(method, k, 2 * coarse));
    ((a.0 / b.0).log2(), (a.1 / b.1).log2())
}

/// Halving the step divides the error by 2⁴, on a mild problem and on one of
/// 10⁵/h, whose steps are far beyond the time that it answers in; the dense output
/// is of order 3 and so its error falls by 2⁴ too, a step being one more power.
#[test]
fn the_order_is_four_on_a_mild_and_on_a_stiff_problem() {
    let (mild, dense) = order_of(Method::Implicit, 1.0, 40);
    assert!((3.7..4.4).contains(&mild), "mild: {mild}");
    assert!((3.6..4.6).contains(&dense), "dense: {dense}");
    let (stiff, dense) = order_of(Method::Implicit, 1e5, 20);
    assert!(stiff > 2.8, "stiff: {stiff}");
    assert!(dense > 2.8, "stiff, dense: {dense}");
}

/// Halving the step divides the error of the explicit method by 2⁵ and, its dense output
/// being of order 4, that between the steps as well.
#[test]
fn the_order_of_the_explicit_method_is_five() {
    let (order, dense) = order_of(Method::Explicit, 1.0, 20);
    assert!((4.7..5.5).contains(&order), "{order}");
    assert!((4.6..5.5).contains(&dense), "dense: {dense}");
}

/// x' = x at every time, to see that a system without time is solved the same.
struct Plain;

impl System<1> for Plain {
    type Warmth = ();
    fn warmth(&self, _: f64) {}
    fn rates<D: Over<f64>>(&self, _: f64, (): &(), x: &[D; 1]) -> [D; 1] {
        *x
    }
    fn tolerances(&self) -> Tolerances<1> {
        Tolerances {
            absolute: [1e-12],
            relative: 1e-10,
        }
    }
}

#[test]
fn growth_without_end_is_e_to_the_t() {
    let out = super::solve_along(&Plain, [1.0], &[level(20.0, 5.0)], &[1.0, 5.0]).unwrap();
    assert!((out[0][0] / 1f64.exp() - 1.0).abs() < 1e-8);
    assert!((out[1][0] / 5f64.exp() - 1.0).abs() < 1e-8);
}
