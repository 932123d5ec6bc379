//! The questions of the study, and what may be told of their answers.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::fs::File;
use std::path::Path;
use std::sync::Arc;

use datafusion::arrow::array::{ArrayRef, Float64Array, RecordBatch, StringArray, UInt64Array};
use datafusion::parquet::arrow::ArrowWriter;
use serde::Serialize;

use crate::StudyError;
use crate::comoments::Comoments;
use crate::engine::{Engine, bin_lists, counts, number_lists, texts};
use crate::functions::sketch_of;
use crate::gather::NINE_IN_TEN;
use crate::sketch::Sketch;
use crate::suppress::{FEWEST_BATCHES, FEWEST_OWNERS, Group, Standing, Told, Tree};
use crate::table::{Figure, Plan};

/// Everything that may be told of a folder of rows.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// The version of this form: "gylewright-study/answer/1".
    pub schema: &'static str,
    /// How it is kept that nobody can be told apart.
    pub told: String,
    /// The tables.
    pub tables: Vec<Table>,
}

/// The answer to one question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Table {
    /// Its key.
    pub key: &'static str,
    /// The question.
    pub question: &'static str,
    /// What may be told.
    pub lines: Vec<Line>,
    /// Lines that are not told since too few stand behind them, or behind what could be
    /// subtracted.
    pub untold: usize,
}

/// One line.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Line {
    /// The group; none for all together.
    pub group: Option<String>,
    /// The part of the group; none for the whole of it.
    pub cell: Option<String>,
    /// What of it.
    pub figure: String,
    /// Owners behind it.
    pub owners: u64,
    /// Batches behind it; for waters, owners once each.
    pub batches: u64,
    /// The numbers.
    pub numbers: BTreeMap<&'static str, f64>,
}

/// Edges of the bands of temperature \[°C\].
pub const TEMPERATURES: [f64; 7] = [9.0, 12.0, 15.0, 18.0, 21.0, 24.0, 28.0];
/// Edges of the bands of cells pitched over cells needed.
pub const PITCHES: [f64; 4] = [0.5, 0.8, 1.25, 2.0];
/// Edges of the bands of chances that were said of a cause.
pub const CHANCES: [f64; 4] = [0.2, 0.4, 0.6, 0.8];
/// Edges of the tenths of a forecast.
const TENTHS: [f64; 9] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9];
/// Figures that are planned with an interval, and read.
const FORECASTS: [(&str, &str); 5] = [
    ("original gravity, °P", "og"),
    ("final gravity, °P", "fg"),
    ("attenuation", "attenuation"),
    ("days to the end", "days"),
    ("yield of the mash", "yield"),
];
/// Figures of a water, with their units.
const WATERS: [(&str, &str); 4] = [
    ("residual alkalinity, mg/L as CaCO₃", "residual_alkalinity"),
    ("calcium, mg/L", "calcium"),
    ("chloride, mg/L", "chloride"),
    ("sulfate, mg/L", "sulfate"),
];
/// Shares of the owners below a quantile.
const QUANTILES: [(&str, f64); 7] = [
    ("p05", 0.05),
    ("p10", 0.1),
    ("p25", 0.25),
    ("p50", 0.5),
    ("p75", 0.75),
    ("p90", 0.9),
    ("p95", 0.95),
];

/// Asks a folder of rows every question of the study.
///
/// # Errors
/// [`StudyError`] if the engine cannot answer.
pub async fn answer(engine: &Engine) -> Result<Answer, StudyError> {
    let tables = vec![
        behaviour(
            engine,
            "by_temperature",
            "How do the classes of yeast behave, by the temperature of the first three days?",
            &temperature_bands(),
        )
        .await?,
        behaviour(
            engine,
            "by_pitch",
            "How do they behave, by cells pitched over cells needed?",
            &pitch_bands(),
        )
        .await?,
        slopes(engine).await?,
        waters(engine).await?,
        forecasts(engine).await?,
        calibration(engine).await?,
        inquiries(engine).await?,
        causes(engine).await?,
    ];
    Ok(Answer {
        schema: "gylewright-study/answer/1",
        told: format!(
            "A line shows where {FEWEST_OWNERS} owners and {FEWEST_BATCHES} batches stand behind it and no owner has more than half of them; further lines hide where one that is hidden could be subtracted from a total. Intervals are those that hold nine in ten, as if every batch stood for itself; batches of one owner are alike, so that they are narrower than they should be."
        ),
        tables,
    })
}

