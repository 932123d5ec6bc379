//! What an instrument reads beside what is true: checks of it, and the correction that
//! they come to.

use quantity::density::{boiling_point_c, water_density};
use quantity::{Altitude, Measured, Note, Quantity, Temperature};

use super::agreement::chi_squared_tail;
use super::figures::FIGURES;
use crate::error::{WortError, check};

/// One comparison: what it was, and what the instrument read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CheckPoint<Q: Quantity> {
    /// What it was, with how well that is known.
    pub reference: Measured<Q>,
    /// What was read, with how well it could be read.
    pub read: Measured<Q>,
}

/// What to add to a reading: c(r) = a + b·(r − r̄), with the covariance of a and b.
///
/// Weighted least squares of reference − read against the reading, the weight of a
/// point 1/(u_ref² + u_read²); with one point, or with points that stand together,
/// b = 0. r̄ is the weighted mean of the readings, where a and b know nothing of each
/// other. Where the points scatter more than their ± allows (χ² above its degrees of
/// freedom), both standard deviations are widened by √(χ²/ν), the Birge ratio (Birge
/// 1932).
#[derive(Debug, Clone, PartialEq)]
pub struct Correction<Q: Quantity> {
    /// a, in canonical units.
    offset: f64,
    offset_sd: f64,
    /// b.
    slope: f64,
    slope_sd: f64,
    /// r̄.
    centre: f64,
    /// Least and most that was checked.
    range: (f64, f64),
    /// What to know about it.
    pub notes: Vec<Note>,
    quantity: std::marker::PhantomData<Q>,
}

/// Standard deviation of a check point that says nothing of its own, relative to that
/// of a reading of the kind; see [`correction`].
const LEAST_SD: f64 = 1e-6;

/// The correction that checks of an instrument come to; `usual_sd` is how well it is
/// read where a point does not say, in canonical units.
///
/// # Errors
/// [`WortError::Impossible`] without a point, or where a point is off by more than
/// `most_off`: such an instrument is broken, or the wrong row was written.
pub fn correction<Q: Quantity>(
    points: &[CheckPoint<Q>],
    usual_sd: f64,
    most_off: f64,
) -> Result<Correction<Q>, WortError> {
    check("number of checks", points.len() as f64, "", 1.0, 1000.0)?;
    let mut rows = Vec::with_capacity(points.len());
    for point in points {
        let read = point.read.canonical();
        let off = point.reference.canonical() - read;
        check("difference of a check", off, "", -most_off, most_off)?;
        let own = |m: Measured<Q>| if m.sd() > 0.0 { m.sd() } else { usual_sd };
        let sd = point.reference.sd().hypot(own(point.read)).max(LEAST_SD);
        rows.push((read, off, sd.powi(-2)));
    }
    let weight: f64 = rows.iter().map(|(_, _, w)| w).sum();
    let mean = |f: &dyn Fn(&(f64, f64, f64)) -> f64| {
        rows.iter().map(|row| row.2 * f(row)).sum::<f64>() / weight
    };
    let centre = mean(&|row| row.0);
    let offset = mean(&|row| row.1);
    let spread: f64 = rows.iter().map(|(r, _, w)| w * (r - centre).powi(2)).sum();
    // Points closer together than they can be told apart give no slope.
    let sloped = spread > 25.0;
    let slope = if sloped {
        let along: f64 = rows.iter().map(|(r, c, w)| w * (r - centre) * c).sum();
        along / spread
    } else {
        0.0
    };
    let chi2: f64 = rows
        .iter()
        .map(|(r, c, w)| w * (c - offset - slope * (r - centre)).powi(2))
        .sum();
    let free = rows.len().saturating_sub(1 + usize::from(sloped));
    let mut notes = Vec::new();
    let birge = if free == 0 {
        1.0
    } else {
        (chi2 / free as f64).sqrt().max(1.0)
    };
    if free > 0 && chi_squared_tail(chi2, free) < 0.05 {
        notes.push(Note::look(format!(
            "the checks scatter {birge:.1} times as much as their ± allows: the correction is taken as that much less sure; check it again"
        )));
    }
    if !sloped {
        notes.push(Note::fine(
            "checked at one point: how far it is off elsewhere is not known; a second point, far from the first, would say",
        ));
    }
    let reads = || rows.iter().map(|row| row.0);
    Ok(Correction {
        offset,
        offset_sd: birge * weight.powf(-0.5),
        slope,
        slope_sd: if sloped {
            birge * spread.powf(-0.5)
        } else {
            0.0
        },
        centre,
        range: (
            reads().fold(f64::INFINITY, f64::min),
            reads().fold(f64::NEG_INFINITY, f64::max),
        ),
        notes,
        quantity: std::marker::PhantomData,
    })
}

