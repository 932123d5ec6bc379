//! The search for the best course under limits: a sequence of quadratic programs
//! with exact slopes, from several starts.

use super::quadratic::{dot, least};
use crate::solver::Dual;
use quantity::numeric::split_mix;

/// A number with its slopes by the P free numbers.
pub(super) type Slope<const P: usize> = Dual<f64, P>;

/// What a choice of the free numbers comes to.
#[derive(Debug, Clone)]
pub(super) struct Valued<const P: usize> {
    /// To be made least.
    pub(super) aim: Slope<P>,
    /// Each to be at most nothing, in units of its own size.
    pub(super) limits: Vec<Slope<P>>,
}

/// Where the free numbers may be.
#[derive(Debug, Clone)]
pub(super) struct Room<const P: usize> {
    pub(super) low: [f64; P],
    pub(super) high: [f64; P],
    /// Rows: weights · u ≤ bound.
    pub(super) rows: Vec<([f64; P], f64)>,
}

impl<const P: usize> Room<P> {
    /// Even chance within the bounds, seeded; the rows are left to the search.
    pub(super) fn random(&self, seed: &mut u64) -> [f64; P] {
        std::array::from_fn(|i| {
            let share = split_mix(seed) as f64 / u64::MAX as f64;
            self.low[i] + (self.high[i] - self.low[i]) * share
        })
    }
}

/// The end of a search.
#[derive(Debug, Clone)]
pub(super) struct Found<const P: usize> {
    pub(super) at: [f64; P],
    pub(super) aim: f64,
    /// The worst excess over a limit, in units of its size.
    pub(super) excess: f64,
}

/// Excess that counts as none where the aim is solved closely.
pub(super) const NO_EXCESS: f64 = 1e-5;
const MOST_ROUNDS: usize = 80;

/// The best of searches from several starts, and where each of them ended. A
/// start that cannot be reckoned is passed over; an excess up to `slack` counts as none.
pub(super) fn best_of<const P: usize>(
    value: impl Fn(&[Slope<P>; P]) -> Option<Valued<P>>,
    room: &Room<P>,
    starts: &[[f64; P]],
    slack: f64,
) -> (Option<Found<P>>, Vec<Found<P>>) {
    let ends: Vec<Found<P>> = starts
        .iter()
        .filter_map(|start| search(&value, room, *start, None))
        .collect();
    let met = ends.iter().filter(|found| found.excess <= slack);
    let best = met.min_by(|a, b| a.aim.total_cmp(&b.aim)).cloned();
    (best, ends)
}

/// Whether a search from one of several starts comes to keep all limits but for `slack`.
pub(super) fn reaches<const P: usize>(
    value: impl Fn(&[Slope<P>; P]) -> Option<Valued<P>>,
    room: &Room<P>,
    starts: &[[f64; P]],
    slack: f64,
) -> bool {
    let mut ends = starts
        .iter()
        .filter_map(|start| search(&value, room, *start, Some(slack)));
    ends.any(|found| found.excess <= slack)
}

/// One search, which may end as soon as no excess is above `enough`: a quadratic model of the aim, straight lines for the limits, a
/// bound on the length of the step that follows how well they foretold, and a
/// price on the worst excess (R. Fletcher's Sl∞QP, from memory).
fn search<const P: usize>(
    value: &impl Fn(&[Slope<P>; P]) -> Option<Valued<P>>,
    room: &Room<P>,
    start: [f64; P],
    enough: Option<f64>,
) -> Option<Found<P>> {
    let reckon = |u: &[f64; P]| value(&std::array::from_fn(|i| Slope::variable(u[i], i)));
    let mut at = within(room, start)?;
    let mut now = reckon(&at)?;
    let mut bend = identity(P);
    let (mut length, mut price) = (0.2, 10.0 * (1.0 + size(&now.aim.slopes)));
    for _ in 0..MOST_ROUNDS {
        if enough.is_some_and(|slack| excess(&now) <= slack) {
            break;
        }
        let Some((step, multipliers)) = next(&now, &bend, room, &at, length, price) else {
            length *= 0.3;
            continue;
        };
        let there: [f64; P] = std::array::from_fn(|i| at[i] + step[i]);
        let foretold = merit(&now, price) - foretell(&now, &bend, &step, price);
        if foretold < 1e-9 * (1.0 + now.aim.value.abs()) || length < 1e-6 {
            break;
        }
        let then = reckon(&there);
        let gained = then
            .as_ref()
            .map_or(f64::NEG_INFINITY, |t| merit(&now, price) - merit(t, price));
        if gained > 0.75 * foretold {
            length = (2.0 * length).min(1.0);
        } else if gained < 0.25 * foretold {
            length *= 0.4;
        }
        let Some(then) = then else { continue };
        let turn = turned(&now, &then, &multipliers);
        update(&mut bend, &step, &turn);
        if gained > 0.0 {
            (at, now) = (there, then);
            price = price.max(2.0 * multipliers.iter().sum::<f64>());
        }
    }
    Some(Found {
        at,
        aim: now.aim.value,
        excess: excess(&now),
    })
}

