//! The chemistry of water against PHREEQC 3.7.3-15968, phreeqc.dat as shipped in
//! phreeqpython 1.6.2. Waters are given in mmol per kilogram of water, alkalinity
//! in mEq/kg.

use quantity::{
    Alkalinity, Calcium, Chloride, Magnesium, PartialPressure, Ph, Potassium, Sodium, Sulfate,
    Temperature,
};
use water::Ions;
use water::speciation::{Anchor, Mineral, Solution, WATER_KG_PER_L};

/// Ca, Mg, Na, K, Cl, SO4, alkalinity, pH.
type Water = [f64; 8];
const S: Water = [0.20, 0.10, 0.30, 0.03, 0.28, 0.10, 0.45, 7.60];
const H: Water = [2.75, 0.75, 0.60, 0.10, 1.00, 0.50, 5.70, 7.30];
const G: Water = [7.00, 1.50, 1.00, 0.10, 1.50, 6.30, 4.00, 7.20];
const N: Water = [0.50, 0.25, 6.00, 0.10, 1.50, 0.40, 5.30, 8.00];
const PURE: Water = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 7.0];

fn celsius(t: f64) -> Temperature {
    Temperature::from_c(t)
}

fn air(log_pressure: f64) -> PartialPressure {
    PartialPressure::from_atm(10f64.powf(log_pressure))
}

fn ions(water: Water) -> Ions {
    let [ca, mg, na, k, cl, so4, ..] = water.map(|x| x * WATER_KG_PER_L);
    Ions {
        calcium: Calcium::from_mg_per_l(ca * Calcium::MOLAR_MASS),
        magnesium: Magnesium::from_mg_per_l(mg * Magnesium::MOLAR_MASS),
        sodium: Sodium::from_mg_per_l(na * Sodium::MOLAR_MASS),
        potassium: Potassium::from_mg_per_l(k * Potassium::MOLAR_MASS),
        chloride: Chloride::from_mg_per_l(cl * Chloride::MOLAR_MASS),
        sulfate: Sulfate::from_mg_per_l(so4 * Sulfate::MOLAR_MASS),
        ..Ions::default()
    }
}

fn anchored(water: Water, anchor: Anchor, t: f64) -> Solution {
    let alkalinity = Alkalinity::from_meq_per_l(water[6] * WATER_KG_PER_L);
    Solution::new(&ions(water), alkalinity, anchor, celsius(t)).unwrap()
}

fn at(water: Water, t: f64) -> Solution {
    anchored(water, Anchor::Ph(Ph::from_ph(water[7])), t)
}

fn alkalinity(solution: &Solution) -> f64 {
    solution.alkalinity().meq_per_l() / WATER_KG_PER_L
}

fn close(what: &str, ours: f64, theirs: f64, tolerance: f64) {
    assert!(
        (ours - theirs).abs() <= tolerance,
        "{what}: {ours}, PHREEQC {theirs}"
    );
}

#[test]
fn waters_at_their_ph_hold_what_phreeqc_finds() {
    #[rustfmt::skip]
    let rows = [
        ("S", S, 10.0, [0.4805, 0.03138, 0.4471, 0.00065, 0.00070, 0.00220, 0.00109], 0.00131, -1.618, -3.234),
        ("S", S, 25.0, [0.4725, 0.02418, 0.4457, 0.00094, 0.00095, 0.00243, 0.00160], 0.00131, -1.394, -3.148),
        ("H", H, 10.0, [6.4152, 0.72891, 5.5532, 0.00489, 0.08844, 0.07281, 0.01964], 0.01107, 0.158, -1.867),
        ("H", H, 20.0, [6.2811, 0.60011, 5.5219, 0.00632, 0.10923, 0.07575, 0.02490], 0.01099, 0.303, -1.814),
        ("H", H, 25.0, [6.2357, 0.55812, 5.5065, 0.00703, 0.11770, 0.07708, 0.02779], 0.01094, 0.372, -1.784),
        ("G", G, 10.0, [4.5939, 0.60507, 3.8350, 0.00305, 0.11138, 1.28857, 0.27567], 0.02631, 0.140, -1.946),
        ("G", G, 25.0, [4.4431, 0.46150, 3.7868, 0.00437, 0.14704, 1.35592, 0.36535], 0.02560, 0.351, -1.865),
        ("N", N, 10.0, [5.4056, 0.13758, 5.1955, 0.02222, 0.01553, 0.01310, 0.00650], 0.00859, 0.107, -2.591),
        ("N", N, 25.0, [5.3550, 0.10541, 5.1559, 0.03199, 0.02052, 0.01401, 0.00932], 0.00855, 0.317, -2.508),
    ];
    for (name, water, t, amounts, strength, saturation, log_pressure) in rows {
        let found = at(water, t).speciated();
        let species = ["CO2", "HCO3-", "CO3-2", "CaHCO3+", "CaSO4", "MgSO4"];
        let ours = std::iter::once(found.inorganic_carbon.mmol_per_kg())
            .chain(species.map(|s| found.molality_of(s).mmol_per_kg()));
        for (n, (ours, theirs)) in ours.zip(amounts).enumerate() {
            close(
                &format!("{name} {t}, amount {n}"),
                ours,
                theirs,
                theirs * 1e-4 + 6e-6,
            );
        }
        close(
            name,
            found.ionic_strength.mmol_per_kg() / 1000.0,
            strength,
            6e-6,
        );
        close(
            name,
            found.saturation_of(Mineral::Calcite).unwrap(),
            saturation,
            6e-4,
        );
        close(name, found.log_carbon_dioxide_pressure, log_pressure, 6e-4);
    }
}

