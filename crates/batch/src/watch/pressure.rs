//! The pressure of a fermenter: what is dissolved at it, whether it rises and what that says
//! of the fermentation, and what the vessel bears.
//!
//! CO₂ in the beer and above it are taken to be in balance (Henry's law, as in `package`);
//! beer that works holds more than that, so that a rise lags behind what ferments. The gas is
//! taken to be CO₂ and water vapour alone.

use ferment::watch::{Alarm, AlarmKind, Course, Verdict};
use package::{Fill, Fit, carbon_dioxide_to_come, final_pressure, held_at};
use quantity::{
    Altitude, CarbonDioxide, Caution, Duration, GaugePressure, Gravity, Note, Temperature, Told,
    Volume, Weight, show,
};

use super::readings::TakenReading;
use super::words::{points_and_sd, points_words};
use crate::document::Document;
use crate::log::What;

/// Hours of readings that a rise is taken from, how many it needs, and over how long.
const WINDOW_H: f64 = 24.0;
const FEWEST: usize = 4;
const SPANNED_H: f64 = 8.0;
/// Standard deviation of one reading of a small gauge \[bar\] (judgement).
const GAUGE_BAR: f64 = 0.02;
/// As near as this to where the valve opens, it lets gas out \[bar\] (judgement).
const AT_VALVE_BAR: f64 = 0.05;
/// Share of the rating from which on the pressure is said to be near it (judgement).
const NEAR: f64 = 0.8;
/// Room above the beer where nobody says, as a share of the beer (judgement).
const HEAD_SHARE: f64 = 0.1;
/// A temperature this near in time is that of the pressure \[h\].
const TOGETHER_H: f64 = 2.0;
/// Standard normal deviate of one chance in twenty.
const ONE_IN_TWENTY: f64 = 1.645;
/// A fall of less than this is no fermentation to speak of \[°P a day\]: a fifth of a point.
const LEAST_PLATO_PER_DAY: f64 = 0.05;

/// The pressure of a fermenter.
#[derive(Debug, Clone, PartialEq)]
pub struct Pressure {
    /// When it was read last, since pitching.
    pub at: Duration,
    /// What it was.
    pub read: GaugePressure,
    /// The temperature of the beer then.
    pub temperature: Temperature,
    /// CO₂ that is dissolved in balance with it.
    pub dissolved: CarbonDioxide,
    /// What the vessel is rated for.
    pub rating: Option<GaugePressure>,
    /// Where its valve opens.
    pub relief: Option<GaugePressure>,
    /// Whether the valve lets gas out, so that the pressure says nothing of what ferments.
    pub at_valve: bool,
    /// How fast it rises over the last day \[bar a day\]: value and standard deviation.
    pub rise_bar_per_day: Option<(f64, f64)>,
    /// How fast the gravity falls by the gas that came \[°P a day\]: value and standard
    /// deviation; none where the valve lets gas out.
    pub fall_plato_per_day: Option<(f64, f64)>,
    /// The pressure once all that may be left has fermented in the closed vessel.
    pub to_come: Option<GaugePressure>,
    /// All that was read, by the time since pitching.
    pub readings: Vec<(Duration, GaugePressure)>,
    /// What to know about it.
    pub notes: Vec<Note>,
}

/// What is the same through the readings.
struct Vessel {
    fill: Fill,
    altitude: Altitude,
}

