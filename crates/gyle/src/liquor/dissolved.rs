//! `gyle water dissolved`: what is dissolved as what, and what heat, air, a boil, lime
//! and acid make of it.

use batch::Reckoning;
use batch::liquor::dissolved::{
    Acid, AcidAim, Dissolved, Lime, Question, State, dissolved, saturation_words,
};
use batch::wire::liquor::dissolved::WaterDissolved;
use quantity::{Units, show, show_interval};
use water::acids::AcidAmount;
use water::speciation::Mineral;

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// Of which water, and what is done to it.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// Which water: tap, mash, sparge, or the name of a source.
    #[arg(long, default_value = "", hide_default_value = true, value_name = "WATER")]
    of: String,
    /// How hot it is made; left out, the temperature of the strike.
    #[arg(long, default_value = "", hide_default_value = true, value_name = "TEMPERATURE")]
    temperature: String,
    /// With which acid; left out, that of the batch.
    #[arg(long, default_value = "", hide_default_value = true, value_name = "ACID")]
    acid: String,
    /// To which pH or alkalinity the acid brings it; left out, what the aim says of
    /// the sparge, or pH 5.8.
    #[arg(long, default_value = "", hide_default_value = true, value_name = "AIM")]
    to: String,
    /// How much water is dosed; left out, all that the batch has of it.
    #[arg(long, default_value = "", hide_default_value = true, value_name = "VOLUME")]
    volume: String,
    /// Slaked lime in a litre; left out, the middle of what practice doses.
    #[arg(long, default_value = "", hide_default_value = true, value_name = "DOSE")]
    lime: String,
    /// List every species too.
    #[arg(long)]
    species: bool,
}

/// Says what is dissolved in a water of a batch.
///
/// # Errors
/// [`Problem`] for a document or a question that cannot be used, or a water that no
/// chemistry fits.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (_, r) = asked.batch.reckoned(place)?;
    let question = Question {
        of: asked.of.clone(),
        temperature: asked.temperature.clone(),
        acid: asked.acid.clone(),
        to: asked.to.clone(),
        volume: asked.volume.clone(),
        lime: asked.lime.clone(),
    };
    let found = dissolved(&r, &question).map_err(Problem::no_answer)?;
    if !found.wrong.is_empty() {
        return Err(Problem::unusable(&found.wrong));
    }
    if asked.batch.json {
        return print_json(&WaterDissolved::from(&found));
    }
    write_out(sheet(&r, &found, asked.species, asked.batch.units()).as_bytes())
}

fn sheet(r: &Reckoning, found: &Dissolved, species: bool, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!(
        "{}: what is dissolved in {}",
        r.document.batch.name, found.name
    ));
    as_it_is(&mut page, found);
    states(&mut page, &found.states());
    if let Some(acid) = &found.acid {
        acid_rows(&mut page, acid);
    }
    if let Some(lime) = &found.lime {
        lime_rows(&mut page, lime);
    }
    if species {
        every_species(&mut page, found);
    }
    if let Some(refused) = &found.refused {
        page.heading("No dose");
        page.marked("  ACT   ", &refused.to_string());
    }
    page.heading("Remarks");
    page.notes(&found.notes());
    page.act_on(&found.cautions());
    page.finish()
}

fn as_it_is(page: &mut Page, found: &Dissolved) {
    let is = &found.is;
    page.heading("As it is");
    page.figure("temperature", is.temperature);
    page.row("pH", &format!("{:.2}", is.ph.ph()));
    page.figure("alkalinity", is.alkalinity);
    page.figure("bicarbonate, free", is.bicarbonate_mass());
    page.figure("carbon dioxide", is.carbon_dioxide_mass());
    if let Some(index) = is.saturation_of(Mineral::Calcite) {
        page.row("chalk", &saturation_words(index));
    }
    for pair in is.pairs().iter().filter(|p| p.share.ratio() >= NAMED_FROM) {
        let share = page.show(pair.share);
        page.row(
            &format!("paired as {}", pair.name),
            &format!("{share} of the {}", pair.of),
        );
    }
}

/// The least share of a pair that is named \[–\] (judgement).
const NAMED_FROM: f64 = 0.02;

fn states(page: &mut Page, states: &[State]) {
    page.heading("What becomes of it");
    page.table_line(&format!(
        "{:<19}{:>9}{:>7}{:>19}{:>11}{:>7}",
        "", "", "pH", "alkalinity", "calcium", "chalk"
    ));
    for State { name, is } in states {
        let chalk = is
            .saturation_of(Mineral::Calcite)
            .map_or(String::new(), |index| format!("{index:+.2}"));
        page.table_line(&format!(
            "{name:<19}{:>9}{:>7.2}{:>19}{:>11}{chalk:>7}",
            page.show(is.temperature),
            is.ph.ph(),
            page.show(is.alkalinity),
            page.show(is.ions.calcium),
        ));
    }
    page.paragraph("Chalk: above 0 it would scale, below 0 the water dissolves it.");
}

fn acid_rows(page: &mut Page, acid: &Acid) {
    let units = page.units();
    let aim = match acid.aim {
        AcidAim::Ph(ph) => format!("pH {}", show(ph, units)),
        AcidAim::Alkalinity(alkalinity) => show(alkalinity, units),
    };
    page.heading(&format!("{} to {aim}", acid.product.name));
    page.row(
        "for",
        &format!(
            "{}, pH {:.2} before",
            page.show(acid.volume),
            acid.before.ph()
        ),
    );
    page.row(
        "just after mixing",
        &format!(
            "{}: pH {:.2}",
            amount(acid.amount(), units),
            acid.closed.after.ph().ph()
        ),
    );
    page.row(
        "once the gas has left",
        &format!(
            "{}: pH {:.2}",
            amount(acid.amount_open(), units),
            acid.open.after.ph().ph()
        ),
    );
    page.row("for each 10 L", &amount(acid.per_ten_litres(), units));
}

fn lime_rows(page: &mut Page, lime: &Lime) {
    let dose = &lime.dose;
    page.heading("Slaked lime, to take bicarbonate out");
    page.figure("by the formula", dose.stoichiometric);
    page.row(
        "practice doses",
        &show_interval(dose.recommended_low, dose.recommended_high, page.units()),
    );
    page.row(
        "taken here",
        &format!(
            "{}, that is {} for {}",
            page.show(lime.taken),
            page.show(lime.in_all),
            page.show(lime.volume)
        ),
    );
    page.row(
        "least alkalinity, in the end",
        &format!(
            "{} with {}",
            page.show(dose.least.alkalinity),
            page.show(dose.least.dose)
        ),
    );
}

fn every_species(page: &mut Page, found: &Dissolved) {
    page.heading("Every species");
    for one in &found.is.species {
        page.row(
            one.name,
            &format!(
                "{}, activity coefficient {:.3}",
                page.show(one.molality),
                one.activity_coefficient
            ),
        );
    }
}

fn amount(amount: AcidAmount, units: Units) -> String {
    match amount {
        AcidAmount::Mass(mass) => show(mass, units),
        AcidAmount::Volume(volume) => show(volume, units),
    }
}
