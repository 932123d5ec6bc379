//! How a water moves through the year, by its dated analyses.
//!
//! On the scale z = ln(x + floor) a sample of day d of the year is
//!
//! z = β₀ + β₁ cos φ + β₂ sin φ + δ,  φ = 2π d/365.2425,  δ ~ N(0, τ²)
//!
//! read with the laboratory's error: one wave a year, which is as much as a handful of
//! analyses can tell. The coefficients have priors of `data/seasons.toml`, τ is learned too;
//! the kernel is that of the batches of a house. Few analyses leave the wave where the prior
//! has it, about nought and wide, so that a day far from any sample is less sure.

use std::f64::consts::TAU;
use std::sync::LazyLock;

use quantity::{
    Alkalinity, Calcium, Chloride, Magnesium, Mark, Measured, Quantity, Sodium, Source, Sulfate,
    Units, data, show_ends, show_measured,
};

use super::forget::{Forget, day};
use super::hierarchy::Mixture;
use super::into::Into;
use super::keys::from_analyses;
use super::linear::{Before, Node, Row};
use crate::document::{Document, SourceEntry};
use crate::edit::{EditError, written_values};
use crate::library::day_of_year;
use crate::liquor::choice::Kept;

const FILE: &str = "seasons.toml";
const TEXT: &str = include_str!("../../data/seasons.toml");
/// Days of a year in the Gregorian calendar, on the average.
const YEAR: f64 = 365.242_5;
/// Fewer analyses than this are no season, and a plan takes none of them.
const FEWEST: u32 = 2;

/// What is learned of a water by season.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ion {
    /// Calcium.
    Calcium,
    /// Magnesium.
    Magnesium,
    /// Sodium.
    Sodium,
    /// Alkalinity.
    Alkalinity,
    /// Chloride.
    Chloride,
    /// Sulfate.
    Sulfate,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    scale: Scale,
    figure: Vec<FigureRow>,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Scale {
    swing: f64,
    apart: f64,
    apart_ln_sd: f64,
    read: f64,
    source: String,
    mark: String,
}

#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct FigureRow {
    key: String,
    usual: f64,
    ln_sd: f64,
    floor: f64,
}

static TABLE: LazyLock<File> = LazyLock::new(|| data::builtin(FILE, TEXT));

impl Ion {
    /// All of them, in the order of a report.
    pub const ALL: [Self; 6] = [
        Self::Calcium,
        Self::Magnesium,
        Self::Sodium,
        Self::Alkalinity,
        Self::Chloride,
        Self::Sulfate,
    ];

    /// Its key in a source of a document.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Calcium => "calcium",
            Self::Magnesium => "magnesium",
            Self::Sodium => "sodium",
            Self::Alkalinity => "alkalinity",
            Self::Chloride => "chloride",
            Self::Sulfate => "sulfate",
        }
    }

    fn row(self) -> &'static FigureRow {
        match TABLE.figure.iter().find(|row| row.key == self.word()) {
            Some(row) => row,
            #[expect(
                clippy::panic,
                reason = "a missing row is a defect of the program; a test reads all"
            )]
            None => panic!("no figure {:?} in {FILE}", self.word()),
        }
    }

    /// In an analysis: number and standard deviation in the canonical unit.
    fn read(self, of: &SourceEntry) -> (f64, f64) {
        fn pair<Q: Quantity>(m: &Measured<Q>) -> (f64, f64) {
            (m.canonical(), m.sd())
        }
        match self {
            Self::Calcium => pair(&of.calcium),
            Self::Magnesium => pair(&of.magnesium),
            Self::Sodium => pair(&of.sodium),
            Self::Alkalinity => pair(&of.alkalinity),
            Self::Chloride => pair(&of.chloride),
            Self::Sulfate => pair(&of.sulfate),
        }
    }

    /// A number of it with its standard deviation, for people.
    #[must_use]
    pub fn show(self, number: (f64, f64), units: Units) -> String {
        fn of<Q: Quantity>((value, sd): (f64, f64), units: Units) -> String {
            show_measured(&Measured::with_sd(Q::from_canonical(value), sd), units)
        }
        match self {
            Self::Calcium => of::<Calcium>(number, units),
            Self::Magnesium => of::<Magnesium>(number, units),
            Self::Sodium => of::<Sodium>(number, units),
            Self::Alkalinity => of::<Alkalinity>(number, units),
            Self::Chloride => of::<Chloride>(number, units),
            Self::Sulfate => of::<Sulfate>(number, units),
        }
    }

    /// Two ends of an interval of it, for people.
    #[must_use]
    pub fn show_between(self, ends: (f64, f64), units: Units) -> String {
        fn of<Q: Quantity>((low, high): (f64, f64), units: Units) -> String {
            let [low, high] = show_ends(Q::from_canonical(low), Q::from_canonical(high), units);
            format!("{low} to {high}")
        }
        match self {
            Self::Calcium => of::<Calcium>(ends, units),
            Self::Magnesium => of::<Magnesium>(ends, units),
            Self::Sodium => of::<Sodium>(ends, units),
            Self::Alkalinity => of::<Alkalinity>(ends, units),
            Self::Chloride => of::<Chloride>(ends, units),
            Self::Sulfate => of::<Sulfate>(ends, units),
        }
    }

    /// The unit of its numbers.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Alkalinity => "mEq/L",
            _ => "mg/L",
        }
    }

    /// Decimals that a chart shows.
    #[must_use]
    pub const fn decimals(self) -> usize {
        match self {
            Self::Alkalinity => 1,
            _ => 0,
        }
    }

    fn on(self, (value, sd): (f64, f64)) -> (f64, f64) {
        let floor = self.row().floor;
        let sd = if sd > 0.0 {
            sd
        } else {
            TABLE.scale.read * value
        };
        ((value + floor).ln(), sd / (value + floor))
    }

    fn back(self, z: f64) -> f64 {
        (z.min(300.0).exp() - self.row().floor).max(0.0)
    }

    fn sd_back(self, (z, sd): (f64, f64)) -> f64 {
        sd * (self.back(z) + self.row().floor)
    }
}

