//! Grist, hops, waters with what goes into them, and yeast.

use batch::{Document, GristEntry, HopEntry, HopUse, Into, Reckoning, SourceEntry, YeastForm};
use quantity::{Measured, Quantity, molar_mass};
use serde_json::{Map, Value, json};
use wort::HopForm;
use wort::malts::{Fermentable, Kind};

use super::job::{Job, measured};
use super::process::{Steps, steps};
use crate::units::LITRE_DEGREES_PER_POINT;
use crate::words::named;

/// What the standard calls a recipe of this grist.
pub(super) fn kind(reckoning: &Reckoning) -> &'static str {
    let any = |wanted: fn(Kind) -> bool| {
        let mut grist = reckoning.wort_plan.grist.iter();
        grist.any(|item| wanted(item.fermentable.kind))
    };
    match (any(Kind::is_mashed), any(|kind| kind == Kind::MaltExtract)) {
        (true, true) => "partial mash",
        (false, true) => "extract",
        _ => "all grain",
    }
}

pub(super) fn ingredients(reckoning: &Reckoning, job: &Job) -> Value {
    let document = &reckoning.document;
    let steps = steps(document);
    let grist = each(&document.grist, |n, entry| grist(n, entry, reckoning, job));
    let hops = each(&document.hops, |n, entry| hop(n, entry, &steps, job));
    let sources = &document.water.sources;
    let waters = if distilled(sources, job) {
        &[][..]
    } else {
        sources
    };
    let waters = each(waters, |n, entry| {
        let mut water = water(n, entry, job);
        job.take(&format!("water.source[{n}].share"));
        let share = entry.share.map_or(1.0, |share| share.canonical());
        let drawn = reckoning.volumes.total_water.canonical();
        water.insert("amount".to_owned(), measured("l", share * drawn));
        Value::Object(water)
    });
    json!({
        "fermentable_additions": grist,
        "hop_additions": hops,
        "water_additions": waters,
        "miscellaneous_additions": agents(document, &steps, job),
        "culture_additions": [culture(document, job)],
    })
}

/// A list, counted from one as paths count.
fn each<T>(entries: &[T], write: impl Fn(usize, &T) -> Value) -> Vec<Value> {
    let entries = entries.iter().enumerate();
    entries.map(|(n, entry)| write(n + 1, entry)).collect()
}

fn grist(n: usize, entry: &GristEntry, reckoning: &Reckoning, job: &Job) -> Value {
    let at = format!("grist[{n}]");
    let Some(item) = reckoning.wort_plan.grist.get(n - 1) else {
        return Value::Null;
    };
    let mut members = fermentable(&at, entry, &item.fermentable, job);
    job.take(&format!("{at}.amount"));
    members.insert(
        "amount".to_owned(),
        measured("kg", entry.amount.canonical()),
    );
    let used = if item.fermentable.kind.is_mashed() {
        "add_to_mash"
    } else {
        "add_to_boil"
    };
    members.insert("timing".to_owned(), json!({ "use": used }));
    Value::Object(members)
}

/// What an addition and a record have in common.
fn fermentable(at: &str, entry: &GristEntry, malt: &Fermentable, job: &Job) -> Map<String, Value> {
    job.take(&format!("{at}.name"));
    job.take(&format!("{at}.class"));
    let kind = match (malt.kind, malt.name.as_str()) {
        (Kind::Malt | Kind::Adjunct, _) => "grain",
        (Kind::Sugar, "honey") => "honey",
        (Kind::Sugar, _) => "sugar",
        (Kind::MaltExtract, "dried malt extract") => "dry extract",
        (Kind::MaltExtract, _) => "extract",
    };
    let mut members = Map::new();
    members.insert(
        "name".to_owned(),
        json!(named(entry.name.as_deref(), &entry.class)),
    );
    members.insert("type".to_owned(), json!(kind));
    members.insert("yield".to_owned(), yields(at, entry, malt, job));
    if !job.take(&format!("{at}.colour")) {
        job.missing(
            &format!("{at}.colour"),
            "the standard asks for it",
            &format!("that of the class, {}", malt.colour.value),
        );
    }
    members.insert("color".to_owned(), measured("EBC", malt.colour.canonical()));
    members
}

