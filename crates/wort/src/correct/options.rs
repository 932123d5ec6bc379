//! What can still be done, each way with what it comes to.

use quantity::{Bitterness, Caution, Colour, Fraction, Gravity, Mass, MassConcentration, Volume};

use super::day::{Change, Done, Point};
use super::estimate::{Estimate, cooled};
use super::follow::{as_done, follow, is_in};
use super::model::Model;
use super::{Day, Reading};
use crate::boil::Boiled;
use crate::error::WortError;
use crate::malts;
use crate::numeric::root;
use crate::plan::HopTime;

/// Longest boil that is proposed beyond the plan \[min\] (judgement).
const LONGEST_MIN: f64 = 120.0;
/// What counts as on the aim: of gravity \[°P\], of volume \[–\], of bitterness \[IBU\],
/// of the limit of attenuation \[–\] (judgement: about what a brewer can read, and
/// taste).
const NEAR_PLATO: f64 = 0.25;
const NEAR_VOLUME: f64 = 0.02;
const NEAR_IBU: f64 = 2.0;
const NEAR_ATTENUATION: f64 = 0.01;
/// What a minute more at the kettle and a kilogram more in it count in the ranking,
/// against one miss by what is near (judgement).
const COST_OF_MINUTE: f64 = 1.0 / 30.0;
const COST_OF_KG: f64 = 1.0;

/// What a wort comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Original gravity.
    pub original_gravity: Gravity,
    /// Volume in the fermenter.
    pub volume: Volume,
    /// Bitterness.
    pub bitterness: Bitterness,
    /// Colour.
    pub colour: Colour,
    /// Dimethyl sulfide in the cold wort.
    pub dms: MassConcentration,
    /// Limit of attenuation, apparent.
    pub attenuation_limit: Fraction,
}

/// Rounds in which the hops that hold a bitterness are found, and how near is near
/// enough \[IBU\].
const ROUNDS: usize = 5;
const HELD_IBU: f64 = 0.05;
const ON_ITS_AIM: &str = "the gravity comes to its aim as it is";

impl Outcome {
    /// What a boil gives.
    #[must_use]
    pub fn of(boiled: &Boiled) -> Self {
        let wort = &boiled.wort;
        Self {
            original_gravity: wort.gravity,
            volume: wort.volume,
            bitterness: wort.bitterness,
            colour: wort.colour,
            dms: wort.traces.dms,
            attenuation_limit: wort.attenuation_limit,
        }
    }
}

/// Hops to come, so that the bitterness is that of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct HopShift {
    /// So many times as much.
    pub times: f64,
    /// Each by its name: planned, and then.
    pub hops: Vec<(String, Mass, Mass)>,
}

/// A way of going on.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// A key: "boil", "malt extract", "sucrose", "dextrose", "dilute", "both", "hops",
    /// "leave".
    pub key: &'static str,
    /// What to do, in words.
    pub text: String,
    /// The changes it is made of.
    pub changes: Vec<Done>,
    /// What the wort comes to; none where it cannot be done.
    pub outcome: Option<(Outcome, Boiled)>,
    /// What it costs and changes, or why it cannot be done.
    pub says: String,
    /// Hops that hold the bitterness; none where none are to come or none need a change.
    pub hops: Option<HopShift>,
    /// Misses of gravity, volume, bitterness and attenuation by what is near, and what
    /// it costs: the less the better.
    pub rank: f64,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// The ways from a point on.
#[derive(Debug, Clone)]
pub struct Options {
    /// What the plan aims at.
    pub aim: Outcome,
    /// What comes if nothing is done.
    pub now: Outcome,
    /// The ways that can be gone, the better first; to leave it is one of them.
    pub ways: Vec<Way>,
    /// Those that cannot, with the reason.
    pub impossible: Vec<Way>,
}

