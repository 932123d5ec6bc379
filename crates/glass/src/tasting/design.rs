//! Who gets which glass when, under which code: drawn from a seed, so that the
//! same seed gives the same sheets.

use quantity::numeric::split_mix;

use super::error::{TastingError, count};
use super::protocol::Protocol;

/// Which of the two beers is in a glass.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Beer {
    /// The batch.
    Batch,
    /// The beer that was the aim.
    Reference,
}

use Beer::{Batch as B, Reference as R};

/// One tasting as it is poured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Serving {
    /// What the coded glasses hold, from the first to the last.
    pub glasses: Vec<Beer>,
    /// Their codes, in the same order.
    pub codes: Vec<u16>,
    /// What the open reference glass holds, where there is one.
    pub shown: Option<Beer>,
}

/// All tastings of a session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Design {
    /// How it is asked.
    pub protocol: Protocol,
    /// The seed it was drawn from.
    pub seed: u64,
    /// One row a tasting, in the order of pouring.
    pub servings: Vec<Serving>,
}

impl Protocol {
    /// The orders that are poured equally often. Sources: ISO 4120, ISO 10399,
    /// ISO 5495; tetrad and 3-AFC by their symmetry (from memory). In a duo-trio
    /// the reference beer is the open glass throughout: tasters know it best.
    #[must_use]
    pub const fn orders(self) -> &'static [&'static [Beer]] {
        match self {
            Self::Triangle => &[
                &[R, R, B],
                &[R, B, R],
                &[B, R, R],
                &[B, B, R],
                &[B, R, B],
                &[R, B, B],
            ],
            Self::Tetrad => &[
                &[R, R, B, B],
                &[R, B, R, B],
                &[R, B, B, R],
                &[B, B, R, R],
                &[B, R, B, R],
                &[B, R, R, B],
            ],
            Self::DuoTrio | Self::Paired | Self::PairedEither => &[&[R, B], &[B, R]],
            Self::ThreeChoices => &[&[B, R, R], &[R, B, R], &[R, R, B]],
            Self::OneGlass => &[&[R], &[B]],
        }
    }
}

impl Serving {
    /// Whether the codes that a taster named are the right ones: the odd glass,
    /// the one like the reference, the one with more (where the batch is taken to
    /// have it), or either pair of a tetrad. None if a code is not of this
    /// serving, or not as many were named as are asked for. A single glass is named if
    /// it is called another beer than the reference.
    #[must_use]
    pub fn right(&self, protocol: Protocol, named: &[u16]) -> Option<bool> {
        let held: Vec<Beer> = named
            .iter()
            .map(|code| {
                let at = self.codes.iter().position(|c| c == code)?;
                self.glasses.get(at).copied()
            })
            .collect::<Option<_>>()?;
        match (protocol, held.as_slice()) {
            (Protocol::Tetrad, [a, b]) if named[0] != named[1] => Some(a == b),
            (Protocol::Triangle, [one]) => {
                Some(self.glasses.iter().filter(|beer| *beer == one).count() == 1)
            }
            (Protocol::DuoTrio, [one]) => Some(Some(*one) == self.shown),
            (Protocol::Paired | Protocol::PairedEither | Protocol::ThreeChoices, [one]) => {
                Some(*one == Beer::Batch)
            }
            (Protocol::OneGlass, [one]) => Some(*one == Beer::Batch),
            (Protocol::OneGlass, []) => Some(self.glasses == [Beer::Reference]),
            _ => None,
        }
    }
}

/// Draws a design: blocks that hold every order once, each block shuffled, and
/// fresh three-digit codes.
///
/// With a multiple of the number of orders each is poured equally often; a rest
/// holds each at most once. Single glasses are one block: after every second glass
/// of small ones the next could be told.
///
/// # Errors
/// [`TastingError::Count`] for no tasting, or more glasses than there are codes.
pub fn design(protocol: Protocol, tastings: u32, seed: u64) -> Result<Design, TastingError> {
    count(protocol.nouns().1, tastings)?;
    let glasses = tastings as usize * protocol.coded_glasses();
    let mut draw = Draw(seed);
    let mut codes = codes();
    if glasses > codes.len() {
        return Err(TastingError::Count {
            what: "coded glasses in one session",
            given: glasses,
            least: 1,
            most: codes.len(),
        });
    }
    draw.shuffle(&mut codes);
    let mut codes = codes.into_iter();
    let blocks = match protocol {
        Protocol::OneGlass => tastings.div_ceil(2) as usize,
        _ => 1,
    };
    let mut block: Vec<&[Beer]> = Vec::new();
    let servings = (0..tastings)
        .map(|_| {
            if block.is_empty() {
                block = protocol.orders().repeat(blocks);
                draw.shuffle(&mut block);
            }
            let order = block.pop().unwrap_or_default();
            Serving {
                glasses: order.to_vec(),
                codes: codes.by_ref().take(order.len()).collect(),
                shown: (protocol == Protocol::DuoTrio).then_some(Beer::Reference),
            }
        })
        .collect();
    Ok(Design {
        protocol,
        seed,
        servings,
    })
}

