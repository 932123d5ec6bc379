//! Sums of ions.

use quantity::{
    Ammonium, Calcium, ChargeConcentration, Chloride, Magnesium, Nitrate, Potassium, Sodium,
    Sulfate,
};

use crate::state::Ions;

impl Ions {
    /// Both together \[mg/L each\].
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        self.zip(other, |a, b| a + b)
    }

    /// So many times as much \[mg/L each\].
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        self.zip(self, |a, _| a * factor)
    }

    /// Charge of the cations \[mEq/L\].
    #[must_use]
    pub fn cations(&self) -> ChargeConcentration {
        ChargeConcentration::from_meq_per_l(
            self.calcium.meq_per_l()
                + self.magnesium.meq_per_l()
                + self.sodium.meq_per_l()
                + self.potassium.meq_per_l()
                + self.ammonium.meq_per_l(),
        )
    }

    /// Charge of the anions, without sign and without alkalinity \[mEq/L\].
    #[must_use]
    pub fn anions(&self) -> ChargeConcentration {
        ChargeConcentration::from_meq_per_l(
            self.chloride.meq_per_l() + self.sulfate.meq_per_l() + self.nitrate.meq_per_l(),
        )
    }

    fn zip(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        macro_rules! fields {
            ($($field:ident: $kind:ident),+) => {
                Self { $($field: $kind::from_mg_per_l(
                    f(self.$field.mg_per_l(), other.$field.mg_per_l()),
                )),+ }
            };
        }
        fields! {
            calcium: Calcium, magnesium: Magnesium, sodium: Sodium, potassium: Potassium,
            ammonium: Ammonium, chloride: Chloride, sulfate: Sulfate, nitrate: Nitrate
        }
    }
}
