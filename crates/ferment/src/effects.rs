//! What the pitch and the warmth of the start do to the beer: the same fermentation
//! reckoned with fewer and with more cells, and warmer.

use quantity::{Cells, Duration, Gravity, MassConcentration, Measured, Source, Temperature};
use wort::PitchingWort;

use crate::error::FermentError;
use crate::ferment::{Fermentation, ferment};
use crate::plan::FermentPlan;
use crate::starter::with_starter;
use crate::state::Flavour;
use crate::stock::Yeast;
use crate::tables::{source, table};

/// How much warmer the warm start is \[K\].
const WARMER_K: f64 = 4.0;
/// How long a warm start stays warm \[h\]: esters and fusel alcohols form with growth.
const START_H: f64 = 72.0;
/// Diacetyl above which beer is off \[mg/L\] (MEBAK, read).
const DIACETYL_LIMIT: f64 = 0.10;
/// Share of what can ferment whose going shows that it works.
const WORKS: f64 = 0.05;

/// One way to start the same batch.
#[derive(Debug, Clone, PartialEq)]
pub struct PitchCase {
    /// Its word.
    pub key: &'static str,
    /// What is different, in words.
    pub label: &'static str,
    /// Cells pitched over cells needed.
    pub ratio: f64,
    /// Temperature of the wort at pitching.
    pub start: Temperature,
    /// When the first twentieth of what can ferment is gone; none where it never is.
    pub works_after: Option<Duration>,
    /// When 90 % is gone.
    pub ninety_percent_at: Option<Duration>,
    /// Gravity at the end.
    pub final_gravity: Measured<Gravity>,
    /// Esters against the same batch with the cells needed.
    pub esters: Effect,
    /// Fusel alcohols likewise.
    pub fusels: Effect,
    /// 4-Vinylguaiacol likewise.
    pub phenolics: Effect,
    /// When diacetyl, there and to come, is at last below 0.10 mg/L; none where it never
    /// is.
    pub clears_after: Option<Duration>,
}

/// A factor on a flavour, with one standard deviation to each side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// The factor.
    pub factor: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// What a cause does, as the literature has it.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownEffect {
    /// The cause: "too few cells" or "a warm start".
    pub cause: &'static str,
    /// On what.
    pub on: &'static str,
    /// What it does.
    pub text: &'static str,
    /// Where it comes from.
    pub source: Source,
}

impl Effect {
    fn known_to(factor: f64, ln_sd: f64) -> Self {
        let factor = if factor.is_finite() && factor > 0.0 {
            factor
        } else {
            1.0
        };
        Self {
            factor,
            low: factor * (-ln_sd).exp(),
            high: factor * ln_sd.exp(),
        }
    }

    /// True where one standard deviation reaches over to the other direction.
    #[must_use]
    pub fn is_unsure(&self) -> bool {
        self.low < 1.0 && self.high > 1.0
    }

    /// "+20 % (+5 to +37)", or "the same".
    #[must_use]
    pub fn words(&self) -> String {
        let percent = |x: f64| {
            let rounded = ((x - 1.0) * 100.0).round();
            format!(
                "{}{:.0}",
                if rounded < 0.0 { "−" } else { "+" },
                rounded.abs()
            )
        };
        if (self.high / self.low - 1.0).abs() < 1e-6 && (self.factor - 1.0).abs() < 5e-3 {
            return "the same".to_owned();
        }
        format!(
            "{} % ({} to {})",
            percent(self.factor),
            percent(self.low),
            percent(self.high)
        )
    }
}

/// What the literature says of too few cells and of a warm start.
#[must_use]
pub fn known_effects() -> Vec<KnownEffect> {
    let rows = table().effect.iter();
    rows.map(|row| KnownEffect {
        cause: &row.cause,
        on: &row.on,
        text: &row.text,
        source: source(&row.on, &row.source, &row.mark),
    })
    .collect()
}

/// The same batch with the cells needed, as planned, with half and with twice the
/// cells, and with those needed but three days 4 K warmer.
///
/// Course and levels by [`ferment`]. Effects are factors against the cells needed:
/// ln y = 0.036 (T − T_ref) + e ln(pitch/usual) for esters with e = −0.15 ± 0.2, and
/// Q10 1.3 to 1.6 for fusel alcohols; from batch to batch there is a spread of 0.3 in
/// ln y besides (judgement). A case that cannot be reckoned is left out.
///
/// # Errors
/// As [`ferment`], for the plan itself.
pub fn pitch_cases(
    plan: &FermentPlan,
    wort: &PitchingWort,
) -> Result<Vec<PitchCase>, FermentError> {
    let as_planned = ferment(plan, wort)?;
    let ratio = as_planned.pitch.ratio;
    let wort = with_starter(wort, plan.starter.as_ref());
    let at = |wanted: f64| ferment(&with_cells(plan, &as_planned, wanted), &wort).ok();
    let needed = at(1.0).unwrap_or_else(|| as_planned.clone());
    let cases = [
        ("needed", "with the cells needed", 1.0, Some(needed.clone())),
        ("planned", "as planned", ratio, Some(as_planned.clone())),
        ("half", "half the cells needed", 0.5, at(0.5)),
        ("twice", "twice the cells needed", 2.0, at(2.0)),
    ];
    let mut all: Vec<PitchCase> = cases
        .into_iter()
        .filter_map(|(key, label, ratio, done)| {
            let start = plan.pitch_temperature;
            let case = (key, label, ratio, start);
            done.map(|done| case_of(case, &done, &needed, 0.0))
        })
        .collect();
    let warm = warmer(with_cells(plan, &as_planned, 1.0));
    if let Ok(done) = ferment(&warm, &wort) {
        let start = warm.pitch_temperature;
        let case = (
            "warm",
            "the cells needed, three days 4 K warmer",
            1.0,
            start,
        );
        all.push(case_of(case, &done, &needed, 1.0));
    }
    Ok(all)
}

