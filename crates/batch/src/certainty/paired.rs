//! Two batches drawn together: what is not known of both alike is one draw.
//!
//! Two batches on the same kit, water and yeast share most of what is not known of either.
//! Drawn apart, the difference of two figures looks far less sure than it is. What a model
//! does not know of one brewing (how fast the yeast works this time) is drawn for each.

use std::collections::BTreeMap;

use quantity::numeric::normal_below;
use rayon::prelude::*;
use toml::de::DeTable;

use super::doubt::{Doubt, Origin, drawn_anew};
use super::nature::Nature;
use super::normal::quantile;
use super::{CertaintyError, sobol};
use crate::reader::Fault;
use crate::stream::Reckoning;

/// What is read of one draw of both; none where one of them cannot be brewed.
pub(crate) type Pair = Option<(Vec<f64>, Vec<f64>)>;

/// For each doubt of the second, the draw that it has: that of the first for what both
/// share, one of its own for the rest; and how many draws that makes.
fn shared(first: &[Doubt], second: &[Doubt]) -> (Vec<usize>, usize) {
    let mut known: BTreeMap<(String, String), Vec<usize>> = BTreeMap::new();
    for (at, doubt) in first.iter().enumerate().rev() {
        known.entry(same(doubt)).or_default().push(at);
    }
    let mut all = first.len();
    let columns = second.iter().map(|doubt| {
        let of_first = known.get_mut(&same(doubt)).and_then(Vec::pop);
        of_first.unwrap_or_else(|| {
            all += 1;
            all - 1
        })
    });
    (columns.collect(), all)
}

/// How the second has a draw that both share: one of its own beside it, and the share of
/// the variance that this makes.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Anew {
    /// Which draw of its own.
    own: usize,
    share: f64,
}

impl Anew {
    /// Of each doubt of the second, after `all` draws; none where nothing is drawn anew.
    fn of(first: usize, second: &[Doubt], columns: &[usize], all: usize) -> Vec<Option<Self>> {
        let mut next = all;
        let each = second.iter().zip(columns).map(|(doubt, column)| {
            let share = match doubt.origin {
                Origin::Model if *column < first => drawn_anew(&doubt.path),
                _ => 0.0,
            };
            (share > 0.0).then(|| {
                next += 1;
                Self {
                    own: next - 1,
                    share,
                }
            })
        });
        each.collect()
    }

    /// The chance of the second, by that of the first and one of its own: both have so much
    /// of their variance for themselves, and what they share is their correlation.
    fn chance(self, first: f64, own: f64) -> f64 {
        let shared = 1.0 - self.share;
        let z = shared * quantile(first) + (1.0 - shared * shared).sqrt() * quantile(own);
        normal_below(z).clamp(1e-8, 1.0 - 1e-8)
    }
}

/// What makes two doubts one: a model or a class errs the same way in both, whatever its
/// figure comes to; a figure of the document is the same where the same is written, at
/// whichever place of its list.
fn same(doubt: &Doubt) -> (String, String) {
    match doubt.origin {
        Origin::Model | Origin::Class => (doubt.path.clone(), String::new()),
        Origin::Document => {
            let mut within = false;
            let path = doubt.path.chars().filter(|c| {
                within = (within || *c == '[') && *c != ']';
                !within
            });
            (path.collect(), doubt.value[0].clone())
        }
    }
}

/// Figures of two documents, drawn together. `go_on` is asked before each draw.
pub(crate) fn paired(
    texts: (&str, &str),
    draws: usize,
    seed: u32,
    read: &(dyn Fn(&Reckoning) -> Vec<f64> + Sync),
    go_on: &(dyn Fn() -> bool + Sync),
) -> Result<Vec<Pair>, CertaintyError> {
    let parse = |text| {
        DeTable::parse(text)
            .map_err(|error| CertaintyError::Document(vec![Fault::from_toml(&error, text)]))
    };
    let tables = (parse(texts.0)?, parse(texts.1)?);
    let first = Nature::of(tables.0.get_ref())?;
    let second = Nature::of(tables.1.get_ref())?;
    let own = first.doubts().len();
    let (columns, all) = shared(first.doubts(), second.doubts());
    let anew = Anew::of(own, second.doubts(), &columns, all);
    let draws_a_pair = all + anew.iter().flatten().count();
    let draw = |j: u32| {
        if !go_on() {
            return Err(CertaintyError::Stopped);
        }
        let chances = sobol::point(j, 0..draws_a_pair, seed);
        let of_first = chances.iter().take(own).copied().collect();
        let each = columns.iter().zip(&anew);
        let of_second = each
            .map(|(column, anew)| {
                let shared = chances[*column];
                anew.map_or(shared, |anew| anew.chance(shared, chances[anew.own]))
            })
            .collect();
        let both = first
            .reckoned_at(of_first)
            .ok()
            .zip(second.reckoned_at(of_second).ok());
        Ok(both.map(|(a, b)| (read(&a), read(&b))))
    };
    (0..draws as u32).into_par_iter().map(draw).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn doubt(path: &str, value: &str, origin: Origin) -> Doubt {
        Doubt {
            path: path.to_owned(),
            what: String::new(),
            value: [value.to_owned(), value.to_owned()],
            origin,
            settle: String::new(),
            source: None,
        }
    }

    /// What two numbers share of their variance is their correlation, by its definition.
    #[test]
    fn what_is_drawn_anew_is_no_longer_shared() {
        for share in [0.25, 0.5, 1.0] {
            let anew = Anew { own: 1, share };
            let n = 4096;
            let products = (0..n).map(|j| {
                let both = sobol::point(j, 0..2, 5);
                quantile(both[0]) * quantile(anew.chance(both[0], both[1]))
            });
            let correlation = products.sum::<f64>() / f64::from(n);
            assert!((correlation - (1.0 - share)).abs() < 0.02, "{correlation}");
        }
        let own = [doubt("model.speed", "", Origin::Model)];
        let found = Anew::of(1, &own, &[0], 1);
        assert_eq!(found, [Some(Anew { own: 1, share: 1.0 })]);
        let class = [doubt("hop[1].alpha", "", Origin::Class)];
        assert_eq!(Anew::of(1, &class, &[0], 1), [None]);
    }

    #[test]
    fn what_both_share_is_one_draw() {
        let of = |path: &str, value: &str| doubt(path, value, Origin::Document);
        let model = |value: &str| doubt("model.bitterness", value, Origin::Model);
        let first = [
            of("water.source[1].calcium", "95 ± 5 mg/L"),
            of("water.source[2].calcium", "10 ± 2 mg/L"),
            of("kit.evaporation", "3.2 ± 0.4 kg/h"),
            model("28 ± 5 IBU"),
        ];
        let second = [
            of("water.source[1].calcium", "10 ± 2 mg/L"),
            of("kit.evaporation", "4.0 ± 0.4 kg/h"),
            model("35 ± 6 IBU"),
            of("water.source[2].calcium", "10 ± 2 mg/L"),
        ];
        // The water by what is written, the model by itself; another kettle and a second
        // water of the same figures are draws of their own.
        assert_eq!(shared(&first, &second), (vec![1, 4, 3, 5], 6));
        assert_eq!(shared(&first, &first), (vec![0, 1, 2, 3], 4));
    }
}
