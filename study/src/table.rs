//! One table of the study: who stands behind each cell, what its figures come to, and
//! what of it may be told.

use std::collections::BTreeMap;

use crate::StudyError;
use crate::comoments::Comoments;
use crate::engine::{Engine, counts, number_lists, pseudonyms, texts};
use crate::suppress::{Group, Standing, Told, Tree};

/// A figure of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Figure {
    /// What it is called.
    pub(crate) name: &'static str,
    /// One to three numbers, in SQL; the figure counts where none of them is null.
    pub(crate) numbers: Vec<String>,
}

/// A table: rows by group and, within it, by cell.
#[derive(Debug, Clone)]
pub(crate) struct Plan {
    /// Where the rows come from: the study, or a query in brackets.
    pub(crate) from: String,
    /// The key of the group, in SQL; a text that is never null.
    pub(crate) group: String,
    /// The key of the cell, likewise; '' for a table without cells.
    pub(crate) cell: String,
    /// Its figures.
    pub(crate) figures: Vec<Figure>,
}

/// A key: group and cell; none stands for all of them together.
type Key = (Option<String>, Option<String>);

impl Plan {
    /// The tree of each figure.
    pub(crate) async fn trees(&self, engine: &Engine) -> Result<Vec<Tree<Comoments>>, StudyError> {
        let standings = self.standings(engine).await?;
        let moments = self.moments(engine).await?;
        let each = self.figures.iter().zip(standings).zip(moments);
        Ok(each
            .map(|((figure, who), what)| tree(figure, &who, &what))
            .collect())
    }

    /// What may be told of each figure, and how many lines may not.
    pub(crate) async fn told(
        &self,
        engine: &Engine,
    ) -> Result<Vec<(&'static str, Vec<Told<Comoments>>, usize)>, StudyError> {
        let trees = self.trees(engine).await?;
        let each = self.figures.iter().zip(trees);
        Ok(each
            .map(|(figure, tree)| {
                let (told, untold) = tree.told();
                (figure.name, told, untold)
            })
            .collect())
    }

    /// Owners, batches and the largest owner of every cell, group and the whole, figure
    /// by figure. An owner of several cells counts once in their group, so that sums of
    /// cells would not do; what grows here grows with the owners, not with the batches.
    async fn standings(&self, engine: &Engine) -> Result<Vec<BTreeMap<Key, Standing>>, StudyError> {
        let counted: Vec<String> = self
            .figures
            .iter()
            .map(|f| format!("COUNT({})", f.known()))
            .collect();
        let query = format!(
            "SELECT g, c, owner, {} FROM (SELECT {} AS g, {} AS c, s.* FROM {} AS s) AS keyed GROUP BY owner, g, c",
            counted.join(", "),
            self.group,
            self.cell,
            self.from,
        );
        let rows = engine.ask(&query).await?;
        let keys = keys(&rows)?;
        let owners = pseudonyms(&rows, 2)?;
        let mut all = Vec::new();
        for i in 0..self.figures.len() {
            let mut behind: BTreeMap<Key, BTreeMap<u64, u64>> = BTreeMap::new();
            let each = keys.iter().zip(&owners).zip(counts(&rows, 3 + i)?);
            for (((g, c), owner), batches) in each.filter(|(_, batches)| *batches > 0) {
                for key in [(None, None), (g.clone(), None), (g.clone(), c.clone())] {
                    *behind.entry(key).or_default().entry(*owner).or_default() += batches;
                }
            }
            let standings = behind
                .into_iter()
                .map(|(key, owners)| (key, Standing::of(owners.values())));
            all.push(standings.collect());
        }
        Ok(all)
    }

    async fn moments(&self, engine: &Engine) -> Result<Vec<BTreeMap<Key, Comoments>>, StudyError> {
        let asked: Vec<String> = self
            .figures
            .iter()
            .map(|f| format!("comoments({})", f.numbers.join(", ")))
            .collect();
        let query = format!(
            "SELECT g, c, {} FROM (SELECT {} AS g, {} AS c, s.* FROM {} AS s) AS keyed GROUP BY g, c",
            asked.join(", "),
            self.group,
            self.cell,
            self.from,
        );
        let rows = engine.ask(&query).await?;
        let keys = keys(&rows)?;
        let mut all = Vec::new();
        for i in 0..self.figures.len() {
            let each = number_lists(&rows, 2 + i)?;
            let parts = each
                .iter()
                .map(|numbers| Comoments::from_numbers(numbers).ok_or(StudyError::Shape("moments")))
                .collect::<Result<Vec<_>, _>>()?;
            all.push(keys.iter().cloned().zip(parts).collect());
        }
        Ok(all)
    }
}

impl Figure {
    pub(crate) fn of(name: &'static str, numbers: &[&str]) -> Self {
        Self {
            name,
            numbers: numbers.iter().map(|n| (*n).to_owned()).collect(),
        }
    }

    /// Not null where the figure counts: a sum is null where one of its terms is.
    fn known(&self) -> String {
        self.numbers.join(" + ")
    }
}

fn keys(rows: &[datafusion::arrow::array::RecordBatch]) -> Result<Vec<Key>, StudyError> {
    Ok(texts(rows, 0)?.into_iter().zip(texts(rows, 1)?).collect())
}

/// Puts groups over cells and the whole over groups; what nobody stands behind is left out.
fn tree(
    figure: &Figure,
    standings: &BTreeMap<Key, Standing>,
    moments: &BTreeMap<Key, Comoments>,
) -> Tree<Comoments> {
    let nothing = || Comoments::new(figure.numbers.len());
    let standing = |key: &Key| standings.get(key).copied().unwrap_or_default();
    let mut tree = Tree {
        total: (standing(&(None, None)), nothing()),
        groups: Vec::<Group<Comoments>>::new(),
    };
    for (key, part) in moments {
        let ((Some(g), Some(c)), who) = (key, standing(key)) else {
            continue;
        };
        if who.batches == 0 {
            continue;
        }
        tree.total.1.merge(part);
        if tree.groups.last().is_none_or(|last| &last.key != g) {
            tree.groups.push(Group {
                key: g.clone(),
                all: (standing(&(Some(g.clone()), None)), nothing()),
                cells: Vec::new(),
            });
        }
        if let Some(group) = tree.groups.last_mut() {
            group.all.1.merge(part);
            if !c.is_empty() {
                group.cells.push((c.clone(), who, part.clone()));
            }
        }
    }
    tree
}
