//! Texts with figures in them, ready in either system of units.

use crate::Units;

/// A text in both systems of units, for what words a finding before anybody asks to see
/// it.
///
/// ```
/// use quantity::{Temperature, Told, Units, show};
/// let told = Told::of(|units| format!("it is at {}", show(Temperature::from_c(20.0), units)));
/// assert_eq!(told.text(Units::Us), "it is at 68 °F");
/// assert_eq!(Told::from("it stands still").text(Units::Us), "it stands still");
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told([String; 2]);

impl Told {
    /// A text that is written in the units it is given.
    pub fn of(write: impl Fn(Units) -> String) -> Self {
        Self([Units::Metric, Units::Us].map(write))
    }

    /// The text in these units.
    #[must_use]
    pub fn text(&self, units: Units) -> &str {
        let [metric, us] = &self.0;
        match units {
            Units::Metric => metric,
            Units::Us => us,
        }
    }
}

/// A text without a figure that has a unit.
impl<T: Into<String>> From<T> for Told {
    fn from(text: T) -> Self {
        let text = text.into();
        Self([text.clone(), text])
    }
}
