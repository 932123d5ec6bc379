//! Scores of two beers by the same tasters: which attributes differ, and by how much.

use super::binomial::Binomial;
use super::difference::Estimate;
use super::error::{TastingError, between, risk};
use super::numeric::{integral, normal, root, student_both_tails, student_quantile};

/// The differences of one attribute, batch less reference, one a taster.
#[derive(Debug, Clone, PartialEq)]
pub struct Scored {
    /// What was scored.
    pub attribute: String,
    /// Differences, batch less reference, as they were scored.
    pub differences: Vec<f64>,
}

/// What scores of an attribute say.
#[derive(Debug, Clone, PartialEq)]
pub struct AttributeJudged {
    /// What was scored.
    pub attribute: String,
    /// Tasters.
    pub tasters: usize,
    /// Mean difference, batch less reference, with its 95 % interval \[points\].
    pub mean: Estimate,
    /// Standard deviation of the differences \[points\]; none for one taster.
    pub deviation: Option<f64>,
    /// Student's t of the differences; none where they do not vary.
    pub t: Option<f64>,
    /// Both tails of t \[–\].
    pub t_p: Option<f64>,
    /// Sum of the ranks of the differences above zero.
    pub ranks_above: f64,
    /// Exact chance of such ranks, both tails \[–\].
    pub wilcoxon_p: f64,
    /// Exact chance of such signs, both tails \[–\].
    pub sign_p: f64,
    /// The chance by ranks, raised for the number of attributes \[–\] (Holm).
    pub adjusted_p: f64,
    /// The mean difference that would be seen in 80 of 100 such tastings \[points\];
    /// none where the differences do not vary.
    pub seen_at_80: Option<f64>,
}

/// Judges attributes that the same tasters scored in two beers.
///
/// t: paired, by the mean of the differences (Student 1908). Ranks: Wilcoxon
/// 1945, zeros left out, ties at their middle rank, the law of the ranks summed
/// exactly. The chance of each attribute by ranks is raised by Holm's step-down
/// rule (Holm 1979, Scand. J. Statistics 6, 65), so that all of them together are
/// wrong in no more than the risk that one reads them at.
///
/// # Errors
/// [`TastingError`] for no scores, too many, or one that is no number.
pub fn attributes(scored: &[Scored]) -> Result<Vec<AttributeJudged>, TastingError> {
    let mut judged = scored
        .iter()
        .map(attribute)
        .collect::<Result<Vec<_>, _>>()?;
    let adjusted = holm(&judged.iter().map(|one| one.wilcoxon_p).collect::<Vec<_>>());
    for (one, p) in judged.iter_mut().zip(adjusted) {
        one.adjusted_p = p;
    }
    Ok(judged)
}

/// Chances \[–\] of several tests raised for their number: Holm 1979.
#[must_use]
pub fn holm(chances: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..chances.len()).collect();
    order.sort_by(|&a, &b| chances[a].total_cmp(&chances[b]));
    let mut adjusted = vec![1.0; chances.len()];
    let mut highest = 0.0_f64;
    for (done, &at) in order.iter().enumerate() {
        highest = highest.max(chances[at] * (chances.len() - done) as f64);
        adjusted[at] = highest.min(1.0);
    }
    adjusted
}

/// The chance \[–\] that a paired t test of so many tasters, both sides, sees a mean
/// difference of `effect` standard deviations of a difference \[–\] at a risk
/// `alpha`: both tails of the noncentral t law, by quadrature over the deviation.
///
/// # Errors
/// [`TastingError`] for fewer than two tasters, an effect or a risk that cannot be.
pub fn scores_power(tasters: f64, effect: f64, alpha: f64) -> Result<f64, TastingError> {
    let tasters = between("the number of tasters", tasters, 2.0, 10_000.0)?;
    let effect = between("the effect", effect, 0.0, 20.0)?;
    Ok(noncentral(
        tasters,
        effect * tasters.sqrt(),
        risk("the risk of a false alarm", alpha)?,
    ))
}

/// How many tasters see a mean difference of `effect` standard deviations of a
/// difference \[–\] with a chance `wanted` \[–\], as a number with decimals; round up.
///
/// # Errors
/// [`TastingError`] for an effect, a chance or a risk that cannot be.
pub fn tasters_for_scores(effect: f64, alpha: f64, wanted: f64) -> Result<f64, TastingError> {
    let effect = between("the effect", effect, 0.05, 20.0)?;
    let wanted = between("the wanted chance of seeing it", wanted, 0.06, 0.999)?;
    let alpha = risk("the risk of a false alarm", alpha)?;
    Ok(root(2.0, 10_000.0, |n| {
        noncentral(n, effect * n.sqrt(), alpha) - wanted
    }))
}

