//! Phones of tasters: a second door that leads to the taster's page and nowhere else.
//!
//! The door is there only if the server was started with an address for it. It opens
//! only by a code that the page of a tasting makes when it is asked to; each code is
//! for one taster, works once, and gives that phone a seat. Codes and seats live in
//! memory: when the server ends, every phone is out.

use std::collections::HashMap;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use app::{App, OpenTasting};
use axum::extract::{Path, State};
use axum::http::header::{COOKIE, SET_COOKIE};
use axum::http::{HeaderMap, StatusCode};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use axum::{Extension, Form, Router};
use maud::{Markup, html};
use store::DocumentId;

use crate::error::PageError;
use crate::guard::{Hosts, guard};
use crate::handlers::tasting::{answer_own, readable};
use crate::views::tasting::{Refused, phone_page, taster_page};
use crate::{assets, routes};

/// The door for phones, and who has come in.
#[derive(Debug, Clone, Default)]
pub struct Phones {
    door: Option<SocketAddr>,
    seats: Arc<Mutex<Seats>>,
}

#[derive(Debug, Default)]
struct Seats {
    /// Codes that were not used yet.
    invited: HashMap<String, Seat>,
    /// Phones that are in, by the secret that they keep.
    taken: HashMap<String, Seat>,
    /// Codes that were tried and are none.
    wrong: u32,
}

/// A taster of a tasting, by place from zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Seat {
    tasting: DocumentId,
    place: usize,
}

/// So many wrong codes shut the door: nobody mistypes that often.
const MOST_WRONG: u32 = 50;

impl Phones {
    /// A door at this address.
    pub(crate) fn at(door: SocketAddr) -> Self {
        Self {
            door: Some(door),
            seats: Arc::default(),
        }
    }

    /// Where phones come in; none if the server has no such door.
    pub(crate) const fn door(&self) -> Option<SocketAddr> {
        self.door
    }

    /// A new code for each of so many tasters. Older codes and seats of the tasting end.
    pub(crate) fn invite(
        &self,
        tasting: DocumentId,
        tasters: usize,
    ) -> Result<Vec<String>, PageError> {
        let codes = (0..tasters)
            .map(|_| code())
            .collect::<Result<Vec<_>, _>>()?;
        let mut seats = self.lock();
        seats.forget(tasting);
        seats.wrong = 0;
        for (place, code) in codes.iter().enumerate() {
            seats.invited.insert(code.clone(), Seat { tasting, place });
        }
        Ok(codes)
    }

    /// Shuts out every phone of a tasting.
    pub(crate) fn shut(&self, tasting: DocumentId) {
        self.lock().forget(tasting);
    }

    /// The secret of a new seat for a code, which is then used up.
    fn take(&self, code: &str) -> Result<Option<String>, PageError> {
        let secret = secret()?;
        let mut seats = self.lock();
        let Some(seat) = seats.invited.remove(&code.trim().to_lowercase()) else {
            seats.wrong += 1;
            if seats.wrong >= MOST_WRONG {
                seats.invited.clear();
            }
            return Ok(None);
        };
        seats.taken.insert(secret.clone(), seat);
        Ok(Some(secret))
    }

    fn seat(&self, headers: &HeaderMap) -> Option<Seat> {
        let cookies = headers
            .get_all(COOKIE)
            .iter()
            .filter_map(|c| c.to_str().ok());
        let mut pairs = cookies
            .flat_map(|c| c.split(';'))
            .filter_map(|c| c.trim().split_once('='));
        let (_, secret) = pairs.find(|(name, _)| *name == "seat")?;
        self.lock().taken.get(secret).copied()
    }

