//! `gyle taste …`: a batch beside the beer that was its aim, blind.

use std::path::{Path, PathBuf};

use app::{App, OpenTasting, TastingPlanned};
use batch::Fault;
use batch::beside::Held;
use batch::edit::add_entry;
use batch::tasting::{Judged, OneGlass, Plan, PlanQuestion, Tasting, plain, points_by_code};
use batch::wire::tasting::{TastingOneGlass, TastingPlan, TastingResult};
use clap::Subcommand;
use glass::tasting::{ANotA, Beer, Protocol, Serving};
use quantity::Units;
use store::DocumentId;

use crate::input::{self, Source};
use crate::kept::{block_on, place};
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, reckoned, write_out};

/// What is asked about tastings.
#[derive(Debug, Subcommand)]
pub enum TasteCommand {
    /// Say before pouring what a number of tastings can show.
    #[command(after_help = "\
Examples:
  gyle taste plan
  gyle taste plan --protocol tetrad --tastings 24 --difference 1.5
  gyle taste plan --tastings 12 --json")]
    Plan(Asked),
    /// Draw orders and codes: write a tasting document, or keep it.
    #[command(after_help = "\
Examples:
  gyle taste draw --beer 'Lantern Pale' --reference 'the aim' --taster Ann --taster Ben > tasting.toml
  gyle taste draw --beer 'Lantern Pale' --reference 'the aim' --taster Ann --pours 'own hand' --keep")]
    Draw(Box<Drawn>),
    /// Print the serving sheet, for whoever pours, and a sheet for each taster.
    #[command(after_help = "\
Examples:
  gyle taste serve tasting.toml
  gyle taste serve store:beside --taster Ann")]
    Serve {
        /// The tasting; - reads standard input, store:NAME one of the store.
        file: PathBuf,
        /// Only the sheet of this taster, which says nothing of what is in a glass.
        #[arg(long, value_name = "NAME")]
        taster: Option<String>,
    },
    /// Record an answer: in the store, or as the document with it added.
    #[command(after_help = "\
Examples:
  gyle taste answer store:beside --tasting 3 --glass 417
  gyle taste answer tasting.toml --tasting 3 --glass '417 528' > answered.toml")]
    Answer {
        /// The tasting; - reads standard input, store:NAME one of the store.
        file: PathBuf,
        /// Which tasting, from 1.
        #[arg(long)]
        tasting: u32,
        /// The code of the glass that was named; two for a tetrad; same or other for a
        /// single glass.
        #[arg(long)]
        glass: String,
    },
    /// Record a taster's points for both glasses by their codes: in the store, or as
    /// the document with them added.
    #[command(after_help = "\
Examples:
  gyle taste score store:beside --taster Ann --attribute bitterness --points '417 5, 528 6.5'
  gyle taste score tasting.toml --taster Ann --attribute clove --points '417 0, 528 2' > scored.toml")]
    Score {
        /// The tasting; - reads standard input, store:NAME one of the store.
        file: PathBuf,
        /// Who scored.
        #[arg(long, value_name = "NAME")]
        taster: String,
        /// What was scored, as the tasting names it.
        #[arg(long)]
        attribute: String,
        /// Both codes with their points, 0 for none and 10 for very strong.
        #[arg(long)]
        points: String,
    },
    /// Judge glasses that were served one at a time: is it the reference, or not?
    #[command(after_help = "\
Examples:
  gyle taste one-glass --batch 10/20 --reference 3/20
  gyle taste one-glass --batch 6/10 --reference 1/10 --json")]
    OneGlass {
        /// Glasses of the batch that were called another beer, of how many.
        #[arg(long, value_name = "N/OF")]
        batch: String,
        /// Glasses of the reference that were called another beer, of how many.
        #[arg(long, value_name = "N/OF")]
        reference: String,
        /// The risk of calling a difference that is none, from 0 to 1.
        #[arg(long, default_value_t = 0.05)]
        false_alarm: f64,
        /// The result as JSON (schema: gyle schema tasting-one-glass).
        #[arg(long)]
        json: bool,
    },
    /// Judge what was answered so far: what it says, and what it cannot say.
    #[command(after_help = "\
Examples:
  gyle taste judge tasting.toml
  gyle taste judge store:beside --json
  gyle taste judge tasting.toml --batch lantern-pale.toml")]
    Judge {
        /// The tasting; - reads standard input, store:NAME one of the store.
        file: PathBuf,
        /// The batch document, to say what the glass should hold beside what was
        /// scored; left out: the batch of the store that the tasting names.
        #[arg(long, value_name = "FILE")]
        batch: Option<PathBuf>,
        /// The result as JSON (schema: gyle schema tasting-result).
        #[arg(long)]
        json: bool,
    },
}

