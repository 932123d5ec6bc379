//! Starch into sugar over the temperature course of a mash.
//!
//! Starch gelatinises, α-amylase dissolves it, β- and α-amylase make sugars of it until
//! none is left that they can split, and both enzymes are lost on the way, β-amylase
//! within minutes at 65 °C. The sugars are followed as the apparent limit of attenuation
//! that they give, as the published data are limits:
//!
//! - dS/dt = −k_g S, S the share of starch not gelatinised;
//! - da/dt = −k_α a, db/dt = −k_β b, the enzymes left;
//! - dA/dt = (r_β b + r_α a)·(A₀ + (A₁ − A₀)(1 − S) − A), A the apparent limit;
//! - dX/dt = l a (1 − S − X), X the share of starch dissolved.

use quantity::{Duration, Fraction, Measured, Note, Ph, Temperature};

use super::at_ph_of_fit;
use super::course::MashCourse;
use super::figures::FIGURES;
use super::rates::{GELATINISES_ANEW_C, Rates, Works, shares};
use super::starch::{NODES, Starch};
use crate::numeric::interpolate;

/// Standard deviation of the limit \[–\] by the temperature at which the sugar is made
/// \[°C\] (judgement): other malts, thickness and pH move it, most where it is steep.
const LIMIT_SD: [(f64, f64); 3] = [(65.0, 0.03), (70.0, 0.04), (75.0, 0.06)];
/// Share of starch dissolved at which iodine shows none (judgement).
const CONVERTED: f64 = 0.98;
/// The first step after a change of temperature, as a share of the time constant of what
/// goes fastest; the steps after it grow, as a decay slows down.
const FIRST_STEP: f64 = 0.4;
const STEP_GROWS: f64 = 1.5;
/// The most that the temperature moves in a step \[°C\].
const STEP_C: f64 = 2.0;
/// Time between two moments that are shown, and the longest step \[min\].
const SHOWN_MIN: f64 = 2.0;
/// Diastatic power of the grist that the rates were fitted to \[°Lintner\]: nine parts of
/// lager malt and one of caramel malt (from its class).
const FITTED_LINTNER: f64 = 80.0;
/// Powers of the diastatic power that the two work by (judgement): most of the figure is
/// β-amylase, and worts of malts with half of it end only a few per cent lower.
const BETA_BY_POWER: f64 = 0.25;
const ALPHA_BY_POWER: f64 = 0.125;
/// Thickness that the rates were fitted to \[L/kg\], and the power by which a thinner mash
/// loses β-amylase faster (judgement).
const FITTED_L_PER_KG: f64 = 3.0;
const THICKNESS_POWER: f64 = 0.3;

/// What maltose, maltotriose and glucose share of the sugars that each enzyme makes. β
/// makes maltose; the shares of α are those by which the wort of 80 % apparent limit has
/// glucose 9, maltose 49 and maltotriose 13 of 77 parts (typical after Briggs et al.
/// 2004, from memory; computed).
const BY_BETA: [f64; 3] = [0.95, 0.03, 0.02];
const BY_ALPHA: [f64; 3] = [0.518, 0.354, 0.128];
/// Glucose, fructose and sucrose of the malt itself, of ten parts (the same source).
const AT_ONCE: [f64; 3] = [0.4, 0.2, 0.4];

/// What the enzymes have to work with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ground {
    /// pH of the mash, as a cooled sample reads.
    pub(crate) ph: Ph,
    /// Diastatic power of the grist \[°Lintner\].
    pub(crate) lintner: f64,
    /// Mash liquor over grain \[L/kg\].
    pub(crate) l_per_kg: f64,
}

/// Sugars by kind, each as a share of all that ferments.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SugarShares {
    /// Glucose.
    pub glucose: Fraction,
    /// Fructose.
    pub fructose: Fraction,
    /// Sucrose.
    pub sucrose: Fraction,
    /// Maltose.
    pub maltose: Fraction,
    /// Maltotriose.
    pub maltotriose: Fraction,
}

/// The mash at one moment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MashMoment {
    /// How long after mashing in.
    pub after: Duration,
    /// Temperature.
    pub temperature: Temperature,
    /// Share of the starch that is dissolved.
    pub dissolved: Fraction,
    /// Apparent limit of attenuation of what would run off now.
    pub limit: Fraction,
    /// Sugars by kind.
    pub sugars: SugarShares,
    /// β-amylase left.
    pub beta: Fraction,
    /// α-amylase left.
    pub alpha: Fraction,
}

