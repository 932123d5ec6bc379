//! From a document, the stores and what is asked to what may move.

use quantity::{CarbonDioxide, Duration, MassConcentration, Temperature, Volume};

use super::entries::{Entries, alike, gathered};
use super::lever::{Lever, Limited, Moves, Together};
use super::prices::Prices;
use super::settings::setting;
use super::typed::Read;
use crate::document::{Document, HopUse, YeastForm};
use crate::library::Stores;
use crate::liquor::minerals::MALT;
use crate::reader::Fault;
use crate::steer::fault;

/// A document whose lists hold everything that may go in, and what of it may move.
pub(super) struct Template {
    pub(super) document: Document,
    /// What was added to the lists or to their entries, beside the text as it was.
    pub(super) entries: Entries,
    pub(super) levers: Vec<Lever>,
    pub(super) together: Vec<Together>,
}

/// Stores and the text that they were read from.
pub struct AtHand<'s> {
    /// As read.
    pub stores: &'s Stores,
    /// As written.
    pub text: &'s str,
}

/// The most that may move at once.
const MOST: usize = 64;

pub(super) fn template(
    text: &str,
    document: &Document,
    asked: &Read,
    at_hand: Option<&AtHand<'_>>,
) -> Result<Template, Vec<Fault>> {
    let mut entries = Entries {
        malts: document.grist.len(),
        hops: document.hops.len(),
        ..Entries::default()
    };
    let whole = gathered(text, document, asked, at_hand, &mut entries);
    let whole = whole.map_err(|error| vec![fault("stores", error.to_string(), String::new())])?;
    let (filled, _) = Document::read(&whole)?;
    let mut made = Made {
        asked,
        at_hand,
        document: &filled,
        entries: &entries,
        levers: vec![],
        together: vec![],
    };
    made.malts();
    made.hops();
    made.rests();
    made.yeast();
    made.course();
    made.gas();
    let mut faults = made.limits();
    made.stores();
    made.shares();
    if made.levers.is_empty() && !asked.water_moves() {
        faults.push(fault(
            "lock",
            "everything is locked".to_owned(),
            "leave something that may move".to_owned(),
        ));
    }
    if made.levers.len() > MOST {
        faults.push(fault(
            "lock",
            format!(
                "{} things may move, which takes too long",
                made.levers.len()
            ),
            format!("up to {MOST} would work: lock some, or take smaller stores"),
        ));
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let (levers, together) = (made.levers, made.together);
    Ok(Template {
        document: filled,
        entries,
        levers,
        together,
    })
}

pub(super) fn moves(asked: &Read, group: &str) -> bool {
    asked.moves.iter().any(|m| m == group)
}

pub(super) struct Made<'m> {
    pub(super) asked: &'m Read,
    pub(super) at_hand: Option<&'m AtHand<'m>>,
    pub(super) document: &'m Document,
    pub(super) entries: &'m Entries,
    pub(super) levers: Vec<Lever>,
    pub(super) together: Vec<Together>,
}

