//! What is aimed at, as rows over the columns.

use quantity::Quantity;

use super::{Model, liquor_task, liquors};
use crate::design::error::DesignError;
use crate::design::figure::Figure;
use crate::design::result::named;
use crate::design::settings::settings;
use crate::design::task::{Aim, Aims};
use crate::treatment::Liquor;

/// An aim as a row.
#[derive(Debug, Clone)]
pub(in crate::design) struct ModelAim {
    pub liquor: Option<Liquor>,
    pub figure: Figure,
    /// Empty for the mash pH, whose row depends on where one stands.
    pub row: Vec<f64>,
    pub target: f64,
    pub tolerance: f64,
    pub weight: f64,
    pub firm: bool,
    /// Of sulfate to chloride.
    pub ratio: f64,
}

/// The aims of all liquors and of the mash.
pub(super) fn aims(model: &Model) -> Result<Vec<ModelAim>, DesignError> {
    let mut aims = vec![];
    for liquor in liquors(model.task) {
        of_liquor(model, liquor, &liquor_task(model, liquor).aims, &mut aims)?;
    }
    if let Some(aim) = model.task.grist.as_ref().and_then(|g| g.aim) {
        aims.push(checked(model, None, Figure::MashPh, Some(aim))?);
    }
    Ok(aims)
}

fn of_liquor(
    model: &Model,
    liquor: Liquor,
    given: &Aims,
    aims: &mut Vec<ModelAim>,
) -> Result<(), DesignError> {
    macro_rules! each {
        ($($field:ident: $figure:ident),+) => {
            $(if given.$field.is_some() {
                aims.push(checked(model, Some(liquor), Figure::$figure, given.$field)?);
            })+
        };
    }
    each!(
        calcium: Calcium, magnesium: Magnesium, sodium: Sodium, potassium: Potassium,
        chloride: Chloride, sulfate: Sulfate, alkalinity: Alkalinity,
        residual_alkalinity: ResidualAlkalinity
    );
    if let Some(ratio) = given.sulfate_to_chloride {
        let what = named(Figure::SulfateToChloride, Some(liquor));
        within(&what, ratio.mass_ratio, 0.0, 1000.0, "")?;
        let as_aim = Aim {
            target: quantity::Sulfate::default(),
            tolerance: ratio.tolerance,
            weight: ratio.weight,
            firm: ratio.firm,
        };
        let figure = Figure::SulfateToChloride;
        let mut aim = checked(model, Some(liquor), figure, Some(as_aim))?;
        let chloride = model.row(Figure::Chloride, liquor);
        aim.ratio = ratio.mass_ratio;
        aim.row = model.row(Figure::Sulfate, liquor);
        for (sulfate, chloride) in aim.row.iter_mut().zip(chloride) {
            *sulfate -= ratio.mass_ratio * chloride;
        }
        aims.push(aim);
    }
    Ok(())
}

fn checked<Q: Quantity>(
    model: &Model,
    liquor: Option<Liquor>,
    figure: Figure,
    aim: Option<Aim<Q>>,
) -> Result<ModelAim, DesignError> {
    let what = named(figure, liquor);
    let (target, tolerance, weight, firm) = aim.map_or((0.0, 1.0, 0.0, false), |aim| {
        let (target, tolerance) = (aim.target.canonical(), aim.tolerance.canonical());
        (target, tolerance, aim.weight, aim.firm)
    });
    let unit = Q::UNITS.first().map_or("", |unit| unit.symbol);
    within(&format!("aim for {what}"), target, Q::MIN, Q::MAX, unit)?;
    // A tighter tolerance than any analysis only makes the others vanish.
    let least = 0.01 * relax_unit(figure);
    within(
        &format!("tolerance of {what}"),
        tolerance,
        least,
        Q::MAX,
        unit,
    )?;
    within(&format!("weight of {what}"), weight, 0.0, 1000.0, "")?;
    Ok(ModelAim {
        row: liquor.map_or_else(Vec::new, |liquor| model.row(figure, liquor)),
        liquor,
        figure,
        target,
        tolerance,
        weight,
        firm,
        ratio: 0.0,
    })
}

pub(in crate::design) fn within(
    what: &str,
    given: f64,
    min: f64,
    max: f64,
    unit: &'static str,
) -> Result<(), DesignError> {
    if (min..=max).contains(&given) {
        return Ok(());
    }
    let what = what.to_owned();
    Err(DesignError::Setting {
        what,
        given,
        min,
        max,
        unit,
    })
}

/// One unit of relaxation of a figure.
pub(super) fn relax_unit(figure: Figure) -> f64 {
    let s = settings();
    match figure {
        Figure::Alkalinity | Figure::ResidualAlkalinity => s.relax_alkalinity_meq_per_l.value,
        Figure::MashPh => s.relax_ph.value,
        _ => s.relax_ion_mg_per_l.value,
    }
}
