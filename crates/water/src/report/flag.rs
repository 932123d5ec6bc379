//! The letters that American laboratories put behind a figure.
//!
//! U, J, UJ and R as in US EPA, *Using Qualified Data to Document an Observed Release*,
//! EPA 540-F-94-028 (1996), and its guidelines for the review of laboratory data; B, found
//! in the blank too, from memory of the same.

use quantity::Note;

use super::number::{Figure, Written};

/// What a letter behind a figure says of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Flag {
    /// U: not detected; the figure is the limit of detection.
    NotDetected,
    /// J: there, the figure is an estimate.
    Estimated,
    /// UJ: not detected, and the limit is an estimate.
    LimitEstimated,
    /// B: found in the blank too, so that the sample holds less.
    InBlank,
    /// R: rejected.
    Rejected,
}

/// The flag that a text is.
pub(super) fn flag(text: &str) -> Option<Flag> {
    Some(match text.trim().to_ascii_uppercase().as_str() {
        "U" => Flag::NotDetected,
        "UJ" | "U J" => Flag::LimitEstimated,
        "J" | "J+" | "J-" => Flag::Estimated,
        "B" | "BJ" | "JB" => Flag::InBlank,
        "R" => Flag::Rejected,
        _ => return None,
    })
}

/// A text without the flag at its end, and the flag. In running text B is boron.
pub(super) fn split(text: &str, cell: bool) -> (&str, Option<Flag>) {
    let whole = text.trim_end();
    let Some((before, last)) = whole.rsplit_once(char::is_whitespace) else {
        return (text, None);
    };
    let behind_figure = before.contains(|c: char| c.is_ascii_digit());
    match flag(last).filter(|f| behind_figure && (cell || *f != Flag::InBlank)) {
        Some(flag) => (before, Some(flag)),
        None => (text, None),
    }
}

impl Flag {
    /// The figure as the flag has it.
    pub(super) fn put_on(self, written: &mut Written) {
        if let (Self::NotDetected | Self::LimitEstimated, Figure::Exactly(limit)) =
            (self, written.figure)
        {
            written.figure = Figure::Below(limit);
        }
    }

    pub(super) fn note(self) -> Note {
        match self {
            Self::NotDetected => Note::fine(
                "Flagged U, not detected: anywhere from nought to the figure, which is the limit.",
            ),
            Self::LimitEstimated => Note::look(
                "Flagged UJ: not detected, and the limit that stands there is an estimate itself.",
            ),
            Self::Estimated => {
                Note::look("Flagged J: the laboratory calls the figure an estimate.")
            }
            Self::InBlank => Note::look(
                "Flagged B: found in the laboratory's blank too, so the water may hold less.",
            ),
            Self::Rejected => Note::act("Flagged R: the laboratory rejects the figure."),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flag_stands_behind_a_figure() {
        assert_eq!(split("0.05 U", true), ("0.05", Some(Flag::NotDetected)));
        assert_eq!(
            split("12 mg/L J", false),
            ("12 mg/L", Some(Flag::Estimated))
        );
        assert_eq!(split("18 B", true).1, Some(Flag::InBlank));
        assert_eq!(split("Ca 42 B", false).1, None);
        assert_eq!(split("Group B", true).1, None);
        assert_eq!(split("42", true), ("42", None));
    }
}
