//! The rates of the mash: the rows of `data/mash.toml`.

use std::sync::LazyLock;

use quantity::ZERO_CELSIUS_K;

/// Gas constant that the recalled constants go with \[J/(mol K)\].
const GAS_J_PER_MOL_K: f64 = 8.314;
/// Temperature that the fitted rate of α-amylase is for \[K\].
const AT_65_K: f64 = 338.15;

/// Where one law of gelatinisation ends and the other begins \[°C\].
pub(super) const GELATINISES_ANEW_C: f64 = 60.0;

/// Rates at a temperature \[1/min\].
#[derive(Debug, Clone, Copy)]
pub(super) struct Rates {
    pub(super) gelatinises: f64,
    pub(super) alpha_lost: f64,
    pub(super) beta_lost: f64,
    pub(super) by_beta: f64,
    pub(super) by_alpha: f64,
    pub(super) liquefies: f64,
}

/// How the enzymes of a mash work against those of the mashes that the rates were fitted
/// to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Works {
    pub(super) beta: f64,
    pub(super) alpha: f64,
    /// How fast β-amylase is lost.
    pub(super) beta_lost: f64,
}

/// What does not move with temperature.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shares {
    /// Apparent limit that the sugars of the malt itself give.
    pub(super) at_once: f64,
    /// Apparent limit that a long, cool mash comes to.
    pub(super) most: f64,
}

impl Rates {
    /// Rates at a temperature \[°C\].
    pub(super) fn at(temp_c: f64) -> Self {
        let temp_k = temp_c + ZERO_CELSIUS_K;
        let data = &*DATA;
        let gel = if temp_c < GELATINISES_ANEW_C {
            &data.gelatinisation.below
        } else {
            &data.gelatinisation.above
        };
        let heat = data.alpha_rate.energy / GAS_J_PER_MOL_K * (1.0 / temp_k - 1.0 / AT_65_K);
        Self {
            gelatinises: gel.per_min(temp_k),
            alpha_lost: data.alpha_loss.rate.per_min(temp_k),
            beta_lost: data.beta_in_mash.value * data.beta_loss.rate.per_min(temp_k),
            by_beta: data.beta_rate.value,
            by_alpha: data.alpha_rate.value * (-heat).exp(),
            liquefies: data.liquefaction.value,
        }
    }

    /// The same for enzymes that work otherwise.
    pub(super) fn by(self, works: &Works) -> Self {
        Self {
            beta_lost: works.beta_lost * self.beta_lost,
            by_beta: works.beta * self.by_beta,
            by_alpha: works.alpha * self.by_alpha,
            liquefies: works.alpha * self.liquefies,
            ..self
        }
    }
}

pub(super) fn shares() -> Shares {
    Shares {
        at_once: DATA.at_once.value,
        most: DATA.most.value,
    }
}

impl Arrhenius {
    fn per_min(&self, temp_k: f64) -> f64 {
        60.0 * self.factor * (-self.energy / (GAS_J_PER_MOL_K * temp_k)).exp()
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Arrhenius {
    factor: f64,
    energy: f64,
}

#[derive(serde::Deserialize)]
struct Gelatinisation {
    below: Arrhenius,
    above: Arrhenius,
}

#[derive(serde::Deserialize)]
struct Loss {
    rate: Arrhenius,
}

#[derive(serde::Deserialize)]
struct Number {
    value: f64,
}

#[derive(serde::Deserialize)]
struct Warmed {
    value: f64,
    energy: f64,
}

#[derive(serde::Deserialize)]
struct File {
    gelatinisation: Gelatinisation,
    alpha_loss: Loss,
    beta_loss: Loss,
    beta_in_mash: Number,
    beta_rate: Number,
    alpha_rate: Warmed,
    most: Number,
    at_once: Number,
    liquefaction: Number,
}

static DATA: LazyLock<File> =
    LazyLock::new(|| quantity::data::builtin("mash.toml", include_str!("../../data/mash.toml")));

#[cfg(test)]
mod tests {
    use super::*;

    fn half_life(rate: f64) -> f64 {
        std::f64::consts::LN_2 / rate
    }

    /// Half-lives of the recalled constants of Brandam et al. 2003, computed with NumPy.
    #[test]
    fn half_lives_are_those_computed() {
        let in_mash = DATA.beta_in_mash.value;
        for (temp_c, alpha, beta) in [(63.0, 116.0, 10.0), (65.0, 72.0, 4.2), (70.0, 23.0, 0.5)] {
            let rates = Rates::at(temp_c);
            assert!((half_life(rates.alpha_lost) / alpha - 1.0).abs() < 0.03);
            assert!((half_life(rates.beta_lost) * in_mash / beta - 1.0).abs() < 0.03);
        }
        let alpha_at_75 = half_life(Rates::at(75.0).alpha_lost);
        assert!((alpha_at_75 / 7.0 - 1.0).abs() < 0.05, "{alpha_at_75}");
        let beta_at_60 = half_life(Rates::at(60.0).beta_lost) * in_mash;
        assert!((beta_at_60 / 38.0 - 1.0).abs() < 0.03, "{beta_at_60}");
        assert!((half_life(Rates::at(55.0).gelatinises) - 26.0).abs() < 0.6);
        assert!((half_life(Rates::at(65.0).gelatinises) - 2.0).abs() < 0.05);
    }

    /// Muller, c. 1990, 65 °C and 2.5 L/kg: half of the β-amylase gone in about 10 min,
    /// 83 % at 30 min; more than half of the α-amylase left at 60 min.
    #[test]
    fn enzymes_last_as_muller_found() {
        let rates = Rates::at(65.0);
        let left = |rate: f64, min: f64| (-rate * min).exp();
        assert!((0.40..0.60).contains(&left(rates.beta_lost, 10.0)));
        assert!((left(rates.beta_lost, 30.0) - 0.17).abs() < 0.03);
        assert!(left(rates.alpha_lost, 60.0) > 0.5);
    }
}
