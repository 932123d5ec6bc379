//! Wort of one gravity made into wort of another, by adding water or by boiling it
//! off: the extract stays.

use quantity::{Caution, Gravity, Mass, Measured, Note, Quantity, Temperature, Volume};

use super::figures::{FIGURES, gravity_with_spread, with_usual_spread};
use super::propagated;
use crate::error::{WortError, check};
use crate::mix::{Mix, density_kg_per_l, water_l};

/// What the wort is to become.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wanted {
    /// Wort of this gravity.
    Gravity(Gravity),
    /// This much wort at 20 °C.
    Volume(Volume),
}

/// Which way the water goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// Water to add.
    Add,
    /// Water to boil off.
    BoilOff,
}

/// A wort, and what becomes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Dilution {
    /// Which way the water goes.
    pub change: Change,
    /// That water, at 20 °C.
    pub water: Measured<Volume>,
    /// Its mass.
    pub water_mass: Measured<Mass>,
    /// The wort afterwards, at 20 °C.
    pub volume: Measured<Volume>,
    /// Its gravity.
    pub gravity: Measured<Gravity>,
    /// The wort now, at 20 °C.
    pub volume_now: Measured<Volume>,
    /// Extract in it, before and after.
    pub extract: Measured<Mass>,
    /// What to know about it.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// Water to add or boil off \[L at 20 °C, kg\] so that wort gets another gravity or
/// volume.
///
/// The mass of extract stays: m·w = m′·w′, with m = V·ρ(w, t) by ICUMSA SPS-4, so that
/// both the expansion of warm wort and the contraction on mixing are counted; above
/// 80 °C wort is taken to expand as water does. The volume is at the temperature
/// given; everything that comes out is at 20 °C.
///
/// # Errors
/// [`WortError::Impossible`] for gravities outside 0.1 to 35 °P, no volume, or a
/// temperature outside 0 to 104 °C; [`WortError::TooStrong`] where the volume wanted
/// would be stronger than 35 °P.
///
/// ```
/// use quantity::{Gravity, Temperature};
/// use wort::instruments::{Wanted, set_strength};
/// let to = Wanted::Gravity(Gravity::from_sg(1.045));
/// let d = set_strength("20 L".parse()?, "1.060".parse()?, to, Temperature::from_c(20.0))?;
/// assert!((d.water.value.l() - 6.71).abs() < 0.01);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn set_strength(
    volume: Measured<Volume>,
    gravity: Measured<Gravity>,
    wanted: Wanted,
    at: Temperature,
) -> Result<Dilution, WortError> {
    let mut notes = Vec::new();
    let temp_c = check("temperature of the wort", at.c(), "°C", 0.0, 104.0)?;
    let vessel = &FIGURES.marked_volume;
    let usual_sd = vessel.value * volume.canonical();
    let volume = with_usual_spread(volume, usual_sd, vessel, &mut notes);
    let gravity = gravity_with_spread(gravity, &mut notes);
    let (values, sds) = propagated(
        &[volume.canonical(), gravity.canonical()],
        &[volume.sd(), gravity.sd()],
        |x| Worts::new(x[0], x[1], wanted, temp_c).map(Worts::figures),
    )?;
    let [water_kg, water_l, l_then, plato, l_now, extract_kg] = values;
    let add = water_kg >= 0.0;
    let mut cautions = Vec::new();
    if !add {
        cautions.push(Caution::HotLiquor);
    }
    let litres = |x: f64, sd: f64| Measured::with_sd(Volume::from_l(x), sd);
    let kilograms = |x: f64, sd: f64| Measured::with_sd(Mass::from_kg(x), sd);
    Ok(Dilution {
        change: if add { Change::Add } else { Change::BoilOff },
        water: litres(water_l.abs(), sds[1]),
        water_mass: kilograms(water_kg.abs(), sds[0]),
        volume: litres(l_then, sds[2]),
        gravity: Measured::with_sd(Gravity::from_plato(plato), sds[3]),
        volume_now: litres(l_now, sds[4]),
        extract: kilograms(extract_kg, sds[5]),
        notes,
        cautions,
    })
}

/// The wort before and after.
struct Worts {
    now: Mix,
    then: Mix,
}

impl Worts {
    fn new(volume_l: f64, plato: f64, wanted: Wanted, temp_c: f64) -> Result<Self, WortError> {
        check("volume", volume_l, "L", 1e-3, Volume::MAX)?;
        check("gravity", plato, "°P", 0.1, Gravity::MAX)?;
        let mass_kg = volume_l * density_kg_per_l(plato, temp_c);
        let extract_kg = mass_kg * plato / 100.0;
        let now = Mix {
            extract_kg,
            water_kg: mass_kg - extract_kg,
        };
        let mass_then_kg = match wanted {
            Wanted::Gravity(g) => {
                let plato = check("gravity wanted", g.plato(), "°P", 0.1, Gravity::MAX)?;
                extract_kg / plato * 100.0
            }
            Wanted::Volume(v) => mass_of_volume(extract_kg, v.l())?,
        };
        let then = Mix {
            extract_kg,
            water_kg: mass_then_kg - extract_kg,
        };
        Ok(Self { now, then })
    }

