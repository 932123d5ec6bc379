//! Densities of water, sucrose solutions and ethanol–water mixtures, and the
//! scales that rest on them.
//!
//! Arguments are bare numbers with the unit in the name: these are the kernels
//! under [`Gravity`](crate::Gravity) and the alcohol figures.

/// Usable end of the sucrose table for brewing \[mass %\].
const SUCROSE_MAX_PERCENT: f64 = 70.0;

/// Density of air-free water \[kg/m³\], 0 to 80 °C.
///
/// Kell 1975 in the form that the sucrose table (ICUMSA SPS-4) is built on.
#[must_use]
pub fn water_density(temp_c: f64) -> f64 {
    let t = temp_c;
    let top = horner(
        t,
        &[
            999.839_52,
            16.952_577,
            -7.990_512_7e-3,
            -46.241_757e-6,
            105.846_01e-9,
            -281.030_06e-12,
        ],
    );
    top / (1.0 + 16.887_236e-3 * t)
}

/// Density of a sucrose solution \[kg/m³\] at a mass fraction \[–\] and a
/// temperature \[°C\].
///
/// ρ = ρ_w(t) + Σᵢ Σₖ S\[i\]\[k\] wᵏ uⁱ with u = (t − 20)/100. Source: ICUMSA
/// Specification and Standard SPS-4 (1998), after Bettin et al. 1998; also
/// OIML G 14. Range: w 0 to 0.70, t 0 to 80 °C.
#[must_use]
pub fn sucrose_density(mass_fraction: f64, temp_c: f64) -> f64 {
    sucrose(mass_fraction, temp_c).value
}

fn sucrose(w: f64, temp_c: f64) -> Sloped {
    const S: [&[f64]; 5] = [
        &[
            385.176_1, 135.370_5, 40.929_9, -3.964_3, 13.485_3, -17.289_0,
        ],
        &[-46.272_0, -7.172_0, 1.159_7, 5.112_6, 17.525_4],
        &[59.771_2, 7.249_1, 12.363_0, -35.479_1],
        &[-47.220_7, -21.697_7, 27.630_1],
        &[18.318_4, 12.308_1],
    ];
    let u = (temp_c - 20.0) / 100.0;
    // The scales stand at 20 °C, where the other rows come to nothing.
    let rows = if u.abs() <= 0.0 { &S[..1] } else { &S[..] };
    let excess = rows.iter().rev().fold(Sloped::NONE, |acc, row| {
        acc.times(u).plus(Sloped::horner(w, row))
    });
    let excess = excess.times_variable(w);
    Sloped {
        value: water_density(temp_c) + excess.value,
        ..excess
    }
}

/// Specific gravity 20 °C/20 °C of a sucrose solution of so many °P, by the
/// ICUMSA table.
#[must_use]
pub fn specific_gravity_from_plato(plato: f64) -> f64 {
    sucrose_density(plato / 100.0, 20.0) / sucrose_density(0.0, 20.0)
}

/// Degrees Plato of a liquid with a specific gravity 20 °C/20 °C, by the ICUMSA
/// table. Not a number for a specific gravity far outside it.
#[must_use]
pub fn plato_from_specific_gravity(sg: f64) -> f64 {
    if !sg.is_finite() || !(0.9..=1.35).contains(&sg) {
        return f64::NAN;
    }
    let mut plato = (sg - 1.0) * 250.0;
    let aim = sg * sucrose_density(0.0, 20.0);
    for _ in 0..12 {
        let here = sucrose(plato / 100.0, 20.0);
        let step = (here.value - aim) / here.slope * 100.0;
        plato = (plato - step).clamp(-30.0, SUCROSE_MAX_PERCENT);
        if step.abs() < 1e-12 {
            break;
        }
    }
    plato
}

/// Degrees Plato by the polynomial fitted to the older ASBC tables. It lies
/// about 0.01 °P below the ICUMSA table; kept to check against.
#[must_use]
pub fn plato_by_asbc_polynomial(sg: f64) -> f64 {
    horner(sg, &[-616.868, 1111.14, -630.272, 135.997])
}

/// Density of an ethanol–water mixture \[kg/m³\] at a mass fraction of ethanol
/// \[–\] and a temperature \[°C\].
///
/// The formula of OIML R 22 (1975), also Council Directive 76/766/EEC.
/// Range: −20 to 40 °C, all strengths.
#[must_use]
pub fn ethanol_density(mass_fraction: f64, temp_c: f64) -> f64 {
    spirit(mass_fraction, temp_c).value
}

