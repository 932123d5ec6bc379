//! From a document, the stores and what is asked to what may move.

use std::collections::BTreeMap;

use quantity::{CarbonDioxide, Duration, Mass, MassConcentration, Temperature, Volume};
use wort::malts;

use super::lever::{Lever, Limited, Moves, Together};
use super::settings::setting;
use super::typed::{Asked, Read};
use crate::document::{Document, HopUse, YeastForm};
use crate::edit::{EditError, add_entry, set_value, written_values};
use crate::library::Stores;
use crate::liquor::minerals::{Change, MALT};
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

/// Entries beside those of the text.
#[derive(Debug, Clone, Default)]
pub(super) struct Entries {
    /// Figures of the stores' own sheets for entries of the text.
    pub(super) adopted: Vec<Change>,
    /// Entries that the text has not: the list and its keys, without the amount.
    pub(super) new_malts: Vec<Vec<(String, String)>>,
    pub(super) new_hops: Vec<Vec<(String, String)>>,
    /// How many entries the text has itself.
    pub(super) malts: usize,
    pub(super) hops: usize,
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

/// Keys of stores that say nothing of the malt or hop itself.
const OF_THE_STORES: [&str; 4] = ["amount", "lot", "best_before", "harvest"];

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

/// The text with every entry that may go in; amounts that are not in it yet stand for
/// nothing.
fn gathered(
    text: &str,
    document: &Document,
    asked: &Read,
    at_hand: Option<&AtHand<'_>>,
    entries: &mut Entries,
) -> Result<String, EditError> {
    let written = written_values(text)?;
    let mut whole = text.to_owned();
    if let Some(at_hand) = at_hand {
        let stored = written_values(at_hand.text)?;
        if moves(asked, "malts") {
            stored_malts(document, &written, &stored, at_hand.stores, entries);
        }
        if moves(asked, "hops") {
            stored_hops(document, &written, &stored, at_hand.stores, entries);
        }
    }
    if moves(asked, "hop times") {
        other_times(document, &written, entries);
    }
    for change in &entries.adopted {
        if let Change::Set { path, written } = change {
            whole = set_value(&whole, path, written)?;
        }
    }
    for (list, new) in [("grist", &entries.new_malts), ("hop", &entries.new_hops)] {
        for keys in new {
            let mut keys: Vec<(&str, &str)> =
                keys.iter().map(|(k, v)| (k.as_str(), v.as_str())).collect();
            keys.push(("amount", "1 g"));
            whole = add_entry(&whole, list, &keys)?;
        }
    }
    Ok(whole)
}

/// The keys of an entry as they are written, without those that are left out.
fn keys_of(written: &BTreeMap<String, String>, path: &str, not: &[&str]) -> Vec<(String, String)> {
    let prefix = format!("{path}.");
    let of = written.iter().filter_map(|(key, value)| {
        let key = key.strip_prefix(&prefix)?;
        (!not.contains(&key)).then(|| (key.to_owned(), value.clone()))
    });
    of.collect()
}

fn stored_malts(
    document: &Document,
    written: &BTreeMap<String, String>,
    stored: &BTreeMap<String, String>,
    stores: &Stores,
    entries: &mut Entries,
) {
    for (i, malt) in stores.malts.iter().enumerate() {
        // Acidulated malt belongs to the search for acid.
        if malt.class == MALT {
            continue;
        }
        let keys = keys_of(stored, &format!("malt[{}]", i + 1), &OF_THE_STORES);
        let of_class = |g: &(usize, &crate::document::GristEntry)| g.1.class == malt.class;
        let entry = document.grist.iter().enumerate().find(of_class);
        match entry {
            None => entries.new_malts.push(keys),
            Some((at, _)) => {
                let path = format!("grist[{}]", at + 1);
                adopt(&path, keys, &["class", "amount"], written, entries);
            }
        }
    }
}

fn stored_hops(
    document: &Document,
    written: &BTreeMap<String, String>,
    stored: &BTreeMap<String, String>,
    stores: &Stores,
    entries: &mut Entries,
) {
    for (i, hop) in stores.hops.iter().enumerate() {
        let keys = keys_of(stored, &format!("hop[{}]", i + 1), &OF_THE_STORES);
        let mut known = false;
        for (at, entry) in document.hops.iter().enumerate() {
            if alike(&entry.hop, &hop.hop) {
                known = true;
                let path = format!("hop[{}]", at + 1);
                let not = ["hop", "amount", "used", "time", "temperature"];
                adopt(&path, keys.clone(), &not, written, entries);
            }
        }
        if !known {
            for timing in timings(document, written) {
                let new = keys.iter().cloned().chain(timing).collect();
                entries.new_hops.push(new);
            }
        }
    }
}

/// Figures of the stores' sheet, for an entry that has none of its own.
fn adopt(
    path: &str,
    keys: Vec<(String, String)>,
    not_of_sheet: &[&str],
    written: &BTreeMap<String, String>,
    entries: &mut Entries,
) {
    let has = keys_of(written, path, not_of_sheet);
    if has.iter().all(|(key, _)| key == "name") {
        let new = keys.into_iter().filter(|(key, _)| {
            !not_of_sheet.contains(&key.as_str()) && has.iter().all(|(k, _)| k != key)
        });
        entries
            .adopted
            .extend(new.map(|(key, written)| Change::Set {
                path: format!("{path}.{key}"),
                written,
            }));
    }
}

/// The times at which hops go in, each once.
fn timings(document: &Document, written: &BTreeMap<String, String>) -> Vec<Vec<(String, String)>> {
    let mut found: Vec<Vec<(String, String)>> = Vec::new();
    for (at, hop) in document.hops.iter().enumerate() {
        if hop.used == HopUse::Dry {
            continue;
        }
        let of =
            |(key, _): &(String, String)| ["used", "time", "temperature"].contains(&key.as_str());
        let keys = keys_of(written, &format!("hop[{}]", at + 1), &[]);
        let timing: Vec<_> = keys.into_iter().filter(of).collect();
        if !found.contains(&timing) {
            found.push(timing);
        }
    }
    if found.is_empty() {
        let boil = [("used", "boil"), ("time", "60 min")];
        found.push(boil.map(|(k, v)| (k.to_owned(), v.to_owned())).to_vec());
    }
    found
}

/// The hops of the text at the times of one another.
fn other_times(document: &Document, written: &BTreeMap<String, String>, entries: &mut Entries) {
    let timings = timings(document, written);
    let times = ["used", "time", "temperature"];
    let mut seen: Vec<String> = Vec::new();
    for (at, hop) in document.hops.iter().enumerate() {
        if hop.used == HopUse::Dry || seen.iter().any(|name| alike(name, &hop.hop)) {
            continue;
        }
        seen.push(hop.hop.clone());
        let keys = keys_of(written, &format!("hop[{}]", at + 1), &["amount"]);
        let own: Vec<_> = keys
            .iter()
            .filter(|(k, _)| !times.contains(&k.as_str()))
            .cloned()
            .collect();
        for timing in &timings {
            let has = (0..document.hops.len()).any(|other| {
                let keys = keys_of(written, &format!("hop[{}]", other + 1), &[]);
                alike(&document.hops[other].hop, &hop.hop)
                    && timing.iter().all(|t| keys.contains(t))
            });
            if !has {
                entries
                    .new_hops
                    .push(own.iter().cloned().chain(timing.iter().cloned()).collect());
            }
        }
    }
}

fn alike(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

fn moves(asked: &Read, group: &str) -> bool {
    asked.moves.iter().any(|m| m == group)
}

struct Made<'m> {
    asked: &'m Read,
    at_hand: Option<&'m AtHand<'m>>,
    document: &'m Document,
    entries: &'m Entries,
    levers: Vec<Lever>,
    together: Vec<Together>,
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
                price_per_kg: self.price(&names),
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
                price_per_kg: self.price(&[&entry.hop]),
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
                    limited: Limited::Usual(setting("rest_warmest").assumed("").source),
                    step: setting("rest_step").number(),
                    price_per_kg: None,
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
                    limited: Limited::Usual(setting("rest_longest").assumed("").source),
                    step: time_step,
                    price_per_kg: None,
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
            limited: Limited::Usual(setting("yeast_most").assumed("").source),
            step,
            price_per_kg: None,
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
            limited: Limited::Usual(setting("course_warmer").assumed("").source),
            step: setting("course_step").number(),
            price_per_kg: None,
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
            limited: Limited::Usual(setting("gas_most").assumed("").source),
            step: row("gas_step"),
            price_per_kg: None,
            scale: 0.5,
        });
    }

    /// Limits that are asked for; one that fits nothing is a fault.
    fn limits(&mut self) -> Vec<Fault> {
        let mut faults = Vec::new();
        for limit in &self.asked.limits {
            let Asked { of, least, most } = limit;
            let mut fits = false;
            for lever in &mut self.levers {
                if !lever.is_ingredient() || !answers(lever, of, self.document) {
                    continue;
                }
                fits = true;
                if let Some(most) = most {
                    lever.most = *most;
                    lever.limited = Limited::Asked;
                }
                if let Some(least) = least {
                    lever.least = *least;
                }
                lever.most = lever.most.max(lever.least);
            }
            if !fits {
                let mut names: Vec<&str> = self
                    .levers
                    .iter()
                    .filter(|l| l.is_ingredient())
                    .map(|l| l.name.as_str())
                    .collect();
                names.dedup();
                faults.push(fault(
                    "limits",
                    format!("nothing that moves is called {of:?}"),
                    format!("limit one of {}", names.join("; ")),
                ));
            }
        }
        faults
    }

    /// What there is in the stores.
    fn stores(&mut self) {
        let Some(at_hand) = self.at_hand else { return };
        let mut malts: Vec<(&str, f64)> = at_hand
            .stores
            .malts
            .iter()
            .map(|m| (m.class.as_str(), m.amount.value.kg()))
            .collect();
        let mut hops: Vec<(&str, f64)> = at_hand
            .stores
            .hops
            .iter()
            .map(|h| (h.hop.as_str(), h.amount.value.kg()))
            .collect();
        summed(&mut malts);
        summed(&mut hops);
        let n = self.levers.len();
        for (of_malt, kept) in [(true, malts), (false, hops)] {
            let name = |lever: &Lever| match lever.moves {
                Moves::Malt(i) if of_malt => Some(self.document.grist[i].class.as_str()),
                Moves::Hop(i) if !of_malt => Some(self.document.hops[i].hop.as_str()),
                _ => None,
            };
            for (stored, kg) in &kept {
                let of: Vec<usize> = (0..n)
                    .filter(|i| name(&self.levers[*i]).is_some_and(|w| alike(w, stored)))
                    .collect();
                for i in &of {
                    let lever = &mut self.levers[*i];
                    if *kg < lever.most {
                        lever.most = kg.max(lever.least);
                        lever.limited = Limited::Stores;
                    }
                }
                if of.len() > 1 {
                    let factors = (0..n).map(|i| if of.contains(&i) { -1.0 } else { 0.0 });
                    self.together.push(Together {
                        name: format!("{stored} in the stores: {}", Mass::from_kg(*kg)),
                        factors: factors.collect(),
                        at_least: -kg,
                        limited: Limited::Stores,
                    });
                }
            }
            if self.asked.only_stores {
                let missing: Vec<usize> = (0..n)
                    .filter(|i| {
                        name(&self.levers[*i])
                            .is_some_and(|w| kept.iter().all(|(k, _)| !alike(k, w)))
                    })
                    .collect();
                for i in missing {
                    let lever = &mut self.levers[i];
                    (lever.least, lever.most) = (0.0, 0.0);
                    lever.limited = Limited::Stores;
                }
            }
        }
    }

    /// The usual share of a class in a grist, or what the recipe has of it already.
    fn shares(&mut self) {
        let grist = &self.document.grist;
        let own = |i: usize| {
            if i < self.entries.malts {
                grist[i].amount.value.kg()
            } else {
                0.0
            }
        };
        let whole: f64 = (0..grist.len()).map(own).sum();
        let lever_of = |at: usize| self.levers.iter().position(|l| l.moves == Moves::Malt(at));
        let mut found = Vec::new();
        for (i, entry) in grist.iter().enumerate() {
            let (Some(lever), Ok(class)) = (lever_of(i), malts::find(&entry.class)) else {
                continue;
            };
            let usual = class.max_share.ratio();
            let share = usual.max(own(i) / whole.max(1e-9));
            let asked = self.levers[lever].limited == Limited::Asked;
            if share >= 1.0 || asked {
                continue;
            }
            let mut factors = vec![0.0; self.levers.len()];
            let mut fixed = 0.0;
            for at in 0..grist.len() {
                match lever_of(at) {
                    Some(other) => factors[other] += share,
                    None => fixed += own(at),
                }
            }
            factors[lever] -= 1.0;
            found.push(Together {
                name: format!(
                    "{} is usually no more than {:.0} % of a grist",
                    class.name,
                    100.0 * share
                ),
                factors,
                at_least: -share * fixed,
                limited: Limited::Usual("usual figure of the trade".to_owned()),
            });
        }
        self.together.extend(found);
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

    fn price(&self, names: &[&str]) -> Option<f64> {
        let of = |name: &&str| self.asked.prices.iter().find(|(of, _)| alike(of, name));
        names.iter().find_map(of).map(|(_, price)| *price)
    }
}

/// Whether a lever is what a limit names: its key, its class, its cultivar, its name.
fn answers(lever: &Lever, of: &str, document: &Document) -> bool {
    let path = lever.path.trim_end_matches(".amount");
    let names: Vec<&str> = match lever.moves {
        Moves::Malt(i) => vec![
            &document.grist[i].class,
            document.grist[i].name.as_deref().unwrap_or(""),
        ],
        Moves::Hop(i) => vec![&document.hops[i].hop],
        _ => vec![],
    };
    path == of || alike(&lever.name, of) || names.iter().any(|name| alike(name, of))
}

/// Amounts of one name together.
fn summed(kept: &mut Vec<(&str, f64)>) {
    let mut sums: Vec<(&str, f64)> = Vec::new();
    for (name, kg) in kept.iter() {
        match sums.iter_mut().find(|(known, _)| alike(known, name)) {
            Some((_, sum)) => *sum += kg,
            None => sums.push((name, *kg)),
        }
    }
    *kept = sums;
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
