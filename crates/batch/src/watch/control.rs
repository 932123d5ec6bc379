//! Tests that a brewer runs on a fermenting beer: how, what the figures mean, and what
//! came out. The document keeps the results.

use ferment::watch::{Course, Verdict};
use package::forced_too_short;
use quantity::{Caution, Duration, Gravity, Measured, Units, show};

use super::words::{points_and_sd, points_words};
use crate::document::Document;
use crate::inquiry::percent;

/// The test of the inquiry that says whether butter is still to come.
const DIKETONE: &str = "forced-diketone";
/// The beer and its forced sample agree within this \[°P\]: a point.
const AGREES_PLATO: f64 = 0.25;

/// A test with its result, if there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct ControlTest {
    /// Its word in forms and in JSON.
    pub key: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What is done, step by step.
    pub how: &'static [&'static str],
    /// What the figures mean.
    pub means: &'static [&'static str],
    /// Where that comes from, and how it was obtained.
    pub source: &'static str,
    /// What can hurt.
    pub caution: Caution,
    /// What came out.
    pub outcome: Option<Outcome>,
}

/// What came out of a test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outcome {
    /// Whether it says that the beer is done; none where it does not say yet.
    pub passed: Option<bool>,
    /// In a sentence.
    pub words: String,
}

/// What the document keeps of the tests.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Recorded {
    forced: Option<Measured<Gravity>>,
    kept: Option<Duration>,
    diastatic: bool,
    butter: Option<bool>,
    packed_at: Option<Measured<Gravity>>,
}

impl Recorded {
    pub(super) fn of(document: &Document, diastatic: bool) -> Self {
        let (forced, kept) = document.forced();
        let butter = document.tests.iter().find(|t| t.test == DIKETONE);
        Self {
            forced,
            kept: kept.map(|t| t.value),
            diastatic,
            butter: butter.map(|t| t.positive),
            packed_at: document.package.gravity,
        }
    }

    /// The three tests over a course.
    pub(super) fn tests(&self, course: &Course, units: Units) -> Vec<ControlTest> {
        vec![
            ControlTest {
                key: "forced-fermentation",
                name: "Forced fermentation: where the wort can end",
                how: FORCED_HOW,
                means: FORCED_MEANS,
                source: "Hagen and Schwarz 1999 (collaborative trial of the reference method, read); the kitchen way: common practice",
                caution: Caution::BottlePressure,
                outcome: self.forced(course, units),
            },
            ControlTest {
                key: DIKETONE,
                name: "Forced diketone test: whether butter is still to come",
                how: DIKETONE_HOW,
                means: DIKETONE_MEANS,
                source: "common practice",
                caution: Caution::HotLiquor,
                outcome: self.diketone(),
            },
            ControlTest {
                key: "finish",
                name: "Apparent finish: whether it stands still",
                how: FINISH_HOW,
                means: FINISH_MEANS,
                source: "common practice; the chance is that of the fit",
                caution: Caution::BottlePressure,
                outcome: self.finish(course, units),
            },
        ]
    }

    fn forced(&self, course: &Course, units: Units) -> Option<Outcome> {
        let end = self.forced?;
        if let Some(needed) = forced_too_short(self.diastatic, self.kept) {
            return Some(Outcome {
                passed: None,
                words: format!(
                    "The sample stood at {}, and does not count yet: it takes {} in the warm, said in forced_time.",
                    show(end.value, units),
                    show(needed, units)
                ),
            });
        }
        let left = course.gravity.middle.plato() - end.value.plato();
        let beer = match left {
            x if x > AGREES_PLATO => format!("the beer can fall {} more", points_words(x)),
            x if x < -AGREES_PLATO => format!(
                "the beer stands {} below it: something in it ferments what its yeast does not, or the readings were mixed up; do not bottle before it is known why",
                points_words(-x)
            ),
            _ => "the beer is there".to_owned(),
        };
        Some(Outcome {
            passed: Some(left.abs() <= AGREES_PLATO),
            words: format!("The sample ended at {}: {beer}.", show(end.value, units)),
        })
    }

    fn diketone(&self) -> Option<Outcome> {
        self.butter.map(|butter| Outcome {
            passed: Some(!butter),
            words: if butter {
                "Butter in the heated sample: diacetyl or its precursor is still there. Keep the beer warm on its yeast for two more days and test again."
            } else {
                "No butter in either sample: the rest was long enough, the beer may be cooled."
            }
            .to_owned(),
        })
    }

    /// By the readings; nothing while there are too few.
    fn finish(&self, course: &Course, units: Units) -> Option<Outcome> {
        let finish = &course.finish;
        let fall = finish.fall_plato_per_day?;
        let mut words = format!(
            "Over the last {:.0} h it fell {} a day; with a chance of {} a point or less is left. It is {}.",
            finish.window_h,
            points_and_sd(fall),
            percent(finish.little_left.ratio()),
            finish.verdict.words()
        );
        if let Some(read) = self.packed_at {
            words.push_str(&format!(
                " Kept as read before packaging: {}.",
                show(read.value, units)
            ));
        }
        let passed = match finish.verdict {
            Verdict::Finished => Some(true),
            Verdict::TooFewReadings => None,
            _ => Some(false),
        };
        Some(Outcome { passed, words })
    }
}

const FORCED_HOW: &[&str] = &[
    "On brew day, put 200 mL of the chilled wort into a clean flask, with five to ten times the yeast that its share of the batch gets (one or two grams of dry yeast do).",
    "Cover it loosely, keep it at 22 to 26 °C, and swirl it often.",
    "Read it when it has stood still for a day: after two days at the earliest, and three weeks with yeast that ferments dextrins.",
    "Shake the gas out, let the yeast settle, and read the gravity at 20 °C.",
];

const FORCED_MEANS: &[&str] = &[
    "That is as far as this wort goes: it takes the place of what the class of yeast usually does.",
    "The beer stands more than a point above it: it is not done, however still it looks.",
    "The beer stands more than a point below it: another yeast is at work.",
    "Right to half a point to a point; bread yeast ends as ale yeast does, a little above lager yeast.",
];

const DIKETONE_HOW: &[&str] = &[
    "Take two samples of 100 mL from the fermenter, in clean jars with some air above and loose lids.",
    "Stand one in water of 60 to 70 °C for an hour; keep the other cold.",
    "Cool the warm one to the temperature of the other, and smell both, without knowing which is which.",
];

const DIKETONE_MEANS: &[&str] = &[
    "Heat turns the precursor into diacetyl at once, which weeks in the package would do as well.",
    "Butter in the heated sample alone: the precursor is there. Keep the beer warm and test again in two days.",
    "Butter in both: diacetyl itself is there. Give it more time on the yeast.",
    "Butter in neither: cool when the gravity stands still too. Not every nose finds it: ask a second one.",
];

const FINISH_HOW: &[&str] = &[
    "Read the gravity at least three times over two days (three days below 15 °C), with one instrument, without gas, at one temperature.",
    "Do not cool meanwhile: flat while cold is no end.",
    "Write each reading down here; the fall and its ± are found from all of them.",
];

const FINISH_MEANS: &[&str] = &[
    "A fall of less than half a point a day over that time is still.",
    "Still, and a chance of nine in ten that no more than a point is left: finished.",
    "Still, but well above where it should end: stalled. A forced sample tells whether the wort or the yeast is at fault.",
];
