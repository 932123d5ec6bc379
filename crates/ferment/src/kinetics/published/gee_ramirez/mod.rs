//! Sugars, growth, amino acids and flavour after Gee and Ramirez.

use std::sync::LazyLock;

use quantity::{Duration, Source, ZERO_CELSIUS_K, data};

use crate::error::{FermentError, within_numbers};
use crate::kinetics::checked_times;
use crate::solver::{Over, Real, System, Tolerances, solve};
use crate::temperature::TemperatureCourse;

const N: usize = 17;

/// The flavour model of D.A. Gee and W.F. Ramirez on the growth part of Engasser
/// et al. 1981, with one of its two sets of constants.
///
/// Equations and constants as public implementations carry them (read, second
/// hand). Time in hours, concentrations in mol/m³, yeast in mol/m³ of a formula
/// weight that was not printed, so that its start is a fitted number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GeeRamirez {
    /// J. Inst. Brew. 100 (1994) 321–329: fitted at 10.5 °C and holds there only.
    Set94,
    /// W.F. Ramirez, J. Maciejowski, J. Inst. Brew. 113 (2007) 325–333: constants
    /// that follow the temperature, from values at 4 to 16 °C. Uptake is nearly of
    /// first order, so that its tail is long.
    Set07,
}

impl GeeRamirez {
    /// The states in order \[mol/m³\].
    pub const STATES: [&'static str; N] = [
        "glucose",
        "maltose",
        "maltotriose",
        "biomass",
        "ethanol",
        "leucine",
        "isoleucine",
        "valine",
        "isobutanol",
        "isoamyl alcohol",
        "2-methyl-1-butanol",
        "n-propanol",
        "ethyl acetate",
        "ethyl caproate",
        "isoamyl acetate",
        "vicinal diketones",
        "acetaldehyde",
    ];

    /// Where the constants come from.
    #[must_use]
    pub fn source(self) -> Source {
        let set = self.set();
        Source {
            text: format!("{}; {}", set.source, TABLE.common.source),
            mark: data::mark(FILE, "set", &set.mark),
        }
    }

    /// The states \[mol/m³\] at times in rising order.
    ///
    /// # Errors
    /// [`FermentError::OutsideModel`] at temperatures that the set was not fitted
    /// to, [`FermentError::Impossible`] for a negative start or time,
    /// [`FermentError::Solver`] if the solver gives up.
    pub fn solve(
        self,
        start: [f64; N],
        course: &TemperatureCourse,
        times: &[Duration],
    ) -> Result<Vec<[f64; N]>, FermentError> {
        let times_h = checked_times(times)?;
        for x in start {
            within_numbers("start of a state", x, 0.0, 1e5)?;
        }
        self.check_temperatures(course, times_h.last().copied().unwrap_or(0.0))?;
        let system = Flavour {
            set: self.set(),
            yeast_at_start: start[3],
        };
        solve(&system, start, course, &times_h)
    }

    fn set(self) -> &'static Set {
        match self {
            Self::Set94 => &TABLE.set_94,
            Self::Set07 => &TABLE.set_07,
        }
    }

    fn check_temperatures(
        self,
        course: &TemperatureCourse,
        until_h: f64,
    ) -> Result<(), FermentError> {
        let (model, low_c, high_c) = match self {
            Self::Set94 => ("the model of Gee and Ramirez 1994", 10.5, 10.5),
            Self::Set07 => ("the model of Ramirez and Maciejowski 2007", 4.0, 16.0),
        };
        let ends = [
            course.coldest_c(0.0, until_h),
            course.warmest_c(0.0, until_h),
        ];
        match ends.into_iter().find(|c| !(low_c..=high_c).contains(c)) {
            None => Ok(()),
            Some(given_c) => Err(FermentError::OutsideModel {
                model,
                given_c,
                low_c,
                high_c,
            }),
        }
    }
}

struct Flavour<T> {
    set: &'static Set,
    yeast_at_start: T,
}

/// The constants at one temperature.
struct Constants<T> {
    greatest: [T; 3],
    half: [T; 3],
    repress: [T; 2],
    amino_half: [T; 3],
    diketones: [T; 2],
    acetaldehyde: [T; 2],
}

impl<T: Real> System<N, T> for Flavour<T> {
    /// The uptake of amino acids starts late by the clock.
    const TIMED: bool = true;

    type Warmth = Constants<T>;

