//! `gyle water breakpoint`: what chlorine becomes in water that holds ammonia.

use batch::liquor::chlorine::{Breakpoint, BreakpointQuestion};
use batch::wire::liquor::chlorine::Breakpoint as Form;
use quantity::Units;

use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What the curve holds for.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// pH.
    #[arg(long, default_value = "7.5")]
    ph: String,
    /// Temperature.
    #[arg(long, default_value = "20 °C")]
    temperature: String,
    /// Free ammonia, as ammonium.
    #[arg(long, default_value = "0.5 mg/L")]
    ammonia: String,
    /// Alkalinity.
    #[arg(long, default_value = "100 mg/L as CaCO3")]
    alkalinity: String,
    /// How long chlorine and ammonia are together.
    #[arg(long, default_value = "60 min", value_name = "TIME")]
    contact: String,
    /// The curve as JSON (schema: gyle schema water-breakpoint).
    #[arg(long, conflicts_with = "csv")]
    json: bool,
    /// The curve as CSV.
    #[arg(long)]
    csv: bool,
}

/// Reckons the curve.
///
/// # Errors
/// [`Problem`] for figures that cannot be used.
pub fn curve(asked: &Asked) -> Result<(), Problem> {
    let question = BreakpointQuestion {
        ph: asked.ph.clone(),
        temperature: asked.temperature.clone(),
        ammonia: asked.ammonia.clone(),
        alkalinity: asked.alkalinity.clone(),
        contact: asked.contact.clone(),
    };
    let found = question
        .answer()
        .map_err(|wrong| Problem::unusable(&wrong))?;
    if asked.json {
        return print_json(&Form::from(&found));
    }
    if asked.csv {
        return write_out(csv(&found).as_bytes());
    }
    write_out(sheet(&found).as_bytes())
}

/// Lines end as RFC 4180 has them.
fn csv(found: &Breakpoint) -> String {
    let head = "dose (mg/L as Cl2),free,monochloramine,dichloramine,total\r\n".to_owned();
    let rows = found.curve.points.iter().map(|(dose, moment)| {
        format!(
            "{:.4},{:.4},{:.4},{:.4},{:.4}\r\n",
            dose.mg_per_l(),
            moment.free.mg_per_l(),
            moment.monochloramine.mg_per_l(),
            moment.dichloramine.mg_per_l(),
            moment.total().mg_per_l()
        )
    });
    head + &rows.collect::<String>()
}

fn sheet(found: &Breakpoint) -> String {
    let mut page = Page::new(Units::Metric);
    let curve = &found.curve;
    page.title("Chlorine in water with ammonia");
    page.figure("ammonium", found.ammonia);
    page.figure("pH", found.around.ph);
    page.figure("temperature", found.around.temperature);
    page.figure("alkalinity", found.around.alkalinity);
    page.figure("contact", found.contact);
    let told = |page: &Page, at: Option<quantity::Chlorine>| {
        at.map_or("not within the curve".to_owned(), |dose| page.show(dose))
    };
    page.row("most chloramine at a dose of", &told(&page, curve.hump));
    page.row("breakpoint", &told(&page, curve.breakpoint));
    page.figure("breakpoint by stoichiometry", curve.theoretical);
    page.heading("What a dose leaves, mg/L as Cl2");
    page.table_line("  dose    free   NH2Cl   NHCl2   total");
    for (dose, moment) in curve.points.iter().step_by(3) {
        page.table_line(&format!(
            "{:>6.2}  {:>6.2}  {:>6.2}  {:>6.2}  {:>6.2}",
            dose.mg_per_l(),
            moment.free.mg_per_l(),
            moment.monochloramine.mg_per_l(),
            moment.dichloramine.mg_per_l(),
            moment.total().mg_per_l()
        ));
    }
    page.notes(&curve.notes);
    page.finish()
}
