//! Passes over one document again and again, that differ in nothing but its doubts.
//!
//! A first pass keeps what each key came to. A pass that is made again takes as it was what
//! met no doubt, draws each figure that did, and walks through those tables alone that have
//! one in them. A document that reads once has no key that is unknown or missing, so neither
//! is looked for again; what is refused by what a figure comes to still is. Where a pass asks
//! for other keys, because a drawn figure decides what is asked next, it reads the document
//! itself from there on.

use std::any::Any;
use std::sync::Arc;

use quantity::{Measured, Quantity};

/// What a pass over a document came to.
#[derive(Debug, Default)]
pub(crate) struct Pass(Vec<Told>);

#[derive(Debug)]
struct Told {
    key: &'static str,
    what: What,
}

type Kept = Box<dyn Any + Send + Sync>;

#[derive(Debug)]
enum What {
    /// No doubt was met in it.
    Same(Kept),
    /// A figure that is doubted, with its spread.
    Doubted(Kept),
    /// A doubt was met in it; what it holds follows.
    Open,
}

/// What a pass does beside reading.
#[derive(Debug, Default)]
pub(crate) enum Memory {
    #[default]
    Nothing,
    /// It keeps what it reads.
    Keeps(Pass),
    /// It has an earlier pass, and is so far in it.
    Has(Arc<Pass>, usize),
}

/// A key that must be read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Opened {
    place: usize,
    /// Doubts that were met before it.
    met: usize,
}

impl Memory {
    /// For a pass that is kept.
    pub(crate) fn keeping() -> Self {
        Self::Keeps(Pass::default())
    }

    /// For a pass after one that was kept.
    pub(crate) fn of(pass: &Arc<Pass>) -> Self {
        Self::Has(Arc::clone(pass), 0)
    }

    /// What was kept.
    pub(crate) fn pass(self) -> Arc<Pass> {
        match self {
            Self::Keeps(pass) => Arc::new(pass),
            Self::Has(pass, _) => pass,
            Self::Nothing => Arc::default(),
        }
    }

    /// What a key came to, if that is known, `met` being how many doubts were met so far.
    pub(super) fn open<T: Clone + 'static>(
        &mut self,
        key: &'static str,
        met: usize,
    ) -> Result<T, Opened> {
        let mut opened = Opened { place: 0, met };
        match self {
            Self::Nothing => Err(opened),
            Self::Keeps(Pass(told)) => {
                opened.place = told.len();
                told.push(Told {
                    key,
                    what: What::Open,
                });
                Err(opened)
            }
            Self::Has(pass, at) => {
                let known = match pass.at(*at, key) {
                    Some(What::Same(kept)) => kept.downcast_ref::<T>().cloned().ok_or(false),
                    Some(What::Open) => Err(true),
                    Some(What::Doubted(_)) | None => Err(false),
                };
                match known {
                    Ok(_) | Err(true) => *at += 1,
                    Err(false) => *self = Self::Nothing,
                }
                known.map_err(|_| opened)
            }
        }
    }

    /// Keeps what an opened key came to, if no doubt was met in it.
    pub(super) fn close<T: Clone + Send + Sync + 'static>(
        &mut self,
        opened: Opened,
        met: usize,
        value: &T,
    ) {
        if let Self::Keeps(Pass(told)) = self
            && met == opened.met
            && let Some(here) = told.get_mut(opened.place)
        {
            here.what = What::Same(Box::new(value.clone()));
            told.truncate(opened.place + 1);
        }
    }

    /// Keeps a figure that was doubted.
    pub(super) fn doubted<Q: Quantity>(&mut self, key: &'static str, figure: Measured<Q>) {
        if let Self::Keeps(Pass(told)) = self {
            let what = What::Doubted(Box::new(figure));
            told.push(Told { key, what });
        }
    }

    /// The figure of an opened key that is doubted.
    pub(super) fn doubted_before<Q: Quantity>(&mut self, key: &str) -> Option<Measured<Q>> {
        let Self::Has(pass, at) = self else {
            return None;
        };
        let Some(What::Doubted(kept)) = pass.at(*at, key) else {
            return None;
        };
        let figure = kept.downcast_ref::<Measured<Q>>().copied();
        *at += usize::from(figure.is_some());
        figure
    }
}

