//! `gyle water choose`: the waters at hand and their blends, the best for a batch first.

use std::collections::BTreeMap;
use std::path::Path;

use batch::Reckoning;
use batch::library::Analysis;
use batch::liquor::choice::{Chosen, Kept, KeptAnalysis, Question, Wanted, chosen};
use batch::liquor::minerals::Have;
use batch::wire::liquor::choice::WaterChoice;
use quantity::{Units, show};
use water::Amount;
use water::choice::{Dated, Ranked};

use crate::input;
use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{kept, print_json, write_out};

/// Which waters, and what can be added.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// The waters of the library too.
    #[arg(long)]
    library: bool,
    /// An analysis of a water from a file; of one water there may be several, each
    /// from its day or month on.
    #[arg(long, value_name = "NAME[@DAY]=FILE")]
    analysis: Vec<String>,
    /// Only these waters, by their names; left out, those of the batch and all that
    /// are named above.
    #[arg(long, value_name = "NAME")]
    water: Vec<String>,
    /// What a litre of a water costs; what has a price is carried home.
    #[arg(long, value_name = "NAME=PRICE")]
    price: Vec<String>,
    /// What can be added: salts, acids, \"acidulated malt\", \"distilled water\"; left
    /// out, the usual ones and those of the batch.
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    have: Vec<String>,
    /// The step of the scale.
    #[arg(long, value_name = "MASS", default_value = "", hide_default_value = true)]
    step: String,
    /// The step of the syringe.
    #[arg(long, value_name = "VOLUME", default_value = "", hide_default_value = true)]
    syringe: String,
    /// The most kinds of addition.
    #[arg(long, value_name = "NUMBER", default_value = "", hide_default_value = true)]
    most: String,
    /// Keep below what can be tasted.
    #[arg(long)]
    taste: bool,
}

impl Asked {
    fn kept(&self, place: Option<&str>) -> Result<Vec<Kept>, Problem> {
        let mut waters = if self.library {
            kept::waters(place)?
        } else {
            vec![]
        };
        let mut read: BTreeMap<String, Vec<KeptAnalysis>> = BTreeMap::new();
        for written in &self.analysis {
            let (name, analysis) = analysis(written, self.batch.json)?;
            read.entry(name).or_default().push(analysis);
        }
        waters.extend(read.into_iter().map(|(name, mut analyses)| {
            analyses.sort_by(|a, b| a.from.cmp(&b.from));
            Kept {
                key: name.clone(),
                name,
                analyses,
            }
        }));
        Ok(waters)
    }

    fn question(&self, r: &Reckoning, kept: &[Kept]) -> Result<Question, Problem> {
        let mut question = Question::usual(r, kept);
        if !self.water.is_empty() {
            let wanted = |name: &String| Wanted {
                water: name.clone(),
                ..Wanted::default()
            };
            question.waters = self.water.iter().map(wanted).collect();
        }
        for written in &self.price {
            let (name, price) = pair(written, "spring=0.40")?;
            let named = batch::liquor::choice::waters(r, kept);
            let key = named.iter().find(|water| water.goes_by(name));
            let key = key.map_or(name, |water| &water.key);
            let mut wanted = question.waters.iter_mut();
            match wanted.find(|w| w.water == key || w.water.eq_ignore_ascii_case(name)) {
                Some(wanted) => price.clone_into(&mut wanted.price),
                None => return Err(no_answer(format!("no water {name:?} is asked about"))),
            }
        }
        let minerals = &mut question.minerals;
        if !self.have.is_empty() {
            minerals.have = self.have.iter().map(|h| Have::plenty(h.trim())).collect();
        }
        minerals.scale.clone_from(&self.step);
        minerals.syringe.clone_from(&self.syringe);
        minerals.most.clone_from(&self.most);
        minerals.taste = self.taste;
        Ok(question)
    }
}

