//! What fermentation refuses, and why.

use quantity::{Duration, Quantity, Units, show};

/// Input that no fermentation can have, or a course that could not be solved.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FermentError {
    /// No strain has this name.
    #[error("no yeast is called {given:?}{}; known are {known}", suggestion(.nearest.as_deref()))]
    UnknownStrain {
        /// What was asked for.
        given: String,
        /// The nearest name, if one is near.
        nearest: Option<String>,
        /// All names, separated by commas.
        known: String,
    },
    /// A value outside what is physically possible.
    #[error("{what} is {given}; {accepted} would work")]
    Impossible {
        /// The quantity.
        what: &'static str,
        /// Its value as given, with the unit.
        given: String,
        /// What would work.
        accepted: String,
    },
    /// No yeast at all.
    #[error("there is no living yeast to pitch; give packets, a slurry or a count above zero")]
    NoYeast,
    /// Yeast of which hardly a cell is alive.
    #[error(
        "fewer than {least:.0} living cells would come into a millilitre of wort; fresher yeast, more of it or a starter would work"
    )]
    HardlyAlive {
        /// The fewest that are reckoned with \[cells/mL\].
        least: f64,
    },
    /// A temperature course without a point.
    #[error("the temperature course is empty; give at least one time and temperature")]
    EmptyCourse,
    /// A temperature course that runs back in time.
    #[error(
        "the temperature course goes back from {before} to {at}; give its points in order of time"
    )]
    CourseBackwards {
        /// The time of the point at fault.
        at: Duration,
        /// The time of the point before it.
        before: Duration,
    },
    /// A published model outside the temperatures that it was fitted for.
    #[error(
        "{model} holds from {low_c} to {high_c} °C, and the course reaches {given_c} °C; use the course model there"
    )]
    OutsideModel {
        /// The model.
        model: &'static str,
        /// The temperature asked for \[°C\].
        given_c: f64,
        /// Its lower end \[°C\].
        low_c: f64,
        /// Its upper end \[°C\].
        high_c: f64,
    },
    /// The solver of the differential equations gave up.
    #[error(
        "the course could not be solved beyond {after} ({reason}); a gentler temperature course or a usual pitching rate would work"
    )]
    Solver {
        /// The start of the stretch that failed.
        after: Duration,
        /// What the solver said.
        reason: String,
    },
}

fn suggestion(nearest: Option<&str>) -> String {
    nearest.map_or_else(String::new, |name| format!("; did you mean {name:?}?"))
}

/// Refuses a value that is not finite or outside two ends, both in the canonical
/// unit.
pub(crate) fn within<Q: Quantity>(
    what: &'static str,
    value: Q,
    low: f64,
    high: f64,
) -> Result<Q, FermentError> {
    let x = value.canonical();
    if x.is_finite() && (low..=high).contains(&x) {
        return Ok(value);
    }
    Err(FermentError::Impossible {
        what,
        given: show(value, Units::Metric),
        accepted: format!(
            "{} to {}",
            show(Q::from_canonical(low), Units::Metric),
            show(Q::from_canonical(high), Units::Metric)
        ),
    })
}

/// Refuses a plain number that is not finite or outside two ends.
pub(crate) fn within_numbers(
    what: &'static str,
    x: f64,
    low: f64,
    high: f64,
) -> Result<f64, FermentError> {
    if x.is_finite() && (low..=high).contains(&x) {
        return Ok(x);
    }
    Err(FermentError::Impossible {
        what,
        given: x.to_string(),
        accepted: format!("{low} to {high}"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Volume;

    #[test]
    fn a_refusal_says_what_was_given_and_what_would_work() {
        let error = within("wort volume", Volume::from_l(0.0), 0.01, 1000.0).unwrap_err();
        let text = error.to_string();
        assert!(
            text.contains("wort volume") && text.contains("would work"),
            "{text}"
        );
        assert!(within("wort volume", Volume::from_l(f64::NAN), 0.01, 1000.0).is_err());
        assert!(within_numbers("packets", -1.0, 0.0, 10.0).is_err());
    }
}
