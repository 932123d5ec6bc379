//! What is too few to be told, and what must stay untold with it.
//!
//! A cell shows where [`FEWEST_OWNERS`] owners and [`FEWEST_BATCHES`] batches stand
//! behind it and no owner has more than half of them (judgement, after the rules of
//! minimum frequency and dominance that statistical offices use). A hidden cell must not
//! come out by subtraction either: what is left of a total when the cells that show are
//! taken off is held to the same rule, and where it fails a further cell hides, the one
//! with the fewest batches first. The total is taken as known even where it is not
//! printed, since another table may add up to it.
//!
//! Not met: two answers over nearly the same batches, before and after a withdrawal, can
//! be subtracted from each other; somebody who knows which groups are empty, or who owns
//! batches of a cell, knows more than is reckoned with here.

/// Fewest owners behind a number.
pub const FEWEST_OWNERS: u64 = 5;
/// Fewest batches behind a number.
pub const FEWEST_BATCHES: u64 = 10;

/// Who stands behind a number.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Standing {
    /// Owners.
    pub owners: u64,
    /// Batches.
    pub batches: u64,
    /// Batches of the owner that has the most.
    pub largest: u64,
}

impl Standing {
    /// Of the batches of each owner.
    pub fn of<'a>(batches: impl Iterator<Item = &'a u64> + Clone) -> Self {
        Self {
            owners: batches.clone().count() as u64,
            batches: batches.clone().sum(),
            largest: batches.copied().max().unwrap_or(0),
        }
    }

    /// Whether it is enough to be told.
    #[must_use]
    pub const fn shows(&self) -> bool {
        self.owners >= FEWEST_OWNERS
            && self.batches >= FEWEST_BATCHES
            && self.largest.saturating_mul(2) <= self.batches
    }

    /// What is sure of several together: at least the owners of the one that has the
    /// most, and no owner with more than the largest of each.
    #[must_use]
    fn together(self, other: Self) -> Self {
        Self {
            owners: self.owners.max(other.owners),
            batches: self.batches + other.batches,
            largest: self.largest + other.largest,
        }
    }
}

/// Which cells of one total show; the total is taken as known.
#[must_use]
pub fn shown(cells: &[Standing]) -> Vec<bool> {
    let mut shown: Vec<bool> = cells.iter().map(Standing::shows).collect();
    loop {
        let pairs = cells.iter().zip(&shown);
        let hidden = pairs.filter(|(_, shows)| !**shows).map(|(cell, _)| *cell);
        let Some(hidden) = hidden.reduce(Standing::together) else {
            return shown;
        };
        if hidden.shows() {
            return shown;
        }
        let fewest = cells
            .iter()
            .zip(&mut shown)
            .filter(|(_, shows)| **shows)
            .min_by_key(|(cell, _)| cell.batches);
        match fewest {
            Some((_, shows)) => *shows = false,
            None => return shown,
        }
    }
}

/// A total, the groups that it falls into, and the cells of each group.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tree<T> {
    /// Everything together.
    pub total: (Standing, T),
    /// The groups.
    pub groups: Vec<Group<T>>,
}

/// A group and its cells.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Group<T> {
    /// Which.
    pub key: String,
    /// The group together.
    pub all: (Standing, T),
    /// Its cells: key, who stands behind, what is told.
    pub cells: Vec<(String, Standing, T)>,
}

/// A line that may be told.
#[derive(Debug, Clone, PartialEq)]
pub struct Told<T> {
    /// The group; none for the total.
    pub group: Option<String>,
    /// The cell; none for the group.
    pub cell: Option<String>,
    /// Who stands behind it.
    pub standing: Standing,
    /// What is told.
    pub what: T,
}

impl<T> Tree<T> {
    /// The lines that may be told, and how many are not.
    #[must_use]
    pub fn told(self) -> (Vec<Told<T>>, usize) {
        let lines = |g: &Group<T>| 1 + g.cells.len();
        let of_all: usize = 1 + self.groups.iter().map(lines).sum::<usize>();
        let mut told = Vec::new();
        if self.total.0.shows() {
            let standings: Vec<Standing> = self.groups.iter().map(|g| g.all.0).collect();
            told.push(line(None, None, self.total));
            for (group, shows) in self.groups.into_iter().zip(shown(&standings)) {
                if shows {
                    tell_group(group, &mut told);
                }
            }
        }
        let untold = of_all - told.len();
        (told, untold)
    }
}

fn tell_group<T>(group: Group<T>, told: &mut Vec<Told<T>>) {
    let standings: Vec<Standing> = group
        .cells
        .iter()
        .map(|(_, standing, _)| *standing)
        .collect();
    let key = Some(group.key);
    told.push(line(key.clone(), None, group.all));
    for ((cell, standing, what), shows) in group.cells.into_iter().zip(shown(&standings)) {
        if shows {
            told.push(line(key.clone(), Some(cell), (standing, what)));
        }
    }
}

fn line<T>(group: Option<String>, cell: Option<String>, of: (Standing, T)) -> Told<T> {
    Told {
        group,
        cell,
        standing: of.0,
        what: of.1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const fn standing(owners: u64, batches: u64, largest: u64) -> Standing {
        Standing {
            owners,
            batches,
            largest,
        }
    }

    #[test]
    fn too_few_owners_too_few_batches_or_one_owner_too_large() {
        assert!(standing(5, 10, 5).shows());
        assert!(!standing(4, 100, 30).shows());
        assert!(!standing(9, 9, 1).shows());
        assert!(!standing(5, 10, 6).shows());
    }

    #[test]
    fn one_hidden_cell_takes_another_with_it() {
        let cells = [standing(8, 40, 9), standing(2, 3, 2), standing(6, 20, 6)];
        assert_eq!(shown(&cells), [true, false, false]);
        // Alone with its total it cannot be kept but by hiding all.
        let cells = [standing(8, 40, 9), standing(2, 3, 2)];
        assert_eq!(shown(&cells), [false, false]);
        assert_eq!(shown(&[standing(8, 40, 9)]), [true]);
        assert!(shown(&[]).is_empty());
    }

    proptest! {
        #[test]
        fn what_is_left_of_the_total_is_enough_or_everything(
            cells in prop::collection::vec((0u64..9, 0u64..30, 1u64..9), 0..8),
        ) {
            let cells: Vec<Standing> = cells.into_iter()
                .map(|(owners, more, largest)| standing(owners, owners + more, largest.min(owners + more)))
                .collect();
            let shown = shown(&cells);
            let hidden: Vec<Standing> = cells.iter().zip(&shown)
                .filter(|(_, s)| !**s).map(|(c, _)| *c).collect();
            for (cell, shows) in cells.iter().zip(&shown) {
                prop_assert!(!shows || cell.shows());
            }
            if let Some(left) = hidden.iter().copied().reduce(Standing::together) {
                prop_assert!(left.shows() || hidden.len() == cells.len());
            }
        }
    }
}