fn pair<'w>(written: &'w str, example: &str) -> Result<(&'w str, &'w str), Problem> {
    let parts = written.split_once('=').map(|(a, b)| (a.trim(), b.trim()));
    parts
        .filter(|(name, value)| !name.is_empty() && !value.is_empty())
        .ok_or_else(|| {
            no_answer(format!(
                "{written:?} cannot be read; write it as {example:?}"
            ))
        })
}

fn analysis(written: &str, json: bool) -> Result<(String, KeptAnalysis), Problem> {
    let (name, file) = pair(written, "mains@2026-02-10=winter.toml")?;
    let (name, from) = name.split_once('@').unwrap_or((name, ""));
    let source = input::read(Path::new(file))?;
    let (analysis, _) = Analysis::read(name, &source.text)
        .map_err(|faults| Problem::document(faults, source.clone(), json))?;
    let kept = KeptAnalysis {
        from: from.trim().to_owned(),
        analysis,
        text: source.text,
    };
    Ok((name.trim().to_owned(), kept))
}

fn no_answer(message: String) -> Problem {
    Problem::NoAnswer { message }
}

/// Chooses and prints.
///
/// # Errors
/// [`Problem`] for a document, an analysis or a question that cannot be used, or a
/// batch that has nothing to choose for.
pub fn choose(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (_, r) = asked.batch.reckoned(place)?;
    let kept = asked.kept(place)?;
    let question = asked.question(&r, &kept)?;
    let found = chosen(&r, &kept, &question).map_err(|error| no_answer(error.to_string()))?;
    if asked.batch.json {
        return print_json(&WaterChoice::from(&found));
    }
    write_out(sheet(&r, &found, asked.batch.units()).as_bytes())
}

fn sheet(r: &Reckoning, found: &Chosen, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{}: which water", r.document.batch.name));
    for (place, ranked) in found.choice.ranked.iter().enumerate() {
        page.heading(&format!("{}. {}", place + 1, ranked.name));
        for reason in found.reasons(place, units) {
            page.marked("  ·     ", &reason);
        }
        if place == 0 {
            seasons(&mut page, ranked, units);
        }
    }
    if !found.choice.refused.is_empty() {
        page.heading("Not to be used");
        for refused in &found.choice.refused {
            page.marked("  ACT   ", &format!("{}: {}", refused.name, refused.error));
        }
    }
    page.heading("Remarks");
    if let Some(text) = found.needs_acid(units) {
        page.marked("  ·     ", &text);
    }
    page.notes(&found.notes());
    for a in &found.asked.assumptions {
        page.marked(
            "  ·     ",
            &format!("assumed {}: {} ({})", a.path, a.value, a.source),
        );
    }
    page.act_on(&found.cautions());
    page.finish()
}

/// What to pour, season by season.
fn seasons(page: &mut Page, ranked: &Ranked, units: Units) {
    for dated in &ranked.seasons {
        let from = match dated.from.as_str() {
            "" => "all year".to_owned(),
            from => format!("from {from}"),
        };
        page.row(&from, &met(dated));
        if let Some(mash) = &dated.design.mash_ph {
            page.measured("mash pH", &mash.ph);
        }
        for liquor in &dated.design.liquors {
            for part in &liquor.blend {
                let label = format!("{}, {}", liquor.liquor, part.name);
                page.row(&label, &show(part.volume, units));
            }
            for weigh in &liquor.additions {
                let label = format!("{}, {}", liquor.liquor, weigh.what);
                page.row(&label, &amount(weigh.amount, units));
            }
        }
        if let Some(malt) = dated.design.acid_malt {
            page.figure("grist, acidulated malt", malt.mass);
        }
    }
}

fn met(dated: &Dated) -> String {
    match dated.unmet() {
        0 => "every aim met".to_owned(),
        1 => "one aim missed".to_owned(),
        n => format!("{n} aims missed"),
    }
}

fn amount(amount: Amount, units: Units) -> String {
    match amount {
        Amount::Mass(mass) => show(mass, units),
        Amount::Volume(volume) => show(volume, units),
    }
}
