//! Waters, and the salts and acids that go into them.

use quantity::{
    Alkalinity, Calcium, Chloride, Fluoride, Fraction, Iron, Magnesium, Mass, MassConcentration,
    Nitrate, Nitrite, Potassium, Quantity, Sodium, Sulfate, Volume, molar_mass,
};

use super::at::At;
use super::draft::Draft;
use super::grist::record;
use crate::units::{ION, MASS, VOLUME, number};

/// The waters of a recipe, and what is given to them.
pub(super) fn water(ingredients: &At<'_>, file: &At<'_>, recipe: &At<'_>, draft: &mut Draft) {
    let sources = ingredients.each("water_additions");
    if sources.is_empty() {
        distilled(recipe, draft);
    }
    let litres: Vec<Option<f64>> = sources.iter().map(litres).collect();
    let total: f64 = litres.iter().flatten().sum();
    let all_told = litres.iter().all(Option::is_some) && total > 0.0;
    for (at, litres) in sources.iter().zip(&litres) {
        draft.table("[[water.source]]");
        draft.put(
            "name",
            at.text_of("name").unwrap_or("a water without a name"),
        );
        if sources.len() > 1 {
            #[expect(clippy::cast_precision_loss, reason = "a handful of waters")]
            let even = 100.0 / sources.len() as f64;
            let share = match litres {
                Some(litres) if all_told => 100.0 * litres / total,
                _ => {
                    at.missing(
                        "amount",
                        "how much of each water is not said",
                        &format!("share = {even} %"),
                    );
                    even
                }
            };
            if let Some(told) = at.told::<Fraction>(number(share), "%") {
                draft.put("share", &told.text);
            }
        }
        for (key, text) in figures(at) {
            draft.put(key, &text);
        }
        if let Some(profile) = record(at, file, "profiles") {
            profile.see();
            if at.get("pH").is_none() {
                draft.put_if("ph", ph(&profile).as_ref());
            }
        }
    }
    for at in ingredients.each("miscellaneous_additions") {
        agent(&at, recipe, draft);
    }
}

fn litres(at: &At<'_>) -> Option<f64> {
    Some(at.quantity_of::<Volume>("amount", VOLUME)?.canonical())
}

fn distilled(recipe: &At<'_>, draft: &mut Draft) {
    draft.table("[[water.source]]");
    draft.put("name", "not in the file: distilled water stands in");
    draft.stand_in("kind", "water", recipe, "ingredients/water_additions");
    let zero = ["calcium", "magnesium", "chloride", "sulfate"];
    for ion in zero {
        draft.put(ion, "0 mg/L");
    }
    draft.put("alkalinity", "0 mEq/L");
}

/// The figures of an analysis.
pub(super) fn figures(at: &At<'_>) -> Vec<(&'static str, String)> {
    let mut keys: Vec<(&'static str, Option<String>)> = vec![
        ("calcium", ion::<Calcium>(at, "calcium")),
        ("magnesium", ion::<Magnesium>(at, "magnesium")),
        ("sodium", ion::<Sodium>(at, "sodium")),
        ("potassium", ion::<Potassium>(at, "potassium")),
        ("alkalinity", alkalinity(at)),
        ("chloride", ion::<Chloride>(at, "chloride")),
        ("sulfate", ion::<Sulfate>(at, "sulfate")),
        ("nitrate", ion::<Nitrate>(at, "nitrate")),
        ("nitrite", ion::<Nitrite>(at, "nitrite")),
        ("iron", ion::<Iron>(at, "iron")),
        ("fluoride", fluoride(at)),
    ];
    keys.push(("ph", ph(at).map(|told| told.text)));
    keys.into_iter()
        .filter_map(|(key, text)| Some((key, text?)))
        .collect()
}

fn ion<Q: Quantity>(at: &At<'_>, key: &str) -> Option<String> {
    Some(at.quantity_of::<Q>(key, ION)?.text)
}

/// Release 1.0.2 spells it as it does; later states have both spellings.
fn fluoride(at: &At<'_>) -> Option<String> {
    let old = ion::<Fluoride>(at, "flouride");
    ion::<Fluoride>(at, "fluoride").or(old)
}

