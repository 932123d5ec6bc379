//! What doses of chlorine make of a water that holds ammonia.

use quantity::{Alkalinity, Ammonium, Chlorine, Duration, Ph, QuantityError, Temperature};
use water::chloramine::{BreakpointCurve, ChloramineError, Conditions, breakpoint_curve};

use crate::liquor::minerals::Wrong;
use crate::stream::Reckoning;

/// The question, as a person writes it; what is left out is taken from
/// [`BreakpointQuestion::usual`].
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BreakpointQuestion {
    /// pH.
    pub ph: String,
    /// Temperature.
    pub temperature: String,
    /// Free ammonia, as ammonium.
    pub ammonia: String,
    /// Alkalinity.
    pub alkalinity: String,
    /// How long chlorine and ammonia are together.
    pub contact: String,
}

/// The curve and what it holds for.
#[derive(Debug, Clone, PartialEq)]
pub struct Breakpoint {
    /// Free ammonia before the chlorine.
    pub ammonia: Ammonium,
    /// pH, temperature, alkalinity.
    pub around: Conditions,
    /// The time of contact.
    pub contact: Duration,
    /// The curve.
    pub curve: BreakpointCurve,
}

/// Doses of the curve, from nought to a third beyond the theoretical breakpoint.
const DOSES: u32 = 36;
const BEYOND: f64 = 1.34;

impl BreakpointQuestion {
    /// A tap in moderate climate, with the ammonia of a chloraminated supply
    /// (judgement).
    #[must_use]
    pub fn usual() -> Self {
        Self {
            ph: "7.5".to_owned(),
            temperature: "20 °C".to_owned(),
            ammonia: "0.5 mg/L".to_owned(),
            alkalinity: "100 mg/L as CaCO3".to_owned(),
            contact: "60 min".to_owned(),
        }
    }

    /// The same for the tap of a batch, as far as its analysis says.
    #[must_use]
    pub fn of(r: &Reckoning) -> Self {
        let tap = r.tap();
        let mut asked = Self {
            alkalinity: tap.alkalinity.to_string(),
            ..Self::usual()
        };
        if let Some(ph) = tap.ph {
            asked.ph = ph.to_string();
        }
        if tap.ions.ammonium.mg_per_l() > 0.0 {
            asked.ammonia = tap.ions.ammonium.to_string();
        }
        asked
    }

    /// The same with the gaps filled from another.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        let pick = |mine: String, theirs: String| {
            if mine.trim().is_empty() { theirs } else { mine }
        };
        Self {
            ph: pick(self.ph, other.ph),
            temperature: pick(self.temperature, other.temperature),
            ammonia: pick(self.ammonia, other.ammonia),
            alkalinity: pick(self.alkalinity, other.alkalinity),
            contact: pick(self.contact, other.contact),
        }
    }

    /// Reckons the curve.
    ///
    /// # Errors
    /// What is wrong, by field.
    pub fn answer(&self) -> Result<Breakpoint, Vec<Wrong>> {
        let mut wrong = vec![];
        let ph = read::<Ph>("ph", &self.ph, &mut wrong);
        let temperature = read::<Temperature>("temperature", &self.temperature, &mut wrong);
        let ammonia = read::<Ammonium>("ammonia", &self.ammonia, &mut wrong);
        let alkalinity = read::<Alkalinity>("alkalinity", &self.alkalinity, &mut wrong);
        let contact = read::<Duration>("contact", &self.contact, &mut wrong);
        let (Some(ph), Some(temperature), Some(ammonia), Some(alkalinity), Some(contact)) =
            (ph, temperature, ammonia, alkalinity, contact)
        else {
            return Err(wrong);
        };
        if ammonia.mg_per_l() <= 0.0 {
            return Err(vec![Wrong {
                field: "ammonia".to_owned(),
                message: "without ammonia there is no breakpoint; give some, as in 0.5 mg/L"
                    .to_owned(),
            }]);
        }
        let around = Conditions {
            ph,
            temperature,
            alkalinity,
        };
        let curve = curve(ammonia, &around, contact).map_err(|error| {
            vec![Wrong {
                field: String::new(),
                message: error.to_string(),
            }]
        })?;
        Ok(Breakpoint {
            ammonia,
            around,
            contact,
            curve,
        })
    }
}

fn read<Q: std::str::FromStr<Err = QuantityError>>(
    field: &str,
    written: &str,
    wrong: &mut Vec<Wrong>,
) -> Option<Q> {
    written
        .trim()
        .parse()
        .map_err(|error: QuantityError| {
            wrong.push(Wrong {
                field: field.to_owned(),
                message: error.to_string(),
            });
        })
        .ok()
}

fn curve(
    ammonia: Ammonium,
    around: &Conditions,
    contact: Duration,
) -> Result<BreakpointCurve, ChloramineError> {
    let theoretical = breakpoint_curve(ammonia, &[], around, contact)?.theoretical;
    let most = theoretical.mg_per_l() * BEYOND;
    let doses: Vec<Chlorine> = (0..=DOSES)
        .map(|n| Chlorine::from_mg_per_l(most * f64::from(n) / f64::from(DOSES)))
        .collect();
    breakpoint_curve(ammonia, &doses, around, contact)
}
