//! One repository of documents, revisions and readings, over SQLite (one file,
//! the default) and PostgreSQL (a club or a school).
//!
//! ```
//! use store::{Draft, Kind, ListRequest, Store, StoreError, Timestamp};
//!
//! # #[tokio::main(flavor = "current_thread")]
//! # async fn main() -> Result<(), Box<dyn std::error::Error>> {
//! # let folder = tempfile::tempdir()?;
//! # let path = folder.path().join("gylewright.db");
//! let store = Store::open(path.as_path()).await?; // or "postgres://host/club"
//! let now = Timestamp::from_ms(1_773_480_413_589)?;
//!
//! let stout = store.create(Kind::Batch, &Draft::new("Stout", "og = \"1.050\""), now).await?;
//! let second = Draft::new("Stout", "og = \"1.042\"");
//! store.save(stout.id, stout.revision, &second, now).await?;
//!
//! // Somebody else still has the first revision on the screen.
//! let theirs = Draft::new("Stout", "og = \"1.060\"");
//! match store.save(stout.id, stout.revision, &theirs, now).await {
//!     Err(StoreError::Stale { current, yours_kept_as, .. }) => {
//!         assert_eq!(current.get(), 2);
//!         assert_eq!(store.side_version(yours_kept_as).await?.text, "og = \"1.060\"");
//!     }
//!     other => panic!("{other:?}"),
//! }
//! assert_eq!(store.list(&ListRequest::of(Kind::Batch)).await?.total, 1);
//! # Ok(())
//! # }
//! ```
//!
//! # What it promises
//! - **Nothing is overwritten or deleted** (but jobs, which can be reckoned again). A save adds a revision. A save on a
//!   revision that is no longer the newest is refused, and its text is kept as a
//!   *side version* that can be listed, read and brought back. Archiving hides.
//!   One thing deletes: [`Store::close_my_account`], what that person alone owned.
//! - **Nobody sees another group's things**: a store with a [`Sight`] asks of each
//!   document, in the transaction that uses it, whose it is. Without one, the whole
//!   store is one household's.
//! - **What was acknowledged is there**, whole, after the program is killed at
//!   any moment. On SQLite it also survives a power cut, as far as the disk
//!   keeps its word when it is told to flush (`synchronous=FULL`); on PostgreSQL
//!   that is for the server's settings to say (`synchronous_commit`, on unless
//!   somebody turned it off).
//! - **Every text carries its SHA-256**, and [`Store::check`] compares them all.
//! - **It can be taken away**: [`Store::backup`] for one file,
//!   [`Store::export`] for plain TOML and CSV, the same bytes from either engine.
//!
//! # What it leaves to others
//! It does not look into a document: the caller gives title and text. It reads no
//! clock: the caller says when. Connections to PostgreSQL are not encrypted.

mod analysis;
mod backup;
mod carried;
mod check;
mod consent;
mod db;
mod delivery;
mod device;
mod difference;
mod digest;
mod document;
mod error;
mod export;
mod folder;
mod import;
mod job;
mod layout;
mod limits;
mod migrate;
mod names;
mod people;
mod place;
mod reading;
mod rows;
mod save;
mod shelf;
mod side;
mod sight;
mod sql;
mod store;
mod table;

pub use analysis::Analysis;
pub use backup::Restored;
pub use check::{CheckProblem, Report};
pub use consent::{Consent, Consents, OwnedBatch};
pub use delivery::{Block, BlockKept, Delivery, Remark, RemarkKind};
pub use device::{Device, NewDevice};
pub use difference::{Change, Difference, Line, Stretch};
pub use document::{
    Document, Draft, ListRequest, Listing, Revision, RevisionInfo, Saved, Shelf, SideInfo,
    SideVersion,
};
pub use error::{ImportProblem, StoreError, Trouble};
pub use export::Exported;
pub use import::Imported;
pub use job::{Beat, Claimed, Ending, Job, JobState, JobTexts, LEASES, MOST_OPEN, NewJob};
pub use limits::{MAX_LINE_BYTES, MAX_NAME_BYTES, MAX_TEXT_BYTES};
pub use names::{
    AccountId, Day, DeviceId, DocumentId, GroupId, InvitationId, JobId, Kind, RevisionNumber,
    SessionId, SideId, Timestamp, TokenId,
};
pub use people::{
    Account, AuditLine, GroupOf, GroupRow, Invitation, Invited, Member, NewAccount, OpenSession,
    People, PersonData, SharedDocument, SharedWith, SignedIn, TokenRow, Written,
};
pub use place::{Place, default_path};
pub use reading::{Added, Channel, Reading, ReadingRequest};
pub use save::NewDocument;
pub use sight::{Role, Sight};
pub use store::Store;