fn attribute(scored: &Scored) -> Result<AttributeJudged, TastingError> {
    /// The law of the ranks takes n² sums of n.
    const MOST: usize = 500;
    let d = &scored.differences;
    if d.is_empty() || d.len() > MOST {
        return Err(TastingError::Count {
            what: "scores of an attribute",
            given: d.len(),
            least: 1,
            most: MOST,
        });
    }
    for &given in d {
        // Far above any scale, and far below what would overflow.
        if !given.is_finite() || given.abs() > 1e6 {
            return Err(TastingError::Score { given });
        }
    }
    let n = d.len() as f64;
    let mean = d.iter().sum::<f64>() / n;
    let deviation = (d.len() > 1)
        .then(|| (d.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / (n - 1.0)).sqrt());
    let error = deviation.filter(|&s| s > 0.0).map(|s| s / n.sqrt());
    let half = error.map(|e| student_quantile(0.05, n - 1.0) * e);
    let t = error.map(|e| mean / e);
    let (ranks_above, wilcoxon_p) = wilcoxon(d);
    Ok(AttributeJudged {
        attribute: scored.attribute.clone(),
        tasters: d.len(),
        mean: Estimate {
            value: Some(mean),
            low: half.map(|half| mean - half),
            high: half.map(|half| mean + half),
        },
        deviation,
        t,
        t_p: t.map(|t| student_both_tails(t, n - 1.0)),
        ranks_above,
        wilcoxon_p,
        sign_p: signs(d),
        adjusted_p: 1.0,
        seen_at_80: error.map(|e| e * root(0.0, 1e4, |shift| noncentral(n, shift, 0.05) - 0.8)),
    })
}

/// The sum of ranks above zero and its exact chance, both tails: the law over
/// all ways of signs, each as likely, by adding one rank at a time. Middle ranks
/// of ties are halves, so twice the ranks are counted.
fn wilcoxon(differences: &[f64]) -> (f64, f64) {
    let mut kept: Vec<f64> = differences
        .iter()
        .copied()
        .filter(|d| d.abs() > 0.0)
        .collect();
    kept.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
    let ranks = twice_ranks(&kept);
    let above: usize = kept
        .iter()
        .zip(&ranks)
        .filter(|(d, _)| **d > 0.0)
        .map(|(_, rank)| rank)
        .sum();
    let all: usize = ranks.iter().sum();
    let mut ways = vec![0.0; all + 1];
    ways[0] = 1.0;
    let mut reached = 0;
    for rank in ranks {
        reached += rank;
        for sum in (0..=reached).rev() {
            let with = if sum >= rank { ways[sum - rank] } else { 0.0 };
            ways[sum] = 0.5 * (ways[sum] + with);
        }
    }
    let lower = above.min(all - above);
    let tail: f64 = ways.iter().take(lower + 1).sum();
    (above as f64 / 2.0, (2.0 * tail).min(1.0))
}

/// Twice the rank of each of the sorted magnitudes.
fn twice_ranks(sorted: &[f64]) -> Vec<usize> {
    let mut ranks = Vec::with_capacity(sorted.len());
    for group in sorted.chunk_by(|a, b| alike(a.abs(), b.abs())) {
        // Ranks first..=last have the middle (first + last) / 2.
        let first = ranks.len() + 1;
        let last = ranks.len() + group.len();
        ranks.extend(std::iter::repeat_n(first + last, group.len()));
    }
    ranks
}

/// Differences of written scores, such as 6.3 - 5.8 and 4.5 - 4.0, tie.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.max(b)
}

fn signs(differences: &[f64]) -> f64 {
    let above = differences.iter().filter(|d| **d > 0.0).count() as u32;
    let below = differences.iter().filter(|d| **d < 0.0).count() as u32;
    let tail = Binomial::new(above + below, 0.5).at_least(above.max(below));
    (2.0 * tail).min(1.0)
}

/// P(|T| > t) for noncentral T: the mean of the normal tails over the law of the
/// deviation s = √(χ²/ν), whose density is ∝ s^(ν−1) e^(−ν s²/2).
fn noncentral(n: f64, shift: f64, alpha: f64) -> f64 {
    let freedom = n - 1.0;
    let cut = student_quantile(alpha, freedom);
    let ln_scale =
        std::f64::consts::LN_2 + freedom / 2.0 * (freedom / 2.0).ln() - libm::lgamma(freedom / 2.0);
    // In w = ln s the density is smooth at zero, too: its deviation is about
    // 1/√(2ν), its left tail falls as e^(νw).
    let unit = 0.5 / (2.0 * freedom).sqrt();
    let low = -24.0 - 32.0 / (freedom * unit);
    unit * integral(low, 24.0, |x| {
        let w = x * unit;
        let s = w.exp();
        let mass = (ln_scale + freedom * w - freedom * s * s / 2.0).exp();
        mass * (normal(shift - cut * s) + normal(-shift - cut * s))
    })
}
