//! Why this batch is off: its facts from the reckoning, what was found and tested from
//! the document, and what to change in the next one.

mod facts;
mod history;
pub(crate) mod keys;
mod next;
mod story;
mod words;

use inquiry::{
    Answer, Facts, Finding, House, InquiryError, Question, TestResult, after_remedy, inquire,
};

pub use facts::{facts, wanted};
pub use history::{Heard, common, heard, house_words, moved_words};
pub use keys::{CIRCUMSTANCES, InquirySection};
pub use next::{NextBatch, next_batch};
pub use story::{Brewed, Came, Next, Step, Story, Told, Verdict, verdict};
pub use words::{
    cause_name, cautions_of, costs, finding_words, if_so_if_not, of_a_hundred, percent,
    split_words, takes, test_words, weighty,
};

use crate::Reckoning;

/// What is said of a batch beside its document, by keys of the tables.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Said {
    /// What is there.
    pub found: Vec<String>,
    /// What was looked for and is not there.
    pub absent: Vec<String>,
    /// What is no fault here.
    pub wanted: Vec<String>,
    /// Tests that came out positive.
    pub positive: Vec<String>,
    /// Tests that came out negative.
    pub negative: Vec<String>,
}

impl Reckoning {
    /// What the document says was found and tested, with what its aim wants.
    #[must_use]
    pub fn question(&self) -> Question {
        Question {
            findings: self.document.findings.clone(),
            results: self.document.tests.clone(),
            wanted: wanted(self),
        }
    }

    /// The same with what is said beside the document.
    #[must_use]
    pub fn question_with(&self, said: &Said) -> Question {
        let mut question = self.question();
        let found = said.found.iter().map(|key| Finding::present(key));
        let absent = said.absent.iter().map(|key| Finding::absent(key));
        question.findings.extend(found.chain(absent));
        question.wanted.extend_from_slice(&said.wanted);
        for (tests, positive) in [(&said.positive, true), (&said.negative, false)] {
            let made = tests.iter().cloned();
            question
                .results
                .extend(made.map(|test| TestResult { test, positive }));
        }
        question
    }

    /// Answers a question about this batch.
    ///
    /// # Errors
    /// [`InquiryError`] for a question that cannot be weighed.
    pub fn inquire(&self, question: &Question) -> Result<Answer, InquiryError> {
        self.inquire_in(&House::default(), question)
    }

    /// The same in a house that had other batches.
    ///
    /// # Errors
    /// As [`Self::inquire`].
    pub fn inquire_in(&self, house: &House, question: &Question) -> Result<Answer, InquiryError> {
        let facts = Facts {
            house: house.clone(),
            ..facts(self)
        };
        let mut answer = inquire(&facts, question)?;
        let said = &self.document.inquiry;
        if let (Some(tried), Some(gone)) = (&said.tried, said.gone) {
            for cause in answer.causes.iter_mut().filter(|c| &c.cause.key == tried) {
                cause.made = after_remedy(cause.made, gone)?;
                cause.chance = after_remedy(cause.chance, gone)?;
                cause.worth_remedy = cause.cause.remedy_cost < cause.made * cause.cause.loss;
                let came = if gone {
                    "took the fault away"
                } else {
                    "did not take it away"
                };
                answer.notes.push(format!(
                    "the remedy for {} {came}: its chance is moved by that",
                    cause.cause.name.to_lowercase()
                ));
            }
            answer.causes.sort_by(|a, b| b.made.total_cmp(&a.made));
        }
        Ok(answer)
    }
}
