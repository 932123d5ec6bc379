//! Ticks at steps of 1, 2 or 5, and at powers of ten.

use crate::number::{scientific, with_minus};

/// A value on an axis and how it is written.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tick {
    pub(crate) value: f64,
    pub(crate) label: String,
}

/// Ticks at 1, 2 or 5 times a power of ten, from at or below to at or above the ends.
pub(crate) fn linear_ticks(low: f64, high: f64, about: usize) -> Vec<Tick> {
    let step = nice_step((high - low) / about.max(1) as f64);
    // A nudge keeps an end that is a tick, save for its last bit, from adding one more.
    let first = (low / step + 1e-7).floor();
    let last = (high / step - 1e-7).ceil();
    let count = (last - first).clamp(0.0, 100.0) as usize;
    (0..=count)
        .map(|i| (first + i as f64) * step)
        .map(|value| Tick {
            value,
            label: linear_label(value, step, low.abs().max(high.abs())),
        })
        .collect()
}

/// The next of 1, 2, 5 times a power of ten that is not smaller.
fn nice_step(rough: f64) -> f64 {
    let power = 10f64.powf(rough.log10().floor());
    let lead = rough / power;
    // The last bits of a division must not turn a 2 into a 5.
    let nice = [1.0, 2.0, 5.0]
        .into_iter()
        .find(|n| lead <= n * (1.0 + 1e-9))
        .unwrap_or(10.0);
    nice * power
}

fn linear_label(value: f64, step: f64, size: f64) -> String {
    let exponent = (step * (1.0 + 1e-9)).log10().floor();
    let negligible = value.abs() < step * 1e-3;
    if negligible {
        return "0".to_owned();
    }
    if size >= 1e6 || exponent < -5.0 {
        let digits = (value.abs().log10().floor() - exponent).clamp(0.0, 15.0);
        return scientific(value, digits as usize);
    }
    let decimals = (-exponent).max(0.0) as usize;
    with_minus(&format!("{value:.decimals$}"))
}

/// Ticks at powers of ten, or at 1, 2, 5 times these where there is room.
pub(crate) fn log_ticks(low: f64, high: f64, about: usize) -> Vec<Tick> {
    let first = (low.log10() + 1e-9).floor() as i32;
    let last = (high.log10() - 1e-9).ceil() as i32;
    let decades = (last - first).max(1) as usize;
    if decades <= about.div_ceil(3) {
        return between_decades(low, high, first, last);
    }
    let stride = decades.div_ceil(about.max(1)).max(1);
    let start = first.div_euclid(stride as i32) * stride as i32;
    let end = (last + stride as i32 - 1).div_euclid(stride as i32) * stride as i32;
    (start..=end)
        .step_by(stride)
        .map(|e| log_tick(1.0, e))
        .collect()
}

/// The 1, 2, 5 ticks from the last at or below the low end to the first at or above the high end.
fn between_decades(low: f64, high: f64, first: i32, last: i32) -> Vec<Tick> {
    let all: Vec<Tick> = (first..=last)
        .flat_map(|e| [1.0, 2.0, 5.0].map(|lead| log_tick(lead, e)))
        .collect();
    let below = all
        .iter()
        .rposition(|t| t.value <= low * (1.0 + 1e-9))
        .unwrap_or(0);
    let above = all.iter().position(|t| t.value >= high * (1.0 - 1e-9));
    let count = above.unwrap_or(all.len().saturating_sub(1)) + 1;
    all.into_iter().take(count).skip(below).collect()
}

fn log_tick(lead: f64, exponent: i32) -> Tick {
    let value = lead * 10f64.powi(exponent);
    let label = match exponent {
        0..=5 => format!("{value:.0}"),
        -4..0 => format!("{value:.*}", exponent.unsigned_abs() as usize),
        _ => scientific(value, 0),
    };
    Tick { value, label }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(ticks: &[Tick]) -> Vec<&str> {
        ticks.iter().map(|t| t.label.as_str()).collect()
    }

    #[test]
    fn steps_are_one_two_or_five() {
        assert_eq!(
            labels(&linear_ticks(0.0, 9.3, 5)),
            ["0", "2", "4", "6", "8", "10"]
        );
        assert_eq!(
            labels(&linear_ticks(1.011, 1.052, 4)),
            ["1.00", "1.02", "1.04", "1.06"]
        );
        assert_eq!(
            labels(&linear_ticks(-0.4, 0.3, 4)),
            ["−0.4", "−0.2", "0.0", "0.2", "0.4"].map(|l| if l == "0.0" { "0" } else { l })
        );
    }

    #[test]
    fn ends_on_ticks_add_none() {
        assert_eq!(linear_ticks(0.1, 0.3, 2).len(), 3);
        assert_eq!(
            labels(&log_ticks(0.01, 100.0, 5)),
            ["0.01", "0.1", "1", "10", "100"]
        );
    }

    #[test]
    fn short_log_axes_show_leads_and_long_ones_skip_decades() {
        assert_eq!(
            labels(&log_ticks(0.3, 4.0, 6)),
            ["0.2", "0.5", "1", "2", "5"]
        );
        assert_eq!(
            labels(&log_ticks(1e-9, 1e9, 6)),
            ["10⁻⁹", "10⁻⁶", "0.001", "1", "1000", "10⁶", "10⁹"]
        );
    }

    #[test]
    fn far_values_are_written_as_powers() {
        assert_eq!(
            labels(&linear_ticks(0.0, 3e9, 3)),
            ["0", "10⁹", "2×10⁹", "3×10⁹"]
        );
    }
}
