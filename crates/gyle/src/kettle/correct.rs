//! `gyle wort correct`: a reading on brew day, and what to do.

use batch::Reckoning;
use batch::brew_day::{Beer, Corrections, TypedReading};
use batch::liquor::Wrong;
use batch::wire::brew_day::WortCorrect;
use quantity::{Measured, Quantity, Units};
use wort::correct::{Outcome, Point, PointFigures};

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What was read, beside the readings that the document keeps.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// Where on the brew day: first wort, last runnings, kettle full, boil, end of boil,
    /// fermenter; left out, where the document's last reading is.
    #[arg(long, value_name = "PLACE")]
    at: Option<String>,
    /// During the boil: how long after it began.
    #[arg(long, value_name = "TIME", requires = "at")]
    after: Option<String>,
    /// How much wort there is.
    #[arg(long, value_name = "VOLUME", requires = "at", requires = "volume_at")]
    volume: Option<String>,
    /// How warm that wort is.
    #[arg(long, value_name = "TEMPERATURE", requires = "volume")]
    volume_at: Option<String>,
    /// What the hydrometer shows, with its uncertainty if you know it.
    #[arg(long, value_name = "GRAVITY", requires = "at")]
    gravity: Option<String>,
    /// How warm the sample is when it is read; left out, 20 °C.
    #[arg(long, value_name = "TEMPERATURE", requires = "gravity")]
    gravity_at: Option<String>,
}

impl Asked {
    fn typed(&self) -> Option<TypedReading> {
        let or_empty = |text: &Option<String>| text.clone().unwrap_or_default();
        self.at.as_ref().map(|at| TypedReading {
            at: at.clone(),
            after: or_empty(&self.after),
            volume: or_empty(&self.volume),
            volume_at: or_empty(&self.volume_at),
            gravity: or_empty(&self.gravity),
            gravity_at: or_empty(&self.gravity_at),
        })
    }
}

/// Says where the day stands and what can be done.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, or a reading that cannot be.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (_, r) = asked.batch.reckoned(place)?;
    let (at, beside) = match asked.typed() {
        Some(typed) => {
            let reading = typed.read().map_err(|wrong| told(&wrong))?;
            (typed.point().map_err(|wrong| told(&wrong))?, reading)
        }
        None => (r.day_is_at().unwrap_or(Point::KettleFull), None),
    };
    let beside: Vec<_> = beside.into_iter().collect();
    let found = r.corrections(at, &beside).map_err(Problem::no_answer)?;
    if asked.batch.json {
        return print_json(&WortCorrect::from(&found));
    }
    write_out(sheet(&r, &found, asked.batch.units()).as_bytes())
}

fn told(wrong: &[Wrong]) -> Problem {
    let said: Vec<String> = wrong
        .iter()
        .map(|w| format!("--{}: {}", w.field.replace('_', "-"), w.message))
        .collect();
    Problem::no_answer(said.join("\n"))
}

fn sheet(r: &Reckoning, found: &Corrections, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{}: the brew day", r.document.batch.name));
    page.heading("Planned, read, and where it stands (20 °C)");
    for point in &found.stands.points {
        page.row(point.at.name(), &point_words(&page, point));
    }
    page.heading("In the fermenter");
    page.row("as planned", &outcome(&page, &found.aim.0, found.aim.1));
    page.row("as it stands", &outcome(&page, &found.now.0, found.now.1));
    page.measured("original gravity", &found.stands.original_gravity);
    page.measured("volume", &found.stands.volume);
    if let Some(learned) = &found.stands.learned {
        page.heading("Learned of the kit");
        page.measured("conversion", &learned.conversion);
        page.measured("extract into the kettle", &learned.into_kettle);
        page.measured("evaporation", &learned.evaporation);
    }
    page.heading(&format!("What can be done at: {}", found.at.name()));
    for on in &found.ways {
        let Some((comes_to, _)) = &on.way.outcome else {
            continue;
        };
        page.marked("  ·     ", &on.way.text);
        page.marked("        ", &outcome(&page, comes_to, on.beer));
        if !on.way.says.is_empty() {
            page.marked("        ", &on.way.says);
        }
        if let Some(shift) = &on.way.hops {
            let hops: Vec<String> = shift
                .hops
                .iter()
                .map(|(name, _, then)| format!("{} of {name}", page.show(*then)))
                .collect();
            let text = format!("to hold the bitterness, give {}", hops.join(", "));
            page.marked("        ", &text);
        }
    }
    for way in &found.impossible {
        page.marked("  not   ", &format!("{}: {}.", way.text, way.says));
    }
    page.heading("Remarks");
    page.notes(&found.stands.notes);
    page.act_on(&found.stands.cautions);
    page.finish()
}

fn point_words(page: &Page, point: &PointFigures) -> String {
    let both = |volume: Option<String>, gravity: Option<String>| {
        let parts: Vec<String> = volume.into_iter().chain(gravity).collect();
        parts.join(" at ")
    };
    let planned = both(
        point.planned_volume.map(|v| page.show(v)),
        Some(page.show(point.planned_gravity)),
    );
    if point.read.is_empty() {
        return format!("{planned} planned");
    }
    let read = point.read.iter().map(|r| {
        both(
            r.volume.as_ref().map(|v| shown(page, v)),
            r.gravity.as_ref().map(|g| shown(page, g)),
        )
    });
    let read: Vec<String> = read.collect();
    let stands = both(
        point.volume.as_ref().map(|v| shown(page, v)),
        Some(shown(page, &point.gravity)),
    );
    format!(
        "{planned} planned; {} read; stands at {stands}",
        read.join(", ")
    )
}

fn shown<Q: Quantity>(page: &Page, value: &Measured<Q>) -> String {
    page.show_measured(value)
}

fn outcome(page: &Page, of: &Outcome, beer: Option<Beer>) -> String {
    let mut text = format!(
        "{}, {}, {}, {}",
        page.show(of.original_gravity),
        page.show(of.volume),
        page.show(of.bitterness),
        page.show(of.colour)
    );
    if let Some(beer) = beer {
        text.push_str(&format!(", {}", page.show(beer.alcohol)));
    }
    text
}