/// What becomes of the starch.
#[derive(Debug, Clone, PartialEq)]
pub struct Conversion {
    /// The mash over time, the end last.
    pub moments: Vec<MashMoment>,
    /// Apparent limit of attenuation at the end.
    pub limit: Measured<Fraction>,
    /// Share of the starch that is dissolved at the end.
    pub dissolved: Fraction,
    /// When iodine shows no more starch; none where it does to the end.
    pub converted: Option<Duration>,
    /// Sugars by kind at the end.
    pub sugars: SugarShares,
    /// Remarks.
    pub notes: Vec<Note>,
}

impl Conversion {
    /// Follows the starch along a course.
    #[must_use]
    pub(crate) fn along(course: &MashCourse, ground: &Ground) -> Self {
        let mut run = Run::new(ground);
        let mut boiled = course.boiled().iter().peekable();
        for (from, to) in course.stretches() {
            while let Some((_, of_liquor, of_grain)) =
                boiled.next_if(|(min, _, _)| *min <= from.0 + 1e-9)
            {
                run.mash.boiled(*of_liquor, *of_grain);
            }
            run.stretch(from, to);
        }
        run.finish(course)
    }
}

struct Run {
    mash: Starch,
    works: Works,
    now_min: f64,
    shown_min: f64,
    moments: Vec<MashMoment>,
    converted_min: Option<f64>,
    /// ∫ sd dA and ∫ dA over the sugar made.
    spread: (f64, f64),
}

impl Run {
    fn new(ground: &Ground) -> Self {
        let figures = &*FIGURES;
        let works = |best, width| at_ph_of_fit(ground.ph, best, width);
        let enzymes = (ground.lintner / FITTED_LINTNER).max(0.0);
        Self {
            mash: Starch::RAW,
            works: Works {
                beta: works(&figures.beta_ph, &figures.beta_ph_width) * enzymes.powf(BETA_BY_POWER),
                alpha: works(&figures.alpha_ph, &figures.alpha_ph_width)
                    * enzymes.powf(ALPHA_BY_POWER),
                beta_lost: (ground.l_per_kg / FITTED_L_PER_KG).powf(THICKNESS_POWER),
            },
            now_min: 0.0,
            shown_min: 0.0,
            moments: Vec::new(),
            converted_min: None,
            spread: (0.0, 0.0),
        }
    }

    /// A stretch of the course, in two where it crosses the corner of gelatinisation, which
    /// no step may hold.
    fn stretch(&mut self, from: (f64, f64), to: (f64, f64)) {
        let (below, above) = (from.1 - GELATINISES_ANEW_C, to.1 - GELATINISES_ANEW_C);
        if below * above < 0.0 {
            let corner_min = from.0 + (to.0 - from.0) * below / (below - above);
            self.smooth((from.0, from.1), (corner_min, GELATINISES_ANEW_C));
            self.smooth((corner_min, GELATINISES_ANEW_C), to);
        } else {
            self.smooth(from, to);
        }
    }

    fn smooth(&mut self, (from_min, from_c): (f64, f64), (to_min, to_c): (f64, f64)) {
        let slope = (to_c - from_c) / (to_min - from_min);
        let temp_c = |min: f64| from_c + slope * (min - from_min);
        let works = self.works;
        let rates = |min: f64| Rates::at(temp_c(min)).by(&works);
        let held = (slope.abs() < 1e-9).then(|| [rates(from_min); 3]);
        let longest_min = SHOWN_MIN.min(STEP_C / slope.abs());
        let mut step_min = FIRST_STEP / self.mash.fastest(&rates(from_min));
        self.now_min = from_min;
        while self.now_min < to_min - 1e-9 {
            if self.now_min >= self.shown_min - 1e-9 {
                self.show(temp_c(self.now_min));
                self.shown_min = self.now_min + SHOWN_MIN;
            }
            let now_min = self.now_min;
            let ends_min = (now_min + step_min.min(longest_min))
                .min(self.shown_min)
                .min(to_min);
            let min = ends_min - now_min;
            let rates = held.unwrap_or_else(|| NODES.map(|node| rates(now_min + node * min)));
            self.step(&rates, min, temp_c(now_min + min / 2.0));
            self.now_min = ends_min;
            step_min *= STEP_GROWS;
        }
    }

    fn step(&mut self, rates: &[Rates; 3], min: f64, temp_c: f64) {
        let before = self.mash.dissolved;
        let made = self.mash.step(rates, min);
        self.spread.0 += made * interpolate(&LIMIT_SD, temp_c);
        self.spread.1 += made;
        if self.converted_min.is_none() && self.mash.dissolved >= CONVERTED {
            let share = (CONVERTED - before) / (self.mash.dissolved - before);
            self.converted_min = Some(self.now_min + share * min);
        }
    }

    fn show(&mut self, temp_c: f64) {
        self.moments.push(MashMoment {
            after: Duration::from_min(self.now_min),
            temperature: Temperature::from_c(temp_c),
            dissolved: Fraction::from_ratio(self.mash.dissolved),
            limit: Fraction::from_ratio(self.mash.limit()),
            sugars: sugars(&self.mash),
            beta: Fraction::from_ratio(self.mash.beta),
            alpha: Fraction::from_ratio(self.mash.alpha),
        });
    }

