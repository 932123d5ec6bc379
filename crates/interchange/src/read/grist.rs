//! Fermentables as a grist.

use quantity::{
    Colour, DiastaticPower, EBC_PER_SRM, Fraction, HotWaterExtract, Mass, MassFraction, Ph,
};

use super::at::{At, Told};
use super::draft::Draft;
use super::recipe::share;
use crate::units::{
    ACIDITY, COLOUR, CONTENT, DIASTATIC, LITRE_DEGREES_PER_POINT, MASS, PERCENT, number,
    srm_of_lovibond,
};
use crate::words::{self, stand_in};

/// The grist; gives back the mass of what is mashed \[kg\].
pub(super) fn grist(
    ingredients: &At<'_>,
    file: &At<'_>,
    recipe: &At<'_>,
    draft: &mut Draft,
) -> f64 {
    let mut mashed_kg = 0.0;
    let mut any = false;
    for addition in ingredients.each("fermentable_additions") {
        let Some((class, amount)) = class_and_amount(&addition) else {
            continue;
        };
        any = true;
        draft.table("[[grist]]");
        if let Some(name) = class.name {
            draft.put("name", name);
        }
        draft.put("class", &class.class);
        draft.put("amount", &amount.text);
        sheet(&addition, draft);
        of_record(&addition, file, draft);
        timing(&addition);
        if wort::malts::find(&class.class).is_ok_and(|m| m.kind.is_mashed()) {
            mashed_kg += amount.canonical();
        }
    }
    if !any {
        recipe.missing(
            "ingredients/fermentable_additions",
            "nothing of it can be mashed or boiled here",
            "nothing: the batch waits for its grist",
        );
    }
    mashed_kg
}

/// What a fermentable is called and which class it is of.
pub(super) struct Named<'n> {
    pub(super) name: Option<&'n str>,
    pub(super) class: String,
}

fn class_and_amount<'v>(addition: &At<'v>) -> Option<(Named<'v>, Told<Mass>)> {
    let class = class(addition)?;
    let amount = addition.get("amount")?;
    if amount
        .quantity::<Mass>(MASS)
        .is_none_or(|m| m.canonical() <= 0.0)
    {
        addition.left("a batch takes malt and sugar by mass, above zero");
        return None;
    }
    let amount = amount.quantity::<Mass>(MASS)?;
    Some((class, amount))
}

/// The class of a fermentable; what nothing here is like is left out.
pub(super) fn class<'v>(addition: &At<'v>) -> Option<Named<'v>> {
    let name_at = addition.get("name")?;
    let written = name_at.text()?;
    // By its own name alone: a shorter one, such as "crystal malt", is for the colour to say.
    let known = |word: &str| {
        let found = wort::malts::find(word).ok()?.name;
        (found.to_lowercase() == word.to_lowercase()).then_some(found)
    };
    let (name, class) = words::split(written, known);
    let kind = addition.get("type")?;
    let judged = match kind.text()? {
        "grain" => by_name_or_colour(written, addition),
        "sugar" => words::sugar(written).or_else(|| Some("sucrose".to_owned())),
        "honey" => Some("honey".to_owned()),
        "dry extract" => Some("dried malt extract".to_owned()),
        "extract" => Some("liquid malt extract".to_owned()),
        _ => None,
    };
    if let Some(class) = class {
        return Some(Named { name, class });
    }
    let Some(class) = judged else {
        addition.left(
            "the model has no fruit, no juice, and nothing else that is neither malt nor sugar",
        );
        return None;
    };
    name_at.changed(
        "the class is judged from the name, the type and the colour",
        &format!("class = {class}"),
    );
    Some(Named { name, class })
}

fn by_name_or_colour(name: &str, addition: &At<'_>) -> Option<String> {
    let lower = name.to_lowercase();
    let crystal = ["crystal", "caramel", "cara"]
        .iter()
        .any(|w| lower.contains(w))
        || addition.get("grain_group").and_then(|g| g.text()) == Some("caramel");
    let ebc = addition
        .get("color")
        .and_then(|at| ebc(&at))
        .unwrap_or_default();
    if crystal {
        // The middles between the three classes.
        let class = match ebc {
            x if x < 90.0 => "crystal malt 50 to 80 EBC",
            x if x < 180.0 => "crystal malt 100 to 160 EBC",
            _ => "crystal malt 200 to 400 EBC",
        };
        return Some(class.to_owned());
    }
    let alias = wort::malts::find(name).ok().map(|m| m.name);
    alias
        .or_else(|| words::malt(name))
        .or_else(|| Some(stand_in("grist").value.clone()))
}

/// The figures of its own: extract and colour.
pub(super) fn sheet(addition: &At<'_>, draft: &mut Draft) {
    if let Some(yields) = addition.get("yield") {
        extract(&yields, draft);
    }
    let colour = addition.get("color").and_then(|at| colour(&at));
    draft.put_if("colour", colour.as_ref());
}

