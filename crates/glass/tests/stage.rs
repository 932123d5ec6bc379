//! The whole stage, from packed beer to the glass.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail the test")]

use ferment::Flavour;
use glass::{Bound, Glass, Grade, Notice, glass};
use package::PackedBeer;
use proptest::prelude::*;
use quantity::{
    AlcoholByVolume, Bitterness, CarbonDioxide, Caution, Chlorine, Colour, Gravity,
    MassConcentration, Ph, Sulfate, SulfurDioxide, Volume,
};
use water::{Ions, ResidualChlorine};

fn mg(x: f64) -> MassConcentration {
    MassConcentration::from_mg_per_l(x)
}

fn beer() -> PackedBeer {
    PackedBeer {
        volume: Volume::from_l(19.0),
        gravity: Gravity::from_plato(2.5),
        alcohol: AlcoholByVolume::from_percent(5.0),
        carbon_dioxide: CarbonDioxide::from_g_per_l(4.8),
        ph: Ph::from_ph(4.3),
        colour: Colour::from_ebc(12.0),
        bitterness: Bitterness::from_ibu(30.0),
        sulfur_dioxide_at_most: SulfurDioxide::from_mg_per_l(0.0),
        halogen_met: ResidualChlorine::default(),
        ions: Ions {
            sulfate: Sulfate::from_mg_per_l(150.0),
            ..Ions::default()
        },
        flavour: Flavour {
            ethyl_acetate: mg(20.0),
            isoamyl_acetate: mg(1.0),
            isoamyl_alcohol: mg(50.0),
            acetaldehyde: mg(5.0),
            diacetyl: mg(0.03),
            diacetyl_to_come: mg(0.0),
            vinylguaiacol: mg(0.05),
            dms: mg(0.02),
            iso_alpha: mg(30.0),
        },
    }
}

fn with_flavour(change: impl FnOnce(&mut Flavour)) -> Glass {
    let mut beer = beer();
    change(&mut beer.flavour);
    glass(&beer).unwrap()
}

fn grades(glass: &Glass, key: &str) -> (Grade, Grade) {
    let risk = glass.risk(key).unwrap();
    (risk.grade, risk.at_most)
}

#[test]
fn a_clean_beer_is_bitter_and_warming_and_little_else() {
    let poured = glass(&beer()).unwrap();
    let noticed: Vec<&str> = poured.noticed().map(|a| a.compound.key.as_str()).collect();
    assert_eq!(noticed, ["iso-alpha-acids", "carbon-dioxide", "ethanol"]);
    assert!(
        poured.risks.iter().all(|risk| risk.grade <= Grade::Low),
        "{:?}",
        poured.risks
    );
    assert_eq!(grades(&poured, "medicinal"), (Grade::None, Grade::None));
    assert!(poured.cautions.is_empty());
}

/// 5 % vol is 39.5 g/L of ethanol (789.24 g/L, OIML R 22), 2.8 times the 14 g/L
/// of Meilgaard 1975 (from memory).
#[test]
fn figures_pass_through_and_ethanol_is_by_mass() {
    let poured = glass(&beer()).unwrap();
    assert_eq!(poured.alcohol, beer().alcohol);
    assert_eq!((poured.gravity, poured.ph), (beer().gravity, beer().ph));
    let ethanol = poured
        .activities
        .iter()
        .find(|a| a.compound.key == "ethanol")
        .unwrap();
    assert!((ethanol.concentration.mg_per_l() - 39_462.0).abs() < 1.0);
    assert_eq!(ethanol.notice, Notice::Primary);
}

#[test]
fn diacetyl_to_come_is_the_worst_case_of_butter() {
    let poured = with_flavour(|f| f.diacetyl_to_come = mg(0.4));
    assert_eq!(grades(&poured, "butter"), (Grade::None, Grade::High));
    let diacetyl = poured
        .activities
        .iter()
        .find(|a| a.compound.key == "diacetyl")
        .unwrap();
    assert!((diacetyl.concentration.mg_per_l() - 0.43).abs() < 1e-12);
    assert_eq!(diacetyl.bound, Bound::AtMost);
    assert!(
        poured
            .risk("butter")
            .unwrap()
            .reason
            .contains("still to come")
    );
}

#[test]
fn clove_is_told_against_wheat_beer() {
    for (held, grade, place) in [
        (0.1, Grade::None, "below the 1 to 4"),
        (0.4, Grade::Moderate, "below the 1 to 4"),
        (2.0, Grade::High, "within the 1 to 4"),
        (5.0, Grade::High, "above the 1 to 4"),
    ] {
        let poured = with_flavour(|f| f.vinylguaiacol = mg(held));
        assert_eq!(grades(&poured, "clove").0, grade, "{held}");
        assert!(
            poured.risk("clove").unwrap().reason.contains(place),
            "{held}"
        );
    }
}

/// 2.5 times the typical thresholds of Liguori et al. 2018, Table 4, and of
/// Simpson's flavour standards.
#[test]
fn each_compound_drives_its_own_risk() {
    let above = |x: f64| mg(x * 2.5);
    for (key, poured) in [
        ("banana", with_flavour(|f| f.isoamyl_acetate = above(1.6))),
        ("solvent", with_flavour(|f| f.ethyl_acetate = above(33.0))),
        (
            "hot-alcohol",
            with_flavour(|f| f.isoamyl_alcohol = above(70.0)),
        ),
        (
            "green-apple",
            with_flavour(|f| f.acetaldehyde = above(25.0)),
        ),
        ("cooked-corn", with_flavour(|f| f.dms = above(0.04))),
        ("butter", with_flavour(|f| f.diacetyl = above(0.15))),
    ] {
        let high: Vec<&str> = poured
            .risks
            .iter()
            .filter(|r| r.grade == Grade::High)
            .map(|r| r.key.as_str())
            .collect();
        assert_eq!(high, [key]);
        assert!(poured.risk(key).unwrap().reason.contains("2.5 times"));
    }
}

