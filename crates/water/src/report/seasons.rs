//! Dated analyses of one water: what moves, and when.

use super::Analysis;
use super::constants::constants;
use super::date::Date;
use super::parameter::{Figures, Parameter, Value};
use quantity::Spread;

/// The figures of one water over its analyses.
#[derive(Debug, Clone, PartialEq)]
pub struct Seasons {
    /// Each figure that at least two analyses give, in the order of
    /// [`Parameter::ALL`].
    pub figures: Vec<MovingFigure>,
}

/// One figure over the analyses.
#[derive(Debug, Clone, PartialEq)]
pub struct MovingFigure {
    /// Of what.
    pub parameter: Parameter,
    /// Mean of the analyses with the standard deviation between them.
    pub mean: Value,
    /// Every figure with its date, in the order of dates.
    pub samples: Vec<Sample>,
    /// The lowest.
    pub low: Sample,
    /// The highest.
    pub high: Sample,
    /// True where lowest and highest are further apart than the uncertainty of
    /// the two figures explains.
    pub moves: bool,
    /// A yearly wave through the figures, where at least four dates in four
    /// different months are given.
    pub wave: Option<Wave>,
}

/// A figure on a date.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// When; `None` where the analysis has no date.
    pub date: Option<Date>,
    /// The figure.
    pub value: Value,
}

/// mean + amplitude · cos(2π (t − peak)), t in years, by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wave {
    /// Half the way from trough to crest, in the canonical unit.
    pub amplitude: f64,
    /// The month of the crest, one to twelve.
    pub peak_month: u8,
    /// The share of the variance between samples that the wave takes up \[–\];
    /// with four dates it has one degree of freedom left, so it always looks good.
    pub explains: f64,
}

/// Sets the analyses of one water side by side.
#[must_use]
pub fn seasons(analyses: &[Analysis]) -> Seasons {
    Seasons {
        figures: Parameter::ALL
            .iter()
            .filter_map(|p| moving(*p, analyses))
            .collect(),
    }
}

fn moving(parameter: Parameter, analyses: &[Analysis]) -> Option<MovingFigure> {
    let mut samples: Vec<(Sample, f64)> = analyses
        .iter()
        .filter_map(|a| {
            let value = a.reading(parameter)?.value;
            let sample = Sample {
                date: a.date,
                value,
            };
            (!matches!(value, Value::Microbes(_))).then_some(())?;
            Some((sample, value.canonical()?))
        })
        .collect();
    if samples.len() < 2 {
        return None;
    }
    samples.sort_by_key(|(s, _)| s.date);
    let least = |a: &&(Sample, f64), b: &&(Sample, f64)| a.1.total_cmp(&b.1);
    let low = *samples.iter().min_by(least)?;
    let high = *samples.iter().max_by(least)?;
    let n = samples.len() as f64;
    let mean = samples.iter().map(|(_, x)| x).sum::<f64>() / n;
    let sd = (samples.iter().map(|(_, x)| (x - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let uncertain = uncertainty(parameter, low).hypot(uncertainty(parameter, high));
    Some(MovingFigure {
        parameter,
        mean: Value::new(
            parameter,
            Figures {
                value: mean,
                spread: Spread::Sd(sd),
            },
        )
        .or_else(|| {
            let value = mean;
            Value::new(
                parameter,
                Figures {
                    value,
                    spread: Spread::Unstated,
                },
            )
        })?,
        moves: high.1 - low.1 > 2.0 * uncertain,
        wave: wave(&samples, mean),
        low: low.0,
        high: high.0,
        samples: samples.into_iter().map(|(s, _)| s).collect(),
    })
}

/// Standard deviation of one figure: the stated one, or the usual relative one;
/// a pH is taken as known to 0.1 (judgement).
fn uncertainty(parameter: Parameter, (sample, x): (Sample, f64)) -> f64 {
    match (sample.value.spread(), parameter) {
        (Spread::Unstated, Parameter::Ph) => 0.1,
        (Spread::Unstated, _) => constants().uncertainty.relative * x.abs(),
        _ => sample.value.sd(),
    }
}

fn wave(samples: &[(Sample, f64)], mean: f64) -> Option<Wave> {
    let points: Vec<(f64, f64)> = samples
        .iter()
        .filter_map(|(s, x)| Some((s.date?.part_of_year()?, x - mean)))
        .collect();
    let mut months: Vec<u8> = samples.iter().filter_map(|(s, _)| s.date?.month).collect();
    months.sort_unstable();
    months.dedup();
    if points.len() < 4 || months.len() < 4 {
        return None;
    }
    // Normal equations of 1, cos and sin.
    let mut a = [[0.0; 4]; 3];
    for (t, y) in &points {
        let angle = std::f64::consts::TAU * t;
        let row = [1.0, angle.cos(), angle.sin()];
        for i in 0..3 {
            for j in 0..3 {
                a[i][j] += row[i] * row[j];
            }
            a[i][3] += row[i] * y;
        }
    }
    let [constant, c, s] = solve(a)?;
    let total: f64 = points.iter().map(|(_, y)| y * y).sum();
    let left: f64 = points
        .iter()
        .map(|(t, y)| {
            let angle = std::f64::consts::TAU * t;
            (y - constant - c * angle.cos() - s * angle.sin()).powi(2)
        })
        .sum();
    let peak = s.atan2(c).rem_euclid(std::f64::consts::TAU) / std::f64::consts::TAU;
    let month = (peak * 12.0).floor().clamp(0.0, 11.0) as u8 + 1;
    Some(Wave {
        amplitude: c.hypot(s),
        peak_month: month,
        explains: if total > 0.0 {
            (1.0 - left / total).clamp(0.0, 1.0)
        } else {
            0.0
        },
    })
}

/// Gauss with pivots; `None` where the dates lie too close together.
fn solve(mut a: [[f64; 4]; 3]) -> Option<[f64; 3]> {
    for k in 0..3 {
        let pivot = (k..3).max_by(|i, j| a[*i][k].abs().total_cmp(&a[*j][k].abs()))?;
        a.swap(k, pivot);
        if a[k][k].abs() < 1e-3 {
            return None;
        }
        let lead = a[k];
        for (i, row) in a.iter_mut().enumerate() {
            if i != k {
                let by = row[k] / lead[k];
                for (x, l) in row.iter_mut().zip(lead) {
                    *x -= by * l;
                }
            }
        }
    }
    Some([a[0][3] / a[0][0], a[1][3] / a[1][1], a[2][3] / a[2][2]])
}
