//! Why this batch is off: its facts from the reckoning, what was found and tested from
//! the document, and what to change in the next one.

mod facts;
pub(crate) mod keys;
mod next;
mod words;

use inquiry::{Answer, InquiryError, Question, after_remedy, inquire};

pub use facts::{facts, wanted};
pub use keys::{CIRCUMSTANCES, InquirySection};
pub use next::{NextBatch, next_batch};
pub use words::{
    cause_name, costs, finding_words, if_so_if_not, of_a_hundred, percent, split_words, takes,
    weighty,
};

use crate::Reckoning;

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

    /// Answers a question about this batch.
    ///
    /// # Errors
    /// [`InquiryError`] for a question that cannot be weighed.
    pub fn inquire(&self, question: &Question) -> Result<Answer, InquiryError> {
        let mut answer = inquire(&facts(self), question)?;
        let said = &self.document.inquiry;
        if let (Some(tried), Some(gone)) = (&said.tried, said.gone) {
            for cause in answer.causes.iter_mut().filter(|c| &c.cause.key == tried) {
                cause.made = after_remedy(cause.made, gone)?;
                cause.chance = after_remedy(cause.chance, gone)?;
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
