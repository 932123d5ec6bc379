//! The thresholds of tasters: what each noticed, at which reckoned concentration.
//!
//! With a the logarithm of the odour activity (concentration over the published threshold)
//! and t that of a taster's own threshold over the published one, the taster notices it with
//! the chance
//!
//! p = g + (1 − g) Φ((a − t)/√(σ² + u²))
//!
//! g for what is noticed though nothing is there, σ for how one taster varies from glass to
//! glass, u for what is open about the concentration. Before any tasting t ~ N(0, ω²): the
//! published threshold with the spread between tasters, which is what a taster of whom little
//! is known is drawn back to. t is summed over a grid. Flavours that add to one another or
//! mask one another are not known here, nor that tasters tire.

use std::sync::LazyLock;

use glass::{Bound, Compound};
use inquiry::{Finding, State};
use quantity::numeric::normal_below;
use quantity::{MassConcentration, Source, Units, data, show, show_interval};

use crate::Reckoning;
use crate::beside::{Held, noted};
use crate::tasting::{Judged, Tasting};

const FILE: &str = "tasters.toml";
/// Points of the grid of t, and how far it reaches in standard deviations.
const POINTS: usize = 401;
const REACH: f64 = 6.0;
/// Odour activity at which a finding is looked for (judgement: what is clear to a taster
/// with the published threshold).
const CLEAR: f64 = 2.0;

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    taster: Row,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    apart_ln_sd: f64,
    slope_ln_sd: f64,
    reckoned_ln_sd: f64,
    false_alarm: f64,
    noticed_from: f64,
    source: String,
    mark: String,
}

static TABLE: LazyLock<Row> = LazyLock::new(|| {
    let file: File = data::builtin(FILE, include_str!("../../data/tasters.toml"));
    file.taster
});

/// Where the figures before any tasting come from.
#[must_use]
pub fn taster_source() -> Source {
    Source {
        text: TABLE.source.clone(),
        mark: data::mark(FILE, "taster", &TABLE.mark),
    }
}

/// What a taster noticed or did not, in one beer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noticed {
    /// The compound that carries it.
    pub compound: &'static Compound,
    /// Its reckoned concentration over the published threshold \[–\].
    pub activity: f64,
    /// Whether it was noticed.
    pub noticed: bool,
}

/// What one taster said in one beer.
#[derive(Debug, Clone, PartialEq)]
pub struct Tasted {
    /// Who.
    pub taster: String,
    /// In which beer or tasting.
    pub wherein: String,
    /// Whether the taster did not know what was in the glass.
    pub blind: bool,
    /// What.
    pub noticed: Noticed,
}

/// A taster's threshold of a compound.
#[derive(Debug, Clone, PartialEq)]
pub struct TasterThreshold {
    /// Who.
    pub taster: String,
    /// Of which compound.
    pub compound: &'static Compound,
    /// The middle of what is known of it.
    pub threshold: MassConcentration,
    /// Nine times in ten it lies in here.
    pub likely: (MassConcentration, MassConcentration),
    /// How surely this taster notices what is clear to one with the published threshold,
    /// as a share of what holds for a taster of whom nothing is known; up to one.
    pub keen: f64,
    /// What it rests on.
    pub tasted: Vec<Tasted>,
}

/// What is known of the logarithm of a taster's threshold over the published one.
#[derive(Debug, Clone, PartialEq)]
struct Known {
    /// Numbers and their chances.
    grid: Vec<(f64, f64)>,
}

impl Known {
    fn of(noticed: &[Noticed]) -> Self {
        let row = &*TABLE;
        let step = 2.0 * REACH / (POINTS - 1) as f64;
        let ln: Vec<(f64, f64)> = (0..POINTS)
            .map(|i| {
                let z = step * i as f64 - REACH;
                let t = row.apart_ln_sd * z;
                let said = noticed.iter().map(|n| {
                    let p = chance(n.activity, t);
                    if n.noticed { p.ln() } else { (1.0 - p).ln() }
                });
                (t, -0.5 * z * z + said.sum::<f64>())
            })
            .collect();
        let most = ln.iter().map(|(_, l)| *l).fold(f64::NEG_INFINITY, f64::max);
        let whole: f64 = ln.iter().map(|(_, l)| (l - most).exp()).sum();
        let grid = ln.into_iter().map(|(t, l)| (t, (l - most).exp() / whole));
        Self {
            grid: grid.collect(),
        }
    }