/// Where the spreads before any analysis come from.
#[must_use]
pub fn season_source() -> Source {
    let mark: Mark = data::mark(FILE, "scale", &TABLE.scale.mark);
    Source {
        text: TABLE.scale.source.clone(),
        mark,
    }
}

/// A water that the library keeps, through the year.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonalWater {
    /// What it goes by in the library.
    pub key: String,
    /// What it is called.
    pub name: String,
    /// Which source of the document it is, counted from one.
    pub source: usize,
    /// The days of its analyses, the oldest first.
    pub days: Vec<String>,
    /// Its figures.
    pub figures: Vec<Figure>,
}

/// A figure of a water through the year.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// Which.
    pub ion: Ion,
    /// What its analyses say together.
    pub course: Seasonal,
    /// What each analysis did, the oldest first.
    pub trace: Vec<Sampled>,
}

/// What one analysis said.
#[derive(Debug, Clone, PartialEq)]
pub struct Sampled {
    /// Its day, as written.
    pub day: String,
    /// What it says: number and standard deviation, in the canonical unit.
    pub says: (f64, f64),
    /// Share of a new one that it counts for.
    pub weight: f64,
    /// The middle of the year without it.
    pub otherwise: f64,
    /// How far it lies from what the others make one expect of its day, in standard
    /// deviations.
    pub odd: f64,
}

/// A figure on a day of the year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnDay {
    /// The mean of that day over the years, in the canonical unit.
    pub mean: f64,
    /// Nine times in ten it lies in here.
    pub likely: (f64, f64),
    /// The water as it is drawn on such a day: number and standard deviation.
    pub drawn: (f64, f64),
    /// Nine times in ten it lies in here.
    pub drawn_likely: (f64, f64),
}

/// What is known of a figure through the year.
#[derive(Debug, Clone, PartialEq)]
pub struct Seasonal {
    ion: Ion,
    nodes: Vec<Node<3>>,
}

/// A sample: the day of the year, what it says on the scale, what it counts for.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Sample {
    day: f64,
    z: f64,
    sd: f64,
    weight: f64,
}

fn waves(day: f64) -> [f64; 3] {
    let phase = TAU * day / YEAR;
    [1.0, phase.cos(), phase.sin()]
}

impl Seasonal {
    fn of(ion: Ion, samples: &[Sample]) -> Self {
        let (row, scale) = (ion.row(), &TABLE.scale);
        let before = Before {
            mean: [(row.usual + row.floor).ln(), 0.0, 0.0],
            sd: [row.ln_sd, scale.swing, scale.swing],
            apart: scale.apart,
            apart_ln_sd: scale.apart_ln_sd,
        };
        let rows: Vec<Row<3>> = samples
            .iter()
            .map(|s| Row {
                x: waves(s.day),
                value: s.z,
                sd: s.sd,
                weight: s.weight,
            })
            .collect();
        Self {
            ion,
            nodes: before.after(&rows),
        }
    }

    fn mean(&self, x: &[f64; 3]) -> Mixture {
        Mixture::of(&self.nodes, x, |_| 0.0)
    }