#[test]
fn chloramine_left_in_the_water_reaches_the_glass_as_a_risk() {
    let mut left = beer();
    left.halogen_met = ResidualChlorine {
        combined: Chlorine::from_mg_per_l(1.8),
        at_most: Chlorine::from_mg_per_l(2.4),
        ..ResidualChlorine::default()
    };
    let poured = glass(&left).unwrap();
    assert_eq!(grades(&poured, "medicinal"), (Grade::High, Grade::High));
    let reason = &poured.risk("medicinal").unwrap().reason;
    assert!(reason.contains("is not known"), "{reason}");
    assert!(
        poured
            .activities
            .iter()
            .all(|a| !a.compound.key.contains("chlorophenol"))
    );
}

/// The label limit of 10 mg/L (EU Regulation 1169/2011, as quoted).
#[test]
fn sulfite_is_held_against_the_label_limit() {
    for (added, expected, most) in [
        (0.0, Grade::None, Grade::Low),
        (3.0, Grade::Low, Grade::Moderate),
        (6.0, Grade::Moderate, Grade::High),
        (12.0, Grade::High, Grade::High),
    ] {
        let mut treated = beer();
        treated.sulfur_dioxide_at_most = SulfurDioxide::from_mg_per_l(added);
        let poured = glass(&treated).unwrap();
        assert_eq!(grades(&poured, "sulfite"), (expected, most), "{added}");
        assert_eq!(
            poured.cautions.contains(&Caution::SulfiteLabel),
            added > 0.0
        );
    }
}

#[test]
fn beer_that_is_not_acid_enough_is_remarked() {
    let mut sweet = beer();
    sweet.ph = Ph::from_ph(4.9);
    let poured = glass(&sweet).unwrap();
    assert!(poured.notes.iter().any(|n| n.text.contains("above 4.6")));
    assert!(
        !glass(&beer())
            .unwrap()
            .notes
            .iter()
            .any(|n| n.text.contains("above 4.6"))
    );
}

#[test]
fn impossible_beers_are_refused() {
    let mut broken = beer();
    broken.flavour.dms = mg(f64::NAN);
    assert!(glass(&broken).is_err());
    let mut broken = beer();
    broken.gravity = Gravity::from_plato(f64::INFINITY);
    let error = glass(&broken).unwrap_err();
    assert!(
        error.to_string().contains("between -8 and 35 °P"),
        "{error}"
    );
}

proptest! {
    /// Nothing but numbers comes out, strongest first, and each risk's worst
    /// case is at least what is expected.
    #[test]
    fn every_beer_gives_sound_grades(
        flavours in prop::array::uniform9(0.0..200.0f64), chlorine in 0.0..5.0f64, doubt in 0.0..2.0f64, so2 in 0.0..50.0f64,
    ) {
        let [ea, iaa, iaoh, acet, vdk, to_come, vg, dms, iso] = flavours;
        let mut any = beer();
        any.flavour = Flavour {
            ethyl_acetate: mg(ea), isoamyl_acetate: mg(iaa), isoamyl_alcohol: mg(iaoh),
            acetaldehyde: mg(acet), diacetyl: mg(vdk), diacetyl_to_come: mg(to_come),
            vinylguaiacol: mg(vg), dms: mg(dms), iso_alpha: mg(iso),
        };
        any.halogen_met = ResidualChlorine {
            free: Chlorine::from_mg_per_l(chlorine),
            at_most: Chlorine::from_mg_per_l(chlorine + doubt),
            ..ResidualChlorine::default()
        };
        any.sulfur_dioxide_at_most = SulfurDioxide::from_mg_per_l(so2);
        let poured = glass(&any).unwrap();
        prop_assert!(poured.activities.windows(2).all(|w| w[0].typical >= w[1].typical));
        prop_assert!(poured.activities.iter().all(|a| a.low.is_finite() && a.high.is_finite()));
        prop_assert!(poured.risks.iter().all(|r| r.at_most >= r.grade && !r.reason.contains("NaN")));
        prop_assert_eq!(poured.risks.len(), 9);
    }

    #[test]
    fn more_chlorine_or_sulfite_never_lowers_a_grade(
        chlorine in 0.0..5.0f64, more in 0.0..3.0f64, so2 in 0.0..20.0f64, extra in 0.0..20.0f64,
    ) {
        let of = |cl: f64, s: f64| {
            let mut any = beer();
            any.halogen_met = ResidualChlorine {
                combined: Chlorine::from_mg_per_l(cl),
                at_most: Chlorine::from_mg_per_l(cl),
                ..ResidualChlorine::default()
            };
            any.sulfur_dioxide_at_most = SulfurDioxide::from_mg_per_l(s);
            glass(&any).unwrap()
        };
        let (little, much) = (of(chlorine, so2), of(chlorine + more, so2 + extra));
        for key in ["medicinal", "sulfite"] {
            prop_assert!(grades(&much, key) >= grades(&little, key), "{key}");
        }
    }
}