impl<Q: Quantity> Correction<Q> {
    /// What to add to a reading, with its standard deviation, in canonical units.
    #[must_use]
    pub fn at(&self, read: Q) -> (f64, f64) {
        let along = read.canonical() - self.centre;
        (
            self.offset + self.slope * along,
            self.offset_sd.hypot(self.slope_sd * along),
        )
    }

    /// How much the instrument is off per unit that it reads.
    #[must_use]
    pub const fn slope(&self) -> (f64, f64) {
        (self.slope, self.slope_sd)
    }

    /// A reading set right: its own standard deviation and that of the correction,
    /// squared and summed. Outside what was checked, by more than half of that range,
    /// the note says so.
    #[must_use]
    pub fn correct(&self, read: Measured<Q>, usual_sd: f64) -> (Measured<Q>, Option<Note>) {
        let (by, by_sd) = self.at(read.value);
        let own = if read.sd() > 0.0 { read.sd() } else { usual_sd };
        let value = Q::from_canonical(read.canonical() + by);
        let (low, high) = self.range;
        let margin = 0.5 * (high - low);
        let outside = !(low - margin..=high + margin).contains(&read.canonical());
        let note = (outside && self.slope_sd > 0.0)
            .then(|| Note::look("the reading lies far outside what the instrument was checked at"));
        (Measured::with_sd(value, own.hypot(by_sd)), note)
    }
}

/// What melting ice and boiling water are at an altitude: two points for a thermometer.
///
/// Ice of plain water, crushed and stirred with a little water, is 0.00 °C; water boils
/// at the saturation temperature of the pressure of the standard atmosphere (ISO 2533).
/// The weather moves the pressure by about ± 1.5 kPa, and so the boil by ± 0.4 °C
/// (computed); a barometer would say better.
///
/// # Errors
/// [`WortError::Impossible`] for an altitude that no brewer brews at.
pub fn ice_and_boil(
    altitude: Altitude,
) -> Result<(Measured<Temperature>, Measured<Temperature>), WortError> {
    let m = check("altitude", altitude.m(), "m", -500.0, 6000.0)?;
    Ok((
        Measured::with_sd(Temperature::from_c(0.0), 0.05),
        Measured::with_sd(Temperature::from_c(boiling_point_c(m)), 0.4),
    ))
}

