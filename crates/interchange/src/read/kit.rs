//! The equipment of a file as a kit.

use quantity::{Fraction, Mass, Volume, VolumePerMass};

use super::at::{At, Told};
use super::draft::Draft;
use crate::units::{MASS, PER_HOUR, PER_MASS, PERCENT, VOLUME, figure, number};

/// The kit of a recipe: the one set of equipment of a file with one recipe, and how much
/// the mash dissolves.
pub(super) fn kit(recipe: &At<'_>, file: &At<'_>, alone: bool, draft: &mut Draft) {
    let mut keys = Vec::new();
    if let Some(efficiency) = recipe.get("efficiency") {
        keys.extend(conversion(&efficiency));
        for part in ["lauter", "mash", "brewhouse"] {
            if let Some(at) = efficiency.get(part) {
                at.left("what reaches the kettle and the fermenter is reckoned from the kit");
            }
        }
    }
    if let (true, [set]) = (alone, file.each("equipments").as_slice()) {
        keys.extend(of_set(set));
        set.text_of("name");
    }
    if keys.is_empty() {
        return;
    }
    draft.table("[kit]");
    for (key, value) in keys {
        draft.put(key, &value);
    }
}

fn conversion(efficiency: &At<'_>) -> Option<(&'static str, String)> {
    let at = efficiency.get("conversion")?;
    if at.raw().is_some_and(|(share, _)| share <= 0.0) {
        at.left("a mash that dissolves nothing makes no wort");
        return None;
    }
    let told = at.quantity::<Fraction>(PERCENT)?;
    Some(("conversion", told.text))
}

/// The keys of `[kit]` that a set of equipment tells.
pub(super) fn of_set(set: &At<'_>) -> Vec<(&'static str, String)> {
    let mut keys = Vec::new();
    let (mut tun, mut kettle) = (false, false);
    for item in set.each("equipment_items") {
        match item.get("form").and_then(|form| form.text()) {
            Some("Mash Tun" | "Lauter Tun") if !tun => {
                tun = true;
                keys.extend(mash_tun(&item));
            }
            Some("Brew Kettle") if !kettle => {
                kettle = true;
                keys.extend(boil_kettle(&item));
            }
            _ => {
                item.left("a kit here is a mash tun and a kettle");
                continue;
            }
        }
        for word in ["name", "type"] {
            if let Some(at) = item.get(word) {
                at.see();
            }
        }
    }
    keys
}

fn mash_tun(item: &At<'_>) -> Vec<(&'static str, String)> {
    let dead = item.quantity_of::<Volume>("loss", VOLUME);
    let absorption = item.quantity_of::<VolumePerMass>("grain_absorption_rate", PER_MASS);
    let mut keys: Vec<(&'static str, String)> = [
        ("tun_dead_space", dead.map(|t| t.text)),
        ("absorption", absorption.map(|t| t.text)),
        ("tun_capacity", capacity(item)),
    ]
    .into_iter()
    .filter_map(|(key, text)| Some((key, text?)))
    .collect();
    keys.extend(heat_capacity(item).map(|text| ("tun_heat_capacity", text)));
    keys
}

fn capacity(item: &At<'_>) -> Option<String> {
    let told = item.quantity_of::<Volume>("maximum_volume", VOLUME)?;
    Some(told.text).filter(|_| told.measured.canonical() > 0.0)
}

/// Mass and specific heat of the tun as an equal mass of water.
fn heat_capacity(item: &At<'_>) -> Option<String> {
    let (weight, heat) = (item.get("weight")?, item.get("specific_heat")?);
    let mass: Told<Mass> = weight.quantity(MASS)?;
    let (value, unit) = heat.raw()?;
    let of_water = match unit {
        // A calorie warms a gram of water by a kelvin, a BTU a pound by a °F.
        "Cal/(g C)" | "BTU/(lb F)" => value,
        _ => value / figure("water_j_per_kg_k"),
    };
    let told = heat.told::<Mass>(number(mass.canonical() * of_water), "kg")?;
    heat.changed("the tun as an equal mass of water", &told.text);
    Some(told.text)
}

fn boil_kettle(item: &At<'_>) -> Vec<(&'static str, String)> {
    let loss = item.quantity_of::<Volume>("loss", VOLUME);
    let steam = item.get("boil_rate_per_hour").and_then(|at| steam(&at));
    [
        ("kettle_loss", loss.map(|t| t.text)),
        ("evaporation", steam),
        ("kettle_capacity", capacity(item)),
    ]
    .into_iter()
    .filter_map(|(key, text)| Some((key, text?)))
    .collect()
}

fn steam(at: &At<'_>) -> Option<String> {
    let (value, unit) = at.raw()?;
    let Some((_, litres)) = PER_HOUR.iter().find(|(word, _)| *word == unit) else {
        at.left(&format!(
            "{unit} is no unit of what a kettle gives off in an hour here"
        ));
        return None;
    };
    let told = at.told::<quantity::EvaporationRate>(number(value * litres), "L/h")?;
    Some(told.text)
}