impl Pass {
    fn at(&self, at: usize, key: &str) -> Option<&What> {
        let told = self.0.get(at).filter(|told| told.key == key);
        told.map(|told| &told.what)
    }
}

#[cfg(test)]
mod tests {
    use quantity::numeric::split_mix;
    use toml::de::DeTable;

    use super::*;
    use crate::certainty::doubt::Doubts;
    use crate::document::Document;
    use crate::reader::Fault;

    const DEMOS: [&str; 3] = [
        include_str!("../../../../examples/lantern-pale.toml"),
        include_str!("../../../../examples/lantern-pale-first.toml"),
        include_str!("../../../../examples/towpath-amber.toml"),
    ];
    const DRAWS: u64 = 40;

    /// How many doubts there are, and the pass that met them.
    fn first(table: &DeTable<'_>) -> (usize, Arc<Pass>) {
        let (mut doubts, mut memory) = (Doubts::Listed(vec![]), Memory::keeping());
        Document::read_doubting(table, &mut doubts, &mut memory).unwrap();
        (doubts.met(), memory.pass())
    }

    /// The same draw read anew and by a pass before, and how many doubts each met.
    fn both(
        table: &DeTable<'_>,
        pass: &Arc<Pass>,
        doubts: usize,
        draw: u64,
    ) -> [(Result<Document, Vec<Fault>>, usize); 2] {
        let mut counter = draw;
        let mut chance = || (split_mix(&mut counter) >> 11) as f64 / (1u64 << 53) as f64;
        let chances: Vec<f64> = (0..doubts)
            .map(|_| chance().clamp(1e-8, 1.0 - 1e-8))
            .collect();
        [Memory::default(), Memory::of(pass)].map(|mut memory| {
            let chances = chances.clone();
            let mut doubts = Doubts::Drawn { chances, met: 0 };
            let read = Document::read_doubting(table, &mut doubts, &mut memory);
            (read.map(|(document, _)| document), doubts.met())
        })
    }

    #[test]
    fn a_pass_made_again_reads_what_the_document_says() {
        for text in DEMOS {
            let table = DeTable::parse(text).unwrap();
            let (doubts, pass) = first(table.get_ref());
            assert!(doubts > 5);
            for draw in 0..DRAWS {
                let [anew, again] = both(table.get_ref(), &pass, doubts, draw);
                assert_eq!(anew, again);
                assert_eq!(anew.1, doubts);
            }
        }
    }

    /// The points of a course whose times are unsure may change places.
    #[test]
    fn what_a_drawn_figure_refuses_is_refused_again() {
        let text = DEMOS[0].replace("at = \"2 d\"", "at = \"4 ± 2 d\"");
        let table = DeTable::parse(&text).unwrap();
        let (doubts, pass) = first(table.get_ref());
        let mut refused = 0;
        for draw in 0..DRAWS {
            let [(anew, _), (again, _)] = both(table.get_ref(), &pass, doubts, draw);
            let messages = |read: Result<Document, Vec<Fault>>| {
                let faults = read.map_err(|faults| faults.into_iter().map(|f| f.message));
                faults.map_err(Iterator::collect::<Vec<_>>)
            };
            refused += u64::from(anew.is_err());
            assert_eq!(messages(anew), messages(again));
        }
        assert!((1..DRAWS).contains(&refused), "{refused}");
    }

    /// Where a pass before is of no more use the document is read.
    #[test]
    fn a_pass_that_breaks_off_is_read_to_the_end() {
        let table = DeTable::parse(DEMOS[0]).unwrap();
        for cut in [0, 1, 2, 5, 10, 20, 30] {
            let (doubts, pass) = first(table.get_ref());
            let mut pass = Arc::into_inner(pass).unwrap();
            pass.0.truncate(cut);
            let [anew, again] = both(table.get_ref(), &Arc::new(pass), doubts, 1);
            assert_eq!(anew, again);
        }
    }
}
