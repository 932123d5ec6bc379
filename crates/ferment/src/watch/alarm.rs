//! What is wrong with a fermentation, with the figures that say so and what to do.

use quantity::{Gravity, Temperature, Told, Units, Weight, show};

use super::course::{AtNow, Fitted, quantile};
use super::finish::{self, ONE_IN_TWENTY};
use super::fit::problem::Prior;
use super::reading::{Instrument, median};
use super::table::{AlarmRow, table};
use crate::random::Stream;
use crate::strains::{Flocculation, MaltotrioseUse};

/// Draws of what is expected; its ninth decile is the latest start.
const EXPECTED_DRAWS: usize = 400;

/// What is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AlarmKind {
    /// It does not start.
    LongLag,
    /// It stopped above its end.
    Stalled,
    /// It is or was too warm while it worked.
    TooWarm,
    /// It is cooled, or will be, before it has finished.
    CoolingEarly,
    /// It still falls when it should not.
    StillDropping,
    /// Its pH is not that of a clean fermentation.
    Acidity,
    /// A sensor says the same whatever happens, or reads foam.
    Sensor,
    /// The vessel is near or above what it is rated for, or will be.
    Pressure,
    /// Its pressure rises though it seemed to have finished.
    PressureRises,
}

impl AlarmKind {
    /// Its word in JSON and in tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::LongLag => "long lag",
            Self::Stalled => "stalled",
            Self::TooWarm => "too warm",
            Self::CoolingEarly => "cooling early",
            Self::StillDropping => "still dropping",
            Self::Acidity => "acidity",
            Self::Sensor => "sensor",
            Self::Pressure => "pressure",
            Self::PressureRises => "pressure rises",
        }
    }
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Alarm {
    /// What.
    pub kind: AlarmKind,
    /// How much it matters.
    pub weight: Weight,
    /// In one sentence.
    pub what: String,
    /// The figures that say so.
    pub evidence: Vec<Told>,
    /// What to do.
    pub advice: Vec<&'static str>,
}

/// What all alarms look at.
struct Look<'a> {
    fitted: &'a Fitted<'a>,
    now: &'a AtNow,
    a: &'static AlarmRow,
}

pub(crate) fn all(fitted: &Fitted<'_>, now: &AtNow) -> Vec<Alarm> {
    let look = Look {
        fitted,
        now,
        a: &table().alarm,
    };
    let mut alarms: Vec<Alarm> = [
        look.lag(),
        look.stall(),
        look.warmth(),
        look.cooling(),
        look.creep(),
        look.acidity(),
    ]
    .into_iter()
    .flatten()
    .collect();
    alarms.extend(look.sensors());
    alarms.sort_by(|a, b| b.weight.cmp(&a.weight).then(a.kind.cmp(&b.kind)));
    alarms
}

fn gravity(plato: f64, units: Units) -> String {
    show(Gravity::from_plato(plato), units)
}

fn temperature(c: f64, units: Units) -> String {
    show(Temperature::from_c(c), units)
}

/// Points of specific gravity, near enough for words: four a degree Plato.
fn points(plato: f64) -> String {
    format!("{:.1} points", 4.0 * plato)
}

/// How it fell over the last hours.
fn fell(window_h: f64, fall: f64, sd: f64) -> Told {
    let (fall, sd) = (points(fall), points(sd));
    format!("over the last {window_h:.0} h it fell {fall} ± {sd} a day").into()
}