    fn finish(mut self, course: &MashCourse) -> Conversion {
        self.show(course.at(course.lasts()).c());
        let (weighed, made) = self.spread;
        let sd = if made > 0.0 {
            weighed / made
        } else {
            interpolate(&LIMIT_SD, 0.0)
        };
        let dissolved = Fraction::from_ratio(self.mash.dissolved);
        Conversion {
            limit: Measured::with_sd(Fraction::from_ratio(self.mash.limit()), sd),
            dissolved,
            converted: self.converted_min.map(Duration::from_min),
            sugars: sugars(&self.mash),
            notes: notes(&self.mash),
            moments: self.moments,
        }
    }
}

/// What ferments, by kind.
fn sugars(mash: &Starch) -> SugarShares {
    let whole = mash.limit();
    let part = |n: usize| {
        let of = |shares: [f64; 3]| shares.get(n).copied().unwrap_or(0.0);
        (mash.by_beta * of(BY_BETA) + mash.by_alpha * of(BY_ALPHA)) / whole
    };
    let own = shares().at_once / whole;
    let [glucose, fructose, sucrose] = AT_ONCE.map(|share| own * share);
    SugarShares {
        glucose: Fraction::from_ratio(glucose + part(2)),
        fructose: Fraction::from_ratio(fructose),
        sucrose: Fraction::from_ratio(sucrose),
        maltose: Fraction::from_ratio(part(0)),
        maltotriose: Fraction::from_ratio(part(1)),
    }
}

impl SugarShares {
    /// Glucose, fructose and sucrose together: what the yeast takes first.
    #[must_use]
    pub fn simple(&self) -> Fraction {
        Fraction::from_ratio(self.glucose.ratio() + self.fructose.ratio() + self.sucrose.ratio())
    }
}

