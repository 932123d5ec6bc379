//! Tastings: planned and drawn for a batch, answered, judged.

use app::{App, AppError, OpenBatch, OpenTasting, TastingPlanned};
use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form, Router};
use batch::Fault;
use batch::tasting::{Plan, PlanQuestion, Tasting, points_by_code};
use glass::tasting::Protocol;

use super::document_id;
use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::typed::{Pairs, value};
use crate::phones::Phones;
use crate::views::tasting::{
    Desk, Door, FIELDS, Refused, page, plan_page, points_field, serving_page, taster_page,
};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/tasting", get(plan).post(draw))
        .route("/tasting/{id}", get(show))
        .route("/tasting/{id}/serving", get(serving))
        .route("/tasting/{id}/answer", post(answer))
        .route("/tasting/{id}/score", post(score))
        .route("/tasting/{id}/phones", post(let_in))
        .route("/tasting/{id}/phones/shut", post(shut_out))
        .route("/tasting/{id}/taster/{place}", get(taster).post(taste))
}

async fn plan(
    Acting(app): Acting,
    Path(id): Path<String>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    planned(&app, &open, &query, &[]).await
}

/// The page of a plan, with what could not be kept of it.
async fn planned(
    app: &App,
    open: &OpenBatch,
    typed: &[(String, String)],
    faults: &[Fault],
) -> Result<Response, PageError> {
    let tastings = app.tastings_of(open.id).await?;
    let plan = question(typed).and_then(|q| Plan::of(q).map_err(|error| error.to_string()));
    let status = if plan.is_ok() && faults.is_empty() {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    let desk = Desk {
        open,
        tastings: &tastings,
        refused: Refused { typed, faults },
        plan,
    };
    Ok((status, plan_page(&desk)).into_response())
}

/// What the fields ask; those left out take the usual.
fn question(typed: &[(String, String)]) -> Result<PlanQuestion, String> {
    let word = given(typed, "protocol").unwrap_or("triangle");
    let protocol = Protocol::find(word).ok_or_else(|| {
        let known = Protocol::OFFERED.map(Protocol::word).join(", ");
        format!("{word:?} is no way of asking; it may be {known}")
    })?;
    let tastings = given(typed, "tastings").unwrap_or("6");
    let difference = given(typed, "difference").unwrap_or("2");
    Ok(PlanQuestion {
        protocol,
        tastings: tastings
            .parse()
            .map_err(|_| format!("{tastings:?} is no number of tastings; write one such as 6"))?,
        difference: difference
            .parse()
            .map_err(|_| format!("{difference:?} is no difference; write one such as 1.5"))?,
        false_alarm: 0.05,
        missed: 0.10,
    })
}

/// What was typed under a name, where anything was.
fn given<'t>(typed: &'t [(String, String)], name: &str) -> Option<&'t str> {
    Some(value(typed, name)).filter(|v| !v.is_empty())
}

async fn draw(
    Acting(app): Acting,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let typed = |key: &&str| ((*key).to_owned(), value(&form, key).to_owned());
    let mut keys: Pairs = FIELDS.iter().map(typed).collect();
    keys.push(("batch".to_owned(), open.id.to_string()));
    keys.push(("beer".to_owned(), open.name.clone()));
    let planned_as = TastingPlanned {
        keys,
        tasters: value(&form, "tasters").to_owned(),
    };
    match app.begin_tasting(&planned_as).await {
        Ok(made) => Ok(Redirect::to(&format!("/tasting/{}", made.id)).into_response()),
        Err(AppError::Faulty { faults, .. }) => planned(&app, &open, &form, &faults).await,
        Err(other) => Err(other.into()),
    }
}

async fn show(
    Acting(app): Acting,
    Extension(phones): Extension<Phones>,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let open = app.tasting(document_id(&id)?).await?;
    let held = app.held_beside(&open).await?;
    Ok(page(&open, held.as_ref(), &Refused::default(), &door(&phones)).into_response())
}

fn door(phones: &Phones) -> Door {
    match phones.door() {
        None => Door::None,
        Some(_) => Door::Shut,
    }
}

/// Answers with the codes themselves, not with a way to them: they are shown once.
async fn let_in(
    Acting(app): Acting,
    Extension(phones): Extension<Phones>,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let open = app.tasting(document_id(&id)?).await?;
    let tasters = readable(&open)?.tasters.len();
    let Some(at) = phones.door() else {
        return Err(PageError::new(
            StatusCode::CONFLICT,
            "There is no door for phones",
            "Start the server with --phones and the address of this machine on the local network.",
        ));
    };
    let codes = phones.invite(open.id, tasters)?;
    let addresses = codes.iter().map(|code| format!("http://{at}/glass/{code}"));
    let opened = Door::Open(addresses.collect());
    Ok(page(&open, None, &Refused::default(), &opened).into_response())
}

async fn shut_out(
    Acting(app): Acting,
    Extension(phones): Extension<Phones>,
    Path(id): Path<String>,
) -> Result<Response, PageError> {
    let id = app.tasting(document_id(&id)?).await?.id;
    phones.shut(id);
    Ok(Redirect::to(&format!("/tasting/{id}")).into_response())
}

async fn serving(Acting(app): Acting, Path(id): Path<String>) -> Result<Response, PageError> {
    let open = app.tasting(document_id(&id)?).await?;
    let tasting = readable(&open)?;
    Ok(serving_page(&open, tasting).into_response())
}

async fn answer(
    Acting(app): Acting,
    Extension(phones): Extension<Phones>,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let kept = app
        .answer_tasting(id, number(&form), value(&form, "glass"))
        .await;
    kept_or_told(&app, &phones, kept, id, &form).await
}

