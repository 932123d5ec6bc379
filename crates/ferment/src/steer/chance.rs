//! How a course does in the batches that may come.

use quantity::{Duration, Fraction};

use super::figures::{End, Figures};
use super::steering::{Member, Steered, Steering, kept};
use super::table::spread;
use super::wish::{Aim, Figure, Goal};
use crate::random::Stream;

/// Batches that are drawn.
const DRAWS: usize = 48;
/// How often a case as bad as the ones that are guarded against comes, one-sided: one in
/// ten \[sd\].
const BAD_SD: f64 = 1.28;
/// How far beyond its end a course is held, until a slow batch is ready \[h\].
const BEYOND_H: f64 = 14.0 * 24.0;
const STEP_H: f64 = 12.0;
/// Chances that count as alike.
const ALIKE: f64 = 0.03;

/// How a course does in the batches that may come.
#[derive(Debug, Clone, PartialEq)]
pub struct Chances {
    /// How likely it keeps every limit at its end.
    pub keeps: Fraction,
    /// One batch in ten has less of each figure.
    pub low: Figures,
    /// One in ten has more.
    pub high: Figures,
    /// When nine batches in ten have come to what must fall (butter, what is left), if its
    /// last temperature is held; none where that takes more than a fortnight longer.
    pub surely_ready: Option<Duration>,
    /// The aims in one batch of ten, the lower the better.
    pub(super) bad: f64,
}

/// The batch as reckoned, a slow and buttery one, and a fast one of high levels.
pub(super) fn bad_cases(read: bool) -> Vec<Member> {
    let s = spread(read);
    let off = |sd: f64| (BAD_SD * sd).exp();
    vec![
        Member::AS_RECKONED,
        Member {
            speed: 1.0 / off(s.speed),
            lag: off(s.lag),
            butter: off(s.butter),
            level: 1.0 / off(s.level),
            exponent: 0.0,
        },
        Member {
            speed: off(s.speed),
            lag: 1.0 / off(s.lag),
            level: off(s.level),
            ..Member::AS_RECKONED
        },
    ]
}

fn members(read: bool) -> Vec<Member> {
    let s = spread(read);
    let mut stream = Stream::seeded(1);
    (0..DRAWS)
        .map(|_| Member {
            speed: (s.speed * stream.normal()).exp(),
            lag: (s.lag * stream.normal()).exp(),
            butter: (s.butter * stream.normal()).exp(),
            level: (s.level * stream.normal()).exp(),
            exponent: s.pitch_exponent * stream.normal(),
        })
        .collect()
}

impl Steering {
    /// How courses do in the batches that may come: the same batches for each, drawn from
    /// the spread of speed, lag, acetolactate, levels and the bearing of the pitch.
    #[must_use]
    pub fn chances(&self, of: &[&Steered]) -> Vec<Chances> {
        let members = members(self.wish.from.is_some());
        of.iter()
            .map(|steered| self.chances_of(steered, &members))
            .collect()
    }

    /// Which of several does best in bad cases: of those that keep the limits about as
    /// often as any, the one whose aims are the best in one batch of ten.
    #[must_use]
    pub fn safest(&self, of: &[Chances]) -> Option<usize> {
        let most = of.iter().map(|c| c.keeps.ratio()).fold(0.0, f64::max);
        let alike = of.iter().enumerate();
        let alike = alike.filter(|(_, c)| c.keeps.ratio() >= most - ALIKE);
        alike
            .min_by(|a, b| a.1.bad.total_cmp(&b.1.bad))
            .map(|(i, _)| i)
    }

