//! `gyle package`: how a batch is packed and how safe that is.

use batch::Reckoning;
use batch::wire::bottling::Bottling;
use package::{Safety, at_risk};
use quantity::{Units, show_interval};

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;

/// Says how a batch is packed and whether that is safe.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned.
pub fn say(of: &OfBatch, place: Option<&str>) -> Result<(), Problem> {
    of.print(place, |r| Bottling::from(r), sheet)
}

fn sheet(r: &Reckoning, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{}: the package", r.document.batch.name));
    verdict(&mut page, r);
    doses(&mut page, r);
    if !r.cleaning.steps.is_empty() {
        cleaning(&mut page, r);
    }
    let cleaning_notes = r.cleaning.all_notes();
    if !r.packaging.notes.is_empty() || !cleaning_notes.is_empty() {
        page.heading("Remarks");
        page.notes(&r.packaging.notes);
        page.notes(&cleaning_notes);
    }
    if r.packaging.worst.safety != Safety::Safe {
        page.heading("If bottles are already full");
        for step in at_risk() {
            page.marked("  -  ", &step.text);
        }
    }
    page.cautions(&r.packing_cautions());
    page.finish()
}

fn verdict(page: &mut Page, r: &Reckoning) {
    let worst = &r.packaging.worst;
    let word = worst.safety.word().to_uppercase();
    page.row(&word, worst.reason.text(page.units()));
    page.row("what to do", &worst.remedy);
    page.heading("The pressure");
    let (low, high) = (worst.interval.lower(), worst.interval.upper());
    page.row("in a store of", &page.show(worst.at));
    page.row("likely", &page.show(worst.interval.value));
    page.row("from and to", &show_interval(low, high, page.units()));
    page.row("should never pass", &page.show(worst.service));
    let left = &r.packaging.left;
    page.row(
        "still to ferment",
        &format!("{}; known by: {}", left.words(), left.basis.word()),
    );
}

fn doses(page: &mut Page, r: &Reckoning) {
    let p = &r.packaging;
    page.heading("What to do");
    page.figure("beer to package", p.beer.volume);
    page.measured("CO2 left in it", &p.residual);
    if let Some(priming) = &p.priming {
        page.figure(&priming.sugar.name, priming.mass);
        if let Some(each) = priming.per_bottle {
            page.figure("in each bottle", each);
        }
    }
    if let Some(bottles) = p.bottles {
        page.row("bottles", &bottles.full.to_string());
    }
    if let Some(keg) = &p.keg {
        page.measured("gauge pressure of the keg", &keg.pressure);
    }
}

fn cleaning(page: &mut Page, r: &Reckoning) {
    page.heading("Cleaning");
    for step in &r.cleaning.steps {
        let strength = step
            .strength
            .map_or_else(String::new, |s| format!(" of {}", s.show(page.units())));
        let left = step.residue.at_most.map_or_else(String::new, |c| {
            format!(": at most {} can be left in the beer", page.show(c))
        });
        page.row(
            step.vessel.word(),
            &format!("{}{strength}{left}", step.agent.name),
        );
    }
}
