//! `gyle water dissolved`: what is dissolved as what, and what heat, air, a boil, lime
//! and acid make of it.

use batch::Reckoning;
use batch::certainty::Between;
use batch::liquor::dissolved::{
    Acid, AcidAim, AcidSure, Dissolved, DoseSure, Lime, Question, State, Sure, dissolved,
    saturation_between, saturation_words, sure,
};
use batch::wire::liquor::dissolved::WaterDissolved;
use quantity::{MassConcentration, Units, show, show_interval};
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
    let (source, r) = asked.batch.reckoned(place)?;
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
    let sure = sure(&source.text, &found);
    if asked.batch.json {
        return print_json(&WaterDissolved::of(&found, sure.as_ref()));
    }
    let told = Told {
        r: &r,
        found: &found,
        sure: sure.as_ref(),
        species: asked.species,
    };
    write_out(told.sheet(asked.batch.units()).as_bytes())
}

/// All that is printed.
struct Told<'t> {
    r: &'t Reckoning,
    found: &'t Dissolved,
    sure: Option<&'t Sure>,
    species: bool,
}

impl Told<'_> {
    fn sheet(&self, units: Units) -> String {
        let found = self.found;
        let mut page = Page::new(units);
        page.title(&format!(
            "{}: what is dissolved in {}",
            self.r.document.batch.name, found.name
        ));
        as_it_is(&mut page, found);
        states(&mut page, &found.states(), self.sure);
        if let Some(acid) = &found.acid {
            acid_rows(&mut page, acid, self.sure.and_then(|sure| sure.acid));
        }
        if let Some(lime) = &found.lime {
            lime_rows(&mut page, lime, self.sure.and_then(|sure| sure.lime));
        }
        if self.species {
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

fn states(page: &mut Page, states: &[State], sure: Option<&Sure>) {
    page.heading("What becomes of it");
    page.table_line(&format!(
        "{:<19}{:>9}{:>7}{:>19}{:>11}{:>7}",
        "", "", "pH", "alkalinity", "calcium", "chalk"
    ));
    let units = page.units();
    for (at, State { name, is }) in states.iter().enumerate() {
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
        let Some(sure) = sure.and_then(|sure| sure.states.get(at)) else {
            continue;
        };
        let ph = sure.ph.map(|b| format!("pH {}", b.show(units)));
        let figures = [
            ph,
            sure.alkalinity.map(|b| b.show(units)),
            sure.calcium.map(|b| b.show(units)),
            sure.chalk
                .map(|b| format!("chalk {}", saturation_between(b))),
        ];
        let between: Vec<String> = figures.into_iter().flatten().collect();
        if !between.is_empty() {
            page.table_line(&format!("  {}", between.join(", ")));
        }
    }
    if sure.is_some() {
        page.paragraph("Below each: where nine of ten draws lie, as the water is known.");
    }
    page.paragraph("Chalk: above 0 it would scale, below 0 the water dissolves it.");
}

fn acid_rows(page: &mut Page, acid: &Acid, sure: Option<AcidSure>) {
    let units = page.units();
    let between = |of: Option<DoseSure>| {
        let needs = of.and_then(|of| of.dose).map(|b| {
            let [low, high] = [b.low, b.high].map(|dose| amount(acid.amount_of(dose), units));
            if low == high {
                String::new()
            } else {
                format!("; may need {low} to {high}")
            }
        });
        let stands = of.and_then(|of| of.ph);
        let stands = stands.map(|b| format!("; with it pH {}", b.show(units)));
        needs.into_iter().chain(stands).collect::<String>()
    };
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
            "{}: pH {:.2}{}",
            amount(acid.amount(), units),
            acid.closed.after.ph().ph(),
            between(sure.map(|sure| sure.closed)),
        ),
    );
    page.row(
        "once the gas has left",
        &format!(
            "{}: pH {:.2}{}",
            amount(acid.amount_open(), units),
            acid.open.after.ph().ph(),
            between(sure.map(|sure| sure.open)),
        ),
    );
    page.row("for each 10 L", &amount(acid.per_ten_litres(), units));
}

fn lime_rows(page: &mut Page, lime: &Lime, sure: Option<Between<MassConcentration>>) {
    let dose = &lime.dose;
    page.heading("Slaked lime, to take bicarbonate out");
    let between = sure.map_or(String::new(), |b| format!("; {}", b.show(page.units())));
    let by_formula = format!("{}{between}", page.show(dose.stoichiometric));
    page.row("by the formula", &by_formula);
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
