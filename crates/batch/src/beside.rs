//! What the glass should hold, against what was found: each compound that is reckoned
//! beside the points of a panel and the findings of the batch.

use glass::OdourActivity;
use glass::tasting::{Estimate, Scored, attributes};
use inquiry::{Finding, Knowledge, Severity, State, names};

use crate::Reckoning;
use crate::inquiry::finding_words;
use crate::tasting::{Judged, Tasting, percent, plain};

/// How strong something is, as it is reckoned and as it is tasted (limits are judgement).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Below half a threshold; less than 1 of 10 points; not there.
    NotNoticed,
    /// Below twice the threshold; less than 3 points; slight.
    Faint,
    /// Below ten times the threshold; less than 6 points; clear.
    Clear,
    /// Above.
    Strong,
}

/// From one level to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Levels {
    /// The least.
    pub low: Level,
    /// The most.
    pub high: Level,
}

/// How what was found stands to what was reckoned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    /// The levels meet.
    Agrees,
    /// More was found than was reckoned.
    Under,
    /// Less was found than was reckoned.
    Over,
}

/// Something that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// What: an attribute that was scored, or a finding.
    pub what: String,
    /// Points of the panel in the batch, of 10; none for a finding.
    pub points: Option<Estimate>,
    /// Whether the batch was shown to have more of it than the reference, or less: the
    /// mean difference where one is shown; none for a finding, or where none is.
    pub differs: Option<f64>,
    /// How strong it was found to be.
    pub levels: Levels,
    /// How that stands to what was reckoned.
    pub agreement: Agreement,
    /// What was found, in words.
    pub words: String,
}

/// A compound that is reckoned, and what was found of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// What was reckoned.
    pub reckoned: OdourActivity,
    /// How strong that is.
    pub levels: Levels,
    /// What was found, scores first.
    pub found: Vec<Found>,
}

/// Everything that was reckoned beside what was found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Held {
    /// Compounds, the strongest first; those of which nothing was found, too.
    pub compounds: Vec<Beside>,
    /// What was scored or found of which nothing is reckoned.
    pub unreckoned: Vec<String>,
}

impl Level {
    /// Ends of the levels: activities, and points of 10.
    const ENDS: [(f64, f64, Level); 3] = [
        (0.5, 1.0, Level::NotNoticed),
        (2.0, 3.0, Level::Faint),
        (10.0, 6.0, Level::Clear),
    ];

    fn of_activity(activity: f64) -> Self {
        let below = Self::ENDS.iter().find(|(end, ..)| activity < *end);
        below.map_or(Self::Strong, |(.., level)| *level)
    }

    fn of_points(points: f64) -> Self {
        let below = Self::ENDS.iter().find(|(_, end, _)| points < *end);
        below.map_or(Self::Strong, |(.., level)| *level)
    }

    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::NotNoticed => "not noticed",
            Self::Faint => "faint",
            Self::Clear => "clear",
            Self::Strong => "strong",
        }
    }
}

impl Levels {
    /// In words: "faint to clear".
    #[must_use]
    pub fn words(self) -> String {
        if self.low == self.high {
            self.low.words().to_owned()
        } else {
            format!("{} to {}", self.low.words(), self.high.words())
        }
    }

    /// The activities that these levels stand for: from, middle, to, on the axis from
    /// 0.01 to 100.
    #[must_use]
    pub fn drawn(self) -> (f64, f64, f64) {
        let stretch = |level: Level| match level {
            Level::NotNoticed => (0.01, 0.5),
            Level::Faint => (0.5, 2.0),
            Level::Clear => (2.0, 10.0),
            Level::Strong => (10.0, 100.0),
        };
        let ((low, _), (_, high)) = (stretch(self.low), stretch(self.high));
        (low, (low * high).sqrt(), high)
    }

