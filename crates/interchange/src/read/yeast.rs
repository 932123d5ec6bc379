//! The yeast of a recipe: the first culture that the model knows.

use quantity::{Cells, Fraction, Mass, Volume};

use super::at::At;
use super::draft::Draft;
use super::grist::record;
use crate::units::{MASS, PERCENT, VOLUME, number};
use crate::words;

/// Writes the yeast; true where it is one for lagers.
pub(super) fn yeast(
    ingredients: &At<'_>,
    file: &At<'_>,
    recipe: &At<'_>,
    draft: &mut Draft,
) -> bool {
    let mut chosen: Option<(At<'_>, Class<'_>)> = None;
    for culture in ingredients.each("culture_additions") {
        match (class(&culture, file), &chosen) {
            (Some(class), None) => chosen = Some((culture, class)),
            (Some(_), Some(_)) => culture.left("a batch has one yeast, the first of them"),
            (None, _) => culture.left("the model has no bacteria, no wild yeast and no wine yeast"),
        }
    }
    draft.table("[yeast]");
    let Some((culture, class)) = chosen else {
        draft.stand_in("class", "yeast", recipe, "ingredients/culture_additions");
        draft.put("form", "dry");
        draft.stand_in(
            "packet_mass",
            "yeast_mass",
            recipe,
            "ingredients/culture_additions",
        );
        attenuation(None, recipe, draft);
        return false;
    };
    if let Some(name) = class.name {
        draft.put("name", name);
    }
    draft.put("class", &class.class);
    amount(&culture, draft);
    attenuation(Some(&culture), recipe, draft);
    class.class == "lager"
}

struct Class<'n> {
    name: Option<&'n str>,
    class: String,
}

fn class<'v>(culture: &At<'v>, file: &At<'v>) -> Option<Class<'v>> {
    let kind = culture.get("type")?;
    let base = match kind.peek_text()? {
        "ale" => "neutral ale",
        "lager" => "lager",
        "kveik" => "kveik",
        "wheat" => "wheat",
        _ => return None,
    };
    kind.see();
    let name_at = culture.get("name")?;
    let written = name_at.text()?;
    let known = |word: &str| ferment::strain(word).ok().map(|s| s.name.clone());
    let (name, class) = words::split(written, known);
    if let Some(class) = class {
        return Some(Class { name, class });
    }
    let phenolic = record(culture, file, "cultures")
        .and_then(|r| r.get("pof"))
        .is_some_and(|pof| pof.is_true());
    let class = match words::yeast(written) {
        Some(class) if base == "neutral ale" => class,
        _ if phenolic && base == "neutral ale" => "phenolic ale".to_owned(),
        _ => base.to_owned(),
    };
    name_at.changed(
        "the class is judged from the type and the name",
        &format!("class = {class}"),
    );
    Some(Class { name, class })
}

/// How it comes and how much of it there is.
fn amount(culture: &At<'_>, draft: &mut Draft) {
    let amount = culture.get("amount");
    let raw = amount.as_ref().and_then(super::at::At::raw);
    let by = |units: &[crate::units::Unit]| {
        raw.is_some_and(|(_, u)| units.iter().any(|(w, ..)| *w == u))
    };
    let some = raw.is_some_and(|(value, _)| value > 0.0);
    let form = culture
        .get("form")
        .and_then(|f| f.text())
        .unwrap_or("liquid");
    let cells = culture.get("cell_count_billions");
    let harvested = matches!(form, "slant" | "culture" | "dregs");
    if let Some(cells) = cells {
        counted(culture, &cells, raw, draft);
    } else if by(MASS) && some {
        draft.put("form", "dry");
        if form != "dry"
            && let Some(at) = culture.get("form")
        {
            at.changed("yeast by mass is dry", "form = dry");
        }
        let told = amount.and_then(|a| a.quantity::<Mass>(MASS));
        draft.put_if("packet_mass", told.as_ref());
    } else if harvested && by(VOLUME) && some {
        draft.put("form", "slurry");
        let told = amount.as_ref().and_then(|a| a.quantity::<Volume>(VOLUME));
        draft.put_if("slurry", told.as_ref());
        if let Some(amount) = amount {
            amount.changed("how thick it is is not said", "thick slurry");
        }
    } else if form == "dry" {
        draft.put("form", "dry");
        packets(raw.filter(|_| some && !by(VOLUME)), amount.as_ref(), draft);
        draft.stand_in("packet_mass", "yeast_mass", culture, "amount");
    } else {
        draft.put("form", "liquid");
        packets(raw.filter(|_| some && !by(VOLUME)), amount.as_ref(), draft);
        draft.stand_in("cells", "yeast_cells", culture, "cell_count_billions");
    }
}

/// A number of packets; a volume of culture is one packet, and is told.
fn packets(raw: Option<(f64, &str)>, amount: Option<&At<'_>>, draft: &mut Draft) {
    let Some(amount) = amount else { return };
    match raw {
        Some((value, _)) => {
            if let Some(told) = amount.told::<quantity::Count>(value, "") {
                draft.put("packets", &told.text);
            }
        }
        None => amount.left("a volume of culture does not tell its cells"),
    }
}

fn counted(culture: &At<'_>, cells: &At<'_>, raw: Option<(f64, &str)>, draft: &mut Draft) {
    draft.put("form", "liquid");
    let of_packets = raw.filter(|(value, unit)| {
        *value > 0.0 && matches!(*unit, "1" | "unit" | "each" | "dimensionless" | "pkg")
    });
    let packets = of_packets.map_or(1.0, |(value, _)| value);
    if let Some(at) = culture.get("amount") {
        if of_packets.is_some() {
            at.see();
        } else {
            at.left("the cells are counted");
        }
    }
    let Some(billions) = cells.number() else {
        return;
    };
    if let Some(told) = cells.told::<Cells>(number(billions / packets), "billion cells") {
        draft.put("packets", &packets.to_string());
        draft.put("cells", &told.text);
    }
}

fn attenuation(culture: Option<&At<'_>>, recipe: &At<'_>, draft: &mut Draft) {
    let own = culture.and_then(|c| c.quantity_of::<Fraction>("attenuation", PERCENT));
    let Some(at) = recipe.get("apparent_attenuation") else {
        draft.put_if("attenuation", own.as_ref());
        return;
    };
    if own.is_some() {
        at.left("that of the yeast is taken");
        draft.put_if("attenuation", own.as_ref());
    } else {
        draft.put_if("attenuation", at.quantity::<Fraction>(PERCENT).as_ref());
    }
}
