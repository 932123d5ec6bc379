//! `gyle steer`: the course that serves a wish best.

use batch::steer::{
    Choice, FIGURES, SteeredBatch, TypedSteer, between_words, block_words, chance_words,
    course_words, difference, figure_name, figure_words, limit_words, pitch_words,
};
use batch::wire::steer::{SteeredCourse, steer_csv};
use ferment::steer::{Figure, Figures};
use quantity::{Units, show};

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// A batch and a wish.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// Ready after this time at the latest.
    #[arg(long, value_name = "TIME")]
    by: Option<String>,
    /// As few days as can be; a number weighs this beside other wishes.
    #[arg(long, value_name = "WEIGHT", num_args = 0..=1, default_missing_value = "yes")]
    soon: Option<String>,
    /// Diacetyl, there and to come.
    #[arg(long, value_name = "WISH")]
    butter: Option<String>,
    /// Isoamyl acetate.
    #[arg(long, value_name = "WISH")]
    banana: Option<String>,
    /// 4-Vinylguaiacol.
    #[arg(long, value_name = "WISH")]
    clove: Option<String>,
    /// Ethyl acetate.
    #[arg(long, value_name = "WISH")]
    esters: Option<String>,
    /// Isoamyl alcohol, for all fusel alcohols.
    #[arg(long, value_name = "WISH")]
    fusel: Option<String>,
    /// Gravity at the end: dryness.
    #[arg(long, value_name = "WISH")]
    gravity: Option<String>,
    /// The coldest that can be had; left out, where the yeast still works.
    #[arg(long, value_name = "TEMPERATURE")]
    coldest: Option<String>,
    /// The warmest that can be had.
    #[arg(long, value_name = "TEMPERATURE")]
    warmest: Option<String>,
    /// The most that it may change in an hour, as in "0.25 K".
    #[arg(long, value_name = "KELVIN")]
    steepest: Option<String>,
    /// The least yeast, as a factor on what is at hand.
    #[arg(long, value_name = "FACTOR")]
    yeast_least: Option<String>,
    /// The most yeast, as a factor on what is at hand.
    #[arg(long, value_name = "FACTOR")]
    yeast_most: Option<String>,
    /// What to hold against the days: butter, banana, clove, esters, fusel, gravity.
    #[arg(long, value_name = "FIGURE")]
    against: Option<String>,
    /// Plan the rest of a running batch: from the readings that are kept with a batch of
    /// the store, or with --read from this long after pitching on.
    #[arg(long, value_name = "TIME", num_args = 0..=1, default_missing_value = "")]
    from_now: Option<String>,
    /// Readings of a running batch: time, gravity and, if read, temperature; a semicolon
    /// between them.
    #[arg(long, value_name = "READINGS")]
    read: Option<String>,
    /// The courses found as comma-separated values.
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

impl Asked {
    fn typed(&self) -> TypedSteer {
        let running = self.from_now.as_deref() == Some("") && self.read.is_none();
        let running = running.then(|| "yes".to_owned());
        let given = [
            ("running", &running),
            ("by", &self.by),
            ("soon", &self.soon),
            ("butter", &self.butter),
            ("banana", &self.banana),
            ("clove", &self.clove),
            ("esters", &self.esters),
            ("fusel", &self.fusel),
            ("gravity", &self.gravity),
            ("coldest", &self.coldest),
            ("warmest", &self.warmest),
            ("steepest", &self.steepest),
            ("yeast_least", &self.yeast_least),
            ("yeast_most", &self.yeast_most),
            ("against", &self.against),
            ("now", &self.from_now),
            ("read", &self.read),
        ];
        let given = given.into_iter();
        given
            .filter_map(|(key, text)| Some((key, text.clone()?)))
            .collect()
    }
}