    /// The middle of the year, in the canonical unit.
    #[must_use]
    pub fn middle(&self) -> f64 {
        self.middle_within().0.0
    }

    /// The middle of the year: number and standard deviation, and in what it lies nine
    /// times in ten, in the canonical unit.
    #[must_use]
    pub fn middle_within(&self) -> ((f64, f64), (f64, f64)) {
        let mean = self.mean(&[1.0, 0.0, 0.0]);
        let on = (mean.mean(), mean.sd());
        (
            (self.ion.back(on.0), self.ion.sd_back(on)),
            self.likely(&mean),
        )
    }

    fn likely(&self, m: &Mixture) -> (f64, f64) {
        let (low, high) = m.interval(0.9);
        (self.ion.back(low), self.ion.back(high))
    }

    /// On a day of the year, counted from one.
    #[must_use]
    pub fn on(&self, day_of_year: f64) -> OnDay {
        let x = waves(day_of_year);
        let (mean, drawn) = (
            self.mean(&x),
            Mixture::of(&self.nodes, &x, |n| n.apart * n.apart),
        );
        let on = (drawn.mean(), drawn.sd());
        OnDay {
            mean: self.ion.back(mean.mean()),
            likely: self.likely(&mean),
            drawn: (self.ion.back(on.0), self.ion.sd_back(on)),
            drawn_likely: self.likely(&drawn),
        }
    }

    /// The band that holds the water nine times in ten: day of the year, low, high.
    #[must_use]
    pub fn band(&self) -> Vec<(f64, f64, f64)> {
        const STEPS: u32 = 24;
        let days = (0..=STEPS).map(|step| 1.0 + (YEAR - 1.0) * f64::from(step) / f64::from(STEPS));
        days.map(|day| {
            let (low, high) = self.on(day).drawn_likely;
            (day, low, high)
        })
        .collect()
    }

    /// How far from a sample of a day it lies \[sd\].
    fn odd(&self, sample: &Sample) -> f64 {
        let expected = Mixture::of(&self.nodes, &waves(sample.day), |n| {
            n.apart * n.apart + sample.sd * sample.sd
        });
        (sample.z - expected.mean()) / expected.sd()
    }
}

impl Sampled {
    /// Whether it lies far from what the others make one expect.
    #[must_use]
    pub fn is_odd(&self) -> bool {
        self.odd.abs() > 3.0
    }
}

/// The waters of the library that a document draws, through the year. A water is the same
/// where its name is that of a source.
#[must_use]
pub fn seasons(of: &Document, kept: &[Kept], forget: Forget) -> Vec<SeasonalWater> {
    let same = |a: &str, b: &str| a.trim().to_lowercase() == b.trim().to_lowercase();
    let sources = of.water.sources.iter().enumerate();
    let drawn = sources.filter(|(_, s)| s.share.is_none_or(|share| share.value.ratio() > 0.0));
    let found = drawn.filter_map(|(at, source)| {
        let water = kept.iter().find(|k| same(&k.name, &source.name))?;
        Some(SeasonalWater {
            key: water.key.clone(),
            name: water.name.clone(),
            source: at + 1,
            days: water.analyses.iter().map(|a| a.from.clone()).collect(),
            figures: Ion::ALL
                .iter()
                .filter_map(|ion| figure(*ion, water, forget))
                .collect(),
        })
    });
    found.collect()
}

/// None where no analysis has it.
fn figure(ion: Ion, water: &Kept, forget: Forget) -> Option<Figure> {
    let has = |text: &str| {
        let written = written_values(text).unwrap_or_default();
        written.contains_key(ion.word())
    };
    let told: Vec<_> = water
        .analyses
        .iter()
        .filter(|a| has(&a.text))
        .filter_map(|a| {
            Some((
                a.from.clone(),
                day_of_year(&a.from)?,
                ion.read(&a.analysis.figures),
            ))
        })
        .collect();
    let days: Vec<Option<f64>> = told.iter().map(|(from, ..)| day(Some(from))).collect();
    let samples: Vec<Sample> = told
        .iter()
        .zip(forget.weights(&days))
        .map(|((_, day, read), weight)| {
            let (z, sd) = ion.on(*read);
            Sample {
                day: *day,
                z,
                sd,
                weight,
            }
        })
        .collect();
    let trace = told.iter().enumerate().map(|(n, (from, _, says))| {
        let others: Vec<Sample> = samples
            .iter()
            .enumerate()
            .filter_map(|(k, s)| (k != n).then_some(*s))
            .collect();
        let others = Seasonal::of(ion, &others);
        let own = samples.get(n);
        Sampled {
            day: from.clone(),
            says: *says,
            weight: own.map_or(0.0, |s| s.weight),
            otherwise: others.middle(),
            odd: own.map_or(0.0, |s| others.odd(s)),
        }
    });
    let trace = trace.collect();
    (!samples.is_empty()).then(|| Figure {
        ion,
        course: Seasonal::of(ion, &samples),
        trace,
    })
}

