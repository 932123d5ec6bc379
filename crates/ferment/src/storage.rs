//! How yeast dies in storage.

use quantity::ZERO_CELSIUS_K;

/// Gas constant \[kJ/(mol K)\] (exact since 2019).
pub(crate) const GAS_CONSTANT: f64 = 8.314_462_618e-3;
/// Days in a year.
const YEAR_D: f64 = 365.25;

/// Share of slurry cells alive after some days.
///
/// First order, ln k\[1/d\] = 28.789 − 75.422/(R T): fitted to McCaig & Bendiak
/// 1985 (MBAA Tech. Q.; abstract read, fit computed on three temperatures, so
/// k is known to about 30 %). Range 1 to 25 °C.
pub(crate) fn slurry_viability(days: f64, temp_c: f64) -> f64 {
    (-arrhenius(28.789, SLURRY_EA, temp_c) * days).exp()
}

/// Share of cells alive in a liquid packet after some days.
///
/// 21 % a month at 4 °C (common practice; a maker states 75 to 85 % after 30
/// days at 3 to 5 °C, read as quoted), with the activation energy of slurry.
pub(crate) fn liquid_viability(days: f64, temp_c: f64) -> f64 {
    let at_4 = 0.0079;
    (-at_4 * relative(SLURRY_EA, temp_c, 4.0) * days).exp()
}

/// Share of cells alive in a closed dry packet after some days.
///
/// 4 % a year at 4 °C and 20 % a year at 20 °C (common practice), Arrhenius
/// between and beyond.
pub(crate) fn dry_viability(days: f64, temp_c: f64) -> f64 {
    let (cold, warm) = (-(0.96_f64.ln()) / YEAR_D, -(0.80_f64.ln()) / YEAR_D);
    let inverse = |c: f64| 1.0 / (c + ZERO_CELSIUS_K);
    let energy = GAS_CONSTANT * (warm / cold).ln() / (inverse(4.0) - inverse(20.0));
    (-cold * relative(energy, temp_c, 4.0) * days).exp()
}

/// Activation energy of dying in slurry \[kJ/mol\].
const SLURRY_EA: f64 = 75.422;

fn arrhenius(ln_a: f64, energy_kj_per_mol: f64, temp_c: f64) -> f64 {
    (ln_a - energy_kj_per_mol / (GAS_CONSTANT * (temp_c + ZERO_CELSIUS_K))).exp()
}

/// k(T)/k(T₀).
pub(crate) fn relative(energy_kj_per_mol: f64, temp_c: f64, reference_c: f64) -> f64 {
    let inverse = |c: f64| 1.0 / (c + ZERO_CELSIUS_K);
    (energy_kj_per_mol / GAS_CONSTANT * (inverse(reference_c) - inverse(temp_c))).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// McCaig & Bendiak 1985 through its fit; columns computed with NumPy.
    #[test]
    fn slurry_follows_the_fit() {
        for (temp_c, k, d7, d14, d30) in [
            (1.0, 0.01357, 0.909, 0.827, 0.666),
            (4.0, 0.01942, 0.873, 0.762, 0.559),
            (5.0, 0.02184, 0.858, 0.737, 0.519),
            (10.0, 0.03886, 0.762, 0.580, 0.312),
            (20.0, 0.1159, 0.444, 0.197, 0.031),
            (25.0, 0.1947, 0.256, 0.066, 0.003),
        ] {
            let ours = arrhenius(28.789, SLURRY_EA, temp_c);
            // Computed with NumPy, the fit on three temperatures.
            assert!((ours / k - 1.0).abs() < 2e-3, "{ours} {k}");
            for (days, printed) in [(7.0, d7), (14.0, d14), (30.0, d30)] {
                assert!((slurry_viability(days, temp_c) - printed).abs() < 1.1e-3);
            }
        }
    }

    /// McCaig & Bendiak 1985, abstract: 7 % lost at 1 °C, 14 % at 5 °C, up to
    /// 68 % at 25 °C after six days; the fit passes within its 30 %.
    #[test]
    fn slurry_agrees_with_the_measurements() {
        for (temp_c, lost) in [(1.0, 0.07), (5.0, 0.14), (25.0, 0.68)] {
            let ours = 1.0 - slurry_viability(6.0, temp_c);
            assert!((ours / lost - 1.0).abs() < 0.3, "{temp_c}: {ours}");
        }
    }

    #[test]
    fn packets_lose_what_the_trade_says() {
        assert!((liquid_viability(30.4, 4.0) - 0.79).abs() < 0.005);
        assert!((0.75..0.85).contains(&liquid_viability(30.0, 4.0)));
        assert!((dry_viability(YEAR_D, 4.0) - 0.96).abs() < 1e-9);
        assert!((dry_viability(YEAR_D, 20.0) - 0.80).abs() < 1e-9);
        assert!(dry_viability(YEAR_D, 30.0) < 0.80);
    }
}
