//! Chlorine and chloramine. The address holds the question, so that it can be kept;
//! a way that is chosen comes into the plan as one revision.

use app::{App, OpenBatch};
use axum::extract::{Path, Query, RawQuery};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum::{Form, Router};
use batch::Reckoning;
use batch::liquor::chlorine::{BreakpointQuestion, Question, plan_of};
use maud::Markup;
use store::DocumentId;

use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::batch::revision;
use crate::handlers::document_id;
use crate::handlers::files::{chart_file, no_chart};
use crate::handlers::liquor::{status, stores, stores_of, taken};
use crate::handlers::typed::Pairs;
use crate::settings::Settings;
use crate::views::liquor::chlorine::{Desk, Reply, charts, page, unread};

/// The pages.
pub fn routes() -> Router<App> {
    Router::new()
        .route("/batch/{id}/chlorine", get(show).post(take))
        .route("/batch/{id}/chlorine/{name}", get(chart))
}

async fn show(
    Acting(app): Acting,
    settings: Settings,
    headers: HeaderMap,
    Path(id): Path<String>,
    RawQuery(raw): RawQuery,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let (query, stores) = (at_hand(&app, query).await?, stores(&app).await?);
    let work = Work::of(query, reckoning, stores);
    let fine = matches!(work.reply, Reply::Found(_)) || headers.contains_key("hx-request");
    let shown = work.page(&open, reckoning, raw.unwrap_or_default(), settings, false);
    Ok((status(fine, false), shown).into_response())
}

/// Puts the way of the form into the plan, as the question of the form has it now.
async fn take(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let on = revision(&form)?;
    let open = app.batch(id).await?;
    let Some(reckoning) = open.outcome.reckoning() else {
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, unread(&open)).into_response());
    };
    let wanted = form.iter().find(|(name, _)| name == "way");
    let wanted = wanted.map_or(String::new(), |(_, way)| way.clone());
    let kept = |(name, _): &(String, String)| !matches!(name.as_str(), "on" | "way");
    let asked = form.into_iter().filter(kept).collect();
    let work = Work::of(asked, reckoning, stores(&app).await?);
    let late = on != open.revision;
    let plan = match &work.reply {
        Reply::Found(found) if !late => {
            let mut ways = found.1.compared.ways.iter().map(|way| &way.out);
            ways.find(|way| way.way.to_string() == wanted)
                .and_then(|way| plan_of(&found.1.task, way))
        }
        _ => None,
    };
    let Some(plan) = plan else {
        let shown = work.page(&open, reckoning, String::new(), settings, late);
        return Ok((status(false, late), shown).into_response());
    };
    let done = app.plan_chlorine(id, on, plan).await;
    taken(&app, id, on, settings, done).await
}

/// A chart as a file: `decay.svg`, `breakpoint.csv`.
async fn chart(
    Acting(app): Acting,
    Path((id, name)): Path<(String, String)>,
    Query(query): Query<Pairs>,
) -> Result<Response, PageError> {
    let open = app.batch(document_id(&id)?).await?;
    let reckoning = open.outcome.reckoning().ok_or_else(no_chart)?;
    let work = Work::of(at_hand(&app, query).await?, reckoning, vec![]);
    chart_file(&name, |which| {
        let chart = match (which, &work.reply) {
            ("decay", Reply::Found(found)) => charts::decay(&found.1)?,
            ("breakpoint", _) => charts::breakpoint(&work.breakpoint.answer().ok()?, reckoning),
            _ => return None,
        };
        Some(Box::new(chart))
    })
}

/// The question of an address, with the reagents of stores where it names some.
async fn at_hand(app: &App, pairs: Pairs) -> Result<Pairs, PageError> {
    let Some((_, id)) = pairs.iter().find(|(name, _)| name == "stores") else {
        return Ok(pairs);
    };
    let question = Question::of_stores(&stores_of(app, id).await?);
    let asked = ("asked".to_owned(), "1".to_owned());
    Ok(std::iter::once(asked)
        .chain(question.fields().iter().cloned())
        .collect())
}

/// A question and what becomes of it.
struct Work {
    stores: Vec<(DocumentId, String)>,
    question: Question,
    breakpoint: BreakpointQuestion,
    reply: Reply,
}

impl Work {
    /// The question of an address; the usual one where nothing was asked yet.
    fn of(pairs: Pairs, r: &Reckoning, stores: Vec<(DocumentId, String)>) -> Self {
        let asked = pairs.iter().any(|(name, _)| name == "asked");
        let given = Question::of(
            pairs
                .into_iter()
                .filter(|(name, _)| name != "asked")
                .collect(),
        );
        let field = |name: &str| given.get(name).to_owned();
        let breakpoint = BreakpointQuestion {
            ph: field("ph"),
            temperature: field("temperature"),
            ammonia: field("ammonia"),
            alkalinity: field("alkalinity"),
            contact: field("contact"),
        };
        let question = if asked { given } else { Question::usual(r) };
        let reply = match question.read(r) {
            Err(wrong) => Reply::Wrong(wrong),
            Ok(read) => match r.ways_out(&read) {
                Ok(answer) => Reply::Found(Box::new((read, answer))),
                Err(error) => Reply::None(error.to_string()),
            },
        };
        Self {
            stores,
            breakpoint: breakpoint.or(BreakpointQuestion::of(r)),
            question,
            reply,
        }
    }

    fn page(
        &self,
        open: &OpenBatch,
        reckoning: &Reckoning,
        query: String,
        settings: Settings,
        late: bool,
    ) -> Markup {
        page(&Desk {
            open,
            reckoning,
            question: &self.question,
            stores: &self.stores,
            breakpoint: &self.breakpoint,
            reply: &self.reply,
            curve: &self.breakpoint.answer(),
            query,
            units: settings.units,
            late,
        })
    }
}
