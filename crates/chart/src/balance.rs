//! The charge balance of waters: cations beside anions.

use crate::bars::{self, Bar, Part, shown};
use crate::chart::{Chart, Drawing, Size};
use crate::grid::{Cell, Grid};
use crate::heading::Heading;
use crate::number::{show, with_unit};
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
    /// Whether it is not known but must be there, since charges balance: drawn hatched.
    pub missing: bool,
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
            missing: false,
        }
    }

    /// What the other side of the balance asks for and no analysis names \[mEq/L\].
    ///
    /// It is drawn hatched and is not part of the sum.
    #[must_use]
    pub fn missing(label: impl Into<String>, amount_meq_per_l: f64) -> Self {
        Self {
            missing: true,
            ..Self::new(label, amount_meq_per_l, Tone::Stone)
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
    /// Half of the interval of the cations' sum \[mEq/L\], if it is known.
    pub cations_half: Option<f64>,
    /// Half of the interval of the anions' sum \[mEq/L\], if it is known.
    pub anions_half: Option<f64>,
    /// What is to be said of the gap between the two: "gap 0.4 mEq/L, within what the analysis allows".
    pub gap: String,
}

impl Water {
    /// A water of which nothing but its ions is said.
    #[must_use]
    pub fn new(label: impl Into<String>, cations: Vec<Ion>, anions: Vec<Ion>) -> Self {
        Self {
            label: label.into(),
            cations,
            anions,
            cations_half: None,
            anions_half: None,
            gap: String::new(),
        }
    }

    /// The same with half of the interval of each sum \[mEq/L\].
    #[must_use]
    pub fn give_or_take(self, cations: f64, anions: f64) -> Self {
        Self {
            cations_half: Some(cations),
            anions_half: Some(anions),
            ..self
        }
    }

    /// The same with words about the gap between the sums.
    #[must_use]
    pub fn with_gap(self, words: impl Into<String>) -> Self {
        Self {
            gap: words.into(),
            ..self
        }
    }
}

/// Waters below one another, each with a bar of cations and a bar of anions.
///
/// Where an ion has an aim, a mark shows where its segment would end, measured from
/// where the segment starts. A line across the end of a bar shows how far its sum is
/// known; what must be there and is not is hatched.
///
/// ```
/// use chart::{BalanceChart, Chart, Heading, Ion, Tone, Water};
///
/// let tap = Water::new(
///     "tap",
///     vec![Ion::new("Ca", 4.8, Tone::Water), Ion::new("Mg", 0.9, Tone::Mist)],
///     vec![Ion::new("HCO3", 4.7, Tone::Slate), Ion::missing("not named", 1.0)],
/// )
/// .give_or_take(0.2, 0.3)
/// .with_gap("1.0 mEq/L more cations than anions");
/// let heading = Heading::new("balance", "Charge, mEq/L", "Anions are missing.");
/// let chart = BalanceChart { heading, waters: vec![tap] };
/// assert_eq!(chart.tips()[1].lines[2], ("sum".to_owned(), "4.70 ± 0.30 mEq/L".to_owned()));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct BalanceChart {
    /// Name, title and message.
    pub heading: Heading,
    /// From top to bottom.
    pub waters: Vec<Water>,
}

/// One bar: a water's cations or anions.
struct Side<'a> {
    water: &'a Water,
    charge: &'static str,
    ions: &'a [Ion],
    half: Option<f64>,
}

impl Side<'_> {
    fn sum(&self) -> f64 {
        let known = self.ions.iter().filter(|i| !i.missing);
        known
            .map(|i| i.amount_meq_per_l)
            .filter(|&a| shown(a))
            .sum()
    }

    /// "5.86 ± 0.20".
    fn sum_shown(&self) -> String {
        let sum = show(self.sum(), Some(2));
        match self.half.filter(|&h| shown(h)) {
            Some(half) => format!("{sum} ± {}", show(half, Some(2))),
            None => sum,
        }
    }
}

impl BalanceChart {
    fn sides(&self) -> impl Iterator<Item = Side<'_>> {
        self.waters.iter().flat_map(|water| {
            [
                Side {
                    water,
                    charge: "cations",
                    ions: &water.cations,
                    half: water.cations_half,
                },
                Side {
                    water,
                    charge: "anions",
                    ions: &water.anions,
                    half: water.anions_half,
                },
            ]
        })
    }

    fn axis() -> Axis {
        Axis::new("charge", UNIT).decimals(2)
    }
}

fn bar(side: &Side<'_>) -> Bar {
    let part = |ion: &Ion| Part {
        label: ion.label.clone(),
        amount: ion.amount_meq_per_l,
        tone: ion.tone,
        aim: ion.aim_meq_per_l,
        missing: ion.missing,
    };
    Bar {
        text: RowText {
            group: side.water.label.clone(),
            remark: side.water.gap.clone(),
            label: side.charge.to_owned(),
            value: side.sum_shown(),
        },
        parts: side.ions.iter().map(part).collect(),
        need: None,
        half: side.half,
    }
}

impl Chart for BalanceChart {
    fn heading(&self) -> &Heading {
        &self.heading
    }

    fn draw(&self, size: Size) -> Drawing {
        let bars: Vec<Bar> = self.sides().map(|side| bar(&side)).collect();
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
            let missing = if ion.missing { "missing " } else { "" };
            (
                ion.label.clone(),
                format!("{missing}{has}{}", aim.unwrap_or_default()),
            )
        };
        let tip = |side: Side<'_>| {
            let sum = ("sum".to_owned(), with_unit(&side.sum_shown(), UNIT));
            Tip {
                head: format!("{}, {}", side.water.label, side.charge),
                lines: side.ions.iter().map(said).chain([sum]).collect(),
            }
        };
        self.sides().map(tip).collect()
    }

    fn grid(&self) -> Grid {
        let row = |side: &Side<'_>, ion: &Ion| {
            let known = if ion.missing { "missing" } else { "" };
            vec![
                Cell::text(&side.water.label),
                Cell::text(side.charge),
                Cell::text(&ion.label),
                Cell::number(ion.amount_meq_per_l, Some(2)),
                Cell::number(ion.aim_meq_per_l.unwrap_or(f64::NAN), Some(2)),
                Cell::text(known),
            ]
        };
        let rows = self.sides().flat_map(|side| {
            side.ions
                .iter()
                .map(|ion| row(&side, ion))
                .collect::<Vec<_>>()
        });
        Grid {
            columns: [
                "water",
                "charge",
                "ion",
                "amount (mEq/L)",
                "aim (mEq/L)",
                "note",
            ]
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
        let mark =
            "Each mark shows where a segment would end at its aim, measured from where it starts";
        let aims = self.waters.iter().any(aimed).then(|| mark.to_owned());
        let gaps = self.waters.iter().filter(|w| !w.gap.is_empty());
        gaps.map(|w| format!("{}: {}", w.label, w.gap))
            .chain(aims)
            .collect()
    }
}