fn yields(at: &str, entry: &GristEntry, malt: &Fermentable, job: &Job) -> Value {
    let percent = |ratio: f64| measured("%", ratio * 100.0);
    let sheet = &entry.sheet;
    let mut yields = Map::new();
    if let (true, Some(hot)) = (
        job.take(&format!("{at}.hot_water_extract")),
        sheet.hot_water_extract,
    ) {
        let points = hot.canonical() / LITRE_DEGREES_PER_POINT;
        yields.insert(
            "potential".to_owned(),
            measured("sg", 1.0 + points / 1000.0),
        );
    } else if let (true, Some(coarse)) = (
        job.take(&format!("{at}.coarse_extract")),
        sheet.coarse_extract,
    ) {
        yields.insert("coarse_grind".to_owned(), percent(coarse.canonical()));
    } else {
        if !job.take(&format!("{at}.extract")) {
            job.missing(
                &format!("{at}.extract"),
                "the standard asks for it",
                &format!("that of the class, {}", malt.extract.value),
            );
        }
        yields.insert("fine_grind".to_owned(), percent(malt.extract.canonical()));
    }
    if let (true, Some(difference)) = (job.take(&format!("{at}.coarse_fine")), sheet.coarse_fine) {
        yields.insert(
            "fine_coarse_difference".to_owned(),
            percent(difference.canonical()),
        );
    }
    Value::Object(yields)
}

fn hop(n: usize, entry: &HopEntry, steps: &Steps, job: &Job) -> Value {
    let at = format!("hop[{n}]");
    let mut members = variety(&at, entry, job);
    for key in ["amount", "used"] {
        job.take(&format!("{at}.{key}"));
    }
    members.insert(
        "amount".to_owned(),
        measured("g", entry.amount.canonical() * 1000.0),
    );
    members.insert("timing".to_owned(), timing(&at, entry, steps, job));
    Value::Object(members)
}

fn variety(at: &str, entry: &HopEntry, job: &Job) -> Map<String, Value> {
    job.take(&format!("{at}.hop"));
    let cultivar = wort::hops::find(&entry.hop).ok();
    let alpha = entry
        .sheet
        .alpha
        .or(cultivar.map(|c| c.alpha))
        .map_or(0.0, |a| a.canonical());
    if !job.take(&format!("{at}.alpha")) {
        job.missing(
            &format!("{at}.alpha"),
            "the standard asks for it",
            "the middle of the cultivar's range",
        );
    }
    let mut members = Map::new();
    members.insert("name".to_owned(), json!(entry.hop));
    members.insert("alpha_acid".to_owned(), measured("%", alpha * 100.0));
    if let (true, Some(form)) = (job.take(&format!("{at}.form")), entry.sheet.form) {
        let word = match form {
            HopForm::Cones => "leaf",
            HopForm::Pellets => "pellet",
        };
        members.insert("form".to_owned(), json!(word));
    }
    members
}

fn timing(at: &str, entry: &HopEntry, steps: &Steps, job: &Job) -> Value {
    let path = format!("{at}.time");
    let mut timing = Map::new();
    let mut put = |key: &str, value: Value| {
        timing.insert(key.to_owned(), value);
    };
    let used = match entry.used {
        HopUse::Mash => "add_to_mash",
        HopUse::Dry => "add_to_fermentation",
        HopUse::FirstWort | HopUse::Boil | HopUse::Whirlpool | HopUse::Stand => "add_to_boil",
    };
    put("use", json!(used));
    if let Some(step) = steps.of_hop(entry) {
        put("step", json!(step));
    }
    if matches!(entry.used, HopUse::Boil | HopUse::Whirlpool | HopUse::Stand)
        && let (true, Some(hours)) = (job.take(&path), entry.time)
    {
        let time = job.time(&path, hours.canonical());
        // Release 1.0.2 has the duration, later states the time before the end.
        if entry.used == HopUse::Boil {
            put("time", time.clone());
        }
        put("duration", time);
    }
    if entry.used == HopUse::Stand {
        job.take(&format!("{at}.temperature"));
    }
    Value::Object(timing)
}

/// Whether all the water is distilled and holds nothing. The standard cannot say so; a
/// file that names no water is read as that, and one of noughts as a tap of noughts,
/// with whatever chlorine its supply keeps.
fn distilled(sources: &[SourceEntry], job: &Job) -> bool {
    let [one] = sources else { return false };
    let ions = [
        one.calcium.canonical(),
        one.magnesium.canonical(),
        one.sodium.canonical(),
        one.chloride.canonical(),
        one.sulfate.canonical(),
        one.alkalinity.canonical(),
    ];
    let empty = one.kind == Some(water::Origin::Purified) && ions.iter().all(|x| *x == 0.0);
    if empty {
        for key in [
            "name",
            "kind",
            "calcium",
            "magnesium",
            "sodium",
            "chloride",
            "sulfate",
            "alkalinity",
        ] {
            job.take(&format!("water.source[1].{key}"));
        }
        job.changed(
            "water.source[1].kind",
            "a file that names no water is read as distilled",
            "no water",
        );
    }
    empty
}

