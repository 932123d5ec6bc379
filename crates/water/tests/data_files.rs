//! Every built-in file loads, and every row says where it comes from.

use quantity::Source;
use water::dechlorination::{Reagent, boiling, standing};
use water::mash_ph::constants;
use water::{acids, analysis, salts};

fn sourced(source: &Source) -> bool {
    !source.text.trim().is_empty()
}

#[test]
fn every_row_has_its_source() {
    assert!(analysis::limits().iter().all(|row| sourced(&row.source)));
    assert!(analysis::ph_limits().iter().all(|row| sourced(&row.source)));
    assert!(analysis::refusals().iter().all(|row| sourced(&row.source)));
    assert!(sourced(&analysis::tested_for().source));
    assert!(acids::acids().iter().all(|row| sourced(&row.source)));
    assert!(acids::products().iter().all(|row| sourced(&row.source)));
    assert!(
        Reagent::ALL
            .iter()
            .all(|reagent| sourced(&reagent.data().source))
    );
    let solubilities = salts::salts()
        .iter()
        .filter_map(|salt| salt.solubility.as_ref());
    assert!(
        solubilities
            .into_iter()
            .all(|solubility| sourced(&solubility.source))
    );
    for losses in [boiling(), standing()] {
        assert!(sourced(&losses.free.source) && sourced(&losses.combined.source));
    }
    assert!(sourced(&constants().calcium_divisor.source));
}

#[test]
fn constants_stand_in_their_order() {
    let c = constants();
    assert!(c.workable_low.value < c.preferred_low.value);
    assert!(c.preferred_low.value < c.preferred_high.value);
    assert!(c.preferred_high.value < c.workable_high.value);
    assert!(c.model_sd_pale.value < c.model_sd_dark.value);
    assert!(c.calcium_divisor.value < c.magnesium_divisor.value);
}

#[test]
fn every_acid_is_sold_or_is_the_reagent() {
    for acid in acids::acids() {
        let sold = acids::products().iter().any(|product| product.acid == acid);
        assert!(sold || acid.key == "ascorbic", "{}", acid.name);
        assert!(
            acid.pka.windows(2).all(|pair| pair[0] < pair[1]),
            "{}",
            acid.name
        );
    }
}
