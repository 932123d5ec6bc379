//! What somebody who is signed in does with the own account.

use super::door::{count_try, find_invitation, group_name, token_mark, use_invitation};
use super::{
    Account, AccountRow, AuditLine, AuditRow, GroupOf, GroupOfRow, OpenSession, PersonData,
    TokenRow, Written, insert_group, insert_member, note, read_id, sql,
};
use crate::db::{Tx, on};
use crate::device::random_hex;
use crate::digest::sha256_hex;
use crate::error::Doing;
use crate::sight::refused;
use crate::{
    AccountId, GroupId, RevisionNumber, Role, SessionId, Sight, Store, StoreError, Timestamp,
    TokenId, limits, rows,
};

/// Lines of the audit trail that go with a person's data.
const AUDIT_OF_PERSON: i64 = 10_000;

impl Store {
    /// Who is signed in. A token for programs is nobody here: it has no account to change.
    pub(super) fn person(&self) -> Result<(&Sight, SessionId), StoreError> {
        let signed_in = self.sight().and_then(|s| Some((s, s.session?)));
        signed_in.ok_or(StoreError::NotAllowed {
            what: "this",
            who: "somebody who is signed in",
        })
    }

    /// The groups of the account, the oldest first.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without a sight.
    pub async fn my_groups(&self) -> Result<Vec<GroupOf>, StoreError> {
        let sight = self.sight().ok_or(refused(Role::Read))?;
        groups_of(&mut self.db.read().await?, sight.account).await
    }

    /// Makes a group; whoever makes it keeps it.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a name that cannot be kept.
    pub async fn make_group(&self, name: &str) -> Result<GroupId, StoreError> {
        let (sight, _) = self.person()?;
        limits::shown_name("name of a group", name)?;
        let id = GroupId::new(sight.at);
        let mut tx = self.db.write().await?;
        insert_group(&mut tx, id, name, None, sight.at).await?;
        insert_member(&mut tx, id, sight.account, Role::Keep).await?;
        let (at, who) = (sight.at, Some(sight.account));
        note(&mut tx, at, who, Some(id), "make the group", None).await?;
        tx.commit("making a group").await?;
        Ok(id)
    }

