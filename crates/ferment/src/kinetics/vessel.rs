//! A fermentation in a vessel that warms itself, with a controller that switches
//! cooling and heating.

use quantity::{Duration, GaugePressure, Power, Temperature, TemperatureDifference};

use super::model::{CourseModel, N, Warmth};
use crate::error::{FermentError, within};
use crate::solver::{Over, Real, Segment, System, Tolerances, follow};

/// Heat of fermentation \[kJ/g of real extract\]: 587 kJ/kg, of engineering
/// handbooks (from memory); pilot batches of E. Lwele 2025 that warmed themselves
/// gave 1.15 to 1.19 K for 1 °P, which supports it (computed).
pub(crate) const HEAT_KJ_PER_G: f64 = 0.587;
/// Switches that a course may see.
const MOST_SWITCHES: usize = 20_000;

/// A fermenter, its place and its controller.
///
/// One temperature stands for all of the beer, and the controller sees it without
/// delay. The air of a refrigerator is no state of its own: its heat capacity and the
/// walls are known for no vessel in the sources.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vessel {
    /// Temperature around it.
    pub ambient: Temperature,
    /// Time in which a difference to it falls to 1/e with nothing switched on:
    /// 7 to 12 h for 23 L in still air (computed for 8 to 5 W/(m² K)), 14 to 20 h in
    /// the pilot vessels of E. Lwele 2025 (computed).
    pub insulation: Duration,
    /// Heat that the cooling takes away while it is on; zero for none.
    pub cooling: Power,
    /// Heat that the heating gives while it is on; zero for none.
    pub heating: Power,
    /// How far from the set point the controller lets the beer go before it
    /// switches; it switches off at the set point.
    pub dead_band: TemperatureDifference,
    /// The least time that the cooling stays off, so that its compressor is spared: 3 to
    /// 5 min (common practice); zero for none.
    pub least_off: Duration,
    /// Pressure above the beer, over the air's.
    pub top_pressure: GaugePressure,
}

/// How the vessel answers to heat and to the air around it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Thermal {
    /// Warming by extract fermented \[K L/g\].
    pub(crate) kelvin_per_g_per_l: f64,
    pub(crate) insulation_h: f64,
    pub(crate) ambient_c: f64,
    /// What is switched on \[K/h\].
    pub(crate) drive_k_per_h: f64,
}

impl Thermal {
    /// Change of temperature \[K/h\] with so much extract fermenting \[g/(L h)\]:
    /// dT/dt = q/(ρ c_p) − (T − T_ambient)/τ ± what is switched on.
    pub(crate) fn warming<D: Real>(&self, temp_c: D, fermenting: D) -> D {
        let lost = (temp_c - self.ambient_c) / self.insulation_h;
        fermenting * self.kelvin_per_g_per_l - lost + self.drive_k_per_h
    }
}

/// What is switched on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mode {
    Off,
    Cooling,
    Heating,
}

/// A course as the vessel lived it.
pub(crate) struct Lived {
    /// The states of the model at the times wanted.
    pub(crate) states: Vec<[f64; N]>,
    /// Temperatures then \[°C\].
    pub(crate) temps_c: Vec<f64>,
    pub(crate) switches: usize,
    pub(crate) cooling_h: f64,
    pub(crate) heating_h: f64,
}

impl Vessel {
    pub(crate) fn check(&self) -> Result<(), FermentError> {
        within("temperature around the vessel", self.ambient, -30.0, 60.0)?;
        within("insulation of the vessel", self.insulation, 0.1, 1000.0)?;
        within("power of the cooling", self.cooling, 0.0, 1000.0)?;
        within("power of the heating", self.heating, 0.0, 1000.0)?;
        within("dead band of the controller", self.dead_band, 0.05, 10.0)?;
        within("least time off of the cooling", self.least_off, 0.0, 24.0)?;
        within("pressure above the beer", self.top_pressure, 0.0, 3.0)?;
        Ok(())
    }

