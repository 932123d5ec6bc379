//! Numbers as people read them.

/// The size beyond which a value is not drawn: squares and ratios stay finite.
pub(crate) const LARGEST: f64 = 1e140;

/// Whether a value can stand on a linear axis.
pub(crate) fn drawable(v: f64) -> bool {
    v.is_finite() && v.abs() <= LARGEST
}

/// A number with so many decimals, or with three significant digits if none are named.
pub(crate) fn show(v: f64, decimals: Option<usize>) -> String {
    if !v.is_finite() {
        return "–".to_owned();
    }
    let size = v.abs();
    if size > 0.0 && !(1e-4..1e6).contains(&size) && decimals.is_none() || size >= 1e15 {
        return scientific(v, 2);
    }
    let digits = decimals.unwrap_or_else(|| decimals_for_three_digits(size));
    let plain = format!("{v:.digits$}");
    let plain = if decimals.is_none() {
        without_trailing_noughts(&plain)
    } else {
        &plain
    };
    with_minus(plain)
}

fn decimals_for_three_digits(size: f64) -> usize {
    if size >= 100.0 || size <= 0.0 {
        return 0;
    }
    let after_point = 2.0 - size.log10().floor();
    after_point.clamp(0.0, 7.0) as usize
}

/// A value rounded to two significant digits.
pub(crate) fn two_digits(v: f64) -> f64 {
    format!("{v:.1e}").parse().unwrap_or(v)
}

/// "1.2×10⁶", with at most so many digits after the point.
pub(crate) fn scientific(v: f64, digits: usize) -> String {
    let text = format!("{v:.digits$e}");
    let Some((mantissa, exponent)) = text.split_once('e') else {
        return text;
    };
    let mantissa = with_minus(without_trailing_noughts(mantissa));
    let power: String = exponent.chars().map(raised).collect();
    match mantissa.as_str() {
        "1" => format!("10{power}"),
        _ => format!("{mantissa}×10{power}"),
    }
}

fn without_trailing_noughts(plain: &str) -> &str {
    if plain.contains('.') {
        plain.trim_end_matches('0').trim_end_matches('.')
    } else {
        plain
    }
}

/// A true minus sign, and none before nought.
pub(crate) fn with_minus(plain: &str) -> String {
    match plain.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => plain.to_owned(),
    }
}

fn raised(c: char) -> char {
    match c {
        '-' => '⁻',
        '0' => '⁰',
        '1' => '¹',
        '2' => '²',
        '3' => '³',
        other => other
            .to_digit(10)
            .and_then(|d| char::from_u32(0x2070 + d))
            .unwrap_or(other),
    }
}

/// A number and its unit, with a space between unless there is no unit.
pub(crate) fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {unit}")
    }
}

/// "1.2 (0.8–2)", or the one that there is.
pub(crate) fn with_reach(low: f64, value: f64, high: f64, decimals: Option<usize>) -> String {
    let reach = (low.is_finite() && high.is_finite())
        .then(|| format!("{}–{}", show(low, decimals), show(high, decimals)));
    match (value.is_finite(), reach) {
        (true, Some(reach)) => format!("{} ({reach})", show(value, decimals)),
        (true, None) => show(value, decimals),
        (false, Some(reach)) => reach,
        (false, None) => "–".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shows_three_digits_unless_told() {
        assert_eq!(show(34.21, None), "34.2");
        assert_eq!(show(0.012_34, None), "0.0123");
        assert_eq!(show(5.0, None), "5");
        assert_eq!(show(1234.5, None), "1234");
        assert_eq!(show(1.0105, Some(3)), "1.010");
        assert_eq!(show(0.0, None), "0");
    }

    #[test]
    fn minus_is_a_minus_sign_and_never_before_nought() {
        assert_eq!(show(-2.5, None), "−2.5");
        assert_eq!(show(-0.0, None), "0");
        assert_eq!(show(-0.001, Some(1)), "0.0");
    }

    #[test]
    fn far_numbers_are_powers_of_ten() {
        assert_eq!(show(2.5e9, None), "2.5×10⁹");
        assert_eq!(show(1e-7, None), "10⁻⁷");
        assert_eq!(show(-4e12, None), "−4×10¹²");
        assert_eq!(show(f64::NAN, None), "–");
    }
}
