//! Axes, and how values become places on them.

use crate::calendar::{Names, said, ticks_in_words};
use crate::number::{LARGEST, drawable, show, with_unit};
use crate::tick::{Tick, linear_ticks, log_ticks};

/// How an axis spaces its values.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// Equal steps.
    #[default]
    Linear,
    /// Equal ratios; values at or below nought are left out.
    Log,
}

/// What an axis measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What is measured: "gravity".
    pub label: String,
    /// In which unit: "SG"; may be empty.
    pub unit: String,
    /// How values are spaced.
    pub scale: Scale,
    /// Lowest value shown; chosen from the data if none.
    pub from: Option<f64>,
    /// Highest value shown; chosen from the data if none.
    pub to: Option<f64>,
    /// Decimals of values in tips and tables; three significant digits if none.
    pub decimals: Option<usize>,
    /// Whether values are numbers, or times that have names.
    pub names: Names,
}

impl Axis {
    /// A linear axis that fits its data.
    #[must_use]
    pub fn new(label: impl Into<String>, unit: impl Into<String>) -> Self {
        Self {
            label: label.into(),
            unit: unit.into(),
            scale: Scale::Linear,
            from: None,
            to: None,
            decimals: None,
            names: Names::Numbers,
        }
    }

    /// A logarithmic axis of times \[min\] that are written as "5 min", "1 h", "1 d", "1 week".
    #[must_use]
    pub fn durations(label: impl Into<String>) -> Self {
        Self {
            names: Names::Durations,
            ..Self::new(label, "min").log()
        }
    }

    /// An axis over one year: values are days of the year, the first of January being 1.
    #[must_use]
    pub fn year(label: impl Into<String>) -> Self {
        Self {
            names: Names::Year,
            ..Self::new(label, "day of the year")
                .between(1.0, 366.0)
                .decimals(0)
        }
    }

    /// The same axis, logarithmic.
    #[must_use]
    pub fn log(self) -> Self {
        Self {
            scale: Scale::Log,
            ..self
        }
    }

    /// The same axis with fixed ends; what lies beyond is cut off.
    #[must_use]
    pub fn between(self, from: f64, to: f64) -> Self {
        Self {
            from: Some(from),
            to: Some(to),
            ..self
        }
    }

    /// The same axis, starting at a value whatever the data are.
    #[must_use]
    pub fn starting_at(self, from: f64) -> Self {
        Self {
            from: Some(from),
            ..self
        }
    }

    /// The same axis with so many decimals in tips and tables.
    #[must_use]
    pub fn decimals(self, decimals: usize) -> Self {
        Self {
            decimals: Some(decimals),
            ..self
        }
    }

    /// "gravity, SG", above a panel or below an axis.
    pub(crate) fn title(&self) -> String {
        if self.names != Names::Numbers {
            return self.label.clone();
        }
        match (self.label.is_empty(), self.unit.is_empty()) {
            (false, false) => format!("{}, {}", self.label, self.unit),
            (false, true) => self.label.clone(),
            (true, _) => self.unit.clone(),
        }
    }

    /// "gravity (SG)", at the head of a column.
    pub(crate) fn column(&self, name: &str) -> String {
        if self.unit.is_empty() {
            name.to_owned()
        } else {
            format!("{name} ({})", self.unit)
        }
    }

    /// A value with its unit.
    pub(crate) fn say(&self, value: f64) -> String {
        if let Some(words) = said(self.names, value) {
            return words;
        }
        with_unit(&show(value, self.decimals), &self.unit)
    }

    fn takes(&self, v: f64) -> bool {
        drawable(v) && (self.scale == Scale::Linear || v >= 1.0 / LARGEST)
    }
}

/// The values that an axis shows, from end to end, with its ticks.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Domain {
    low: f64,
    high: f64,
    scale: Scale,
    pub(crate) ticks: Vec<Tick>,
}

impl Domain {
    /// A domain that ends on ticks, for the values and the fixed ends of an axis.
    pub(crate) fn covering(
        axis: &Axis,
        values: impl IntoIterator<Item = f64>,
        about: usize,
    ) -> Self {
        let (low, high) = span(axis, values);
        let ticks = ticks_for(axis, low, high, about);
        let first = ticks.first().map_or(low, |t| t.value.min(low));
        let last = ticks.last().map_or(high, |t| t.value.max(high));
        let low = fixed(axis, axis.from).map_or(first, |from| from.min(low));
        let high = fixed(axis, axis.to).map_or(last, |to| to.max(high));
        Self::with_ticks(axis.scale, low, high, ticks)
    }

    /// A domain that ends where the values end.
    pub(crate) fn within(axis: &Axis, values: impl IntoIterator<Item = f64>, about: usize) -> Self {
        let (low, high) = span(axis, values);
        Self::with_ticks(axis.scale, low, high, ticks_for(axis, low, high, about))
    }

    fn with_ticks(scale: Scale, low: f64, high: f64, ticks: Vec<Tick>) -> Self {
        let bare = Self {
            low,
            high,
            scale,
            ticks: Vec::new(),
        };
        let ticks = ticks
            .into_iter()
            .filter(|t| bare.inside(t.value).is_some())
            .collect();
        Self { ticks, ..bare }
    }

    /// Where a value stands, as a share from the low end; beyond 0 to 1 if outside.
    pub(crate) fn share(&self, v: f64) -> Option<f64> {
        // A last tick may lie a little beyond the largest value.
        let possible = match self.scale {
            Scale::Linear => v.abs() <= 10.0 * LARGEST,
            Scale::Log => v.is_finite() && v > 0.0,
        };
        let on = |v: f64| match self.scale {
            Scale::Linear => v,
            Scale::Log => v.log10(),
        };
        possible.then(|| (on(v) - on(self.low)) / (on(self.high) - on(self.low)))
    }

