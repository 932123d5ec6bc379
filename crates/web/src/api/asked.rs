//! What the questions about a document share: its reckoning, and how one is refused.

use app::Outcome;
use axum::http::StatusCode;
use batch::Reckoning;
use batch::liquor::Wrong;

use crate::problem::ProblemDetails;

/// The reckoning of a document, or its faults as a problem.
pub fn reckoned(text: &str) -> Result<Reckoning, ProblemDetails> {
    match Outcome::of(text) {
        Outcome::Reckoned(reckoning) => Ok(*reckoning),
        Outcome::Faulty(faults) => Err(ProblemDetails::faults(&faults, text)),
    }
}

/// A question that is understood and has no answer; the detail says what would work.
pub fn refused(title: &str, detail: impl ToString) -> ProblemDetails {
    ProblemDetails::new(StatusCode::UNPROCESSABLE_ENTITY, title, detail.to_string())
}

/// A question that cannot be used, field by field.
pub fn unusable(wrong: &[Wrong]) -> ProblemDetails {
    let said: Vec<String> = wrong.iter().map(ToString::to_string).collect();
    refused("the question cannot be used as it is", said.join("; "))
}
