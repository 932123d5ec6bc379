//! Why a beer is off: findings and facts of the batch to ranked causes, and the tests
//! that decide between them.
//!
//! Causes are independent before anything is tasted; each makes compounds, and each
//! compound shows as findings. [`Network::posterior`] is exact. [`inquire`] puts the
//! [`Knowledge`] of the tables, the [`Facts`] and the [`Question`] together.
//!
//! ```
//! use inquiry::{Facts, Finding, Question, inquire};
//! let question = Question { findings: vec![Finding::present("cooked-corn")], ..Question::default() };
//! let answer = inquire(&Facts::default(), &question)?;
//! assert_eq!(answer.causes[0].cause.key, "short-boil");
//! # Ok::<(), inquiry::InquiryError>(())
//! ```

mod answer;
mod deciding;
mod error;
mod evidence;
mod explain;
mod facts;
mod house;
mod infer;
mod knowledge;
mod network;
mod order;
mod question;
mod rows;
mod search;
mod split;

pub use answer::{Answer, RankedCause, inquire, inquire_briefly, rank_tests};
pub use deciding::{Price, RankedTest};
pub use error::InquiryError;
pub use explain::{Reason, Side};
pub use facts::{Dispense, Facts, Held, Sanitiser, Vessel, WaterKind};
pub use house::{Before, Common, House, Moved, after_remedy, heard};
pub use infer::Posterior;
pub use knowledge::{Cause, Circumstance, Compound, Fact, FindingRow, Knowledge, Test};
pub use network::{Evidence, Network, Node, Seen, Trace};
pub use question::{Finding, Question, Severity, State, TestResult};
pub use search::{Hits, names};
pub use split::Split;
