//! `gyle water dissolved`: what is dissolved as what, and what heat and lime do.

use std::path::PathBuf;

use batch::{Fault, Reckoning};
use quantity::{Temperature, Units};
use serde_json::json;
use water::speciation::{
    Mineral, OUTDOOR_AIR, Solution, Speciated, SpeciationError, TYPICAL_TAP, boil, lime_dose,
};

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, reckoned, source, write_out};

/// Of which water, and how warm.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store.
    file: PathBuf,
    /// How warm the tap is.
    #[arg(long, default_value = "12 °C", value_name = "TEMPERATURE")]
    temperature: Temperature,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The figures as JSON: each state with pH, saturation, mmol/kg of each species.
    #[arg(long)]
    json: bool,
}

/// A state of the water, in words.
struct State {
    name: &'static str,
    is: Speciated,
}

/// Says what is dissolved in the tap of a batch.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, or a water that no chemistry
/// fits.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let source = source(&asked.file, place)?;
    let r = reckoned(&source, asked.json)?;
    let refused = |error: SpeciationError| {
        let fault = Fault {
            span: 0..0,
            path: "water".to_owned(),
            message: error.to_string(),
            help: String::new(),
        };
        Problem::document(vec![fault], source.clone(), asked.json)
    };
    let cold = Solution::of(&r.water.tap.water, asked.temperature, TYPICAL_TAP).map_err(refused)?;
    let states = states(&r, &cold).map_err(refused)?;
    if asked.json {
        return print_json(&as_json(&states));
    }
    let text = sheet(&r, &cold, &states, asked.units.into()).map_err(refused)?;
    write_out(text.as_bytes())
}

fn states(r: &Reckoning, cold: &Solution) -> Result<Vec<State>, SpeciationError> {
    let mut states = vec![State {
        name: "as it is drawn",
        is: cold.speciated(),
    }];
    if let Some(heat) = &r.mash.heat {
        states.push(State {
            name: "heated to the strike",
            is: cold.heated(heat.strike_temperature)?.speciated(),
        });
    }
    states.push(State {
        name: "after standing open",
        is: cold.open_to(OUTDOOR_AIR)?.speciated(),
    });
    states.push(State {
        name: "after a boil, decanted",
        is: boil(cold, OUTDOOR_AIR)?.likely.speciated(),
    });
    Ok(states)
}

fn sheet(
    r: &Reckoning,
    cold: &Solution,
    states: &[State],
    units: Units,
) -> Result<String, SpeciationError> {
    let mut page = Page::new(units);
    page.title(&format!(
        "What is dissolved in the water of {}",
        r.document.batch.name
    ));
    for state in states {
        page.heading(state.name);
        page.figure("temperature", state.is.temperature);
        page.row("pH", &format!("{:.2}", state.is.ph.ph()));
        page.figure("alkalinity", state.is.alkalinity);
        page.figure("calcium", state.is.ions.calcium);
        if let Some(si) = state.is.saturation_of(Mineral::Calcite) {
            page.row("saturation with chalk", &saturation(si));
        }
    }
    let lime = lime_dose(cold)?;
    page.heading("Lime, to take bicarbonate out");
    page.figure("by the formula", lime.stoichiometric);
    page.row(
        "dose, slaked lime",
        &quantity::show_interval(lime.recommended_low, lime.recommended_high, units),
    );
    page.notes(&states[0].is.notes);
    page.notes(&lime.notes);
    for caution in &lime.cautions {
        page.paragraph(&caution.text().text);
    }
    Ok(page.finish())
}

/// The saturation index in words; within 0.1 nothing happens that anyone sees.
fn saturation(si: f64) -> String {
    let words = match si {
        si if si > 0.1 => "more than it holds: it can scale",
        si if si < -0.1 => "less than it holds: it dissolves chalk",
        _ => "in balance",
    };
    format!("{si:+.2}, {words}")
}

fn as_json(states: &[State]) -> serde_json::Value {
    let of = |state: &State| {
        let species: serde_json::Map<_, _> = state
            .is
            .species
            .iter()
            .map(|s| (s.name.to_owned(), json!(s.molality.mmol_per_kg())))
            .collect();
        json!({
            "state": state.name,
            "temperature_c": state.is.temperature.c(),
            "ph": state.is.ph.ph(),
            "alkalinity_meq_per_l": state.is.alkalinity.meq_per_l(),
            "calcium_mg_per_l": state.is.ions.calcium.mg_per_l(),
            "log_carbon_dioxide_pressure": state.is.log_carbon_dioxide_pressure,
            "saturation_with_calcite": state.is.saturation_of(Mineral::Calcite),
            "species_mmol_per_kg": species,
        })
    };
    json!({
        "schema": "gylewright/water-dissolved/1",
        "states": states.iter().map(of).collect::<Vec<_>>(),
    })
}
