//! `gyle wort boil`: the kettle from the first heat to the end of the chiller.

use batch::Reckoning;
use batch::boil::{DEPTHS, boil_way, dms_scale, formulas, glass_hex, hop_form, micrograms};
use batch::wire::boil::WortBoil;
use quantity::{Measured, Spread, Units, show_measured};
use wort::bitterness::losses;

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;

/// Lines that the course is shown in.
const LINES: usize = 16;

/// Follows the boil.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned.
pub fn follow(of: &OfBatch, place: Option<&str>) -> Result<(), Problem> {
    of.print(place, |r| WortBoil::from(r), sheet)
}

fn sheet(r: &Reckoning, units: Units) -> String {
    let report = &r.boil.report;
    let mut page = Page::new(units);
    page.title(&format!("{}: the boil", r.document.batch.name));
    page.figure("boils at", report.boiling_point);
    page.figure("steam", report.evaporated);
    page.figure("kettle full, 20 °C", report.pre_boil.volume);
    page.figure("after the boil, 20 °C", report.post_boil.volume);
    hops(&mut page, r);
    dry_hops(&mut page, r);
    colour(&mut page, r);
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

fn hops(page: &mut Page, r: &Reckoning) {
    let report = &r.boil.report;
    page.heading("Bitterness of the beer, and the alpha-acids on brew day");
    for (added, hop) in r.wort_plan.hops.iter().zip(&report.hops) {
        let form = added.form.map(|form| format!(", {}", hop_form(form)));
        let alpha = Measured {
            value: added.alpha,
            spread: added
                .alpha_sd
                .map_or(Spread::Unstated, |sd| Spread::Sd(sd.ratio())),
        };
        let value = format!(
            "{} from {} alpha{}",
            page.show(hop.bitterness),
            show_measured(&alpha, page.units()),
            form.unwrap_or_default()
        );
        page.row(&hop.name, &value);
    }
    page.measured("together", &report.bitterness);
    page.figure("by Tinseth, boil hops alone", report.bitterness_by_tinseth);
    page.heading("Of the iso-alpha-acids in the kettle is lost");
    for loss in losses() {
        page.figure(&loss.what, loss.share);
    }
}

fn dry_hops(page: &mut Page, r: &Reckoning) {
    let Some(dry) = &r.boil.report.dry_hops else {
        return;
    };
    page.heading("What the dry hops do to it");
    page.row("dry hops in a litre", &page.show(dry.dose));
    page.interval("humulinones that they bring", &dry.humulinones);
    page.interval("iso-alpha-acids that they strip", &dry.stripped);
    page.interval("a laboratory would read", &dry.measured);
    page.interval("as bitter as", &dry.tasted);
}

fn colour(page: &mut Page, r: &Reckoning) {
    let colour = &r.boil.report.colour;
    page.heading("Colour");
    page.figure("by the grist, an hour's boil in it", colour.by_grist);
    page.interval("formed by this boil", &colour.formed);
    page.figure("of which the formula holds", colour.in_fit);
    page.measured("together", &colour.wort);
    page.interval("the wort, before the yeast", &colour.before_fermentation);
    page.paragraph("The yeast takes 10 to 30 % of the wort's colour; the formula was fitted to beers, so that is in it.");
    page.heading("Other formulas say of the grist; a glass 1, 5 and 7.5 cm deep");
    for formula in formulas(r) {
        let value = formula.colour.map_or_else(
            || format!("not here: it {}", formula.holds),
            |colour| {
                let glass: Vec<_> = DEPTHS
                    .into_iter()
                    .filter_map(|depth| glass_hex(colour, depth))
                    .collect();
                format!("{}, {}", page.show(colour), glass.join(" "))
            },
        );
        page.row(formula.who, &value);
    }
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
