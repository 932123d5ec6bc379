//! What doses of chlorine make of water that holds ammonia.

use quantity::{Ammonium, Chlorine, Duration, Note, molar_mass as m};

use super::{ChloramineError, Conditions, Moment, Start, course};

/// Chlorine doses and what each leaves after the same time.
#[derive(Debug, Clone, PartialEq)]
pub struct BreakpointCurve {
    /// The doses and what they leave.
    pub points: Vec<(Chlorine, Moment)>,
    /// The dose of the curve with the highest total chlorine before the breakpoint.
    pub hump: Option<Chlorine>,
    /// The dose of the curve with the least total chlorine beyond the hump: from
    /// here on more chlorine stays free.
    pub breakpoint: Option<Chlorine>,
    /// The dose of 1.5 mol Cl₂ per mol of ammonia, which turns it into nitrogen.
    pub theoretical: Chlorine,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// The breakpoint curve of water that holds ammonia and nothing else that takes up
/// chlorine: what each dose leaves after a contact time.
///
/// # Errors
/// As [`course`].
pub fn breakpoint_curve(
    free_ammonia: Ammonium,
    doses: &[Chlorine],
    around: &Conditions,
    contact: Duration,
) -> Result<BreakpointCurve, ChloramineError> {
    let mut notes = vec![];
    let mut points = Vec::with_capacity(doses.len());
    for dose in doses {
        let one = course(&Start::of_dose(*dose, free_ammonia), around, &[contact])?;
        points.extend(one.moments.first().map(|moment| (*dose, *moment)));
        notes = one.notes;
    }
    let (hump, breakpoint) = turns(&points);
    let theoretical = 1.5 * free_ammonia.mmol_per_l() * m::CL2;
    notes.push(Note::fine(
        "Real water also holds organic matter that takes up chlorine: works need 10 to 15 mg of \
         chlorine per mg of ammonia nitrogen where theory says 7.6.",
    ));
    Ok(BreakpointCurve {
        points,
        hump,
        breakpoint,
        theoretical: Chlorine::from_mg_per_l(theoretical),
        notes,
    })
}

/// The doses of the top of the hump and of the foot behind it; the foot only where
/// the curve rises again.
fn turns(points: &[(Chlorine, Moment)]) -> (Option<Chlorine>, Option<Chlorine>) {
    let total = |i: usize| points.get(i).map(|(_, moment)| moment.total());
    let top = (1..points.len()).find(|i| total(i + 1) < total(*i) && i + 1 < points.len());
    let foot = top.and_then(|top| {
        (top + 1..points.len().saturating_sub(1)).find(|i| total(i + 1) > total(*i))
    });
    let dose = |i: usize| points.get(i).map(|(dose, _)| *dose);
    (top.and_then(dose), foot.and_then(dose))
}
