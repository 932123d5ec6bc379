//! `gyle wort mash`: the mash from the strike water to the last rest.

use batch::Reckoning;
use batch::mash::{decoction, tun_loss, way_back};
use batch::wire::mash::WortMash;
use quantity::{Fraction, Units};
use wort::{Change, Conversion, Missed};

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;

/// Lines that the course is shown in.
const LINES: usize = 12;

/// Follows the mash.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned.
pub fn follow(of: &OfBatch, place: Option<&str>) -> Result<(), Problem> {
    of.print(place, |r| WortMash::from(r), sheet)
}

fn sheet(r: &Reckoning, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{}: the mash", r.document.batch.name));
    let Some(found) = &r.mash.conversion else {
        page.paragraph("No grain is mashed.");
        return page.finish();
    };
    crate::sheet::mash_steps(&mut page, r);
    decoctions(&mut page, r);
    if let Some(missed) = r.missed_mash() {
        ways(&mut page, &missed);
    }
    page.heading("At the end");
    page.measured("limit of attenuation, apparent", &found.limit);
    if let Some(rule) = &r.mash.limit_by_rests {
        page.measured("by the published limits alone", rule);
    }
    page.figure("starch dissolved", found.dissolved);
    let converted = found.converted.map(|at| page.show(at));
    page.row(
        "iodine shows no starch after",
        converted.as_deref().unwrap_or("not in this mash"),
    );
    page.measured("amino nitrogen in the kettle", &r.mash.amino_nitrogen);
    page.measured("ferulic acid in the kettle", &r.mash.ferulic_acid);
    page.heading("What the tun loses");
    for (name, value) in tun_loss(r, units) {
        page.row(&name, &value);
    }
    by_kind(&mut page, found);
    course(&mut page, found);
    page.notes(&r.mash.notes);
    page.finish()
}

fn decoctions(page: &mut Page, r: &Reckoning) {
    let units = page.units();
    for step in r.mash.heat.iter().flat_map(|heat| &heat.steps) {
        if let Change::Decoction(pull) = &step.change {
            page.row(
                &format!("decoction to {}", page.show(step.to.temperature)),
                &decoction(pull, units),
            );
        }
    }
}

fn ways(page: &mut Page, missed: &Missed) {
    page.heading("A temperature that was missed");
    page.row(
        &format!("read after {}", page.show(missed.after)),
        &format!(
            "{} where {} was planned",
            page.show(missed.read),
            page.show(missed.planned)
        ),
    );
    page.figure("limit as it stands", missed.limit_now);
    page.figure("limit as planned", missed.limit_planned);
    for way in &missed.ways {
        let said = way_back(way.what, page.units());
        let line = format!("{said}: the limit comes to {}", page.show(way.limit));
        page.marked("  look  ", &line);
    }
}

fn by_kind(page: &mut Page, found: &Conversion) {
    page.heading("Of what ferments");
    let sugars = &found.sugars;
    for (name, share) in [
        ("glucose", sugars.glucose),
        ("fructose", sugars.fructose),
        ("sucrose", sugars.sucrose),
        ("maltose", sugars.maltose),
        ("maltotriose", sugars.maltotriose),
    ] {
        page.figure(name, share);
    }
}

fn course(page: &mut Page, found: &Conversion) {
    page.heading("After mashing in: temperature, limit, starch dissolved, β-amylase left");
    let every = found.moments.len().div_ceil(LINES).max(1);
    for (n, at) in found.moments.iter().enumerate() {
        if n.is_multiple_of(every) || n + 1 == found.moments.len() {
            let share = |x: Fraction| format!("{:.0} %", 100.0 * x.ratio());
            let value = format!(
                "{}, {}, {}, {}",
                page.show(at.temperature),
                share(at.limit),
                share(at.dissolved),
                share(at.beta)
            );
            page.row(&format!("{:.0} min", at.after.min()), &value);
        }
    }
}