/// Bands of a number: the SQL that gives a batch its band, and the words of each.
struct Bands {
    sql: String,
    words: Vec<String>,
}

impl Bands {
    fn of(column: &str, edges: &[f64], unit: &str) -> Self {
        let mut sql = format!("CASE WHEN {column} IS NULL THEN '{}'", edges.len() + 1);
        for (band, edge) in edges.iter().enumerate() {
            let _ = write!(sql, " WHEN {column} < {edge} THEN '{band}'");
        }
        let _ = write!(sql, " ELSE '{}' END", edges.len());
        let mut words: Vec<String> = edges
            .first()
            .map(|e| format!("below {e}{unit}"))
            .into_iter()
            .collect();
        words.extend(
            edges
                .windows(2)
                .map(|w| format!("{} to {}{unit}", w[0], w[1])),
        );
        words.extend(edges.last().map(|e| format!("from {e}{unit}")));
        words.push("not said".to_owned());
        Self { sql, words }
    }

    /// The words of a band by its number.
    fn word(&self, band: &str) -> String {
        let at = band.parse::<usize>().ok();
        at.and_then(|at| self.words.get(at))
            .map_or_else(|| band.to_owned(), Clone::clone)
    }
}

fn temperature_bands() -> Bands {
    Bands::of("temperature", &TEMPERATURES, " °C")
}

fn pitch_bands() -> Bands {
    Bands::of("pitch_ratio", &PITCHES, "")
}

const CLASS: &str = "COALESCE(class, 'not said')";

/// What a class of yeast does, as [`by_class`] asks it.
pub(crate) fn behaviour_figures() -> Vec<Figure> {
    vec![
        Figure::of("attenuation", &["attenuation_read"]),
        Figure::of("days to the end", &["days_read"]),
        Figure::of(
            ESTERS,
            &["CASE WHEN esters THEN 1.0 WHEN NOT esters THEN 0.0 END"],
        ),
    ]
}

const ESTERS: &str = "fruity esters tasted, share";

fn by_class(cell: &str, figures: Vec<Figure>) -> Plan {
    Plan {
        from: "study".to_owned(),
        group: CLASS.to_owned(),
        cell: cell.to_owned(),
        figures,
    }
}

/// The two tables of behaviour, for those who would attack them.
#[cfg(test)]
pub(crate) fn behaviour_plans() -> [Plan; 2] {
    [temperature_bands(), pitch_bands()].map(|bands| by_class(&bands.sql, behaviour_figures()))
}

async fn behaviour(
    engine: &Engine,
    key: &'static str,
    question: &'static str,
    bands: &Bands,
) -> Result<Table, StudyError> {
    let plan = by_class(&bands.sql, behaviour_figures());
    let numbers = |figure: &str, m: &Comoments| {
        if figure == ESTERS {
            share("share", m, 0)
        } else {
            mean_and_sd(m, 0)
        }
    };
    table(engine, key, question, &plan, &numbers, &|cell| {
        bands.word(cell)
    })
    .await
}

async fn slopes(engine: &Engine) -> Result<Table, StudyError> {
    // The logarithm, since half and double are as far from one.
    let pitch = "CASE WHEN pitch_ratio > 0 THEN LN(pitch_ratio) END";
    let figures = vec![
        Figure::of("attenuation", &["attenuation_read", "temperature", pitch]),
        Figure::of("days to the end", &["days_read", "temperature", pitch]),
    ];
    let plan = by_class("''", figures);
    let numbers = |_: &str, m: &Comoments| {
        let mut all = BTreeMap::new();
        if let Some(fit) = m.fit() {
            let names = [
                ("by_kelvin", "by_kelvin_error"),
                ("by_ln_pitch", "by_ln_pitch_error"),
            ];
            for ((slope, error), (name, error_name)) in fit.slopes.iter().zip(names) {
                all.insert(name, *slope);
                all.insert(error_name, *error);
            }
            all.insert("left", fit.left);
            all.insert("explained", fit.explained);
        }
        all
    };
    let mut table = table(
        engine,
        "slopes",
        "What do a kelvin more, and e times as many cells, change in each class? (least squares; its classes together would mix what differs between them)",
        &plan,
        &numbers,
        &str::to_owned,
    )
    .await?;
    table.lines.retain(|line| line.group.is_some());
    Ok(table)
}

