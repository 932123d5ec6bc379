//! The whole posterior of a fermentation, sampled beside the quick answer.

use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use batch::job::{Found, Work};
use batch::watch::Moments;
use ferment::watch::Sampling;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::document_id;
use crate::handlers::jobs::{Answer, ask};
use crate::settings::Settings;
use crate::views::course::whole::{found, refused, working};

/// The page: what was found, or how far it is.
pub async fn show(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    if open.outcome.reckoning().is_none() {
        return Ok(super::unread(&open));
    }
    let work = Work::Posterior {
        text: open.text.clone(),
        readings: app.readings(open.id).await?,
        moments: Moments::default(),
        sampling: Sampling::default(),
    };
    Ok(match ask(&app, &work, Some(open.id)).await? {
        Answer::Not(job) => working(&open, &job, &app.standing(&job)).into_response(),
        Answer::There(outcome) => match *outcome {
            Ok(Found::Posterior(posterior)) => {
                found(&open, &posterior, settings.units).into_response()
            }
            Ok(_) => refused(&open, "another question was answered").into_response(),
            Err(refusal) => {
                let told = refused(&open, &refusal.told);
                (StatusCode::UNPROCESSABLE_ENTITY, told).into_response()
            }
        },
    })
}