    /// By the highest and the lowest threshold in print; a bound is open to its side.
    fn reckoned(a: &OdourActivity) -> Self {
        let (low, high) = (Level::of_activity(a.low), Level::of_activity(a.high));
        match a.bound {
            glass::Bound::Expected => Self { low, high },
            glass::Bound::AtMost => Self {
                low: Level::NotNoticed,
                high,
            },
            glass::Bound::AtLeast => Self {
                low,
                high: Level::Strong,
            },
        }
    }

    pub(crate) fn scored(points: Estimate) -> Self {
        let mean = points.value.unwrap_or_default();
        Self {
            low: Level::of_points(points.low.unwrap_or(mean)),
            high: Level::of_points(points.high.unwrap_or(mean)),
        }
    }

    /// What a finding says; one without a strength may be anything that is noticed.
    fn found(finding: &Finding) -> Self {
        let (low, high) = match (finding.state, finding.severity) {
            (State::Absent, _) => (Level::NotNoticed, Level::Faint),
            (_, None) => (Level::Faint, Level::Strong),
            (_, Some(Severity::Slight)) => (Level::Faint, Level::Faint),
            (_, Some(Severity::Clear)) => (Level::Clear, Level::Clear),
            (_, Some(Severity::Strong)) => (Level::Strong, Level::Strong),
        };
        Self { low, high }
    }

    fn stands_to(self, reckoned: Self) -> Agreement {
        if self.low > reckoned.high {
            Agreement::Under
        } else if self.high < reckoned.low {
            Agreement::Over
        } else {
            Agreement::Agrees
        }
    }
}

impl Agreement {
    /// In words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Agrees => "as reckoned",
            Self::Under => "more than was reckoned",
            Self::Over => "less than was reckoned",
        }
    }
}

impl Held {
    /// What a batch should hold beside what was found in it, and scored in a tasting.
    ///
    /// An attribute or a finding goes to the compound that its words name, or to the one
    /// that carries it by the tables of causes. Whether the levels agree is judgement.
    #[must_use]
    pub fn of(r: &Reckoning, tasting: Option<(&Tasting, &Judged)>) -> Self {
        let mut held = Self::bare(r);
        let scored = tasting.map_or_else(Vec::new, |(t, j)| scored(t, j));
        let told = r.document.findings.iter().map(noted);
        for (words, found) in scored.into_iter().chain(told) {
            held.take(&words, found);
        }
        held
    }

    /// What a batch should hold, with nothing beside it.
    pub(crate) fn bare(r: &Reckoning) -> Self {
        let reckoned = r.glass.activities.iter().map(|a| Beside {
            reckoned: *a,
            levels: Levels::reckoned(a),
            found: Vec::new(),
        });
        Self {
            compounds: reckoned.collect(),
            unreckoned: Vec::new(),
        }
    }

    /// The compounds of which something was found.
    pub fn told(&self) -> impl Iterator<Item = &Beside> {
        self.compounds.iter().filter(|b| !b.found.is_empty())
    }

    fn take(&mut self, words: &str, mut found: Found) {
        let Some(at) = self.place_of(words) else {
            self.unreckoned.push(found.what);
            return;
        };
        let beside = &mut self.compounds[at];
        found.agreement = found.levels.stands_to(beside.levels);
        beside.found.push(found);
    }

    /// Which compound carries what the words name.
    pub(crate) fn place_of(&self, words: &str) -> Option<usize> {
        let named = |b: &Beside| {
            let c = b.reckoned.compound;
            let all = c.words.iter().chain([&c.name]);
            all.map(|name| names(words, name)).max().unwrap_or(0)
        };
        let fits: Vec<u32> = self.compounds.iter().map(named).collect();
        let best = fits.iter().copied().max().filter(|fit| *fit > 0);
        if let Some(best) = best {
            return fits.iter().position(|fit| *fit == best);
        }
        let k = Knowledge::built_in();
        let finding = k.search(words).into_iter().next()?;
        let carriers = k.carriers(&finding.key);
        let at = |key: &str| {
            let holds = |b: &Beside| b.reckoned.compound.key == key;
            self.compounds.iter().position(holds)
        };
        carriers.into_iter().find_map(at)
    }
}