fn water(n: usize, entry: &SourceEntry, job: &Job) -> Map<String, Value> {
    let at = format!("water.source[{n}]");
    let mut members = Map::new();
    job.take(&format!("{at}.name"));
    members.insert("name".to_owned(), json!(entry.name));
    let mut ion = |key: &str, member: &str, mg_per_l: f64, asked: bool| {
        if job.take(&format!("{at}.{key}")) || asked {
            members.insert(member.to_owned(), measured("mg/l", mg_per_l));
        }
    };
    ion("calcium", "calcium", entry.calcium.canonical(), true);
    ion("magnesium", "magnesium", entry.magnesium.canonical(), true);
    ion("sodium", "sodium", entry.sodium.canonical(), true);
    ion("potassium", "potassium", entry.potassium.canonical(), false);
    ion("chloride", "chloride", entry.chloride.canonical(), true);
    ion("sulfate", "sulfate", entry.sulfate.canonical(), true);
    ion("nitrate", "nitrate", entry.nitrate.canonical(), false);
    ion("nitrite", "nitrite", of(entry.nitrite), false);
    ion("iron", "iron", of(entry.iron), false);
    ion("fluoride", "flouride", of(entry.fluoride), false);
    let alkalinity = entry.alkalinity.canonical();
    ion(
        "alkalinity",
        "bicarbonate",
        alkalinity.max(0.0) * molar_mass::HCO3,
        true,
    );
    let path = format!("{at}.alkalinity");
    if alkalinity < 0.0 {
        job.changed(&path, "the standard has no acid water", "bicarbonate = 0");
    } else if alkalinity > 0.0 {
        job.changed(
            &path,
            "bicarbonate is nearly all of the alkalinity of fresh water",
            "bicarbonate",
        );
    }
    members
}

fn of<Q: Quantity>(figure: Option<Measured<Q>>) -> f64 {
    figure.map_or(0.0, |f| f.canonical())
}

/// Salts and acids.
fn agents(document: &Document, steps: &Steps, job: &Job) -> Vec<Value> {
    let water = &document.water;
    let mut agents = each(&water.salts, |n, entry| {
        let at = format!("water.salt[{n}]");
        for key in ["salt", "amount", "into"] {
            job.take(&format!("{at}.{key}"));
        }
        agent(
            &entry.salt,
            measured("g", entry.amount.canonical() * 1000.0),
            entry.into,
            steps,
        )
    });
    agents.extend(each(&water.acids, |n, entry| {
        let at = format!("water.acid[{n}]");
        for key in ["acid", "volume", "mass", "into"] {
            job.take(&format!("{at}.{key}"));
        }
        let amount = entry.volume.map_or_else(
            || measured("g", of(entry.mass) * 1000.0),
            |volume| measured("ml", volume.canonical() * 1000.0),
        );
        agent(&entry.acid, amount, entry.into, steps)
    }));
    agents
}

fn agent(name: &str, amount: Value, into: Into, steps: &Steps) -> Value {
    let timing = match (into, steps.sparge) {
        (Into::Sparge, Some(step)) => json!({ "use": "add_to_mash", "step": step }),
        _ => json!({ "use": "add_to_mash" }),
    };
    json!({ "name": name, "type": "water agent", "amount": amount, "timing": timing })
}

fn culture(document: &Document, job: &Job) -> Value {
    let yeast = &document.yeast;
    for key in ["name", "class", "form", "packets"] {
        job.take(&format!("yeast.{key}"));
    }
    let kind = match yeast.class.as_str() {
        "lager" => "lager",
        "kveik" => "kveik",
        _ => "ale",
    };
    let mut culture = Map::new();
    let mut put = |key: &str, value: Value| {
        culture.insert(key.to_owned(), value);
    };
    put("name", json!(named(yeast.name.as_deref(), &yeast.class)));
    put("type", json!(kind));
    match yeast.form {
        YeastForm::Dry => {
            job.take("yeast.packet_mass");
            if job.has("yeast.packets") {
                job.changed(
                    "yeast.packets",
                    "the standard has one amount of dry yeast",
                    "the mass of all packets",
                );
            }
            put("form", json!("dry"));
            put(
                "amount",
                measured("g", of(yeast.packet_mass) * 1000.0 * yeast.packets),
            );
        }
        YeastForm::Slurry => {
            job.take("yeast.slurry");
            put("form", json!("culture"));
            put("amount", measured("ml", of(yeast.slurry) * 1000.0));
        }
        YeastForm::Liquid => {
            job.take("yeast.cells");
            put("form", json!("liquid"));
            put("amount", measured("pkg", yeast.packets));
            put(
                "cell_count_billions",
                whole_billions(of(yeast.cells) * yeast.packets, job),
            );
        }
    }
    if let (true, Some(attenuation)) = (job.take("yeast.attenuation"), yeast.attenuation) {
        put(
            "attenuation",
            measured("%", attenuation.canonical() * 100.0),
        );
    }
    Value::Object(culture)
}

