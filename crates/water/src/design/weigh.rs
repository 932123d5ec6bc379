//! From amounts to amounts that can be weighed.

use super::error::DesignError;
use super::model::{Holds, Model, What, Where};
use super::qp::{Quadratic, dot};
use super::settle::{Settled, settle, used};

/// Amounts that can be weighed and poured, as x.
///
/// The doses lie on the grids of their scales, the shares on that of the jug,
/// where the largest of a blend takes what the jug leaves over. From the nearest
/// point the search goes one or two steps at a time: first to keep every limit,
/// then downhill, until no such move is better. Where that does not keep every
/// limit, it starts again from so far inside them that rounding cannot pass one,
/// if there is room, and from all doses rounded down, and up. Deterministic.
///
/// # Errors
/// [`DesignError::TooCoarse`] where no point that it meets keeps every limit.
pub(super) fn weigh(
    model: &Model,
    settled: &Settled,
    allowed: &[bool],
) -> Result<Vec<f64>, DesignError> {
    let grid = Grid::of(model, settled, allowed);
    let mut best = grid.descend(grid.start(settled, f64::round));
    if best.missed > 0.0
        && let Some(inside) = pulled_in(model, settled, allowed)
    {
        best = best.better(grid.descend(grid.start(&inside, f64::round)));
    }
    for rounded in [f64::floor, f64::ceil] {
        if best.missed > 0.0 {
            best = best.better(grid.descend(grid.start(settled, rounded)));
        }
    }
    if best.missed > 0.0 {
        return Err(grid.too_coarse(&best));
    }
    Ok(grid.exact(&best.x))
}

/// The least misfit with every limit kept by more than rounding to the nearest
/// step can take; none where there is no room for that.
fn pulled_in(model: &Model, settled: &Settled, allowed: &[bool]) -> Option<Settled> {
    let mut inside = model.clone();
    let steps: Vec<f64> = model
        .columns
        .iter()
        .map(|column| column.step.unwrap_or(0.0))
        .collect();
    for (limit, given) in inside.limits.iter_mut().zip(&model.limits) {
        let (row, _) = model.limit_row(given, settled.line.as_ref());
        // What keeps one amount alone, such as not below nought, rounding keeps.
        let several = row.iter().filter(|a| a.abs() > 0.0).count() > 1;
        if several && limit.holds != Holds::Equal {
            let most: f64 = row
                .iter()
                .zip(&steps)
                .map(|(a, step)| (a * step).abs())
                .sum();
            limit.margin += 0.5 * most;
        }
    }
    settle(&inside, allowed, settled.line.as_ref()).ok()
}

/// A step up or down of a dose, or from one water to another.
struct Atom {
    /// Column and change.
    changes: Vec<(usize, f64)>,
    /// H times the change.
    curved: Vec<f64>,
    /// What it does to each limit.
    limits: Vec<f64>,
}

struct Grid<'a, 'b> {
    model: &'a Model<'b>,
    objective: Quadratic,
    atoms: Vec<Atom>,
    /// Curvature between each two atoms.
    between: Vec<f64>,
    rows: Vec<Kept>,
}

/// A limit, a·x ≥ b, scaled to length one.
struct Kept {
    a: Vec<f64>,
    b: f64,
    /// Its length before.
    length: f64,
    /// Which limit of the model it is.
    limit: usize,
}

#[derive(Debug, Clone)]
struct Point {
    x: Vec<f64>,
    slope: Vec<f64>,
    slack: Vec<f64>,
    value: f64,
    /// Sum of what limits are missed by; nought where all are kept.
    missed: f64,
}

impl Point {
    /// The one that misses limits by less, or else is lower.
    fn better(self, other: Self) -> Self {
        let by_misses = other.missed.total_cmp(&self.missed);
        if by_misses.then(other.value.total_cmp(&self.value)).is_lt() {
            other
        } else {
            self
        }
    }
}

/// A limit counts as kept when missed by no more than this, scaled.
const MAY_MISS: f64 = 1e-9;

