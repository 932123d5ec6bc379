//! A reading that was taken by hand.

use app::KeptLog;
use axum::Form;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use batch::Fault;
use batch::log::{What, instant};
use quantity::Duration;
use store::Timestamp;

use super::Sheet;
use crate::acting::Acting;
use crate::error::PageError;
use crate::handlers::document_id;
use crate::handlers::typed::{Pairs, value};
use crate::settings::Settings;
use crate::views::course::Typed;

/// Keeps it.
pub async fn keep(
    Acting(app): Acting,
    settings: Settings,
    Path(id): Path<String>,
    Form(form): Form<Pairs>,
) -> Result<Response, PageError> {
    let id = document_id(&id)?;
    let open = app.batch(id).await?;
    let Some(reckoning) = open.outcome.reckoning().cloned() else {
        return Ok(super::unread(&open));
    };
    let typed = Typed {
        what: value(&form, "what").to_owned(),
        reading: value(&form, "reading").to_owned(),
        at: value(&form, "at").to_owned(),
        instrument: value(&form, "instrument").to_owned(),
    };
    let pitched = reckoning.document.fermentation.pitched;
    let faults = match read(&typed, pitched) {
        Ok((what, entered, at)) => {
            let instrument = typed.instrument(what).to_owned();
            let kept = app
                .keep_entered(id, what, entered, &typed.reading, &instrument, at)
                .await?;
            match contradicted(&kept) {
                None => return Ok(Redirect::to(&format!("/batch/{id}/course")).into_response()),
                Some(fault) => vec![fault],
            }
        }
        Err(faults) => faults,
    };
    let sheet = Sheet {
        typed,
        faults: &faults,
        status: StatusCode::UNPROCESSABLE_ENTITY,
        ..Sheet::of(&open, settings)
    };
    sheet.answer(&app, &reckoning, false).await
}

fn fault(field: &str, message: impl Into<String>, help: impl Into<String>) -> Fault {
    Fault {
        span: 0..0,
        path: field.to_owned(),
        message: message.into(),
        help: help.into(),
    }
}

fn contradicted(kept: &KeptLog) -> Option<Fault> {
    let other = kept.contradicted.first()?;
    Some(fault(
        "at",
        format!("this instrument has another value at that time ({other})"),
        "say another time, or another instrument",
    ))
}

type Entry = (What, (f64, &'static str), Option<Timestamp>);

/// What was typed, as a reading.
fn read(typed: &Typed, pitched: Option<i64>) -> Result<Entry, Vec<Fault>> {
    let mut faults = Vec::new();
    let what = What::of_word(&typed.what).unwrap_or(What::Gravity);
    let (least, most) = what.bounds();
    let entered = match what.entered(&typed.reading) {
        Ok((x, unit)) if (least..=most).contains(&x) => Some((x, unit)),
        Ok((x, unit)) => {
            faults.push(fault(
                "reading",
                format!("{x:.4} {unit} is no reading of a fermentation"),
                format!("{least} to {most} {unit} are kept"),
            ));
            None
        }
        Err(error) => {
            faults.push(fault("reading", error.fault(), error.help()));
            None
        }
    };
    if let Err(why) = batch::log::named(typed.instrument(what)) {
        faults.push(fault("instrument", why, "write its name on one line"));
    }
    let at = moment(&typed.at, pitched).unwrap_or_else(|wrong| {
        faults.push(wrong);
        None
    });
    match entered {
        Some(entered) if faults.is_empty() => Ok((what, entered, at)),
        _ => Err(faults),
    }
}

/// A moment: of the calendar, or so long after pitching; left out, now.
fn moment(text: &str, pitched: Option<i64>) -> Result<Option<Timestamp>, Fault> {
    const HELP: &str =
        "write it as 2026-03-16T18:30:00Z, or as 4.5 d after pitching, or leave it out for now";
    if text.is_empty() {
        return Ok(None);
    }
    let ms = match (instant(text), text.parse::<Duration>(), pitched) {
        (Some(ms), ..) => ms,
        (None, Ok(after), Some(pitched)) => {
            pitched.saturating_add((after.h() * 3_600_000.0) as i64)
        }
        (None, Ok(_), None) => {
            return Err(fault(
                "at",
                "nobody said when the yeast was pitched, so nothing can be so long after it",
                "say it in the field below, or write the moment as 2026-03-16T18:30:00Z",
            ));
        }
        (None, Err(_), _) => {
            return Err(fault("at", format!("{text:?} is no moment"), HELP));
        }
    };
    let stamp = Timestamp::from_ms(ms).map_err(|e| fault("at", e.to_string(), HELP))?;
    Ok(Some(stamp))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_of_the_calendar_or_after_pitching() {
        let ms = |text: &str, pitched| moment(text, pitched).map(|at| at.map(Timestamp::ms));
        assert_eq!(ms("", None).unwrap(), None);
        assert_eq!(ms("1970-01-02T00:00:00Z", None).unwrap(), Some(86_400_000));
        assert_eq!(
            ms("36 h", Some(1_000)).unwrap(),
            Some(36 * 3_600_000 + 1_000)
        );
        assert!(ms("36 h", None).unwrap_err().message.contains("pitched"));
        assert!(ms("soon", Some(0)).unwrap_err().help.contains("4.5 d"));
    }

    #[test]
    fn all_that_is_wrong_is_told_at_once() {
        let typed = Typed {
            reading: "many".to_owned(),
            at: "soon".to_owned(),
            ..Typed::default()
        };
        let faults = read(&typed, None).unwrap_err();
        assert_eq!(
            faults.iter().map(|f| f.path.as_str()).collect::<Vec<_>>(),
            ["reading", "at"]
        );
    }
}