/// Steers and prints.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, or a wish that cannot be read.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (_, r) = asked.batch.reckoned(place)?;
    let json = asked.batch.json;
    let kept = if asked.from_now.is_some() {
        crate::watch::of_store(asked.batch.file(), place)?
    } else {
        Vec::new()
    };
    let found = r
        .steered(&asked.typed(), &kept)
        .map_err(|faults| Problem::Readings { faults, json })?;
    if json {
        return print_json(&SteeredCourse::of(&found, &r));
    }
    if asked.csv {
        return write_out(steer_csv(&found).as_bytes());
    }
    let title = format!("{}: the course", r.document.batch.name);
    write_out(sheet(&title, &found, asked.batch.units()).as_bytes())
}

fn sheet(title: &str, found: &SteeredBatch, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(title);
    page.heading("The wish");
    for line in &found.wish {
        page.marked("  ·     ", line.text(units));
    }
    for line in &found.assumed {
        page.marked("        ", &format!("taken: {}", line.text(units)));
    }
    if let Some(standing) = &found.standing {
        page.heading("Where it stands");
        page.row("now", &show(standing.now, units));
        page.row("gravity", &standing.gravity.both(units));
        page.row("will end at", &standing.end.both(units));
        let speed = format!("{:.2} times its class", standing.speed);
        page.row("speed", &speed);
    }
    best(&mut page, found);
    trade_off(&mut page, found);
    changes(&mut page, found);
    page.heading("Remarks");
    page.notes(&found.notes);
    page.paragraph(found.validity);
    for source in &found.sources {
        page.paragraph(&format!("{} ({}).", source.text, source.mark));
    }
    page.finish()
}

fn best(page: &mut Page, found: &SteeredBatch) {
    let units = page.units();
    let best = found.best();
    page.heading(if found.kept {
        "The best course"
    } else {
        "The nearest course: the wish cannot be kept whole"
    });
    course(page, best);
    figures(page, best, &found.planned);
    page.row("in other batches", &chance_words(&best.chances, units));
    for i in &best.steered.unmet {
        if let Some(limit) = found.limits.get(*i) {
            page.row("not kept", &limit_words(limit, units));
        }
    }
    for block in &found.blocks {
        page.row(
            "stands against it",
            &block_words(*block, &found.limits, units),
        );
    }
    if !found.kept && found.blocks.is_empty() {
        page.row("stands against it", "no one limit alone");
    }
}

fn course(page: &mut Page, choice: &Choice) {
    let units = page.units();
    page.row("temperatures", &course_words(&choice.steered, units));
    page.row("yeast", &pitch_words(&choice.steered, units));
}

fn figures(page: &mut Page, of: &Choice, planned: &Figures) {
    let units = page.units();
    for figure in [Figure::Days]
        .into_iter()
        .chain(FIGURES.map(|(_, figure)| figure))
    {
        let mut words = format!(
            "{} (as planned {})",
            figure_words(figure, of.steered.figures.of(figure), units),
            figure_words(figure, planned.of(figure), units)
        );
        if let Some(between) = between_words(figure, &of.chances, units) {
            words += &format!("; {between}");
        }
        page.row(figure_name(figure), &words);
    }
}

fn trade_off(page: &mut Page, found: &SteeredBatch) {
    let units = page.units();
    let (figure, _) = found.against;
    page.heading(&format!("Days against {}", figure_name(figure)));
    for choice in found.choices.iter().skip(1) {
        let safest = if choice.safest { ", the safest" } else { "" };
        let f = &choice.steered.figures;
        page.marked(
            "  ·     ",
            &format!(
                "{}{safest}: {} in {}",
                choice.label,
                figure_words(figure, f.of(figure), units),
                figure_words(Figure::Days, f.days, units)
            ),
        );
        page.marked("        ", &course_words(&choice.steered, units));
        page.marked("        ", &chance_words(&choice.chances, units));
    }
    if found.best().safest {
        page.paragraph("The best is the safest too.");
    }
}

fn changes(page: &mut Page, found: &SteeredBatch) {
    page.heading("What a little of each buys, from the best course on");
    let best = &found.best().steered.figures;
    for change in &found.changes {
        let figures = FIGURES
            .map(|(key, figure)| format!("{key} {}", difference(figure, &change.figures, best)));
        page.row(change.label, &figures.join(", "));
    }
}