/// Each owner counts once, by the mean of the waters of their batches: a water belongs to
/// an owner, not to a batch.
async fn waters(engine: &Engine) -> Result<Table, StudyError> {
    let of_owner: Vec<String> = WATERS
        .iter()
        .map(|(_, c)| format!("AVG({c}) AS {c}"))
        .collect();
    let asked: Vec<String> = WATERS
        .iter()
        .map(|(_, c)| format!("COUNT({c}), comoments({c}), sketch({c})"))
        .collect();
    let ask = |key: &str, by: &str| {
        format!(
            "SELECT g, {} FROM (SELECT owner, {key} AS g, {} FROM study GROUP BY owner{by}) AS by_owner GROUP BY g",
            asked.join(", "),
            of_owner.join(", "),
        )
    };
    let kinds = engine
        .ask(&ask(
            "COALESCE(chlorine, 'not said')",
            ", COALESCE(chlorine, 'not said')",
        ))
        .await?;
    let all = engine.ask(&ask("'all'", "")).await?;
    let mut lines = Vec::new();
    let mut untold = 0;
    for (i, (name, _)) in WATERS.iter().enumerate() {
        let mut groups: Vec<Group<Spread>> = spreads(&kinds, i)?
            .into_iter()
            .map(|(key, standing, spread)| Group {
                key,
                all: (standing, spread),
                cells: Vec::new(),
            })
            .collect();
        groups.sort_by(|a, b| a.key.cmp(&b.key));
        let Some((_, standing, spread)) = spreads(&all, i)?.pop() else {
            continue;
        };
        let tree = Tree {
            total: (standing, spread),
            groups,
        };
        let (told, hidden) = tree.told();
        untold += hidden;
        lines.extend(
            told.into_iter()
                .map(|t| line(name, t, &str::to_owned, Spread::numbers)),
        );
    }
    Ok(Table {
        key: "waters",
        question: "How do the waters differ, as drawn? (each owner once; a quantile shows where five owners lie on either side of it, and is right within half a per cent)",
        lines,
        untold,
    })
}

/// Moments and quantiles of one number over owners.
#[derive(Debug, Clone)]
struct Spread {
    moments: Comoments,
    sketch: Sketch,
}

impl Spread {
    fn numbers(&self) -> BTreeMap<&'static str, f64> {
        let mut all = mean_and_sd(&self.moments, 0);
        let owners = self.sketch.count() as f64;
        let enough = FEWEST_OWNERS as f64;
        for (name, share) in QUANTILES {
            let beyond = owners * share.min(1.0 - share);
            if beyond >= enough
                && let Some(quantile) = self.sketch.quantile(share)
            {
                all.insert(name, quantile);
            }
        }
        all
    }
}

fn spreads(
    rows: &[RecordBatch],
    figure: usize,
) -> Result<Vec<(String, Standing, Spread)>, StudyError> {
    let keys = texts(rows, 0)?;
    let owners = counts(rows, 1 + 3 * figure)?;
    let moments = number_lists(rows, 2 + 3 * figure)?;
    let sketches = bin_lists(rows, 3 + 3 * figure)?;
    let each = keys.into_iter().zip(owners).zip(moments).zip(sketches);
    each.filter(|(((_, owners), _), _)| *owners > 0)
        .map(|(((key, owners), moments), sketch)| {
            let standing = Standing {
                owners,
                batches: owners,
                largest: 1,
            };
            let moments = Comoments::from_numbers(&moments).ok_or(StudyError::Shape("moments"))?;
            let spread = Spread {
                moments,
                sketch: sketch_of(&sketch),
            };
            Ok((key.unwrap_or_default(), standing, spread))
        })
        .collect()
}

