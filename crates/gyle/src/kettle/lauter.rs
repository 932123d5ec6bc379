//! `gyle wort lauter`: the course of the run-off.

use batch::Reckoning;
use batch::brew_day::Lautering;
use batch::wire::brew_day::WortLauter;
use quantity::{Units, Volume};
use wort::lauter::{GivenRunOffs, given_run_offs};

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// The batch whose tun is run off.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// A batch sparge with a refill of this size, at 20 °C; again for the next.
    #[arg(long, value_name = "VOLUME", conflicts_with = "json")]
    refill: Vec<Volume>,
}

/// Follows the run-off.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, or one without grain.
pub fn follow(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (_, r) = asked.batch.reckoned(place)?;
    let found = r.lautering().map_err(Problem::no_answer)?;
    if asked.batch.json {
        return print_json(&WortLauter::from(&found));
    }
    let units = asked.batch.units();
    let mut text = sheet(&r, &found, units);
    if !asked.refill.is_empty() {
        let given =
            given_run_offs(&r.wort_plan, &r.volumes, &asked.refill).map_err(Problem::no_answer)?;
        text.push_str(&refills(&given, units));
    }
    write_out(text.as_bytes())
}

/// Lines that a course is shown in.
const LINES: usize = 16;

fn sheet(r: &Reckoning, found: &Lautering, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{}: the run-off", r.document.batch.name));
    let course = &found.run_off.course;
    page.heading("Collected: gravity and pH of the runnings");
    let every = course.len().div_ceil(LINES).max(1);
    for (n, at) in course.iter().enumerate() {
        if n.is_multiple_of(every) || n + 1 == course.len() {
            let value = format!("{}, pH {}", page.show(at.gravity), page.show(at.ph));
            page.row(&page.show(at.collected), &value);
        }
    }
    match &found.run_off.stop {
        Some(stop) => page.figure("stop when collected", stop.at.collected),
        None => page.row("stop", "no limit is passed"),
    }
    page.heading("Where the extract goes");
    for step in &found.efficiency.steps {
        page.figure(step.name, step.share);
    }
    page.figure("brewhouse efficiency", found.efficiency.brewhouse);
    page.paragraph(
        "Brewhouse efficiency: extract in the fermenter, of what a laboratory gets from all that was used, finely ground.",
    );
    page.heading("What the kit would give");
    for m in &found.moves {
        let value = format!(
            "{:+.1} %, original gravity {}",
            m.gain_percent,
            page.show(m.original_gravity)
        );
        page.row(&m.what, &value);
    }
    page.heading("Remarks");
    page.notes(&found.run_off.notes);
    page.act_on(&found.run_off.cautions);
    page.finish()
}

fn refills(given: &GivenRunOffs, units: Units) -> String {
    let mut page = Page::new(units);
    page.heading("With the refills given");
    for (n, run_off) in given.run_offs.iter().enumerate() {
        let value = format!(
            "{} at {}",
            page.show(run_off.volume),
            page.show(run_off.gravity)
        );
        page.row(&format!("run-off {}", n + 1), &value);
    }
    page.figure("lauter efficiency", given.lauter_efficiency);
    page.figure("with equal refills", given.with_equal_refills);
    page.finish()
}
