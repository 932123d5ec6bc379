//! What one batch teaches: its readings, with what its own plan said taken out.

use ferment::FermentError;
use ferment::watch::Learned;
use quantity::{Measured, Quantity, Units, show_measured};
use wort::correct::{Told, Update};

use super::constant::Constant;
use super::hierarchy::read_alone;
use crate::document::Document;
use crate::log::LogReading;
use crate::plan::ferment_plan;
use crate::stream::Reckoning;
use crate::watch::{Moments, Watched};

/// What one batch teaches.
#[derive(Debug, Clone)]
pub struct Taught {
    /// Its identifier in the store, or its place.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// The document: which water, kit and yeast it shares.
    pub document: Box<Document>,
    /// What its readings say of constants.
    pub evidence: Vec<Evidence>,
    /// What was planned and what came.
    pub came: Vec<Came>,
    /// Whether a fermentation could not be watched, and why.
    pub unread: Option<String>,
}

/// What the readings of a batch say of a constant, on its scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Which.
    pub constant: Constant,
    /// Of which instrument.
    pub of: Option<String>,
    /// The number; of the losses, in litres.
    pub value: f64,
    /// What the readings leave open.
    pub sd: f64,
    /// Kettle hops \[kg\]: what they keep is a part of the losses.
    pub hops_kg: f64,
}

impl Evidence {
    /// What the readings of a brew day say of its kit.
    #[must_use]
    pub fn of_day(told: &Told) -> Vec<Self> {
        let mash = [
            (Constant::Conversion, both(&told.conversion)),
            (Constant::IntoKettle, both(&told.into_kettle)),
            (Constant::Absorption, both(&told.absorption)),
        ];
        let boil = [
            (Constant::Evaporation, both(&told.evaporation)),
            (Constant::Losses, both(&told.losses)),
        ];
        let mashed = mash.into_iter().filter(|_| told.grain.kg() > 0.0);
        let heard = |(constant, (was, is)): (Constant, _)| {
            let on = |x| constant.scale().of(x);
            let (value, sd) = read_alone(on(was)?, on(is)?)?;
            Some(Self {
                constant,
                of: None,
                value,
                sd,
                hops_kg: told.kettle_hops.kg(),
            })
        };
        mashed.chain(boil).filter_map(heard).collect()
    }
}

/// A figure of a plan, and what came.
#[derive(Debug, Clone, PartialEq)]
pub struct Came {
    /// Which figure.
    pub what: &'static str,
    /// As planned: number and standard deviation in canonical units.
    pub planned: (f64, f64),
    /// By the readings alone.
    pub came: (f64, f64),
    /// Both in words.
    pub words: [String; 2],
}

impl Came {
    /// Where it came out in what the plan said: the share of the forecast below it
    /// \[0 to 1\], the reading's own error counted in.
    #[must_use]
    pub fn place(&self) -> f64 {
        let spread = self.planned.1.hypot(self.came.1).max(f64::MIN_POSITIVE);
        quantity::numeric::normal_below((self.came.0 - self.planned.0) / spread)
    }
}

impl Taught {
    /// What a batch teaches by its brew day and by what its instruments said.
    #[must_use]
    pub fn of(id: &str, r: &Reckoning, readings: &[LogReading]) -> Self {
        let mut taught = Self {
            id: id.to_owned(),
            name: r.document.batch.name.clone(),
            document: Box::new(r.document.clone()),
            evidence: Vec::new(),
            came: Vec::new(),
            unread: None,
        };
        if let Some(told) = r.day.as_ref().and_then(|day| day.stands.told.as_ref()) {
            taught.brew_day(told);
        }
        taught.tun(r);
        if !readings.is_empty()
            && let Err(error) = taught.fermentation(r, readings)
        {
            taught.unread = Some(error.to_string());
        }
        taught
    }

    /// Whether it says anything.
    #[must_use]
    pub fn says_something(&self) -> bool {
        !self.evidence.is_empty() || !self.came.is_empty()
    }

