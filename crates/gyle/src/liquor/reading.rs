//! `gyle water mash`: what to do with a pH read in the mash.

use batch::Reckoning;
use batch::liquor::Wrong;
use batch::liquor::reading::{
    IfItReads, Typed, TypedAddition, action_words, dose_words, malt_names, readings, shares, taught,
};
use batch::wire::liquor::reading::WaterMash;
use quantity::Units;
use water::mash_reading::{Action, Advice};

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What the meter said, beside the readings that the document keeps.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// What the meter reads, with its uncertainty if you know it; left out, only the
    /// readings of the document count.
    #[arg(long, value_name = "PH")]
    ph: Option<String>,
    /// How warm the sample is when it is read; left out, 20 °C.
    #[arg(long, value_name = "TEMPERATURE", requires = "ph")]
    at: Option<String>,
    /// How long after mashing in the sample was taken; left out, 15 min.
    #[arg(long, value_name = "TIME", requires = "ph")]
    after: Option<String>,
    /// For a meter without temperature compensation: what it is set to.
    #[arg(long, value_name = "TEMPERATURE", requires = "ph")]
    set_to: Option<String>,
    /// What went in since the reading before, such as 'lactic acid 80 % = 2 mL'; again
    /// for more.
    #[arg(long, value_name = "WHAT=AMOUNT", requires = "ph")]
    added: Vec<String>,
}

impl Asked {
    fn typed(&self) -> Result<Option<Typed>, Wrong> {
        let Some(ph) = &self.ph else {
            return Ok(None);
        };
        let or_empty = |text: &Option<String>| text.clone().unwrap_or_default();
        let added = self.added.iter().map(|text| text.parse());
        Ok(Some(Typed {
            ph: ph.clone(),
            temperature: or_empty(&self.at),
            after: or_empty(&self.after),
            set_to: or_empty(&self.set_to),
            added: added.collect::<Result<Vec<TypedAddition>, Wrong>>()?,
        }))
    }
}

/// Says what a reading means and what to add.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, or a reading that cannot be.
pub fn advice(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (_, r) = asked.batch.reckoned(place)?;
    let wrong = |wrong: Vec<Wrong>| {
        let said: Vec<String> = wrong.iter().map(said).collect();
        Problem::no_answer(said.join("\n"))
    };
    let mut all = readings(&r.document);
    if let Some(typed) = asked.typed().map_err(|one| wrong(vec![one]))? {
        all.push(typed.read().map_err(wrong)?);
    }
    let advice = r.mash_advice(&all).map_err(Problem::no_answer)?;
    let table = r.if_it_reads().map_err(Problem::no_answer)?;
    if asked.batch.json {
        return print_json(&WaterMash::of(&r, &advice, &table));
    }
    write_out(sheet(&r, &advice, &table, asked.batch.units()).as_bytes())
}

/// A fault with the flag that it is about.
fn said(wrong: &Wrong) -> String {
    let flag = match wrong.field.as_str() {
        "temperature" => "at",
        "set_to" => "set-to",
        other => other,
    };
    format!("--{flag}: {}", wrong.message)
}

fn sheet(r: &Reckoning, advice: &Advice, table: &[IfItReads], units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{}: the pH of the mash", r.document.batch.name));
    page.measured("predicted, cooled sample", &advice.predicted);
    for (n, cooled) in advice.cooled.iter().enumerate() {
        let counts = if cooled.counts {
            ""
        } else {
            ", too early to count"
        };
        page.row(
            &format!("reading {}, cooled", n + 1),
            &format!("{}{counts}", page.show_measured(&cooled.ph)),
        );
    }
    let aim = r.mash_aim();
    page.measured("where the mash stands", &advice.ph);
    page.row(
        "aim",
        &format!("{} ± {}", page.show(aim.ph), page.show(aim.within)),
    );
    page.row("do", &action_words(&advice.action));
    ways(&mut page, advice);
    if advice.cooled.is_empty() {
        page.heading("If it reads, after a quarter of an hour and cooled");
        for line in table {
            page.row(&page.show(line.reads), &dose_words(line, units));
        }
        page.heading("Where the uncertainty of the prediction comes from");
        for part in shares(r) {
            page.row(&part.of, &page.show(part.share));
        }
    } else if taught(advice) {
        page.heading("For the next batch");
        for (malt, name) in advice.learned.malts.iter().zip(malt_names(r)) {
            page.row(
                &name,
                &format!(
                    "distilled_ph = \"{}\", buffering = \"{}\"",
                    page.show_measured(&malt.ph_di),
                    page.show_measured(&malt.buffer)
                ),
            );
        }
    }
    page.heading("Remarks");
    page.notes(&advice.notes);
    page.act_on(&advice.cautions);
    page.finish()
}

/// The ways, each one by itself; those of the plan and the next few.
fn ways(page: &mut Page, advice: &Advice) {
    if !matches!(advice.action, Action::Lower | Action::Raise) {
        return;
    }
    page.heading("One of these");
    for dose in advice.ways.iter().take(MOST_WAYS) {
        page.marked("  ·     ", &dose.text);
        page.notes(&dose.notes);
    }
    if let Some(more) = advice.ways.get(MOST_WAYS..).filter(|more| !more.is_empty()) {
        let names: Vec<&str> = more.iter().map(|dose| dose.what.name()).collect();
        page.paragraph(&format!(
            "Others: {} (--json lists them).",
            names.join(", ")
        ));
    }
}

const MOST_WAYS: usize = 4;
