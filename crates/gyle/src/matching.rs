//! `gyle match` and `gyle move`: recipes that meet an aim, and the same beer elsewhere.

use std::path::{Path, PathBuf};

use batch::library::Stores;
use batch::matching::words::{block_words, missed_words, trade_words};
use batch::matching::{
    Answer, AtHand, Destination, MatchError, Matched, MovedBatch, TypedMatch, admired, matched,
    moved,
};
use batch::tasting::{Judged, Tasting};
use batch::wire::matching::{MatchedAim, MovedMatch};
use quantity::Units;

use crate::cli::UnitsChoice;
use crate::input::{self, Source};
use crate::problem::Problem;
use crate::progress::Counted;
use crate::sheet::Page;
use crate::{print_json, source, write_out};

/// What may move and what not, and how it is told.
#[derive(Debug, clap::Args)]
struct How {
    /// An aim, as KEY=WISH: "28 ± 4 IBU", "at most 30 IBU", "at least 5 %", or "free".
    #[arg(long = "aim", value_name = "KEY=WISH")]
    aims: Vec<String>,
    /// What may move: malts, hops, mash, gas, water (these unless said otherwise), hop
    /// times, mash times, yeast, course.
    #[arg(long = "move", value_name = "GROUPS")]
    moves: Option<String>,
    /// What stays: groups, keys such as `grist[2]`, or names; commas between.
    #[arg(long, value_name = "WHAT")]
    lock: Option<String>,
    /// A limit, as in "roast barley at most 100 g" or "Perle 10 g to 40 g".
    #[arg(long = "limit", value_name = "LIMIT")]
    limits: Vec<String>,
    /// What a kilogram costs, a packet of yeast or a litre of acid, as in "pilsner malt 1.80".
    #[arg(long = "price", value_name = "PRICE")]
    prices: Vec<String>,
    /// The most malts, sugars and hops.
    #[arg(long, value_name = "NUMBER")]
    most: Option<String>,
    /// The step of the scale for malt.
    #[arg(long, value_name = "MASS")]
    malt_scale: Option<String>,
    /// The step of the scale for hops.
    #[arg(long, value_name = "MASS")]
    hop_scale: Option<String>,
    /// Malts, hops and salts of a stores document may go in, with their own figures.
    #[arg(long, value_name = "FILE")]
    stores: Option<PathBuf>,
    /// Nothing that is not in the stores.
    #[arg(long, requires = "stores")]
    only_stores: bool,
    /// Draws of what is not known, for the chances; 0 for none.
    #[arg(long, value_name = "NUMBER")]
    draws: Option<String>,
    /// No other answers beside the nearest.
    #[arg(long)]
    only_best: bool,
    /// The answer that is written and shown first: best, least-change, few, cheap, other,
    /// likely.
    #[arg(long, value_name = "ANSWER", default_value = "best")]
    take: String,
    /// Write the document of that answer to a file that does not exist yet.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The answer as JSON (gyle schema --help names its form).
    #[arg(long)]
    json: bool,
}

/// A batch and an aim.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// Alcohol on the label of the beer that is admired.
    #[arg(long, value_name = "ALCOHOL")]
    label_alcohol: Option<String>,
    /// Colour on that label.
    #[arg(long, value_name = "COLOUR")]
    label_colour: Option<String>,
    /// Gravity of a sample of it without its gas.
    #[arg(long, value_name = "GRAVITY")]
    sample_gravity: Option<String>,
    /// What a refractometer shows of that sample.
    #[arg(long, value_name = "READING")]
    sample_refractometer: Option<String>,
    /// How it tasted, as in "clove clear; banana faint; fusel not noticed": levels are not
    /// noticed, faint, clear, strong, or two of them with "to" between.
    #[arg(long, value_name = "WORDS")]
    tasted: Option<String>,
    /// A tasting document that is over: what was scored in the beer beside the batch says
    /// how it tasted.
    #[arg(long, value_name = "FILE", conflicts_with = "tasted")]
    tasting: Option<PathBuf>,
    #[command(flatten)]
    how: How,
}

/// A batch and where it goes.
#[derive(Debug, clap::Args)]
pub struct MoveAsked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// Wort into the fermenter there.
    #[arg(long, value_name = "VOLUME")]
    volume: Option<String>,
    /// Height of the place above the sea.
    #[arg(long, value_name = "ALTITUDE")]
    altitude: Option<String>,
    /// The document of the brewhouse there.
    #[arg(long, value_name = "FILE")]
    brewhouse: Option<PathBuf>,
    /// An analysis of the water there.
    #[arg(long, value_name = "FILE")]
    water: Option<PathBuf>,
    /// What that water is called.
    #[arg(long, value_name = "NAME", default_value = "the water there")]
    water_name: String,
    #[command(flatten)]
    how: How,
}

