//! `gyle wort boil`: the kettle from the first heat to the end of the chiller.

use std::path::PathBuf;

use batch::Reckoning;
use batch::boil::{boil_way, dms_scale, micrograms};
use batch::wire::boil::WortBoil;
use quantity::Units;
use wort::bitterness::losses;

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, reckoned, source, write_out};

/// Lines that the course is shown in.
const LINES: usize = 16;

/// The batch that is boiled.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The boil as JSON (schema: gyle schema wort-boil).
    #[arg(long)]
    json: bool,
}

/// Follows the boil.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned.
pub fn follow(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let source = source(&asked.file, place)?;
    let r = reckoned(&source, asked.json)?;
    if asked.json {
        return print_json(&WortBoil::from(&r));
    }
    write_out(sheet(&r, asked.units.into()).as_bytes())
}

fn sheet(r: &Reckoning, units: Units) -> String {
    let report = &r.boil.report;
    let mut page = Page::new(units);
    page.title(&format!("{}: the boil", r.document.batch.name));
    page.figure("boils at", report.boiling_point);
    page.figure("steam", report.evaporated);
    page.figure("kettle full, 20 °C", report.pre_boil.volume);
    page.figure("after the boil, 20 °C", report.post_boil.volume);
    page.heading("Bitterness of the beer");
    for hop in &report.hops {
        page.figure(&hop.name, hop.bitterness);
    }
    page.measured("together", &report.bitterness);
    page.figure("by Tinseth, boil hops alone", report.bitterness_by_tinseth);
    page.heading("Of the iso-alpha-acids in the kettle is lost");
    for loss in losses() {
        page.figure(&loss.what, loss.share);
    }
    heat(&mut page, r);
    page.heading("Dimethyl sulfide in the wort");
    for left in &report.dms_left {
        page.row(boil_way(left.way), &micrograms(left.dms));
    }
    page.paragraph(&dms_scale());
    course(&mut page, r);
    page.notes(&report.notes);
    page.finish()
}

fn heat(page: &mut Page, r: &Reckoning) {
    let heat = &r.boil.report.heat;
    page.heading("Heat");
    page.row(
        &format!("from {} to the boil", page.show(heat.from)),
        &page.show(heat.to_boil),
    );
    page.figure("in the steam", heat.steam);
    page.figure("power that keeps up the boil", heat.power_at_boil);
    if let (Some(time), Some(drawn)) = (heat.heat_up, heat.drawn) {
        page.figure("time to the boil", time);
        page.figure("drawn in all", drawn);
    }
}

fn course(page: &mut Page, r: &Reckoning) {
    let timeline = &r.boil.report.timeline;
    page.heading("From the start of the boil: temperature, iso-alpha-acids, dimethyl sulfide");
    let every = timeline.len().div_ceil(LINES).max(1);
    for (n, at) in timeline.iter().enumerate() {
        if n.is_multiple_of(every) || n + 1 == timeline.len() {
            let iso: f64 = at.iso_alpha.iter().map(|c| c.mg_per_l()).sum();
            let value = format!(
                "{}, {iso:.1} mg/L, {}",
                page.show(at.temperature),
                micrograms(at.dms)
            );
            page.row(&format!("{:.0} min", at.time.min()), &value);
        }
    }
}