    /// Mean and standard deviation.
    #[cfg(test)]
    fn moments(&self) -> (f64, f64) {
        let mean: f64 = self.grid.iter().map(|(t, p)| t * p).sum();
        let square: f64 = self.grid.iter().map(|(t, p)| (t - mean).powi(2) * p).sum();
        (mean, square.sqrt())
    }

    /// Below which a share of it lies, between the points of the grid.
    fn quantile(&self, share: f64) -> f64 {
        let mut below = 0.0;
        for pair in self.grid.windows(2) {
            let [(t, p), (next, _)] = pair else { continue };
            if below + p >= share && *p > 0.0 {
                // The chance of a point lies about it.
                let half = 0.5 * (next - t);
                return t - half + 2.0 * half * (share - below) / p;
            }
            below += p;
        }
        self.grid.last().map_or(0.0, |(t, _)| *t)
    }

    /// The chance of noticing an activity.
    fn notices(&self, activity: f64) -> f64 {
        self.grid
            .iter()
            .map(|(t, p)| p * chance(activity, *t))
            .sum()
    }
}

/// The chance that a taster notices an activity, with a threshold of eᵗ times the
/// published one.
fn chance(activity: f64, t: f64) -> f64 {
    let row = &*TABLE;
    let slope = row.slope_ln_sd.hypot(row.reckoned_ln_sd);
    // Never quite sure: a no to what nobody misses must leave something of the belief.
    let seen = normal_below((activity.max(1e-12).ln() - t) / slope).min(1.0 - 1e-12);
    row.false_alarm + (1.0 - row.false_alarm) * seen
}

/// What the tasters of a tasting noticed in the batch, by the points that they gave blind;
/// none before the tasting is over.
#[must_use]
pub fn tasted(r: &Reckoning, tasting: &Tasting, judged: &Judged) -> Vec<Tasted> {
    /// The scale of the sheets: 10 is very strong. Points over another scale say nothing.
    const SCALE: f64 = 10.0;
    let held = Held::bare(r);
    let scored = tasting.scores.iter().filter(|_| judged.over);
    let scored = scored.filter(|s| s.batch <= SCALE);
    let told = scored.filter_map(|score| {
        let noticed = score.batch >= TABLE.noticed_from;
        Some(Tasted {
            taster: score.taster.clone(),
            wherein: tasting.name.clone(),
            blind: true,
            noticed: placed(&held, &score.attribute, noticed)?,
        })
    });
    told.collect()
}

/// What was found in a batch by somebody who is named.
#[must_use]
pub fn found_by(r: &Reckoning) -> Vec<Tasted> {
    let held = Held::bare(r);
    let named = r.document.findings.iter();
    let told = named.filter_map(|finding| {
        let (words, _) = noted(finding);
        let noticed = finding.state == State::Present;
        Some(Tasted {
            taster: finding.by.clone()?,
            wherein: r.document.batch.name.clone(),
            blind: false,
            noticed: placed(&held, &words, noticed)?,
        })
    });
    told.collect()
}

/// None where the words name nothing that is reckoned, or only a bound of it.
fn placed(held: &Held, words: &str, noticed: bool) -> Option<Noticed> {
    let reckoned = &held.compounds.get(held.place_of(words)?)?.reckoned;
    (reckoned.bound == Bound::Expected).then_some(Noticed {
        compound: reckoned.compound,
        activity: reckoned.typical,
        noticed,
    })
}

