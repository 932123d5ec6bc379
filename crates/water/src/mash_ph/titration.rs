//! A malt's own figures from a titration at the kitchen table.

use quantity::{Buffering, Measured, Ph, TitratableAcidity};

use super::constants;
use crate::check;
use crate::error::WaterError;

/// What was added to a small mash with distilled water, for a kilogram of malt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Added {
    /// Nothing.
    Nothing,
    /// Strong acid, or lactic acid counted as it acts.
    Acid(TitratableAcidity),
    /// Base, such as baking soda counted in full.
    Base(TitratableAcidity),
}

/// A point of a titration: what was added, and what the cooled sample read then.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TitrationPoint {
    /// What was added in all.
    pub added: Added,
    /// The pH of the cooled sample.
    pub ph: Ph,
}

/// What a titration says of a malt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MaltTitration {
    /// Its distilled-water mash pH.
    pub ph_di: Measured<Ph>,
    /// Its buffering between that pH and the one asked for.
    pub buffer: Measured<Buffering>,
    /// The quadratic term of the base it takes \[mEq/(kg pH²)\]; nought from two
    /// points.
    pub quadratic_meq_per_kg_ph2: f64,
}

/// A malt's distilled-water pH and buffering from two or more points.
///
/// Base = B (pH − pH_DI) + B₂ (pH − pH_DI)²: two points give a line, three a
/// parabola, more the parabola of least squares. The buffering given back is the
/// chord from pH_DI to `about`, the pH at which it will be used, so that a balance
/// with the linear term alone is exact there. The spread is that of the readings,
/// 0.03 pH each (judgement), carried through.
///
/// ```
/// use quantity::{Ph, TitratableAcidity};
/// use water::mash_ph::{Added, TitrationPoint, titrated};
/// let acid = Added::Acid(TitratableAcidity::from_meq_per_kg(14.0));
/// let malt = titrated(
///     &[
///         TitrationPoint { added: Added::Nothing, ph: Ph::from_ph(5.75) },
///         TitrationPoint { added: acid, ph: Ph::from_ph(5.40) },
///     ],
///     Ph::from_ph(5.4),
/// )?;
/// assert!((malt.buffer.value.meq_per_kg_ph() - 40.0).abs() < 1e-9);
/// # Ok::<(), water::WaterError>(())
/// ```
///
/// # Errors
/// [`WaterError::Titration`] for fewer than two points, points of one pH, or base
/// that does not rise with the pH; [`WaterError::OutOfBounds`].
pub fn titrated(points: &[TitrationPoint], about: Ph) -> Result<MaltTitration, WaterError> {
    check::within("pH at which the malt is used", about)?;
    let mut given = Vec::with_capacity(points.len());
    for point in points {
        check::within("pH of a titration", point.ph)?;
        given.push((point.ph.ph(), base_meq_per_kg(point.added)?));
    }
    let best = Curve::through(&given)?.read(about.ph())?;
    let (mut ph_variance, mut buffer_variance) = (0.0, 0.0);
    let sd = constants().own_ph_sd.value;
    for moved in 0..given.len() {
        let mut other = given.clone();
        if let Some(point) = other.get_mut(moved) {
            point.0 += sd;
        }
        let other = Curve::through(&other)?.read(about.ph())?;
        ph_variance += (other.0 - best.0).powi(2);
        buffer_variance += (other.1 - best.1).powi(2);
    }
    let ph_di = Measured::with_sd(Ph::from_ph(best.0), ph_variance.sqrt());
    let buffer = Measured::with_sd(
        Buffering::from_meq_per_kg_ph(best.1),
        buffer_variance.sqrt(),
    );
    check::measured("distilled-water pH of malt", &ph_di)?;
    check::measured("buffering of malt", &buffer)?;
    Ok(MaltTitration {
        ph_di,
        buffer,
        quadratic_meq_per_kg_ph2: best.2,
    })
}

fn base_meq_per_kg(added: Added) -> Result<f64, WaterError> {
    match added {
        Added::Nothing => Ok(0.0),
        Added::Acid(acid) => Ok(-check::within("acid of a titration", acid)?.meq_per_kg()),
        Added::Base(base) => Ok(check::within("base of a titration", base)?.meq_per_kg()),
    }
}

/// Base over pH, about the mean pH: a + b (pH − middle) + c (pH − middle)².
struct Curve {
    middle: f64,
    a: f64,
    b: f64,
    c: f64,
}