/// The plan with a warmer start; later points of its course stay.
fn warmer(mut plan: FermentPlan) -> FermentPlan {
    let up = |t: &mut Temperature| *t = Temperature::from_c(t.c() + WARMER_K);
    up(&mut plan.pitch_temperature);
    for point in plan.course.iter_mut().filter(|p| p.at.h() <= START_H) {
        up(&mut point.temperature);
    }
    plan
}

fn case_of(
    (key, label, ratio, start): (&'static str, &'static str, f64, Temperature),
    done: &Fermentation,
    needed: &Fermentation,
    warmth: f64,
) -> PitchCase {
    let (own, base) = (&done.beer.flavour, &needed.beer.flavour);
    let s = &table().spread;
    let by_pitch = s.pitch_exponent_sd * ratio.max(1e-6).ln().abs();
    let known = |own: f64, base: f64, of_warmth: f64| {
        let factor = own / base;
        let by_warmth = warmth * of_warmth * factor.max(1e-6).ln().abs();
        Effect::known_to(factor, by_pitch.hypot(by_warmth))
    };
    let mg = |x: MassConcentration| x.mg_per_l();
    PitchCase {
        key,
        label,
        ratio,
        start,
        works_after: works_after(done),
        ninety_percent_at: done.ninety_percent_at,
        final_gravity: done.final_gravity,
        esters: known(
            mg(own.ethyl_acetate),
            mg(base.ethyl_acetate),
            s.ester_warmth,
        ),
        fusels: known(
            mg(own.isoamyl_alcohol),
            mg(base.isoamyl_alcohol),
            s.fusel_warmth,
        ),
        phenolics: Effect::known_to(mg(own.vinylguaiacol) / mg(base.vinylguaiacol), 0.0),
        clears_after: clears_after(done),
    }
}

/// The plan with so many of the cells needed. A starter becomes the cells it gives.
fn with_cells(plan: &FermentPlan, planned: &Fermentation, wanted: f64) -> FermentPlan {
    let yeast = if plan.starter.is_some() {
        let cells = planned.pitch.needed.billions() * wanted;
        Yeast::Counted {
            cells: Cells::from_billions(cells),
        }
    } else {
        plan.yeast.times(wanted / planned.pitch.ratio)
    };
    FermentPlan {
        yeast,
        starter: None,
        ..plan.clone()
    }
}

/// When diacetyl and what is still to become of it stays below the limit.
fn clears_after(done: &Fermentation) -> Option<Duration> {
    let vdk = |f: &Flavour| f.diacetyl.mg_per_l() + f.diacetyl_to_come.mg_per_l();
    let over = done
        .course
        .iter()
        .rposition(|m| vdk(&m.flavour) > DIACETYL_LIMIT);
    match over {
        Some(last) => done.course.get(last + 1).map(|m| m.at),
        None => done.course.first().map(|m| m.at),
    }
}

/// When it visibly works: the fall of the apparent extract between two moments.
fn works_after(done: &Fermentation) -> Option<Duration> {
    let first = done.course.first()?.gravity.plato();
    let last = done.expected_gravity.plato();
    let mark = first - WORKS * (first - last);
    let pairs = done.course.iter().zip(done.course.iter().skip(1));
    let (a, b) = pairs
        .into_iter()
        .find(|(a, b)| a.gravity.plato() > mark && b.gravity.plato() <= mark)?;
    let (from, to) = (a.gravity.plato(), b.gravity.plato());
    let share = (from - mark) / (from - to);
    let (t0, t1) = (a.at.h(), b.at.h());
    Some(Duration::from_h(t0 + share * (t1 - t0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn effects_say_what_is_not_sure() {
        let clear = Effect::known_to(1.4, 0.1);
        assert!(!clear.is_unsure());
        assert_eq!(clear.words(), "+40 % (+27 to +55)");
        let open = Effect::known_to(1.1, 0.14);
        assert!(open.is_unsure());
        let fewer = Effect::known_to(0.8, 0.05);
        assert_eq!(fewer.words(), "−20 % (−24 to −16)");
        assert_eq!(Effect::known_to(1.0, 0.0).words(), "the same");
        assert_eq!(Effect::known_to(f64::NAN, 0.0).words(), "the same");
    }

    #[test]
    fn every_cause_is_known_on_the_four_that_matter() {
        let all = known_effects();
        for cause in ["too few cells", "a warm start"] {
            for on in ["start", "esters", "fusel alcohols", "phenolics"] {
                assert!(
                    all.iter().any(|e| e.cause == cause && e.on == on),
                    "{cause} {on}"
                );
            }
        }
    }
}
