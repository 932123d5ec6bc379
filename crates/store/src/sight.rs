//! What one account may see and change, asked of every document in the transaction that
//! then reads or writes it.
//!
//! A store without a sight shows everything: one machine, one household. With one, a
//! document of another group is not there, in the same words as one that never was.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::people::sql;
use crate::{AccountId, DocumentId, GroupId, SessionId, Store, StoreError, Timestamp};

/// What a member may do in a group; each may what those before it may.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Look at everything of the group.
    Read,
    /// Make and change documents, let devices in.
    Brew,
    /// Invite, give roles, share with other groups, read the audit trail.
    Keep,
}

impl Role {
    /// All of them, the least first.
    pub const ALL: [Self; 3] = [Self::Read, Self::Brew, Self::Keep];

    /// The word for it, as it stands in the tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Brew => "brew",
            Self::Keep => "keep",
        }
    }

    pub(crate) fn from_row(word: &str) -> Result<Self, StoreError> {
        word.parse()
            .map_err(|_| StoreError::unreadable("role", word))
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for Role {
    type Err = StoreError;

    fn from_str(word: &str) -> Result<Self, StoreError> {
        Self::ALL
            .into_iter()
            .find(|role| role.word() == word)
            .ok_or_else(|| StoreError::impossible("role", word, "one of read, brew, keep"))
    }
}

/// Who looks, and as what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sight {
    /// The account.
    pub account: AccountId,
    /// Its name, which is the author of what it writes.
    pub name: String,
    /// The group that it acts in: what it makes belongs to it.
    pub group: GroupId,
    /// The most that it may, whatever its role in the group: a token may hold less.
    pub most: Role,
    /// The session; none for a token, which manages nothing.
    pub session: Option<SessionId>,
    /// When it asked.
    pub at: Timestamp,
}

impl Store {
    /// The same store as one account sees it. Cheap: the connections are shared.
    #[must_use]
    pub fn seen_by(&self, sight: Sight) -> Self {
        Self {
            db: self.db.clone(),
            place: self.place.clone(),
            sight: Some(Arc::new(sight)),
        }
    }

    /// Who looks; none where everything is to be seen.
    #[must_use]
    pub fn sight(&self) -> Option<&Sight> {
        self.sight.as_deref()
    }

    /// A transaction that reads a document, if it may be seen.
    pub(crate) async fn to_read(&self, id: DocumentId) -> Result<Tx, StoreError> {
        let mut tx = self.db.read().await?;
        self.ask(&mut tx, id, Role::Read).await?;
        Ok(tx)
    }

    /// A transaction that changes a document, if that is allowed; what is done is in the
    /// audit trail if the transaction is kept.
    pub(crate) async fn to_change(
        &self,
        id: DocumentId,
        what: &'static str,
    ) -> Result<Tx, StoreError> {
        let mut tx = self.db.write().await?;
        self.ask(&mut tx, id, Role::Brew).await?;
        self.note(&mut tx, what, Some(&id.to_string())).await?;
        Ok(tx)
    }

    /// Refuses what concerns the whole store to one who sees a part of it.
    pub(crate) fn whole(&self, what: &'static str) -> Result<(), StoreError> {
        match self.sight {
            None => Ok(()),
            Some(_) => Err(StoreError::NotAllowed {
                what,
                who: "whoever runs the server",
            }),
        }
    }

    /// Whether a document may be used so. What may not be seen is not there.
    pub(crate) async fn ask(
        &self,
        tx: &mut Tx,
        id: DocumentId,
        needs: Role,
    ) -> Result<(), StoreError> {
        if self.sight.is_none() {
            return Ok(());
        }
        match self.allowed(tx, id).await? {
            None => Err(StoreError::NoSuchDocument { id }),
            Some((role, _)) if role < needs => Err(refused(needs)),
            Some(_) => Ok(()),
        }
    }

    /// What may be done with a document, and whether it is the group's own; none for one
    /// that may not be seen.
    pub(crate) async fn allowed(
        &self,
        tx: &mut Tx,
        id: DocumentId,
    ) -> Result<Option<(Role, bool)>, StoreError> {
        let Some(sight) = &self.sight else {
            return Ok(Some((Role::Keep, true)));
        };
        let group = sight.group.to_string();
        let found: Option<(String, Option<String>, Option<String>)> =
            on!(tx, c => sqlx::query_as(sql::SIGHT_OF)
                .bind(id.to_string()).bind(sight.account.to_string()).bind(&group)
                .fetch_optional(c).await)
            .doing("asking whose a document is")?;
        let Some((role, owner, may)) = found else {
            return Ok(None);
        };
        let role = Role::from_row(&role)?.min(sight.most);
        if owner.as_ref() == Some(&group) {
            return Ok(Some((role, true)));
        }
        let may = may.as_deref().map(Role::from_row).transpose()?;
        Ok(may.map(|may| (role.min(may), false)))
    }

    /// The role in the group, if it suffices; the group, to filter by. Nothing to filter
    /// by without a sight.
    pub(crate) async fn within(
        &self,
        tx: &mut Tx,
        needs: Role,
    ) -> Result<Option<String>, StoreError> {
        let Some(sight) = &self.sight else {
            return Ok(None);
        };
        let found: Option<String> = on!(tx, c => sqlx::query_scalar(sql::MEMBER_ROLE)
            .bind(sight.group.to_string()).bind(sight.account.to_string())
            .fetch_optional(c).await)
        .doing("asking for a role")?;
        match found.as_deref().map(Role::from_row).transpose()? {
            Some(role) if role.min(sight.most) >= needs => Ok(Some(sight.group.to_string())),
            _ => Err(refused(needs)),
        }
    }

    /// Adds a line to the audit trail; none without a sight.
    pub(crate) async fn note(
        &self,
        tx: &mut Tx,
        what: &str,
        thing: Option<&str>,
    ) -> Result<(), StoreError> {
        match &self.sight {
            None => Ok(()),
            Some(sight) => {
                crate::people::note(
                    tx,
                    sight.at,
                    Some(sight.account),
                    Some(sight.group),
                    what,
                    thing,
                )
                .await
            }
        }
    }

    /// Who is named as the author of what is written now.
    pub(crate) fn author<'a>(&'a self, given: Option<&'a str>) -> Option<&'a str> {
        match &self.sight {
            None => given,
            Some(sight) => Some(&sight.name),
        }
    }
}

pub(crate) const fn refused(needs: Role) -> StoreError {
    match needs {
        Role::Read => StoreError::NotAllowed {
            what: "to look at this",
            who: "a member of the group",
        },
        Role::Brew => StoreError::NotAllowed {
            what: "to change this",
            who: "a member who may brew",
        },
        Role::Keep => StoreError::NotAllowed {
            what: "to manage this",
            who: "a keeper of the group",
        },
    }
}