/// What can be done at a point to bring original gravity and volume back to the plan.
///
/// Amounts by conservation of extract and water from where the day stands; each way is
/// boiled to its end. The ranking counts misses and cost by figures that are judgements.
///
/// # Errors
/// As [`stands`](super::stands()).
pub fn options(
    day: &Day<'_>,
    readings: &[Reading],
    done: &[Done],
    at: Point,
    planned: &Boiled,
) -> Result<Options, WortError> {
    super::day::check_done(day.plan, done)?;
    let model = Model::new(day.plan, day.volumes, done);
    let mut notes = Vec::new();
    let read: Vec<_> = readings
        .iter()
        .map(|r| cooled(r, &mut notes))
        .collect::<Result<_, _>>()?;
    let estimate = Estimate::of(&model, &read, day.evaporation_sd);
    let here = Here {
        day,
        done,
        at,
        aim: Outcome::of(planned),
        estimate,
    };
    let now = here.boiled(&[])?;
    let mut ways = vec![here.way("leave", "Leave it as it is.".into(), vec![])];
    ways.extend(here.all());
    let (mut can, impossible): (Vec<Way>, Vec<Way>) =
        ways.into_iter().partition(|way| way.outcome.is_some());
    can.sort_by(|a, b| a.rank.total_cmp(&b.rank));
    Ok(Options {
        now: Outcome::of(&now),
        aim: here.aim,
        ways: can,
        impossible,
    })
}

struct Here<'h> {
    day: &'h Day<'h>,
    done: &'h [Done],
    at: Point,
    aim: Outcome,
    estimate: Estimate,
}

/// Gravity and volume in the fermenter.
#[derive(Clone, Copy)]
struct End {
    plato: f64,
    litres: f64,
}

