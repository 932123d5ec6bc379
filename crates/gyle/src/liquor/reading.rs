//! `gyle water mash`: what to do with a pH read in the mash.

use std::path::PathBuf;

use batch::Fault;
use quantity::{Duration, Measured, Ph, PhShift, Temperature, Units};
use serde_json::json;
use water::WaterError;
use water::mash_reading::{Action, Advice, AtHand, Compensation, MashAim, Reading, advise};

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, reckoned, source, write_out};

/// Where a mash lands where the document names no aim: the middle of what is
/// preferred.
const PREFERRED: Ph = Ph::from_ph(5.4);
/// How near is near enough, where the document does not say.
const WITHIN: f64 = 0.05;

/// What the meter said.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// What the meter reads, with its uncertainty if you know it.
    #[arg(long, value_name = "PH")]
    ph: Measured<Ph>,
    /// How warm the sample is when it is read.
    #[arg(long, default_value = "20 °C", value_name = "TEMPERATURE")]
    at: Temperature,
    /// How long after mashing in the sample was taken.
    #[arg(long, default_value = "15 min", value_name = "TIME")]
    after: Duration,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The advice as JSON.
    #[arg(long)]
    json: bool,
}

/// Says what a reading means and what to add.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, or a reading that cannot be.
pub fn advice(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let source = source(&asked.file, place)?;
    let r = reckoned(&source, asked.json)?;
    let reading = Reading {
        ph: asked.ph,
        sample: asked.at,
        compensation: Compensation::Automatic,
        after_mash_in: asked.after,
        added: vec![],
    };
    let wanted = r.document.aim.as_ref().and_then(|aim| aim.mash_ph);
    let aim = MashAim {
        ph: wanted.map_or(PREFERRED, |ph| ph.value),
        within: PhShift::from_ph(wanted.map_or(0.0, |ph| ph.sd()).max(WITHIN)),
    };
    let advice = r
        .mash_to_read()
        .and_then(|given| advise(&given.mash, &[reading], aim, &AtHand::usual()?))
        .map_err(|error: WaterError| {
            let fault = Fault {
                span: 0..0,
                path: "mash".to_owned(),
                message: error.to_string(),
                help: String::new(),
            };
            Problem::document(vec![fault], source.clone(), asked.json)
        })?;
    if asked.json {
        return print_json(&as_json(&advice, aim));
    }
    write_out(sheet(&advice, aim, asked.units.into()).as_bytes())
}

fn sheet(advice: &Advice, aim: MashAim, units: Units) -> String {
    let mut page = Page::new(units);
    page.title("The pH read in the mash");
    page.measured("predicted, cooled sample", &advice.predicted);
    for cooled in &advice.cooled {
        page.measured("this reading, cooled", &cooled.ph);
    }
    page.measured("where the mash stands", &advice.ph);
    page.row(
        "aim",
        &format!("{:.2} ± {:.2}", aim.ph.ph(), aim.within.ph()),
    );
    page.row("do", &words(&advice.action));
    if matches!(advice.action, Action::Lower | Action::Raise) {
        page.heading("One of these");
        for dose in &advice.ways {
            page.paragraph(&dose.text);
            page.notes(&dose.notes);
        }
    }
    page.notes(&advice.notes);
    if !advice.cautions.is_empty() {
        page.heading("Take care");
    }
    for caution in &advice.cautions {
        page.paragraph(&caution.text().text);
    }
    page.finish()
}

fn words(action: &Action) -> String {
    match action {
        Action::Nothing => "nothing: it stands within the aim".to_owned(),
        Action::Wait { wait } => format!("wait {wait}, then read again"),
        Action::Read => "read once more before anything is added".to_owned(),
        Action::Lower => "lower it".to_owned(),
        Action::Raise => "raise it".to_owned(),
        Action::OutOfReach { why } => why.clone(),
    }
}

fn as_json(advice: &Advice, aim: MashAim) -> serde_json::Value {
    let ph = |ph: &Measured<Ph>| json!({"value": ph.value.ph(), "sd": ph.sd()});
    let ways: Vec<_> = advice
        .ways
        .iter()
        .map(|dose| {
            json!({
                "what": dose.text,
                "reaches_the_aim": dose.reaches,
                "ph_after_first": ph(&dose.after_first),
                "ph_after_full": ph(&dose.after_full),
            })
        })
        .collect();
    json!({
        "schema": "gylewright/water-mash/1",
        "predicted": ph(&advice.predicted),
        "stands_at": ph(&advice.ph),
        "aim": {"value": aim.ph.ph(), "within": aim.within.ph()},
        "do": words(&advice.action),
        "ways": ways,
        "notes": advice.notes.iter().map(|n| n.text.clone()).collect::<Vec<_>>(),
    })
}