    /// Lives through set points from a temperature on; `heat_capacity` is that of
    /// a litre \[kJ/(L K)\].
    pub(crate) fn live(
        &self,
        model: &CourseModel,
        set_points: &[Segment],
        start_c: f64,
        times_h: &[f64],
        (litres, heat_capacity): (f64, f64),
    ) -> Result<Lived, FermentError> {
        let kelvin_per_h = |power: Power| power.kw() * 3600.0 / (litres * heat_capacity);
        let off = Thermal {
            kelvin_per_g_per_l: HEAT_KJ_PER_G / heat_capacity,
            insulation_h: self.insulation.h(),
            ambient_c: self.ambient.c(),
            drive_k_per_h: 0.0,
        };
        let powers = [kelvin_per_h(self.cooling), kelvin_per_h(self.heating)];
        let band = self.dead_band.k();
        let mut out = Lived {
            states: Vec::new(),
            temps_c: Vec::new(),
            switches: 0,
            cooling_h: 0.0,
            heating_h: 0.0,
        };
        let mut x = with_temperature(model.start(), start_c);
        let mut mode = Mode::Off;
        // When the cooling may come on again \[h\].
        let mut rested_h = f64::NEG_INFINITY;
        let spared = |at_h: f64, rested_h: f64| {
            let cooling = if at_h < rested_h { 0.0 } else { powers[0] };
            [cooling, powers[1]]
        };
        for segment in set_points {
            let mut rest = *segment;
            let before = mode;
            let powers_now = spared(rest.from_h, rested_h);
            mode = switched(mode, x[N] - rest.from_c, band, powers_now);
            if before == Mode::Cooling && mode != Mode::Cooling {
                rested_h = rest.from_h + self.least_off.h();
            }
            while rest.from_h < rest.to_h {
                let powers_now = spared(rest.from_h, rested_h);
                let until_h = if rest.from_h < rested_h {
                    rest.to_h.min(rested_h)
                } else {
                    rest.to_h
                };
                let piece = Segment {
                    to_h: until_h,
                    ..rest
                };
                let drive_k_per_h = match mode {
                    Mode::Off => 0.0,
                    Mode::Cooling => -powers[0],
                    Mode::Heating => powers[1],
                };
                let system = InVessel {
                    model,
                    thermal: Thermal {
                        drive_k_per_h,
                        ..off
                    },
                };
                let wanted: Vec<f64> = times_h[out.states.len()..]
                    .iter()
                    .copied()
                    .take_while(|t| *t <= until_h)
                    .collect();
                let watched = |t_h: f64, x: &[f64; N + 1]| {
                    let above = x[N] - piece.temp_c(t_h);
                    margins(mode, above, band, powers_now)
                };
                let followed = follow(&system, x, &[piece], &wanted, watched, [true; 2])?;
                let kept = wanted.iter().take_while(|t| **t <= followed.end_h).count();
                for state in &followed.states[..kept] {
                    out.temps_c.push(state[N]);
                    out.states.push(without_temperature(state));
                }
                match mode {
                    Mode::Off => {}
                    Mode::Cooling => out.cooling_h += followed.end_h - rest.from_h,
                    Mode::Heating => out.heating_h += followed.end_h - rest.from_h,
                }
                x = followed.end;
                let before = mode;
                let end_h = match followed.ended_by {
                    Some(which) => {
                        mode = match (mode, which) {
                            (Mode::Off, 0) => Mode::Cooling,
                            (Mode::Off, _) => Mode::Heating,
                            _ => Mode::Off,
                        };
                        followed.end_h
                    }
                    None => until_h,
                };
                rest.from_c = rest.temp_c(end_h);
                rest.from_h = end_h;
                if followed.ended_by.is_none() && end_h < rest.to_h {
                    mode = switched(mode, x[N] - rest.from_c, band, powers);
                }
                if before == Mode::Cooling && mode != Mode::Cooling {
                    rested_h = end_h + self.least_off.h();
                }
                out.switches += usize::from(before != mode);
                if out.switches > MOST_SWITCHES {
                    return Err(FermentError::Solver {
                        after: Duration::from_h(end_h),
                        reason: "the controller switches without end: a wider dead band or less power is needed".to_owned(),
                    });
                }
            }
        }
        while out.states.len() < times_h.len() {
            out.temps_c.push(x[N]);
            out.states.push(without_temperature(&x));
        }
        Ok(out)
    }
}

/// What the controller does when a set point jumps.
fn switched(mode: Mode, above: f64, band: f64, powers: [f64; 2]) -> Mode {
    match mode {
        Mode::Cooling if above > 0.0 => Mode::Cooling,
        Mode::Heating if above < 0.0 => Mode::Heating,
        _ if above >= band && powers[0] > 0.0 => Mode::Cooling,
        _ if above <= -band && powers[1] > 0.0 => Mode::Heating,
        _ => Mode::Off,
    }
}

/// What must go through zero for the controller to switch: to cooling and to
/// heating while off, else to off.
fn margins(mode: Mode, above: f64, band: f64, [cooling, heating]: [f64; 2]) -> [f64; 2] {
    const NEVER: f64 = 1.0;
    match mode {
        Mode::Cooling => [above, NEVER],
        Mode::Heating => [-above, NEVER],
        Mode::Off => [
            if cooling > 0.0 { band - above } else { NEVER },
            if heating > 0.0 { band + above } else { NEVER },
        ],
    }
}

fn with_temperature(x: [f64; N], temp_c: f64) -> [f64; N + 1] {
    std::array::from_fn(|i| x.get(i).copied().unwrap_or(temp_c))
}

