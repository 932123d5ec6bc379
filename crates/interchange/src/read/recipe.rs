//! A recipe as a batch.

use quantity::{AlcoholByVolume, CarbonDioxide, Fraction, Gravity, Volume};

use super::at::At;
use super::draft::Draft;
use super::{Found, Imported, course, grist, hops, kettle, kit, mash, water, yeast};
use crate::units::{ALCOHOL, GRAVITY, PERCENT, VOLUME};

/// How the author is kept in the notes of a batch.
pub(crate) const AUTHOR: &str = "Author: ";

/// The batch of a recipe; none where it is no beer. `alone`: the file has no other recipe,
/// so that its kit is the kit of this one.
pub(crate) fn batch(recipe: &At<'_>, file: &At<'_>, alone: bool) -> Option<Imported> {
    match recipe.get("type").and_then(|kind| kind.text()) {
        Some("all grain" | "partial mash" | "extract") => {}
        _ => {
            recipe.left("it is no beer of malt, which is what the model knows");
            return None;
        }
    }
    let volume = recipe.get("batch_size")?;
    let Some(litres) = volume
        .quantity::<Volume>(VOLUME)
        .filter(|v| v.canonical() > 0.0)
    else {
        recipe.left("a batch needs a volume above zero: batch_size");
        return None;
    };
    let name = recipe.text_of("name").unwrap_or("a recipe without a name");
    let mut draft = Draft::default();
    draft.table("[batch]");
    draft.put("name", name);
    draft.put("volume", &litres.text);
    if let Some(notes) = notes(recipe) {
        draft.put("notes", &notes);
    }
    kit::kit(recipe, file, alone, &mut draft);
    let ingredients = recipe.get("ingredients")?;
    let grain = grist::grist(&ingredients, file, recipe, &mut draft);
    mash::mash(recipe, grain, &mut draft);
    let steps = kettle::boil(recipe, &mut draft);
    hops::hops(&ingredients, file, &steps, &mut draft);
    water::water(&ingredients, file, recipe, &mut draft);
    let lager = yeast::yeast(&ingredients, file, recipe, &mut draft);
    course::course(recipe, lager, &mut draft);
    course::package(recipe, &mut draft);
    aim(recipe, &mut draft);
    Some(Imported {
        found: Found::Batch,
        name: name.to_owned(),
        text: draft.into_text(),
        analysis: None,
    })
}

fn notes(recipe: &At<'_>) -> Option<String> {
    let author = recipe.text_of("author").map(|a| format!("{AUTHOR}{a}"));
    let notes = recipe.text_of("notes").map(str::to_owned);
    let both: Vec<String> = author.into_iter().chain(notes).collect();
    (!both.is_empty()).then(|| both.join("\n"))
}

/// What the recipe says of its beer is what the batch aims at.
fn aim(recipe: &At<'_>, draft: &mut Draft) {
    let original = gravity(recipe, "original_gravity");
    let last = gravity(recipe, "final_gravity");
    let alcohol = recipe.quantity_of::<AlcoholByVolume>("alcohol_by_volume", ALCOHOL);
    let colour = recipe
        .get("color_estimate")
        .and_then(|at| grist::colour(&at));
    if original.is_none() && last.is_none() && alcohol.is_none() && colour.is_none() {
        return;
    }
    draft.table("[aim]");
    for (key, text) in [("original_gravity", &original), ("final_gravity", &last)] {
        if let Some(text) = text {
            draft.put(key, text);
        }
    }
    draft.put_if("alcohol", alcohol.as_ref());
    draft.put_if("colour", colour.as_ref());
}

/// A gravity as a document writes it.
pub(super) fn gravity(at: &At<'_>, key: &str) -> Option<String> {
    let at = at.get(key)?;
    Some(at.quantity::<Gravity>(GRAVITY)?.text)
}

/// The gas of a package, which the standard writes without a unit.
pub(super) fn carbonation(at: &At<'_>) -> Option<String> {
    let at = at.get("carbonation")?;
    let volumes = at.number()?;
    let told = at.told::<CarbonDioxide>(volumes, "vol")?;
    at.changed("it has no unit; volumes are the usual one", &told.text);
    Some(told.text)
}

/// A share of a member.
pub(super) fn share(at: &At<'_>, key: &str) -> Option<String> {
    Some(at.quantity_of::<Fraction>(key, PERCENT)?.text)
}
