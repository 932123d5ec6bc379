//! People who share a store: accounts, groups, sessions, invitations, the audit trail.
//!
//! What happens at the door, before it is known who comes, is [`People`]. What somebody who
//! is in does with an account or a group is a function of [`Store`](crate::Store) with a
//! sight, which says who that is: no such function takes the account that acts.

mod door;
mod group;
mod own;
pub(crate) mod sql;

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::rows::columns;
use crate::{
    AccountId, DocumentId, GroupId, InvitationId, Kind, RevisionNumber, Role, SessionId,
    StoreError, Timestamp, TokenId,
};

pub use door::People;

/// An account.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    /// Its identifier.
    pub id: AccountId,
    /// By which it signs in, in small letters.
    pub name: String,
    /// How people call it.
    pub shown: String,
    /// When it was made.
    pub made_at: Timestamp,
    /// Since when it is closed; none while in use.
    pub closed_at: Option<Timestamp>,
}

/// An account to be made.
#[derive(Debug, Clone, Copy)]
pub struct NewAccount<'a> {
    /// By which it signs in: 2 to 40 small letters, figures, `-`, `_` or `.`.
    pub name: &'a str,
    /// How people call it.
    pub shown: &'a str,
    /// The hash of its password, in the string form that says how it was made.
    pub password_hash: &'a str,
}

/// Who shows a session or a token, and what that account is in the group that it looks at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SignedIn {
    /// The session; none for a token.
    pub session: Option<SessionId>,
    /// The account.
    pub account: AccountId,
    /// Its name.
    pub name: String,
    /// How people call it.
    pub shown: String,
    /// The group.
    pub group: GroupId,
    /// Its name.
    pub group_name: String,
    /// What it may there.
    pub role: Role,
}

/// A group that an account is in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroupOf {
    /// The group.
    pub id: GroupId,
    /// Its name.
    pub name: String,
    /// What the account may there.
    pub role: Role,
    /// Whether it is the account's own.
    pub own: bool,
}

/// A group, for whoever runs the server.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GroupRow {
    /// The group.
    pub id: GroupId,
    /// Its name.
    pub name: String,
    /// Whether it is one account's own.
    pub own: bool,
    /// How many are in it.
    pub members: u64,
}

/// Somebody in a group.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// The account.
    pub account: AccountId,
    /// Its name.
    pub name: String,
    /// How people call it.
    pub shown: String,
    /// What it may.
    pub role: Role,
}

/// An invitation that holds, as its token shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invited {
    /// Which.
    pub id: InvitationId,
    /// To which group.
    pub group: GroupId,
    /// Its name.
    pub group_name: String,
    /// As what.
    pub role: Role,
}

/// An invitation that waits, as the keepers of its group see it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invitation {
    /// Which.
    pub id: InvitationId,
    /// As what.
    pub role: Role,
    /// When it was made.
    pub made_at: Timestamp,
    /// Until when it holds.
    pub expires_at: Timestamp,
}

/// A session that is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenSession {
    /// Which.
    pub id: SessionId,
    /// When it signed in.
    pub made_at: Timestamp,
    /// When it last asked for something, to some minutes.
    pub seen_at: Timestamp,
    /// When it ends in any case.
    pub expires_at: Timestamp,
}

/// A token for programs, without what it opens with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TokenRow {
    /// Which.
    pub id: TokenId,
    /// What its owner calls it.
    pub name: String,
    /// The group that it acts in.
    pub group_name: String,
    /// The most that it may.
    pub role: Role,
    /// When it was made.
    pub made_at: Timestamp,
    /// Since when it opens nothing; none while it does.
    pub revoked_at: Option<Timestamp>,
}

/// A group that a document is shared with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SharedWith {
    /// The group.
    pub group: GroupId,
    /// Its name.
    pub name: String,
    /// What it may: read or brew.
    pub may: Role,
}

/// A document that a group shares.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SharedDocument {
    /// The document.
    pub id: DocumentId,
    /// What it is about.
    pub kind: Kind,
    /// Its title.
    pub title: String,
    /// The name of the group that it is shared with.
    pub with: String,
    /// What that one may.
    pub may: Role,
}

