//! Small convex quadratic programs, solved exactly.
//!
//! Doses and shares are a dozen to thirty numbers under some fifty limits. At
//! that size a dual active-set method ends after about as many steps as limits
//! bind, and gives zeros that are zeros and the multiplier of each limit.

/// Minimise ½ xᵀHx + gᵀx subject to rows that hold x.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Quadratic {
    /// H, positive definite, row by row.
    pub hessian: Vec<f64>,
    /// g.
    pub gradient: Vec<f64>,
    /// What holds x.
    pub rows: Vec<Row>,
}

/// a·x ≥ b, or a·x = b.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// a.
    pub coefficients: Vec<f64>,
    /// b.
    pub at_least: f64,
    /// Whether a·x must be b.
    pub equal: bool,
}

/// Where the least value is.
#[derive(Debug, Clone, PartialEq)]
pub struct Optimum {
    /// x.
    pub x: Vec<f64>,
    /// The least value.
    pub value: f64,
    /// By how much the least value rises per unit of b, row by row; nought for a
    /// row that does not bind.
    pub multipliers: Vec<f64>,
    /// Limits taken up and let go on the way.
    pub steps: usize,
}

/// Why there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsolved {
    /// H is not positive definite, or something is not finite.
    NotConvex,
    /// The rows contradict each other.
    Infeasible {
        /// The row that cannot be met beside others.
        row: usize,
    },
    /// Rounding errors kept it from ending.
    Stalled,
}

/// A row counts as kept when it is missed by no more than this, its coefficients
/// being scaled to length one.
const MAY_MISS: f64 = 1e-10;
/// A row whose part free of the active rows is less than this, squared and
/// relative, depends on them.
const DEPENDENT: f64 = 1e-18;

/// Finds the least value.
///
/// Starts at the least value without rows and takes up the row that is missed
/// most, letting go of rows whose multiplier would turn negative on the way:
/// D. Goldfarb and A. Idnani 1983, Mathematical Programming 27, 1-33 (from
/// memory). Deterministic: ties go to the first row.
///
/// ```
/// use water::design::qp::{Quadratic, Row, minimise};
/// // The point of x + y ≥ 2 nearest to the origin.
/// let problem = Quadratic {
///     hessian: vec![2.0, 0.0, 0.0, 2.0],
///     gradient: vec![0.0, 0.0],
///     rows: vec![Row { coefficients: vec![1.0, 1.0], at_least: 2.0, equal: false }],
/// };
/// let least = minimise(&problem).unwrap();
/// assert!((least.x[0] - 1.0).abs() < 1e-12 && (least.x[1] - 1.0).abs() < 1e-12);
/// assert!((least.multipliers[0] - 2.0).abs() < 1e-12);
/// ```
///
/// # Errors
/// [`Unsolved`].
pub fn minimise(problem: &Quadratic) -> Result<Optimum, Unsolved> {
    let mut walk = Walk::start(problem)?;
    for row in 0..problem.rows.len() {
        if problem.rows[row].equal {
            walk.take_up(row)?;
        }
    }
    while let Some(row) = walk.most_missed() {
        walk.take_up(row)?;
    }
    walk.end()
}

/// The state on the way. With N the normals of the active rows and H = LLᵀ, J is
/// L⁻ᵀQ, where QR = L⁻¹N: its first `count` columns span the active normals, the
/// others the directions that leave them alone.
struct Walk<'a> {
    problem: &'a Quadratic,
    n: usize,
    /// Column by column.
    j: Vec<f64>,
    /// Upper triangle, column by column.
    r: Vec<f64>,
    active: Vec<Active>,
    is_active: Vec<bool>,
    x: Vec<f64>,
    /// One over the length of each row.
    scale: Vec<f64>,
    steps: usize,
}

#[derive(Clone, Copy)]
struct Active {
    row: usize,
    /// −1 for an equality that was met from above.
    sign: f64,
    multiplier: f64,
}

