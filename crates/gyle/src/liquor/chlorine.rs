//! `gyle water chlorine`: the ways to take chlorine out, side by side.

use std::path::PathBuf;

use batch::wire::liquor::chlorine::WaysOut;
use batch::{Fault, Reckoning};
use quantity::Duration;
use water::disinfectant::{Compared, Comparison};

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, reckoned, source, write_out};

/// For which water, and in which time.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// How long there is until the water is needed.
    #[arg(long, default_value = "12 h", value_name = "TIME")]
    time: Duration,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The comparison as JSON (schema: gyle schema water-chlorine).
    #[arg(long)]
    json: bool,
}

/// Compares the ways for the water of a batch.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned.
pub fn compare(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let source = source(&asked.file, place)?;
    let reckoning = reckoned(&source, asked.json)?;
    let compared = reckoning.ways_out(asked.time).map_err(|error| {
        let fault = Fault {
            span: 0..0,
            path: "water".to_owned(),
            message: error.to_string(),
            help: String::new(),
        };
        Problem::document(vec![fault], source.clone(), asked.json)
    })?;
    if asked.json {
        return print_json(&WaysOut::from(&compared));
    }
    let page = Page::new(asked.units.into());
    write_out(sheet(page, &reckoning, &compared).as_bytes())
}

fn sheet(mut page: Page, r: &Reckoning, compared: &Comparison) -> String {
    page.title(&format!(
        "Chlorine in the water of {}",
        r.document.batch.name
    ));
    page.measured("total at the tap", &r.water.tap.water.total_chlorine);
    match &compared.recommendation {
        Some(taken) => {
            let get = if taken.to_get {
                ", to be got first"
            } else {
                ""
            };
            page.row("take", &format!("{}{get}", taken.way));
            page.paragraph(&taken.reasons.join(" "));
        }
        None => page.row("take", "none of these: no way is both safe and sure"),
    }
    page.notes(&compared.notes);
    page.heading("The ways, the better first");
    for way in &compared.ways {
        line(&mut page, way);
    }
    if !compared.cautions.is_empty() {
        page.heading("Take care");
    }
    for caution in &compared.cautions {
        page.paragraph(&caution.text().text);
    }
    page.finish()
}

fn line(page: &mut Page, way: &Compared) {
    let out = &way.out;
    let late = if way.in_time { "" } else { ", too long" };
    let figures = format!(
        "leaves {}, at most {}; takes {}{late}; costs {}; sure: {}",
        page.show(out.residual.total()),
        page.show(out.residual.at_most),
        page.show(out.time),
        page.show(out.cost),
        out.reliability.word()
    );
    page.row(&out.way.to_string(), &figures);
    if let Some(why) = &way.why_not {
        page.row("", why);
    }
}