/// Orders of `beers` beers for scoring, numbered from 0, one row a taster: every
/// beer stands in every place, and follows every other, equally often.
///
/// Williams 1949, Aust. J. Sci. Res. A 2, 149: first row 1, 2, t, 3, t−1, ...,
/// each further row one on; an odd number needs the mirrored square, too.
///
/// # Errors
/// [`TastingError::Count`] for fewer than two beers or more than eight, which no
/// palate takes in one session (judgement).
pub fn williams(beers: usize) -> Result<Vec<Vec<usize>>, TastingError> {
    const MOST: usize = 8;
    if !(2..=MOST).contains(&beers) {
        return Err(TastingError::Count {
            what: "beers to score in one session",
            given: beers,
            least: 2,
            most: MOST,
        });
    }
    let first = (0..beers).map(|place| match place {
        0 => 0,
        odd if odd % 2 == 1 => odd.div_ceil(2),
        even => beers - even / 2,
    });
    let first: Vec<usize> = first.collect();
    let mut rows: Vec<Vec<usize>> = (0..beers)
        .map(|shift| first.iter().map(|beer| (beer + shift) % beers).collect())
        .collect();
    if beers % 2 == 1 {
        let mirrored: Vec<Vec<usize>> = rows
            .iter()
            .map(|row| row.iter().rev().copied().collect())
            .collect();
        rows.extend(mirrored);
    }
    Ok(rows)
}

/// Two glasses for each of so many tasters, one of each beer, to be scored: half of
/// the tasters start with either (the square of Williams for two), under codes that
/// the tastings of `design` do not use.
///
/// # Errors
/// [`TastingError::Count`] for no taster, or more glasses than there are codes left.
pub fn scorings(design: &Design, tasters: u32) -> Result<Vec<Serving>, TastingError> {
    count("tasters", tasters)?;
    let used: Vec<u16> = design
        .servings
        .iter()
        .flat_map(|serving| serving.codes.iter().copied())
        .collect();
    let mut codes = codes();
    codes.retain(|code| !used.contains(code));
    if 2 * tasters as usize > codes.len() {
        return Err(TastingError::Count {
            what: "glasses to score beside those of the tastings",
            given: 2 * tasters as usize,
            least: 1,
            most: codes.len(),
        });
    }
    let mut draw = Draw(design.seed ^ SCORES);
    draw.shuffle(&mut codes);
    let square = williams(2)?;
    let mut orders: Vec<&[usize]> = Vec::new();
    let glasses = codes.chunks_exact(2).take(tasters as usize).map(|pair| {
        if orders.is_empty() {
            orders = square.iter().map(Vec::as_slice).collect();
            draw.shuffle(&mut orders);
        }
        let order = orders.pop().unwrap_or_default();
        Serving {
            glasses: order.iter().map(|&at| [B, R][at]).collect(),
            codes: pair.to_vec(),
            shown: None,
        }
    });
    Ok(glasses.collect())
}

/// So that the orders of scores are not those of the tastings.
const SCORES: u64 = 0x5c0e_5c0e_5c0e_5c0e;

/// Three digits, all different, none rising or falling in a row, no 0 in front;
/// no code that reads as another when the sheet lies upside down (6 and 9).
fn codes() -> Vec<u16> {
    (100..1000).filter(|&code| plain(code)).collect()
}

fn plain(code: u16) -> bool {
    let [a, b, c] = [code / 100, code / 10 % 10, code % 10].map(i32::from);
    let different = a != b && b != c && a != c;
    let row = b - a == c - b && (b - a).abs() == 1;
    different && !row && !reads_upside_down(code)
}

/// Whether every digit is one when turned: 0, 1, 6, 8, 9.
fn reads_upside_down(code: u16) -> bool {
    [code / 100, code / 10 % 10, code % 10]
        .iter()
        .all(|digit| matches!(digit, 0 | 1 | 6 | 8 | 9))
}

/// Pseudo-random numbers: SplitMix64 (Steele, Lea & Flood 2014), which gives the
/// same draws on every machine. Secrecy is not its job: whoever has the seed has
/// the key.
struct Draw(u64);

impl Draw {
    fn next(&mut self) -> u64 {
        split_mix(&mut self.0)
    }

