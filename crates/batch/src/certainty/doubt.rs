//! What is not known of a batch: each figure with a spread, in the order in which a
//! reckoning meets them.

use std::sync::LazyLock;

use quantity::{Measured, Quantity, Source, Spread, Units, data, show_interval, show_measured};

use super::normal::quantile;

/// Where a doubt stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// A figure of the document, or a default that filled its gap.
    Document,
    /// A figure of the class of a malt, a hop or a yeast.
    Class,
    /// What a model does not know.
    Model,
}

impl Origin {
    /// In a word or two.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Document => "a figure of the document",
            Self::Class => "usual for its class",
            Self::Model => "the model",
        }
    }
}

/// A figure that is known no better than its spread.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The key of the document, or of the class or model.
    pub path: String,
    /// What it is.
    pub what: String,
    /// The figure with its spread.
    pub value: [String; 2],
    /// Where it stands.
    pub origin: Origin,
    /// What would make it better known.
    pub settle: String,
    /// Where the spread comes from, for one of a model.
    pub source: Option<Source>,
}

impl Doubt {
    /// The figure with its spread, in the units of the reader.
    #[must_use]
    pub fn text(&self, units: Units) -> &str {
        match units {
            Units::Metric => &self.value[0],
            Units::Us => &self.value[1],
        }
    }
}

/// Sections that say what is wanted, or what was read: a reading moves what is expected
/// by its own spread, so that it is no doubt beside.
const NOT_OF_NATURE: [&str; 5] = [
    "aim.",
    "brew_day.",
    "mash.reading[",
    "mash.measured[",
    "package.carbon_dioxide",
];

/// What a reckoning does with the doubts that it meets.
#[derive(Debug, Default)]
pub(crate) enum Doubts {
    /// Every figure is the likeliest and keeps its spread.
    #[default]
    Kept,
    /// Every figure is the likeliest, without its spread; the doubts are written down.
    Listed(Vec<Doubt>),
    /// Each figure is drawn at a chance between 0 and 1, the next of these.
    Drawn {
        /// A chance for each doubt, in the order of the list.
        chances: Vec<f64>,
        /// How many were met.
        met: usize,
    },
}

impl Doubts {
    /// A figure of the document.
    pub(crate) fn of_document<Q: Quantity>(
        &mut self,
        path: impl FnOnce() -> String,
        what: &str,
        figure: Measured<Q>,
    ) -> Measured<Q> {
        if matches!(self, Self::Kept) || figure.sd() <= 0.0 {
            return figure;
        }
        let path = path();
        if NOT_OF_NATURE.iter().any(|p| path.starts_with(p)) {
            return figure;
        }
        self.doubted(figure, |value| Doubt {
            what: named(&path, what),
            path,
            value,
            origin: Origin::Document,
            settle: MEASURE.to_owned(),
            source: None,
        })
    }

    /// A figure of a class.
    pub(crate) fn of_class<Q: Quantity>(
        &mut self,
        path: impl FnOnce() -> String,
        what: impl FnOnce() -> String,
        figure: Measured<Q>,
    ) -> Measured<Q> {
        self.doubted(figure, |value| Doubt {
            path: path(),
            what: what(),
            value,
            origin: Origin::Class,
            settle: ITS_OWN_SHEET.to_owned(),
            source: None,
        })
    }

    /// What a model gives.
    pub(crate) fn of_model<Q: Quantity>(
        &mut self,
        model: Model,
        figure: Measured<Q>,
    ) -> Measured<Q> {
        self.doubted(figure, |value| model.row().doubt(value))
    }

    /// A factor on what a model gives, of a logarithmic spread.
    pub(crate) fn factor(&mut self, model: Model) -> f64 {
        let row = model.row();
        let Some(ln_sd) = row.ln_sd else { return 1.0 };
        match self {
            Self::Kept => 1.0,
            Self::Listed(doubts) => {
                let text = format!("within a factor of {:.2}", (2.0 * ln_sd).exp());
                doubts.push(row.doubt([text.clone(), text]));
                1.0
            }
            Self::Drawn { .. } => (ln_sd * quantile(self.next())).exp(),
        }
    }

