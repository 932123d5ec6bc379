//! Industrial lager fermentation after de Andrés-Toro et al.

use std::array::from_fn;
use std::sync::LazyLock;

use quantity::{Duration, Source, ZERO_CELSIUS_K, data};

use crate::error::{FermentError, within_numbers};
use crate::kinetics::checked_times;
use crate::solver::{Lanes, Over, Real, System, Tolerances, solve};
use crate::temperature::TemperatureCourse;

const N: usize = 7;
/// Temperatures that the model may be used at \[°C\]: fitted from 8 to 16.
const RANGE_C: (f64, f64) = (0.0, 16.5);
const NAME: &str = "the model of de Andrés-Toro et al. 1998 (at 18 °C its yeast dies within hours)";

/// The model of B. de Andrés-Toro, J.M. Girón-Sierra, J.A. López-Orozco et al.,
/// Math. Comput. Simul. 48 (1998) 65–74: lager, 8 to 16 °C, 110 to 150 g/L of
/// sugar.
///
/// Equations and constants as four public implementations carry them (read,
/// second hand), without the separate lag stage. Ethyl acetate and diacetyl are
/// relative scores. Ethanol in mid-course breaks the mass balance, so gravity
/// must come from sugar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AndresToro1998 {
    /// What ethyl acetate forms with.
    pub esters: EsterForm,
    /// Error that the solver is held to, relative and in the unit of a state.
    pub tolerance: f64,
}

/// The two forms in which implementations give the formation of ethyl acetate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EsterForm {
    /// With growth, Y μ_x X: keeps to the 1 to 2 mg/L of the published work.
    #[default]
    Growth,
    /// With the uptake of sugar, Y μ_s X: about 9 mg/L on the same course.
    Uptake,
}

impl Default for AndresToro1998 {
    fn default() -> Self {
        Self {
            esters: EsterForm::Growth,
            tolerance: 1e-9,
        }
    }
}

impl AndresToro1998 {
    /// The states in order: suspended yeast and dissolved matter \[g/L\], ethyl
    /// acetate and diacetyl \[mg/L\].
    pub const STATES: [&'static str; N] = [
        "latent yeast",
        "active yeast",
        "dead yeast",
        "sugar",
        "ethanol",
        "ethyl acetate",
        "diacetyl",
    ];

    /// Where the constants come from.
    #[must_use]
    pub fn source() -> Source {
        Source {
            text: TABLE.source.clone(),
            mark: data::mark(FILE, "constants", &TABLE.mark),
        }
    }

    /// The states at times in rising order.
    ///
    /// # Errors
    /// [`FermentError::OutsideModel`] above 16.5 °C or below freezing,
    /// [`FermentError::Impossible`] for a negative start or time,
    /// [`FermentError::Solver`] if the solver gives up.
    pub fn solve(
        &self,
        start: [f64; N],
        course: &TemperatureCourse,
        times: &[Duration],
    ) -> Result<Vec<[f64; N]>, FermentError> {
        let times_h = self.checked(start, course, times)?;
        let system = Lager {
            model: *self,
            sugar_at_start: start[3],
        };
        solve(&system, start, course, &times_h)
    }

    /// As [`solve`](Self::solve) for four starts at once, with common steps.
    ///
    /// # Errors
    /// As [`solve`](Self::solve); what stops one of them stops all.
    pub fn solve_four(
        &self,
        starts: [[f64; N]; 4],
        course: &TemperatureCourse,
        times: &[Duration],
    ) -> Result<[Vec<[f64; N]>; 4], FermentError> {
        let mut times_h = Vec::new();
        for start in starts {
            times_h = self.checked(start, course, times)?;
        }
        let together: [Lanes<4>; N] = from_fn(|i| Lanes(starts.map(|start| start[i])));
        let system = Lager {
            model: *self,
            sugar_at_start: together[3],
        };
        let states = solve(&system, together, course, &times_h)?;
        let lane = |lane: usize| states.iter().map(|x| x.map(|v| v.0[lane])).collect();
        Ok(from_fn(lane))
    }

