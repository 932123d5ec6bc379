//! The benches: inputs of a stage beside its results.

pub mod boil;
pub mod common;
mod ferment;
mod glass;
pub mod mash;
mod package;
mod water;

use batch::{Reckoning, Stage};
use maud::{Markup, html};
use quantity::Units;
use store::DocumentId;

use super::form::Form;

/// The fields of a stage.
pub fn inputs(stage: Stage, form: &Form<'_>) -> Markup {
    match stage {
        Stage::Water => water::inputs(form),
        Stage::Mash => mash::inputs(form),
        Stage::Boil => boil::inputs(form),
        Stage::Ferment => ferment::inputs(form),
        Stage::Package => package::inputs(form),
        Stage::Glass => glass::inputs(form),
    }
}

/// The results of a stage: figures, remarks, charts, and where they come from.
pub fn results(stage: Stage, r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    let own = match stage {
        Stage::Water => water::results(r, id, units),
        Stage::Mash => mash::results(r, id, units),
        Stage::Boil => boil::results(r, id, units),
        Stage::Ferment => ferment::results(r, id, units),
        Stage::Package => package::results(r, id, units),
        Stage::Glass => glass::results(r, id, units),
    };
    html! {
        div.results {
            (own)
            (common::remarks(stage, r))
            (common::origins(stage, r, units))
        }
    }
}

/// What is weighed and done at a stage, for the sheet.
pub fn steps(stage: Stage, r: &Reckoning, units: Units) -> Markup {
    match stage {
        Stage::Water => water::steps(r, units),
        Stage::Mash => mash::steps(r, units),
        Stage::Boil => boil::steps(r, units),
        Stage::Ferment => ferment::steps(r, units),
        Stage::Package | Stage::Glass => html! {},
    }
}