/// A plan to look into.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// How it is asked: triangle, tetrad, duo-trio, paired, paired-either, 3-afc or
    /// a-not-a.
    #[arg(long, default_value = "triangle")]
    protocol: String,
    /// How many tastings.
    #[arg(long, default_value_t = 6)]
    tastings: u32,
    /// The difference that matters, as d': 1 is hard to tell, 2 plain, 3 gross.
    #[arg(long, default_value_t = 2.0)]
    difference: f64,
    /// The risk of calling a difference that is none, from 0 to 1.
    #[arg(long, default_value_t = 0.05)]
    false_alarm: f64,
    /// The risk of missing the difference, from 0 to 1.
    #[arg(long, default_value_t = 0.10)]
    missed: f64,
    /// The plan as JSON (schema: gyle schema tasting-plan).
    #[arg(long)]
    json: bool,
}

/// A tasting to draw; what is left out takes the usual.
#[derive(Debug, clap::Args)]
pub struct Drawn {
    /// What the batch is called.
    #[arg(long)]
    beer: String,
    /// The beer beside it.
    #[arg(long)]
    reference: String,
    /// What the tasting is called.
    #[arg(long)]
    name: Option<String>,
    /// The identifier of the batch in the store.
    #[arg(long)]
    batch: Option<String>,
    /// Who tastes; once for each.
    #[arg(long = "taster", required = true, value_name = "NAME")]
    tasters: Vec<String>,
    /// How it is asked: triangle, tetrad, duo-trio, paired, paired-either, 3-afc or
    /// a-not-a.
    #[arg(long, default_value = "triangle")]
    protocol: String,
    /// How many tastings.
    #[arg(long, default_value_t = 6)]
    tastings: u32,
    /// What is asked about, such as bitterness; for paired and 3-afc.
    #[arg(long)]
    about: Option<String>,
    /// When it ends: fixed or early.
    #[arg(long)]
    stop: Option<String>,
    /// Who pours: helper, own hand or sealed key.
    #[arg(long)]
    pours: Option<String>,
    /// The difference that matters, as d'.
    #[arg(long)]
    difference: Option<String>,
    /// The share that may tell the beers apart if they are to count as alike: 20 %.
    #[arg(long)]
    alike: Option<String>,
    /// What each taster scores in both beers afterwards, such as: bitterness, clove.
    #[arg(long)]
    scored: Option<String>,
    /// What orders and codes are drawn from: the same number draws the same.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Keep it in the store.
    #[arg(long)]
    keep: bool,
}

/// Answers a question about tastings.
///
/// # Errors
/// [`Problem`] as the question has it.
pub fn run(command: &TasteCommand, named: Option<&str>) -> Result<(), Problem> {
    match command {
        TasteCommand::Plan(asked) => plan(asked),
        TasteCommand::Draw(drawn) => draw(drawn, named),
        TasteCommand::Serve { file, taster } => {
            let (tasting, _) = read(&source(file, named)?, false)?;
            let sheet = match taster {
                None => serving_sheet(&tasting),
                Some(name) if tasting.tasters.contains(name) => taster_sheet(&tasting, name),
                Some(name) => return Err(Problem::not_one(name, &tasting.tasters.join(", "))),
            };
            write_out(sheet.as_bytes())
        }
        TasteCommand::Answer {
            file,
            tasting,
            glass,
        } => answer(file, *tasting, glass, named),
        TasteCommand::Score {
            file,
            taster,
            attribute,
            points,
        } => {
            let points = points_by_code(points).map_err(Problem::no_answer)?;
            score(file, taster, attribute, &points, named)
        }
        TasteCommand::OneGlass {
            batch,
            reference,
            false_alarm,
            json,
        } => {
            let (hits, batch_glasses) = counts(batch)?;
            let (false_alarms, reference_glasses) = counts(reference)?;
            let answers = ANotA {
                hits,
                batch_glasses,
                false_alarms,
                reference_glasses,
            };
            one_glass(answers, *false_alarm, *json)
        }
        TasteCommand::Judge { file, batch, json } => {
            let (tasting, judged) = read(&source(file, named)?, *json)?;
            let held = match batch {
                Some(batch) => {
                    let r = reckoned(&crate::source(batch, named)?, *json)?;
                    Held::of(&r, Some((&tasting, &judged)))
                }
                None => kept_beside(file, named)?,
            };
            if *json {
                return print_json(&TastingResult::of(&tasting, &judged).beside(&held));
            }
            write_out(result_sheet(&tasting, &judged, &held).as_bytes())
        }
    }
}