    /// How many were met so far.
    pub(crate) fn met(&self) -> usize {
        match self {
            Self::Kept => 0,
            Self::Listed(doubts) => doubts.len(),
            Self::Drawn { met, .. } => *met,
        }
    }

    /// A figure that a pass before met a doubt of.
    pub(crate) fn met_again<Q: Quantity>(&mut self, figure: Measured<Q>) -> Measured<Q> {
        match self {
            Self::Drawn { .. } => Measured::exactly(at(&figure, self.next())),
            Self::Kept | Self::Listed(_) => figure,
        }
    }

    fn doubted<Q: Quantity>(
        &mut self,
        figure: Measured<Q>,
        doubt: impl FnOnce([String; 2]) -> Doubt,
    ) -> Measured<Q> {
        if figure.sd() <= 0.0 {
            return figure;
        }
        match self {
            Self::Kept => figure,
            Self::Listed(doubts) => {
                doubts.push(doubt(
                    [Units::Metric, Units::Us].map(|units| text(&figure, units)),
                ));
                Measured::exactly(figure.value)
            }
            Self::Drawn { .. } => Measured::exactly(at(&figure, self.next())),
        }
    }

    fn next(&mut self) -> f64 {
        let Self::Drawn { chances, met } = self else {
            return 0.5;
        };
        let chance = chances.get(*met).copied().unwrap_or(0.5);
        *met += 1;
        chance
    }
}

fn text<Q: Quantity>(figure: &Measured<Q>, units: Units) -> String {
    match figure.spread {
        Spread::Range { low, high } => {
            show_interval(Q::from_canonical(low), Q::from_canonical(high), units)
        }
        _ => show_measured(figure, units),
    }
}

/// The value below which the figure lies with a chance: normal by a standard deviation,
/// even over a range; kept within the bounds of the quantity.
fn at<Q: Quantity>(figure: &Measured<Q>, chance: f64) -> Q {
    let value = match figure.spread {
        Spread::Range { low, high } => low + chance * (high - low),
        _ => figure.canonical() + figure.sd() * quantile(chance),
    };
    Q::from_canonical(value.clamp(Q::MIN, Q::MAX))
}

/// What a key of the document says, without what is said of leaving it out, and of which
/// entry of a list: "calcium in it, water source 1".
fn named(path: &str, doc: &str) -> String {
    let what = doc.split(';').next().unwrap_or(doc);
    match path.rsplit_once(']') {
        Some((entry, _)) => format!("{what}, {}", entry.replace(['.', '['], " ")),
        None => what.to_owned(),
    }
}

/// The share of the variance of a model's doubt that each brewing draws anew, by its key;
/// nought of what is no model.
pub(super) fn drawn_anew(key: &str) -> f64 {
    let row = ROWS.iter().find(|row| row.key == key);
    row.map_or(0.0, |row| row.anew)
}

const MEASURE: &str = "measure it better";
const ITS_OWN_SHEET: &str = "take it from its own data sheet";

/// What the models do not know.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Model {
    MashPh,
    AttenuationLimit,
    Bitterness,
    Colour,
    Speed,
    Esters,
    Fusels,
    Diketones,
    Clove,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    model: Vec<Row>,
}

/// A row of `data/certainty.toml`.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    what: String,
    ln_sd: Option<f64>,
    /// The share of the variance that each brewing draws anew.
    anew: f64,
    settle: String,
    source: String,
    mark: String,
}

const FILE: &str = "certainty.toml";

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    let rows: Rows = data::builtin(FILE, include_str!("../../data/certainty.toml"));
    rows.model
});

impl Row {
    fn doubt(&self, value: [String; 2]) -> Doubt {
        Doubt {
            path: self.key.clone(),
            what: self.what.clone(),
            value,
            origin: Origin::Model,
            settle: self.settle.clone(),
            source: Some(Source {
                text: self.source.clone(),
                mark: data::mark(FILE, &self.key, &self.mark),
            }),
        }
    }
}