fn notes(mash: &Starch) -> Vec<Note> {
    let mut notes = Vec::new();
    let starch = 1.0 - mash.dissolved;
    if starch > 0.05 {
        notes.push(Note::act(format!(
            "{:.0} % of the starch is not dissolved at the end: it costs extract and hazes the beer; mash longer, or rest at 65 to 72 °C",
            100.0 * starch
        )));
    } else if mash.dissolved < CONVERTED {
        notes.push(Note::look(
            "a little starch may be left at the end: test with iodine, and mash longer if it turns blue",
        ));
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const GROUND: Ground = Ground {
        ph: Ph::from_ph(5.5),
        lintner: 80.0,
        l_per_kg: 3.0,
    };

    fn course(rests: &[(f64, f64)]) -> MashCourse {
        MashCourse::level(rests)
    }

    fn limit(rests: &[(f64, f64)]) -> f64 {
        let found = Conversion::along(&course(rests), &GROUND);
        found.limit.value.ratio()
    }

    /// J. Chandrasekhar's thesis (quoted 2014): apparent attenuation after an hour at
    /// 65, 70, 75, 80 °C; printed to the per cent.
    #[test]
    fn an_hour_of_infusion_meets_the_data() {
        for (temp_c, printed) in [(65.0, 0.82), (70.0, 0.70), (75.0, 0.50), (80.0, 0.30)] {
            let ours = limit(&[(temp_c, 60.0)]);
            assert!((ours - printed).abs() < 0.005, "{temp_c}: {ours}");
        }
    }

    /// Steps at 62 and 72 °C end at 80 to 85 %; 15 min less at 65 °C cost a few per cent
    /// (common practice). Hamilton & Lewis 1974 (abstract): the optimum is near 62.5 °C.
    #[test]
    fn steps_and_short_mashes_follow_practice() {
        let step = limit(&[(62.0, 30.0), (72.0, 30.0)]);
        assert!((0.80..0.85).contains(&step), "{step}");
        let lost = limit(&[(65.0, 60.0)]) - limit(&[(65.0, 45.0)]);
        assert!((0.01..0.05).contains(&lost), "{lost}");
        let best = (550..700)
            .map(|tenths| f64::from(tenths) / 10.0)
            .max_by(|a, b| limit(&[(*a, 60.0)]).total_cmp(&limit(&[(*b, 60.0)])));
        assert!((60.0..63.5).contains(&best.unwrap()), "{best:?}");
    }

    /// Harris & MacWilliam 1961 (abstract): an hour at 65.5 °C extracts more than 95 %;
    /// cooler mashes lag.
    #[test]
    fn starch_dissolves_as_published() {
        let dissolved = |c: f64, min: f64| {
            Conversion::along(&course(&[(c, min)]), &GROUND)
                .dissolved
                .ratio()
        };
        assert!(dissolved(65.5, 60.0) > 0.95);
        assert!(dissolved(55.0, 60.0) < 0.85);
        let cold = Conversion::along(&course(&[(50.0, 60.0)]), &GROUND);
        assert!(cold.converted.is_none());
        assert!(
            cold.notes[0].text.contains("not dissolved"),
            "{:?}",
            cold.notes
        );
    }

    /// Briggs et al. 2004 (from memory), of 77 parts that ferment at 80 %: fructose 2,
    /// glucose 9, sucrose 4, maltose 49, maltotriose 13.
    #[test]
    fn the_sugars_at_eighty_per_cent_are_the_typical_ones() {
        let found = Conversion::along(&course(&[(66.0, 60.0)]), &GROUND);
        assert!((found.limit.value.ratio() - 0.80).abs() < 0.005);
        let sugars = found.sugars;
        for (ours, parts) in [
            (sugars.fructose, 2.0),
            (sugars.glucose, 9.0),
            (sugars.sucrose, 4.0),
            (sugars.maltose, 49.0),
            (sugars.maltotriose, 13.0),
        ] {
            assert!((ours.ratio() * 77.0 - parts).abs() < 0.7, "{parts}: {ours}");
        }
    }

    /// SciPy's LSODA on the same equations, rtol 1e-10 (tests/reference/fit_mash.py).
    #[test]
    fn courses_agree_with_the_reference_solver() {
        let table = include_str!("../../tests/reference/mash.csv");
        let mut worst: f64 = 0.0;
        for line in table.lines().skip(1) {
            let x: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            let mut run = Run::new(&GROUND);
            run.stretch((0.0, x[0]), (x[1], x[0]));
            run.stretch((x[1], x[2]), (x[1] + x[3], x[2]));
            let mash = run.mash;
            let ours = [
                mash.raw,
                mash.alpha,
                mash.beta,
                mash.by_beta,
                mash.by_alpha,
                mash.dissolved,
            ];
            for (ours, theirs) in ours.iter().zip(&x[4..]) {
                worst = worst.max((ours - theirs).abs());
            }
        }
        assert!(worst < 1e-6, "{worst}");
    }

    /// What a decoction does to the enzymes follows from what is boiled: the thin part
    /// carries them, the thick part the starch.
    #[test]
    fn a_boiled_part_loses_its_enzymes_and_its_starch_is_gelatinised() {
        let rests = [(52.0, 30.0), (64.0, 20.0), (72.0, 30.0)];
        let after = |liquor, grain| {
            let course = course(&rests).with_boiled((32.0, liquor, grain));
            Conversion::along(&course, &GROUND)
        };
        let whole = Conversion::along(&course(&rests), &GROUND);
        let none = after(0.0, 0.0);
        assert_eq!(whole.limit, none.limit);
        let at_end = |c: &Conversion| c.moments.last().unwrap().alpha.ratio();
        assert!((at_end(&after(0.4, 0.0)) / at_end(&whole) - 0.6).abs() < 1e-9);
        let (thick, thin) = (after(0.2, 0.5), after(0.5, 0.0));
        assert!(thick.limit.value > thin.limit.value);
        assert!(thick.dissolved > thin.dissolved);
    }

    proptest! {
        #[test]
        fn nothing_leaves_its_bounds(
            c1 in 40.0..80.0f64, m1 in 1.0..90.0f64, c2 in 40.0..80.0f64, m2 in 1.0..90.0f64,
            ph in 4.5..6.5f64, lintner in 0.0..200.0f64, l_per_kg in 1.5..10.0f64,
        ) {
            let ground = Ground { ph: Ph::from_ph(ph), lintner, l_per_kg };
            let found = Conversion::along(&course(&[(c1, m1), (c2, m2)]), &ground);
            let mut before = (0.0, 0.0);
            for moment in &found.moments {
                let now = (moment.dissolved.ratio(), moment.limit.ratio());
                prop_assert!(now.0 >= before.0 - 1e-12 && now.1 >= before.1 - 1e-12);
                prop_assert!((0.0..=1.0).contains(&now.0) && (0.0..=0.85).contains(&now.1));
                let s = moment.sugars;
                let sum = s.simple().ratio() + s.maltose.ratio() + s.maltotriose.ratio();
                prop_assert!((sum - 1.0).abs() < 1e-9, "{sum}");
                before = now;
            }
            prop_assert!(found.limit.sd() > 0.0);
        }

        #[test]
        fn hotter_from_65_up_ferments_less(low in 65.0..79.0f64, step in 0.5..5.0f64, min in 30.0..120.0f64) {
            prop_assert!(limit(&[(low + step, min)]) <= limit(&[(low, min)]) + 1e-9);
        }
    }
}