impl Figure {
    /// Analyses that say something of it.
    #[must_use]
    pub fn analyses(&self) -> u32 {
        self.trace.len() as u32
    }
}

/// The values that the waters have for the day of a document; none without a day, and none
/// of a water with fewer than two analyses. What is written is the water as it is drawn on
/// such a day: what is not known of the season, and how far years lie apart.
///
/// # Errors
/// [`EditError::NotToml`].
pub fn season_values(
    text: &str,
    of: &Document,
    waters: &[SeasonalWater],
) -> Result<Vec<Into>, EditError> {
    let written = written_values(text)?;
    let brewed = of.batch.brewed.as_deref().map(str::trim);
    let Some((brewed, day)) = brewed.and_then(|b| Some((b, day_of_year(b)?))) else {
        return Ok(Vec::new());
    };
    let each = waters.iter().flat_map(|water| {
        let told = water.figures.iter().filter(|f| f.analyses() >= FEWEST);
        told.map(move |f| (water, f))
    });
    let values = each.map(|(water, figure)| {
        let key = format!("water.source[{}].{}", water.source, figure.ion.word());
        Into {
            name: format!("{} of {}", figure.ion.word(), water.name),
            value: figure.ion.show(figure.course.on(day).drawn, Units::Metric),
            now: written.get(&key).cloned(),
            batches: figure.analyses(),
            day: Some(brewed.to_owned()),
            key,
        }
    });
    Ok(values.collect())
}