    fn figures(self) -> [f64; 6] {
        let added_kg = self.then.water_kg - self.now.water_kg;
        [
            added_kg,
            water_l(added_kg),
            self.then.volume_l(),
            self.then.plato(),
            self.now.volume_l(),
            self.now.extract_kg,
        ]
    }
}

/// Mass \[kg\] of the wort that holds so much extract in a volume at 20 °C.
fn mass_of_volume(extract_kg: f64, volume_l: f64) -> Result<f64, WortError> {
    let too_strong = |plato| WortError::TooStrong {
        plato,
        most: Gravity::from_plato(Gravity::MAX),
    };
    check("volume wanted", volume_l, "L", 1e-3, Volume::MAX)?;
    let volume = |plato: f64| extract_kg / plato * 100.0 / density_kg_per_l(plato, 20.0);
    if volume(Gravity::MAX) > volume_l {
        return Err(too_strong(100.0 * extract_kg / volume_l));
    }
    if volume(0.1) < volume_l {
        return Err(WortError::Impossible {
            what: "volume wanted",
            given: volume_l,
            unit: "L",
            least: volume(Gravity::MAX),
            most: volume(0.1),
        });
    }
    let plato = crate::numeric::root(0.1, Gravity::MAX, |p| volume_l - volume(p));
    Ok(extract_kg / plato * 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn made(l: f64, plato: f64, wanted: Wanted) -> Dilution {
        let volume = Measured::exactly(Volume::from_l(l));
        let gravity = Measured::exactly(Gravity::from_plato(plato));
        set_strength(volume, gravity, wanted, Temperature::from_c(20.0)).unwrap()
    }

    /// Computed with NumPy from ICUMSA densities: 27.0 L of 11.00 °P hold 3.0955 kg of
    /// extract in 28.141 kg; without 3.5 kg of water they are 23.494 L of 12.562 °P.
    #[test]
    fn boiling_off_agrees_with_the_computed_balance() {
        let ours = made(27.0, 11.0, Wanted::Gravity(Gravity::from_plato(12.562)));
        assert_eq!(ours.change, Change::BoilOff);
        assert!((ours.extract.canonical() - 3.0955).abs() < 6e-5);
        assert!((ours.water_mass.canonical() - 3.5).abs() < 1.6e-3);
        // The gravity is printed to 0.0005 °P, which is 0.001 L.
        assert!((ours.volume.canonical() - 23.494).abs() < 1.6e-3);
        assert_eq!(ours.cautions, [Caution::HotLiquor]);
        let by_volume = made(27.0, 11.0, Wanted::Volume(Volume::from_l(23.494)));
        assert!((by_volume.gravity.canonical() - 12.562).abs() < 8e-4);
    }

    /// Water at 80 °C is 971.785 kg/m³ and at 20 °C 998.203 (ICUMSA's water): what
    /// measures 20 L hot is 2.6 % less at 20 °C; for 12 °P 1018.285 to 1046.444.
    #[test]
    fn hot_wort_shrinks() {
        let hot = set_strength(
            "20 L".parse().unwrap(),
            "12 °P".parse().unwrap(),
            Wanted::Gravity(Gravity::from_plato(10.0)),
            Temperature::from_c(80.0),
        )
        .unwrap();
        let expected = 20.0 * 1018.285 / 1046.444;
        assert!((hot.volume_now.canonical() - expected).abs() < 2e-5);
    }

    #[test]
    fn what_cannot_be_made_is_refused() {
        let volume = "20 L".parse().unwrap();
        let gravity = "12 °P".parse().unwrap();
        let at = Temperature::from_c(20.0);
        let refused = |w| {
            set_strength(volume, gravity, w, at)
                .unwrap_err()
                .to_string()
        };
        assert!(refused(Wanted::Volume(Volume::from_l(4.0))).contains("35 °P"));
        assert!(refused(Wanted::Volume(Volume::from_l(9e4))).contains("volume wanted"));
        assert!(refused(Wanted::Gravity(Gravity::from_plato(0.0))).contains("gravity wanted"));
    }

    proptest! {
        #[test]
        fn extract_and_water_are_conserved(l in 1.0..200.0f64, p in 4.0..30.0f64, to in 2.0..34.0f64) {
            let d = made(l, p, Wanted::Gravity(Gravity::from_plato(to)));
            let then = Mix::from_volume(d.volume.canonical(), d.gravity.canonical());
            prop_assert!((then.extract_kg - d.extract.canonical()).abs() < 1e-9 * l);
            let sign = if d.change == Change::Add { 1.0 } else { -1.0 };
            let now = Mix::from_volume(l, p);
            prop_assert!((now.mass_kg() + sign * d.water_mass.canonical() - then.mass_kg()).abs() < 1e-9 * l);
        }
    }
}