    /// The share of a value that lies inside.
    pub(crate) fn inside(&self, v: f64) -> Option<f64> {
        self.share(v)
            .filter(|s| (-1e-9..=1.0 + 1e-9).contains(s))
            .map(|s| s.clamp(0.0, 1.0))
    }

    /// The share of a value held to the ends; what is too low for a logarithm is at the low end.
    pub(crate) fn held(&self, v: f64) -> Option<f64> {
        match self.share(v) {
            Some(s) => Some(s.clamp(0.0, 1.0)),
            None if self.scale == Scale::Log && v <= 0.0 => Some(0.0),
            None => None,
        }
    }

    pub(crate) fn scale(&self) -> Scale {
        self.scale
    }
}

fn ticks_for(axis: &Axis, low: f64, high: f64, about: usize) -> Vec<Tick> {
    if let Some(ticks) = ticks_in_words(axis, low, high, about) {
        return ticks;
    }
    match axis.scale {
        Scale::Linear => linear_ticks(low, high, about),
        Scale::Log => log_ticks(low, high, about),
    }
}

fn fixed(axis: &Axis, end: Option<f64>) -> Option<f64> {
    end.filter(|&v| axis.takes(v))
}

/// The lowest and the highest value to show, wide enough apart to be drawn.
fn span(axis: &Axis, values: impl IntoIterator<Item = f64>) -> (f64, f64) {
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for v in values.into_iter().filter(|&v| axis.takes(v)) {
        low = low.min(v);
        high = high.max(v);
    }
    let from = fixed(axis, axis.from);
    let to = fixed(axis, axis.to);
    let (from, to) = match (from, to) {
        (Some(a), Some(b)) => (Some(a.min(b)), Some(a.max(b))),
        ends => ends,
    };
    if low > high && from.or(to).is_none() {
        return if axis.scale == Scale::Log {
            (0.1, 10.0)
        } else {
            (0.0, 1.0)
        };
    }
    let low = from.unwrap_or(if low.is_finite() {
        low
    } else {
        to.unwrap_or(1.0)
    });
    let high = to.unwrap_or(if high.is_finite() { high } else { low });
    widened(axis.scale, low.min(high), low.max(high))
}

/// Ends that coincide, or almost, are moved apart around the value.
fn widened(scale: Scale, low: f64, high: f64) -> (f64, f64) {
    match scale {
        Scale::Log if high / low < 1.0 + 1e-6 => (low / 3.0, high * 3.0),
        Scale::Log => (low, high),
        Scale::Linear => {
            let size = low.abs().max(high.abs());
            if size < 1.0 / LARGEST {
                (0.0, 1.0)
            } else if high - low < size * 1e-9 {
                (low - size * 0.1, high + size * 0.1)
            } else {
                (low, high)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_size() -> impl Strategy<Value = f64> {
        prop_oneof![
            -10.0..10.0_f64,
            any::<f64>(),
            (-150.0..150.0_f64).prop_map(|e| 10f64.powf(e)),
            Just(0.0),
        ]
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn every_drawable_value_lies_within_a_domain_of_its_own(
            values in prop::collection::vec(any_size(), 0..8),
            log in any::<bool>(),
            about in 2usize..9,
        ) {
            let axis = Axis::new("x", "");
            let axis = if log { axis.log() } else { axis };
            let domain = Domain::covering(&axis, values.iter().copied(), about);
            prop_assert!(domain.low < domain.high && domain.low.is_finite() && domain.high.is_finite());
            prop_assert!(!domain.ticks.is_empty());
            prop_assert!(domain.ticks.windows(2).all(|t| t[0].value < t[1].value));
            prop_assert!(domain.ticks.len() <= 2 * about + 3, "{} ticks", domain.ticks.len());
            for &v in values.iter().filter(|&&v| axis.takes(v)) {
                prop_assert!(domain.inside(v).is_some(), "{v} outside {domain:?}");
                let (first, last) = (&domain.ticks[0], &domain.ticks[domain.ticks.len() - 1]);
                // Nearer to a tick than an eye can see counts as on it.
                let slack = (domain.high - domain.low) * 1e-6;
                prop_assert!(first.value <= v + slack && v <= last.value + slack, "{v} not covered");
            }
        }

        #[test]
        fn fixed_ends_hold_whatever_they_are(
            from in any::<f64>(), to in any::<f64>(), v in any_size(), log in any::<bool>(),
        ) {
            let axis = Axis::new("x", "").between(from, to);
            let axis = if log { axis.log() } else { axis };
            for domain in [Domain::within(&axis, [v], 5), Domain::covering(&axis, [v], 5)] {
                prop_assert!(domain.low < domain.high);
                prop_assert!(domain.ticks.iter().all(|t| domain.inside(t.value).is_some()));
            }
        }

        #[test]
        fn shares_rise_with_values(a in -1e6..1e6_f64, b in -1e6..1e6_f64) {
            let domain = Domain::covering(&Axis::new("x", ""), [-1e6, 1e6], 5);
            prop_assert_eq!(a < b, domain.share(a) < domain.share(b));
        }
    }

    #[test]
    fn an_axis_without_data_still_has_ticks() {
        assert!(
            !Domain::covering(&Axis::new("x", ""), [], 5)
                .ticks
                .is_empty()
        );
        assert!(
            !Domain::covering(&Axis::new("x", "").log(), [f64::NAN, -1.0], 5)
                .ticks
                .is_empty()
        );
    }
}
