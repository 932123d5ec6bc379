//! The chart of what the search moves in the mash water.

use batch::Reckoning;
use batch::liquor::minerals::Found;
use chart::{Axis, Heading, Shift, ShiftChart};
use water::Liquor;
use water::analysis::residual_alkalinity;
use water::design::{Figure, Line};

/// Ion by ion: the blend of the batch before, the mash water after, the aim.
pub fn moves(r: &Reckoning, found: &Found) -> ShiftChart {
    let lines = found.design.lines.iter();
    let mash = lines.filter(|line| line.liquor == Some(Liquor::Mash));
    ShiftChart {
        heading: Heading::new(
            "moves",
            "The mash water, before and after",
            "The ring is the blend of the batch untreated, the dot the mash water with what is found, the band the aim.",
        ),
        rows: mash.filter_map(|line| shift(r, line)).collect(),
    }
}

fn shift(r: &Reckoning, line: &Line) -> Option<Shift> {
    let water = &r.water.tap.water;
    let ions = &water.ions;
    let (before, unit, decimals) = match line.figure {
        Figure::Calcium => (ions.calcium.mg_per_l(), "mg/L", 0),
        Figure::Magnesium => (ions.magnesium.mg_per_l(), "mg/L", 0),
        Figure::Sodium => (ions.sodium.mg_per_l(), "mg/L", 0),
        Figure::Potassium => (ions.potassium.mg_per_l(), "mg/L", 0),
        Figure::Chloride => (ions.chloride.mg_per_l(), "mg/L", 0),
        Figure::Sulfate => (ions.sulfate.mg_per_l(), "mg/L", 0),
        Figure::Nitrate => (ions.nitrate.mg_per_l(), "mg/L", 0),
        Figure::Alkalinity => (water.alkalinity.meq_per_l(), "mEq/L", 2),
        Figure::ResidualAlkalinity => {
            let residual = residual_alkalinity(ions, water.alkalinity);
            (residual.meq_per_l(), "mEq/L", 2)
        }
        Figure::SulfateToChloride | Figure::MashPh => return None,
    };
    let axis = Axis::new(line.figure.name(), unit).decimals(decimals);
    // Residual alkalinity can be below nought.
    let axis = match line.figure {
        Figure::Alkalinity | Figure::ResidualAlkalinity => axis,
        _ => axis.starting_at(0.0),
    };
    let (aim, reach) = (line.target.canonical(), line.tolerance.canonical());
    let shift = Shift::new(axis, before, line.reached.canonical());
    Some(shift.aiming(aim - reach, aim + reach, "aim"))
}
