//! Whether the ions of an analysis add up.

use quantity::{ChargeConcentration, Note};

use crate::state::SourceWater;

/// Difference that rounding alone can make in a soft water \[mEq/L\]: Standard
/// Methods 1030 E accepts it up to 3 mEq/L of anions (from memory).
const ROUNDING_MEQ_PER_L: f64 = 0.2;
const LOOK_ABOVE: f64 = 0.05;
const ACT_ABOVE: f64 = 0.10;

/// Cations against anions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IonBalance {
    /// Charge of the cations.
    pub cations: ChargeConcentration,
    /// Charge of the anions, alkalinity counted among them.
    pub anions: ChargeConcentration,
    /// Cations less anions.
    pub difference: ChargeConcentration,
    /// The difference over the sum of both, as a ratio with its sign; zero for
    /// water without ions.
    pub relative_error: f64,
}

/// Sets cations against anions \[mEq/L\].
///
/// Error = (Σ cations − Σ anions)/(Σ cations + Σ anions), Standard Methods
/// 1030 E (from memory). Alkalinity stands for bicarbonate, carbonate and
/// hydroxide. Iron and manganese are left out, as their charge is not known.
#[must_use]
pub fn ion_balance(water: &SourceWater) -> IonBalance {
    let nitrite = water.nitrite.map_or(0.0, quantity::Nitrite::meq_per_l);
    let cations = water.ions.cations().meq_per_l();
    let anions = water.ions.anions().meq_per_l() + nitrite + water.alkalinity.meq_per_l();
    let (difference, sum) = (cations - anions, cations + anions);
    IonBalance {
        cations: ChargeConcentration::from_meq_per_l(cations),
        anions: ChargeConcentration::from_meq_per_l(anions),
        difference: ChargeConcentration::from_meq_per_l(difference),
        relative_error: if sum > 0.0 { difference / sum } else { 0.0 },
    }
}

impl IonBalance {
    /// A remark where the ions do not add up: a look above 5 %, an act above
    /// 10 %. Differences of up to 0.2 mEq/L are rounding.
    #[must_use]
    pub fn notes(&self) -> Vec<Note> {
        let size = self.relative_error.abs();
        let difference = self.difference.meq_per_l();
        if difference.abs() <= ROUNDING_MEQ_PER_L || size <= LOOK_ABOVE {
            return vec![];
        }
        let (short, which) = if difference > 0.0 {
            ("anions", "chloride, sulfate, nitrate, alkalinity")
        } else {
            ("cations", "calcium, magnesium, sodium, potassium")
        };
        let text = format!(
            "The ions do not add up: {short} are {:.2} mEq/L short ({:.0} %). Look for a missing \
             or misread figure among {which}, and whether each is in mg/L of the ion.",
            difference.abs(),
            100.0 * size
        );
        vec![if size > ACT_ABOVE {
            Note::act(text)
        } else {
            Note::look(text)
        }]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Weight;

    fn balance(cations: f64, anions: f64) -> IonBalance {
        IonBalance {
            cations: ChargeConcentration::from_meq_per_l(cations),
            anions: ChargeConcentration::from_meq_per_l(anions),
            difference: ChargeConcentration::from_meq_per_l(cations - anions),
            relative_error: (cations - anions) / (cations + anions),
        }
    }

    #[test]
    fn the_weight_follows_the_error() {
        assert!(balance(5.0, 4.6).notes().is_empty());
        assert_eq!(balance(5.0, 4.3).notes()[0].weight, Weight::Look);
        assert_eq!(balance(5.0, 4.0).notes()[0].weight, Weight::Act);
        assert!(
            balance(0.3, 0.1).notes().is_empty(),
            "rounding in soft water"
        );
    }

    #[test]
    fn the_short_side_is_named() {
        assert!(
            balance(5.0, 4.0).notes()[0]
                .text
                .contains("anions are 1.00 mEq/L short")
        );
        assert!(
            balance(4.0, 5.0).notes()[0]
                .text
                .contains("cations are 1.00 mEq/L short")
        );
    }
}