impl<'a> Walk<'a> {
    fn start(problem: &'a Quadratic) -> Result<Self, Unsolved> {
        let n = problem.gradient.len();
        let finite = |values: &[f64]| values.iter().all(|x| x.is_finite());
        let sound = problem.hessian.len() == n * n
            && finite(&problem.hessian)
            && finite(&problem.gradient)
            && problem.rows.iter().all(|row| {
                row.coefficients.len() == n && finite(&row.coefficients) && row.at_least.is_finite()
            });
        if !sound {
            return Err(Unsolved::NotConvex);
        }
        let j = inverse_factor(&problem.hessian, n).ok_or(Unsolved::NotConvex)?;
        // x = −H⁻¹g = −J(Jᵀg).
        let mut x = vec![0.0; n];
        for column in j.chunks_exact(n.max(1)) {
            let along = dot(column, &problem.gradient);
            add(&mut x, -along, column);
        }
        let length = |row: &Row| {
            let length = dot(&row.coefficients, &row.coefficients).sqrt();
            if length > 0.0 { 1.0 / length } else { 1.0 }
        };
        Ok(Self {
            problem,
            n,
            j,
            r: vec![0.0; n * n],
            active: Vec::with_capacity(n),
            is_active: vec![false; problem.rows.len()],
            x,
            scale: problem.rows.iter().map(length).collect(),
            steps: 0,
        })
    }

    /// a·x − b, scaled.
    fn slack(&self, row: usize) -> f64 {
        let Row {
            coefficients,
            at_least,
            ..
        } = &self.problem.rows[row];
        (dot(coefficients, &self.x) - at_least) * self.scale[row]
    }

    fn may_miss(&self, row: usize) -> f64 {
        MAY_MISS * (1.0 + (self.problem.rows[row].at_least * self.scale[row]).abs())
    }

    fn most_missed(&self) -> Option<usize> {
        let mut worst = None;
        let mut most = 0.0;
        for row in 0..self.problem.rows.len() {
            if self.is_active[row] || self.problem.rows[row].equal {
                continue;
            }
            let slack = self.slack(row);
            if slack < -self.may_miss(row) && slack < most {
                (worst, most) = (Some(row), slack);
            }
        }
        worst
    }

    /// Moves to the least value that keeps the active rows and this one.
    fn take_up(&mut self, row: usize) -> Result<(), Unsolved> {
        let gap = self.slack(row);
        if self.problem.rows[row].equal && gap.abs() <= self.may_miss(row) && self.depends(row) {
            return Ok(());
        }
        let sign = if gap > 0.0 { -1.0 } else { 1.0 };
        let mut multiplier = 0.0;
        loop {
            self.steps += 1;
            if self.steps > 50 * (self.n + self.problem.rows.len() + 1) {
                return Err(Unsolved::Stalled);
            }
            let d = self.turned(row, sign);
            let count = self.active.len();
            let change = self.change_of_multipliers(&d);
            let curvature = dot(&d[count..], &d[count..]);
            let full = if curvature > DEPENDENT * dot(&d, &d) {
                -sign * self.slack(row) / curvature
            } else {
                f64::INFINITY
            };
            let (until, leaving) = self.first_to_leave(&change);
            let step = full.min(until);
            if !step.is_finite() {
                return Err(Unsolved::Infeasible { row });
            }
            if full.is_finite() {
                for (k, along) in d.iter().enumerate().skip(count) {
                    let column = &self.j[k * self.n..(k + 1) * self.n];
                    add(&mut self.x, step * along, column);
                }
            }
            for (active, change) in self.active.iter_mut().zip(&change) {
                active.multiplier -= step * change;
            }
            multiplier += step;
            match leaving {
                Some(at) if until < full => self.let_go(at),
                _ => {
                    self.enter(d);
                    self.is_active[row] = true;
                    self.active.push(Active {
                        row,
                        sign,
                        multiplier,
                    });
                    return Ok(());
                }
            }
        }
    }

    fn depends(&self, row: usize) -> bool {
        let d = self.turned(row, 1.0);
        let free = &d[self.active.len()..];
        dot(free, free) <= DEPENDENT * dot(&d, &d)
    }

    /// Jᵀ times the scaled normal of a row.
    fn turned(&self, row: usize, sign: f64) -> Vec<f64> {
        let normal = &self.problem.rows[row].coefficients;
        let factor = sign * self.scale[row];
        self.j
            .chunks_exact(self.n.max(1))
            .map(|column| factor * dot(column, normal))
            .collect()
    }

    /// R⁻¹d: how the multipliers fall per unit of step.
    fn change_of_multipliers(&self, d: &[f64]) -> Vec<f64> {
        let count = self.active.len();
        let mut change = d[..count].to_vec();
        for k in (0..count).rev() {
            change[k] /= self.r[k * self.n + k];
            let value = change[k];
            for (i, above) in change.iter_mut().enumerate().take(k) {
                *above -= value * self.r[k * self.n + i];
            }
        }
        change
    }

