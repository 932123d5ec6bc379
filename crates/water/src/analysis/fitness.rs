//! Whether a water is fit to brew with.

use quantity::Note;

use super::limits::{Item, Kind, Limit, limits, passed};
use crate::state::{Ions, SourceWater};

/// What every remark about a health limit says.
const DO_NOT_BREW: &str = "do not brew with it";

/// Holds a source water to the limits: an act above a health limit, a look above
/// any other, and a word on what the analysis does not show.
#[must_use]
pub fn fitness(water: &SourceWater) -> Vec<Note> {
    let above = Item::ALL
        .iter()
        .filter_map(|item| note_above(*item, item.of(water)?));
    above.chain(not_shown(water)).collect()
}

/// Whether a source water passes a health limit.
#[must_use]
pub fn unfit(water: &SourceWater) -> bool {
    let passes = |item: &Item| {
        item.of(water)
            .is_some_and(|x| passed(*item, x).iter().any(|l| l.kind == Kind::Health))
    };
    Item::ALL.iter().any(passes)
}

/// Holds a treated mash liquor to what brewing minds, below and above. Items that
/// the tap already passes are left out, as they have been told.
#[must_use]
pub fn brewing_notes(tap: &Ions, mash: &Ions) -> Vec<Note> {
    let note = |item: &Item| {
        let value = item.of_ions(mash)?;
        let told = !passed(*item, item.of_ions(tap)?).is_empty();
        let low = limits()
            .iter()
            .find(|l| l.low && l.item == *item && value < l.mg_per_l);
        match low {
            Some(limit) => Some(low_note(limit, value)),
            None if told => None,
            None => note_above(*item, value),
        }
    };
    Item::ALL.iter().filter_map(note).collect()
}

/// Remarks on health limits that a source passes by itself where the blend does
/// not show it: an act where the blend may pass them too.
pub(super) fn hidden(source: &SourceWater, blend: &SourceWater) -> Vec<Note> {
    let health = |item: Item, value| {
        let mut limits = passed(item, value);
        limits.retain(|l| l.kind == Kind::Health);
        limits
    };
    let note = |item: &Item| {
        let value = item.of(source)?;
        let limits = health(*item, value);
        if limits.is_empty() {
            return None;
        }
        let name = &source.name;
        let figures = figures(&limits);
        let (item_name, value_text) = (item.name(), number(value));
        match item.of(blend) {
            None => Some(Note::act(format!(
                "{name} by itself has {value_text} mg/L of {item_name}, above {figures}, and the \
                 other water was not tested for it: {DO_NOT_BREW} until it was."
            ))),
            Some(blended) if health(*item, blended).is_empty() => Some(Note::look(format!(
                "{name} by itself has {value_text} mg/L of {item_name}, above {figures}; only the \
                 other water brings the blend below."
            ))),
            Some(_) => None,
        }
    };
    Item::ALL.iter().filter_map(note).collect()
}

fn note_above(item: Item, mg_per_l: f64) -> Option<Note> {
    let limits = passed(item, mg_per_l);
    let kind = limits.first()?.kind;
    let figures = figures(&limits);
    let remark = limits.iter().find_map(|l| l.remark.as_deref());
    let head = format!(
        "{} {} mg/L is above {figures}",
        capital(item.name()),
        number(mg_per_l)
    );
    Some(match (kind, remark) {
        (Kind::Health, _) => Note::act(format!(
            "{head}: {DO_NOT_BREW}. Boiling does not remove it; ask your health authority."
        )),
        (_, Some(remark)) => Note::look(format!("{head}: {remark}.")),
        (_, None) => Note::look(format!("{head}.")),
    })
}

fn low_note(limit: &Limit, mg_per_l: f64) -> Note {
    let remark = limit
        .remark
        .as_deref()
        .unwrap_or("usual brewing liquor has more");
    Note::look(format!(
        "{} {} mg/L in the mash liquor is below {} mg/L: {remark}.",
        capital(limit.item.name()),
        number(mg_per_l),
        number(limit.mg_per_l)
    ))
}

/// What has a health limit and was not measured.
fn not_shown(water: &SourceWater) -> Option<Note> {
    let missing: Vec<&str> = Item::ALL
        .iter()
        .filter(|item| {
            limits()
                .iter()
                .any(|l| l.item == **item && l.kind == Kind::Health)
        })
        .filter(|item| item.of(water).is_none())
        .map(|item| item.name())
        .collect();
    (!missing.is_empty()).then(|| {
        Note::fine(format!(
            "Not in this analysis, so not checked: {}, germs. A supplier's water is watched for \
             them; a private well needs a recent test before anyone brews with it.",
            missing.join(", ")
        ))
    })
}

fn figures(limits: &[&Limit]) -> String {
    let each: Vec<String> = limits
        .iter()
        .map(|l| format!("{} mg/L ({})", number(l.mg_per_l), l.who))
        .collect();
    each.join(", ")
}

/// Two significant decimals at most, without trailing zeros.
fn number(x: f64) -> String {
    let text = if x >= 10.0 {
        format!("{x:.0}")
    } else {
        format!("{x:.2}")
    };
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_remark_names_all_limits_passed() {
        let note = note_above(Item::Iron, 0.25).unwrap();
        assert_eq!(note.weight, quantity::Weight::Look);
        assert!(
            note.text
                .contains("0.2 mg/L (EU indicator), 0.1 mg/L (brewing)"),
            "{}",
            note.text
        );
        assert_eq!(
            note_above(Item::Iron, 0.1),
            None,
            "at the limit is not above it"
        );
    }

    #[test]
    fn a_poor_mash_liquor_is_told_what_the_tap_did_not_say() {
        let poor = Ions::default();
        let rich = Ions {
            calcium: quantity::Calcium::from_mg_per_l(100.0),
            ..poor
        };
        assert!(
            brewing_notes(&poor, &poor)[0]
                .text
                .contains("below 50 mg/L")
        );
        assert!(brewing_notes(&poor, &rich).is_empty());
        let salty = Ions {
            chloride: quantity::Chloride::from_mg_per_l(200.0),
            ..rich
        };
        assert_eq!(brewing_notes(&poor, &salty).len(), 1);
        assert!(brewing_notes(&salty, &salty).is_empty());
    }
}