impl<'a, 'b> Grid<'a, 'b> {
    fn of(model: &'a Model<'b>, settled: &Settled, allowed: &[bool]) -> Self {
        let all: Vec<usize> = (0..model.len()).collect();
        let line = settled.line.as_ref();
        let objective = model.quadratic(&all, line);
        let rows: Vec<Kept> = model
            .rows(&all, line)
            .into_iter()
            .enumerate()
            // Moves keep the blend whole.
            .filter(|(_, row)| !row.equal)
            .map(|(limit, row)| {
                let squared = dot(&row.coefficients, &row.coefficients);
                let length = if squared > 0.0 { squared.sqrt() } else { 1.0 };
                Kept {
                    a: row.coefficients.iter().map(|a| a / length).collect(),
                    b: row.at_least / length,
                    length,
                    limit,
                }
            })
            .collect();
        let atoms: Vec<Atom> = changes(model, allowed)
            .into_iter()
            .map(|changes| Atom::of(changes, &objective, &rows))
            .collect();
        let between = atoms
            .iter()
            .flat_map(|a| atoms.iter().map(|b| along(&b.changes, &a.curved)))
            .collect();
        Self {
            model,
            objective,
            atoms,
            between,
            rows,
        }
    }

    /// The doses rounded, the waters poured by the jug.
    fn start(&self, settled: &Settled, rounded: fn(f64) -> f64) -> Vec<f64> {
        let mut x = settled.x.clone();
        for (column, x) in self.model.columns.iter().zip(&mut x) {
            if let (Some(step), Some(_)) = (column.step, column.kind) {
                // What is a whole number of steps but for the last digits is it.
                let steps = *x / step;
                let near = (steps - steps.round()).abs() < 1e-6;
                *x = step * if near { steps.round() } else { rounded(steps) };
            }
        }
        for at in Where::groups(self.model.task, self.model.task.blends) {
            pour(self.model, at, &mut x);
        }
        x
    }

    fn descend(&self, x: Vec<f64>) -> Point {
        // Each move is strictly better, so that this ends; the cap is for time.
        const MOST_MOVES: usize = 400;
        let mut point = self.point(x);
        for _ in 0..MOST_MOVES {
            let Some(moves) = self.best_move(&point) else {
                break;
            };
            let mut x = point.x.clone();
            for atom in moves.into_iter().flatten() {
                for (k, change) in &self.atoms[atom].changes {
                    x[*k] += change;
                }
            }
            point = self.point(x);
        }
        point
    }

    fn point(&self, x: Vec<f64>) -> Point {
        let n = x.len();
        let mut slope: Vec<f64> = self
            .objective
            .hessian
            .chunks_exact(n.max(1))
            .map(|row| dot(row, &x))
            .collect();
        let curved = dot(&slope, &x);
        let value = 0.5 * curved + dot(&self.objective.gradient, &x);
        for (slope, g) in slope.iter_mut().zip(&self.objective.gradient) {
            *slope += g;
        }
        let slack: Vec<f64> = self
            .rows
            .iter()
            .map(|row| dot(&row.a, &x) - row.b)
            .collect();
        let missed = slack.iter().map(|s| missed(*s)).sum();
        Point {
            x,
            slope,
            slack,
            value,
            missed,
        }
    }

    /// The one or two steps that are best: that miss limits by least, and of
    /// those the lowest. None where none is better than staying.
    fn best_move(&self, point: &Point) -> Option<[Option<usize>; 2]> {
        let count = self.atoms.len();
        let gains: Vec<f64> = self
            .atoms
            .iter()
            .enumerate()
            .map(|(a, atom)| along(&atom.changes, &point.slope) + 0.5 * self.between[a * count + a])
            .collect();
        let mut best: (f64, f64) = (point.missed, -1e-12 * (1.0 + point.value.abs()));
        let mut chosen = None;
        let mut offer = |first: usize, second: Option<usize>, change: f64| {
            if best.0 <= 0.0 && change >= best.1 {
                return;
            }
            let missed = self.missed_after(point, first, second, best.0);
            let fewer = missed < best.0 - MAY_MISS;
            if fewer || (missed <= best.0 && change < best.1) {
                best = (missed, change);
                chosen = Some([Some(first), second]);
            }
        };
        for a in 0..count {
            offer(a, None, gains[a]);
            for b in a..count {
                offer(
                    a,
                    Some(b),
                    gains[a] + gains[b] + self.between[a * count + b],
                );
            }
        }
        chosen
    }

