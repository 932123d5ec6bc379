//! The charge balance of waters: cations beside anions.

use crate::bars::{self, Bar, Part, shown};
use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::number::show;
use crate::rows::RowText;
use crate::scale::Axis;
use crate::tip::Tip;
use crate::tone::Tone;

/// The unit of charge on the axis.
const UNIT: &str = "mEq/L";

/// One kind of ion in a water.
#[derive(Debug, Clone, PartialEq)]
pub struct Ion {
    /// Its sign: "Ca".
    pub label: String,
    /// How much of it \[mEq/L\].
    pub amount_meq_per_l: f64,
    /// How much of it there should be \[mEq/L\], if there is an aim.
    pub aim_meq_per_l: Option<f64>,
    /// Its colour; one ion has one colour in all waters.
    pub tone: Tone,
}

impl Ion {
    /// An ion without an aim.
    #[must_use]
    pub fn new(label: impl Into<String>, amount_meq_per_l: f64, tone: Tone) -> Self {
        Self {
            label: label.into(),
            amount_meq_per_l,
            aim_meq_per_l: None,
            tone,
        }
    }

    /// The same with an aim \[mEq/L\].
    #[must_use]
    pub fn aiming(self, aim_meq_per_l: f64) -> Self {
        Self {
            aim_meq_per_l: Some(aim_meq_per_l),
            ..self
        }
    }
}

/// One water: "tap", "treated", "aim".
#[derive(Debug, Clone, PartialEq)]
pub struct Water {
    /// Which water.
    pub label: String,
    /// Positive ions, from left to right.
    pub cations: Vec<Ion>,
    /// Negative ions, from left to right.
    pub anions: Vec<Ion>,
}

/// Waters below one another, each with a bar of cations and a bar of anions.
///
/// Where an ion has an aim, a mark shows where its segment would end, measured from
/// where the segment starts.
#[derive(Debug, Clone, PartialEq)]
pub struct BalanceChart {
    /// Name, title and message.
    pub heading: Heading,
    /// From top to bottom.
    pub waters: Vec<Water>,
}

/// One bar: the water's name, which charge, and its ions.
type Side<'a> = (&'a str, &'static str, &'a [Ion]);

impl BalanceChart {
    fn sides(&self) -> impl Iterator<Item = Side<'_>> {
        self.waters.iter().flat_map(|w| {
            [
                (w.label.as_str(), "cations", w.cations.as_slice()),
                (w.label.as_str(), "anions", w.anions.as_slice()),
            ]
        })
    }

    fn axis() -> Axis {
        Axis::new("charge", UNIT).decimals(2)
    }
}

fn sum(ions: &[Ion]) -> f64 {
    ions.iter()
        .map(|i| i.amount_meq_per_l)
        .filter(|&a| shown(a))
        .sum()
}

fn bar((water, charge, ions): Side<'_>) -> Bar {
    let part = |ion: &Ion| Part {
        label: ion.label.clone(),
        amount: ion.amount_meq_per_l,
        tone: ion.tone,
        aim: ion.aim_meq_per_l,
    };
    Bar {
        text: RowText {
            group: water.to_owned(),
            label: charge.to_owned(),
            value: show(sum(ions), Some(2)),
        },
        parts: ions.iter().map(part).collect(),
        need: None,
    }
}

impl Chart for BalanceChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        let bars: Vec<Bar> = self.sides().map(bar).collect();
        bars::draw(
            &bars,
            &Self::axis(),
            "aim, from where the segment starts",
            size,
        )
    }

    fn tips(&self) -> Vec<Tip> {
        let axis = Self::axis();
        let said = |ion: &Ion| {
            let has = axis.say(ion.amount_meq_per_l);
            let aim = ion
                .aim_meq_per_l
                .map(|aim| format!(" (aim {})", show(aim, Some(2))));
            (ion.label.clone(), has + &aim.unwrap_or_default())
        };
        self.sides()
            .map(|(water, charge, ions)| {
                let sum = ("sum".to_owned(), axis.say(sum(ions)));
                Tip {
                    head: format!("{water}, {charge}"),
                    lines: ions.iter().map(said).chain([sum]).collect(),
                }
            })
            .collect()
    }

    fn grid(&self) -> Grid {
        let rows = self.sides().flat_map(|(water, charge, ions)| {
            ions.iter().map(move |ion| {
                let aim = ion.aim_meq_per_l.unwrap_or(f64::NAN);
                vec![
                    Cell::text(water),
                    Cell::text(charge),
                    Cell::text(&ion.label),
                    Cell::number(ion.amount_meq_per_l, Some(2)),
                    Cell::number(aim, Some(2)),
                ]
            })
        });
        Grid {
            columns: ["water", "charge", "ion", "amount (mEq/L)", "aim (mEq/L)"]
                .map(str::to_owned)
                .to_vec(),
            rows: rows.collect(),
        }
    }

    fn notes(&self) -> Vec<String> {
        let aimed = |w: &Water| {
            w.cations
                .iter()
                .chain(&w.anions)
                .any(|i| i.aim_meq_per_l.is_some())
        };
        let note =
            "Each mark shows where a segment would end at its aim, measured from where it starts";
        self.waters
            .iter()
            .any(aimed)
            .then(|| note.to_owned())
            .into_iter()
            .collect()
    }
}
