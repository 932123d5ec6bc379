//! From a course that was found back to changes of the document.

use ferment::{FermentPlan, Yeast};
use quantity::{Temperature, Units, Volume, show};

use super::asked::main_end;
use super::{Choice, SteeredBatch};
use crate::document::YeastForm;
use crate::liquor::minerals::Change;
use crate::plan::ferment_plan;
use crate::stream::Reckoning;

/// The plan with more or less of the yeast at hand.
pub(super) fn with_yeast(plan: &FermentPlan, factor: f64) -> FermentPlan {
    let mut plan = plan.clone();
    match &mut plan.yeast {
        Yeast::Dry { packets, .. } | Yeast::Liquid { packets, .. } => *packets *= factor,
        Yeast::Slurry { volume, .. } | Yeast::Suspension { volume, .. } => {
            *volume = Volume::from_l(volume.l() * factor);
        }
        Yeast::Counted { cells } => {
            *cells = quantity::Cells::from_billions(cells.billions() * factor);
        }
    }
    plan
}

/// What makes a document that of a choice: its course in place of the planned one, and the
/// yeast. What the plan keeps cold at its end stays, as long after the end as before.
#[must_use]
pub fn course_changes(r: &Reckoning, found: &SteeredBatch, choice: &Choice) -> Vec<Change> {
    const LIST: &str = "fermentation.course";
    let steered = &choice.steered;
    let planned = &r.document.fermentation.course;
    let mut points: Vec<(f64, Temperature)> = Vec::new();
    if let Some(from) = found.from {
        let past = planned.iter().filter(|p| p.at.value < from);
        points.extend(past.map(|p| (p.at.value.h(), p.temperature.value)));
    }
    points.extend(steered.course.iter().map(|p| (p.at.h(), p.temperature)));
    if let Ok(plan) = ferment_plan(&r.document, &r.boil.wort) {
        let main_h = main_end(&plan).h();
        let later = steered.end.h() - main_h;
        let cold = planned.iter().filter(|p| p.at.value.h() > main_h + 1e-9);
        points.extend(cold.map(|p| (p.at.value.h() + later, p.temperature.value)));
    }
    let mut out: Vec<Change> = planned
        .iter()
        .map(|_| Change::Remove {
            path: format!("{LIST}[1]"),
        })
        .collect();
    out.extend(points.into_iter().map(|(h, temperature)| Change::Add {
        list: LIST.to_owned(),
        values: vec![
            ("at".to_owned(), format!("{h:.1} h")),
            (
                "temperature".to_owned(),
                format!("{:.1} °C", temperature.c()),
            ),
        ],
    }));
    if (steered.pitch - 1.0).abs() >= 0.01 {
        out.extend(yeast(r, steered.pitch));
    }
    out
}

fn yeast(r: &Reckoning, factor: f64) -> Option<Change> {
    let section = &r.document.yeast;
    let (path, written) = match section.form {
        YeastForm::Dry | YeastForm::Liquid => {
            ("yeast.packets", format!("{:.2}", section.packets * factor))
        }
        YeastForm::Slurry => {
            let volume = section.slurry?.value;
            let more = Volume::from_l(volume.l() * factor);
            ("yeast.slurry", show(more, Units::Metric))
        }
    };
    Some(Change::Set {
        path: path.to_owned(),
        written,
    })
}