#[test]
fn closed_heating_follows_phreeqc() {
    for (name, water, rows) in [
        (
            "S",
            S,
            [
                (20.0, 7.515, -1.550),
                (65.0, 7.376, -1.105),
                (100.0, 7.355, -0.717),
            ],
        ),
        (
            "H",
            H,
            [
                (20.0, 7.215, 0.219),
                (65.0, 7.099, 0.664),
                (100.0, 7.164, 1.115),
            ],
        ),
        (
            "G",
            G,
            [
                (20.0, 7.114, 0.198),
                (65.0, 6.994, 0.630),
                (100.0, 7.053, 1.071),
            ],
        ),
        (
            "N",
            N,
            [
                (20.0, 7.907, 0.160),
                (65.0, 7.705, 0.509),
                (100.0, 7.666, 0.842),
            ],
        ),
    ] {
        let cold = at(water, 10.0);
        for (t, ph, saturation) in rows {
            let warm = cold.heated(celsius(t)).unwrap();
            close(name, warm.ph().ph(), ph, 1e-3);
            close(
                name,
                warm.saturation(Mineral::Calcite).unwrap(),
                saturation,
                1e-3,
            );
            close(name, alkalinity(&warm), water[6], 1e-4);
        }
    }
}

#[test]
fn blends_follow_phreeqc() {
    #[rustfmt::skip]
    let rows = [
        (S, H, 0.25, 7.313, 4.3875, 4.8295, 0.4552, 0.117),
        (S, H, 0.50, 7.332, 3.0750, 3.3778, 0.3110, -0.140),
        (S, H, 0.75, 7.369, 1.7625, 1.9262, 0.1678, -0.547),
        (PURE, H, 0.50, 7.321, 2.8500, 3.1406, 0.2977, -0.204),
        (PURE, H, 0.25, 7.309, 4.2750, 4.7108, 0.4485, 0.096),
        (H, G, 0.50, 7.252, 4.8500, 5.3812, 0.5495, 0.330),
        (H, N, 0.30, 7.664, 5.4200, 5.6431, 0.2505, 0.293),
    ];
    for (one, two, share, ph, alk, dic, co2, saturation) in rows {
        let (one, two) = (blendable(one), blendable(two));
        let blend = Solution::blend(&[(&one, share), (&two, 1.0 - share)], celsius(20.0)).unwrap();
        let found = blend.speciated();
        close("pH", found.ph.ph(), ph, 1e-3);
        close("alkalinity", alkalinity(&blend), alk, 1e-4);
        close("carbon", found.inorganic_carbon.mmol_per_kg(), dic, 2e-4);
        close("CO2", found.carbon_dioxide.mmol_per_kg(), co2, 2e-4);
        close(
            "SI",
            found.saturation_of(Mineral::Calcite).unwrap(),
            saturation,
            1e-3,
        );
    }
}

/// Pure water has no carbonate for a pH to speak of.
fn blendable(water: Water) -> Solution {
    if water == PURE {
        return anchored(
            water,
            Anchor::InorganicCarbon(quantity::Molality::from_mmol_per_kg(0.0)),
            20.0,
        );
    }
    at(water, 20.0)
}

#[test]
fn degassed_waters_follow_phreeqc() {
    for (water, rows) in [
        (S, [7.765, 7.820, 7.850]),
        (H, [8.779, 8.810, 8.825]),
        (G, [8.600, 8.628, 8.643]),
        (N, [8.784, 8.825, 8.847]),
    ] {
        for (t, ph) in [10.0, 20.0, 25.0].into_iter().zip(rows) {
            let open = at(water, t).open_to(air(-3.4)).unwrap();
            close("pH", open.ph().ph(), ph, 1e-3);
        }
    }
}

#[test]
fn pure_water_under_carbon_dioxide_and_over_calcite() {
    let temperatures = [10.0, 20.0, 25.0];
    let pure = |t| {
        anchored(
            PURE,
            Anchor::InorganicCarbon(quantity::Molality::from_mmol_per_kg(0.0)),
            t,
        )
    };
    for (log_pressure, rows) in [(-3.4, [5.561, 5.592, 5.610]), (0.0, [3.868, 3.896, 3.911])] {
        for (t, ph) in temperatures.into_iter().zip(rows) {
            close(
                "pH",
                pure(t).open_to(air(log_pressure)).unwrap().ph().ph(),
                ph,
                1e-3,
            );
        }
    }
    for (t, co2) in temperatures.into_iter().zip([53.42, 38.94, 33.84]) {
        let found = pure(t).open_to(air(0.0)).unwrap().speciated();
        close("CO2", found.carbon_dioxide.mmol_per_kg(), co2, 2e-2);
    }
    use water::speciation::Air::{Closed, Open};
    #[rustfmt::skip]
    let rows = [
        (Open(air(-3.4)), [(8.234, 0.680), (8.218, 0.578), (8.214, 0.533)], 1e-3),
        (Closed, [(10.311, 0.1109), (10.036, 0.1187), (9.907, 0.1230)], 1e-4),
        (Open(air(0.0)), [(6.027, 12.07), (6.010, 10.16), (6.005, 9.32)], 1e-2),
    ];
    for (over, rows, tolerance) in rows {
        for (t, (ph, calcium)) in temperatures.into_iter().zip(rows) {
            let solids = [Mineral::Calcite.in_plenty()];
            let found = pure(t).equilibrated(celsius(t), over, &solids).unwrap();
            close("pH", found.ph().ph(), ph, 1e-3);
            close(
                "Ca",
                -found.formed_mmol_per_kg(Mineral::Calcite),
                calcium,
                tolerance,
            );
        }
    }
}