    /// Joins the group of an invitation, which is then used up.
    ///
    /// # Errors
    /// [`StoreError::NoInvitation`].
    pub async fn join(&self, token: &str) -> Result<GroupId, StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.write().await?;
        let invited = find_invitation(&mut tx, token, sight.at)
            .await?
            .ok_or(StoreError::NoInvitation)?;
        use_invitation(&mut tx, &invited, sight.account, sight.at).await?;
        tx.commit("joining a group").await?;
        Ok(invited.group)
    }

    /// Looks at another of the account's groups from now on.
    ///
    /// # Errors
    /// [`StoreError::NoSuchGroup`] for one that it is not in.
    pub async fn look_at(&self, group: GroupId) -> Result<(), StoreError> {
        let (sight, session) = self.person()?;
        let mut tx = self.db.write().await?;
        let groups = groups_of(&mut tx, sight.account).await?;
        if !groups.iter().any(|g| g.id == group) {
            return Err(StoreError::NoSuchGroup);
        }
        on!(&mut tx, c => sqlx::query(sql::SESSION_SWITCH)
            .bind(session.to_string()).bind(group.to_string()).execute(c).await.map(drop))
        .doing("looking at another group")?;
        tx.commit("looking at another group").await
    }

    /// The open sessions of the account, the newest first.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn my_sessions(&self, idle_ms: i64) -> Result<Vec<OpenSession>, StoreError> {
        let (sight, _) = self.person()?;
        sessions_of(&mut self.db.read().await?, sight, idle_ms).await
    }

    /// Ends the session.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn sign_out(&self) -> Result<(), StoreError> {
        let (sight, session) = self.person()?;
        let mut tx = self.db.write().await?;
        on!(&mut tx, c => sqlx::query(sql::SESSION_END)
            .bind(session.to_string()).bind(sight.at.ms()).execute(c).await.map(drop))
        .doing("signing out")?;
        self.note(&mut tx, "sign out", None).await?;
        tx.commit("signing out").await
    }

    /// Ends all sessions of the account.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn sign_out_everywhere(&self) -> Result<(), StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.write().await?;
        end_all(&mut tx, sight).await?;
        self.note(&mut tx, "sign out everywhere", None).await?;
        tx.commit("signing out").await
    }

    /// The hash of the account's password.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn my_password_hash(&self) -> Result<String, StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.read().await?;
        let hash: Option<String> = on!(&mut tx, c => sqlx::query_scalar(sql::ACCOUNT_HASH)
            .bind(sight.account.to_string()).fetch_optional(c).await)
        .doing("reading an account")?;
        hash.ok_or(refused(Role::Read))
    }

    /// Counts a try of the password by somebody who is signed in: an open screen is no place
    /// to guess it.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn count_my_try(&self, window_ms: i64) -> Result<(i64, Timestamp), StoreError> {
        let (sight, _) = self.person()?;
        let key = format!("account {}", sight.account);
        let mut tx = self.db.write().await?;
        let counted = count_try(&mut tx, &key, sight.at, window_ms).await?;
        tx.commit("counting a try").await?;
        Ok(counted)
    }

    /// Sets another password, and ends all sessions: whoever knew the old one is out.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn set_my_password(&self, hash: &str) -> Result<(), StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.write().await?;
        on!(&mut tx, c => sqlx::query(sql::ACCOUNT_SET_HASH)
            .bind(sight.account.to_string()).bind(hash).execute(c).await.map(drop))
        .doing("setting a password")?;
        end_all(&mut tx, sight).await?;
        self.note(&mut tx, "change the password", None).await?;
        tx.commit("setting a password").await
    }

    /// The tokens for programs that the account made, the oldest first.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn my_tokens(&self) -> Result<Vec<TokenRow>, StoreError> {
        let (sight, _) = self.person()?;
        tokens_of(&mut self.db.read().await?, sight.account).await
    }

    /// Makes a token for programs, for the group that is looked at: it may what the account
    /// may there, at most `role`. It is shown this once.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a name that cannot be kept,
    /// [`StoreError::NotAllowed`] for more than the account may.
    pub async fn make_token(&self, name: &str, role: Role) -> Result<String, StoreError> {
        let (sight, _) = self.person()?;
        limits::shown_name("name of a token", name)?;
        let token = format!("{}{}", token_mark(), random_hex()?);
        let id = TokenId::new(sight.at);
        let mut tx = self.db.write().await?;
        self.within(&mut tx, role).await?;
        on!(&mut tx, c => sqlx::query(sql::TOKEN_INSERT)
            .bind(id.to_string()).bind(sha256_hex(&token))
            .bind(sight.account.to_string()).bind(sight.group.to_string())
            .bind(name).bind(role.word()).bind(sight.at.ms())
            .execute(c).await.map(drop))
        .doing("making a token")?;
        self.note(&mut tx, "make a token", Some(&id.to_string()))
            .await?;
        tx.commit("making a token").await?;
        Ok(token)
    }

    /// Revokes a token of the account; another's is left as it is, and nothing is said.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn revoke_token(&self, id: TokenId) -> Result<(), StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.write().await?;
        let hit = on!(&mut tx, c => sqlx::query(sql::TOKEN_REVOKE)
            .bind(id.to_string()).bind(sight.account.to_string()).bind(sight.at.ms())
            .execute(c).await.map(|done| done.rows_affected()))
        .doing("revoking a token")?;
        if hit > 0 {
            self.note(&mut tx, "revoke a token", Some(&id.to_string()))
                .await?;
        }
        tx.commit("revoking a token").await
    }

    /// Everything that is kept of the person, but the documents.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without somebody signed in.
    pub async fn my_data(&self, idle_ms: i64) -> Result<PersonData, StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.read().await?;
        let account: Option<AccountRow> = on!(&mut tx, c => sqlx::query_as(sql::ACCOUNT_READ)
            .bind(sight.account.to_string()).fetch_optional(c).await)
        .doing("reading an account")?;
        let account: Account = account.ok_or(refused(Role::Read))?.try_into()?;
        let found: Vec<(String, i64, String, i64)> =
            on!(&mut tx, c => sqlx::query_as(sql::WRITTEN_BY)
            .bind(&account.name).bind(sight.account.to_string()).fetch_all(c).await)
            .doing("reading what was written")?;
        let written = found.into_iter().map(|(document, number, title, at)| {
            Ok(Written {
                document: rows::document_id(&document)?,
                revision: RevisionNumber::from_row(number)?,
                title,
                at: Timestamp::from_row(at)?,
            })
        });
        let found: Vec<AuditRow> = on!(&mut tx, c => sqlx::query_as(sql::AUDIT_OF_ACCOUNT)
            .bind(sight.account.to_string()).bind(i64::MAX).bind(AUDIT_OF_PERSON)
            .fetch_all(c).await)
        .doing("reading the audit trail")?;
        Ok(PersonData {
            written: written.collect::<Result<_, StoreError>>()?,
            audit: rows::all::<_, AuditLine>(found)?,
            groups: groups_of(&mut tx, sight.account).await?,
            sessions: sessions_of(&mut tx, sight, idle_ms).await?,
            tokens: tokens_of(&mut tx, sight.account).await?,
            account,
        })
    }

    /// Closes the account. Its own group and those that nobody else is in go, with
    /// everything that they own. What it wrote for other groups stays, under no name.
    /// Sessions and tokens end.
    ///
    /// # Errors
    /// [`StoreError::LastKeeper`] where others are in a group that it alone keeps.
    pub async fn close_my_account(&self) -> Result<(), StoreError> {
        let (sight, _) = self.person()?;
        let doing = "closing an account";
        let mut tx = self.db.write().await?;
        for group in groups_of(&mut tx, sight.account).await? {
            hold(&mut tx, group.id).await?;
            if group.own || count(&mut tx, sql::MEMBER_COUNT, group.id).await? == 1 {
                remove_group(&mut tx, group.id).await?;
            } else {
                remove_member(&mut tx, group.id, sight.account).await?;
            }
        }
        let nobody = format!("former-{}", sight.account.short());
        for statement in [sql::AUTHOR_OF_REVISIONS, sql::AUTHOR_OF_SIDES] {
            on!(&mut tx, c => sqlx::query(statement)
                .bind(&sight.name).bind(&nobody).execute(c).await.map(drop))
            .doing(doing)?;
        }
        end_all(&mut tx, sight).await?;
        on!(&mut tx, c => sqlx::query(sql::TOKEN_REVOKE_ALL)
            .bind(sight.account.to_string()).bind(sight.at.ms()).execute(c).await.map(drop))
        .doing(doing)?;
        on!(&mut tx, c => sqlx::query(sql::ACCOUNT_CLOSE)
            .bind(sight.account.to_string()).bind(&nobody).bind("a former member").bind(sight.at.ms())
            .execute(c).await.map(drop))
        .doing(doing)?;
        let (at, who) = (sight.at, Some(sight.account));
        note(&mut tx, at, who, None, "close the account", None).await?;
        tx.commit(doing).await
    }

    /// Leaves the group that is looked at.
    ///
    /// # Errors
    /// [`StoreError::LastKeeper`] for its only keeper; [`StoreError::NotAllowed`] for the
    /// account's own group.
    pub async fn leave_group(&self) -> Result<(), StoreError> {
        let (sight, session) = self.person()?;
        let mut tx = self.db.write().await?;
        let groups = groups_of(&mut tx, sight.account).await?;
        let Some(own) = groups.iter().find(|g| g.own && g.id != sight.group) else {
            return Err(StoreError::NotAllowed {
                what: "to leave your own group",
                who: "nobody; close the account instead",
            });
        };
        hold(&mut tx, sight.group).await?;
        self.note(&mut tx, "leave the group", None).await?;
        remove_member(&mut tx, sight.group, sight.account).await?;
        on!(&mut tx, c => sqlx::query(sql::SESSION_SWITCH)
            .bind(session.to_string()).bind(own.id.to_string()).execute(c).await.map(drop))
        .doing("leaving a group")?;
        tx.commit("leaving a group").await
    }
}