#[expect(clippy::excessive_precision, reason = "the coefficients stand as printed")]
fn spirit(p: f64, temp_c: f64) -> Sloped {
    const A: [f64; 12] = [
        998.201_23,
        -192.976_949_5,
        389.123_895_8,
        -1_668.103_923,
        13_522.154_41,
        -88_292.783_88,
        306_287.404_2,
        -613_838.123_4,
        747_017.299_8,
        -547_846.135_4,
        223_446.033_4,
        -39_032.854_26,
    ];
    const B: [f64; 6] = [
        -2.061_851_3e-1,
        -5.268_254_2e-3,
        3.613_001_3e-5,
        -3.895_770_2e-7,
        7.169_354_0e-9,
        -9.973_923_1e-11,
    ];
    const C1: [f64; 11] = [
        1.693_443_461_530_087e-1,
        -1.046_914_743_455_169e1,
        7.196_353_469_546_523e1,
        -7.047_478_054_272_792e2,
        3.924_090_430_035_045e3,
        -1.210_164_659_068_747e4,
        2.248_646_550_400_788e4,
        -2.605_562_982_188_164e4,
        1.852_373_922_069_467e4,
        -7.420_201_433_430_137e3,
        1.285_617_841_998_974e3,
    ];
    const C2: [f64; 10] = [
        -1.193_013_005_057_010e-2,
        2.517_399_633_803_461e-1,
        -2.170_575_700_536_993,
        1.353_034_988_843_029e1,
        -5.029_988_758_547_014e1,
        1.096_355_666_577_570e2,
        -1.422_753_946_421_155e2,
        1.080_435_942_856_230e2,
        -4.414_153_236_817_392e1,
        7.442_971_530_188_783,
    ];
    const C3: [f64; 9] = [
        -6.802_995_733_503_803e-4,
        1.876_837_790_289_664e-2,
        -2.002_561_813_734_156e-1,
        1.022_992_966_719_220,
        -2.895_696_483_903_638,
        4.810_060_584_300_675,
        -4.672_147_440_794_683,
        2.458_043_105_903_461,
        -5.411_227_621_436_812e-1,
    ];
    const C4: [f64; 4] = [
        4.075_376_675_622_027e-6,
        -8.763_058_573_471_110e-6,
        6.515_031_360_099_368e-6,
        -1.515_784_836_987_210e-6,
    ];
    const C5: [f64; 2] = [-2.788_074_354_782_409e-8, 1.345_612_883_493_354e-8];
    let d = temp_c - 20.0;
    let at_20 = Sloped::horner(p, &A);
    if d.abs() <= 0.0 {
        return at_20;
    }
    let pure_water = d * horner(d, &B);
    let rows: [&[f64]; 5] = [&C1, &C2, &C3, &C4, &C5];
    let mixed = rows.iter().rev().fold(Sloped::NONE, |acc, row| {
        acc.plus(Sloped::horner(p, row).times_variable(p)).times(d)
    });
    let both = at_20.plus(mixed);
    Sloped {
        value: both.value + pure_water,
        ..both
    }
}

/// Density of pure ethanol at 20 °C \[kg/m³\], OIML R 22.
#[must_use]
pub fn pure_ethanol_density() -> f64 {
    ethanol_density(1.0, 20.0)
}

/// Density of beer \[kg/m³\] that holds so much extract and ethanol, both as mass
/// fractions \[–\], at a temperature \[°C\].
///
/// Tabarié's sum: relative to water, what the extract adds and what the ethanol
/// takes off, each alone in water with as many grams in a litre as in the beer.
/// The two tables have waters of their own, which differ by a few parts in a
/// million; each is set against its own. Range: 0 to 40 °C. At a given density of
/// beer the real extract comes out within 0.1 °P of the mean of measured beers
/// (Cutaia, Reid & Speers, *J. Inst. Brew.* 115, 318–327, 2009).
#[must_use]
pub fn beer_density(extract: f64, ethanol: f64, temp_c: f64) -> f64 {
    let (water, water_of_spirit) = (water_density(temp_c), ethanol_density(0.0, temp_c));
    let share = water / water_of_spirit;
    // By Newton's method: the strengths of the syrup and of the spirit that have as many
    // grams in a litre as the beer.
    let (mut of_syrup, mut of_spirit) = (extract, ethanol);
    let mut beer = water;
    for _ in 0..40 {
        let (syrup, spirit) = (sucrose(of_syrup, temp_c), spirit(of_spirit, temp_c));
        beer = syrup.value + share * spirit.value - water;
        let missing = [
            extract * beer - of_syrup * syrup.value,
            ethanol * beer - of_spirit * spirit.value,
        ];
        let by_syrup = [
            syrup.value + (of_syrup - extract) * syrup.slope,
            -ethanol * syrup.slope,
        ];
        let by_spirit = [
            -extract * share * spirit.slope,
            spirit.value + (of_spirit - ethanol * share) * spirit.slope,
        ];
        let determinant = by_syrup[0] * by_spirit[1] - by_syrup[1] * by_spirit[0];
        let more_syrup = (missing[0] * by_spirit[1] - missing[1] * by_spirit[0]) / determinant;
        let more_spirit = (missing[1] * by_syrup[0] - missing[0] * by_syrup[1]) / determinant;
        of_syrup += more_syrup;
        of_spirit += more_spirit;
        let moved = [syrup.slope * more_syrup, share * spirit.slope * more_spirit];
        beer += moved[0] + moved[1];
        // What is missing now is of the order of the square of that.
        if moved[0].abs() + moved[1].abs() < 1e-5 {
            break;
        }
    }
    beer
}