fn excess<const P: usize>(v: &Valued<P>) -> f64 {
    v.limits.iter().fold(0.0, |worst, l| l.value.max(worst))
}

fn merit<const P: usize>(v: &Valued<P>, price: f64) -> f64 {
    v.aim.value + price * excess(v)
}

/// The merit that the models foretell after a step.
fn foretell<const P: usize>(v: &Valued<P>, bend: &[Vec<f64>], step: &[f64], price: f64) -> f64 {
    let curved = (0..P).map(|i| step[i] * dot(&bend[i], step)).sum::<f64>();
    let worst = v.limits.iter().map(|l| l.value + dot(&l.slopes, step));
    let worst = worst.fold(0.0, f64::max);
    v.aim.value + dot(&v.aim.slopes, step) + 0.5 * curved + price * worst
}

/// The step of the quadratic program and the multipliers of the limits. The last
/// unknown is the excess that is let through.
fn next<const P: usize>(
    now: &Valued<P>,
    bend: &[Vec<f64>],
    room: &Room<P>,
    at: &[f64; P],
    length: f64,
    price: f64,
) -> Option<(Vec<f64>, Vec<f64>)> {
    let n = P + 1;
    let mut h: Vec<Vec<f64>> = bend
        .iter()
        .map(|row| [row.as_slice(), &[0.0]].concat())
        .collect();
    h.push(vec![0.0; n]);
    h[P][P] = 1e-6;
    let g = [now.aim.slopes.as_slice(), &[price]].concat();
    let (mut a, mut b) = (Vec::new(), Vec::new());
    let mut row = |weights: &[f64], last: f64, bound: f64| {
        a.push([weights, &[last]].concat());
        b.push(bound);
    };
    for limit in &now.limits {
        row(&limit.slopes, -1.0, -limit.value);
    }
    row(&[0.0; P], -1.0, 0.0);
    for i in 0..P {
        let mut one = [0.0; P];
        let reach = length * (room.high[i] - room.low[i]);
        one[i] = 1.0;
        row(&one, 0.0, (room.high[i] - at[i]).min(reach).max(1e-8));
        one[i] = -1.0;
        row(&one, 0.0, (at[i] - room.low[i]).min(reach).max(1e-8));
    }
    for (weights, bound) in &room.rows {
        row(weights, 0.0, (bound - dot(weights, at)).max(1e-8));
    }
    let (mut x, z) = least(&h, &g, &a, &b)?;
    x.truncate(P);
    Some((x, z.into_iter().take(now.limits.len()).collect()))
}

/// How the slope of the Lagrangian turned from one point to the other.
fn turned<const P: usize>(now: &Valued<P>, then: &Valued<P>, multipliers: &[f64]) -> Vec<f64> {
    let slope = |v: &Valued<P>, i: usize| {
        let limits = v.limits.iter().zip(multipliers);
        v.aim.slopes[i] + limits.map(|(l, m)| l.slopes[i] * m).sum::<f64>()
    };
    (0..P).map(|i| slope(then, i) - slope(now, i)).collect()
}

/// Powell's damped form of the update of Broyden, Fletcher, Goldfarb, Shanno,
/// which keeps the model bent upwards (Nocedal & Wright 2006, procedure 18.2).
fn update(bend: &mut [Vec<f64>], step: &[f64], turn: &[f64]) {
    let bent: Vec<f64> = bend.iter().map(|row| dot(row, step)).collect();
    let (along, curved) = (dot(step, turn), dot(step, &bent));
    if curved < 1e-14 {
        return;
    }
    let share = if along < 0.2 * curved {
        0.8 * curved / (curved - along)
    } else {
        1.0
    };
    let turn: Vec<f64> = turn
        .iter()
        .zip(&bent)
        .map(|(t, b)| share * t + (1.0 - share) * b)
        .collect();
    let along = dot(step, &turn);
    for (i, row) in bend.iter_mut().enumerate() {
        for (j, b) in row.iter_mut().enumerate() {
            *b += turn[i] * turn[j] / along - bent[i] * bent[j] / curved;
        }
    }
}