pub(super) async fn groups_of(tx: &mut Tx, account: AccountId) -> Result<Vec<GroupOf>, StoreError> {
    let found: Vec<GroupOfRow> = on!(tx, c => sqlx::query_as(sql::GROUPS_OF)
        .bind(account.to_string()).fetch_all(c).await)
    .doing("reading the groups of an account")?;
    rows::all(found)
}

async fn sessions_of(
    tx: &mut Tx,
    sight: &Sight,
    idle_ms: i64,
) -> Result<Vec<OpenSession>, StoreError> {
    let found: Vec<(String, i64, i64, i64)> = on!(tx, c => sqlx::query_as(sql::SESSIONS_OF)
        .bind(sight.account.to_string()).bind(sight.at.ms()).bind(sight.at.ms() - idle_ms)
        .fetch_all(c).await)
    .doing("reading sessions")?;
    let open = |(id, made, seen, expires): (String, i64, i64, i64)| {
        Ok(OpenSession {
            id: read_id(&id)?,
            made_at: Timestamp::from_row(made)?,
            seen_at: Timestamp::from_row(seen)?,
            expires_at: Timestamp::from_row(expires)?,
        })
    };
    found.into_iter().map(open).collect()
}

async fn tokens_of(tx: &mut Tx, account: AccountId) -> Result<Vec<TokenRow>, StoreError> {
    type Row = (String, String, String, String, i64, Option<i64>);
    let found: Vec<Row> = on!(tx, c => sqlx::query_as(sql::TOKENS_OF)
        .bind(account.to_string()).fetch_all(c).await)
    .doing("reading tokens")?;
    let row = |(id, name, group_name, role, made, revoked): Row| {
        Ok(TokenRow {
            id: read_id(&id)?,
            name,
            group_name,
            role: Role::from_row(&role)?,
            made_at: Timestamp::from_row(made)?,
            revoked_at: revoked.map(Timestamp::from_row).transpose()?,
        })
    };
    found.into_iter().map(row).collect()
}