impl Curve {
    fn through(points: &[(f64, f64)]) -> Result<Self, WaterError> {
        if points.len() < 2 {
            return Err(WaterError::Titration {
                why: "fewer than two points are given",
            });
        }
        let n = f64::from(u32::try_from(points.len()).unwrap_or(u32::MAX));
        let middle = points.iter().map(|p| p.0).sum::<f64>() / n;
        // Sums of powers of x, and of base times powers of x.
        let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
            points.iter().map(|(ph, base)| f(ph - middle, *base)).sum()
        };
        let (s2, s3, s4) = (
            sum(&|x, _| x * x),
            sum(&|x, _| x.powi(3)),
            sum(&|x, _| x.powi(4)),
        );
        let (t0, t1, t2) = (sum(&|_, y| y), sum(&|x, y| x * y), sum(&|x, y| x * x * y));
        if s2 < 1e-6 {
            return Err(WaterError::Titration {
                why: "all points have one pH",
            });
        }
        // Normal equations with the sum of x nought: eliminate a, then b.
        let c = if points.len() == 2 {
            0.0
        } else {
            let pivot = s4 - s2 * s2 / n - s3 * s3 / s2;
            if pivot < 1e-9 {
                return Err(WaterError::Titration {
                    why: "two of the points have one pH",
                });
            }
            (t2 - t0 * s2 / n - t1 * s3 / s2) / pivot
        };
        let b = (t1 - c * s3) / s2;
        let a = (t0 - c * s2) / n;
        Ok(Self { middle, a, b, c })
    }

    /// pH without base, buffering from there to a pH, and the quadratic term.
    fn read(&self, about: f64) -> Result<(f64, f64, f64), WaterError> {
        // The root next to where the slope is b: stable for a small c.
        let under = self.b * self.b - 4.0 * self.a * self.c;
        if under < 0.0 || self.b <= 0.0 {
            return Err(WaterError::Titration {
                why: "base does not rise with the pH",
            });
        }
        let x = -2.0 * self.a / (self.b + under.sqrt());
        let ph_di = self.middle + x;
        let buffer = self.b + self.c * (about - self.middle + x);
        if buffer <= 0.0 {
            return Err(WaterError::Titration {
                why: "base does not rise with the pH",
            });
        }
        Ok((ph_di, buffer, self.c))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(meq: f64, ph: f64) -> TitrationPoint {
        let amount = TitratableAcidity::from_meq_per_kg(meq.abs());
        let added = if meq < 0.0 {
            Added::Acid(amount)
        } else {
            Added::Base(amount)
        };
        TitrationPoint {
            added,
            ph: Ph::from_ph(ph),
        }
    }

    /// Points made from pH_DI 5.7, B 40, B₂ 12 come back, by three and by five.
    #[test]
    fn a_parabola_is_found_again() {
        let base = |ph: f64| 40.0 * (ph - 5.7) + 12.0 * (ph - 5.7) * (ph - 5.7);
        for phs in [vec![5.3, 5.6, 6.0], vec![5.2, 5.4, 5.5, 5.9, 6.1]] {
            let points: Vec<_> = phs.iter().map(|ph| point(base(*ph), *ph)).collect();
            let malt = titrated(&points, Ph::from_ph(5.4)).unwrap();
            assert!((malt.ph_di.value.ph() - 5.7).abs() < 1e-9);
            assert!((malt.quadratic_meq_per_kg_ph2 - 12.0).abs() < 1e-6);
            let chord = base(5.4) / (5.4 - 5.7);
            assert!((malt.buffer.value.meq_per_kg_ph() - chord).abs() < 1e-6);
            assert!(malt.ph_di.sd() > 0.005 && malt.buffer.sd() > 0.5);
        }
    }

    /// Of two points the first of which has nothing added: its spread is that of
    /// one reading, and that of the buffering is B·√2·0.03/ΔpH.
    #[test]
    fn the_spread_is_that_of_the_readings() {
        let malt = titrated(&[point(0.0, 5.8), point(-16.0, 5.4)], Ph::from_ph(5.4)).unwrap();
        assert!((malt.ph_di.sd() - 0.03).abs() < 1e-9);
        let expected = 40.0 * 2f64.sqrt() * 0.03 / 0.4;
        assert!(
            (malt.buffer.sd() / expected - 1.0).abs() < 0.08,
            "{}",
            malt.buffer.sd()
        );
    }

    #[test]
    fn what_is_no_titration_says_why() {
        for (points, why) in [
            (vec![point(0.0, 5.8)], "fewer than two"),
            (vec![point(0.0, 5.8), point(5.0, 5.8)], "one pH"),
            (vec![point(0.0, 5.8), point(10.0, 5.4)], "does not rise"),
            (
                vec![point(0.0, 5.8), point(-10.0, 5.5), point(-11.0, 5.5)],
                "two of the points",
            ),
        ] {
            let message = titrated(&points, Ph::from_ph(5.4)).unwrap_err().to_string();
            assert!(message.contains(why), "{message}");
        }
        let bad = titrated(&[point(f64::NAN, 5.8), point(-5.0, 5.4)], Ph::from_ph(5.4));
        assert!(matches!(bad, Err(WaterError::OutOfBounds { .. })));
    }
}
