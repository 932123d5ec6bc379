//! The analyses while they are being gathered.

use super::date::Date;
use super::{Analysis, Reading};

/// Analyses in the making: one is current, and new ones begin with what the
/// headings said of all.
#[derive(Debug, Default)]
pub(super) struct Drafts {
    all: Vec<Analysis>,
    current: usize,
    base: Analysis,
}

impl Drafts {
    pub(super) fn new() -> Self {
        Self {
            all: vec![Analysis::default()],
            ..Self::default()
        }
    }

    pub(super) fn current(&self) -> usize {
        self.current
    }

    pub(super) fn push(&mut self, draft: usize, reading: Reading) {
        if let Some(analysis) = self.all.get_mut(draft) {
            analysis.readings.push(reading);
        }
    }

    /// A heading about the water: a new analysis where the current one has
    /// figures already.
    pub(super) fn head(&mut self, set: impl Fn(&mut Analysis)) {
        let begun = self
            .all
            .get(self.current)
            .is_some_and(|a| !a.readings.is_empty());
        if begun {
            self.current = self.begin(|_| {});
        }
        set(&mut self.base);
        if let Some(analysis) = self.all.get_mut(self.current) {
            set(analysis);
        }
    }

    /// The day of the sample: of this analysis only.
    pub(super) fn date(&mut self, date: Date) {
        let begun = self
            .all
            .get(self.current)
            .is_some_and(|a| !a.readings.is_empty());
        if begun {
            self.current = self.begin(|_| {});
        }
        if let Some(analysis) = self.all.get_mut(self.current) {
            analysis.date = Some(date);
        }
    }

    /// A further analysis beside the current one.
    pub(super) fn begin(&mut self, set: impl Fn(&mut Analysis)) -> usize {
        let mut analysis = self.base.clone();
        set(&mut analysis);
        self.all.push(analysis);
        self.all.len() - 1
    }

    /// What a heading says of all that follow, where they have nothing better.
    pub(super) fn title(&mut self, name: &str, period: Option<String>) {
        let set = |a: &mut Analysis| {
            if a.name.is_none() {
                a.name = Some(name.to_owned());
            }
            if a.period.is_none() {
                a.period.clone_from(&period);
            }
        };
        set(&mut self.base);
        if let Some(analysis) = self.all.get_mut(self.current) {
            set(analysis);
        }
    }

    pub(super) fn finish(self) -> Vec<Analysis> {
        self.all
            .into_iter()
            .filter(|a| !a.readings.is_empty())
            .collect()
    }
}