impl Model {
    #[cfg(test)]
    const ALL: [Self; 9] = [
        Self::MashPh,
        Self::AttenuationLimit,
        Self::Bitterness,
        Self::Colour,
        Self::Speed,
        Self::Esters,
        Self::Fusels,
        Self::Diketones,
        Self::Clove,
    ];

    fn key(self) -> &'static str {
        match self {
            Self::MashPh => "model.mash_ph",
            Self::AttenuationLimit => "model.attenuation_limit",
            Self::Bitterness => "model.bitterness",
            Self::Colour => "model.colour",
            Self::Speed => "model.speed",
            Self::Esters => "model.esters",
            Self::Fusels => "model.fusels",
            Self::Diketones => "model.diketones",
            Self::Clove => "model.clove",
        }
    }

    #[expect(
        clippy::panic,
        reason = "a missing row is a defect of the program; a test asks for all"
    )]
    fn row(self) -> &'static Row {
        let row = ROWS.iter().find(|row| row.key == self.key());
        row.unwrap_or_else(|| panic!("no row for {:?} in {FILE}", self.key()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Volume;

    #[test]
    fn every_model_has_its_row_and_every_row_its_model() {
        assert_eq!(Model::ALL.len(), ROWS.len());
        for model in Model::ALL {
            let doubt = model.row().doubt([String::new(), String::new()]);
            assert!(doubt.source.is_some_and(|s| !s.text.is_empty()));
            assert!((0.0..=1.0).contains(&model.row().anew));
        }
    }

    #[test]
    fn a_draw_lies_where_its_chance_says() {
        let normal = Measured::with_sd(Volume::from_l(20.0), 2.0);
        assert!((at(&normal, 0.5).l() - 20.0).abs() < 1e-12);
        // One standard deviation: 84.134474606854 % (any table of the normal distribution).
        assert!((at(&normal, 0.841_344_746_068_543).l() - 22.0).abs() < 1e-8);
        let range = Measured {
            value: Volume::from_l(3.0),
            spread: Spread::Range {
                low: 2.0,
                high: 4.0,
            },
        };
        assert!((at(&range, 0.25).l() - 2.5).abs() < 1e-12);
        let by_nothing = Measured::with_sd(Volume::from_l(0.1), 1.0);
        assert!(at(&by_nothing, 0.01).l() >= 0.0);
    }

    #[test]
    fn an_entry_of_a_list_is_named() {
        let calcium = named("water.source[1].calcium", "calcium in it");
        assert_eq!(calcium, "calcium in it, water source 1");
        let total = named("kit.kettle_loss", "wort left in the kettle; left out, none");
        assert_eq!(total, "wort left in the kettle");
    }

    #[test]
    fn doubts_are_met_in_the_order_of_their_list() {
        let figures = [1.0, 2.0, 3.0].map(|l| Measured::with_sd(Volume::from_l(l), 0.1 * l));
        let pass = |doubts: &mut Doubts| {
            figures.map(|f| doubts.of_document(|| format!("v{f:?}"), "a volume", f))
        };
        let mut listed = Doubts::Listed(vec![]);
        assert!(pass(&mut listed).iter().all(|f| f.sd() <= 0.0));
        let Doubts::Listed(list) = listed else {
            panic!("listed");
        };
        assert_eq!(list.len(), 3);
        let mut drawn = Doubts::Drawn {
            chances: vec![0.5, 0.9, 0.5],
            met: 0,
        };
        let drawn = pass(&mut drawn);
        assert!((drawn[0].value.l() - 1.0).abs() < 1e-12 && drawn[1].value.l() > 2.2);
        assert_eq!(pass(&mut Doubts::Kept), figures);
    }

    #[test]
    fn what_is_wanted_and_what_was_read_are_no_doubts() {
        let mut listed = Doubts::Listed(vec![]);
        let figure = Measured::with_sd(Volume::from_l(1.0), 0.1);
        for path in [
            "aim.colour",
            "brew_day.reading[1].volume",
            "mash.reading[1].ph",
        ] {
            let kept = listed.of_document(|| path.to_owned(), "x", figure);
            assert_eq!(kept, figure, "{path}");
        }
        assert!(matches!(listed, Doubts::Listed(list) if list.is_empty()));
    }
}
