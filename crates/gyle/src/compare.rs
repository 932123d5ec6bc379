//! `gyle compare`: batches side by side, and what made them differ.

use app::{App, Demo, Picked, revision_number, revision_of};
use batch::comparing::words::{REACH, apart_words, how, made_by};
use batch::comparing::{Against, CompareError, Comparison, Question, compare};
use batch::wire::comparing::Comparison as Form;
use quantity::{Units, Weight};

use crate::cli::UnitsChoice;
use crate::input::{self, Source};
use crate::kept::{self, block_on, by_wanted};
use crate::problem::Problem;
use crate::progress::Counted;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// Which batches, and how closely.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// Two batches or more: files, store:NAME for a batch of the store, store:NAME@3 for a
    /// revision of it, demo:NAME for a demo. The others are held against the first.
    #[arg(required = true, num_args = 2.., value_name = "BATCH")]
    of: Vec<String>,
    /// Draws for how sure each figure is; 0 for none.
    #[arg(long, default_value_t = 256)]
    draws: usize,
    /// Everything that differs by itself, however much it is.
    #[arg(long)]
    finely: bool,
    /// The same seed gives the same answer.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The answer as JSON (schema: gyle schema comparison).
    #[arg(long)]
    json: bool,
}

/// A document, and what tastings of its batch said.
struct Taken {
    source: Source,
    tastings: Vec<String>,
}

/// Compares and prints.
///
/// # Errors
/// [`Problem`] for a batch that is not there or cannot be reckoned.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let taken: Vec<Taken> = asked
        .of
        .iter()
        .map(|of| take(of, place))
        .collect::<Result<_, _>>()?;
    let texts: Vec<&str> = taken.iter().map(|t| t.source.text.as_str()).collect();
    let question = Question {
        draws: asked.draws,
        finely: asked.finely,
        seed: asked.seed,
        ..Question::default()
    };
    let bar = Counted::new("reckoned");
    let found = compare(&texts, &question, &|done, all| bar.at(done, all));
    bar.clear();
    let found = found.map_err(|error| match error {
        CompareError::Document { which, faults } => {
            Problem::document(faults, taken[which].source.clone(), asked.json)
        }
        other => Problem::no_answer(other),
    })?;
    if asked.json {
        let mut form = Form::from(&found);
        for (batch, taken) in form.batches.iter_mut().zip(taken) {
            batch.tastings = taken.tastings;
        }
        return print_json(&form);
    }
    write_out(sheet(&found, &taken, asked.units.into()).as_bytes())
}

fn take(of: &str, place: Option<&str>) -> Result<Taken, Problem> {
    let alone = |source| Taken {
        source,
        tastings: Vec::new(),
    };
    if let Some(name) = of.strip_prefix("demo:") {
        let known = || Problem::not_one(name, "the demos that gyle example lists");
        let demo = Demo::find(name).ok_or_else(known)?;
        return Ok(alone(Source {
            name: demo.name.to_owned(),
            text: demo.text.to_owned(),
        }));
    }
    let Some(wanted) = of.strip_prefix("store:") else {
        return input::read(of.as_ref()).map(alone);
    };
    let (name, revision) = revision_of(wanted);
    let Picked {
        name,
        revision,
        text,
        tastings,
        ..
    } = block_on(async {
        let app = App::open(kept::place(place)?).await?;
        let revision = revision.map(revision_number).transpose();
        let revision = revision.map_err(app::AppError::from)?;
        Ok(app.pick(by_wanted(&app, name).await?, revision).await?)
    })?;
    let name = format!("{name}, revision {revision}");
    Ok(Taken {
        source: Source { name, text },
        tastings,
    })
}

fn sheet(found: &Comparison, taken: &[Taken], units: Units) -> String {
    let mut page = Page::new(units);
    let names: Vec<&str> = found.batches.iter().map(|b| b.name.as_str()).collect();
    page.title(&names.join(" | "));
    for (against, name) in found.against.iter().zip(&names[1..]) {
        differs(&mut page, against, &format!("{} → {name}", names[0]));
    }
    page.heading("Figures that differ");
    let system = usize::from(units == Units::Us);
    for row in &found.rows {
        let value = |v: &Option<[String; 2]>| v.as_ref().map_or("–", |v| &v[system]).to_owned();
        let values: Vec<String> = row.values.iter().map(value).collect();
        page.row(row.label, &values.join(" | "));
    }
    page.paragraph(&format!("{} figures are the same.", found.same));
    stood(&mut page, found);
    said(&mut page, found, taken);
    if found
        .against
        .iter()
        .flat_map(|a| &a.figures)
        .any(|f| f.between.is_some())
    {
        page.paragraph(REACH);
    }
    page.finish()
}

fn differs(page: &mut Page, against: &Against, title: &str) {
    let units = page.units();
    page.heading(&format!("What differs: {title}"));
    for (n, part) in against.parts.iter().enumerate() {
        let still = if against.still.contains(&n) {
            " (moves none of the figures)"
        } else {
            ""
        };
        page.marked("  ·     ", &format!("{}{still}", part.phrase()));
    }
    if against.parts.is_empty() {
        page.paragraph("Nothing that the stream is reckoned from.");
    }
    for change in &against.told {
        page.marked("        ", &format!("beside the stream: {}", change.told()));
    }
    if against.figures.is_empty() {
        return;
    }
    page.heading(&format!("What made it differ: {title}"));
    for d in &against.figures {
        let (from, to) = (d.print(d.from, units), d.print(d.to, units));
        page.row(d.label, &format!("{from} → {to}, {}", d.change(units)));
        page.marked("        ", &format!("from {}", made_by(against, d, units)));
        if let Some(words) = apart_words(d, units) {
            page.marked("        ", &words);
        }
    }
    for note in &against.notes {
        page.marked("  ·     ", note);
    }
    page.paragraph(&format!("{}.", how(against)));
}

fn stood(page: &mut Page, found: &Comparison) {
    if found.stood.is_empty() {
        return;
    }
    page.heading("How the stages stand");
    for stage in &found.stood {
        let sign = |(weight, why): &(Weight, Option<String>)| match why {
            Some(why) => format!("{}: {why}", weight.word()),
            None => weight.word().to_owned(),
        };
        let signs: Vec<String> = stage.signs.iter().map(sign).collect();
        page.row(stage.stage.word(), &signs.join(" | "));
    }
}

fn said(page: &mut Page, found: &Comparison, taken: &[Taken]) {
    let none = |(b, t): (&batch::comparing::Beside, &Taken)| {
        b.found.is_empty() && b.tests.is_empty() && t.tastings.is_empty()
    };
    if found.batches.iter().zip(taken).all(none) {
        return;
    }
    page.heading("What tasting said");
    for (batch, taken) in found.batches.iter().zip(taken) {
        page.row(&batch.name, batch.verdict.as_deref().unwrap_or(""));
        let lines = batch
            .found
            .iter()
            .chain(&batch.tests)
            .chain(&taken.tastings);
        for line in lines {
            page.marked("        ", line);
        }
    }
}
