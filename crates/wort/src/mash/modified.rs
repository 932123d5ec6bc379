//! How far a malt was modified, by its own analysis, and what that asks of the mash.

use quantity::Note;

use super::figures::FIGURES;
use crate::malts::{Fermentable, Kind};
use crate::plan::WortPlan;

/// A rest for the protein is one that lasts so long \[min\] (judgement): steps pass through
/// these temperatures in less.
const RESTS_MIN: f64 = 8.0;

/// Soluble protein of a malt over that of usual malt \[–\]: protein times Kolbach index, each
/// as usual where its sheet is silent. Amino nitrogen is taken to go with it (judgement).
pub(super) fn soluble_protein(malt: &Fermentable) -> f64 {
    let figures = &*FIGURES;
    let usual = f64::midpoint(figures.kolbach_least.value, figures.kolbach_most.value);
    let kolbach = malt.kolbach.map_or(1.0, |kolbach| kolbach.ratio() / usual);
    let protein = malt
        .protein
        .map_or(1.0, |protein| protein.ratio() / figures.protein_usual.value);
    kolbach * protein
}

/// Whether the rests of the mash suit its malts. Nothing is said of a malt whose sheet gives
/// neither its Kolbach index nor its fine–coarse difference.
pub(super) fn notes(plan: &WortPlan, protein_rest_min: f64) -> Vec<Note> {
    let malts = plan.mashed().map(|item| &item.fermentable);
    malts
        .filter(|malt| malt.kind == Kind::Malt)
        .filter_map(|malt| note(malt, protein_rest_min >= RESTS_MIN))
        .collect()
}

fn note(malt: &Fermentable, rests: bool) -> Option<Note> {
    let figures = &*FIGURES;
    let (least, most) = (&figures.kolbach_least, &figures.kolbach_most);
    let limit = &figures.difference_most;
    let percent = |ratio: f64| (ratio * 1000.0).round() / 10.0;
    let (mut said, mut under) = (Vec::new(), false);
    if let Some(kolbach) = malt.kolbach.map(quantity::Fraction::ratio) {
        under |= kolbach < least.value;
        said.push(format!(
            "Kolbach index {} %, where {} to {} % are usual ({})",
            percent(kolbach),
            percent(least.value),
            percent(most.value),
            least.mark
        ));
    }
    if malt.difference_known {
        let difference = malt.fine_coarse_difference.ratio();
        under |= difference > limit.value;
        said.push(format!(
            "fine–coarse difference {} %, where up to {} % are ({})",
            percent(difference),
            percent(limit.value),
            limit.mark
        ));
    }
    let (name, said) = (&malt.name, (!said.is_empty()).then(|| said.join("; "))?);
    match (under, rests) {
        (true, false) => Some(Note::look(format!(
            "{name} is undermodified by its sheet ({said}): without a rest at 45 to 55 °C or a decoction it gives less extract and runs off slowly"
        ))),
        (true, true) => Some(Note::fine(format!(
            "{name} is undermodified by its sheet ({said}): the rest at 45 to 55 °C suits it"
        ))),
        (false, true) => Some(Note::fine(format!(
            "{name} is well modified by its sheet ({said}): it needs no rest at 45 to 55 °C, which may cost foam"
        ))),
        (false, false) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::malts::{self, Datasheet};
    use quantity::{Fraction, Weight};

    fn malt(sheet: &Datasheet) -> Fermentable {
        malts::find("pilsner malt").unwrap().with(sheet).unwrap()
    }

    fn with_kolbach(percent: f64) -> Datasheet {
        Datasheet {
            kolbach: Some(Fraction::from_ratio(percent / 100.0)),
            ..Datasheet::default()
        }
    }

    /// TGL 17756 of 1966, table quoted: 36 to 42 % of Pilsner malt. Fine–coarse difference:
    /// 1 to 2 % well modified, more than 2.5 % undermodified (common practice).
    #[test]
    fn modification_is_judged_by_the_sheet() {
        let difference = |percent: f64| Datasheet {
            fine_coarse_difference: Some(Fraction::from_ratio(percent / 100.0)),
            ..Datasheet::default()
        };
        let level = |sheet: &Datasheet, rests| note(&malt(sheet), rests).map(|n| n.weight);
        for (under, well) in [
            (with_kolbach(35.9), with_kolbach(36.1)),
            (difference(2.6), difference(2.4)),
        ] {
            assert_eq!(level(&under, false), Some(Weight::Look));
            assert_eq!(level(&under, true), Some(Weight::Fine));
            assert_eq!(level(&well, false), None);
            let text = note(&malt(&well), true).unwrap().text;
            assert!(text.contains("needs no rest"), "{text}");
        }
        assert_eq!(level(&Datasheet::default(), true), None, "nothing is said");
        let text = note(&malt(&with_kolbach(33.0)), false).unwrap().text;
        assert!(
            text.contains("Kolbach index 33 %, where 36 to 42 %"),
            "{text}"
        );
    }

    #[test]
    fn soluble_protein_is_usual_where_the_sheet_is_silent() {
        assert!((soluble_protein(&malt(&Datasheet::default())) - 1.0).abs() < 1e-12);
        assert!((soluble_protein(&malt(&with_kolbach(39.0))) - 1.0).abs() < 1e-12);
        let rich = Datasheet {
            protein: Some(Fraction::from_ratio(0.126)),
            ..with_kolbach(42.0)
        };
        let expected = 1.2 * 42.0 / 39.0;
        assert!((soluble_protein(&malt(&rich)) - expected).abs() < 1e-12);
    }

    #[test]
    fn figures_that_no_malt_has_are_refused() {
        let told = malts::find("pilsner malt")
            .unwrap()
            .with(&with_kolbach(90.0));
        let told = told.unwrap_err().to_string();
        assert!(told.contains("Kolbach index"), "{told}");
    }
}
