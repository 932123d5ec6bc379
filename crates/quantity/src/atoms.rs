//! Molar masses \[g/mol\], summed from the standard atomic weights.
//!
//! The weights are the abridged values of `data/prohaska2022.toml`; a test
//! holds the constants here to that file, so there is one table to check.

/// Molar masses \[g/mol\].
pub mod molar_mass {
    /// Hydrogen.
    pub const H: f64 = 1.008;
    /// Carbon.
    pub const C: f64 = 12.011;
    /// Nitrogen.
    pub const N: f64 = 14.007;
    /// Oxygen.
    pub const O: f64 = 15.999;
    /// Sodium.
    pub const NA: f64 = 22.990;
    /// Magnesium.
    pub const MG: f64 = 24.305;
    /// Phosphorus.
    pub const P: f64 = 30.974;
    /// Sulfur.
    pub const S: f64 = 32.06;
    /// Chlorine, one atom.
    pub const CL: f64 = 35.45;
    /// Potassium.
    pub const K: f64 = 39.098;
    /// Calcium.
    pub const CA: f64 = 40.078;
    /// Manganese.
    pub const MN: f64 = 54.938;
    /// Iron.
    pub const FE: f64 = 55.845;

    /// Water.
    pub const H2O: f64 = 2.0 * H + O;
    /// Chlorine molecule; "as Cl₂" counts in this.
    pub const CL2: f64 = 2.0 * CL;
    /// Monochloramine.
    pub const NH2CL: f64 = N + 2.0 * H + CL;
    /// Ammonium.
    pub const NH4: f64 = N + 4.0 * H;
    /// Sulfate.
    pub const SO4: f64 = S + 4.0 * O;
    /// Sulfur dioxide.
    pub const SO2: f64 = S + 2.0 * O;
    /// Nitrate.
    pub const NO3: f64 = N + 3.0 * O;
    /// Nitrite.
    pub const NO2: f64 = N + 2.0 * O;
    /// Bicarbonate.
    pub const HCO3: f64 = H + C + 3.0 * O;
    /// Carbonate.
    pub const CO3: f64 = C + 3.0 * O;
    /// Hydroxide.
    pub const OH: f64 = O + H;
    /// Calcium carbonate.
    pub const CACO3: f64 = CA + CO3;
    /// Calcium oxide.
    pub const CAO: f64 = CA + O;
    /// Sodium hydrogen sulfite.
    pub const NAHSO3: f64 = NA + H + S + 3.0 * O;
    /// Sodium sulfite.
    pub const NA2SO3: f64 = 2.0 * NA + S + 3.0 * O;
    /// Sodium metabisulfite.
    pub const NA2S2O5: f64 = 2.0 * NA + 2.0 * S + 5.0 * O;
    /// Potassium metabisulfite.
    pub const K2S2O5: f64 = 2.0 * K + 2.0 * S + 5.0 * O;
    /// Ascorbic acid.
    pub const ASCORBIC_ACID: f64 = 6.0 * C + 8.0 * H + 6.0 * O;
    /// Sodium ascorbate.
    pub const SODIUM_ASCORBATE: f64 = 6.0 * C + 7.0 * H + 6.0 * O + NA;
    /// Phosphoric acid.
    pub const H3PO4: f64 = 3.0 * H + P + 4.0 * O;
    /// Sulfuric acid.
    pub const H2SO4: f64 = 2.0 * H + SO4;
    /// Hydrogen chloride.
    pub const HCL: f64 = H + CL;
    /// Lactic acid.
    pub const LACTIC_ACID: f64 = 3.0 * C + 6.0 * H + 3.0 * O;
    /// Citric acid, anhydrous.
    pub const CITRIC_ACID: f64 = 6.0 * C + 8.0 * H + 7.0 * O;
    /// Carbon dioxide.
    pub const CO2: f64 = C + 2.0 * O;
    /// Ethanol.
    pub const ETHANOL: f64 = 2.0 * C + 6.0 * H + O;
    /// A hexose: glucose, fructose.
    pub const HEXOSE: f64 = 6.0 * C + 12.0 * H + 6.0 * O;
    /// A disaccharide: maltose, sucrose.
    pub const DISACCHARIDE: f64 = 2.0 * HEXOSE - H2O;
    /// Maltotriose.
    pub const MALTOTRIOSE: f64 = 3.0 * HEXOSE - 2.0 * H2O;
    /// 2-Chlorophenol.
    pub const CHLOROPHENOL: f64 = 6.0 * C + 5.0 * H + CL + O;
    /// Ferulic acid.
    pub const FERULIC_ACID: f64 = 10.0 * C + 10.0 * H + 4.0 * O;
    /// 4-Vinylguaiacol.
    pub const VINYLGUAIACOL: f64 = 9.0 * C + 10.0 * H + 2.0 * O;
}

#[cfg(test)]
mod tests {
    use super::molar_mass as m;

    #[test]
    fn constants_are_the_table() {
        #[derive(serde::Deserialize)]
        struct Row {
            element: String,
            printed: String,
        }
        #[derive(serde::Deserialize)]
        struct File {
            row: Vec<Row>,
        }
        let file: File = toml::from_str(include_str!("../data/prohaska2022.toml")).unwrap();
        let known = [
            ("H", m::H),
            ("C", m::C),
            ("N", m::N),
            ("O", m::O),
            ("Na", m::NA),
            ("Mg", m::MG),
            ("P", m::P),
            ("S", m::S),
            ("Cl", m::CL),
            ("K", m::K),
            ("Ca", m::CA),
            ("Mn", m::MN),
            ("Fe", m::FE),
        ];
        assert_eq!(file.row.len(), known.len());
        for row in file.row {
            let (_, ours) = known.iter().find(|(e, _)| *e == row.element).unwrap();
            let printed: f64 = row.printed.parse().unwrap();
            assert!((printed - ours).abs() < 1e-12, "{}", row.element);
        }
    }

    /// Molar masses computed with periodictable 2.1.0.
    #[test]
    fn sums_agree_with_periodictable() {
        for (ours, theirs) in [
            (m::SO2, 64.058),
            (m::NAHSO3, 104.055),
            (m::NA2SO3, 126.037),
            (m::NA2S2O5, 190.095),
            (m::K2S2O5, 222.312),
            (m::ASCORBIC_ACID, 176.124),
            (m::SODIUM_ASCORBATE, 198.106),
            (m::H3PO4, 97.994),
            (m::LACTIC_ACID, 90.078),
            (m::H2SO4, 98.072),
            (m::HCL, 36.458),
        ] {
            assert!((ours - theirs).abs() < 2.0e-3, "{ours} against {theirs}");
        }
    }
}