async fn forecasts(engine: &Engine) -> Result<Table, StudyError> {
    let figures = FORECASTS
        .iter()
        .map(|(name, c)| {
            let off = format!("{c}_read - {c}_planned");
            // The middles of hundredths never lie on an end of the interval.
            let inside = format!(
                "CASE WHEN {c}_place > 0.05 AND {c}_place < 0.95 THEN 1.0 WHEN {c}_place IS NOT NULL THEN 0.0 END"
            );
            Figure { name, numbers: vec![off, inside] }
        })
        .collect();
    let numbers = |_: &str, m: &Comoments| {
        let mut all = share("inside", m, 1);
        all.extend(m.mean(0).map(|bias| ("bias", bias)));
        all.extend(m.rms(0).map(|rms| ("rms", rms)));
        all
    };
    table(
        engine,
        "forecasts",
        "How good were the predictions? (read less planned; the interval was to hold nine in ten)",
        &by_class("''", figures),
        &numbers,
        &str::to_owned,
    )
    .await
}

async fn calibration(engine: &Engine) -> Result<Table, StudyError> {
    let each: Vec<String> = FORECASTS
        .iter()
        .map(|(name, c)| format!("SELECT owner, '{name}' AS figure, {c}_place AS place FROM study"))
        .collect();
    let bands = Bands::of("place", &TENTHS, "");
    let plan = Plan {
        from: format!("({})", each.join(" UNION ALL ")),
        group: "figure".to_owned(),
        cell: bands.sql,
        figures: vec![Figure::of("forecasts", &["place"])],
    };
    let trees = plan.trees(engine).await?;
    let mut lines = Vec::new();
    let mut untold = 0;
    for tree in trees {
        let of: BTreeMap<String, f64> = tree
            .groups
            .iter()
            .map(|g| (g.key.clone(), g.all.1.count()))
            .collect();
        let (told, hidden) = tree.told();
        untold += hidden;
        for t in told.into_iter().filter(|t| t.cell.is_some()) {
            let all = t
                .group
                .as_ref()
                .and_then(|g| of.get(g))
                .copied()
                .unwrap_or_default();
            let word = |tenth: &str| {
                tenth
                    .parse::<u32>()
                    .map_or_else(|_| tenth.to_owned(), |n| format!("tenth {}", n + 1))
            };
            lines.push(line("share of what was read", t, &word, |m| {
                wilson_numbers("share", m.count(), all)
            }));
        }
    }
    Ok(Table {
        key: "calibration",
        question: "Where in its forecast did it come out? (each tenth should hold a tenth)",
        lines,
        untold,
    })
}

const CONFIRMED: &str = "CASE WHEN cause_confirmed THEN 1.0 WHEN NOT cause_confirmed THEN 0.0 END";

fn inquiry_figure() -> Figure {
    let squared = format!("({CONFIRMED} - cause_chance) * ({CONFIRMED} - cause_chance)");
    Figure::of(
        "likeliest cause, where a test or a remedy decided",
        &["cause_chance", CONFIRMED, &squared],
    )
}

fn inquiry_numbers(_: &str, m: &Comoments) -> BTreeMap<&'static str, f64> {
    let mut all = share("confirmed", m, 1);
    all.extend(m.mean(0).map(|said| ("said", said)));
    all.extend(m.mean(2).map(|brier| ("brier", brier)));
    all
}

async fn inquiries(engine: &Engine) -> Result<Table, StudyError> {
    let bands = Bands::of("cause_chance", &CHANCES, "");
    let plan = Plan {
        from: "study".to_owned(),
        group: bands.sql.clone(),
        cell: "''".to_owned(),
        figures: vec![inquiry_figure()],
    };
    let mut table = table(
        engine,
        "inquiries",
        "How good were the inquiries? (the chance said of the likeliest cause against how often it was borne out; Brier score: the mean square of the two apart)",
        &plan,
        &inquiry_numbers,
        &str::to_owned,
    )
    .await?;
    for line in &mut table.lines {
        line.group = line.group.as_deref().map(|band| bands.word(band));
    }
    Ok(table)
}