impl Asked {
    /// How the admired beer tasted: as typed, or as a tasting has it.
    fn tasted(&self) -> Result<Option<String>, Problem> {
        let Some(file) = &self.tasting else {
            return Ok(self.tasted.clone());
        };
        let source = input::read(file)?;
        let (tasting, _) = match Tasting::read(&source.text) {
            Ok(read) => read,
            Err(faults) => return Err(Problem::document(faults, source, self.how.json)),
        };
        let judged = Judged::of(&tasting).map_err(Problem::no_answer)?;
        let words = admired(&tasting, &judged);
        if words.is_empty() {
            return Err(Problem::no_answer(format!(
                "{} says nothing that can be aimed at: it is not over, or neither clove, banana, esters nor fusel was scored",
                tasting.name
            )));
        }
        Ok(Some(words))
    }
}

impl How {
    /// The question as typed; an aim without its key is told.
    fn typed(&self, more: &[(&str, &Option<String>)]) -> Result<TypedMatch, Problem> {
        let mut pairs: Vec<(String, String)> = Vec::new();
        for aim in &self.aims {
            let (key, wish) = aim.split_once('=').ok_or_else(|| {
                let told = format!("{aim:?} is no aim; write it such as colour='12 ± 1 EBC'");
                Problem::no_answer(told)
            })?;
            pairs.push((key.trim().to_owned(), wish.trim().to_owned()));
        }
        let said = [
            ("move", &self.moves),
            ("lock", &self.lock),
            ("most", &self.most),
            ("malt_scale", &self.malt_scale),
            ("hop_scale", &self.hop_scale),
            ("draws", &self.draws),
        ];
        let said = said.iter().chain(more);
        pairs.extend(said.filter_map(|(key, text)| Some(((*key).to_owned(), (*text).clone()?))));
        pairs.push(("limits".to_owned(), self.limits.join(";")));
        pairs.push(("prices".to_owned(), self.prices.join(";")));
        let yes = |key: &str, is: bool| is.then(|| (key.to_owned(), "yes".to_owned()));
        pairs.extend(yes("only_stores", self.only_stores));
        pairs.extend(yes("only_best", self.only_best));
        Ok(pairs.into_iter().collect())
    }

    fn stores(&self) -> Result<Option<(Source, Stores)>, Problem> {
        let Some(file) = &self.stores else {
            return Ok(None);
        };
        let source = input::read(file)?;
        match Stores::read(&source.text) {
            Ok((stores, _)) => Ok(Some((source, stores))),
            Err(faults) => Err(Problem::document(faults, source, self.json)),
        }
    }

    fn problem(&self, error: MatchError, source: Source) -> Problem {
        match error {
            MatchError::Document(faults) => Problem::document(faults, source, self.json),
            MatchError::Question(faults) => Problem::Readings {
                faults,
                json: self.json,
            },
            other => Problem::no_answer(other),
        }
    }

    fn write(&self, found: &Matched) -> Result<(), Problem> {
        match &self.write {
            Some(to) => input::write_new(to, &found.answer(&self.take).text),
            None => Ok(()),
        }
    }
}

/// Searches and prints.
///
/// # Errors
/// [`Problem`]: a document or a question that cannot be used, or no answer.
pub fn find(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let how = &asked.how;
    let document = source(&asked.file, place)?;
    let tasted = asked.tasted()?;
    let typed = how.typed(&[
        ("label_alcohol", &asked.label_alcohol),
        ("label_colour", &asked.label_colour),
        ("sample_gravity", &asked.sample_gravity),
        ("sample_refractometer", &asked.sample_refractometer),
        ("tasted", &tasted),
    ])?;
    let stores = how.stores()?;
    let at_hand = at_hand(stores.as_ref());
    let bar = Counted::new("reckoned");
    let found = matched(&document.text, &typed, at_hand.as_ref(), &|done, all| {
        bar.at(done, all)
    });
    bar.clear();
    let found = found.map_err(|error| how.problem(error, document))?;
    how.write(&found)?;
    if how.json {
        return print_json(&MatchedAim::from(&found));
    }
    let mut page = Page::new(how.units.into());
    page.title(if found.met() {
        "Recipes that meet the aim"
    } else {
        "The nearest recipe: the aim cannot be met"
    });
    told(&mut page, &found, &how.take);
    write_out(page.finish().as_bytes())
}