/// "Learned from 7 analyses: 52 ± 6 mg/L on 2027-03-14, nine times in ten 43 to 62 mg/L".
#[must_use]
pub fn season_words(figure: &Figure, day: Option<&str>, units: Units) -> String {
    let from = from_analyses(figure.analyses());
    let from = format!("L{}", from.trim_start_matches('l'));
    let on = day.and_then(|d| Some((d, day_of_year(d.trim())?)));
    match on {
        Some((written, at)) => {
            let on = figure.course.on(at);
            format!(
                "{from}: {} on {}, nine times in ten {}",
                figure.ion.show(on.drawn, units),
                written.trim(),
                figure.ion.show_between(on.drawn_likely, units)
            )
        }
        None => {
            let (middle, likely) = figure.course.middle_within();
            format!(
                "{from}: {} in the middle of the year, nine times in ten {}",
                figure.ion.show(middle, units),
                figure.ion.show_between(likely, units)
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::random::Random;
    use super::*;

    #[test]
    fn every_figure_has_a_row() {
        assert_eq!(TABLE.figure.len(), Ion::ALL.len());
        for ion in Ion::ALL {
            let row = ion.row();
            assert!(row.usual > 0.0 && row.ln_sd > 0.0 && row.floor > 0.0);
            let z = ion.on((row.usual, 0.0)).0;
            assert!((ion.back(z) - row.usual).abs() < 1e-9);
        }
        assert!(season_source().text.len() > 20);
    }

    /// The normal equations of Bayesian linear regression, solved by themselves (Gelman et
    /// al. 2013, section 14.8): Λ = diag(1/v₀) + Σ w x xᵀ/v, Λ m = diag(1/v₀) m₀ + Σ w x y/v.
    fn normal_equations(before: &Before<3>, rows: &[Row<3>]) -> ([f64; 3], [[f64; 3]; 3]) {
        let (mut a, mut b) = ([[0.0; 3]; 3], [0.0; 3]);
        for k in 0..3 {
            a[k][k] = before.sd[k].powi(-2);
            b[k] = before.mean[k] * a[k][k];
        }
        for row in rows {
            let w = row.weight / (row.sd.powi(2) + before.apart.powi(2));
            for k in 0..3 {
                b[k] += w * row.x[k] * row.value;
                for (of, x) in a[k].iter_mut().zip(row.x) {
                    *of += w * row.x[k] * x;
                }
            }
        }
        // The inverse by the adjugate.
        let minor = |i: usize, j: usize| {
            let (r, c) = ([(i + 1) % 3, (i + 2) % 3], [(j + 1) % 3, (j + 2) % 3]);
            a[r[0]][c[0]] * a[r[1]][c[1]] - a[r[0]][c[1]] * a[r[1]][c[0]]
        };
        let whole: f64 = (0..3).map(|j| a[0][j] * minor(0, j)).sum();
        let mut inverse = [[0.0; 3]; 3];
        for (i, row) in inverse.iter_mut().enumerate() {
            for (j, x) in row.iter_mut().enumerate() {
                *x = minor(j, i) / whole;
            }
        }
        let mean = [0, 1, 2].map(|k| (0..3).map(|j| inverse[k][j] * b[j]).sum());
        (mean, inverse)
    }

    proptest! {
        #[test]
        fn with_a_known_spread_it_is_linear_regression(
            told in prop::collection::vec((1.0..366.0f64, -1.0..6.0f64, 0.02..0.5f64, 0.1..1.0f64), 0..15),
            apart in 0.02..0.4f64,
        ) {
            let before = Before {
                mean: [3.0, 0.0, 0.0],
                sd: [1.0, 0.2, 0.2],
                apart,
                apart_ln_sd: 0.0,
            };
            let rows: Vec<Row<3>> = told
                .iter()
                .map(|(day, value, sd, weight)| Row { x: waves(*day), value: *value, sd: *sd, weight: *weight })
                .collect();
            let (mean, covariance) = normal_equations(&before, &rows);
            let node = before.after(&rows)[0];
            for k in 0..3 {
                prop_assert!((node.mean[k] - mean[k]).abs() < 1e-8);
                for (ours, by_hand) in node.covariance[k].iter().zip(covariance[k]) {
                    prop_assert!((ours - by_hand).abs() < 1e-9);
                }
            }
        }
    }

    /// Waters whose season is drawn as the table has it, sampled on random days of some
    /// years: what is said to hold nine times in ten does, for the mean of a day and for
    /// the water as it is drawn.
    #[test]
    fn waters_are_held_nine_times_in_ten() {
        let (mut random, mut days) = (Random::seeded(77), Random::seeded(78));
        let mut normal = || random.normal();
        let scale = &TABLE.scale;
        const WATERS: usize = 250;
        for samples in [3, 12] {
            let (mut of_mean, mut of_drawn) = (0, 0);
            for _ in 0..WATERS {
                let ion = Ion::Calcium;
                let row = ion.row();
                let beta = [
                    (row.usual + row.floor).ln() + row.ln_sd * normal(),
                    scale.swing * normal(),
                    scale.swing * normal(),
                ];
                let apart = scale.apart * (scale.apart_ln_sd * normal()).exp();
                let at = |day: f64| {
                    let x = waves(day);
                    (0..3).map(|k| beta[k] * x[k]).sum::<f64>()
                };
                let told: Vec<Sample> = (0..samples)
                    .map(|_| {
                        let day = 1.0 + 365.0 * days.uniform();
                        let z = at(day) + apart * normal() + 0.05 * normal();
                        Sample {
                            day,
                            z,
                            sd: 0.05,
                            weight: 1.0,
                        }
                    })
                    .collect();
                let found = Seasonal::of(ion, &told);
                let day = 1.0 + 365.0 * days.uniform();
                let on = found.on(day);
                let holds = |(low, high): (f64, f64), z: f64| {
                    usize::from((low..=high).contains(&ion.back(z)))
                };
                of_mean += holds(on.likely, at(day));
                of_drawn += holds(on.drawn_likely, at(day) + apart * normal());
            }
            for (what, held) in [("mean", of_mean), ("drawn", of_drawn)] {
                let share = held as f64 / WATERS as f64;
                assert!(
                    (0.85..=0.95).contains(&share),
                    "{samples} samples, {what}: {share}"
                );
            }
        }
    }

    #[test]
    fn spring_is_told_from_autumn() {
        let ion = Ion::Alkalinity;
        let sample = |day: f64, meq: f64| {
            let (z, sd) = ion.on((meq, 0.05 * meq));
            Sample {
                day,
                z,
                sd,
                weight: 1.0,
            }
        };
        let told: Vec<Sample> = (0..4)
            .flat_map(|_| [sample(80.0, 2.0), sample(263.0, 4.0), sample(171.0, 2.9)])
            .collect();
        let found = Seasonal::of(ion, &told);
        assert!((found.on(80.0).mean - 2.0).abs() < 0.2);
        assert!((found.on(263.0).mean - 4.0).abs() < 0.4);
        // Nobody sampled in winter: less is known of it.
        let wide = |day: f64| (found.on(day).likely.1 / found.on(day).likely.0).ln();
        assert!(
            wide(354.0) > 1.3 * wide(80.0),
            "{} {}",
            wide(354.0),
            wide(80.0)
        );
        // A year later is the same day.
        assert!((found.on(80.0).mean - found.on(80.0 + YEAR).mean).abs() < 1e-9);
    }
}