/// Bicarbonate, and carbonate beside it, as alkalinity.
fn alkalinity(at: &At<'_>) -> Option<String> {
    let bicarbonate = at.get("bicarbonate")?;
    let carbonate = at
        .quantity_of::<MassConcentration>("carbonate", ION)
        .map_or(0.0, |c| c.canonical());
    let (value, unit) = bicarbonate.raw()?;
    let hco3 = if unit == "ppb" { value * 1e-3 } else { value };
    let (text, why) = if carbonate > 0.0 {
        let meq = hco3 / molar_mass::HCO3 + 2.0 * carbonate / molar_mass::CO3;
        (
            bicarbonate.told::<Alkalinity>(number(meq), "mEq/L")?,
            "bicarbonate and carbonate together",
        )
    } else {
        (
            bicarbonate.told::<Alkalinity>(number(hco3), "mg/L as HCO3")?,
            "bicarbonate is nearly all of the alkalinity of fresh water",
        )
    };
    bicarbonate.changed(why, &format!("alkalinity = {}", text.text));
    Some(text.text)
}

fn ph(at: &At<'_>) -> Option<super::at::Told<quantity::Ph>> {
    let at = at.get("pH")?;
    let value = at.number()?;
    at.told(value, "")
}

/// A water agent that is one of our salts or acids; the rest is no part of the model.
fn agent(at: &At<'_>, recipe: &At<'_>, draft: &mut Draft) {
    if at.peek("type") != Some("water agent") {
        at.left("spices, finings and the like are no part of the model");
        return;
    }
    let Some(into) = into(at, recipe) else {
        at.left("salts and acids are taken into the mash or the sparge liquor");
        return;
    };
    let name = at.peek("name").unwrap_or_default();
    let salt = water::salts::Salt::named(name).ok();
    let acid = water::acids::AcidProduct::named(name).ok();
    match (salt, acid) {
        (Some(salt), _) => salt_entry(at, &salt.name, into, draft),
        (None, Some(acid)) => acid_entry(at, &acid.name, into, draft),
        (None, None) => at.left(
            "no salt, and no acid with its strength, is called so; an acid of unknown strength is not dosed",
        ),
    }
}

fn into(at: &At<'_>, recipe: &At<'_>) -> Option<&'static str> {
    let timing = at.get("timing")?;
    if timing.peek("use") != Some("add_to_mash") {
        return None;
    }
    let step = timing.get("step").and_then(|s| s.number());
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a float to usize saturates"
    )]
    let place = step.map(|n| n as usize);
    let steps = recipe
        .get("mash")
        .map(|m| m.each("mash_steps"))
        .unwrap_or_default();
    let kind = place
        .and_then(|n| steps.get(n.checked_sub(1)?))
        .and_then(|s| s.peek("type"));
    if let Some(used) = timing.get("use") {
        used.see();
    }
    if kind == Some("sparge") {
        Some("sparge")
    } else {
        Some("mash")
    }
}

fn salt_entry(at: &At<'_>, salt: &str, into: &str, draft: &mut Draft) {
    let Some(amount) = at.get("amount").and_then(|a| a.quantity::<Mass>(MASS)) else {
        at.left("salts are taken by mass");
        return;
    };
    draft.table("[[water.salt]]");
    draft.put("salt", salt);
    draft.put("amount", &amount.text);
    draft.put("into", into);
    named(at);
}

fn acid_entry(at: &At<'_>, acid: &str, into: &str, draft: &mut Draft) {
    let Some(amount) = at.get("amount") else {
        return;
    };
    let by_mass = amount
        .raw()
        .is_some_and(|(_, unit)| MASS.iter().any(|(word, ..)| *word == unit));
    let told = if by_mass {
        amount.quantity::<Mass>(MASS).map(|m| ("mass", m.text))
    } else {
        amount
            .quantity::<Volume>(VOLUME)
            .map(|v| ("volume", v.text))
    };
    let Some((key, text)) = told else {
        at.left("acids are taken by volume or mass");
        return;
    };
    draft.table("[[water.acid]]");
    draft.put("acid", acid);
    draft.put(key, &text);
    draft.put("into", into);
    named(at);
}

fn named(at: &At<'_>) {
    for key in ["name", "type"] {
        if let Some(at) = at.get(key) {
            at.see();
        }
    }
}