fn whole_billions(billions: f64, job: &Job) -> Value {
    let whole = billions.round();
    if (whole - billions).abs() > 1e-9 * billions {
        job.changed(
            "yeast.cells",
            "the standard counts whole billions",
            &format!("{whole} billion cells"),
        );
    }
    #[expect(clippy::cast_possible_truncation, reason = "whole, and at most 1e14")]
    let whole = whole as i64;
    json!(whole)
}

/// Records with what an addition has no place for; they are found by their names, so none
/// is written for a name that stands twice.
pub(super) fn records(reckoning: &Reckoning, job: &Job) -> Vec<(&'static str, Vec<Value>)> {
    let document = &reckoning.document;
    let malts = document.grist.iter().enumerate().filter_map(|(n, entry)| {
        let alone = document
            .grist
            .iter()
            .filter(|e| {
                named(e.name.as_deref(), &e.class) == named(entry.name.as_deref(), &entry.class)
            })
            .count()
            == 1;
        let malt = &reckoning.wort_plan.grist.get(n)?.fermentable;
        alone.then(|| malt_record(n + 1, entry, malt, job))?
    });
    let hops = document.hops.iter().enumerate().filter_map(|(n, entry)| {
        let alone = document.hops.iter().filter(|e| e.hop == entry.hop).count() == 1;
        alone.then(|| hop_record(n + 1, entry, job))?
    });
    let waters = document
        .water
        .sources
        .iter()
        .enumerate()
        .filter_map(|(n, entry)| {
            let ph = entry
                .ph
                .filter(|_| job.take(&format!("water.source[{}].ph", n + 1)))?;
            let mut members = water(n + 1, entry, &Job::of(""));
            members.insert("pH".to_owned(), json!(ph.canonical()));
            Some(Value::Object(members))
        });
    let lists = [
        ("fermentables", malts.collect::<Vec<_>>()),
        ("hop_varieties", hops.collect()),
        ("profiles", waters.collect()),
    ];
    lists
        .into_iter()
        .filter(|(_, list)| !list.is_empty())
        .collect()
}

fn malt_record(n: usize, entry: &GristEntry, malt: &Fermentable, job: &Job) -> Option<Value> {
    let at = format!("grist[{n}]");
    let sheet = &entry.sheet;
    let mut more = Map::new();
    let mut put = |key: &str, member: &str, unit: &str, value: Option<f64>| {
        if let (true, Some(value)) = (job.take(&format!("{at}.{key}")), value) {
            more.insert(member.to_owned(), measured(unit, value));
        }
    };
    put(
        "moisture",
        "moisture",
        "%",
        sheet.moisture.map(|x| x.canonical() * 100.0),
    );
    put(
        "diastatic_power",
        "diastatic_power",
        "Lintner",
        sheet.diastatic_power.map(|x| x.canonical()),
    );
    put(
        "distilled_ph",
        "di_ph",
        "pH",
        sheet.distilled_ph.map(|x| x.canonical()),
    );
    put(
        "amino_nitrogen",
        "fan",
        "ppm",
        sheet.amino_nitrogen.map(|x| x.canonical()),
    );
    put("smm", "dms_p", "ppm", sheet.smm.map(|x| x.canonical()));
    if more.is_empty() {
        return None;
    }
    let mut members = fermentable(&at, entry, malt, &Job::of(""));
    members.append(&mut more);
    Some(Value::Object(members))
}

fn hop_record(n: usize, entry: &HopEntry, job: &Job) -> Option<Value> {
    let at = format!("hop[{n}]");
    let kept = entry
        .sheet
        .kept
        .filter(|_| job.take(&format!("{at}.kept")))?;
    let mut members = variety(&at, entry, &Job::of(""));
    members.insert(
        "percent_lost".to_owned(),
        measured("%", 100.0 - kept.canonical() * 100.0),
    );
    Some(Value::Object(members))
}
