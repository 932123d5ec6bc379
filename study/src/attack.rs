//! An attack on what is told: who adds and subtracts every published line of both tables
//! of behaviour must not come to a line that was hidden for being too small.

use std::collections::{BTreeMap, BTreeSet};

use crate::answer::{PITCHES, TEMPERATURES, behaviour_plans};
use crate::comoments::Comoments;
use crate::engine::Engine;
use crate::folder::Folder;
use crate::row::Row;
use crate::suppress::{Standing, Tree};
use quantity::numeric::split_mix;

const CLASSES: [&str; 4] = ["lager", "neutral ale", "saison", "wheat"];
/// Bands of a table, that of what is not said among them.
const BANDS: [usize; 2] = [TEMPERATURES.len() + 2, PITCHES.len() + 2];

/// Rows of few owners, so that many cells are small, or of more owners with a rare cell in
/// each class, as a single one that hides is what subtraction finds.
fn rows(seed: u64) -> Vec<Row> {
    let mut state = seed;
    let mut share = || (split_mix(&mut state) >> 11) as f64 / (1u64 << 53) as f64;
    let (owners, batches) = if seed.is_multiple_of(2) {
        (11.0, 260)
    } else {
        (40.0, 700)
    };
    (0..batches)
        .map(|n| {
            let spread = if seed.is_multiple_of(2) {
                (8.0 + 22.0 * share(), 0.3 + 2.2 * share().powi(2))
            } else {
                let temp = if share() < 0.02 {
                    5.0
                } else {
                    15.0 + 12.0 * share()
                };
                (temp, if share() < 0.02 { 0.3 } else { 0.85 + share() })
            };
            Row {
                owner: 1 + (owners * share().powi(2)) as u64,
                batch: n,
                class: Some(CLASSES[(4.0 * share().powi(2)) as usize].to_owned()),
                temperature: Some(spread.0),
                pitch_ratio: Some(spread.1),
                attenuation_read: (share() < 0.9).then(|| 0.7 + 0.1 * share()),
                ..Row::default()
            }
        })
        .map(Row::rounded)
        .collect()
}

fn band(x: f64, edges: &[f64]) -> usize {
    edges.iter().position(|e| x < *e).unwrap_or(edges.len())
}

/// Where a row lies: class, band of temperature, band of pitch.
fn atom(row: &Row) -> [usize; 3] {
    let class = row.class.as_deref();
    [
        CLASSES.iter().position(|c| Some(*c) == class).unwrap(),
        band(row.temperature.unwrap(), &TEMPERATURES),
        band(row.pitch_ratio.unwrap(), &PITCHES),
    ]
}

/// A line of a table: which class, which band of it; none is all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Place {
    table: usize,
    class: Option<usize>,
    band: Option<usize>,
}

impl Place {
    fn of(table: usize, group: Option<&str>, cell: Option<&str>) -> Self {
        Self {
            table,
            class: group.map(|g| CLASSES.iter().position(|c| *c == g).unwrap()),
            band: cell.map(|c| c.parse().unwrap()),
        }
    }

    fn holds(self, atom: [usize; 3]) -> bool {
        self.class.is_none_or(|c| c == atom[0])
            && self.band.is_none_or(|b| b == atom[1 + self.table])
    }

    /// Which unknown sums a line adds up, for one who knows which cells of the two tables
    /// are empty.
    fn equation(self, filled: &BTreeSet<Place>) -> Vec<f64> {
        let mut all = Vec::new();
        for class in 0..CLASSES.len() {
            for temp in 0..BANDS[0] {
                for pitch in 0..BANDS[1] {
                    let cell = |table, band| Self {
                        table,
                        class: Some(class),
                        band: Some(band),
                    };
                    let known = filled.contains(&cell(0, temp)) && filled.contains(&cell(1, pitch));
                    let adds = known && self.holds([class, temp, pitch]);
                    all.push(if adds { 1.0 } else { 0.0 });
                }
            }
        }
        all
    }
}

/// Every line of a tree, by what is counted in the rows themselves.
fn standing_of(place: Place, rows: &[&Row]) -> Standing {
    let mut by_owner: BTreeMap<u64, u64> = BTreeMap::new();
    for row in rows.iter().filter(|row| place.holds(atom(row))) {
        *by_owner.entry(row.owner).or_default() += 1;
    }
    Standing::of(by_owner.values())
}

fn places(table: usize, tree: &Tree<Comoments>) -> Vec<(Place, Standing)> {
    let mut all = vec![(Place::of(table, None, None), tree.total.0)];
    for group in &tree.groups {
        all.push((Place::of(table, Some(&group.key), None), group.all.0));
        let cells = group.cells.iter();
        all.extend(
            cells.map(|(c, standing, _)| (Place::of(table, Some(&group.key), Some(c)), *standing)),
        );
    }
    all
}