async fn causes(engine: &Engine) -> Result<Table, StudyError> {
    let plan = Plan {
        from: "study".to_owned(),
        group: "COALESCE(cause, 'not said')".to_owned(),
        cell: "''".to_owned(),
        figures: vec![inquiry_figure()],
    };
    table(
        engine,
        "causes",
        "And cause by cause?",
        &plan,
        &inquiry_numbers,
        &str::to_owned,
    )
    .await
}

async fn table(
    engine: &Engine,
    key: &'static str,
    question: &'static str,
    plan: &Plan,
    numbers: &dyn Fn(&str, &Comoments) -> BTreeMap<&'static str, f64>,
    word: &dyn Fn(&str) -> String,
) -> Result<Table, StudyError> {
    let mut lines = Vec::new();
    let mut untold = 0;
    for (figure, told, hidden) in plan.told(engine).await? {
        untold += hidden;
        lines.extend(
            told.into_iter()
                .map(|t| line(figure, t, word, |m| numbers(figure, m))),
        );
    }
    Ok(Table {
        key,
        question,
        lines,
        untold,
    })
}

fn line<T>(
    figure: &str,
    told: Told<T>,
    word: &dyn Fn(&str) -> String,
    numbers: impl Fn(&T) -> BTreeMap<&'static str, f64>,
) -> Line {
    let mut numbers = numbers(&told.what);
    numbers.values_mut().for_each(|x| *x = nine_digits(*x));
    Line {
        group: told.group,
        cell: told.cell.as_deref().map(word),
        figure: figure.to_owned(),
        owners: told.standing.owners,
        batches: told.standing.batches,
        numbers,
    }
}

/// To nine digits: what another order of summing would change is not shown.
fn nine_digits(x: f64) -> f64 {
    if x == 0.0 || !x.is_finite() {
        return 0.0;
    }
    let scale = 10f64.powi(8 - x.abs().log10().floor() as i32);
    let rounded = (x * scale).round() / scale;
    // What is left of a mean that is nought but for rounding is nought.
    if rounded.abs() < 1e-12 { 0.0 } else { rounded }
}

fn mean_and_sd(m: &Comoments, of: usize) -> BTreeMap<&'static str, f64> {
    let named = [("mean", m.mean(of)), ("sd", m.sd(of))];
    named
        .into_iter()
        .filter_map(|(name, x)| Some((name, x?)))
        .collect()
}

