//! Printing figures so that `quantity` reads them again.

use quantity::{Measured, Quantity, Spread, rounded};

/// "96 ± 4 mg/L", in the canonical unit of the quantity; alkalinity and hardness
/// are printed as CaCO₃, which is how brewers know them.
pub(super) fn measured<Q: Quantity>(measured: &Measured<Q>) -> String {
    let unit = Q::UNITS
        .iter()
        .find(|u| u.symbol == "mg/L as CaCO3" && Q::UNITS[0].symbol == "mEq/L")
        .unwrap_or(&Q::UNITS[0]);
    let show = |x: f64| rounded((unit.from_canonical)(x));
    let number = match measured.spread {
        Spread::Unstated => show(measured.canonical()),
        Spread::Sd(sd) if sd > 0.0 => {
            let x = (unit.from_canonical)(measured.canonical());
            let half = ((unit.from_canonical)(measured.canonical() + sd) - x).abs();
            format!("{} ± {}", rounded(x), two_digits(half))
        }
        Spread::Sd(_) => show(measured.canonical()),
        Spread::Range { low, high } if low <= 0.0 => format!("<{}", show(high)),
        Spread::Range { low, high } => format!("{}-{}", show(low), show(high)),
    };
    if unit.symbol.is_empty() {
        number
    } else {
        format!("{number} {}", unit.symbol)
    }
}

/// A spread is worth two digits.
fn two_digits(x: f64) -> String {
    if x <= 0.0 || !x.is_finite() {
        return "0".to_owned();
    }
    let decimals = (1.0 - x.log10().floor()).clamp(0.0, 12.0) as usize;
    format!("{x:.decimals$}")
}