/// The nearest point that keeps to bounds and rows.
fn within<const P: usize>(room: &Room<P>, start: [f64; P]) -> Option<[f64; P]> {
    let clamped: [f64; P] = std::array::from_fn(|i| start[i].clamp(room.low[i], room.high[i]));
    if room
        .rows
        .iter()
        .all(|(weights, bound)| dot(weights, &clamped) <= *bound)
    {
        return Some(clamped);
    }
    let (mut a, mut b) = (Vec::new(), Vec::new());
    for i in 0..P {
        for (sign, bound) in [(1.0, room.high[i]), (-1.0, -room.low[i])] {
            let mut row = vec![0.0; P];
            row[i] = sign;
            a.push(row);
            b.push(bound);
        }
    }
    for (weights, bound) in &room.rows {
        a.push(weights.to_vec());
        b.push(*bound);
    }
    let g: Vec<f64> = clamped.iter().map(|u| -u).collect();
    let (x, _) = least(&identity(P), &g, &a, &b)?;
    Some(std::array::from_fn(|i| {
        x[i].clamp(room.low[i], room.high[i])
    }))
}

fn identity(n: usize) -> Vec<Vec<f64>> {
    let row = |i| (0..n).map(move |j| f64::from(u8::from(i == j))).collect();
    (0..n).map(row).collect()
}

fn size(x: &[f64]) -> f64 {
    dot(x, x).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Problem 71 of W. Hock, K. Schittkowski, Test Examples for Nonlinear
    /// Programming Codes, 1981 (from memory): least x₁x₄(x₁+x₂+x₃) + x₃ with
    /// x₁x₂x₃x₄ ≥ 25 and Σx² = 40, here as two inequalities, is 17.014 017 3 at
    /// (1, 4.742 999 4, 3.821 150 3, 1.379 408 2).
    #[test]
    fn a_known_problem_is_solved() {
        let value = |x: &[Slope<4>; 4]| {
            let [a, b, c, d] = *x;
            let squares = a * a + b * b + c * c + d * d;
            Some(Valued {
                aim: a * d * (a + b + c) + c,
                limits: vec![
                    -(a * b * c * d) / 25.0 + 1.0,
                    squares / 40.0 - 1.0,
                    -squares / 40.0 + 1.0,
                ],
            })
        };
        let room = Room {
            low: [1.0; 4],
            high: [5.0; 4],
            rows: vec![],
        };
        let (best, _) = best_of(value, &room, &[[1.0, 5.0, 5.0, 1.0]], NO_EXCESS);
        let best = best.unwrap();
        assert!((best.aim - 17.014_017_3).abs() < 2e-3, "{best:?}");
        for (ours, exact) in best
            .at
            .iter()
            .zip([1.0, 4.742_999_4, 3.821_150_3, 1.379_408_2])
        {
            assert!((ours - exact).abs() < 1e-2, "{best:?}");
        }
    }

    #[test]
    fn rows_are_kept_and_what_cannot_be_met_is_no_answer() {
        let aim = |x: &[Slope<2>; 2]| {
            let off = x[0] - 3.0;
            off * off + x[1]
        };
        let room = Room {
            low: [0.0; 2],
            high: [5.0; 2],
            rows: vec![([1.0, -1.0], 1.0)],
        };
        let free = |x: &[Slope<2>; 2]| {
            Some(Valued {
                aim: aim(x),
                limits: vec![],
            })
        };
        // On x − y = 1 the least of (x − 3)² + x − 1 is at x = 2.5.
        let best = best_of(free, &room, &[[4.0, 0.0]], NO_EXCESS).0.unwrap();
        assert!(
            (best.at[0] - 2.5).abs() < 1e-4 && (best.at[1] - 1.5).abs() < 1e-4,
            "{best:?}"
        );
        let never = |x: &[Slope<2>; 2]| {
            Some(Valued {
                aim: aim(x),
                limits: vec![-x[0] + 9.0],
            })
        };
        let (best, ends) = best_of(never, &room, &[[1.0, 1.0]], NO_EXCESS);
        assert!(best.is_none() && ends[0].excess > 3.9);
        assert!(
            best_of(|_: &[Slope<2>; 2]| None, &room, &[[1.0, 1.0]], NO_EXCESS)
                .1
                .is_empty()
        );
    }
}