/// Moves a batch and prints.
///
/// # Errors
/// [`Problem`]: a document or a destination that cannot be used, or no answer.
pub fn relocate(asked: &MoveAsked, place: Option<&str>) -> Result<(), Problem> {
    let how = &asked.how;
    let document = source(&asked.file, place)?;
    let text = |file: &Option<PathBuf>| -> Result<Option<String>, Problem> {
        let read = |file: &PathBuf| input::read(Path::new(file)).map(|s| s.text);
        file.as_ref().map(read).transpose()
    };
    let to = Destination {
        volume: asked.volume.clone().unwrap_or_default(),
        altitude: asked.altitude.clone().unwrap_or_default(),
        brewhouse: text(&asked.brewhouse)?,
        water: text(&asked.water)?.map(|analysis| (asked.water_name.clone(), analysis)),
    };
    let typed = how.typed(&[])?;
    let stores = how.stores()?;
    let at_hand = at_hand(stores.as_ref());
    let bar = Counted::new("reckoned");
    let found = moved(
        &document.text,
        &to,
        &typed,
        at_hand.as_ref(),
        &|done, all| bar.at(done, all),
    );
    bar.clear();
    let found = found.map_err(|error| how.problem(error, document))?;
    how.write(&found.matched)?;
    if how.json {
        return print_json(&MovedMatch::from(&found));
    }
    write_out(moved_sheet(&found, &how.take, how.units.into()).as_bytes())
}

fn at_hand(stores: Option<&(Source, Stores)>) -> Option<AtHand<'_>> {
    stores.map(|(source, stores)| AtHand {
        stores,
        text: &source.text,
    })
}

fn moved_sheet(found: &MovedBatch, take: &str, units: Units) -> String {
    let mut page = Page::new(units);
    page.title("The same beer elsewhere");
    page.heading("Multiplied alone");
    page.paragraph(&format!(
        "Amounts times {} in the new place would give:",
        quantity::rounded(found.factor)
    ));
    let goals = found.matched.goals.iter();
    let both = goals.zip(found.reached.iter().zip(&found.matched.before));
    for (goal, (reached, multiplied)) in both {
        let sign = if goal.met(*multiplied) { "" } else { ", off" };
        let [reached, multiplied] = [reached, multiplied].map(|x| goal.figure.print(*x, units));
        page.row(
            goal.figure.name,
            &format!("{multiplied}{sign} (here {reached})"),
        );
    }
    told(&mut page, &found.matched, take);
    page.finish()
}

fn told(page: &mut Page, found: &Matched, take: &str) {
    let units = page.units();
    let first = found.answer(take);
    answer(page, found, first);
    if !found.blocks.is_empty() {
        page.heading("What stands against it");
        for missed in missed_words(found, first, units) {
            page.marked("  ·  ", &missed);
        }
        for block in &found.blocks {
            page.marked("  ·  ", &block_words(found, block, units));
        }
    }
    let others: Vec<&Answer> = found
        .answers
        .iter()
        .filter(|a| a.key != first.key)
        .collect();
    if !others.is_empty() {
        page.heading("Other answers");
        for other in others {
            let words = format!("{} ({}): {}", other.label, other.key, trade_words(other));
            page.marked("  ·  ", &words);
            let moved = other.moved(&found.levers);
            let moved: Vec<String> = moved
                .map(|(lever, value)| format!("{} {}", lever.name, lever.print(value, units)))
                .collect();
            page.marked("     ", &changes_words(&moved, &other.additions));
        }
    }
    page.heading("What was taken");
    for assumed in &found.assumptions {
        let words = format!(
            "{}: {} ({}; {})",
            assumed.path, assumed.value, assumed.source, assumed.mark
        );
        page.marked("  ·  ", &words);
    }
    page.paragraph(&format!(
        "{} reckonings from tap to glass. The aim is in tolerances; chances are of draws of all that is not known.",
        found.reckoned
    ));
    page.cautions(&first.cautions);
}

/// What an answer changes, on one line.
fn changes_words(moved: &[String], additions: &[String]) -> String {
    let all: Vec<&str> = moved.iter().chain(additions).map(String::as_str).collect();
    match all.as_slice() {
        [] => "it stays as it is".to_owned(),
        all => all.join("; "),
    }
}

fn answer(page: &mut Page, found: &Matched, first: &Answer) {
    let units = page.units();
    page.heading(&format!("The recipe: {}", first.label));
    page.paragraph(&format!("{}.", trade_words(first)));
    let mut any = false;
    for (lever, value) in first.moved(&found.levers) {
        any = true;
        let [before, after] = [lever.now, value].map(|x| lever.print(x, units));
        page.row(&lever.name, &format!("{after} (was {before})"));
    }
    for addition in &first.additions {
        any = true;
        page.row("water", addition);
    }
    if !any {
        page.paragraph("It stays as it is.");
    }
    page.heading("Held against the aim");
    for ((goal, reached), before) in found.goals.iter().zip(&first.figures).zip(&found.before) {
        let value = goal.figure.print(reached.value, units);
        let was = goal.figure.print(*before, units);
        let mut words = format!("{value}, aim {} (was {was})", goal.words(units));
        if let (Some((low, high)), Some(chance)) = (reached.between, reached.chance) {
            let between = goal.figure.print_between(low, high, units);
            words += &format!("; {between}, {:.0} in 100", 100.0 * chance);
        }
        if reached.beyond > 0.0 {
            words += &format!("; off by {:.1} tolerances", reached.beyond);
        }
        page.row(goal.figure.name, &words);
    }
    page.notes(&first.notes);
}