/// What a hydrometer shows in plain water \[SG\]: R = ρ_w(t)/ρ_w(T₀) · (1 + β(t − T₀)),
/// T₀ the temperature on its stem, β as in
/// [`read_hydrometer`](super::read_hydrometer).
///
/// # Errors
/// [`WortError::Impossible`] outside 4 to 40 °C.
pub fn hydrometer_in_water(at: Temperature, stem: Temperature) -> Result<f64, WortError> {
    let t = check("temperature of the water", at.c(), "°C", 4.0, 40.0)?;
    let t0 = check("calibration temperature", stem.c(), "°C", 4.0, 30.0)?;
    let glass = 1.0 + FIGURES.glass_expansion.value * (t - t0);
    Ok(water_density(t) / water_density(t0) * glass)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use quantity::Gravity;

    fn point(reference: f64, read: f64, sd: f64) -> CheckPoint<Temperature> {
        CheckPoint {
            reference: Measured::with_sd(Temperature::from_c(reference), 0.0),
            read: Measured::with_sd(Temperature::from_c(read), sd),
        }
    }

    /// GUM H.3: eleven points of a thermometer, correction b_k against t_k with
    /// t_0 = 20 °C: y1 = −0.1712 °C (sd 0.0029), y2 = 0.00218 (sd 0.00067), and the
    /// correction at 30 °C −0.1494 °C (sd 0.0041); JCGM 100:2008, table H.6 (from
    /// memory). There the scatter gives the standard deviations: points that claim to be
    /// better than they are must come to the same by the Birge ratio.
    #[test]
    fn the_thermometer_of_the_gum_comes_out_as_published() {
        let rows = [
            (21.521, -0.171),
            (22.012, -0.169),
            (22.512, -0.166),
            (23.003, -0.159),
            (23.507, -0.164),
            (23.999, -0.165),
            (24.513, -0.156),
            (25.002, -0.157),
            (25.503, -0.159),
            (26.010, -0.161),
            (26.511, -0.160),
        ];
        let points: Vec<_> = rows.iter().map(|(t, b)| point(t + b, *t, 0.0005)).collect();
        let c = correction(&points, 0.5, 5.0).unwrap();
        let (at20, sd20) = c.at(Temperature::from_c(20.0));
        assert!((at20 + 0.1712).abs() < 5e-5, "{at20}");
        assert!((sd20 - 0.0029).abs() < 5e-5, "{sd20}");
        assert!((c.slope().0 - 0.00218).abs() < 5e-6, "{:?}", c.slope());
        assert!((c.slope().1 - 0.00067).abs() < 5e-6, "{:?}", c.slope());
        let (at30, sd30) = c.at(Temperature::from_c(30.0));
        assert!((at30 + 0.1494).abs() < 5e-5, "{at30}");
        assert!((sd30 - 0.0041).abs() < 5e-5, "{sd30}");
        assert!(c.notes[0].text.contains("scatter"), "{:?}", c.notes);
    }

    /// Boiling points by altitude, of which the line that is used keeps within 0.03 °C (and
    /// half of the last printed digit), and water in a hydrometer of 20 °C, computed with
    /// CoolProp 8.0 (water) and by hand (glass).
    #[test]
    fn ice_boil_and_water_are_what_they_are() {
        for (m, c) in [
            (0.0, 99.97),
            (500.0, 98.31),
            (1500.0, 94.98),
            (3000.0, 89.97),
        ] {
            let (ice, boil) = ice_and_boil(Altitude::from_m(m)).unwrap();
            assert!(ice.value.c().abs() < 1e-12);
            assert!(
                (boil.value.c() - c).abs() < 0.035,
                "{m}: {}",
                boil.value.c()
            );
        }
        let twenty = Temperature::from_c(20.0);
        let shown = |c| hydrometer_in_water(Temperature::from_c(c), twenty).unwrap();
        assert!((shown(20.0) - 1.0).abs() < 1e-12);
        // ρ(25)/ρ(20) = 997.0476/998.2072, and 1.000125 for the glass.
        assert!((shown(25.0) - 0.998_963).abs() < 2e-6, "{}", shown(25.0));
        assert!(hydrometer_in_water(Temperature::from_c(80.0), twenty).is_err());
        assert!(ice_and_boil(Altitude::from_m(9000.0)).is_err());
    }

    #[test]
    fn one_point_is_an_offset_and_says_what_is_missing() {
        let c = correction(&[point(0.0, 0.4, 0.1)], 0.5, 10.0).unwrap();
        let (right, note) = c.correct(Measured::with_sd(Temperature::from_c(65.4), 0.2), 0.5);
        assert!((right.value.c() - 65.0).abs() < 1e-9 && note.is_none());
        assert!((right.sd() - 0.1f64.hypot(0.2)).abs() < 1e-9);
        assert!(c.notes[0].text.contains("one point"));
        let none: [CheckPoint<Gravity>; 0] = [];
        assert!(correction(&none, 0.2, 5.0).is_err());
        let broken = correction(&[point(0.0, 30.0, 0.1)], 0.5, 10.0).unwrap_err();
        assert!(
            broken.to_string().contains("difference of a check"),
            "{broken}"
        );
    }

    proptest! {
        /// Where the checks lie on a line without scatter, every reading on it is set
        /// right, and none is surer than it was read.
        #[test]
        fn a_straight_instrument_is_set_right(a in -3.0..3.0f64, b in -0.03..0.03f64, t in 0.0..100.0f64) {
            let truly = |read: f64| read + a + b * read;
            let points = [point(truly(2.0), 2.0, 0.2), point(truly(98.0), 98.0, 0.2)];
            let c = correction(&points, 0.5, 10.0).unwrap();
            let (right, _) = c.correct(Measured::with_sd(Temperature::from_c(t), 0.3), 0.5);
            prop_assert!((right.value.c() - truly(t)).abs() < 1e-9);
            prop_assert!(right.sd() >= 0.3);
        }
    }
}