/// The thresholds of all who said something, by taster and compound.
#[must_use]
pub fn thresholds(tasted: &[Tasted]) -> Vec<TasterThreshold> {
    let same = |a: &str, b: &str| a.trim().to_lowercase() == b.trim().to_lowercase();
    let mut by: Vec<(String, &'static Compound, Vec<Tasted>)> = Vec::new();
    for one in tasted {
        let (who, what) = (&one.taster, one.noticed.compound);
        match by
            .iter_mut()
            .find(|(taster, c, _)| same(taster, who) && c.key == what.key)
        {
            Some((.., held)) => held.push(one.clone()),
            None => by.push((who.trim().to_owned(), what, vec![one.clone()])),
        }
    }
    by.sort_by(|a, b| (&a.0, &a.1.name).cmp(&(&b.0, &b.1.name)));
    let each = by.into_iter().map(|(taster, compound, tasted)| {
        let noticed: Vec<Noticed> = tasted.iter().map(|t| t.noticed).collect();
        let known = Known::of(&noticed);
        let published = compound.threshold.typical.mg_per_l();
        let at = |share: f64| {
            let held = published * known.quantile(share).exp();
            let bounded = held.clamp(
                <MassConcentration as quantity::Quantity>::MIN,
                <MassConcentration as quantity::Quantity>::MAX,
            );
            MassConcentration::from_mg_per_l(bounded)
        };
        TasterThreshold {
            threshold: at(0.5),
            likely: (at(0.05), at(0.95)),
            keen: keen(&known),
            taster,
            compound,
            tasted,
        }
    });
    each.collect()
}

fn keen(known: &Known) -> f64 {
    (known.notices(CLEAR) / Known::of(&[]).notices(CLEAR)).min(1.0)
}

/// How surely the finding of somebody who is named would have been noticed, by what is known
/// of that taster; none where nothing is, or where the finding says it itself.
#[must_use]
pub fn keenness<'t>(
    r: &Reckoning,
    finding: &Finding,
    known: &'t [TasterThreshold],
) -> Option<&'t TasterThreshold> {
    let who = finding.by.as_ref()?.trim().to_lowercase();
    let held = Held::bare(r);
    let (words, _) = noted(finding);
    let compound = held
        .compounds
        .get(held.place_of(&words)?)?
        .reckoned
        .compound;
    let of = known
        .iter()
        .find(|t| t.taster.to_lowercase() == who && t.compound.key == compound.key);
    of.filter(|_| finding.keen >= 1.0)
}

/// "Ada notices 4-vinylguaiacol from 0.3 mg/L, nine times in ten 0.1 to 0.9 mg/L; the
/// published threshold is 0.2 mg/L. 3 of 5 times noticed."
#[must_use]
pub fn threshold_words(of: &TasterThreshold, units: Units) -> String {
    let noticed = of.tasted.iter().filter(|t| t.noticed.noticed).count();
    let blind = of.tasted.iter().filter(|t| t.blind).count();
    format!(
        "{} notices {} from {}, nine times in ten {}; the published threshold is {}. Noticed {noticed} of {} times, {blind} of them asked blind",
        of.taster,
        of.compound.name,
        show(of.threshold, units),
        show_interval(of.likely.0, of.likely.1, units),
        show(of.compound.threshold.typical, units),
        of.tasted.len(),
    )
}

/// "Autumn triangle: noticed at 1.8 of the published threshold".
#[must_use]
pub fn tasted_words(one: &Tasted) -> String {
    let said = if one.noticed.noticed {
        "noticed"
    } else {
        "not noticed"
    };
    let asked = if one.blind { "" } else { "; not asked blind" };
    format!(
        "{}: {said} at {:.2} of the published threshold{asked}",
        one.wherein, one.noticed.activity
    )
}

/// "A finding of Ada counts for 0.6 of one: her tastings say that ..."
#[must_use]
pub fn keen_words(of: &TasterThreshold) -> String {
    format!(
        "What {} says of {} counts for {:.2} of what anybody says, by {} earlier answers",
        of.taster,
        of.compound.name,
        of.keen,
        of.tasted.len()
    )
}

#[cfg(test)]
mod tests {
    use super::super::random::Random;
    use super::*;