    /// What thermometer readings of the mash say of the tun, by themselves.
    fn tun(&mut self, r: &Reckoning) {
        let found = r.mash.tun_loss.as_ref().and_then(|l| l.time_constant);
        let read = found.and_then(|m| Constant::Tun.scale().of(pair(&m)));
        self.evidence.extend(read.map(|(value, sd)| Evidence {
            constant: Constant::Tun,
            of: None,
            value,
            sd,
            hops_kg: 0.0,
        }));
    }

    fn brew_day(&mut self, told: &Told) {
        self.evidence.extend(Evidence::of_day(told));
        self.came("wort in the full kettle", &told.kettle_full);
        self.came("wort in the fermenter", &told.volume);
        self.came("original gravity", &told.original_gravity);
    }

    fn came<Q: Quantity>(&mut self, what: &'static str, update: &Update<Q>) {
        let (open, found) = both(update);
        let Some(came) = read_alone(open, found) else {
            return;
        };
        let planned = pair(&update.planned);
        self.came.push(Came {
            what,
            planned,
            came,
            words: [planned, came].map(|(value, sd)| {
                show_measured(
                    &Measured::with_sd(Q::from_canonical(value), sd),
                    Units::Metric,
                )
            }),
        });
    }

    fn fermentation(&mut self, r: &Reckoning, readings: &[LogReading]) -> Result<(), FermentError> {
        let watched = Watched::of(r, readings, Moments::default())?;
        // One instrument alone is as far off as is usual for its kind: only where two
        // disagree do readings tell which.
        let reading = watched.course.instruments.iter();
        let reading: Vec<_> = reading.filter(|i| i.readings > 0).collect();
        if reading.len() > 1 {
            for one in reading {
                let read = read_alone((0.0, one.usual_bias_plato), one.bias_plato);
                self.evidence.extend(read.map(|(value, sd)| Evidence {
                    constant: Constant::Off,
                    of: Some(one.name.clone()),
                    value,
                    sd,
                    hops_kg: 0.0,
                }));
            }
        }
        if let Some(learned) = &watched.course.learned {
            self.yeast(r, learned)?;
        }
        Ok(())
    }

    fn yeast(&mut self, r: &Reckoning, learned: &Learned) -> Result<(), FermentError> {
        let plan = ferment_plan(&r.document, &r.boil.wort)?;
        let (expected, found) = (
            pair(&learned.attenuation_expected),
            pair(&learned.attenuation),
        );
        if let Some((value, sd)) = read_alone(expected, found) {
            // A wort that ferments further says nothing of the yeast: what is learned is
            // what it does to a standard wort.
            let standard = plan.strain.attenuation.value.ratio() / expected.0.max(1e-6);
            self.evidence.push(Evidence {
                constant: Constant::Attenuation,
                of: None,
                value: value * standard,
                sd: sd * standard,
                hops_kg: 0.0,
            });
            let words = |(value, sd): (f64, f64)| {
                let share = quantity::Fraction::from_ratio(value);
                show_measured(&Measured::with_sd(share, sd), Units::Metric)
            };
            self.came.push(Came {
                what: "apparent attenuation",
                planned: expected,
                came: (value, sd),
                words: [words(expected), words((value, sd))],
            });
        }
        let (before, after) = (learned.ln_speed_expected, learned.ln_speed);
        if let Some((value, sd)) = read_alone(before, after) {
            self.evidence.push(Evidence {
                constant: Constant::Speed,
                of: None,
                value: value + plan.habits.speed.max(1e-6).ln(),
                sd,
                hops_kg: 0.0,
            });
            let words = |(ln, sd): (f64, f64)| {
                format!("{:.2} ± {:.2} times the planned", ln.exp(), ln.exp() * sd)
            };
            self.came.push(Came {
                what: "speed to half of the fall",
                planned: before,
                came: (value, sd),
                words: [words(before), words((value, sd))],
            });
        }
        Ok(())
    }
}

/// Before and after, in canonical units.
fn both<Q: Quantity>(update: &Update<Q>) -> ((f64, f64), (f64, f64)) {
    (pair(&update.open), pair(&update.found))
}

fn pair<Q: Quantity>(m: &Measured<Q>) -> (f64, f64) {
    (m.canonical(), m.sd())
}