/// A line of the audit trail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditLine {
    /// Counted up.
    pub number: i64,
    /// When.
    pub at: Timestamp,
    /// Who, by name; none where that is not known.
    pub who: Option<String>,
    /// What was done.
    pub what: String,
    /// To what, by its identifier.
    pub thing: Option<String>,
}

/// A revision that an account wrote.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The document.
    pub document: DocumentId,
    /// The revision.
    pub revision: RevisionNumber,
    /// The title at that time.
    pub title: String,
    /// When.
    pub at: Timestamp,
}

/// Everything that is kept of a person, but the documents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PersonData {
    /// The account.
    pub account: Account,
    /// Its groups.
    pub groups: Vec<GroupOf>,
    /// Its open sessions.
    pub sessions: Vec<OpenSession>,
    /// Its tokens.
    pub tokens: Vec<TokenRow>,
    /// The revisions that bear its name, in the groups that it is in.
    pub written: Vec<Written>,
    /// What the audit trail has of it, the newest first.
    pub audit: Vec<AuditLine>,
}

/// Adds a line to the audit trail.
pub(crate) async fn note(
    tx: &mut Tx,
    at: Timestamp,
    account: Option<AccountId>,
    group: Option<GroupId>,
    what: &str,
    thing: Option<&str>,
) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::AUDIT_INSERT)
        .bind(at.ms())
        .bind(account.map(|id| id.to_string()))
        .bind(group.map(|id| id.to_string()))
        .bind(what).bind(thing)
        .execute(c).await.map(drop))
    .doing("writing the audit trail")
}

/// Makes a group; `own_of` is the account whose own it is.
pub(crate) async fn insert_group(
    tx: &mut Tx,
    id: GroupId,
    name: &str,
    own_of: Option<AccountId>,
    at: Timestamp,
) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::GROUP_INSERT)
        .bind(id.to_string()).bind(name).bind(at.ms())
        .bind(own_of.map(|id| id.to_string()))
        .execute(c).await.map(drop))
    .doing("making a group")
}

/// Puts an account into a group; whoever is in it keeps the role.
pub(crate) async fn insert_member(
    tx: &mut Tx,
    group: GroupId,
    account: AccountId,
    role: Role,
) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::MEMBER_INSERT)
        .bind(group.to_string()).bind(account.to_string()).bind(role.word())
        .execute(c).await.map(drop))
    .doing("letting somebody into a group")
}

columns! {
    pub(crate) struct AccountRow {
        id: String,
        name: String,
        shown: String,
        made_at_ms: i64,
        closed_at_ms: Option<i64>,
    }
}

impl TryFrom<AccountRow> for Account {
    type Error = StoreError;

    fn try_from(row: AccountRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: read_id(&row.id)?,
            name: row.name,
            shown: row.shown,
            made_at: Timestamp::from_row(row.made_at_ms)?,
            closed_at: row.closed_at_ms.map(Timestamp::from_row).transpose()?,
        })
    }
}

columns! {
    pub(crate) struct GroupOfRow {
        id: String,
        name: String,
        own_of: Option<String>,
        role: String,
    }
}

impl TryFrom<GroupOfRow> for GroupOf {
    type Error = StoreError;

    fn try_from(row: GroupOfRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: read_id(&row.id)?,
            name: row.name,
            role: Role::from_row(&row.role)?,
            own: row.own_of.is_some(),
        })
    }
}

columns! {
    pub(crate) struct AuditRow {
        id: i64,
        at_ms: i64,
        name: Option<String>,
        what: String,
        thing: Option<String>,
    }
}

impl TryFrom<AuditRow> for AuditLine {
    type Error = StoreError;

    fn try_from(row: AuditRow) -> Result<Self, StoreError> {
        Ok(Self {
            number: row.id,
            at: Timestamp::from_row(row.at_ms)?,
            who: row.name,
            what: row.what,
            thing: row.thing,
        })
    }
}

/// An identifier of a row.
pub(crate) fn read_id<T: std::str::FromStr<Err = StoreError>>(text: &str) -> Result<T, StoreError> {
    text.parse()
        .map_err(|_| StoreError::unreadable("identifier", text))
}