impl Made<'_> {
    fn malts(&mut self) {
        let grist = &self.document.grist;
        let own = &grist[..self.entries.malts.min(grist.len())];
        let whole: f64 = own.iter().map(|g| g.amount.value.kg()).sum();
        for (i, entry) in grist.iter().enumerate() {
            let is_own = i < self.entries.malts;
            let now = if is_own { entry.amount.value.kg() } else { 0.0 };
            let path = format!("grist[{}]", i + 1);
            let names = [entry.name.as_deref().unwrap_or(""), &entry.class];
            if is_own && (!moves(self.asked, "malts") || self.locked(&path, "malts", &names)) {
                continue;
            }
            if entry.class == MALT {
                continue;
            }
            let source = "no more than three times all malt of the recipe";
            self.levers.push(Lever {
                path: format!("{path}.amount"),
                name: named(&names),
                moves: Moves::Malt(i),
                now,
                least: 0.0,
                most: 3.0 * whole,
                limited: Limited::Usual(source.to_owned()),
                step: self.asked.malt_scale.kg(),
                price: self.prices().named(&names),
                scale: (0.25 * now).max(0.03 * whole),
            });
        }
    }

    fn hops(&mut self) {
        let litres = self.document.batch.volume.value.l();
        let row = setting("hops_most");
        let most = row.quantity::<MassConcentration>().mg_per_l() * litres * 1e-6;
        for (i, entry) in self.document.hops.iter().enumerate() {
            let is_own = i < self.entries.hops;
            let now = if is_own { entry.amount.value.kg() } else { 0.0 };
            let path = format!("hop[{}]", i + 1);
            if is_own && (!moves(self.asked, "hops") || self.locked(&path, "hops", &[&entry.hop])) {
                continue;
            }
            let time = entry.time.filter(|_| entry.used == HopUse::Boil);
            let name = match (entry.used, time) {
                (HopUse::Boil, Some(time)) => format!("{}, {}", entry.hop, time.value),
                (used, _) => format!("{}, {}", entry.hop, use_word(used)),
            };
            self.levers.push(Lever {
                path: format!("{path}.amount"),
                name,
                moves: Moves::Hop(i),
                now,
                least: 0.0,
                most: most.max(now),
                limited: Limited::Usual(format!(
                    "{} for one addition",
                    row.quantity::<MassConcentration>()
                )),
                step: self.asked.hop_scale.kg(),
                price: self.prices().named(&[&entry.hop]),
                scale: (0.3 * now).max(2.5e-4 * litres),
            });
        }
    }

    fn rests(&mut self) {
        let (temperatures, times) = (moves(self.asked, "mash"), moves(self.asked, "mash times"));
        let [coldest, warmest] =
            ["rest_coldest", "rest_warmest"].map(|key| setting(key).quantity::<Temperature>().c());
        let [shortest, longest, time_step] = ["rest_shortest", "rest_longest", "rest_time_step"]
            .map(|key| setting(key).quantity::<Duration>().h());
        let rests = &self.document.mash.rests;
        for (i, rest) in rests.iter().enumerate() {
            let c = rest.temperature.value.c();
            let path = format!("mash.rest[{}]", i + 1);
            // Rests beside those in which starch becomes sugar have another purpose.
            if !(coldest - 2.0..=warmest + 1.0).contains(&c) || self.locked(&path, "mash", &[]) {
                continue;
            }
            let name = |what: &str| match rests.len() {
                1 => format!("{what} of the rest"),
                _ => format!("{what} of rest {}", i + 1),
            };
            // A rest stays between its neighbours.
            let above = i
                .checked_sub(1)
                .map_or(coldest, |b| rests[b].temperature.value.c());
            let below = rests
                .get(i + 1)
                .map_or(warmest, |r| r.temperature.value.c());
            if temperatures {
                self.levers.push(Lever {
                    path: format!("{path}.temperature"),
                    name: name("temperature"),
                    moves: Moves::RestTemperature(i),
                    now: c,
                    least: above.max(coldest).min(c),
                    most: below.min(warmest).max(c),
                    limited: Limited::Usual(setting("rest_warmest").source.clone()),
                    step: setting("rest_step").number(),
                    price: None,
                    scale: 2.0,
                });
            }
            if times {
                let h = rest.time.value.h();
                self.levers.push(Lever {
                    path: format!("{path}.time"),
                    name: name("time"),
                    moves: Moves::RestTime(i),
                    now: h,
                    least: shortest.min(h),
                    most: longest.max(h),
                    limited: Limited::Usual(setting("rest_longest").source.clone()),
                    step: time_step,
                    price: None,
                    scale: 0.25,
                });
            }
        }
    }

    fn yeast(&mut self) {
        if !moves(self.asked, "yeast") || self.locked("yeast", "yeast", &[]) {
            return;
        }
        let yeast = &self.document.yeast;
        let (path, what, now, step) = match yeast.form {
            YeastForm::Dry | YeastForm::Liquid => (
                "yeast.packets",
                Moves::Packets,
                yeast.packets,
                setting("yeast_step").number(),
            ),
            YeastForm::Slurry => (
                "yeast.slurry",
                Moves::Slurry,
                yeast.slurry.map_or(0.0, |s| s.value.l()),
                setting("slurry_step").quantity::<Volume>().l(),
            ),
        };
        if now <= 0.0 {
            return;
        }
        self.levers.push(Lever {
            path: path.to_owned(),
            name: if what == Moves::Packets {
                "packets of yeast"
            } else {
                "yeast slurry"
            }
            .to_owned(),
            moves: what,
            now,
            least: setting("yeast_least").number() * now,
            most: setting("yeast_most").number() * now,
            limited: Limited::Usual(setting("yeast_most").source.clone()),
            step,
            price: (what == Moves::Packets)
                .then(|| {
                    self.prices()
                        .named(&[yeast.name.as_deref().unwrap_or(""), &yeast.class])
                })
                .flatten(),
            scale: 0.3 * now,
        });
    }

    fn course(&mut self) {
        if !moves(self.asked, "course") || self.locked("fermentation", "course", &[]) {
            return;
        }
        let coldest = self
            .document
            .fermentation
            .course
            .iter()
            .map(|p| p.temperature.value.c());
        // Nothing is planned below the freezing of beer.
        let room = coldest.fold(f64::INFINITY, f64::min) + 1.0;
        self.levers.push(Lever {
            path: "fermentation.course".to_owned(),
            name: "temperatures of the course".to_owned(),
            moves: Moves::Course,
            now: 0.0,
            least: -setting("course_cooler").number().min(room.max(0.0)),
            most: setting("course_warmer").number(),
            limited: Limited::Usual(setting("course_warmer").source.clone()),
            step: setting("course_step").number(),
            price: None,
            scale: 1.5,
        });
    }

    fn gas(&mut self) {
        if !moves(self.asked, "gas") || self.locked("package", "gas", &[]) {
            return;
        }
        let now = self.document.package.carbon_dioxide.value.g_per_l();
        let row = |key| setting(key).quantity::<CarbonDioxide>().g_per_l();
        self.levers.push(Lever {
            path: "package.carbon_dioxide".to_owned(),
            name: "carbon dioxide of the package".to_owned(),
            moves: Moves::Gas,
            now,
            least: row("gas_least").min(now),
            most: row("gas_most").max(now),
            limited: Limited::Usual(setting("gas_most").source.clone()),
            step: row("gas_step"),
            price: None,
            scale: 0.5,
        });
    }

    fn locked(&self, path: &str, group: &str, names: &[&str]) -> bool {
        let is = |word: &String| {
            let names = names.iter().any(|name| alike(name, word));
            names
                || word == group
                || word == path
                || path.starts_with(&format!("{word}."))
                || path.starts_with(&format!("{word}["))
                || word.starts_with(&format!("{path}."))
        };
        self.asked.locked.iter().any(is)
    }

    fn prices(&self) -> Prices<'_> {
        Prices::of(self.asked, self.at_hand)
    }
}

fn named(names: &[&str]) -> String {
    let name = names.iter().find(|n| !n.is_empty());
    name.map_or_else(String::new, |n| (*n).to_owned())
}

fn use_word(used: HopUse) -> &'static str {
    match used {
        HopUse::Mash => "in the mash",
        HopUse::FirstWort => "first wort",
        HopUse::Boil => "in the boil",
        HopUse::Whirlpool => "whirlpool",
        HopUse::Stand => "stand",
        HopUse::Dry => "dry",
    }
}
