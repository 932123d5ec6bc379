//! pH against the acid or base that is added.

use crate::course::{CourseChart, Line, Panel};
use crate::heading::Heading;
use crate::range::Aim;
use crate::scale::Axis;
use crate::tone::{Shape, Stroke, Tone};

/// One curve: "closed", "open to air".
#[derive(Debug, Clone, PartialEq)]
pub struct TitrationCurve {
    /// Under which condition.
    pub label: String,
    /// Dose, in the unit of the chart's axis, and pH.
    pub points: Vec<(f64, f64)>,
}

/// Titration curves, the pH to land in, where the water is and which dose meets the aim.
///
/// ```
/// use chart::{Aim, Axis, Chart, Heading, Titration, TitrationCurve};
///
/// let titration = Titration {
///     heading: Heading::new("titration", "pH by acid", "4.6 mL bring the water to pH 5.4."),
///     dose: Axis::new("lactic acid 80 %", "mL").decimals(1),
///     curves: vec![TitrationCurve {
///         label: "closed".to_owned(),
///         points: vec![(0.0, 7.6), (4.6, 5.4), (8.0, 3.9)],
///     }],
///     aim: Some(Aim { low: 5.3, high: 5.5, label: "aim".to_owned() }),
///     now: Some((0.0, 7.6)),
///     meets: Some((4.6, 5.4)),
/// };
/// let notes = titration.chart().notes();
/// assert_eq!(notes[0], "pH, aim: 5.30–5.50");
/// assert_eq!(notes[2], "4.6 mL: pH 5.40 at 4.6 mL");
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Titration {
    /// Name, title and message.
    pub heading: Heading,
    /// The dose: what, and in mL or g.
    pub dose: Axis,
    /// Up to four look different.
    pub curves: Vec<TitrationCurve>,
    /// The pH to land in.
    pub aim: Option<Aim>,
    /// Where the water is: dose and pH.
    pub now: Option<(f64, f64)>,
    /// Where it meets the aim: dose and pH.
    pub meets: Option<(f64, f64)>,
}

const LOOKS: [(Tone, Stroke); 4] = [
    (Tone::Water, Stroke::Solid),
    (Tone::Slate, Stroke::Dashed),
    (Tone::Plum, Stroke::DashDot),
    (Tone::Moss, Stroke::Dotted),
];

impl Titration {
    /// The chart of it.
    #[must_use]
    pub fn chart(&self) -> CourseChart {
        let mut panel = Panel::new(Axis::new("pH", "").decimals(2)).labelled_inside();
        for (curve, (tone, stroke)) in self.curves.iter().zip(LOOKS.into_iter().cycle()) {
            panel = panel.line(Line::new(&curve.label, curve.points.clone(), tone, stroke));
        }
        if let Some(aim) = &self.aim {
            panel = panel.stretch(aim.low, aim.high, &aim.label);
        }
        if let Some((dose, ph)) = self.now {
            panel = panel.spot(dose, ph, "now", Shape::Circle);
        }
        if let Some((dose, ph)) = self.meets {
            panel = panel.spot(dose, ph, self.dose.say(dose), Shape::Diamond);
        }
        CourseChart::new(self.heading.clone(), self.dose.clone()).panel(panel)
    }
}