fn without_temperature(x: &[f64; N + 1]) -> [f64; N] {
    std::array::from_fn(|i| x[i])
}

/// The course model and its temperature, which here is a state.
struct InVessel<'a> {
    model: &'a CourseModel,
    thermal: Thermal,
}

impl System<{ N + 1 }> for InVessel<'_> {
    type Warmth = ();

    fn warmth(&self, _set_point_c: f64) {}

    fn rates<D: Over<f64>>(&self, _t_h: f64, (): &(), x: &[D; N + 1]) -> [D; N + 1] {
        let temp_c = x[N];
        let warmth: Warmth<D> = self.model.warmth_at(temp_c);
        let d = self.model.rates_in(&warmth, &std::array::from_fn(|i| x[i]));
        let fermenting = -(d[3] + d[4] + d[5] + d[6]);
        let warming = self.thermal.warming(temp_c, fermenting);
        std::array::from_fn(|i| d.get(i).copied().unwrap_or(warming))
    }

    fn tolerances(&self) -> Tolerances<{ N + 1 }> {
        let of_model = self.model.tolerances();
        Tolerances {
            absolute: with_temperature(of_model.absolute, 1e-4),
            relative: of_model.relative,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solver::solve_along;

    /// A logistic attenuation as the source of heat, its extract and temperature.
    struct Logistic {
        extract_g_per_l: f64,
        thermal: Thermal,
    }

    impl System<1> for Logistic {
        const TIMED: bool = true;
        type Warmth = ();
        fn warmth(&self, _: f64) {}
        fn rates<D: Over<f64>>(&self, t_h: f64, (): &(), x: &[D; 1]) -> [D; 1] {
            let s = 1.0 / (1.0 + (0.1 * (t_h - 48.0)).exp());
            let fermenting = self.extract_g_per_l * 0.1 * s * (1.0 - s);
            [self.thermal.warming(x[0], D::of(fermenting))]
        }
        fn tolerances(&self) -> Tolerances<1> {
            Tolerances {
                absolute: [1e-8],
                relative: 1e-8,
            }
        }
    }

    /// 23 L of 12 °P (1.0464 kg/L, 3.95 kJ/(kg K)) to apparent 2.5 °P, real 4.2890,
    /// by a logistic of 0.10/h about 48 h, in air of 18 °C by 8 W/(m² K) on 0.4524
    /// m²: 1089.37 kJ in all, at most 7.565 W, and these temperatures, by SciPy
    /// (`tests/reference/figures.py`).
    #[test]
    fn a_free_vessel_warms_as_computed() {
        let (litres, capacity) = (23.0, 1.0464 * 3.95);
        let extract_g_per_l = (12.0 - 4.2890) / 100.0 * 1046.4;
        assert!((extract_g_per_l * HEAT_KJ_PER_G * litres - 1089.37).abs() < 0.05);
        let most_w = extract_g_per_l * HEAT_KJ_PER_G * litres * 0.1 / 4.0 / 3.6;
        assert!((most_w - 7.565).abs() < 1e-3, "{most_w}");
        let loss_w_per_k = 8.0 * 0.4524;
        let system = Logistic {
            extract_g_per_l,
            thermal: Thermal {
                kelvin_per_g_per_l: HEAT_KJ_PER_G / capacity,
                insulation_h: litres * capacity / (loss_w_per_k * 3.6),
                ambient_c: 18.0,
                drive_k_per_h: 0.0,
            },
        };
        assert!((system.thermal.insulation_h - 7.3).abs() < 0.05);
        let times = [24.0, 36.0, 48.0, 54.0, 60.0, 72.0, 96.0, 120.0];
        let printed = [
            18.3865, 19.0005, 19.7666, 19.907, 19.7815, 19.0878, 18.1823, 18.0203,
        ];
        let level = [Segment::between((0.0, 0.0), (120.0, 0.0))];
        let out = solve_along(&system, [18.0], &level, &times).unwrap();
        for ((t, x), p) in times.iter().zip(&out).zip(printed) {
            // The greatest, at 54 h, is printed to three digits.
            let digit = if *t > 53.0 && *t < 55.0 { 6e-4 } else { 1.1e-4 };
            assert!((x[0] - p).abs() < digit, "{t} h: {} {p}", x[0]);
        }
    }

    /// All the heat at once warms 12 °P that ends at 2.5 °P by 11.46 K, and 15 °P to
    /// 3.5 °P by 13.84 K; computed.
    #[test]
    fn the_adiabatic_rise_is_as_printed() {
        for (original, real, printed) in [(12.0, 4.2890, 11.46), (15.0, 5.6883, 13.84)] {
            let rise = (original - real) / 100.0 * 1000.0 * HEAT_KJ_PER_G / 3.95;
            assert!((rise - printed).abs() < 6e-3, "{rise} {printed}");
        }
    }
}
