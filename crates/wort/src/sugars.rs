//! What the mash makes of the starch: the limit of attenuation and the sugars by
//! kind.

use quantity::{Fraction, Gravity, MassConcentration, Measured};

use crate::alcohol;
use crate::error::WortError;
use crate::malts::{Fermentable, Kind};
use crate::mash::SugarShares;
use crate::numeric::{interpolate, pchip};
use crate::plan::Rest;
use crate::state::Carbohydrates;

/// Apparent limit of attenuation \[–\] against mash temperature \[°C\], an hour of
/// infusion. From 65 °C: J. Chandrasekhar's thesis, 90 % lager malt and 10 % light
/// caramel malt at 3 L/kg, as quoted by a brewery chemist in 2014 (read). At 62 °C:
/// common practice; Hamilton & Lewis, *MBAA Tech. Q.* 11, 31, 1974 (abstract read)
/// put the optimum at 62.5 °C.
const LIMIT: [(f64, f64); 5] = [
    (62.0, 0.83),
    (65.0, 0.82),
    (70.0, 0.70),
    (75.0, 0.50),
    (80.0, 0.30),
];

/// Standard deviation of the limit \[–\] against temperature \[°C\] (judgement):
/// other malts, thickness and pH move it, most where it is steep.
const LIMIT_SD: [(f64, f64); 3] = [(65.0, 0.03), (70.0, 0.04), (75.0, 0.06)];

/// Coolest and hottest rest that makes sugar \[°C\]: malt starch gelatinises from
/// 58 °C (from memory), and alpha-amylase is gone in minutes above 82 °C.
const CONVERTS_C: std::ops::RangeInclusive<f64> = 58.0..=82.0;

/// Time constant with which a rest sets the limit \[min\]. Chosen so that 45 min in
/// place of 60 costs a few per cent, and half an hour at 62 °C before 72 °C ends at
/// 80 to 85 % (common practice; the constant is a judgement).
const SETTLES_MIN: f64 = 15.0;

/// The time that the table was made at \[min\].
const TABLE_MIN: f64 = 60.0;

/// Carbohydrate in the extract of malt wort \[–\]: 0.90 to 0.92, Briggs et al. 2004
/// as quoted (read).
const CARBOHYDRATE: f64 = 0.91;

/// Shares of what all-malt wort ferments: glucose with fructose and sucrose 15,
/// maltose 49, maltotriose 13 of 77 parts; typical after Briggs et al. 2004 (from
/// memory).
const SIMPLE: f64 = 15.0 / 77.0;
const MALTOSE: f64 = 49.0 / 77.0;
const MALTOTRIOSE: f64 = 13.0 / 77.0;

/// Apparent limit of attenuation that a mash gives all-malt wort \[–\], with its
/// spread.
///
/// L = Σ wᵢ·L(Tᵢ), L(T) by PCHIP through the data, wᵢ = e^(−tᵢ₋/τ)·(1 − e^(−tᵢ/τ)) with
/// tᵢ₋ the time of the converting rests before, scaled to an hour. Crystal and
/// roasted malts beyond a tenth of the grist lower it further; that is not in it.
///
/// # Errors
/// [`WortError::NoConversion`] where no rest lies between 58 and 82 °C.
pub fn attenuation_limit(rests: &[Rest]) -> Result<Measured<Fraction>, WortError> {
    let (mut limit, mut sd, mut open, mut settled) = (0.0, 0.0, 1.0, 0.0);
    for rest in rests
        .iter()
        .filter(|r| CONVERTS_C.contains(&r.temperature.c()))
    {
        let weight = open * -(-rest.duration.min() / SETTLES_MIN).exp_m1();
        limit += weight * pchip(&LIMIT, rest.temperature.c());
        sd += weight * interpolate(&LIMIT_SD, rest.temperature.c());
        settled += weight;
        open -= weight;
    }
    if settled <= 1e-6 {
        return Err(WortError::NoConversion);
    }
    let hour = -(-TABLE_MIN / SETTLES_MIN).exp_m1();
    Ok(Measured::with_sd(
        Fraction::from_ratio(limit / hour),
        sd / settled,
    ))
}

/// Extract by how it ferments \[any unit of mass\].
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Spectrum {
    pub(crate) extract: f64,
    pub(crate) simple: f64,
    pub(crate) maltose: f64,
    pub(crate) maltotriose: f64,
    pub(crate) dextrin: f64,
}

impl Spectrum {
    /// Malt wort or malt extract of which a share ferments.
    pub(crate) fn malt(extract: f64, fermentable: f64) -> Self {
        let sugar = extract * fermentable.min(CARBOHYDRATE);
        Self {
            extract,
            simple: sugar * SIMPLE,
            maltose: sugar * MALTOSE,
            maltotriose: sugar * MALTOTRIOSE,
            dextrin: extract * CARBOHYDRATE - sugar,
        }
    }

    /// Wort of a mash of which a share ferments, its sugars as the mash made them.
    pub(crate) fn mashed(extract: f64, fermentable: f64, sugars: &SugarShares) -> Self {
        let sugar = extract * fermentable.min(CARBOHYDRATE);
        Self {
            extract,
            simple: sugar * sugars.simple().ratio(),
            maltose: sugar * sugars.maltose.ratio(),
            maltotriose: sugar * sugars.maltotriose.ratio(),
            dextrin: extract * CARBOHYDRATE - sugar,
        }
    }

    /// A sugar or syrup: what ferments is simple, what does not (lactose too)
    /// stands with the dextrins.
    pub(crate) fn sugar(extract: f64, fermentable: f64) -> Self {
        Self {
            extract,
            simple: extract * fermentable,
            dextrin: extract * (1.0 - fermentable),
            ..Self::default()
        }
    }

