//! Taking out alkalinity by boiling.

use quantity::{Alkalinity, Calcium, Caution, Note, PartialPressure, Temperature};

use super::error::SpeciationError;
use super::mineral::Mineral;
use super::practice::practice;
use super::solution::{Air, Solution, mol_per_kg};

/// Water that was boiled and poured off its chalk.
#[derive(Debug, Clone, PartialEq)]
pub struct Decarbonated {
    /// The end of the road, at 100 °C: as much chalk as would form in the end.
    pub end_point: Solution,
    /// What a boil is likely to leave, at 100 °C: chalk forms until the floor of
    /// practice is reached, or the end point where that comes first.
    pub likely: Solution,
    /// Alkalinity left in [`likely`](Self::likely).
    pub alkalinity: Alkalinity,
    /// Calcium left in it.
    pub calcium: Calcium,
    /// Chalk that forms \[mmol per kg of water\].
    pub chalk_mmol_per_kg: f64,
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt someone.
    pub cautions: Vec<Caution>,
}

/// Boils a water and lets chalk form: Ca²⁺ + 2 HCO₃⁻ → CaCO₃ + CO₂ + H₂O.
///
/// `over` is the carbon dioxide over the kettle; steam sweeps it out, so that it
/// lies at or below that of air. Water lost as steam is left out. The floor of
/// practice, about 1 mEq/L of alkalinity and 20 mg/L of calcium, is a rule of the
/// trade: chalk forms slowly, and magnesium and phosphate slow it further.
///
/// # Errors
/// As [`Solution::equilibrated`].
pub fn boil(water: &Solution, over: PartialPressure) -> Result<Decarbonated, SpeciationError> {
    let hot = Temperature::from_c(100.0);
    let end_point = water.equilibrated(hot, Air::Open(over), &[Mineral::Calcite.forming()])?;
    let formed = |water: &Solution| water.formed_mmol_per_kg(Mineral::Calcite);
    let most = formed(&end_point) - formed(water);
    let chalk_mmol_per_kg = most.min(above_floor(water)).max(0.0);
    let mut drained = water.clone();
    let mol = chalk_mmol_per_kg / 1000.0;
    drained.totals = water.totals.plus(Mineral::Calcite.makeup(), -mol);
    drained.formed[Mineral::Calcite as usize] += mol;
    let likely = drained.equilibrated(hot, Air::Open(over), &[])?;
    Ok(Decarbonated {
        alkalinity: likely.alkalinity(),
        calcium: likely.ions().calcium,
        notes: notes(water, &end_point),
        chalk_mmol_per_kg,
        end_point,
        likely,
        cautions: vec![Caution::HotLiquor],
    })
}

/// Chalk that can form before the floor of practice is reached \[mmol/kg\].
fn above_floor(water: &Solution) -> f64 {
    let floor = practice();
    let alkalinity = water.alkalinity().meq_per_l() - floor.boiled_alkalinity_meq_per_l;
    let calcium = water.ions().calcium.meq_per_l() - floor.boiled_calcium_meq_per_l;
    0.5 * alkalinity.min(calcium) * 1000.0 * mol_per_kg()
}

fn notes(water: &Solution, end_point: &Solution) -> Vec<Note> {
    let floor = practice();
    let mut notes = vec![Note::fine(format!(
        "A boil stops near {} mEq/L of alkalinity and {} mEq/L of calcium, short of the end \
         point. Pour the water off the chalk while it is warm; magnesium stays.",
        floor.boiled_alkalinity_meq_per_l, floor.boiled_calcium_meq_per_l,
    ))];
    let alkalinity = water.alkalinity().meq_per_l();
    let calcium = water.ions().calcium.meq_per_l();
    if end_point.alkalinity().meq_per_l() > floor.boiled_alkalinity_meq_per_l
        && calcium < alkalinity
    {
        notes.push(Note::look(format!(
            "Boiling cannot take out more alkalinity than there is calcium: {calcium:.1} mEq/L \
             beside {alkalinity:.1} mEq/L. Gypsum or calcium chloride before the boil helps, or \
             use acid."
        )));
    }
    notes
}