/// What the batch of a tasting of the store should hold; nothing for a document alone.
fn kept_beside(file: &Path, named: Option<&str>) -> Result<Held, Problem> {
    let Some(wanted) = in_store(file) else {
        return Ok(Held::default());
    };
    block_on(async {
        let app = App::open(place(named)?).await?;
        let open = find(&app, wanted).await?;
        Ok(app.held_beside(&open).await?.unwrap_or_default())
    })
}

fn one_glass(answers: ANotA, false_alarm: f64, json: bool) -> Result<(), Problem> {
    let one = OneGlass::of(answers, false_alarm).map_err(Problem::no_answer)?;
    if json {
        return print_json(&TastingOneGlass::from(&one));
    }
    let mut page = Page::new(Units::Metric);
    page.title("One glass at a time");
    page.marked("-", &one.headline);
    said(&mut page, &one.can_say, &one.cannot_say);
    write_out(page.finish().as_bytes())
}

/// "10/20" is ten of twenty.
fn counts(written: &str) -> Result<(u32, u32), Problem> {
    let parts = written.split_once('/');
    parts
        .and_then(|(n, of)| Some((n.trim().parse().ok()?, of.trim().parse().ok()?)))
        .ok_or_else(|| {
            Problem::no_answer(format!(
                "{written:?} is no count; write how many of how many, such as 10/20"
            ))
        })
}

fn said(page: &mut Page, can: &[String], cannot: &[String]) {
    if !can.is_empty() {
        page.heading("What this says");
        for line in can {
            page.marked("-", line);
        }
    }
    page.heading("What this cannot say");
    for line in cannot {
        page.marked("-", line);
    }
}

fn plan(asked: &Asked) -> Result<(), Problem> {
    let known = || Protocol::OFFERED.map(Protocol::word).join(", ");
    let protocol = Protocol::find(&asked.protocol)
        .ok_or_else(|| Problem::not_one(&asked.protocol, &known()))?;
    let plan = Plan::of(PlanQuestion {
        protocol,
        tastings: asked.tastings,
        difference: asked.difference,
        false_alarm: asked.false_alarm,
        missed: asked.missed,
    })
    .map_err(Problem::no_answer)?;
    if asked.json {
        return print_json(&TastingPlan::from(&plan));
    }
    write_out(plan_sheet(&plan).as_bytes())
}

fn plan_sheet(plan: &Plan) -> String {
    let mut page = Page::new(Units::Metric);
    page.title(&format!(
        "{} {}: what they can show",
        plan.question.tastings,
        plan.question.protocol.nouns().1
    ));
    for line in &plan.says {
        page.marked("-", line);
    }
    page.heading("Chance that a difference is seen");
    for (d, power) in &plan.power.by_difference {
        page.row(&format!("d' = {d}"), &share(*power));
    }
    page.heading("The other ways, with as many tastings");
    for other in &plan.beside {
        let needed = match other.needed.and_then(|n| n.stable) {
            Some(stable) => format!("{stable} for {}", share(1.0 - plan.question.missed)),
            None => "too many to reckon for the wanted chance".to_owned(),
        };
        let row = format!("{}; {needed}", share(other.power));
        page.row(other.protocol.word(), &row);
    }
    page.finish()
}

fn share(share: f64) -> String {
    format!("{:.1} %", 100.0 * share)
}

fn draw(drawn: &Drawn, named: Option<&str>) -> Result<(), Problem> {
    let name = drawn
        .name
        .clone()
        .unwrap_or_else(|| format!("{} beside {}", drawn.beer, drawn.reference));
    let key = |key: &str, value: Option<String>| (key.to_owned(), value.unwrap_or_default());
    let planned = TastingPlanned {
        keys: vec![
            key("name", Some(name)),
            key("batch", drawn.batch.clone()),
            key("beer", Some(drawn.beer.clone())),
            key("reference", Some(drawn.reference.clone())),
            key("protocol", Some(drawn.protocol.clone())),
            key("about", drawn.about.clone()),
            key("tastings", Some(drawn.tastings.to_string())),
            key("stop", drawn.stop.clone()),
            key("pours", drawn.pours.clone()),
            key("difference", drawn.difference.clone()),
            key("alike", drawn.alike.clone()),
            key("scored", drawn.scored.clone()),
        ],
        tasters: drawn.tasters.join("\n"),
    };
    let text = planned.text(drawn.seed)?;
    let source = Source {
        name: "the drawn tasting".to_owned(),
        text,
    };
    read(&source, false)?;
    if !drawn.keep {
        return write_out(source.text.as_bytes());
    }
    let kept = block_on(async {
        let app = App::open(place(named)?).await?;
        Ok(app.keep_tasting(&source.text).await?)
    })?;
    write_out(format!("kept as {}, {}\n", kept.name, kept.id).as_bytes())
}