    /// What limits would be missed by; stops counting beyond `enough`.
    fn missed_after(&self, point: &Point, a: usize, b: Option<usize>, enough: f64) -> f64 {
        let first = &self.atoms[a].limits;
        let second = b.map(|b| &self.atoms[b].limits);
        let mut sum = 0.0;
        for (row, slack) in point.slack.iter().enumerate() {
            let change = first[row] + second.map_or(0.0, |second| second[row]);
            sum += missed(slack + change);
            if sum > enough {
                break;
            }
        }
        sum
    }

    /// The steps counted anew, so that no digits are lost on the way.
    fn exact(&self, x: &[f64]) -> Vec<f64> {
        let dose = |(column, x): (&super::model::Column, &f64)| match (column.step, column.kind) {
            (Some(step), Some(_)) => step * (x / step).round().max(0.0),
            _ => x.max(0.0),
        };
        self.model.columns.iter().zip(x).map(dose).collect()
    }

    fn too_coarse(&self, point: &Point) -> DesignError {
        let worst = self
            .rows
            .iter()
            .zip(&point.slack)
            .min_by(|a, b| a.1.total_cmp(b.1));
        let Some((row, slack)) = worst else {
            return DesignError::NotSolved;
        };
        let limit = &self.model.limits[row.limit];
        DesignError::TooCoarse {
            limit: limit.sentence(),
            by: limit.unit.level(-slack * row.length).to_string(),
        }
    }
}

fn missed(slack: f64) -> f64 {
    if slack < -MAY_MISS { -slack } else { 0.0 }
}

fn along(changes: &[(usize, f64)], values: &[f64]) -> f64 {
    changes.iter().map(|(k, change)| change * values[*k]).sum()
}

impl Atom {
    fn of(changes: Vec<(usize, f64)>, objective: &Quadratic, rows: &[Kept]) -> Self {
        let n = objective.gradient.len();
        Self {
            curved: objective
                .hessian
                .chunks_exact(n.max(1))
                .map(|row| along(&changes, row))
                .collect(),
            limits: rows.iter().map(|row| along(&changes, &row.a)).collect(),
            changes,
        }
    }
}

/// All single steps.
fn changes(model: &Model, allowed: &[bool]) -> Vec<Vec<(usize, f64)>> {
    let mut changes = vec![];
    let columns = used(model, allowed);
    for k in &columns {
        let column = &model.columns[*k];
        if let (Some(step), Some(_)) = (column.step, column.kind) {
            changes.push(vec![(*k, step)]);
            changes.push(vec![(*k, -step)]);
        }
    }
    let waters = |k: &&usize| {
        let column = &model.columns[**k];
        matches!(column.what, What::Water { .. }) && column.step.is_some()
    };
    for from in columns.iter().filter(waters) {
        for to in columns.iter().filter(waters) {
            let (a, b) = (&model.columns[*from], &model.columns[*to]);
            if let (true, true, Some(step)) = (from != to, a.at == b.at, a.step) {
                changes.push(vec![(*from, -step), (*to, step)]);
            }
        }
    }
    changes
}

/// Brings the shares of one blend onto the grid of the jug.
fn pour(model: &Model, at: Where, x: &mut [f64]) {
    let free = |k: &usize| {
        let column = &model.columns[*k];
        column.at == at && matches!(column.what, What::Water { .. }) && column.step.is_some()
    };
    let columns: Vec<usize> = (0..model.len()).filter(free).collect();
    let Some(step) = columns.first().and_then(|k| model.columns[*k].step) else {
        return;
    };
    let whole: f64 = columns.iter().map(|k| x[*k]).sum();
    let largest = columns
        .iter()
        .copied()
        .max_by(|a, b| x[*a].total_cmp(&x[*b]).then(b.cmp(a)));
    let Some(largest) = largest else { return };
    let mut rest = whole;
    for k in columns {
        if k != largest {
            x[k] = (step * (x[k] / step).round()).min(rest);
            rest -= x[k];
        }
    }
    x[largest] = rest;
}