    /// The step at which the first multiplier is nought, and whose it is.
    fn first_to_leave(&self, change: &[f64]) -> (f64, Option<usize>) {
        let mut first = (f64::INFINITY, None);
        for (at, (active, change)) in self.active.iter().zip(change).enumerate() {
            if *change > 0.0 && !self.problem.rows[active.row].equal {
                let step = (active.multiplier / change).max(0.0);
                if step < first.0 {
                    first = (step, Some(at));
                }
            }
        }
        first
    }

    /// Adds a column to R and turns J so that R stays a triangle.
    fn enter(&mut self, mut d: Vec<f64>) {
        let count = self.active.len();
        for k in (count + 1..self.n).rev() {
            let (c, s, length) = rotation(d[k - 1], d[k]);
            (d[k - 1], d[k]) = (length, 0.0);
            rotate_columns(&mut self.j, self.n, k - 1, c, s);
        }
        let column = count * self.n;
        self.r[column..column + count + 1].copy_from_slice(&d[..=count]);
    }

    /// Takes a column out of R and makes it a triangle again.
    fn let_go(&mut self, at: usize) {
        let gone = self.active.remove(at);
        self.is_active[gone.row] = false;
        let count = self.active.len();
        let n = self.n;
        self.r.copy_within((at + 1) * n..(count + 1) * n, at * n);
        for k in at..count {
            let (c, s, length) = rotation(self.r[k * n + k], self.r[k * n + k + 1]);
            (self.r[k * n + k], self.r[k * n + k + 1]) = (length, 0.0);
            for column in k + 1..count {
                let (a, b) = (self.r[column * n + k], self.r[column * n + k + 1]);
                self.r[column * n + k] = c * a + s * b;
                self.r[column * n + k + 1] = c * b - s * a;
            }
            rotate_columns(&mut self.j, n, k, c, s);
        }
    }

    fn end(self) -> Result<Optimum, Unsolved> {
        let mut multipliers = vec![0.0; self.problem.rows.len()];
        for active in &self.active {
            multipliers[active.row] = active.sign * active.multiplier * self.scale[active.row];
        }
        let value = self.problem.value(&self.x);
        if !value.is_finite() {
            return Err(Unsolved::NotConvex);
        }
        Ok(Optimum {
            value,
            multipliers,
            steps: self.steps,
            x: self.x,
        })
    }
}

impl Quadratic {
    /// ½ xᵀHx + gᵀx.
    #[must_use]
    pub fn value(&self, x: &[f64]) -> f64 {
        let curved: f64 = self
            .hessian
            .chunks_exact(x.len().max(1))
            .zip(x)
            .map(|(row, xi)| xi * dot(row, x))
            .sum();
        0.5 * curved + dot(&self.gradient, x)
    }
}

/// L⁻ᵀ of H = LLᵀ, column by column; none where H is not positive definite.
fn inverse_factor(hessian: &[f64], n: usize) -> Option<Vec<f64>> {
    let mut l = vec![0.0; n * n];
    for i in 0..n {
        for k in 0..=i {
            let sum = hessian[i * n + k] - dot(&l[i * n..i * n + k], &l[k * n..k * n + k]);
            if i == k {
                if sum <= 0.0 || sum.is_nan() {
                    return None;
                }
                l[i * n + i] = sum.sqrt();
            } else {
                l[i * n + k] = sum / l[k * n + k];
            }
        }
    }
    // Column k of L⁻ᵀ is row k of L⁻¹.
    let mut inverse = vec![0.0; n * n];
    for k in 0..n {
        let (done, rest) = inverse.split_at_mut(k * n);
        let row = &mut rest[..n];
        row[k] = 1.0;
        for i in 0..k {
            add(&mut row[..=i], -l[k * n + i], &done[i * n..=i * n + i]);
        }
        for value in &mut row[..=k] {
            *value /= l[k * n + k];
        }
    }
    Some(inverse)
}

/// Cosine, sine and length that turn (a, b) to (length, 0).
fn rotation(a: f64, b: f64) -> (f64, f64, f64) {
    let length = a.hypot(b);
    if length > 0.0 {
        (a / length, b / length, length)
    } else {
        (1.0, 0.0, 0.0)
    }
}

/// Turns column k and the next one.
fn rotate_columns(columns: &mut [f64], n: usize, k: usize, c: f64, s: f64) {
    let (first, second) = columns[k * n..(k + 2) * n].split_at_mut(n);
    for (a, b) in first.iter_mut().zip(second) {
        (*a, *b) = (c * *a + s * *b, c * *b - s * *a);
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// sum += factor · b.
pub(super) fn add(sum: &mut [f64], factor: f64, b: &[f64]) {
    for (sum, b) in sum.iter_mut().zip(b) {
        *sum += factor * b;
    }
}
