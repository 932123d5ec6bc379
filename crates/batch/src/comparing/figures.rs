//! The figures of batches beside each other.

use quantity::Weight;

use crate::certainty::figures::{FIGURES, Watched};
use crate::sign::Stage;
use crate::stream::Reckoning;

/// The numbers of a reckoning; what it does not have is not a number.
pub(super) fn numbers(r: &Reckoning) -> Vec<f64> {
    // An end that is not reached in the time of the plan lies beyond it.
    let course = &r.document.fermentation.course;
    let late = course.last().map_or(f64::NAN, |p| p.at.canonical());
    let number = |w: &Watched| match (w.read)(r) {
        Some(x) => x,
        None if w.key == "ends" => late,
        None => f64::NAN,
    };
    FIGURES.iter().map(number).collect()
}

/// A figure of each batch that differs as it is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The stage that it belongs to.
    pub stage: Stage,
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// In metric and in US units, batch by batch; none where one has no such figure.
    pub values: Vec<Option<[String; 2]>>,
}

/// How a stage stands in each batch.
#[derive(Debug, Clone, PartialEq)]
pub struct Stood {
    /// The stage.
    pub stage: Stage,
    /// Its sign, batch by batch, with the heaviest reason.
    pub signs: Vec<(Weight, Option<String>)>,
}

/// The figures that differ, from tap to glass, and how many are the same.
pub(super) fn rows(batches: &[&Reckoning]) -> (Vec<Row>, usize) {
    let all: Vec<_> = batches.iter().map(|r| r.figures()).collect();
    let mut rows: Vec<Row> = Vec::new();
    for figure in all.iter().flatten() {
        if rows.iter().any(|row| row.key == figure.key) {
            continue;
        }
        let of = |figures: &Vec<crate::KeyFigure>| {
            let found = figures.iter().find(|f| f.key == figure.key)?;
            Some([found.text.metric.clone(), found.text.us.clone()])
        };
        rows.push(Row {
            stage: figure.stage,
            key: figure.key,
            label: figure.label,
            values: all.iter().map(of).collect(),
        });
    }
    let known = rows.len();
    rows.retain(|row| row.values.iter().any(|v| *v != row.values[0]));
    rows.sort_by_key(|row| row.stage);
    let same = known - rows.len();
    (rows, same)
}

/// The stages that do not stand fine in every batch.
pub(super) fn stood(batches: &[&Reckoning]) -> Vec<Stood> {
    let stage = |stage: Stage| Stood {
        stage,
        signs: batches
            .iter()
            .map(|r| {
                r.sign(stage).map_or((Weight::Fine, None), |sign| {
                    (sign.weight, sign.reason().map(str::to_owned))
                })
            })
            .collect(),
    };
    let all = Stage::ALL.into_iter().map(stage);
    all.filter(|s| s.signs.iter().any(|(weight, _)| *weight > Weight::Fine))
        .collect()
}