/// One way of stating the extract is taken: fine grind before coarse before potential.
fn extract(yields: &At<'_>, draft: &mut Draft) {
    let fine = share(yields, "fine_grind");
    let difference = share(yields, "fine_coarse_difference");
    let coarse = yields.get("coarse_grind");
    match (&fine, &coarse) {
        (Some(fine), Some(coarse)) => {
            draft.put("extract", fine);
            match difference {
                Some(told) => {
                    draft.put("coarse_fine", &told);
                    coarse.left("it follows from fine grind and the difference");
                }
                None => from_both(fine, coarse, draft),
            }
        }
        (Some(fine), None) => {
            draft.put("extract", fine);
            if let Some(told) = difference {
                draft.put("coarse_fine", &told);
            }
        }
        (None, Some(coarse)) => {
            if let Some(told) = coarse.quantity::<Fraction>(PERCENT) {
                draft.put("coarse_extract", &told.text);
            }
            if let Some(told) = difference {
                draft.put("coarse_fine", &told);
            }
        }
        (None, None) => {}
    }
    let Some(potential) = yields.get("potential") else {
        return;
    };
    if fine.is_some() || coarse.is_some() {
        potential.left("the extract of the laboratory is taken");
    } else if let Some(told) = litre_degrees(&potential) {
        draft.put("hot_water_extract", &told.text);
    }
}

fn from_both(fine: &str, coarse: &At<'_>, draft: &mut Draft) {
    let fine = quantity::parse_value::<Fraction>(fine).map(quantity::Fraction::ratio);
    let (Ok(fine), Some((coarse_percent, _))) = (fine, coarse.raw()) else {
        return;
    };
    let difference = number(fine * 100.0 - coarse_percent);
    if let Some(told) = coarse.told::<Fraction>(difference, "%") {
        coarse.changed(
            "fine grind less coarse grind",
            &format!("coarse_fine = {}", told.text),
        );
        draft.put("coarse_fine", &told.text);
    }
}

/// Points of a pound in a gallon as litre degrees of a kilogram: the same figure in other
/// units.
fn litre_degrees(potential: &At<'_>) -> Option<Told<HotWaterExtract>> {
    let (value, unit) = potential.raw()?;
    if unit != "sg" || !(0.99..1.06).contains(&value) {
        potential.left(
            "the potential of a pound in a gallon lies between 1.000 and 1.046; the extract of the class is taken",
        );
        return None;
    }
    let degrees = number(((value - 1.0) * 1000.0).max(0.0) * LITRE_DEGREES_PER_POINT);
    potential.told(degrees, "L°/kg")
}

/// A colour; degrees Lovibond are turned into SRM, which is told.
pub(super) fn colour(at: &At<'_>) -> Option<Told<Colour>> {
    let (value, unit) = at.raw()?;
    if unit != "Lovi" {
        return at.quantity(COLOUR);
    }
    let told = at.told(number(srm_of_lovibond(value)), "SRM")?;
    at.changed(
        "degrees Lovibond are read by eye; SRM = 1.3546 °L - 0.76, no less than 0 (from memory)",
        &told.text,
    );
    Some(told)
}

fn ebc(at: &At<'_>) -> Option<f64> {
    let (value, unit) = at.raw()?;
    Some(match unit {
        "Lovi" => srm_of_lovibond(value) * EBC_PER_SRM,
        "SRM" => value * EBC_PER_SRM,
        _ => value,
    })
}

/// What the record of the same name says beyond the addition.
fn of_record(addition: &At<'_>, file: &At<'_>, draft: &mut Draft) {
    let Some(record) = record(addition, file, "fermentables") else {
        return;
    };
    for key in ["name", "type", "yield", "color", "grain_group"] {
        if let Some(at) = record.get(key) {
            at.see();
        }
    }
    record_sheet(&record, draft);
}

/// The figures that only a record has.
pub(super) fn record_sheet(record: &At<'_>, draft: &mut Draft) {
    draft.put_if(
        "moisture",
        record.quantity_of::<Fraction>("moisture", PERCENT).as_ref(),
    );
    if let Some(at) = record.get("diastatic_power") {
        let told = match at.raw() {
            Some((wk, "WK")) => at.told::<DiastaticPower>(number((wk + 16.0) / 3.5), "°Lintner"),
            _ => at.quantity(DIASTATIC),
        };
        draft.put_if("diastatic_power", told.as_ref());
    }
    draft.put_if(
        "distilled_ph",
        record.quantity_of::<Ph>("di_ph", ACIDITY).as_ref(),
    );
    draft.put_if(
        "amino_nitrogen",
        record.quantity_of::<MassFraction>("fan", CONTENT).as_ref(),
    );
    draft.put_if(
        "smm",
        record
            .quantity_of::<MassFraction>("dms_p", CONTENT)
            .as_ref(),
    );
}

/// The one record of a list that bears the name of an addition.
pub(super) fn record<'v>(addition: &At<'v>, file: &At<'v>, list: &str) -> Option<At<'v>> {
    let name = addition.get("name")?.text()?;
    let mut found = file
        .each(list)
        .into_iter()
        .filter(|r| r.peek("name") == Some(name));
    match (found.next(), found.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    }
}

/// Grain is mashed and sugar boiled, which needs no word; anything else does.
fn timing(addition: &At<'_>) {
    if let Some(at) = addition.get("timing").and_then(|t| t.get("use"))
        && matches!(at.peek_text(), Some("add_to_mash" | "add_to_boil"))
    {
        at.see();
    }
}