async fn end_all(tx: &mut Tx, sight: &Sight) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::SESSION_END_ALL)
        .bind(sight.account.to_string()).bind(sight.at.ms()).execute(c).await.map(drop))
    .doing("signing out")
}

/// Two who change the members of a group take turns.
pub(super) async fn hold(tx: &mut Tx, group: GroupId) -> Result<(), StoreError> {
    group_name(tx, group).await?;
    on!(tx, c => sqlx::query(sql::GROUP_HOLD)
        .bind(group.to_string()).execute(c).await.map(drop))
    .doing("changing a group")
}

pub(super) async fn count(
    tx: &mut Tx,
    statement: &'static str,
    group: GroupId,
) -> Result<i64, StoreError> {
    on!(tx, c => sqlx::query_scalar(statement).bind(group.to_string()).fetch_one(c).await)
        .doing("counting members")
}

/// Takes an account out of a group that is held.
pub(super) async fn remove_member(
    tx: &mut Tx,
    group: GroupId,
    account: AccountId,
) -> Result<(), StoreError> {
    let hit = on!(&mut *tx, c => sqlx::query(sql::MEMBER_REMOVE)
        .bind(group.to_string()).bind(account.to_string())
        .execute(c).await.map(|done| done.rows_affected()))
    .doing("taking somebody out of a group")?;
    if hit == 0 {
        return Err(StoreError::NoSuchMember);
    }
    require_keeper(tx, group).await
}

pub(super) async fn require_keeper(tx: &mut Tx, group: GroupId) -> Result<(), StoreError> {
    match count(tx, sql::KEEPERS, group).await? {
        0 => Err(StoreError::LastKeeper),
        _ => Ok(()),
    }
}

/// Removes a group that is held with everything that it owns. The only thing that a store
/// ever deletes: a person has a right to it.
async fn remove_group(tx: &mut Tx, group: GroupId) -> Result<(), StoreError> {
    let doing = "removing a group";
    for statement in sql::REMOVE_OF_GROUP {
        on!(&mut *tx, c => sqlx::query(*statement)
            .bind(group.to_string()).execute(c).await.map(drop))
        .doing(doing)?;
    }
    on!(&mut *tx, c => sqlx::query(sql::GROUP_EMPTY)
        .bind(group.to_string()).bind("a former group").execute(c).await.map(drop))
    .doing(doing)
}
