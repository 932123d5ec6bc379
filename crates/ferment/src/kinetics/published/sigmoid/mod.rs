//! Logistic curves of gravity over time.
//!
//! R. A. Speers, P. Rogers, B. Smith, *Non-linear modelling of industrial brewing
//! fermentations*, J. Inst. Brew. 109 (2003) 229: four parameters; A. J. MacIntosh,
//! M. Josey, R. A. Speers, and S. J. R. Reid et al., Fermentation 7 (2021) 13: five. (The
//! abstracts were read; the convention of the fifth parameter is from memory.)

mod fit;

use quantity::{Duration, Gravity};

pub use fit::LogisticFit;

use crate::error::{FermentError, within, within_numbers};

/// A logistic fall of apparent extract with an asymmetry:
///
/// P(t) = (Pᵢ − Pₑ)/(1 + (2^{1/s} − 1) e^{B(t − M)})^s + Pₑ.
///
/// With s = 1 it is the curve of four parameters, with Pᵢ fixed at the measured original
/// extract that of three. P(M) lies midway between the ends for any s. P(0) is below Pᵢ,
/// by a hundredth of the fall and less where B M > 4.
///
/// ```
/// use ferment::kinetics::published::FiveParameters;
/// use quantity::{Duration, Gravity};
/// let (wort, beer) = (Gravity::from_plato(12.0), Gravity::from_plato(2.5));
/// let curve = FiveParameters::four(wort, beer, 0.095, Duration::from_h(52.0))?;
/// assert!((curve.at(Duration::from_h(48.0)).plato() - 8.141794).abs() < 5e-7);
/// # Ok::<(), ferment::FermentError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FiveParameters {
    start: f64,
    end: f64,
    rate_per_h: f64,
    midpoint_h: f64,
    asymmetry: f64,
}

impl FiveParameters {
    /// From the ends, the rate B \[1/h\], the midpoint M and the asymmetry s.
    ///
    /// # Errors
    /// [`FermentError::Impossible`] for gravities outside −4 to 40 °P, an end above the
    /// start, a rate outside 10⁻⁵ to 10 a hour, a midpoint outside 0 to 10 000 h, or an
    /// asymmetry outside 0.05 to 20.
    pub fn new(
        start: Gravity,
        end: Gravity,
        rate_per_h: f64,
        midpoint: Duration,
        asymmetry: f64,
    ) -> Result<Self, FermentError> {
        let start = within("gravity at the start", start, -4.0, 40.0)?.plato();
        Ok(Self {
            end: within("gravity at the end", end, -4.0, start)?.plato(),
            start,
            rate_per_h: within_numbers("rate of the logistic", rate_per_h, 1e-5, 10.0)?,
            midpoint_h: within("midpoint of the logistic", midpoint, 0.0, 1e4)?.h(),
            asymmetry: within_numbers("asymmetry of the logistic", asymmetry, 0.05, 20.0)?,
        })
    }

    /// The symmetric curve of four parameters.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn four(
        start: Gravity,
        end: Gravity,
        rate_per_h: f64,
        midpoint: Duration,
    ) -> Result<Self, FermentError> {
        Self::new(start, end, rate_per_h, midpoint, 1.0)
    }

    /// Apparent extract at a time.
    #[must_use]
    pub fn at(&self, time: Duration) -> Gravity {
        let s = self.asymmetry;
        let u = self.rate_per_h * (time.h() - self.midpoint_h);
        let v = u + ((1.0 / s).exp2() - 1.0).ln();
        let ln = if v > 30.0 { v } else { v.exp().ln_1p() };
        Gravity::from_plato(self.end + (self.start - self.end) * (-s * ln).exp())
    }

    /// The slope at the midpoint \[°P/h\]: −B (Pᵢ − Pₑ)/4 with s = 1, where it is steepest.
    #[must_use]
    pub fn slope_at_midpoint(&self) -> f64 {
        // There e^u = 1, so the bracket is 2^{1/s}.
        let s = self.asymmetry;
        let share = 1.0 - (-1.0 / s).exp2();
        -(self.start - self.end) * 0.5 * s * self.rate_per_h * share
    }

    /// The lag: where the tangent at the midpoint meets the start, M − 2/B with s = 1. Not
    /// below nought.
    #[must_use]
    pub fn lag(&self) -> Duration {
        let fall = 0.5 * (self.start - self.end);
        let before = fall / -self.slope_at_midpoint();
        let h = self.midpoint_h - if before.is_finite() { before } else { 0.0 };
        Duration::from_h(h.max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curve(asymmetry: f64) -> FiveParameters {
        let (wort, beer) = (Gravity::from_plato(12.0), Gravity::from_plato(2.5));
        FiveParameters::new(wort, beer, 0.095, Duration::from_h(52.0), asymmetry).unwrap()
    }

    fn at(asymmetry: f64, hour: f64) -> f64 {
        curve(asymmetry).at(Duration::from_h(hour)).plato()
    }

    /// Computed from the printed forms (`tests/reference/figures.py`).
    #[test]
    fn the_curves_have_the_values_of_their_forms() {
        let hours = [0.0, 24.0, 48.0, 72.0, 96.0, 120.0];
        let four = [
            11.932_514, 11.378_934, 8.141_794, 3.736_031, 2.643_146, 2.514_842,
        ];
        let five = [
            11.912_398, 11.226_180, 7.999_087, 4.331_659, 2.983_320, 2.623_526,
        ];
        for (hour, (four, five)) in hours.into_iter().zip(four.into_iter().zip(five)) {
            assert!(
                (at(1.0, hour) - four).abs() < 5.1e-7,
                "{hour}: {}",
                at(1.0, hour)
            );
            assert!(
                (at(0.6, hour) - five).abs() < 5.1e-7,
                "{hour}: {}",
                at(0.6, hour)
            );
        }
        assert!((at(0.6, 52.0) - 7.25).abs() < 1e-12);
    }

    #[test]
    fn slope_and_lag_follow_from_rate_and_midpoint() {
        assert!((curve(1.0).slope_at_midpoint() + 0.225_625).abs() < 5e-7);
        assert!((curve(1.0).lag().h() - 30.947).abs() < 5e-4);
        let slope = (at(0.6, 52.001) - at(0.6, 51.999)) / 0.002;
        assert!((curve(0.6).slope_at_midpoint() - slope).abs() < 1e-6);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let wort = Gravity::from_plato(12.0);
        let no = |end: f64, rate: f64, s: f64| {
            let end = Gravity::from_plato(end);
            FiveParameters::new(wort, end, rate, Duration::from_h(50.0), s)
                .unwrap_err()
                .to_string()
        };
        assert!(no(13.0, 0.1, 1.0).contains("gravity at the end"));
        assert!(no(2.0, 0.0, 1.0).contains("rate of the logistic"));
        assert!(no(2.0, 0.1, f64::NAN).contains("asymmetry"));
    }
}