async fn score(
    Acting(app): Acting,
    Extension(phones): Extension<Phones>,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let typed = |key| value(&form, key).to_owned();
    let kept = match given(&form, "points").map(points_by_code) {
        None => {
            let keys = ["attribute", "taster", "batch", "reference"];
            app.score_tasting(id, &keys.map(|key| (key, typed(key))))
                .await
        }
        Some(Ok(points)) => {
            let scored = [(typed("attribute"), points)];
            app.score_blind(id, &typed("taster"), &scored).await
        }
        Some(Err(message)) => Err(AppError::Faulty {
            faults: vec![Fault {
                span: 0..0,
                path: "score".to_owned(),
                message,
                help: "both codes stand on the taster's sheet".to_owned(),
            }],
            text: String::new(),
        }),
    };
    kept_or_told(&app, &phones, kept, id, &form).await
}

async fn kept_or_told(
    app: &App,
    phones: &Phones,
    kept: Result<OpenTasting, AppError>,
    id: store::DocumentId,
    typed: &[(String, String)],
) -> Result<Response, PageError> {
    match kept {
        Ok(_) => Ok(Redirect::to(&format!("/tasting/{id}")).into_response()),
        Err(AppError::Faulty { faults, .. }) => {
            let open = app.tasting(id).await?;
            let faults = &faults;
            let held = app.held_beside(&open).await?;
            let refused = Refused { typed, faults };
            let body = page(&open, held.as_ref(), &refused, &door(phones));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, body).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

/// A number that is none is told as tasting 0, of which there is none.
fn number(form: &[(String, String)]) -> u32 {
    given(form, "tasting")
        .and_then(|n| n.parse().ok())
        .unwrap_or(0)
}

/// The codes of the glasses that a form names.
fn named_glasses(form: &[(String, String)]) -> String {
    let named: Vec<&str> = form
        .iter()
        .filter(|(key, _)| key == "glass")
        .map(|(_, code)| code.as_str())
        .collect();
    named.join(" ")
}

async fn taster(
    Acting(app): Acting,
    Path((id, place)): Path<(String, String)>,
) -> Result<Response, PageError> {
    let open = app.tasting(document_id(&id)?).await?;
    let tasting = readable(&open)?;
    let name = seat(tasting, &place)?;
    let action = format!("/tasting/{id}/taster/{place}");
    Ok(taster_page(tasting, name, &action, &Refused::default()).into_response())
}

async fn taste(
    Acting(app): Acting,
    Path((id, place)): Path<(String, String)>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let open = app.tasting(document_id(&id)?).await?;
    let tasting = readable(&open)?;
    let name = seat(tasting, &place)?;
    let action = format!("/tasting/{id}/taster/{place}");
    answer_own(&app, &open, name, &action, &form).await
}

/// Keeps the answer of a taster's own page, and goes back to it.
pub(crate) async fn answer_own(
    app: &App,
    open: &OpenTasting,
    taster: &str,
    action: &str,
    form: &[(String, String)],
) -> Result<Response, PageError> {
    let tasting = readable(open)?;
    let kept = if given(form, "scoring").is_some() {
        let points = scored_points(tasting, taster, form);
        app.score_blind(open.id, taster, &points).await
    } else {
        own_answer(app, open, tasting, taster, form).await
    };
    match kept {
        Ok(_) => Ok(Redirect::to(action).into_response()),
        Err(AppError::Faulty { faults, .. }) => {
            let refused = Refused {
                typed: form,
                faults: &faults,
            };
            let body = taster_page(tasting, taster, action, &refused);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, body).into_response())
        }
        Err(other) => Err(other.into()),
    }
}

async fn own_answer(
    app: &App,
    open: &OpenTasting,
    tasting: &Tasting,
    taster: &str,
    form: &[(String, String)],
) -> Result<OpenTasting, AppError> {
    // A page answers for its own taster alone; of tasting 0 there is none.
    let asked = number(form);
    let own = tasting.tastings_of(taster).find(|&n| n == asked);
    let named = named_glasses(form);
    app.answer_tasting(open.id, own.unwrap_or(0), &named).await
}

/// The points of a taster's form, by attribute and code.
fn scored_points(
    tasting: &Tasting,
    taster: &str,
    form: &[(String, String)],
) -> Vec<(String, Vec<(u16, String)>)> {
    let glasses = tasting.scoring_of(taster);
    let codes = glasses.map_or(&[][..], |serving| &serving.codes);
    let scored = tasting.scored.iter().enumerate();
    scored
        .map(|(place, attribute)| {
            let points = codes.iter().filter_map(|&code| {
                let written = given(form, &points_field(code, place))?;
                Some((code, written.to_owned()))
            });
            (attribute.clone(), points.collect())
        })
        .collect()
}

pub(crate) fn readable(open: &OpenTasting) -> Result<&Tasting, PageError> {
    open.contents
        .as_ref()
        .map(|(tasting, _)| tasting)
        .map_err(|_| {
            PageError::new(
                StatusCode::UNPROCESSABLE_ENTITY,
                "This cannot be done",
                "The tasting cannot be read as it is; its page says what is wrong.",
            )
        })
}

fn seat<'t>(tasting: &'t Tasting, place: &str) -> Result<&'t str, PageError> {
    let place: Option<usize> = place.parse().ok();
    let name = place
        .and_then(|place| place.checked_sub(1))
        .and_then(|place| tasting.tasters.get(place));
    name.map(String::as_str).ok_or_else(|| {
        PageError::new(
            StatusCode::NOT_FOUND,
            "Not here",
            "There is no such taster in this tasting.",
        )
    })
}