impl Look<'_> {
    fn now_c(&self) -> f64 {
        self.fitted.temperatures.at(self.fitted.now_h)
    }

    /// Median of what is done \[–\].
    fn progress(&self) -> f64 {
        median(self.now.progress.clone())
    }

    fn ph_now(&self) -> Option<(f64, f64)> {
        self.fitted.clean.ph.last().copied()
    }

    fn lag(&self) -> Option<Alarm> {
        let (a, now_h) = (self.a, self.fitted.now_h);
        let last_h = self.fitted.clean.last_h()?;
        if last_h < a.lag_at_least_h {
            return None;
        }
        let unmoved = self
            .now
            .progress
            .iter()
            .filter(|p| **p < a.lag_share)
            .count();
        if (unmoved as f64) < 0.9 * self.now.progress.len() as f64 {
            return None;
        }
        let latest_h = self.latest_start_h();
        if last_h < latest_h {
            return None;
        }
        let mut evidence = vec![
            Told::from(format!(
                "{last_h:.0} h after pitching {} of the fall is done",
                percent(self.progress())
            )),
            format!("by {latest_h:.0} h it should have begun, nine times in ten").into(),
            Told::of(|units| format!("the beer is at {}", temperature(self.now_c(), units))),
        ];
        let open = self
            .ph_now()
            .filter(|(t, ph)| *t > a.ph_too_long_h / 2.0 && *ph > a.ph_still_high);
        if let Some((t, ph)) = open {
            let told = format!(
                "pH {ph:.1} at {t:.0} h: above {:.1} other microbes grow",
                a.ph_still_high
            );
            evidence.push(told.into());
        }
        let late = now_h > a.ph_too_long_h || open.is_some();
        Some(Alarm {
            kind: AlarmKind::LongLag,
            weight: if late { Weight::Act } else { Weight::Look },
            what: "The fermentation does not start.".to_owned(),
            evidence,
            advice: vec![
                "Measure the gravity with a second instrument: a lid of foam is no proof and a still airlock none either.",
                "Bring the beer to the upper half of the range of its yeast and rouse it gently.",
                "Without a fall two days after pitching, pitch fresh, active yeast; wort that stands at a pH above 4.8 spoils.",
            ],
        })
    }

    /// When a twentieth should be gone, nine times in ten, at the temperatures that were;
    /// however unsure that is, not later than practice bears.
    fn latest_start_h(&self) -> f64 {
        let priors = self.fitted.watching.expectation.priors();
        let mut stream = Stream::seeded(11);
        let mut times: Vec<f64> = (0..EXPECTED_DRAWS)
            .map(|_| {
                let z: Vec<f64> = priors.iter().map(|_: &Prior| stream.normal()).collect();
                let (curve, energy) = self.fitted.problem.curve(&z);
                let tau = curve.draw().tau_at(1.0 - self.a.lag_share);
                let ticks = self.fitted.problem.clock.at(energy);
                ticks
                    .when(tau.max(0.0), 0.0..self.fitted.until_h)
                    .unwrap_or(self.fitted.until_h)
            })
            .collect();
        times.sort_by(f64::total_cmp);
        quantile(&times, 0.9).clamp(self.a.lag_at_least_h, self.a.lag_at_most_h)
    }

    fn stall(&self) -> Option<Alarm> {
        let a = self.a;
        let (fall, sd) = finish::fall(self.fitted, a.stall_window_h)?;
        let end = self.fitted.watching.expectation.end();
        let here = median(self.now.gravity.clone());
        let gap = here - end.value.plato();
        let begun = self
            .fitted
            .problem
            .value(&vec![0.0; self.fitted.problem.size()], 0)
            - here
            > 0.5;
        if !begun
            || fall > a.stall_plato_per_day
            || gap < a.stall_gap_plato + ONE_IN_TWENTY * end.sd()
        {
            return None;
        }
        let (now_h, strain) = (self.fitted.now_h, &self.fitted.watching.expectation.strain);
        let earlier = self.fitted.temperatures.at((now_h - 48.0).max(0.0));
        let dropped_k = earlier - self.now_c();
        let cold = self.now_c() < strain.working.low.c() || dropped_k > 2.5;
        let mut evidence = vec![
            fell(a.stall_window_h, fall, sd),
            Told::of(|units| {
                format!(
                    "it stands at {}, and {} ± {} was expected",
                    gravity(here, units),
                    gravity(end.value.plato(), units),
                    points(end.sd())
                )
            }),
            Told::of(|units| {
                format!(
                    "the beer is at {}, {} two days before",
                    temperature(self.now_c(), units),
                    temperature(earlier, units)
                )
            }),
        ];
        if self.fitted.watching.expectation.forced {
            evidence.push("the forced sample went further, so the wort can".into());
        }
        Some(Alarm {
            kind: AlarmKind::Stalled,
            weight: Weight::Act,
            what: "The fermentation stands still above its end.".to_owned(),
            evidence,
            advice: self.ways_on(
                cold,
                strain.flocculation,
                strain.maltotriose,
                strain.diastatic,
            ),
        })
    }

    fn ways_on(
        &self,
        cold: bool,
        drops: Flocculation,
        maltotriose: MaltotrioseUse,
        diastatic: bool,
    ) -> Vec<&'static str> {
        let mut ways = Vec::new();
        if cold {
            ways.push(
                "It became cold before: bring it back to the working range and rouse the yeast.",
            );
        }
        let done =
            1.0 - median(self.now.gravity.clone()) / self.fitted.watching.expectation.original.mean;
        if (0.45..0.65).contains(&done) && (diastatic || maltotriose != MaltotrioseUse::Good) {
            ways.push("A pause at half to two thirds is known of this yeast: keep it at the warm end for some days.");
        }
        if drops >= Flocculation::High {
            ways.push("This yeast drops early: rouse it without letting air in.");
        }
        ways.push("Ferment a sample to its end with much yeast in the warm: if it ends where the beer is, the wort has no more to give.");
        ways.push("If the sample goes further, pitch active yeast at high foam, one to two million cells a millilitre and °P.");
        ways.push("Do not bottle it: what is left can burst glass.");
        ways
    }

    fn warmth(&self) -> Option<Alarm> {
        let working = &self.fitted.watching.expectation.strain.working;
        let limit_c = working.high.c() + self.a.warm_margin_k;
        let mut hot = self
            .fitted
            .clean
            .temperatures
            .iter()
            .filter(|(t, c)| *c > limit_c && self.done_at(*t) < 0.8);
        let first = hot.next()?;
        let (mut most_c, mut last_h, mut count) = (first.1, first.0, 1);
        for (t, c) in hot {
            most_c = most_c.max(*c);
            last_h = *t;
            count += 1;
        }
        let still = self.now_c() > limit_c && self.progress() < 0.8;
        // One warm reading may be a hand on the probe.
        if count < 2 && !still {
            return None;
        }
        Some(Alarm {
            kind: AlarmKind::TooWarm,
            weight: if still && most_c > limit_c + 2.0 {
                Weight::Act
            } else {
                Weight::Look
            },
            what: if still {
                "The beer is too warm for its yeast."
            } else {
                "The beer was too warm for its yeast."
            }
            .to_owned(),
            evidence: vec![
                Told::of(|units| {
                    format!(
                        "up to {}, and the yeast works up to {}",
                        temperature(most_c, units),
                        show(working.high, units)
                    )
                }),
                Told::from(format!(
                    "between {:.0} h and {last_h:.0} h after pitching, with {} to {} done",
                    first.0,
                    percent(self.done_at(first.0)),
                    percent(self.done_at(last_h))
                )),
            ],
            advice: vec![
                "Cool gently, one or two kelvin (2 to 4 °F) in half a day: a shock stops the yeast.",
                "Expect more fusel alcohol and esters from what fermented warm; they do not go away.",
            ],
        })
    }

    fn done_at(&self, t_h: f64) -> f64 {
        let Some(mode) = self.fitted.fit.modes.first() else {
            return 0.0;
        };
        let (curve, energy) = self.fitted.problem.curve(&mode.z);
        1.0 - curve
            .draw()
            .at(self.fitted.problem.clock.at(energy).read(t_h).0)
            .left
    }

    fn cooling(&self) -> Option<Alarm> {
        let (now_h, until_h) = (self.fitted.now_h, self.fitted.until_h);
        let working = &self.fitted.watching.expectation.strain.working;
        let cold_c = working.low.c() - self.a.cold_margin_k;
        let last_h = self.fitted.clean.last_h()?;
        let is_cold = |t: f64| self.fitted.temperatures.at(t) < cold_c;
        let hours = (0..=(until_h as usize)).map(|h| h as f64);
        let at_h = hours.clone().find(|t| is_cold(*t))?;
        let left = 1.0 - finish::chance_of_little_left(self.fitted, at_h);
        // What is done about a course that has ended since is nothing.
        let now_left = 1.0 - finish::chance_of_little_left(self.fitted, now_h.max(at_h));
        if left < 0.5 || now_left < 0.5 || self.progress() < self.a.lag_share || last_h < 1.0 {
            return None;
        }
        let done = at_h <= now_h;
        Some(Alarm {
            kind: AlarmKind::CoolingEarly,
            weight: if done { Weight::Act } else { Weight::Look },
            what: if done {
                "The beer was cooled before it had finished."
            } else {
                "The plan cools the beer before it will have finished."
            }
            .to_owned(),
            evidence: vec![
                Told::of(|units| {
                    format!(
                        "below {} from {at_h:.0} h on; the yeast works from {}",
                        temperature(cold_c, units),
                        show(working.low, units)
                    )
                }),
                Told::from(format!(
                    "then more than a point is left with a chance of {}",
                    percent(left)
                )),
                Told::from(format!(
                    "{} of the fall is done at that time",
                    percent(self.done_at(at_h))
                )),
            ],
            advice: vec![
                "Keep it warm until the gravity stands still for two days (three in the cool).",
                "Flat while cold is not finished: it may go on in the bottle.",
            ],
        })
    }

    fn creep(&self) -> Option<Alarm> {
        let a = self.a;
        let (fall, sd) = finish::fall(self.fitted, a.creep_window_h)?;
        if fall < a.creep_least_plato_per_day || fall - ONE_IN_TWENTY * sd < 0.0 {
            return None;
        }
        let e = self.fitted.watching.expectation;
        let end = e.end();
        let here = median(self.now.gravity.clone());
        let below = end.value.plato() - here;
        if below < 0.25 + ONE_IN_TWENTY * end.sd() {
            return None;
        }
        let mut evidence = vec![
            fell(a.creep_window_h, fall, sd),
            Told::of(|units| {
                format!(
                    "it is at {}, {} below the {} that was expected",
                    gravity(here, units),
                    points(below),
                    gravity(end.value.plato(), units)
                )
            }),
        ];
        if e.forced {
            evidence.push("a clean yeast cannot go below the forced sample".into());
        }
        let sour = self.ph_now().is_some_and(|(_, ph)| ph < a.ph_sour);
        if let Some((_, ph)) = self.ph_now() {
            let told = format!(
                "the pH is {ph:.1}{}",
                if sour {
                    ", that of a soured beer"
                } else {
                    ", no souring"
                }
            );
            evidence.push(told.into());
        }
        let usual = e.strain.diastatic;
        Some(Alarm {
            kind: AlarmKind::StillDropping,
            weight: if usual { Weight::Look } else { Weight::Act },
            what: if usual {
                "It falls on slowly, as yeast does that splits dextrins."
            } else {
                "It falls on when it should not."
            }
            .to_owned(),
            evidence,
            advice: if usual {
                vec![
                    "Package only where a forced sample and the beer agree, in bottles that bear the pressure.",
                ]
            } else {
                vec![
                    "A yeast that splits dextrins, or another wild one, may be in it: ferment a forced sample for a week, and plate it on a medium with dextrin or copper if you can.",
                    "Do not bottle it: two or three points of hidden fall are dangerous.",
                    "Keep what touched it apart, and clean by heat.",
                ]
            },
        })
    }

    fn acidity(&self) -> Option<Alarm> {
        let (t, ph) = self.ph_now()?;
        let a = self.a;
        if ph < a.ph_sour {
            return Some(Alarm {
                kind: AlarmKind::Acidity,
                weight: Weight::Look,
                what: "The beer is sour for a clean fermentation.".to_owned(),
                evidence: vec![Told::from(format!(
                    "pH {ph:.2} at {t:.0} h; 4.0 to 4.5 is usual, below {:.1} is lactic",
                    a.ph_sour
                ))],
                advice: vec![
                    "Check the meter in two buffers first.",
                    "If it is true, lactic bacteria are the likely cause: taste, and plate a sample without air.",
                ],
            });
        }
        // It rises again a little in the cold on the yeast.
        let high = t >= a.ph_too_long_h && ph > a.ph_still_high && self.progress() < 0.8;
        high.then(|| Alarm {
            kind: AlarmKind::Acidity,
            weight: Weight::Look,
            what: "The pH does not fall.".to_owned(),
            evidence: vec![Told::from(format!("pH {ph:.2} at {t:.0} h; a healthy start is below 4.6 within two days"))],
            advice: vec![
                "Check the meter in two buffers first.",
                "A pH above 4.8 after two days leaves the beer open to spoilage: pitch active yeast.",
            ],
        })
    }

    fn sensors(&self) -> Vec<Alarm> {
        let named = self.fitted.watching.log.instruments.iter().enumerate();
        named
            .filter(|(_, (_, kind))| matches!(kind, Instrument::Float | Instrument::Inline))
            .filter_map(|(i, (name, _))| {
                let own: Vec<(f64, f64)> = self
                    .fitted
                    .clean
                    .raw
                    .iter()
                    .filter(|r| r.2 == i)
                    .map(|r| (r.0, r.1))
                    .collect();
                self.dead(name, &own).or_else(|| self.lifted(name, &own))
            })
            .collect()
    }

    /// The same number while the curve moved.
    fn dead(&self, name: &str, own: &[(f64, f64)]) -> Option<Alarm> {
        let (last_h, last) = *own.last()?;
        let same = own
            .iter()
            .rev()
            .take_while(|(_, p)| (p - last).abs() < 1e-9)
            .count();
        let from_h = own.get(own.len() - same)?.0;
        let moved = (self.done_at(last_h) - self.done_at(from_h))
            * self.fitted.watching.expectation.original.mean
            * 0.8;
        (same >= 6 && last_h - from_h >= self.a.dead_sensor_h && moved > self.a.rise_plato).then(
            || Alarm {
                kind: AlarmKind::Sensor,
                weight: Weight::Act,
                what: format!("{name} may be stuck."),
                evidence: vec![
                    Told::of(|units| {
                        format!(
                            "{same} readings of {} in a row, over {:.0} h",
                            gravity(last, units),
                            last_h - from_h
                        )
                    }),
                    Told::from(format!("the curve falls {} in that time", points(moved))),
                ],
                advice: vec![
                    "Take a sample and measure it by hand; free the sensor or change its battery.",
                ],
            },
        )
    }

    /// Gravity that rises: beer does not.
    fn lifted(&self, name: &str, own: &[(f64, f64)]) -> Option<Alarm> {
        let (last_h, _) = *own.last()?;
        let recent: Vec<f64> = own
            .iter()
            .filter(|(t, _)| *t > last_h - 6.0)
            .map(|r| r.1)
            .collect();
        let before: Vec<f64> = own
            .iter()
            .filter(|(t, _)| (last_h - 24.0..=last_h - 8.0).contains(t))
            .map(|r| r.1)
            .collect();
        if recent.len() < 3 || before.len() < 3 {
            return None;
        }
        let rise = median(recent) - median(before);
        (rise > self.a.rise_plato).then(|| Alarm {
            kind: AlarmKind::Sensor,
            weight: Weight::Look,
            what: format!("{name} reads higher than before."),
            evidence: vec![Told::from(format!("{} more over the last 6 h than 8 to 24 h before; gravity cannot rise", points(rise)))],
            advice: vec!["Foam or yeast on the sensor lifts it: rock the vessel gently, or measure a sample by hand. Its readings count for less meanwhile."],
        })
    }
}

fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}