impl Pressure {
    /// None where no pressure was read.
    pub(super) fn of(document: &Document, taken: &[TakenReading], course: &Course) -> Option<Self> {
        let plan = &document.fermentation;
        let read: Vec<(f64, GaugePressure, Temperature)> = taken
            .iter()
            .filter(|t| t.what == What::Pressure && t.fate.why().is_none())
            .map(|t| {
                let bar = GaugePressure::from_bar(t.canonical);
                (t.at.h(), bar, temperature_at(t.at.h(), taken, course))
            })
            .collect();
        let (last_h, last, temperature) = *read.last()?;
        let beer = document.batch.volume.value;
        let head = plan.head_space.map(|h| h.value);
        let head_space = head.unwrap_or(Volume::from_l(HEAD_SHARE * beer.l()));
        let vessel = Vessel {
            fill: Fill {
                beer,
                head_space,
                purged: true,
            },
            altitude: document.kit.altitude.value,
        };
        let dissolved = Fit::Henry
            .dissolved(temperature, last, vessel.altitude)
            .ok()?;
        let [rating, relief] = [plan.rating, plan.relief].map(|p| p.map(|p| p.value));
        let recent: Vec<_> = read
            .iter()
            .filter(|(h, ..)| *h >= last_h - WINDOW_H)
            .copied()
            .collect();
        let open = |p: GaugePressure| relief.is_some_and(|r| p.bar() >= r.bar() - AT_VALVE_BAR);
        let at_valve = recent.iter().any(|(_, p, _)| open(*p));
        let rise = slope(recent.iter().map(|(h, p, _)| (*h, p.bar())), GAUGE_BAR);
        let fall = (!at_valve).then(|| vessel.fall(&recent, course)).flatten();
        let mut notes = vec![Note::look(Self::caution())];
        if rating.is_none() {
            notes.push(Note::look(
                "nobody said what pressure the fermenter is rated for: write it as fermentation.rating; a glass or plastic vessel bears none",
            ));
        }
        if head.is_none() {
            notes.push(Note::look(format!(
                "the room above the beer is taken as {}, a tenth of the beer (judgement); fermentation.head_space says it",
                show(head_space, quantity::Units::Metric)
            )));
        }
        Some(Self {
            at: Duration::from_h(last_h),
            read: last,
            temperature,
            dissolved,
            to_come: vessel.to_come(last, temperature, course),
            rating,
            relief,
            at_valve,
            rise_bar_per_day: rise,
            fall_plato_per_day: fall,
            readings: read
                .iter()
                .map(|(h, p, _)| (Duration::from_h(*h), *p))
                .collect(),
            notes,
        })
    }