/// Specific gravity 20 °C/20 °C of such a beer; see [`beer_density`].
#[must_use]
pub fn beer_specific_gravity(extract: f64, ethanol: f64) -> f64 {
    beer_density(extract, ethanol, 20.0) / water_density(20.0)
}

/// Boiling point of water at an altitude \[°C\]: 100 − h/300 m.
///
/// Within 0.03 °C of the IAPWS saturation line at the pressure of the ISO 2533
/// standard atmosphere up to 3500 m.
#[must_use]
pub fn boiling_point_c(altitude_m: f64) -> f64 {
    100.0 - altitude_m / 300.0
}

/// Pressure of the ISO 2533 standard atmosphere \[bar\] at an altitude \[m\].
#[must_use]
pub fn standard_atmosphere_bar(altitude_m: f64) -> f64 {
    1.013_25 * (1.0 - 2.255_77e-5 * altitude_m).powf(5.255_88)
}

/// A number and its slope by a variable.
#[derive(Debug, Clone, Copy)]
struct Sloped {
    value: f64,
    slope: f64,
}

impl Sloped {
    const NONE: Self = Self {
        value: 0.0,
        slope: 0.0,
    };

    fn horner(x: f64, coefficients: &[f64]) -> Self {
        let up = |acc: Self, c: &f64| Self {
            value: acc.value * x + c,
            slope: acc.slope * x + acc.value,
        };
        coefficients.iter().rev().fold(Self::NONE, up)
    }

    fn plus(self, other: Self) -> Self {
        Self {
            value: self.value + other.value,
            slope: self.slope + other.slope,
        }
    }

    fn times(self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            slope: self.slope * factor,
        }
    }

    /// Times the variable itself.
    fn times_variable(self, x: f64) -> Self {
        Self {
            value: self.value * x,
            slope: self.slope * x + self.value,
        }
    }
}