impl Here<'_> {
    fn with(&self, changes: &[Done]) -> Vec<Done> {
        self.done.iter().chain(changes).cloned().collect()
    }

    fn at(&self, what: Change) -> Done {
        Done { at: self.at, what }
    }

    fn end(&self, changes: &[Done]) -> End {
        let done = self.with(changes);
        let model = Model::new(self.day.plan, self.day.volumes, &done);
        let mix = model.fermenter(&self.estimate.course, true);
        End {
            plato: mix.plato(),
            litres: mix.volume_l(),
        }
    }

    fn boiled(&self, changes: &[Done]) -> Result<Boiled, WortError> {
        let done = self.with(changes);
        super::day::check_done(self.day.plan, &done)?;
        let (day, x) = (self.day, &self.estimate.course);
        let model = Model::new(day.plan, day.volumes, &done);
        follow(day.plan, day.sweet, day.liquor, &model, x)
    }

    fn all(&self) -> Vec<Way> {
        let off = self.end(&[]).plato - self.aim.original_gravity.plato();
        let mut ways = vec![if off < 0.0 {
            self.boil_longer()
        } else {
            self.boil_shorter()
        }];
        for (key, name) in [
            ("malt extract", "dried malt extract"),
            ("sucrose", "sucrose"),
            ("dextrose", "dextrose monohydrate"),
        ] {
            ways.extend(self.add(key, name));
        }
        ways.push(self.dilute());
        ways.extend(self.both());
        ways.extend(self.hops_alone());
        ways
    }

    fn boil_longer(&self) -> Way {
        let aim = self.aim.original_gravity.plato();
        if self.at == Point::Fermenter {
            return self.cannot("boil", "Boil longer.", "the wort has left the kettle");
        }
        let by = |min: f64| vec![self.at(Change::BoilBy(min))];
        let most = LONGEST_MIN.min(self.most_minutes());
        let at_most = self.end(&by(most)).plato;
        if at_most < aim {
            let text = format!(
                "even {most:.0} min more would bring {} only",
                Gravity::from_plato(at_most)
            );
            return self.cannot("boil", "Boil longer.", &text);
        }
        let min = root(0.0, most, |min| self.end(&by(min)).plato - aim);
        if min < 0.5 {
            return self.cannot("boil", "Boil longer.", ON_ITS_AIM);
        }
        self.way(
            "boil",
            format!("Boil {min:.0} min longer."),
            by(min.round()),
        )
    }

    /// Minutes after which half of the water would still be there.
    fn most_minutes(&self) -> f64 {
        let model = Model::new(self.day.plan, self.day.volumes, self.done);
        let x = &self.estimate.course;
        let left = model.post_boil(x).water_kg;
        let per_min = self.day.plan.kit.evaporation.kg_per_h() * x.evaporation / 60.0;
        if per_min > 0.0 {
            0.5 * left / per_min
        } else {
            0.0
        }
    }

    fn boil_shorter(&self) -> Way {
        let aim = self.aim.original_gravity.plato();
        let boil_min = super::day::boil_min(self.day.plan, self.done);
        let left = match self.at {
            Point::EndOfBoil | Point::Fermenter => {
                return self.cannot("boil", "Boil shorter.", "the boil is over");
            }
            Point::Boil(t) => (boil_min - t.min()).max(0.0),
            _ => boil_min,
        };
        let by = |min: f64| vec![self.at(Change::BoilBy(-min))];
        // Most of a boil is there to be sterile and to drive off dimethyl sulfide.
        let most = left.min((boil_min - LEAST_BOIL_MIN).max(0.0));
        if most < 1.0 || self.end(&by(most)).plato > aim {
            let text = format!(
                "{LEAST_BOIL_MIN:.0} min of boil at least are kept, and that still leaves it too strong: dilute it"
            );
            return self.cannot("boil", "Boil shorter.", &text);
        }
        let min = root(0.0, most, |min| aim - self.end(&by(min)).plato);
        if min < 0.5 {
            return self.cannot("boil", "Boil shorter.", ON_ITS_AIM);
        }
        self.way(
            "boil",
            format!("Boil {min:.0} min shorter."),
            by(min.round()),
        )
    }

    fn adding(&self, name: &str, kg: f64) -> Option<Done> {
        Some(self.at(Change::Add {
            fermentable: Box::new(malts::find(name).ok()?),
            mass: Mass::from_kg(kg),
        }))
    }

    fn add(&self, key: &'static str, name: &str) -> Option<Way> {
        let aim = self.aim.original_gravity.plato();
        let text = format!("Add {name}.");
        if self.end(&[]).plato >= aim - ON_AIM_PLATO {
            return Some(self.cannot(key, &text, "the wort is strong enough"));
        }
        let end = |kg: f64| {
            self.adding(name, kg)
                .map_or(f64::NAN, |d| self.end(&[d]).plato)
        };
        let most = self.end(&[]).litres;
        if end(most).is_nan() || end(most) < aim {
            return None;
        }
        let kg = weighed(root(0.0, most, |kg| end(kg) - aim));
        let text = format!("Add {} of {name}.", Mass::from_kg(kg));
        Some(self.way(key, text, vec![self.adding(name, kg)?]))
    }

    fn dilute(&self) -> Way {
        let aim = self.aim.original_gravity.plato();
        let end = self.end(&[]);
        if end.plato <= aim + ON_AIM_PLATO {
            return self.cannot("dilute", "Dilute it.", "the wort is weak enough");
        }
        let by = |l: f64| vec![self.at(Change::Dilute(Volume::from_l(l)))];
        let most = end.litres * end.plato / aim.max(0.5) + 1.0;
        let litres = measured(root(0.0, most, |l| aim - self.end(&by(l)).plato));
        let text = format!("Pour in {} of water.", Volume::from_l(litres));
        self.way("dilute", text, by(litres))
    }

    /// Malt extract and water, where volume and extract are both short.
    fn both(&self) -> Option<Way> {
        let (aim_p, aim_l) = (self.aim.original_gravity.plato(), self.aim.volume.l());
        let end = self.end(&[]);
        let short_l = aim_l - end.litres;
        if short_l < NEAR_VOLUME * aim_l / 2.0 || end.plato > aim_p {
            return None;
        }
        let name = "dried malt extract";
        let changes = |l: f64, kg: f64| {
            let water = self.at(Change::Dilute(Volume::from_l(l)));
            self.adding(name, kg).map(|d| vec![water, d])
        };
        let solved = |l: f64| {
            root(0.0, 2.0 * aim_l, |kg| {
                changes(l, kg).map_or(f64::NAN, |c| self.end(&c).plato - aim_p)
            })
        };
        let litres = root(0.0, 3.0 * short_l + 1.0, |l| {
            changes(l, solved(l)).map_or(f64::NAN, |c| self.end(&c).litres - aim_l)
        });
        let (litres, kg) = (measured(litres), weighed(solved(litres)));
        if litres < 0.1 {
            return None;
        }
        let text = format!(
            "Add {} of {name} and pour in {} of water.",
            Mass::from_kg(kg),
            Volume::from_l(litres)
        );
        Some(self.way("both", text, changes(litres, kg)?))
    }

    fn hops_alone(&self) -> Option<Way> {
        let boiled = self.boiled(&[]).ok()?;
        let ibu = boiled.wort.bitterness.ibu();
        if (ibu - self.aim.bitterness.ibu()).abs() < 0.5 {
            return None;
        }
        let text = "Only change the hops to come, to hold the bitterness.";
        let Some(shift) = self.shift(&[], &boiled) else {
            return Some(self.cannot(
                "hops",
                text,
                "no hops are to come that could make up for it",
            ));
        };
        let change = self.at(Change::Hops(shift.times));
        let grams: Vec<String> = shift.hops.iter().map(hop_words).collect();
        Some(self.way(
            "hops",
            format!("Leave the wort, and give {}.", grams.join(", ")),
            vec![change],
        ))
    }

    /// Hops to come, so many times as much that the bitterness is the plan's.
    fn shift(&self, changes: &[Done], boiled: &Boiled) -> Option<HopShift> {
        let done = self.with(changes);
        let (plan, x) = (self.day.plan, &self.estimate.course);
        let model = Model::new(plan, self.day.volumes, &done);
        let as_done = as_done(plan, &model, x);
        let boil_min = super::day::boil_min(plan, self.done);
        let to_come: Vec<bool> = plan
            .hops
            .iter()
            .map(|h| h.when != HopTime::DryHop && !is_in(h.when, boil_min, self.at))
            .collect();
        let shares = || boiled.report.hops.iter().zip(&to_come);
        let later: f64 = shares()
            .filter(|(_, later)| **later)
            .map(|(s, _)| s.bitterness.ibu())
            .sum();
        let fixed = boiled.wort.bitterness.ibu() - later;
        let times = (self.aim.bitterness.ibu() - fixed) / later;
        let usable = later > 0.5 && times.is_finite() && (0.2..=3.0).contains(&times);
        if !usable || (times - 1.0).abs() < 0.02 {
            return None;
        }
        let times = self.holding(changes, boiled, times);
        let times = (times * 100.0).round() / 100.0;
        let hops = as_done
            .hops
            .iter()
            .zip(&to_come)
            .filter(|(_, later)| **later)
            .map(|(h, _)| (h.name.clone(), h.mass, Mass::from_g(h.mass.g() * times)))
            .collect();
        Some(HopShift { times, hops })
    }

    /// How many times as much hop holds the bitterness, from a first guess: alpha-acids
    /// that wait undissolved make more of a hop give less than as much more.
    fn holding(&self, changes: &[Done], boiled: &Boiled, guess: f64) -> f64 {
        let (wanted, base) = (self.aim.bitterness.ibu(), boiled.wort.bitterness.ibu());
        let mut times = guess;
        for _ in 0..ROUNDS {
            let mut with = changes.to_vec();
            with.push(self.at(Change::Hops(times)));
            let Ok(then) = self.boiled(&with) else { break };
            let got = then.wort.bitterness.ibu();
            if (got - wanted).abs() < HELD_IBU || (got - base).abs() < HELD_IBU {
                break;
            }
            times = (1.0 + (times - 1.0) * (wanted - base) / (got - base)).clamp(0.2, 3.0);
        }
        times
    }

    fn way(&self, key: &'static str, text: String, changes: Vec<Done>) -> Way {
        let boiled = match self.boiled(&changes) {
            Ok(boiled) => boiled,
            Err(error) => return self.cannot(key, &text, &error.to_string()),
        };
        let outcome = Outcome::of(&boiled);
        Way {
            key,
            rank: self.rank(&outcome, &changes),
            says: self.says(&outcome, &changes),
            hops: match key {
                "hops" => None,
                _ => self.shift(&changes, &boiled),
            },
            cautions: self.cautions(&changes),
            outcome: Some((outcome, boiled)),
            text,
            changes,
        }
    }

    fn cannot(&self, key: &'static str, text: &str, why: &str) -> Way {
        Way {
            key,
            text: text.trim_end_matches('.').to_owned(),
            changes: vec![],
            outcome: None,
            says: why.to_owned(),
            hops: None,
            rank: f64::INFINITY,
            cautions: vec![],
        }
    }

    fn rank(&self, then: &Outcome, changes: &[Done]) -> f64 {
        let aim = &self.aim;
        let plato = (then.original_gravity.plato() - aim.original_gravity.plato()).abs();
        let volume = (then.volume.l() / aim.volume.l() - 1.0).abs();
        let ibu = (then.bitterness.ibu() - aim.bitterness.ibu()).abs();
        let cost: f64 = changes
            .iter()
            .map(|d| match &d.what {
                Change::BoilBy(min) => min.max(0.0) * COST_OF_MINUTE,
                Change::Add { mass, .. } => 0.2 + mass.kg() * COST_OF_KG,
                Change::Dilute(_) | Change::Hops(_) => 0.2,
            })
            .sum();
        let limit = (then.attenuation_limit.ratio() - aim.attenuation_limit.ratio()).abs();
        plato / NEAR_PLATO + volume / NEAR_VOLUME + ibu / NEAR_IBU + limit / NEAR_ATTENUATION + cost
    }

    fn says(&self, then: &Outcome, changes: &[Done]) -> String {
        let mut says = Vec::new();
        for change in changes {
            match &change.what {
                Change::BoilBy(min) if *min > 0.0 => says.push(format!(
                    "{min:.0} min more of heat, darker and less dimethyl sulfide"
                )),
                Change::BoilBy(_) => {
                    says.push(
                        "less time for dimethyl sulfide to leave and for hops to give".into(),
                    );
                }
                Change::Add { fermentable, .. } if fermentable.name.contains("malt extract") => {
                    says.push("ferments much as the wort does".into());
                }
                Change::Add { .. } => says.push("ferments out: a drier, thinner beer".into()),
                Change::Dilute(_) => says.push(match self.at {
                    Point::EndOfBoil | Point::Fermenter => {
                        "boil the water first, cool it covered, and treat it as the liquor".into()
                    }
                    _ => "water treated as the liquor; it boils with the wort".into(),
                }),
                Change::Hops(_) => {}
            }
        }
        let more = then.volume.l() - self.aim.volume.l();
        if more.abs() > NEAR_VOLUME * self.aim.volume.l() {
            let word = if more > 0.0 { "more" } else { "less" };
            says.push(format!(
                "{} {word} in the fermenter than planned",
                Volume::from_l(more.abs())
            ));
        }
        says.join("; ")
    }

    fn cautions(&self, changes: &[Done]) -> Vec<Caution> {
        let hot = !matches!(self.at, Point::Fermenter);
        let into = |d: &Done| matches!(d.what, Change::Add { .. } | Change::Dilute(_));
        if hot || changes.iter().any(into) {
            vec![Caution::HotLiquor]
        } else {
            vec![]
        }
    }
}

/// A gravity nearer to its aim than this is on it \[°P\]: no scale weighs the rest.
const ON_AIM_PLATO: f64 = 1e-3;

/// Least boil that is kept \[min\] (judgement).
const LEAST_BOIL_MIN: f64 = 45.0;

fn hop_words((name, _, mass): &(String, Mass, Mass)) -> String {
    format!("{mass} of {name}")
}

/// As a kitchen scale weighs \[kg\].
fn weighed(kg: f64) -> f64 {
    (kg * 200.0).round() / 200.0
}

/// As a jug measures \[L\].
fn measured(litres: f64) -> f64 {
    (litres * 20.0).round() / 20.0
}