fn answer(file: &Path, tasting: u32, glass: &str, named: Option<&str>) -> Result<(), Problem> {
    if let Some(wanted) = in_store(file) {
        let now = block_on(async {
            let app = App::open(place(named)?).await?;
            let open = find(&app, wanted).await?;
            recorded(app.answer_tasting(open.id, tasting, glass).await)
        })?;
        return told(now);
    }
    let before = source(file, named)?;
    read(&before, false)?;
    let number = tasting.to_string();
    let values = [("tasting", number.as_str()), ("glass", glass.trim())];
    added(&before, "answer", &values)
}

fn score(
    file: &Path,
    taster: &str,
    attribute: &str,
    points: &[(u16, String)],
    named: Option<&str>,
) -> Result<(), Problem> {
    if let Some(wanted) = in_store(file) {
        let scored = [(attribute.to_owned(), points.to_vec())];
        let now = block_on(async {
            let app = App::open(place(named)?).await?;
            let open = find(&app, wanted).await?;
            recorded(app.score_blind(open.id, taster, &scored).await)
        })?;
        return told(now);
    }
    let before = source(file, named)?;
    let (tasting, _) = read(&before, false)?;
    let decoded = tasting
        .decoded(taster, attribute, points)
        .map_err(Problem::no_answer)?;
    let values: Vec<(&str, &str)> = decoded.iter().map(|(k, v)| (*k, v.as_str())).collect();
    added(&before, "score", &values)
}

fn recorded(done: Result<OpenTasting, app::AppError>) -> Result<OpenTasting, Problem> {
    match done {
        Err(app::AppError::Faulty { faults, .. }) => Err(refused(&faults)),
        other => Ok(other?),
    }
}

fn told(now: OpenTasting) -> Result<(), Problem> {
    let said = now.contents.map_or_else(
        |faults| refused_words(&faults),
        |(_, judged)| judged.headline,
    );
    write_out(format!("recorded; {said}\n").as_bytes())
}

/// The document with an entry more.
fn added(before: &Source, list: &str, values: &[(&str, &str)]) -> Result<(), Problem> {
    let text = add_entry(&before.text, list, values).map_err(app::AppError::from)?;
    if let Err(faults) = Tasting::read(&text) {
        return Err(refused(&faults));
    }
    write_out(text.as_bytes())
}

fn refused(faults: &[Fault]) -> Problem {
    Problem::NoAnswer {
        message: refused_words(faults),
    }
}

fn refused_words(faults: &[Fault]) -> String {
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{}; {}", f.message, f.help))
        .collect();
    said.join("\n")
}

fn in_store(file: &Path) -> Option<&str> {
    file.to_str().and_then(|f| f.strip_prefix("store:"))
}

fn source(file: &Path, named: Option<&str>) -> Result<Source, Problem> {
    let Some(wanted) = in_store(file) else {
        return input::read(file);
    };
    block_on(async {
        let app = App::open(place(named)?).await?;
        let open = find(&app, wanted).await?;
        Ok(Source {
            name: format!("{}, revision {}", open.name, open.revision),
            text: open.text,
        })
    })
}

async fn find(app: &App, wanted: &str) -> Result<OpenTasting, Problem> {
    if let Ok(id) = wanted.parse::<DocumentId>() {
        return Ok(app.tasting(id).await?);
    }
    let page = app.tastings(wanted, 0).await?;
    match page.rows.as_slice() {
        [one] => Ok(app.tasting(one.id).await?),
        [] => Err(Problem::not_one(wanted, "no tasting with that in its name")),
        many => {
            let names: Vec<String> = many
                .iter()
                .take(8)
                .map(|r| format!("{} ({})", r.name, r.id))
                .collect();
            Err(Problem::not_one(wanted, &names.join(", ")))
        }
    }
}

fn read(source: &Source, json: bool) -> Result<(Tasting, Judged), Problem> {
    let (tasting, _) = Tasting::read(&source.text)
        .map_err(|faults| Problem::document(faults, source.clone(), json))?;
    let judged = Judged::of(&tasting).map_err(Problem::no_answer)?;
    Ok((tasting, judged))
}