fn horner(x: f64, coefficients: &[f64]) -> f64 {
    coefficients.iter().rev().fold(0.0, |acc, c| acc * x + c)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(ours: f64, printed: f64, tolerance: f64) {
        assert!(
            (ours - printed).abs() <= tolerance,
            "{ours} against {printed}"
        );
    }

    /// ICUMSA SPS-4 (1998) and Kell (1975), recomputed independently with NumPy: kg/m³ at
    /// 0, 10, 12 and 20 °P.
    #[test]
    fn sucrose_density_follows_icumsa() {
        for (temp_c, row) in [
            (0.0, [999.840, 1040.976, 1049.554, 1085.096]),
            (4.0, [999.972, 1040.812, 1049.330, 1084.628]),
            (10.0, [999.699, 1040.147, 1048.584, 1083.559]),
            (15.0, [999.099, 1039.262, 1047.641, 1082.381]),
            (20.0, [998.203, 1038.115, 1046.444, 1080.977]),
            (25.0, [997.043, 1036.735, 1045.019, 1079.371]),
            (30.0, [995.645, 1035.143, 1043.388, 1077.581]),
            (40.0, [992.212, 1031.391, 1039.570, 1073.500]),
            (60.0, [983.191, 1021.929, 1030.018, 1063.584]),
            (80.0, [971.785, 1010.252, 1018.285, 1051.630]),
        ] {
            for (plato, printed) in [0.0, 10.0, 12.0, 20.0].into_iter().zip(row) {
                near(sucrose_density(plato / 100.0, temp_c), printed, 6e-4);
            }
        }
    }

    /// Water of 100 °C shrinks by 4.2 % to 20 °C (998.2 and 958.4 kg/m³).
    #[test]
    fn water_shrinks_as_it_cools() {
        let per_cent = 100.0 * (water_density(20.0) / water_density(100.0) - 1.0);
        near(per_cent, 4.2, 0.05);
    }

    /// Gravity points for a kilogram in a litre, by ICUMSA SPS-4 with NumPy.
    #[test]
    fn points_for_a_kilogram_in_a_litre() {
        for (grams_per_l, points) in [
            (50.0, 385.9),
            (100.0, 385.2),
            (150.0, 384.5),
            (300.0, 382.3),
        ] {
            let (mut low, mut high) = (0.0, 40.0);
            while high - low > 1e-10 {
                let plato = f64::midpoint(low, high);
                if sucrose_density(plato / 100.0, 20.0) * plato / 100.0 < grams_per_l {
                    low = plato;
                } else {
                    high = plato;
                }
            }
            let sg = specific_gravity_from_plato(low);
            near((sg - 1.0) * 1e6 / grams_per_l, points, 0.06);
        }
    }

    /// Values of the ICUMSA column, recomputed with NumPy; the ASBC polynomial
    /// lies 0.010 °P below by construction of its base tables.
    #[test]
    fn plato_and_specific_gravity_agree_with_the_tables() {
        for (sg, icumsa, asbc) in [
            (1.004, 1.033, 1.028),
            (1.008, 2.058, 2.052),
            (1.010, 2.568, 2.561),
            (1.012, 3.076, 3.068),
            (1.016, 4.087, 4.078),
            (1.030, 7.569, 7.558),
            (1.040, 10.004, 9.994),
            (1.048, 11.922, 11.912),
            (1.050, 12.398, 12.388),
            (1.060, 14.751, 14.741),
            (1.080, 19.342, 19.331),
            (1.100, 23.786, 23.769),
        ] {
            near(plato_from_specific_gravity(sg), icumsa, 6e-4);
            near(plato_by_asbc_polynomial(sg), asbc, 6e-4);
        }
        for (plato, sg) in [
            (1.0, 1.003_872),
            (2.0, 1.007_772),
            (5.0, 1.019_638),
            (8.0, 1.031_758),
            (10.0, 1.039_984),
            (12.0, 1.048_327),
            (12.5, 1.050_432),
            (15.0, 1.061_069),
            (18.0, 1.074_087),
            (20.0, 1.082_923),
            (25.0, 1.105_577),
            (30.0, 1.129_061),
        ] {
            near(specific_gravity_from_plato(plato), sg, 6e-7);
        }
    }

    /// OIML R 22 (1975): the printed table value at p = 0.31, 13 °C, and the
    /// two that the formula fixes.
    #[test]
    fn ethanol_density_follows_oiml_r_22() {
        near(ethanol_density(0.31, 13.0), 956.42, 0.005);
        near(ethanol_density(0.0, 20.0), 998.201_23, 1e-9);
        near(ethanol_density(1.0, 20.0), 789.239, 1e-3);
        for (p, t, printed) in [
            (0.04, 4.0, 992.897),
            (0.04, 15.56, 991.860),
            (0.04, 20.0, 991.025),
            (0.05, 20.0, 989.378),
            (0.10, 20.0, 981.848),
            (0.10, 30.0, 978.731),
            (0.50, 20.0, 913.771),
        ] {
            near(ethanol_density(p, t), printed, 6e-4);
        }
    }

    /// Without one of the two the sum is the table of the other.
    #[test]
    fn beer_without_alcohol_is_wort_and_without_extract_spirit() {
        for t in [4.0, 20.0, 35.0] {
            near(beer_density(0.12, 0.0, t), sucrose_density(0.12, t), 1e-7);
            let spirit = ethanol_density(0.05, t) / ethanol_density(0.0, t);
            // The waters of the two tables differ by 2 ppm, which shifts the grams.
            near(beer_density(0.0, 0.05, t) / water_density(t), spirit, 1e-7);
        }
    }

    /// IAPWS saturation temperatures (CoolProp 8.0) at standard pressures.
    #[test]
    fn boiling_point_and_pressure_follow_altitude() {
        for (h, p_kpa, boils) in [
            (0.0, 101.33, 99.97),
            (250.0, 98.36, 99.14),
            (500.0, 95.46, 98.31),
            (1000.0, 89.87, 96.65),
            (1500.0, 84.56, 94.98),
            (2000.0, 79.50, 93.32),
            (2500.0, 74.68, 91.65),
            (3000.0, 70.11, 89.97),
        ] {
            near(standard_atmosphere_bar(h) * 100.0, p_kpa, 0.006);
            near(boiling_point_c(h), boils, 0.036);
        }
    }

    #[test]
    fn far_gravities_are_not_a_number_rather_than_wrong() {
        assert!(plato_from_specific_gravity(2.0).is_nan());
        assert!(plato_from_specific_gravity(f64::INFINITY).is_nan());
    }
}
