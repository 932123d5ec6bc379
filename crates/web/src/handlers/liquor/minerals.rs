//! The search for salts and acid. The address holds the question, so that it can be
//! kept; what is found is taken into the batch as one revision.

use app::{App, OpenBatch};
use axum::extract::{Path, Query};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::Reckoning;
use batch::liquor::minerals::{AtHand, Question, changes, found, sure};
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::revision;
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::liquor::{status, stores, stores_of, taken};
use crate::handlers::typed::Pairs;
use crate::settings::Settings;
use crate::views::liquor::minerals::{Answer, Desk, moves, page, question, unread};
use crate::work::{Broken, aside};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/minerals", get(show).post(take))
        .route("/batch/{id}/minerals/{name}", get(chart))
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let stores = stores(&app).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let question = asked(&app, &query, reckoning).await?;
    let answer = answer(&open.text, reckoning, &question).await?;
    let fine = matches!(answer, Answer::Found(..)) || headers.contains_key("hx-request");
    let desk = Desk {
        open: &open,
        reckoning,
        question: &question,
        stores: &stores,
        answer: &answer,
        units: settings.units,
        late: false,
    };
    Ok((status(fine, false), page(&desk)).into_response())
}

/// Takes what is found now for the question of the form.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&form)?;
    let open = app.batch(id).await?;
    let stores = stores(&app).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let question = asked(&app, &form, reckoning).await?;
    let answer = answer(&open.text, reckoning, &question).await?;
    let late = on != open.revision;
    let (Answer::Found(found, _), false) = (&answer, late) else {
        return Ok(again(
            &open, reckoning, &question, &stores, &answer, settings, late,
        ));
    };
    let done = app.take_minerals(id, on, changes(reckoning, found)).await;
    taken(&app, id, on, settings, done).await
}

/// The page once more: nothing was taken.
fn again(
    open: &OpenBatch,
    reckoning: &Reckoning,
    question: &Question,
    stores: &[(DocumentId, String)],
    answer: &Answer,
    settings: Settings,
    late: bool,
) -> Response {
    let desk = Desk {
        open,
        reckoning,
        question,
        stores,
        answer,
        units: settings.units,
        late,
    };
    (status(false, late), page(&desk)).into_response()
}

/// What the search moves, as a file: `moves.svg`, `moves.csv`.
async fn chart(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(no_chart)?;
    let question = asked(&app, &query, reckoning).await?;
    let Answer::Found(found, _) = answer(&open.text, reckoning, &question).await? else {
        return Err(no_chart());
    };
    chart_file(&name, |which| {
        (which == "moves").then(|| Box::new(moves(reckoning, &found)))
    })
}

/// The question of an address: what stores hold, what was typed, or the usual.
async fn asked(app: &App, pairs: &Pairs, r: &Reckoning) -> Result<Question, PageError> {
    let stores = pairs.iter().find(|(name, _)| name == "stores");
    let Some((_, id)) = stores else {
        return Ok(question(pairs, r));
    };
    Ok(Question::of_stores(&stores_of(app, id).await?))
}

async fn answer(text: &str, r: &Reckoning, question: &Question) -> Result<Answer, Broken> {
    let at_hand = match AtHand::of(question) {
        Ok(at_hand) => at_hand,
        Err(wrong) => return Ok(Answer::Wrong(wrong)),
    };
    let (r, text) = (r.clone(), text.to_owned());
    aside(move || match found(&r, &at_hand) {
        Ok(found) => {
            let sure = sure(&text, &r, &found);
            Answer::Found(Box::new(found), sure)
        }
        Err(error) => Answer::None(error),
    })
    .await
}