    /// The times \[h\], if all that is asked can be.
    fn checked(
        &self,
        start: [f64; N],
        course: &TemperatureCourse,
        times: &[Duration],
    ) -> Result<Vec<f64>, FermentError> {
        let times_h = checked_times(times)?;
        within_numbers("tolerance of the solver", self.tolerance, 1e-12, 1e-2)?;
        for x in start {
            within_numbers("start of a state", x, 0.0, 1e3)?;
        }
        within_numbers("sugar at start", start[3], 1.0, 1e3)?;
        check_temperatures(course, times_h.last().copied().unwrap_or(0.0))?;
        Ok(times_h)
    }
}

fn check_temperatures(course: &TemperatureCourse, until_h: f64) -> Result<(), FermentError> {
    let (low_c, high_c) = RANGE_C;
    let ends = [
        course.coldest_c(0.0, until_h),
        course.warmest_c(0.0, until_h),
    ];
    match ends.into_iter().find(|c| !(low_c..=high_c).contains(c)) {
        None => Ok(()),
        Some(given_c) => Err(FermentError::OutsideModel {
            model: NAME,
            given_c,
            low_c,
            high_c,
        }),
    }
}

/// The equations, with the sugar at the start as a parameter.
pub(crate) struct Lager<T> {
    pub(crate) model: AndresToro1998,
    pub(crate) sugar_at_start: T,
}

/// The constants at one temperature.
pub(crate) struct Constants<T> {
    growth: T,
    ethyl_acetate: T,
    uptake: T,
    activation: T,
    settling: T,
    ethanol: T,
    death: T,
    saturation: T,
}

impl<T: Real> System<N, T> for Lager<T> {
    type Warmth = Constants<T>;

    fn warmth(&self, temp_c: T) -> Constants<T> {
        let (table, per_k) = (&*TABLE, (temp_c + ZERO_CELSIUS_K).recip());
        let at = |law: &Law| (per_k * -law.b_k + law.a).exp();
        Constants {
            growth: at(&table.greatest_growth),
            ethyl_acetate: at(&table.ethyl_acetate),
            uptake: at(&table.greatest_uptake),
            activation: at(&table.activation),
            settling: at(&table.greatest_settling),
            ethanol: at(&table.greatest_ethanol),
            death: at(&table.death),
            saturation: at(&table.saturation),
        }
    }

    fn rates<D: Over<T>>(&self, _t_h: f64, now: &Constants<T>, x: &[D; N]) -> [D; N] {
        let [latent, active, dead, sugar, ethanol, _, diacetyl] = *x;
        let table = &*TABLE;
        let half = self.sugar_at_start * 0.5;
        let crowding = (ethanol + half).recip();
        let growth = sugar * crowding * now.growth;
        let saturated = sugar / (sugar + now.saturation) * active;
        let (activated, dying) = (latent * now.activation, active * now.death);
        let uptake = saturated * now.uptake;
        let with_esters = match self.model.esters {
            EsterForm::Growth => growth * active,
            EsterForm::Uptake => uptake,
        };
        [
            -activated,
            growth * active - dying + activated,
            dying - crowding * dead * (now.settling * half),
            -uptake,
            (-ethanol / half + 1.0) * saturated * now.ethanol,
            with_esters * now.ethyl_acetate,
            sugar * active * table.diacetyl_formed - diacetyl * ethanol * table.diacetyl_removed,
        ]
    }

    fn tolerances(&self) -> Tolerances<N> {
        Tolerances {
            absolute: [self.model.tolerance * 0.1; N],
            relative: self.model.tolerance,
        }
    }
}

const FILE: &str = "andres_toro_1998.toml";

static TABLE: LazyLock<Table> =
    LazyLock::new(|| data::builtin(FILE, include_str!("../../../../data/andres_toro_1998.toml")));

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    source: String,
    mark: String,
    diacetyl_formed: f64,
    diacetyl_removed: f64,
    greatest_growth: Law,
    ethyl_acetate: Law,
    greatest_uptake: Law,
    activation: Law,
    greatest_settling: Law,
    greatest_ethanol: Law,
    death: Law,
    saturation: Law,
}

/// exp(a − b/T), T in kelvin.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Law {
    a: f64,
    b_k: f64,
}

#[cfg(test)]
mod tests;