/// The compound that words name best; none where they name none.
pub(crate) fn compound_named(
    words: &str,
    compounds: impl Iterator<Item = &'static glass::Compound>,
) -> Option<&'static glass::Compound> {
    let fits = |c: &glass::Compound| {
        let all = c.words.iter().chain([&c.name]);
        all.map(|name| names(words, name)).max().unwrap_or(0)
    };
    let scored = compounds.map(|c| (fits(c), c)).filter(|(fit, _)| *fit > 0);
    // The first of those that fit as well.
    let best = scored.fold(None::<(u32, _)>, |best, one| match best {
        Some(held) if held.0 >= one.0 => Some(held),
        _ => Some(one),
    });
    best.map(|(_, compound)| compound)
}

/// A finding, with the words to place it by.
pub(crate) fn noted(finding: &Finding) -> (String, Found) {
    let k = Knowledge::built_in();
    let name = k.finding(&finding.key).ok().map(|at| &k.findings[at].name);
    // The first of its words is the plainest: "butter" of "butter, butterscotch".
    let first = name.and_then(|n| n.split(',').next());
    let found = Found {
        what: finding_words(finding),
        points: None,
        differs: None,
        levels: Levels::found(finding),
        agreement: Agreement::Agrees,
        words: format!("found: {}", finding_words(finding)),
    };
    (first.unwrap_or(&finding.key).to_owned(), found)
}

/// What a panel scored in the batch, attribute by attribute, with the words to place it by.
fn scored(tasting: &Tasting, judged: &Judged) -> Vec<(String, Found)> {
    /// The scale of the sheets: 10 is very strong.
    const SCALE: f64 = 10.0;
    let mut by: Vec<Scored> = Vec::new();
    for score in &tasting.scores {
        match by.iter_mut().find(|s| s.attribute == score.attribute) {
            Some(held) => held.differences.push(score.batch),
            None => by.push(Scored {
                attribute: score.attribute.clone(),
                differences: vec![score.batch],
            }),
        }
    }
    // Points over another scale are on no level.
    by.retain(|s| s.differences.iter().all(|p| *p <= SCALE));
    let points = attributes(&by).unwrap_or_default();
    let told = points.iter().map(|p| {
        let differs = judged
            .attributes
            .iter()
            .find(|a| a.attribute == p.attribute);
        let shown = differs.filter(|a| a.adjusted_p <= tasting.false_alarm);
        let within = Estimate {
            value: p.mean.value,
            low: p.mean.low.map(|l| l.max(0.0)),
            high: p.mean.high.map(|h| h.min(SCALE)),
        };
        let found = Found {
            what: p.attribute.clone(),
            points: Some(within),
            differs: shown.and_then(|a| a.mean.value),
            levels: Levels::scored(within),
            agreement: Agreement::Agrees,
            words: score_words(&p.attribute, within, differs, tasting.false_alarm),
        };
        (p.attribute.clone(), found)
    });
    told.collect()
}

fn score_words(
    attribute: &str,
    points: Estimate,
    differs: Option<&glass::tasting::AttributeJudged>,
    alpha: f64,
) -> String {
    let mean = plain(points.value.unwrap_or_default());
    let between = match (points.low, points.high) {
        (Some(low), Some(high)) => format!(" ({} to {})", plain(low), plain(high)),
        _ => String::new(),
    };
    let beside = match differs {
        Some(a) if a.adjusted_p <= alpha => {
            let side = if a.mean.value.unwrap_or_default() > 0.0 {
                "more"
            } else {
                "less"
            };
            format!(
                "{side} than in the reference, chance {}",
                percent(a.adjusted_p)
            )
        }
        Some(a) => format!(
            "no difference from the reference shown, chance {}",
            percent(a.adjusted_p)
        ),
        None => "not compared".to_owned(),
    };
    format!("{attribute} scored {mean}{between} of 10, {beside}")
}
