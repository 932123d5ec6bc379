//! `gyle learn`: what the batches of the store teach.

use app::{App, Edited, Lessons};
use batch::learning::{
    Check, Forget, HOW, HOW_SEASONS, Known, SeasonalWater, known_words, moved_words, odd_words,
    prior_words, season_words, threshold_words,
};
use quantity::Units;
use store::DocumentId;

use crate::cli::UnitsChoice;
use crate::kept::{block_on, by_wanted, place};
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// Of which batch, and what to do with it.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("change").multiple(false))]
pub struct Asked {
    /// The batch whose kit and yeast are asked about, by its identifier or a part of its
    /// name; left out, the batch that was saved last.
    batch: Option<String>,
    /// Put what was learned into this batch, with where it comes from.
    #[arg(long, value_name = "BATCH", group = "change", conflicts_with = "batch")]
    into: Option<String>,
    /// Take what was learned out of this batch: its values are as they were before.
    #[arg(long, value_name = "BATCH", group = "change", conflicts_with = "batch")]
    out_of: Option<String>,
    /// Learn nothing from this batch.
    #[arg(long, value_name = "BATCH", group = "change", requires = "because")]
    leave_out: Option<String>,
    /// Why it is left out.
    #[arg(long, value_name = "WHY", requires = "leave_out")]
    because: Option<String>,
    /// Learn from this batch again.
    #[arg(long, value_name = "BATCH", group = "change")]
    count_again: Option<String>,
    /// Keep the half-life with this batch: what it learns from counts so from now on.
    #[arg(long, value_name = "BATCH", group = "change", requires = "half_life")]
    keep_half_life: Option<String>,
    /// When a batch counts half: after so many further ones ("10", "10 batches"), or after
    /// a time ("18 months"); "never" forgets nothing. Left out, as the batch says.
    #[arg(long, value_name = "HALF-LIFE", value_parser = half_life)]
    half_life: Option<Forget>,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The answer as JSON (schema: gyle schema learning).
    #[arg(long, conflicts_with = "change")]
    json: bool,
}

fn half_life(text: &str) -> Result<Forget, String> {
    Forget::read(text).map_err(|error| error.to_string())
}

/// Says what was learned, or does what was asked with it.
///
/// # Errors
/// [`Problem`] for a batch that is not there, or that cannot be changed.
pub fn say(asked: &Asked, named: Option<&str>) -> Result<(), Problem> {
    let place = place(named)?;
    let forget = asked.half_life;
    let text = block_on(async {
        let app = App::open(place).await?;
        if let Some(wanted) = &asked.into {
            return into(&app, wanted, forget).await;
        }
        if let Some(wanted) = &asked.out_of {
            let open = app.batch(wanted_batch(&app, wanted).await?).await?;
            let done = app.drop_lessons(open.id, open.revision).await?;
            return told(done, "nothing that was learned stands in it");
        }
        if let (Some(wanted), Some(forget)) = (&asked.keep_half_life, forget) {
            let open = app.batch(wanted_batch(&app, wanted).await?).await?;
            let done = app.keep_half_life(open.id, open.revision, forget).await?;
            return told(done, "that stood so already");
        }
        if let Some(wanted) = asked.leave_out.as_ref().or(asked.count_again.as_ref()) {
            let open = app.batch(wanted_batch(&app, wanted).await?).await?;
            let why = asked.because.as_deref();
            let done = app.leave_out(open.id, open.revision, why).await?;
            return told(done, "that stood so already");
        }
        let of = match &asked.batch {
            Some(wanted) => wanted_batch(&app, wanted).await?,
            None => newest(&app).await?,
        };
        let lessons = app.gather_lessons(of).await?.lessons(forget);
        if lessons.batch.outcome.reckoning().is_none() {
            return Err(Problem::no_answer(format!(
                "{} cannot be reckoned; see gyle check store:{}",
                lessons.batch.name, lessons.batch.id
            )));
        }
        if asked.json {
            print_json(&lessons.form())?;
            return Ok(String::new());
        }
        Ok(sheet(&lessons, asked.units.into()))
    })?;
    write_out(text.as_bytes())
}

/// A batch by how it is named, with or without "store:" before it.
async fn wanted_batch(app: &App, wanted: &str) -> Result<DocumentId, Problem> {
    by_wanted(app, wanted.strip_prefix("store:").unwrap_or(wanted)).await
}

async fn newest(app: &App) -> Result<DocumentId, Problem> {
    let first = app.batches("", 0).await?.rows.into_iter().next();
    first
        .map(|row| row.id)
        .ok_or_else(|| Problem::no_answer("the store has no batch; keep one with gyle keep"))
}

