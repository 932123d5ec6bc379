//! `gyle water minerals`: salts and acid for the aim of a batch.

use std::path::PathBuf;

use batch::liquor::minerals::{
    AtHand, Found, Have, LineSure, Question, SLAKED_LIME, apply, changes, found as search, sure,
};
use batch::wire::liquor::minerals::Minerals;
use batch::{Reckoning, library};
use clap::Args;
use quantity::{Units, show};
use water::Amount;
use water::design::{Line, Rung};

use crate::input;
use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What is asked.
#[derive(Debug, Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// What is at hand: salts, acids, \"acidulated malt\", \"distilled water\";
    /// left out, the usual ones and those of the batch.
    #[arg(long, value_name = "NAMES", value_delimiter = ',', conflicts_with = "stores")]
    have: Vec<String>,
    /// Take what is at hand, and how much, from a stores document.
    #[arg(long, value_name = "FILE")]
    stores: Option<PathBuf>,
    /// The step of the scale.
    #[arg(long, value_name = "MASS", default_value = "")]
    step: String,
    /// The step of the syringe.
    #[arg(long, value_name = "VOLUME", default_value = "")]
    syringe: String,
    /// The most kinds of addition.
    #[arg(long, value_name = "NUMBER", default_value = "")]
    most: String,
    /// Find the shares of the waters too.
    #[arg(long)]
    blend_free: bool,
    /// A water may be boiled first.
    #[arg(long)]
    boil: bool,
    /// A water may be limed first.
    #[arg(long)]
    lime: bool,
    /// Keep below what can be tasted.
    #[arg(long)]
    taste: bool,
    /// Bring the sparge water to this pH with acid.
    #[arg(long, value_name = "PH", default_value = "", hide_default_value = true)]
    sparge_ph: String,
    /// Give the sparge water the ions of the mash water.
    #[arg(long)]
    sparge_alike: bool,
    /// Write the document with these additions to a file that does not exist yet.
    #[arg(long, value_name = "FILE")]
    write: Option<PathBuf>,
}

impl Asked {
    fn question(&self, r: &Reckoning) -> Result<Question, Problem> {
        let mut question = match &self.stores {
            Some(file) => stores(file, self.batch.json)?,
            None => Question::usual(r),
        };
        if !self.have.is_empty() {
            question.have = self.have.iter().map(|h| Have::plenty(h.trim())).collect();
        }
        Ok(Question {
            scale: self.step.clone(),
            syringe: self.syringe.clone(),
            most: self.most.clone(),
            free_blend: self.blend_free,
            boiled: self.boil,
            limed: self.lime,
            taste: self.taste,
            sparge_ph: self.sparge_ph.clone(),
            sparge_alike: self.sparge_alike,
            ..question
        })
    }
}

fn stores(file: &std::path::Path, json: bool) -> Result<Question, Problem> {
    let source = input::read(file)?;
    match library::Stores::read(&source.text) {
        Ok((stores, _)) => Ok(Question::of_stores(&stores)),
        Err(faults) => Err(Problem::document(faults, source, json)),
    }
}

/// Searches and prints.
///
/// # Errors
/// [`Problem`]: a document or a question that cannot be used, or no answer.
pub fn find(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (source, reckoning) = asked.batch.reckoned(place)?;
    let at_hand =
        AtHand::of(&asked.question(&reckoning)?).map_err(|wrong| Problem::unusable(&wrong))?;
    let found = search(&reckoning, &at_hand).map_err(Problem::no_answer)?;
    if let Some(to) = &asked.write {
        let text = apply(&source.text, &changes(&reckoning, &found))
            .map_err(|error| Problem::App(error.into()))?;
        input::write_new(to, &text)?;
    }
    let sure = sure(&source.text, &reckoning, &found);
    if asked.batch.json {
        print_json(&Minerals::of(&found, sure.as_deref()))
    } else {
        let sheet = sheet(&reckoning, &found, sure.as_deref(), asked.batch.units());
        write_out(sheet.as_bytes())
    }
}

fn sheet(r: &Reckoning, found: &Found, sure: Option<&[LineSure]>, units: Units) -> String {
    let design = &found.design;
    let mut page = Page::new(units);
    page.title(&format!(
        "{}: salts and acid for the aim",
        r.document.batch.name
    ));
    for liquor in &design.liquors {
        page.heading(&format!("The {} water", liquor.liquor));
        for part in &liquor.blend {
            page.figure(&part.name, part.volume);
            if let Some(lime) = found.lime(part) {
                page.figure(SLAKED_LIME, lime);
            }
        }
        for weigh in &liquor.additions {
            page.row(&weigh.what, &amount(weigh.amount, units));
        }
        if liquor.additions.is_empty() {
            page.paragraph("Nothing to add.");
        }
    }
    if let Some(malt) = &design.acid_malt {
        page.heading("The grist");
        page.figure("acidulated malt", malt.mass);
    }
    page.heading("How near the aim");
    for (at, line) in design.lines.iter().enumerate() {
        let sure = sure.and_then(|sure| sure.get(at));
        page.row(&label(line), &reached(line, sure, units));
    }
    for binding in &design.binding {
        page.marked("  ·     ", &binding.to_string());
    }
    if let Some(cost) = found.cost() {
        page.row("cost", &format!("{:.2}", cost.amount()));
    }
    if design.ladder.len() > 1 {
        page.heading("What one more addition buys");
        for rung in &design.ladder {
            page.row(&step(rung), &which(rung, units));
        }
    }
    page.heading("Remarks");
    page.notes(found.notes());
    for a in &found.asked.assumptions {
        page.marked(
            "  ·     ",
            &format!("assumed {}: {} ({})", a.path, a.value, a.source),
        );
    }
    page.act_on(&found.cautions());
    page.finish()
}

fn amount(amount: Amount, units: Units) -> String {
    match amount {
        Amount::Mass(mass) => show(mass, units),
        Amount::Volume(volume) => show(volume, units),
    }
}

fn label(line: &Line) -> String {
    match line.liquor {
        Some(liquor) => format!("{}, {liquor}", line.figure),
        None => line.figure.to_string(),
    }
}

fn reached(line: &Line, sure: Option<&LineSure>, units: Units) -> String {
    let met = if line.met() { "met" } else { "NOT MET" };
    let mut text = format!(
        "{} for {} ± {}, {met}",
        line.reached.show(units),
        line.target.show(units),
        line.tolerance.show(units)
    );
    if let Some(held_by) = line.held_by.as_ref().filter(|_| !line.met()) {
        text.push_str(&format!("; held by {held_by}"));
    }
    if let Some((sure, between)) = sure.and_then(|sure| Some((sure, sure.show(units)?))) {
        let chance = 100.0 * sure.chance;
        text.push_str(&format!(
            "; {between} in nine of ten batches, met in {chance:.0} of 100"
        ));
    }
    text
}

fn step(rung: &Rung) -> String {
    format!("{}, distance {:.2}", rung.kinds, rung.misfit.weighed)
}

fn which(rung: &Rung, units: Units) -> String {
    let doses = rung.additions.iter();
    let doses = doses.map(|(name, dose)| format!("{name} {}", amount(*dose, units)));
    let malt = rung.acid_malt;
    let malt = malt.map(|mass| format!("acidulated malt {}", show(mass, units)));
    let all: Vec<String> = doses.chain(malt).collect();
    if all.is_empty() {
        "none".to_owned()
    } else {
        all.join(", ")
    }
}