/// The share of ones among noughts and ones, with its interval.
fn share(name: &'static str, m: &Comoments, of: usize) -> BTreeMap<&'static str, f64> {
    let hits = m.mean(of).unwrap_or_default() * m.count();
    wilson_numbers(name, hits.round(), m.count())
}

fn wilson_numbers(name: &'static str, hits: f64, of: f64) -> BTreeMap<&'static str, f64> {
    if of <= 0.0 {
        return BTreeMap::new();
    }
    let (low, high) = wilson(hits, of, NINE_IN_TEN);
    BTreeMap::from([(name, hits / of), ("low", low), ("high", high)])
}

/// The interval of a share after so many hits: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927)
/// 209 (from memory), at `z` standard deviations.
#[must_use]
pub fn wilson(hits: f64, of: f64, z: f64) -> (f64, f64) {
    let share = hits / of;
    let zz = z * z / of;
    let middle = (share + zz / 2.0) / (1.0 + zz);
    let half = z / (1.0 + zz) * (share * (1.0 - share) / of + zz / (4.0 * of)).sqrt();
    ((middle - half).max(0.0), (middle + half).min(1.0))
}

impl Answer {
    /// For people.
    #[must_use]
    pub fn sheet(&self) -> String {
        let mut page = format!("{}\n", self.told);
        for table in &self.tables {
            let _ = write!(page, "\n{}\n", table.question);
            for line in &table.lines {
                let place = [line.group.as_deref(), line.cell.as_deref()];
                let place: Vec<&str> = place.into_iter().flatten().collect();
                let place = if place.is_empty() {
                    "all".to_owned()
                } else {
                    place.join(", ")
                };
                let numbers: Vec<String> = line
                    .numbers
                    .iter()
                    .map(|(n, x)| format!("{n} {}", short(*x)))
                    .collect();
                let _ = writeln!(
                    page,
                    "  {place}: {}: {} ({} batches, {} owners)",
                    line.figure,
                    numbers.join(", "),
                    line.batches,
                    line.owners,
                );
            }
            if table.untold > 0 {
                let _ = writeln!(page, "  {} lines are not told", table.untold);
            }
        }
        page
    }

    /// Writes every number as a row of Parquet: table, group, cell, figure, owners,
    /// batches, number, value.
    ///
    /// # Errors
    /// [`StudyError::File`], [`StudyError::Parquet`].
    pub fn write_parquet(&self, path: &Path) -> Result<(), StudyError> {
        /// A number, with the line and the table in which it stands.
        type Numbered<'t> = (&'t Table, &'t Line, &'t str, f64);
        let rows: Vec<Numbered<'_>> = self
            .tables
            .iter()
            .flat_map(|t| t.lines.iter().map(move |l| (t, l)))
            .flat_map(|(t, l)| l.numbers.iter().map(move |(name, x)| (t, l, *name, *x)))
            .collect();
        let text = |of: &dyn Fn(&Numbered<'_>) -> Option<String>| -> ArrayRef {
            Arc::new(rows.iter().map(of).collect::<StringArray>())
        };
        let count = |of: &dyn Fn(&Line) -> u64| -> ArrayRef {
            Arc::new(
                rows.iter()
                    .map(|r| of(r.1))
                    .map(Some)
                    .collect::<UInt64Array>(),
            )
        };
        let columns: [(&str, ArrayRef); 8] = [
            ("table", text(&|r| Some(r.0.key.to_owned()))),
            ("group", text(&|r| r.1.group.clone())),
            ("cell", text(&|r| r.1.cell.clone())),
            ("figure", text(&|r| Some(r.1.figure.clone()))),
            ("owners", count(&|l| l.owners)),
            ("batches", count(&|l| l.batches)),
            ("number", text(&|r| Some(r.2.to_owned()))),
            (
                "value",
                Arc::new(rows.iter().map(|r| Some(r.3)).collect::<Float64Array>()),
            ),
        ];
        let batch = RecordBatch::try_from_iter(columns)?;
        let file = File::create(path).map_err(|e| StudyError::file(path, e))?;
        let mut writer = ArrowWriter::try_new(file, batch.schema(), None)?;
        writer.write(&batch)?;
        writer.close()?;
        Ok(())
    }
}

fn short(x: f64) -> String {
    let digits = 3 - x.abs().max(1e-9).log10().floor() as i32;
    format!("{x:.*}", digits.clamp(0, 6) as usize)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R. G. Newcombe, Statistics in Medicine 17 (1998) 857, table I, method 3, from memory:
    /// 81 of 263 gives 0.2553 to 0.3662 and 15 of 148 gives 0.0624 to 0.1605, at 95 %.
    #[test]
    fn the_interval_of_a_share_as_published() {
        for (hits, of, low, high) in [(81.0, 263.0, 0.2553, 0.3662), (15.0, 148.0, 0.0624, 0.1605)]
        {
            let (found_low, found_high) = wilson(hits, of, 1.959_964);
            assert!(
                (found_low - low).abs() < 5e-5 && (found_high - high).abs() < 5e-5,
                "{found_low} {found_high}"
            );
        }
        assert!(wilson(0.0, 20.0, NINE_IN_TEN).0.abs() < 1e-12);
    }

    #[test]
    fn every_band_has_its_words() {
        let bands = Bands::of("x", &[1.0, 2.5], " °C");
        let words: Vec<String> = ["0", "1", "2", "3"].map(|b| bands.word(b)).to_vec();
        assert_eq!(
            words,
            ["below 1 °C", "1 to 2.5 °C", "from 2.5 °C", "not said"]
        );
        assert_eq!(
            bands.sql,
            "CASE WHEN x IS NULL THEN '3' WHEN x < 1 THEN '0' WHEN x < 2.5 THEN '1' ELSE '2' END"
        );
    }

    #[test]
    fn digits_beyond_the_ninth_are_not_told() {
        assert_eq!(nine_digits(0.123_456_789_123).to_string(), "0.123456789");
        assert_eq!(nine_digits(-12_345.678_912_3).to_string(), "-12345.6789");
        assert!(nine_digits(3e-17).abs() < 1e-300);
    }
}
