//! Chlorine over time by way, and the breakpoint curve.

use batch::Reckoning;
use batch::liquor::chlorine::{Answer, Breakpoint};
use chart::{Axis, BreakpointPlace, CourseChart, Decay, DecayWay, Heading, Left};
use quantity::{Chlorine, Units, show};

/// Chlorine over time by way; none where it cannot be followed.
pub fn decay(answer: &Answer) -> Option<CourseChart> {
    let ways = answer.courses().ok()?.into_iter().map(|line| DecayWay {
        label: line.way.to_string(),
        places: line
            .points
            .iter()
            .map(|p| Left {
                min: p.time.min(),
                expected: p.expected.mg_per_l(),
                at_most: p.at_most.mg_per_l(),
            })
            .collect(),
    });
    let decay = Decay {
        heading: Heading::new(
            "decay",
            "Total chlorine over time, by way, mg/L",
            "What is left of this water's chlorine: the line as expected, the band up to at most. A boil counts from when it boils.",
        ),
        axis: Axis::new("total chlorine", "mg/L as Cl2")
            .starting_at(0.0)
            .decimals(2),
        ways: ways.collect(),
        threshold: Some((0.1, "gone to a test, 0.1 mg/L".to_owned())),
    };
    Some(decay.chart())
}

/// The breakpoint curve.
pub fn breakpoint(found: &Breakpoint, r: &Reckoning) -> CourseChart {
    let places = found
        .curve
        .points
        .iter()
        .map(|(dose, moment)| BreakpointPlace {
            dose: dose.mg_per_l(),
            free: moment.free.mg_per_l(),
            mono: moment.monochloramine.mg_per_l(),
            di: moment.dichloramine.mg_per_l(),
            total: moment.total().mg_per_l(),
        });
    let total = r.tap_chlorine().value.mg_per_l();
    let last = found.curve.points.last().map_or(0.0, |(d, _)| d.mg_per_l());
    let curve = chart::Breakpoint {
        heading: Heading::new(
            "breakpoint",
            "What chlorine becomes in water with ammonia",
            format!(
                "For {} of ammonium at pH {} and {}, after {}: up to the hump chlorine turns into chloramine, behind the breakpoint it stays free.",
                show(found.ammonia, Units::Metric),
                show(found.around.ph, Units::Metric),
                show(found.around.temperature, Units::Metric),
                show(found.contact, Units::Metric),
            ),
        ),
        places: places.collect(),
        breakpoint: found.curve.breakpoint.map(Chlorine::mg_per_l),
        yours: (total > 0.0 && total <= last).then_some(total),
    };
    curve.chart()
}
