//! The beer that packaging takes over.

use quantity::density::standard_atmosphere_bar;
use quantity::{AlcoholByVolume, CarbonDioxide, Cells, Gravity, Mass, Ph, Temperature};

use crate::alcohol::BeerFigures;
use crate::attenuation::left_at_most;
use crate::ferment::{Batch, beer_ph};
use crate::kinetics::{State, ph_after};
use crate::state::GreenBeer;

impl Batch<'_> {
    pub(crate) fn beer(
        &self,
        end: &State,
        figures: &BeerFigures,
        ended_h: Option<f64>,
    ) -> GreenBeer {
        let (wort, length_h) = (self.wort, self.plan.length.h());
        let litres = wort.volume.l();
        let warmest = self.warmest_after_end(ended_h);
        GreenBeer {
            volume: wort.volume,
            original: wort.gravity,
            gravity: Gravity::from_plato(figures.apparent_plato),
            real_extract: Gravity::from_plato(figures.real_plato),
            fermentable_left_at_most: left_at_most(
                &self.aim,
                self.plan.strain.diastatic,
                figures.apparent_plato,
            ),
            alcohol: AlcoholByVolume::from_ratio(figures.ethanol_volume_fraction),
            temperature: Temperature::from_c(self.temperatures.temp_c_from_below(length_h)),
            warmest_after_end: warmest,
            carbon_dioxide: CarbonDioxide::from_g_per_l(self.co2_held(end, warmest)),
            ph: Ph::from_ph(self.ph(end)),
            colour: wort.colour,
            bitterness: wort.bitterness,
            yeast_mass: Mass::from_g(self.pitch.dry_mass.g() + self.yeast_g_per_l(end) * litres),
            cells: Cells::from_billions(end.active * litres),
            diastatic: self.plan.strain.diastatic,
            sulfur_dioxide_at_most: wort.traces.sulfur_dioxide_at_most,
            halogen_met: wort.traces.halogen_met,
            ions: wort.ions,
            flavour: self.flavour(end),
        }
    }

    /// CO₂ in solution \[g/L\]: what was made, or what the beer holds at a
    /// temperature.
    pub(crate) fn co2_held(&self, state: &State, at: Temperature) -> f64 {
        let pressure_bar = standard_atmosphere_bar(self.plan.altitude.m()) + self.top_pressure_bar;
        co2_in_solution(at, pressure_bar).min(self.co2_g_per_l(state))
    }

    /// The warmest since gas production ended; where it has not, the temperature
    /// at the end, at which the gas still bubbling keeps the beer saturated.
    fn warmest_after_end(&self, ended_h: Option<f64>) -> Temperature {
        let length_h = self.plan.length.h();
        let from_h = ended_h.unwrap_or(length_h).min(length_h);
        Temperature::from_c(self.temperatures.warmest_c(from_h, length_h))
    }

    pub(crate) fn ph(&self, state: &State) -> f64 {
        ph_after(self.wort.ph.ph(), beer_ph(self.wort), state.progress)
    }
}

/// CO₂ that beer holds under its own gas at a pressure \[bar absolute\], in g/L.
///
/// c = 10 p exp(−10.73797 + 2617.25/T), p in bar absolute: Kaiser 2008,
/// Carbonation Tables (read), usually credited to MEBAK (from memory).
fn co2_in_solution(temperature: Temperature, pressure_bar: f64) -> f64 {
    10.0 * pressure_bar * (-10.737_97 + 2617.25 / temperature.k()).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Henry constants of beer by the same formula, computed with NumPy
    /// \[g/(L bar)\]; residual CO₂ at the pressure of the air of 1.61 volumes at
    /// 0 °C, 1.40 at 4 °C, 1.15 at 10 °C.
    #[test]
    fn co2_in_solution_is_as_printed() {
        for (temp_c, printed) in [(0.0, 3.146), (4.0, 2.740), (10.0, 2.243), (20.0, 1.637)] {
            let ours = co2_in_solution(Temperature::from_c(temp_c), 1.0);
            assert!((ours - printed).abs() < 1.1e-3, "{ours} {printed}");
        }
        for (temp_c, volumes) in [(0.0, 1.61), (4.0, 1.40), (10.0, 1.15)] {
            let g = co2_in_solution(Temperature::from_c(temp_c), 1.013_25);
            let ours = CarbonDioxide::from_g_per_l(g).volumes();
            assert!((ours - volumes).abs() < 6e-3, "{ours} {volumes}");
        }
    }
}
