//! The curves: pH over acid, closed and open; alkalinity and pH over lime.

use batch::liquor::dissolved::{Acid, Lime, SPARGE_PH};
use chart::{
    Aim, Axis, CourseChart, Heading, Line, Panel, Stroke, Titration, TitrationCurve, Tone,
};
use quantity::{Units, show};
use water::acids::AcidAmount;
use water::speciation::TitrationPoint;

/// pH over acid.
pub fn acid(acid: &Acid) -> CourseChart {
    let curve = |label: &str, points: &[TitrationPoint]| TitrationCurve {
        label: label.to_owned(),
        points: points
            .iter()
            .map(|point| (plain(acid.amount_of(point.dose)), point.ph.ph()))
            .collect(),
    };
    let (name, unit, decimals) = match acid.amount() {
        AcidAmount::Volume(_) => (&acid.product.name, "mL", 1),
        AcidAmount::Mass(_) => (&acid.product.name, "g", 1),
    };
    let (low, high) = SPARGE_PH;
    Titration {
        heading: Heading::new(
            "acid",
            format!("pH over {}, for {}", acid.product.name, show(acid.volume, Units::Metric)),
            "Just after mixing, and once carbon dioxide has left to air: the truth drifts from the one to the other.",
        ),
        dose: Axis::new(name.as_str(), unit).decimals(decimals),
        curves: vec![
            curve("gas stays", &acid.curve_closed),
            curve("gas has left", &acid.curve_open),
        ],
        aim: Some(Aim {
            low: low.ph(),
            high: high.ph(),
            label: "sparge".to_owned(),
        }),
        now: Some((0.0, acid.before.ph())),
        meets: Some((plain(acid.amount()), acid.closed.after.ph().ph())),
    }
    .chart()
}

/// Millilitres or grams.
fn plain(amount: AcidAmount) -> f64 {
    match amount {
        AcidAmount::Volume(volume) => 1000.0 * volume.l(),
        AcidAmount::Mass(mass) => mass.g(),
    }
}

/// Alkalinity and pH over lime.
pub fn lime(lime: &Lime, units: Units) -> CourseChart {
    let points = |f: &dyn Fn(&water::speciation::LimePoint) -> f64| {
        let curve = lime.curve.iter();
        curve.map(|p| (p.dose.mg_per_l(), f(p))).collect()
    };
    let alkalinity = points(&|p| p.alkalinity.meq_per_l());
    let ph = points(&|p| p.ph.ph());
    CourseChart::new(
        Heading::new(
            "lime",
            "Alkalinity and pH over slaked lime",
            format!(
                "At the end of the road, poured off; practice stops at {} of the formula's dose, for past the lowest point the alkalinity comes back.",
                quantity::show_interval(lime.dose.recommended_low, lime.dose.recommended_high, units)
            ),
        ),
        Axis::new("slaked lime", "mg/L").decimals(0).starting_at(0.0),
    )
    .panel(
        Panel::new(Axis::new("alkalinity", "mEq/L").decimals(2).starting_at(0.0)).line(Line::new(
            "alkalinity",
            alkalinity,
            Tone::Water,
            Stroke::Solid,
        )),
    )
    .panel(Panel::new(Axis::new("pH", "").decimals(2)).line(Line::new(
        "pH",
        ph,
        Tone::Slate,
        Stroke::Dashed,
    )))
    .marker(lime.taken.mg_per_l(), "taken")
}