async fn into(app: &App, wanted: &str, forget: Option<Forget>) -> Result<String, Problem> {
    let id = wanted_batch(app, wanted).await?;
    let lessons = app.gather_lessons(id).await?.lessons(forget);
    let done = app.take_lessons(&lessons, lessons.batch.revision).await?;
    let mut text = told(done, "nothing was learned that it has not already")?;
    for value in &lessons.values {
        let now = value.now.as_deref().unwrap_or("nothing");
        text.push_str(&format!(
            "  {:<22} {} (was {now})\n",
            value.key, value.value
        ));
    }
    Ok(text)
}

fn told(done: Edited, nothing: &str) -> Result<String, Problem> {
    match done {
        Edited::Saved { batch, change, .. } if change.is_some() => Ok(format!(
            "{}, revision {}: {}\n",
            batch.name,
            batch.revision,
            change.unwrap_or_default()
        )),
        Edited::Saved { batch, .. } => Ok(format!("{}: {nothing}\n", batch.name)),
        Edited::Refused { batch, faults } => {
            let first = faults.first().map_or_else(String::new, ToString::to_string);
            Err(Problem::no_answer(format!(
                "{} would have a fault: {first}",
                batch.name
            )))
        }
    }
}

fn sheet(lessons: &Lessons, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("What the batches teach: {}", lessons.batch.name));
    if lessons.known.is_empty() {
        page.paragraph("No other batch of the store shares its kit or its yeast and has something read. Write down volumes and gravities on brew day, and keep the readings of a fermentation.");
    }
    for known in &lessons.known {
        constant(&mut page, lessons, known, units);
    }
    for water in &lessons.waters {
        season(&mut page, lessons, water, units);
    }
    if !lessons.tasters.is_empty() {
        page.heading("What tasters notice");
        for taster in &lessons.tasters {
            page.paragraph(&format!("{}.", threshold_words(taster, units)));
        }
    }
    for taught in lessons.taught.iter().filter(|t| t.unread.is_some()) {
        let why = taught.unread.as_deref().unwrap_or_default();
        page.marked(
            "  LOOK  ",
            &format!("{}: its fermentation says nothing: {why}", taught.name),
        );
    }
    if !lessons.values.is_empty() {
        page.heading("For the plan");
        for value in &lessons.values {
            let now = value.now.as_deref().unwrap_or("not given");
            page.row(&value.name, &format!("{} (now {now})", value.value));
        }
        page.paragraph(&format!(
            "Take them with: gyle learn --into {}",
            lessons.batch.id
        ));
    }
    if lessons.forget != Forget::Never {
        page.paragraph(&format!(
            "What was read counts half after {}.",
            lessons.forget.written()
        ));
    }
    page.heading("Did what was said come?");
    check(
        &mut page,
        "Constants, batch after batch",
        &lessons.constants,
    );
    check(&mut page, "Plans", &lessons.plans);
    page.paragraph(HOW);
    page.finish()
}

fn constant(page: &mut Page, lessons: &Lessons, known: &Known, units: Units) {
    let name = match &known.of {
        Some(of) => format!("{}: {of}", known.constant.name()),
        None => known.constant.name().to_owned(),
    };
    page.heading(&name);
    page.paragraph(&format!(
        "{}; {}.",
        known_words(known, units),
        prior_words(known, units)
    ));
    page.row(
        "the house, nine times in ten",
        &known.constant.show_interval(known.likely, units),
    );
    page.row(
        "the next batch",
        &known.constant.show_interval(known.next_likely, units),
    );
    for moved in &known.trace {
        let batch = lessons.taught.get(moved.batch).map_or("", |t| &t.name);
        let said = moved_words(known, moved, units);
        page.marked("  ·  ", &format!("{batch} {said}"));
        if let Some(odd) = odd_words(moved) {
            page.marked("  LOOK  ", &odd);
        }
    }
}

/// A water through the year.
fn season(page: &mut Page, lessons: &Lessons, water: &SeasonalWater, units: Units) {
    let day = lessons.day();
    page.heading(&format!("{} through the year", water.name));
    for figure in &water.figures {
        page.row(figure.ion.word(), &season_words(figure, day, units));
        for odd in figure.trace.iter().filter(|s| s.is_odd()) {
            page.marked(
                "  LOOK  ",
                &format!(
                    "the analysis of {} lies {:.1} standard deviations from what the others make one expect",
                    odd.day,
                    odd.odd.abs()
                ),
            );
        }
    }
    if day.is_none() {
        page.paragraph(
            "The batch has no day: with batch.brewed its plan can take the water of that season.",
        );
    }
    page.paragraph(HOW_SEASONS);
}

fn check(page: &mut Page, label: &str, check: &Check) {
    let of = check.placed.len();
    page.row(label, &format!("{of} forecasts: {}", check.width.words()));
    for inside in &check.inside {
        page.row(
            "",
            &format!(
                "of the middle {:.0} %: {} of {} came inside",
                100.0 * inside.share,
                inside.inside,
                inside.of
            ),
        );
    }
}