    fn warmth(&self, temp_c: T) -> Constants<T> {
        let (set, per_rt) = (self.set, ((temp_c + ZERO_CELSIUS_K) * GAS_CONSTANT).recip());
        let at = |constant: &Constant| match *constant {
            Constant::Fixed(value) => T::of(value),
            Constant::Arrhenius {
                ln_a,
                kcal_per_mol: energy,
            } => (per_rt * -energy + ln_a).exp(),
        };
        Constants {
            greatest: set.greatest.each_ref().map(at),
            half: set.half.each_ref().map(at),
            repress: set.repress.each_ref().map(at),
            amino_half: set.amino_half.each_ref().map(at),
            diketones: set.diketones.each_ref().map(at),
            acetaldehyde: set.acetaldehyde.each_ref().map(at),
        }
    }

    fn rates<D: Over<T>>(&self, t_h: f64, now: &Constants<T>, x: &[D; N]) -> [D; N] {
        let [g, m, n, yeast, _, leu, ile, val, ..] = *x;
        let [.., vdk, aldehyde] = *x;
        let (common, set) = (&TABLE.common, self.set);
        let free_of = |sugar: D, k: T| (sugar + k).recip() * k;
        let free_of_g = free_of(g, now.repress[0]);
        let mu = [
            monod(g, now.half[0]) * now.greatest[0],
            monod(m, now.half[1]) * now.greatest[1] * free_of_g,
            monod(n, now.half[2]) * now.greatest[2] * free_of_g * free_of(m, now.repress[1]),
        ];
        let weighted = |y: [f64; 3]| mu[0] * y[0] + mu[1] * y[1] + mu[2] * y[2];
        let gained = yeast - self.yeast_at_start;
        let room = (gained * gained + common.crowding).recip() * common.crowding;
        let growth = weighted(common.growth_yield) * room * yeast;
        let uptake = (mu[0] + mu[1] + mu[2]) * yeast;
        let amino = growth * (1.0 - (-t_h / common.delay_h).exp());
        let taken = |acid: D, i: usize| amino * monod(acid, now.amino_half[i]) * set.amino_yield[i];
        let (r_leu, r_ile, r_val) = (taken(leu, 0), taken(ile, 1), taken(val, 2));
        let [isobutanol, isoamyl, methylbutanol, propanol] = set.alcohols;
        let [ethyl_acetate, ethyl_caproate, isoamyl_acetate] = set.esters;
        [
            -mu[0] * yeast,
            -mu[1] * yeast,
            -mu[2] * yeast,
            growth,
            weighted(common.ethanol_yield) * yeast,
            -r_leu,
            -r_ile,
            -r_val,
            r_val * isobutanol,
            r_leu * isoamyl,
            r_ile * methylbutanol,
            (r_val + r_ile) * propanol,
            uptake * ethyl_acetate,
            growth * ethyl_caproate,
            r_leu * (isoamyl * isoamyl_acetate),
            growth * now.diketones[0] - vdk * yeast * now.diketones[1],
            uptake * now.acetaldehyde[0] - aldehyde * yeast * now.acetaldehyde[1],
        ]
    }

    fn tolerances(&self) -> Tolerances<N> {
        Tolerances {
            absolute: [1e-10; N],
            relative: 1e-9,
        }
    }
}

fn monod<T, D: Over<T>>(x: D, half: T) -> D {
    x / (x + half)
}

const FILE: &str = "gee_ramirez.toml";
/// \[kcal/(mol K)\], as the implementations round it.
const GAS_CONSTANT: f64 = 1.987e-3;

static TABLE: LazyLock<File> =
    LazyLock::new(|| data::builtin(FILE, include_str!("../../../../data/gee_ramirez.toml")));

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    common: Common,
    set_94: Set,
    set_07: Set,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Common {
    growth_yield: [f64; 3],
    ethanol_yield: [f64; 3],
    crowding: f64,
    delay_h: f64,
    source: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Set {
    greatest: [Constant; 3],
    half: [Constant; 3],
    repress: [Constant; 2],
    amino_yield: [f64; 3],
    amino_half: [Constant; 3],
    alcohols: [f64; 4],
    esters: [f64; 3],
    diketones: [Constant; 2],
    acetaldehyde: [Constant; 2],
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(untagged)]
enum Constant {
    Fixed(f64),
    /// exp(ln A − E/(RT)).
    Arrhenius {
        ln_a: f64,
        kcal_per_mol: f64,
    },
}

#[cfg(test)]
mod tests;
