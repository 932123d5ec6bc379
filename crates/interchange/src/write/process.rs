//! Mash, boil, fermentation, package and kit.

use batch::{Document, HopEntry, HopUse, Reckoning, SpargeKind, Vessel};
use serde_json::{Map, Value, json};
use wort::{Part, Stepping};

use super::job::{Job, measured, time};
use crate::read::{BATCH, CONTINUOUS, NO_SPARGE};

/// Where the steps are that additions point to, counted from one.
pub(super) struct Steps {
    /// The step of the mash that is the sparge.
    pub(super) sparge: Option<usize>,
    boil: Vec<BoilStep>,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum BoilStep {
    Before,
    Boil,
    Whirlpool,
    /// Wort held at a temperature \[°C\].
    Stand(f64),
    Chill,
}

impl Steps {
    /// The step of the boil in which a hop goes in, where it is not the boil itself.
    pub(super) fn of_hop(&self, hop: &HopEntry) -> Option<usize> {
        let wanted = match hop.used {
            HopUse::FirstWort => BoilStep::Before,
            HopUse::Whirlpool => BoilStep::Whirlpool,
            HopUse::Stand => BoilStep::Stand(hop.temperature?.value.c()),
            HopUse::Mash | HopUse::Boil | HopUse::Dry => return None,
        };
        Some(self.boil.iter().position(|step| *step == wanted)? + 1)
    }
}

/// The steps of a document.
pub(super) fn steps(document: &Document) -> Steps {
    let rests = document.mash.rests.len();
    Steps {
        sparge: (document.mash.sparge != SpargeKind::None).then_some(rests + 1),
        boil: boil_steps(document),
    }
}

fn boil_steps(document: &Document) -> Vec<BoilStep> {
    let used = |wanted| document.hops.iter().any(|hop| hop.used == wanted);
    let mut steps = Vec::new();
    if used(HopUse::FirstWort) {
        steps.push(BoilStep::Before);
    }
    steps.push(BoilStep::Boil);
    if used(HopUse::Whirlpool) || document.boil.whirlpool.canonical() > 0.0 {
        steps.push(BoilStep::Whirlpool);
    }
    let stands = document.hops.iter().filter(|hop| hop.used == HopUse::Stand);
    for temperature in stands.filter_map(|hop| hop.temperature) {
        let stand = BoilStep::Stand(temperature.value.c());
        if !steps.contains(&stand) {
            steps.push(stand);
        }
    }
    steps.push(BoilStep::Chill);
    steps
}

pub(super) fn mash(document: &Document, job: &Job) -> Value {
    let mash = &document.mash;
    job.take("mash.grain_temperature");
    job.take("mash.stepping");
    let mut steps: Vec<Value> = Vec::new();
    for (n, rest) in mash.rests.iter().enumerate() {
        let at = format!("mash.rest[{}]", n + 1);
        for key in ["temperature", "time", "by"] {
            job.take(&format!("{at}.{key}"));
        }
        let stepping = if n == 0 {
            Stepping::Infusion
        } else {
            rest.by.unwrap_or(mash.stepping)
        };
        let celsius = rest.temperature.value.c();
        let mut step = Map::new();
        step.insert("name".to_owned(), json!(format!("Rest {}", n + 1)));
        step.insert("type".to_owned(), json!(way(&at, stepping, job)));
        step.insert("step_temperature".to_owned(), measured("C", celsius));
        step.insert(
            "step_time".to_owned(),
            job.time(&format!("{at}.time"), rest.time.canonical()),
        );
        if n == 0 && job.take("mash.thickness") {
            let ratio = measured("l/kg", mash.thickness.canonical());
            step.insert("water_grain_ratio".to_owned(), ratio);
        }
        steps.push(Value::Object(step));
    }
    steps.extend(sparge(document, job));
    json!({
        "name": "Mash",
        "grain_temperature": measured("C", mash.grain_temperature.value.c()),
        "mash_steps": steps,
    })
}

fn way(at: &str, stepping: Stepping, job: &Job) -> &'static str {
    match stepping {
        Stepping::Infusion => "infusion",
        Stepping::Heat => "temperature",
        Stepping::Decoction(part) => {
            if part != Part::Whole {
                job.changed(
                    &format!("{at}.by"),
                    "the standard does not say which part is boiled",
                    "decoction",
                );
            }
            "decoction"
        }
    }
}

fn sparge(document: &Document, job: &Job) -> Vec<Value> {
    let mash = &document.mash;
    for key in ["sparge", "sparge_steps", "sparge_temperature"] {
        job.take(&format!("mash.{key}"));
    }
    let step = |name: &str, kind: &str, celsius: f64| {
        json!({
            "name": name,
            "type": kind,
            "step_temperature": measured("C", celsius),
            "step_time": time(0.0),
        })
    };
    let hot = mash.sparge_temperature.value.c();
    match mash.sparge {
        SpargeKind::None => {
            let last = mash
                .rests
                .last()
                .map_or(hot, |rest| rest.temperature.value.c());
            vec![step(NO_SPARGE, "drain mash tun", last)]
        }
        SpargeKind::Batch => {
            let steps = mash.sparge_steps.max(1);
            (0..steps).map(|_| step(BATCH, "sparge", hot)).collect()
        }
        SpargeKind::Continuous => vec![step(CONTINUOUS, "sparge", hot)],
    }
}

