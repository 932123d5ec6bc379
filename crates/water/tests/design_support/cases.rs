//! The cases of `tests/reference/design_scipy.csv` as tasks.

use quantity::{Fraction, Mass, Measured, Ph, Quantity, TitratableAcidity, Volume};
use water::acids::{AcidAmount, AcidProduct};
use water::design::*;
use water::{Ions, SourceWater};

use super::{malt, mg, plain, salts, task, water};

/// The file.
pub const CASES: &str = include_str!("../reference/design_scipy.csv");

/// Its lines: 39 numbers of the case and the least misfit.
pub fn cases() -> impl Iterator<Item = Vec<f64>> {
    CASES.lines().map(|line| {
        let numbers: Vec<f64> = line.split(',').map(|x| x.parse().unwrap()).collect();
        assert_eq!(numbers.len(), 40);
        numbers
    })
}

const SALTS: [&str; 6] = [
    "gypsum",
    "calcium chloride dihydrate",
    "Epsom salt",
    "magnesium chloride hexahydrate",
    "table salt",
    "baking soda",
];
const ACIDS: [&str; 2] = ["lactic acid 80 %", "phosphoric acid 10 %"];

fn source(name: &str, c: &[f64]) -> SourceAtHand {
    plain(SourceWater {
        ions: Ions {
            calcium: mg(c[0]),
            magnesium: mg(c[1]),
            sodium: mg(c[2]),
            chloride: mg(c[3]),
            sulfate: mg(c[4]),
            ..Ions::default()
        },
        ..water(name, 0.0, 0.0, c[5])
    })
}

fn aim<Q: Quantity>(c: &[f64], ion: usize) -> Option<Aim<Q>> {
    Some(Aim {
        weight: c[29 + ion],
        ..Aim::near(mg(c[19 + ion]), mg(c[24 + ion]))
    })
}

/// A line of the file as a task; the scales show 0.1 g, 0.1 mL, 1 g of malt and the
/// jug 0.1 L, times `fine`.
pub fn of_case(c: &[f64], fine: f64) -> Task {
    let mut task = task(c[12], 0.0);
    task.pour = Volume::from_l(0.1 * fine);
    task.sources = vec![source("first", &c[0..6]), source("second", &c[6..12])];
    task.grist = Some(Grist {
        malts: vec![malt(c[13], c[14], c[15]), malt(c[16], c[17], c[18])],
        acid_malts: vec![],
        aim: Some(Aim::near(Ph::from_ph(c[34]), Ph::from_ph(c[35]))),
        limits: Bounds::default(),
    });
    task.mash.aims = Aims {
        calcium: aim(c, 0),
        magnesium: aim(c, 1),
        sodium: aim(c, 2),
        chloride: aim(c, 3),
        sulfate: aim(c, 4),
        ..Aims::default()
    };
    task.mash.limits.sodium = Bounds::at_most(mg(c[36]));
    task.mash.limits.chloride = Bounds::at_most(mg(c[37]));
    task.salts = salts(&SALTS, 0.1 * fine);
    task.acids = ACIDS
        .iter()
        .map(|name| {
            let step = AcidAmount::Volume(Volume::from_l(1e-4 * fine));
            AcidAtHand::plenty(AcidProduct::named(name).unwrap(), step)
        })
        .collect();
    task.acid_malt = Some(AcidMaltAtHand {
        acidity: Measured::exactly(TitratableAcidity::from_meq_per_kg(300.0)),
        at_hand: None,
        at_most: Fraction::from_ratio(c[38]),
        resolution: Mass::from_g(fine),
        price_per_kg: None,
    });
    task
}

/// The sum of squares of the unknowns in the units of the ridge: shares, 0.1 g/L,
/// mmol/L, 1 % of the grist.
pub fn squares(task: &Task, found: &Design) -> f64 {
    let litres = task.mash.volume.l();
    let shares = found.liquors[0]
        .blend
        .iter()
        .map(|p| (p.volume.l() / litres).powi(2));
    let salts = found.salts().map(|d| (10.0 * d.mass.g() / litres).powi(2));
    let acids = found
        .acids()
        .map(|d| (1000.0 * d.product.mol(d.amount).unwrap() / litres).powi(2));
    let grist: f64 = task
        .grist
        .iter()
        .flat_map(|g| &g.malts)
        .map(|m| m.mass.kg())
        .sum();
    let malt = found
        .acid_malt
        .iter()
        .map(|m| (100.0 * m.mass.kg() / grist).powi(2));
    shares.chain(salts).chain(acids).chain(malt).sum()
}