    /// What is stirred into the kettle, by its kind.
    pub(crate) fn kettled(what: &Fermentable, extract: f64) -> Self {
        let share = what.fermentable.map_or(0.0, |f| f.value.ratio());
        match what.kind {
            Kind::MaltExtract => Self::malt(extract, share),
            _ => Self::sugar(extract, share),
        }
    }

    pub(crate) fn plus(self, other: Self) -> Self {
        Self {
            extract: self.extract + other.extract,
            simple: self.simple + other.simple,
            maltose: self.maltose + other.maltose,
            maltotriose: self.maltotriose + other.maltotriose,
            dextrin: self.dextrin + other.dextrin,
        }
    }

    /// Concentrations of so many kilograms in so many litres.
    pub(crate) fn in_litres(self, litres: f64) -> Carbohydrates {
        let per_l = |kg: f64| MassConcentration::from_mg_per_l(kg * 1e6 / litres);
        Carbohydrates {
            simple: per_l(self.simple),
            maltose: per_l(self.maltose),
            maltotriose: per_l(self.maltotriose),
            dextrin: per_l(self.dextrin),
        }
    }
}

/// Share of the extract that ferments \[–\] where the apparent limit of attenuation
/// is known, by Balling and Tabarié.
pub(crate) fn fermentable_share(gravity: Gravity, limit: Fraction) -> Result<f64, WortError> {
    if gravity.plato() < 0.1 {
        return Ok(0.0);
    }
    let apparent = Gravity::from_plato(gravity.plato() * (1.0 - limit.ratio()));
    Ok(alcohol::beer(gravity, apparent)?.fermented().ratio())
}

/// Apparent limit of attenuation \[–\] of a wort by its carbohydrates, the way back
/// from [`fermentable_share`]; at most 1.
pub(crate) fn limit_of(gravity: Gravity, wort: &Carbohydrates) -> Result<Fraction, WortError> {
    if gravity.plato() < 0.1 {
        return Ok(Fraction::from_ratio(0.0));
    }
    let extract_mg_per_l =
        crate::mix::density_kg_per_l(gravity.plato(), 20.0) * gravity.plato() * 1e4;
    let sugar = wort.simple.mg_per_l() + wort.maltose.mg_per_l() + wort.maltotriose.mg_per_l();
    let share = Fraction::from_ratio((sugar / extract_mg_per_l).clamp(0.0, 1.0));
    let beer = alcohol::beer_from_fermented(gravity, share)?;
    Ok(Fraction::from_ratio(
        beer.apparent_attenuation().ratio().clamp(0.0, 1.0),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use quantity::{Duration, Temperature};

    fn rest(temp_c: f64, min: f64) -> Rest {
        Rest::at(Temperature::from_c(temp_c), Duration::from_min(min))
    }

    fn limit(rests: &[Rest]) -> f64 {
        attenuation_limit(rests).unwrap().value.ratio()
    }

    /// Chandrasekhar's four points, printed to the per cent.
    #[test]
    fn an_hour_of_infusion_meets_the_data() {
        for (temp_c, printed) in [(65.0, 0.82), (70.0, 0.70), (75.0, 0.50), (80.0, 0.30)] {
            assert!((limit(&[rest(temp_c, 60.0)]) - printed).abs() < 0.005);
        }
    }

    /// Step mashes at 62 and 72 °C end at 80 to 85 %; 15 min less at 65 °C cost a
    /// few per cent (common practice).
    #[test]
    fn steps_and_short_mashes_follow_practice() {
        let step = limit(&[rest(62.0, 30.0), rest(72.0, 30.0)]);
        assert!((0.80..0.85).contains(&step), "{step}");
        let lost = limit(&[rest(65.0, 60.0)]) - limit(&[rest(65.0, 45.0)]);
        assert!((0.01..0.05).contains(&lost), "{lost}");
        assert!(matches!(
            attenuation_limit(&[rest(50.0, 60.0)]),
            Err(WortError::NoConversion)
        ));
        assert!(attenuation_limit(&[]).is_err());
    }

    /// At 80 % the dextrins are 20 to 30 % of the carbohydrate, as the literature
    /// has it (Briggs et al. 2004, from memory; about 25 % on a university
    /// teaching page, read).
    #[test]
    fn dextrins_at_eighty_per_cent() {
        let p = Gravity::from_plato(12.0);
        let share = fermentable_share(p, Fraction::from_ratio(0.80)).unwrap();
        let wort = Spectrum::malt(1.0, share);
        let carbohydrate = wort.simple + wort.maltose + wort.maltotriose + wort.dextrin;
        assert!((carbohydrate - 0.91).abs() < 1e-12);
        assert!(
            (0.20..0.30).contains(&(wort.dextrin / carbohydrate)),
            "{}",
            wort.dextrin
        );
    }

    proptest! {
        #[test]
        fn limit_falls_with_temperature_from_65_up(
            low in 65.0..82.0f64, step in 0.01..10.0f64, min in 10.0..120.0f64,
        ) {
            let high = (low + step).min(82.0);
            prop_assert!(limit(&[rest(high, min)]) <= limit(&[rest(low, min)]) + 1e-12);
        }

        #[test]
        fn the_way_back_from_the_sugars_closes(plato in 4.0..25.0f64, limit in 0.3..0.9f64) {
            let gravity = Gravity::from_plato(plato);
            let share = fermentable_share(gravity, Fraction::from_ratio(limit)).unwrap();
            let kg_per_l = crate::mix::density_kg_per_l(plato, 20.0) * plato / 100.0;
            let wort = Spectrum::malt(kg_per_l, share).in_litres(1.0);
            let back = limit_of(gravity, &wort).unwrap().ratio();
            prop_assert!((back - limit).abs() < 1e-9, "{back} against {limit}");
        }
    }
}