fn serving_sheet(tasting: &Tasting) -> String {
    let mut page = Page::new(Units::Metric);
    page.title(&format!(
        "{}: serving sheet, for whoever pours",
        tasting.name
    ));
    page.row("batch", &tasting.beer);
    page.row("reference", &tasting.reference);
    page.heading("How to stay blind");
    for step in tasting.way().iter().copied().chain(tasting.warm_up()) {
        page.marked("-", step);
    }
    page.heading("What to pour");
    for (serving, number) in tasting.design.servings.iter().zip(1..) {
        let label = format!("{number}  {}", tasting.taster_of(number));
        page.row(&label, &poured(tasting, serving));
    }
    if !tasting.scorings.is_empty() {
        page.heading("To score, after the last answer");
        page.row("what", &tasting.scored.join(", "));
        for (taster, serving) in tasting.tasters.iter().zip(&tasting.scorings) {
            page.row(taster, &poured(tasting, serving));
        }
    }
    page.finish()
}

fn poured(tasting: &Tasting, serving: &Serving) -> String {
    let name = |beer| match beer {
        Beer::Batch => tasting.beer.as_str(),
        Beer::Reference => tasting.reference.as_str(),
    };
    let open = serving
        .shown
        .map(|beer| format!("open glass = {}", name(beer)));
    let coded = serving
        .codes
        .iter()
        .zip(&serving.glasses)
        .map(|(code, beer)| format!("{code} = {}", name(*beer)));
    open.into_iter().chain(coded).collect::<Vec<_>>().join(", ")
}

fn taster_sheet(tasting: &Tasting, taster: &str) -> String {
    let mut page = Page::new(Units::Metric);
    page.title(&format!("{}: {taster}", tasting.name));
    page.marked("-", &tasting.question());
    page.marked(
        "-",
        tasting
            .warm_up()
            .unwrap_or("Taste from left to right. You may go back. Choose, even by a guess."),
    );
    let named = match tasting.protocol {
        Protocol::OneGlass => "same / other",
        _ => "I name: ______",
    };
    page.heading("Your tastings");
    for number in tasting.tastings_of(taster) {
        let Some(serving) = tasting.design.servings.get(number as usize - 1) else {
            continue;
        };
        let codes: Vec<String> = serving.codes.iter().map(ToString::to_string).collect();
        page.row(
            &number.to_string(),
            &format!("{}   {named}", codes.join("   ")),
        );
    }
    let place = tasting.tasters.iter().position(|name| name == taster);
    if let Some(serving) = place.and_then(|place| tasting.scorings.get(place)) {
        page.heading("Your points, after the last answer: 0 is none, 10 is very strong");
        let blanks: Vec<String> = serving
            .codes
            .iter()
            .map(|code| format!("{code}: ______"))
            .collect();
        for attribute in &tasting.scored {
            page.row(attribute, &blanks.join("   "));
        }
    }
    page.finish()
}

fn result_sheet(tasting: &Tasting, judged: &Judged, held: &Held) -> String {
    let mut page = Page::new(Units::Metric);
    page.title(&tasting.name);
    page.marked("-", &judged.headline);
    said(&mut page, &judged.can_say, &judged.cannot_say);
    if !judged.attributes.is_empty() {
        page.heading("Scores, batch less reference");
        for a in &judged.attributes {
            let mean = a.mean.value.unwrap_or_default();
            let row = format!(
                "{mean:+.2} points by {} tasters; chance {} by ranks, raised for {} attributes",
                a.tasters,
                share(a.adjusted_p),
                judged.attributes.len()
            );
            page.row(&a.attribute, &row);
        }
    }
    if held.told().next().is_some() {
        page.heading("What the glass should hold, against what was found");
        for b in held.told() {
            let a = &b.reckoned;
            page.row(
                &a.compound.name,
                &format!(
                    "{} of its threshold ({} to {}): {}",
                    plain(a.typical),
                    plain(a.low),
                    plain(a.high),
                    b.levels.words()
                ),
            );
            for found in &b.found {
                page.marked(
                    "-",
                    &format!("{}: {}", found.words, found.agreement.words()),
                );
            }
        }
    }
    page.heading("Who answered");
    for taster in &judged.tasters {
        page.row(
            &taster.name,
            &format!(
                "{} right of {}, {} planned",
                taster.right, taster.answered, taster.planned
            ),
        );
    }
    page.finish()
}