    /// A number below `end`. The bias of the product is 2⁻⁵⁴ for ends below 1024.
    fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.next()) * end as u128) >> 64) as usize
    }

    /// Fisher and Yates, as Durstenfeld 1964 has it.
    fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::{BTreeMap, BTreeSet};

    /// First outputs of SplitMix64 for the seed 1234567, as published with the
    /// reference implementation of Vigna (from memory).
    #[test]
    fn draws_are_those_of_the_reference() {
        let mut draw = Draw(1_234_567);
        assert_eq!(draw.next(), 6_457_827_717_110_365_317);
        assert_eq!(draw.next(), 3_203_168_211_198_807_973);
    }

    /// The squares of Williams for 2 to 6, as they are printed.
    #[test]
    fn williams_squares_are_those_printed() {
        let printed = [
            (2, "12 21"),
            (3, "123 231 312 321 132 213"),
            (4, "1243 2314 3421 4132"),
            (
                5,
                "12534 23145 34251 45312 51423 43521 54132 15243 21354 32415",
            ),
            (6, "126354 231465 342516 453621 564132 615243"),
        ];
        for (beers, rows) in printed {
            let ours: Vec<String> = williams(beers)
                .unwrap()
                .iter()
                .map(|row| row.iter().map(|beer| (beer + 1).to_string()).collect())
                .collect();
            assert_eq!(ours.join(" "), rows);
        }
        assert!(williams(1).is_err() && williams(9).is_err());
    }

    #[test]
    fn every_beer_follows_every_other_equally_often() {
        for beers in 2..=8 {
            let rows = williams(beers).unwrap();
            let mut after: BTreeMap<(usize, usize), usize> = BTreeMap::new();
            for row in &rows {
                for pair in row.windows(2) {
                    *after.entry((pair[0], pair[1])).or_default() += 1;
                }
            }
            assert_eq!(after.len(), beers * (beers - 1));
            let times: BTreeSet<usize> = after.into_values().collect();
            assert_eq!(times.len(), 1, "{beers} beers");
        }
    }

    #[test]
    fn codes_are_plain() {
        let all = codes();
        assert!(all.len() > 500);
        for bad in [100, 111, 123, 321, 619, 689, 606, 808] {
            assert!(!all.contains(&bad), "{bad}");
        }
        assert!(all.contains(&417));
    }

    #[test]
    fn too_many_glasses_for_the_codes_are_refused() {
        let said = design(Protocol::Tetrad, 400, 1).unwrap_err().to_string();
        assert!(said.contains("1600 coded glasses"), "{said}");
        assert!(design(Protocol::Triangle, 0, 1).is_err());
        let full = design(Protocol::Triangle, 150, 1).unwrap();
        let said = scorings(&full, 120).unwrap_err().to_string();
        assert!(said.contains("240 glasses to score"), "{said}");
    }

    #[test]
    fn answers_are_judged_by_the_glasses() {
        let serving = |glasses: &[Beer], shown| Serving {
            glasses: glasses.to_vec(),
            codes: (0..glasses.len() as u16).map(|i| 401 + i).collect(),
            shown,
        };
        let triangle = serving(&[R, B, R], None);
        assert_eq!(triangle.right(Protocol::Triangle, &[402]), Some(true));
        assert_eq!(triangle.right(Protocol::Triangle, &[401]), Some(false));
        assert_eq!(triangle.right(Protocol::Triangle, &[500]), None);
        let tetrad = serving(&[R, B, B, R], None);
        assert_eq!(tetrad.right(Protocol::Tetrad, &[402, 403]), Some(true));
        assert_eq!(tetrad.right(Protocol::Tetrad, &[404, 401]), Some(true));
        assert_eq!(tetrad.right(Protocol::Tetrad, &[401, 402]), Some(false));
        assert_eq!(tetrad.right(Protocol::Tetrad, &[401, 401]), None);
        let duo = serving(&[B, R], Some(R));
        assert_eq!(duo.right(Protocol::DuoTrio, &[402]), Some(true));
        assert_eq!(duo.right(Protocol::DuoTrio, &[401]), Some(false));
    }

    proptest! {
        #[test]
        fn orders_are_balanced_and_codes_new(which in 0usize..7, blocks in 1u32..12, seed: u64) {
            let protocol = Protocol::OFFERED[which];
            let tastings = blocks * protocol.orders().len() as u32;
            let drawn = design(protocol, tastings, seed).unwrap();
            let mut times: BTreeMap<Vec<bool>, u32> = BTreeMap::new();
            let mut codes = BTreeSet::new();
            for serving in &drawn.servings {
                let order = serving.glasses.iter().map(|beer| *beer == B).collect();
                *times.entry(order).or_default() += 1;
                for code in &serving.codes {
                    prop_assert!(codes.insert(*code) && plain(*code));
                }
            }
            prop_assert_eq!(times.len(), protocol.orders().len());
            prop_assert!(times.values().all(|&t| t == blocks));
            prop_assert_eq!(&design(protocol, tastings, seed).unwrap(), &drawn);
        }

        #[test]
        fn either_beer_is_scored_first_equally_often(pairs in 1u32..50, seed: u64) {
            let drawn = design(Protocol::Triangle, 6, seed).unwrap();
            let scored = scorings(&drawn, 2 * pairs).unwrap();
            let batch_first = scored.iter().filter(|s| s.glasses == [B, R]).count();
            prop_assert_eq!(batch_first as u32, pairs);
            prop_assert!(scored.iter().all(|s| s.glasses.contains(&R)));
            let all = drawn.servings.iter().chain(&scored).flat_map(|s| &s.codes);
            let codes: Vec<u16> = all.copied().collect();
            let distinct: BTreeSet<u16> = codes.iter().copied().collect();
            prop_assert_eq!(distinct.len(), codes.len());
        }
    }
}