    fn compound() -> &'static Compound {
        Compound::find("diacetyl").unwrap()
    }

    fn noticed(activity: f64, noticed: bool) -> Noticed {
        Noticed {
            compound: compound(),
            activity,
            noticed,
        }
    }

    /// A normal belief N(m, s²) and one answer of a probit with slope σ: the chance of yes is
    /// Φ(z), z = (a − m)/√(σ² + s²), and after a yes the mean is m − s² φ(z)/(Φ(z) √(σ² + s²))
    /// (C. E. Rasmussen, C. K. I. Williams 2006, eq. 3.85 to 3.87). The chance of being wrong
    /// mixes that with the belief itself.
    #[test]
    fn one_answer_is_as_the_closed_form_has_it() {
        let row = &*TABLE;
        let (s, slope) = (row.apart_ln_sd, row.slope_ln_sd.hypot(row.reckoned_ln_sd));
        for activity in [0.1, 0.8, 2.0, 20.0] {
            let root = slope.hypot(s);
            let z = f64::ln(activity) / root;
            let yes = normal_below(z);
            let density = (-0.5 * z * z).exp() / std::f64::consts::TAU.sqrt();
            let after_seen = -s * s * density / (yes * root);
            let g = row.false_alarm;
            let share = (1.0 - g) * yes / (g + (1.0 - g) * yes);
            let mean = share * after_seen;
            let found = Known::of(&[noticed(activity, true)]).moments().0;
            assert!(
                (found - mean).abs() < 1e-4,
                "{activity}: {found} for {mean}"
            );
            // After a no the false alarms say nothing.
            let no = s * s * density / ((1.0 - yes) * root);
            let found = Known::of(&[noticed(activity, false)]).moments().0;
            assert!((found - no).abs() < 1e-4, "{activity}: {found} for {no}");
        }
        let prior = Known::of(&[]);
        assert!((prior.moments().1 - s).abs() < 1e-4);
        assert!((prior.quantile(0.95) - 1.644_85 * s).abs() < 2e-3);
        assert!(prior.quantile(0.5).abs() < 1e-9);
    }

    /// Tasters drawn as the table has them, asked in beers of known activity.
    #[test]
    fn tasters_are_held_nine_times_in_ten() {
        let mut random = Random::seeded(11);
        let row = &*TABLE;
        for glasses in [1, 6, 20] {
            const TASTERS: usize = 500;
            let (mut held, mut off) = (0, 0.0);
            for _ in 0..TASTERS {
                let t = row.apart_ln_sd * random.normal();
                let said: Vec<Noticed> = (0..glasses)
                    .map(|_| {
                        let activity = (1.5 * random.normal()).exp();
                        noticed(activity, random.uniform() < chance(activity, t))
                    })
                    .collect();
                let known = Known::of(&said);
                held += usize::from((known.quantile(0.05)..=known.quantile(0.95)).contains(&t));
                off += (known.moments().0 - t).powi(2);
            }
            let share = held as f64 / TASTERS as f64;
            assert!((0.85..=0.95).contains(&share), "{glasses} glasses: {share}");
            let rms = (off / TASTERS as f64).sqrt();
            // What is learned brings the taster nearer than the published figure.
            let most = if glasses >= 20 { 0.5 } else { 1.0 };
            assert!(rms < most * row.apart_ln_sd * 1.05, "{glasses}: {rms}");
        }
    }

    #[test]
    fn a_no_to_what_nobody_misses_is_borne() {
        let known = Known::of(&[noticed(1e15, false), noticed(0.0, true)]);
        let (mean, sd) = known.moments();
        assert!(mean.is_finite() && sd > 0.0 && keen(&known).is_finite());
        assert!(known.quantile(0.05) <= known.quantile(0.95));
    }

    #[test]
    fn one_who_never_notices_counts_less() {
        let blind: Vec<Noticed> = (0..6).map(|_| noticed(3.0, false)).collect();
        let keen_one: Vec<Noticed> = (0..6).map(|_| noticed(0.7, true)).collect();
        assert!(keen(&Known::of(&blind)) < 0.3);
        assert!((keen(&Known::of(&keen_one)) - 1.0).abs() < 1e-12);
        assert!((keen(&Known::of(&[])) - 1.0).abs() < 1e-12);
    }
}