pub(super) fn boil(document: &Document, job: &Job) -> Value {
    let boil = &document.boil;
    for key in ["time", "whirlpool", "chilled_to"] {
        job.take(&format!("boil.{key}"));
    }
    let boil_time = job.time("boil.time", boil.time.canonical());
    let mut steps = Vec::new();
    for step in boil_steps(document) {
        steps.push(match step {
            BoilStep::Before => json!({ "name": "Preboil" }),
            BoilStep::Boil => json!({ "name": "Boil", "step_time": boil_time }),
            BoilStep::Whirlpool => {
                let hours = boil.whirlpool.canonical();
                if hours > 0.0 {
                    json!({ "name": "Whirlpool", "step_time": job.time("boil.whirlpool", hours) })
                } else {
                    json!({ "name": "Whirlpool" })
                }
            }
            BoilStep::Stand(celsius) => json!({
                "name": "Hop stand",
                "start_temperature": measured("C", celsius),
                "end_temperature": measured("C", celsius),
            }),
            BoilStep::Chill => json!({
                "name": "Chill",
                "end_temperature": measured("C", boil.chilled_to.value.c()),
            }),
        });
    }
    json!({ "boil_time": boil_time, "boil_steps": steps })
}

pub(super) fn fermentation(document: &Document, job: &Job) -> Value {
    let course = &document.fermentation.course;
    for n in 1..=course.len() {
        job.take(&format!("fermentation.course[{n}].at"));
        job.take(&format!("fermentation.course[{n}].temperature"));
    }
    let mut steps = Vec::new();
    for (n, pair) in course.windows(2).enumerate() {
        let [from, to] = pair else { continue };
        let hours = to.at.canonical() - from.at.canonical();
        // A jump is the end of one step and the start of the next.
        if hours <= 0.0 {
            continue;
        }
        let path = format!("fermentation.course[{}].at", n + 2);
        steps.push(json!({
            "name": format!("Step {}", steps.len() + 1),
            "start_temperature": measured("C", from.temperature.value.c()),
            "end_temperature": measured("C", to.temperature.value.c()),
            "step_time": job.time(&path, hours),
        }));
    }
    json!({ "name": "Fermentation", "fermentation_steps": steps })
}

pub(super) fn packaging(document: &Document, job: &Job) -> Value {
    let package = &document.package;
    job.take("package.vessel");
    job.take("package.carbon_dioxide");
    let mut vessel = Map::new();
    let mut put = |key: &str, value: Value| {
        vessel.insert(key.to_owned(), value);
    };
    let word = match package.vessel {
        Vessel::Bottles => "bottle",
        Vessel::Keg => "keg",
    };
    put("name", json!(word));
    put("type", json!(word));
    let volumes = package.carbon_dioxide.value.volumes();
    put("carbonation", json!(crate::units::number(volumes)));
    job.changed(
        "package.carbon_dioxide",
        "the standard has a number without a unit",
        "volumes",
    );
    if package.vessel == Vessel::Bottles && job.take("package.bottle_volume") {
        put(
            "vessel_volume",
            measured("l", package.bottle_volume.canonical()),
        );
    }
    json!({ "name": "Package", "packaging_vessels": [vessel] })
}

/// Litres of water at room temperature in a kilogram, as `L/h` of a document counts.
const LITRES_PER_KG: f64 = 1.0 / 0.998_2;

/// The kit, where the document says something of it that the standard has.
pub(super) fn kit(reckoning: &Reckoning, job: &Job) -> Option<Value> {
    let kit = &reckoning.document.kit;
    let mut items = Vec::new();
    let tun = [
        "tun_dead_space",
        "tun_capacity",
        "absorption",
        "tun_heat_capacity",
    ];
    if tun.iter().any(|key| job.has(&format!("kit.{key}"))) {
        let mut item = item(
            "Mash Tun",
            kit.tun_dead_space.canonical(),
            kit.tun_capacity.map(|c| c.canonical()),
            job,
        );
        job.take("kit.tun_dead_space");
        if job.take("kit.absorption") {
            item.insert(
                "grain_absorption_rate".to_owned(),
                measured("l/kg", kit.absorption.canonical()),
            );
        }
        if job.take("kit.tun_heat_capacity") {
            item.insert(
                "weight".to_owned(),
                measured("kg", kit.tun_heat_capacity.canonical()),
            );
            item.insert("specific_heat".to_owned(), measured("Cal/(g C)", 1.0));
            job.changed(
                "kit.tun_heat_capacity",
                "the tun as an equal mass of water",
                "a weight with the specific heat of water",
            );
        }
        items.push(item);
    }
    let kettle = ["kettle_loss", "kettle_capacity", "evaporation"];
    if kettle.iter().any(|key| job.has(&format!("kit.{key}"))) {
        let mut item = item(
            "Brew Kettle",
            kit.kettle_loss.canonical(),
            kit.kettle_capacity.map(|c| c.canonical()),
            job,
        );
        job.take("kit.kettle_loss");
        if job.take("kit.evaporation") {
            let litres = kit.evaporation.canonical() * LITRES_PER_KG;
            item.insert("boil_rate_per_hour".to_owned(), measured("l", litres));
        }
        items.push(item);
    }
    (!items.is_empty()).then(|| json!({ "name": "Kit", "equipment_items": items }))
}

fn item(form: &str, loss: f64, capacity: Option<f64>, job: &Job) -> Map<String, Value> {
    let key = if form == "Brew Kettle" {
        "kit.kettle_capacity"
    } else {
        "kit.tun_capacity"
    };
    if !job.take(key) {
        job.missing(
            key,
            "the standard asks for what it holds",
            "0 L, which says nothing",
        );
    }
    let mut item = Map::new();
    item.insert("name".to_owned(), json!(form));
    item.insert("form".to_owned(), json!(form));
    item.insert("loss".to_owned(), measured("l", loss));
    item.insert(
        "maximum_volume".to_owned(),
        measured("l", capacity.unwrap_or(0.0)),
    );
    item
}