    /// What can hurt, as its row has it.
    #[must_use]
    pub fn caution() -> &'static str {
        Caution::KegPressure.text().text.as_str()
    }

    /// Whether gas comes for certain: nineteen times in twenty more than would be noise.
    #[must_use]
    pub fn ferments(&self) -> bool {
        self.fall_plato_per_day
            .is_some_and(|(mean, sd)| mean - ONE_IN_TWENTY * sd > LEAST_PLATO_PER_DAY)
    }

    /// What is wrong, for the alarms of the course.
    pub(super) fn alarms(&self, finish: Verdict) -> Vec<Alarm> {
        let over = self.over();
        let rises = (self.ferments() && seemed_done(finish)).then(|| Alarm {
            kind: AlarmKind::PressureRises,
            weight: Weight::Act,
            what: "The pressure rises though the gravity seemed to stand still.".to_owned(),
            evidence: self.evidence(),
            advice: vec![
                "Something still ferments: do not bottle. Read the gravity with another instrument and ferment a sample to its end.",
                "Keep a way out for the gas; let no closed vessel come near what it is rated for.",
                Self::caution(),
            ],
        });
        over.into_iter().chain(rises).collect()
    }

    /// Near or above what the vessel bears, or on the way there.
    fn over(&self) -> Option<Alarm> {
        let rating = self.rating?;
        let valve = self.relief.filter(|r| r.bar() <= rating.bar());
        let (weight, what) = if self.read.bar() >= rating.bar() {
            (
                Weight::Act,
                "The pressure is above what the fermenter is rated for.",
            )
        } else if self.relief.is_some_and(|r| r.bar() > rating.bar()) {
            (
                Weight::Act,
                "The valve of the fermenter opens above what the fermenter is rated for.",
            )
        } else if self.read.bar() >= NEAR * rating.bar() {
            (
                Weight::Look,
                "The pressure is near what the fermenter is rated for.",
            )
        } else if valve.is_none() && self.to_come.is_some_and(|p| p.bar() >= rating.bar()) {
            (
                Weight::Act,
                "What may be left to ferment would take the closed fermenter above what it is rated for.",
            )
        } else {
            return None;
        };
        Some(Alarm {
            kind: AlarmKind::Pressure,
            weight,
            what: what.to_owned(),
            evidence: self.evidence(),
            advice: vec![
                "Let gas out slowly, by a valve made for it, from a distance and with the eyes covered; foam comes with it.",
                "Cool the beer: the colder it is, the more it holds and the lower the pressure.",
                Self::caution(),
            ],
        })
    }

    fn evidence(&self) -> Vec<Told> {
        let (read, at_h, warm) = (self.read, self.at.h(), self.temperature);
        let mut evidence = vec![Told::of(|units| {
            format!(
                "{} at {at_h:.0} h, the beer at {}",
                show(read, units),
                show(warm, units)
            )
        })];
        if let Some(rating) = self.rating {
            evidence.push(Told::of(|units| {
                format!("the vessel is rated for {}", show(rating, units))
            }));
        }
        if let Some(relief) = self.relief {
            evidence.push(Told::of(|units| {
                format!("its valve opens at {}", show(relief, units))
            }));
        }
        if let Some(to_come) = self.to_come {
            evidence.push(Told::of(|units| {
                format!(
                    "closed, it would come to {} if all ferments that may be left",
                    show(to_come, units)
                )
            }));
        }
        if let Some(fall) = self.fall_plato_per_day {
            evidence.push(
                format!(
                    "the gas that came is that of a fall of {} a day",
                    points_and_sd(fall)
                )
                .into(),
            );
        }
        evidence
    }

    /// In sentences.
    #[must_use]
    pub fn words(&self, units: quantity::Units) -> Vec<String> {
        let mut said = vec![format!(
            "{} after pitching the fermenter stood at {}, at {}; in balance with it {} are dissolved.",
            show(self.at, units),
            show(self.read, units),
            show(self.temperature, units),
            show(self.dissolved, units)
        )];
        said.push(match (self.at_valve, self.fall_plato_per_day) {
            (true, _) => {
                "The valve lets gas out, so that the pressure says nothing of what ferments."
                    .to_owned()
            }
            (_, None) => {
                "There are too few readings of the last day to say whether it rises.".to_owned()
            }
            (_, Some(fall)) if self.ferments() => format!(
                "It rises: by the gas that came the gravity falls {} a day.",
                points_and_sd(fall)
            ),
            (_, Some((_, sd))) => format!(
                "It does not rise for certain; a fall of up to {} a day would not show.",
                points_words(ONE_IN_TWENTY * sd)
            ),
        });
        if let (Some(to_come), false) = (self.to_come, self.at_valve) {
            said.push(format!(
                "Were it closed, all that may be left would bring it to {}.",
                show(to_come, units)
            ));
        }
        said
    }
}

/// Whether the gravity alone was taken for an end.
pub(super) const fn seemed_done(verdict: Verdict) -> bool {
    matches!(
        verdict,
        Verdict::Finished | Verdict::FlatButNotDone | Verdict::FlatButCold
    )
}

impl Vessel {
    fn held(&self, pressure: GaugePressure, at: Temperature) -> Option<f64> {
        let held = held_at(pressure, &self.fill, at, self.altitude);
        held.ok().map(CarbonDioxide::g_per_l)
    }

    /// How fast the apparent extract falls by the gas that came \[°P a day\].
    fn fall(
        &self,
        recent: &[(f64, GaugePressure, Temperature)],
        course: &Course,
    ) -> Option<(f64, f64)> {
        let held: Vec<(f64, f64)> = recent
            .iter()
            .filter_map(|(h, p, t)| Some((*h, self.held(*p, *t)?)))
            .collect();
        let (_, pressure, at) = recent.last()?;
        let more = GaugePressure::from_bar(pressure.bar() + GAUGE_BAR);
        let noise = self.held(more, *at)? - self.held(*pressure, *at)?;
        let (rise, sd) = slope(held.into_iter(), noise)?;
        let of_one = carbon_dioxide_to_come(Gravity::from_plato(1.0), course.gravity.middle);
        let g_per_plato = of_one.ok()?.g_per_l();
        Some((rise / g_per_plato, sd / g_per_plato))
    }