    fn chances_of(&self, of: &Steered, members: &[Member]) -> Chances {
        let end_h = of.end.h();
        let first_h = self.wish.from.map_or(0.0, quantity::Duration::h);
        let mut times: Vec<f64> = vec![end_h];
        let (mut before, mut after) = (end_h - STEP_H, end_h + STEP_H);
        while before > first_h.max(0.5 * end_h) {
            times.insert(0, before);
            before -= STEP_H;
        }
        let at_end = times.len() - 1;
        while after <= end_h + BEYOND_H {
            times.push(after);
            after += STEP_H;
        }
        let (mut ends, mut ready) = (Vec::new(), Vec::new());
        for member in members {
            let Some(states) = self.follow(&of.course, of.pitch, member, &times) else {
                continue;
            };
            let figures = |i: usize| {
                self.scores.figures(&End {
                    state: states.get(i)?,
                    days: times.get(i)? / 24.0,
                    ln_pitch: of.pitch.ln(),
                    level: member.level,
                    exponent: member.exponent,
                })
            };
            ends.extend(figures(at_end));
            let fits = |i: &usize| figures(*i).is_some_and(|f| self.has_fallen(&f));
            let when = (0..times.len()).find(fits);
            ready.push(when.map_or(f64::INFINITY, |i| times[i]));
        }
        self.summed(&ends, ready)
    }

    /// Whether what falls with time has fallen to its limits.
    fn has_fallen(&self, figures: &Figures) -> bool {
        let falls = |figure| {
            matches!(
                figure,
                Figure::Diacetyl | Figure::LeftToFerment | Figure::Gravity | Figure::Acetaldehyde
            )
        };
        let mut limits = self
            .wish
            .limits
            .iter()
            .filter(|l| l.most && falls(l.figure));
        limits.all(|limit| kept(limit, figures))
    }

    fn summed(&self, ends: &[Figures], mut ready: Vec<f64>) -> Chances {
        let count = ends.len().max(1) as f64;
        let keeps = |f: &&Figures| self.wish.limits.iter().all(|limit| kept(limit, f));
        let all_kept = ends.iter().filter(keeps).count() as f64;
        ready.sort_by(f64::total_cmp);
        let late = quantile(&ready, 0.9);
        let mut bad: Vec<f64> = ends.iter().map(|f| self.merit(f)).collect();
        bad.sort_by(f64::total_cmp);
        Chances {
            keeps: Fraction::from_ratio(all_kept / count),
            low: each(ends, 0.1),
            high: each(ends, 0.9),
            surely_ready: late.is_finite().then(|| Duration::from_h(late)),
            bad: quantile(&bad, 0.9),
        }
    }

    fn merit(&self, figures: &Figures) -> f64 {
        let days = [Aim {
            figure: Figure::Days,
            goal: Goal::Least,
            weight: 1.0,
        }];
        let aims = if self.wish.aims.is_empty() {
            days.as_slice()
        } else {
            &self.wish.aims
        };
        let one = |aim: &Aim| {
            let figure = match aim.figure {
                Figure::Gravity => Figure::LeftToFerment,
                other => other,
            };
            let x = figures.of(figure) / self.scale(figure) * aim.weight;
            if aim.goal == Goal::Most { -x } else { x }
        };
        aims.iter().map(one).sum()
    }
}

fn quantile(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    let place = (share * last as f64).round() as usize;
    sorted.get(place).copied().unwrap_or(f64::NAN)
}

fn each(ends: &[Figures], share: f64) -> Figures {
    let one = |figure: Figure| {
        let mut x: Vec<f64> = ends.iter().map(|f| f.of(figure)).collect();
        x.sort_by(f64::total_cmp);
        quantile(&x, share)
    };
    Figures {
        days: one(Figure::Days),
        ethyl_acetate: one(Figure::EthylAcetate),
        isoamyl_acetate: one(Figure::IsoamylAcetate),
        isoamyl_alcohol: one(Figure::IsoamylAlcohol),
        diacetyl: one(Figure::Diacetyl),
        vinylguaiacol: one(Figure::Vinylguaiacol),
        acetaldehyde: one(Figure::Acetaldehyde),
        left: one(Figure::LeftToFerment),
        gravity_plato: one(Figure::Gravity),
    }
}