/// Whether sums and differences of equations come to another: elimination, row by row.
struct Span(Vec<Vec<f64>>);

impl Span {
    fn of(equations: impl Iterator<Item = Vec<f64>>) -> Self {
        let mut span = Self(Vec::new());
        for equation in equations {
            let left = span.left_of(equation);
            if left.iter().any(|x| x.abs() > 1e-9) {
                span.0.push(left);
            }
        }
        span
    }

    fn left_of(&self, mut equation: Vec<f64>) -> Vec<f64> {
        for row in &self.0 {
            let Some(lead) = row.iter().position(|x| x.abs() > 1e-9) else {
                continue;
            };
            let times = equation[lead] / row[lead];
            for (x, y) in equation.iter_mut().zip(row) {
                *x -= times * y;
            }
        }
        equation
    }

    fn holds(&self, equation: Vec<f64>) -> bool {
        self.left_of(equation).iter().all(|x| x.abs() < 1e-7)
    }
}

#[tokio::test]
async fn hidden_lines_do_not_come_out_by_subtraction() {
    let mut hidden_in_all = 0;
    let mut found_where_only_the_small_hide = 0;
    for seed in 1..=6 {
        let all = rows(seed);
        let folder = tempfile::tempdir().unwrap();
        let file = Folder::make(folder.path()).unwrap();
        // In several files, as several tasks read them.
        for (n, part) in all.chunks(100).enumerate() {
            file.write_part(n + 1, part).unwrap();
        }
        let engine = Engine::here(folder.path().to_str().unwrap()).await.unwrap();
        let known: Vec<&Row> = all
            .iter()
            .filter(|r| r.attenuation_read.is_some())
            .collect();

        let mut told = BTreeSet::new();
        let mut every: Vec<(Place, Standing)> = Vec::new();
        for (table, plan) in behaviour_plans().iter().enumerate() {
            let tree = plan
                .trees(&engine)
                .await
                .unwrap()
                .into_iter()
                .next()
                .unwrap();
            // What the engine counts is what is there.
            for (place, standing) in places(table, &tree) {
                assert_eq!(standing, standing_of(place, &known), "{place:?}");
            }
            every.extend(places(table, &tree));
            let (lines, _) = tree.told();
            told.extend(
                lines
                    .iter()
                    .map(|l| Place::of(table, l.group.as_deref(), l.cell.as_deref())),
            );
        }
        let filled: BTreeSet<Place> = every.iter().map(|(p, _)| *p).collect();
        let span = Span::of(told.iter().map(|p| p.equation(&filled)));
        let naive = Span::of(
            every
                .iter()
                .filter(|(_, s)| s.shows())
                .map(|(p, _)| p.equation(&filled)),
        );
        let small: Vec<&(Place, Standing)> = every.iter().filter(|(_, s)| !s.shows()).collect();
        hidden_in_all += small.len();
        for (place, standing) in small {
            assert!(
                !span.holds(place.equation(&filled)),
                "{place:?} of {standing:?} comes out, seed {seed}"
            );
            found_where_only_the_small_hide += usize::from(naive.holds(place.equation(&filled)));
        }
        assert!(told.len() > 4, "something must be told, seed {seed}");
        left_over_is_enough(&told, &every, &known);
    }
    assert!(hidden_in_all > 20, "the rows must have small cells");
    // The attack works where nothing but the small cells hides, so that it can fail above.
    assert!(found_where_only_the_small_hide > 0);
}

/// What is left of a class when its told cells are taken off is nothing, or enough, by
/// the owners that are really there.
fn left_over_is_enough(told: &BTreeSet<Place>, every: &[(Place, Standing)], rows: &[&Row]) {
    for class in told
        .iter()
        .filter(|p| p.class.is_some() && p.band.is_none())
    {
        let hidden: Vec<Place> = every
            .iter()
            .map(|(p, _)| *p)
            .filter(|p| {
                p.table == class.table
                    && p.class == class.class
                    && p.band.is_some()
                    && !told.contains(p)
            })
            .collect();
        let mut by_owner: BTreeMap<u64, u64> = BTreeMap::new();
        for row in rows
            .iter()
            .filter(|r| hidden.iter().any(|p| p.holds(atom(r))))
        {
            *by_owner.entry(row.owner).or_default() += 1;
        }
        let left = Standing::of(by_owner.values());
        assert!(
            left.batches == 0 || left.shows(),
            "{class:?} leaves {left:?}"
        );
    }
}