    /// The pressure once all that may be left has fermented, closed from now on.
    fn to_come(
        &self,
        now: GaugePressure,
        at: Temperature,
        course: &Course,
    ) -> Option<GaugePressure> {
        let left = course.gravity.middle.plato() - course.end.low.plato();
        let left = Gravity::from_plato(left.max(0.0));
        let made = carbon_dioxide_to_come(left, course.gravity.middle).ok()?;
        let held = CarbonDioxide::from_g_per_l(self.held(now, at)? + made.g_per_l());
        final_pressure(held, &self.fill, at, at, self.altitude).ok()
    }
}

/// The temperature of the beer at a time: read near it, or as the course has it.
fn temperature_at(at_h: f64, taken: &[TakenReading], course: &Course) -> Temperature {
    let apart = |t: &&TakenReading| (t.at.h() - at_h).abs();
    let read = taken
        .iter()
        .filter(|t| t.what == What::Temperature && t.fate.why().is_none())
        .min_by(|a, b| apart(a).total_cmp(&apart(b)))
        .filter(|t| apart(t) <= TOGETHER_H);
    if let Some(read) = read {
        return Temperature::from_c(read.canonical);
    }
    let near = course.forecast.iter().min_by(|a, b| {
        let off = |f: &&ferment::watch::Forecast| (f.at.h() - at_h).abs();
        off(a).total_cmp(&off(b))
    });
    near.map_or(Temperature::from_c(20.0), |f| f.temperature)
}

/// The slope of a straight line by least squares \[a day\], with its standard deviation: of
/// what is off the line, and no less than the noise of a reading gives. None where there are
/// too few readings, or over too short a time.
fn slope(read: impl Iterator<Item = (f64, f64)>, noise: f64) -> Option<(f64, f64)> {
    let read: Vec<(f64, f64)> = read.map(|(h, x)| (h / 24.0, x)).collect();
    let n = read.len() as f64;
    let (first, last) = (read.first()?.0, read.last()?.0);
    if read.len() < FEWEST || (last - first) * 24.0 < SPANNED_H {
        return None;
    }
    let mean = |of: fn(&(f64, f64)) -> f64| read.iter().map(of).sum::<f64>() / n;
    let (day, value) = (mean(|r| r.0), mean(|r| r.1));
    let spread: f64 = read.iter().map(|r| (r.0 - day).powi(2)).sum();
    let slope = read
        .iter()
        .map(|r| (r.0 - day) * (r.1 - value))
        .sum::<f64>()
        / spread;
    let off = |r: &(f64, f64)| r.1 - value - slope * (r.0 - day);
    let left = read.iter().map(|r| off(r).powi(2)).sum::<f64>() / (n - 2.0);
    let sd = left.sqrt().max(noise) / spread.sqrt();
    (slope.is_finite() && sd.is_finite()).then_some((slope, sd))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_found_again() {
        let line = (0..13).map(|i| (2.0 * f64::from(i), 0.4 + 0.05 * f64::from(i)));
        // 0.05 in two hours is 0.6 a day.
        let (rise, sd) = slope(line, 0.02).unwrap();
        assert!((rise - 0.6).abs() < 1e-9);
        // σ/√Σ(t − t̄)², t in days: Σ = 182·(2/24)².
        let expected = 0.02 / (182.0f64 * (2.0f64 / 24.0).powi(2)).sqrt();
        assert!((sd - expected).abs() < 1e-12, "{sd} {expected}");
        let short = (0..13).map(|i| (0.1 * f64::from(i), 0.4));
        assert_eq!(slope(short, 0.02), None);
        assert_eq!(slope([(0.0, 1.0), (20.0, 2.0)].into_iter(), 0.02), None);
    }
}
