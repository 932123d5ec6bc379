//! Real waters: two published analyses with their printed hardness and alkalinity.
//!
//! U.S. Geological Survey, Water-Resources Investigations Report 02-4045, table 4
//! (read): ground-water samples 1 and 2, "normal environmental sample". The table
//! prints magnesium under "g/L" where its own hardness shows that mg/L is meant.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use quantity::Alkalinity;
use water::analysis::analyse;
use water::{Ions, SourceWater};

struct Published {
    calcium: &'static str,
    magnesium: &'static str,
    sodium: &'static str,
    potassium: &'static str,
    chloride: &'static str,
    sulfate: &'static str,
    /// Acid-neutralizing capacity, as it is printed on two bases.
    as_caco3: &'static str,
    as_hco3: &'static str,
    /// Total hardness [mg/L as CaCO₃] and half a unit of its last digit.
    hardness: (f64, f64),
}

const SAMPLES: [Published; 2] = [
    Published {
        calcium: "25 mg/L",
        magnesium: "14 mg/L",
        sodium: "190 mg/L",
        potassium: "13 mg/L",
        chloride: "7 mg/L",
        sulfate: "1.2 mg/L",
        as_caco3: "580 mg/L as CaCO3",
        as_hco3: "707 mg/L as HCO3",
        hardness: (120.0, 5.0),
    },
    Published {
        calcium: "550 mg/L",
        magnesium: "280 mg/L",
        sodium: "270 mg/L",
        potassium: "14 mg/L",
        chloride: "18 mg/L",
        sulfate: "2700 mg/L",
        as_caco3: "267 mg/L as CaCO3",
        as_hco3: "326 mg/L as HCO3",
        hardness: (2500.0, 50.0),
    },
];

fn source(sample: &Published) -> SourceWater {
    SourceWater {
        ions: Ions {
            calcium: sample.calcium.parse().unwrap(),
            magnesium: sample.magnesium.parse().unwrap(),
            sodium: sample.sodium.parse().unwrap(),
            potassium: sample.potassium.parse().unwrap(),
            chloride: sample.chloride.parse().unwrap(),
            sulfate: sample.sulfate.parse().unwrap(),
            ..Ions::default()
        },
        alkalinity: sample.as_caco3.parse().unwrap(),
        ..SourceWater::named("published")
    }
}

#[test]
fn hardness_is_the_printed_one() {
    for sample in &SAMPLES {
        let analysis = analyse(source(sample)).unwrap();
        let ours = analysis.hardness.meq_per_l() * quantity::CACO3_MG_PER_MEQ;
        let (printed, half) = sample.hardness;
        assert!((ours - printed).abs() <= half, "{ours} against {printed}");
    }
}

#[test]
fn alkalinity_is_the_same_on_both_printed_bases() {
    for sample in &SAMPLES {
        let caco3: Alkalinity = sample.as_caco3.parse().unwrap();
        let hco3: Alkalinity = sample.as_hco3.parse().unwrap();
        // Both are printed to a milligram.
        assert!((caco3.meq_per_l() / hco3.meq_per_l() - 1.0).abs() < 2e-3);
    }
}

#[test]
fn the_published_waters_balance() {
    for sample in &SAMPLES {
        let analysis = analyse(source(sample)).unwrap();
        let (cations, anions) = (
            analysis.balance.cations.meq_per_l(),
            analysis.balance.anions.meq_per_l(),
        );
        // Analyses of this kind are accepted within 5 %.
        let error = (cations - anions) / (cations + anions);
        assert!(error.abs() < 0.05, "{cations} against {anions}");
    }
}

#[test]
fn water_with_too_much_sulfate_is_said_to_be_so() {
    let analysis = analyse(source(&SAMPLES[1])).unwrap();
    assert!(
        analysis
            .notes
            .iter()
            .any(|n| n.text.to_lowercase().contains("sulfate"))
    );
}