    /// A handler that broke has left the maps whole: no step stops half way.
    fn lock(&self) -> MutexGuard<'_, Seats> {
        self.seats.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Seats {
    fn forget(&mut self, tasting: DocumentId) {
        self.invited.retain(|_, seat| seat.tasting != tasting);
        self.taken.retain(|_, seat| seat.tasting != tasting);
    }
}

/// Everything that the door leads to.
pub(crate) fn router(app: App, hosts: Hosts, phones: Phones) -> Router {
    let door = Router::new()
        .route("/glass", get(show).post(answer))
        .route("/glass/{code}", get(knock).post(enter))
        .route("/assets/{name}", get(assets::serve))
        .fallback(outside)
        .layer(Extension(phones));
    routes::limited(door)
        .layer(from_fn_with_state(hosts, guard))
        .with_state(app)
}

/// Opening the link does not use the code up: a preview of a message may do so.
async fn knock(Path(code): Path<String>) -> Markup {
    phone_page(&html! {
        form.card method="post" action=(format!("/glass/{code}")) {
            h2 { "Take your seat" }
            p { "The code works once, for one phone." }
            p { button.main type="submit" { "This is my phone" } }
        }
    })
}

async fn enter(
    Extension(phones): Extension<Phones>,
    Path(code): Path<String>,
) -> Result<Response, PageError> {
    Ok(match phones.take(&code)? {
        Some(secret) => {
            let cookie = format!("seat={secret}; Path=/glass; HttpOnly; SameSite=Strict");
            ([(SET_COOKIE, cookie)], Redirect::to("/glass")).into_response()
        }
        None => refused("This code is not known, or was used already. Ask for a new one."),
    })
}

async fn show(
    State(app): State<App>,
    Extension(phones): Extension<Phones>,
    headers: HeaderMap,
) -> Result<Response, PageError> {
    let Some((open, name)) = seated(&app, &phones, &headers).await? else {
        return Ok(no_seat());
    };
    let tasting = readable(&open)?;
    Ok(taster_page(tasting, &name, "/glass", &Refused::default()).into_response())
}

async fn answer(
    State(app): State<App>,
    Extension(phones): Extension<Phones>,
    headers: HeaderMap,
    Form(form): Form<Vec<(String, String)>>,
) -> Result<Response, PageError> {
    match seated(&app, &phones, &headers).await? {
        Some((open, name)) => answer_own(&app, &open, &name, "/glass", &form).await,
        None => Ok(no_seat()),
    }
}

/// The tasting of a phone and its taster's name.
async fn seated(
    app: &App,
    phones: &Phones,
    headers: &HeaderMap,
) -> Result<Option<(OpenTasting, String)>, PageError> {
    let Some(seat) = phones.seat(headers) else {
        return Ok(None);
    };
    let open = app.tasting(seat.tasting).await?;
    let name = readable(&open)?.tasters.get(seat.place).cloned();
    Ok(name.map(|name| (open, name)))
}

async fn outside() -> Response {
    refused("Only the page of a taster is here. Ask whoever pours for your code.")
}

fn no_seat() -> Response {
    refused("This phone has no seat. Ask whoever pours for a code.")
}

fn refused(words: &str) -> Response {
    let body = phone_page(&html! { div.card { h2 { "Not here" } p { (words) } } });
    (StatusCode::NOT_FOUND, body).into_response()
}

/// Letters and figures that are not mistaken for each other.
const LETTERS: &[u8; 32] = b"abcdefghijkmnpqrstuvwxyz23456789";

/// Ten letters of 32: fifty bits.
fn code() -> Result<String, PageError> {
    let bytes: [u8; 10] = random()?;
    Ok(bytes
        .iter()
        .map(|byte| char::from(LETTERS[usize::from(byte % 32)]))
        .collect())
}

fn secret() -> Result<String, PageError> {
    let bytes: [u8; 16] = random()?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}

fn random<const N: usize>() -> Result<[u8; N], PageError> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| {
        eprintln!("no random numbers: {error}");
        PageError::new(
            StatusCode::INTERNAL_SERVER_ERROR,
            "No code can be made",
            "This machine gives no random numbers; write answers down on paper.",
        )
    })?;
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;
    use store::Timestamp;

    fn headers(secret: &str) -> HeaderMap {
        let mut headers = HeaderMap::new();
        headers.insert(COOKIE, format!("other=1; seat={secret}").parse().unwrap());
        headers
    }

    #[test]
    fn a_code_works_once_for_its_own_seat() {
        let phones = Phones::default();
        let tasting = DocumentId::new(Timestamp::MIN);
        let codes = phones.invite(tasting, 3).unwrap();
        let secret = phones.take(&codes[1].to_uppercase()).unwrap().unwrap();
        assert_eq!(phones.take(&codes[1]).unwrap(), None);
        assert_eq!(
            phones.seat(&headers(&secret)),
            Some(Seat { tasting, place: 1 })
        );
        assert_eq!(phones.seat(&headers("0")), None);
        assert_eq!(phones.seat(&HeaderMap::new()), None);
        phones.shut(tasting);
        assert_eq!(phones.seat(&headers(&secret)), None);
        assert_eq!(phones.take(&codes[0]).unwrap(), None);
    }

    #[test]
    fn guessing_shuts_the_door() {
        let phones = Phones::default();
        let codes = phones.invite(DocumentId::new(Timestamp::MIN), 1).unwrap();
        for _ in 0..MOST_WRONG {
            assert_eq!(phones.take("aaaaaaaaaa").unwrap(), None);
        }
        assert_eq!(phones.take(&codes[0]).unwrap(), None);
    }
}
