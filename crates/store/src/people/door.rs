//! The door: whoever comes shows a password, a session, a token or an invitation.

use super::{
    Account, AccountRow, GroupRow, Invited, NewAccount, SignedIn, insert_group, insert_member,
    note, read_id, sql,
};
use crate::db::{Db, Tx, on};
use crate::device::random_hex;
use crate::digest::sha256_hex;
use crate::error::Doing;
use crate::rows::columns;
use crate::{
    AccountId, GroupId, InvitationId, Role, SessionId, Store, StoreError, Timestamp, limits, rows,
};

/// A session notes that it was used at most this often, so that reading a page is seldom a
/// write \[ms\].
const NOTED_EACH_MS: i64 = 5 * 60 * 1000;
/// A token for programs begins so, and can be told from that of a device.
const TOKEN_MARK: &str = "gyle-";

/// The people of a store, before it is known who asks.
#[derive(Debug, Clone)]
pub struct People {
    db: Db,
}

columns! {
    struct SessionRow {
        id: String,
        account_id: String,
        name: String,
        shown: String,
        group_id: String,
        group_name: String,
        role: Option<String>,
        seen_at_ms: i64,
    }
}

columns! {
    struct AccessRow {
        account_id: String,
        name: String,
        shown: String,
        group_id: String,
        group_name: String,
        most: String,
        role: String,
    }
}

impl Store {
    /// The door of this store.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] with a sight: whoever is in has no business there.
    pub fn people(&self) -> Result<People, StoreError> {
        self.whole("the door")?;
        Ok(People {
            db: self.db.clone(),
        })
    }
}

impl People {
    /// Whether the store can be read and its people be asked for.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if not.
    pub async fn answers(&self) -> Result<(), StoreError> {
        let mut tx = self.db.read().await?;
        let _: Option<String> = on!(&mut tx, c => sqlx::query_scalar(sql::ACCOUNT_HASH)
            .bind("").fetch_optional(c).await)
        .doing("asking the store")?;
        Ok(())
    }

    /// How many sessions are open: neither ended nor over nor idle for too long.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn sessions_open(&self, at: Timestamp, idle_ms: i64) -> Result<u64, StoreError> {
        let mut tx = self.db.read().await?;
        let open: i64 = on!(&mut tx, c => sqlx::query_scalar(sql::SESSIONS_OPEN)
            .bind(at.ms()).bind(at.ms() - idle_ms).fetch_one(c).await)
        .doing("counting sessions")?;
        Ok(u64::try_from(open).unwrap_or(0))
    }

    /// Makes a group and an invitation for its first keeper, which is shown this once.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a name that cannot be kept.
    pub async fn begin(
        &self,
        name: &str,
        at: Timestamp,
        expires: Timestamp,
    ) -> Result<(GroupId, String), StoreError> {
        limits::shown_name("name of a group", name)?;
        let group = GroupId::new(at);
        let mut tx = self.db.write().await?;
        insert_group(&mut tx, group, name, None, at).await?;
        let (_, token) = insert_invitation(&mut tx, group, Role::Keep, None, at, expires).await?;
        note(&mut tx, at, None, Some(group), "begin a group", None).await?;
        tx.commit("making a group").await?;
        Ok((group, token))
    }

    /// Makes a further invitation for a keeper, for whoever runs the server: where the last
    /// one is gone, or the password forgotten.
    ///
    /// # Errors
    /// [`StoreError::NoSuchGroup`].
    pub async fn invite_keeper(
        &self,
        group: GroupId,
        at: Timestamp,
        expires: Timestamp,
    ) -> Result<String, StoreError> {
        let mut tx = self.db.write().await?;
        group_name(&mut tx, group).await?;
        let (_, token) = insert_invitation(&mut tx, group, Role::Keep, None, at, expires).await?;
        note(&mut tx, at, None, Some(group), "invite a keeper", None).await?;
        tx.commit("inviting").await?;
        Ok(token)
    }

    /// Gives every document that belongs to no group to one, and says how many.
    ///
    /// # Errors
    /// [`StoreError::NoSuchGroup`].
    pub async fn give_rest_to(&self, group: GroupId, at: Timestamp) -> Result<u64, StoreError> {
        let mut tx = self.db.write().await?;
        group_name(&mut tx, group).await?;
        let given = on!(&mut tx, c => sqlx::query(sql::DOCUMENTS_WITHOUT_GROUP)
            .bind(group.to_string()).execute(c).await.map(|done| done.rows_affected()))
        .doing("giving documents to a group")?;
        note(&mut tx, at, None, Some(group), "take in documents", None).await?;
        tx.commit("giving documents to a group").await?;
        Ok(given)
    }

    /// All groups, the oldest first.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn groups(&self) -> Result<Vec<GroupRow>, StoreError> {
        let mut tx = self.db.read().await?;
        let found: Vec<(String, String, Option<String>, i64)> =
            on!(&mut tx, c => sqlx::query_as(sql::GROUP_LIST).fetch_all(c).await)
                .doing("listing groups")?;
        let row = |(id, name, own, members): (String, String, Option<String>, i64)| {
            Ok(GroupRow {
                id: read_id(&id)?,
                name,
                own: own.is_some(),
                members: u64::try_from(members).unwrap_or_default(),
            })
        };
        found.into_iter().map(row).collect()
    }

    /// All accounts, the oldest first, those that were closed too.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn accounts(&self) -> Result<Vec<Account>, StoreError> {
        let mut tx = self.db.read().await?;
        let found: Vec<AccountRow> =
            on!(&mut tx, c => sqlx::query_as(sql::ACCOUNT_LIST).fetch_all(c).await)
                .doing("listing accounts")?;
        rows::all(found)
    }

    /// Ends all sessions and tokens of an account, for whoever runs the server.
    ///
    /// # Errors
    /// [`StoreError::NoSuchMember`] for a name that nobody has.
    pub async fn shut_out(&self, name: &str, at: Timestamp) -> Result<(), StoreError> {
        let found = self.by_name(name).await?;
        let (account, _) = found.ok_or(StoreError::NoSuchMember)?;
        let mut tx = self.db.write().await?;
        for statement in [sql::SESSION_END_ALL, sql::TOKEN_REVOKE_ALL] {
            on!(&mut tx, c => sqlx::query(statement)
                .bind(account.to_string()).bind(at.ms()).execute(c).await.map(drop))
            .doing("shutting somebody out")?;
        }
        note(
            &mut tx,
            at,
            Some(account),
            None,
            "shut out by the server",
            None,
        )
        .await?;
        tx.commit("shutting somebody out").await
    }

    /// The invitation that a token is for; none where it does not hold.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn invitation(
        &self,
        token: &str,
        now: Timestamp,
    ) -> Result<Option<Invited>, StoreError> {
        find_invitation(&mut self.db.read().await?, token, now).await
    }

    /// Makes an account by an invitation, which is then used up: a member of the group, with
    /// a group of its own.
    ///
    /// # Errors
    /// [`StoreError::NoInvitation`], [`StoreError::NameTaken`],
    /// [`StoreError::Impossible`] for a name that cannot be had.
    pub async fn enter(
        &self,
        token: &str,
        new: &NewAccount<'_>,
        at: Timestamp,
    ) -> Result<AccountId, StoreError> {
        check_account_name(new.name)?;
        limits::shown_name("name that is shown", new.shown)?;
        let mut tx = self.db.write().await?;
        let invited = find_invitation(&mut tx, token, at)
            .await?
            .ok_or(StoreError::NoInvitation)?;
        let id = AccountId::new(at);
        let made = on!(&mut tx, c => sqlx::query(sql::ACCOUNT_INSERT)
            .bind(id.to_string()).bind(new.name).bind(new.shown)
            .bind(new.password_hash).bind(at.ms())
            .execute(c).await.map(|done| done.rows_affected()))
        .doing("making an account")?;
        if made == 0 {
            return Err(StoreError::NameTaken {
                name: new.name.to_owned(),
            });
        }
        let own = GroupId::new(at);
        insert_group(&mut tx, own, new.shown, Some(id), at).await?;
        insert_member(&mut tx, own, id, Role::Keep).await?;
        use_invitation(&mut tx, &invited, id, at).await?;
        tx.commit("making an account").await?;
        Ok(id)
    }

    /// Who has a name, with the hash of the password; none for a name that nobody has.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn by_name(&self, name: &str) -> Result<Option<(AccountId, String)>, StoreError> {
        let mut tx = self.db.read().await?;
        let found: Option<(String, String)> =
            on!(&mut tx, c => sqlx::query_as(sql::ACCOUNT_BY_NAME)
            .bind(name).fetch_optional(c).await)
            .doing("looking for an account")?;
        found
            .map(|(id, hash)| Ok((read_id(&id)?, hash)))
            .transpose()
    }

    /// Opens a session for an account that has shown who it is, and gives its token, which
    /// is kept nowhere. It looks at `group`, or at the first group that is not the
    /// account's own.
    ///
    /// # Errors
    /// [`StoreError::NoSuchGroup`] for an account that is in none.
    pub async fn sign_in(
        &self,
        account: AccountId,
        group: Option<GroupId>,
        at: Timestamp,
        expires: Timestamp,
    ) -> Result<String, StoreError> {
        let token = random_hex()?;
        let mut tx = self.db.write().await?;
        let groups = super::own::groups_of(&mut tx, account).await?;
        let chosen = groups
            .iter()
            .find(|g| Some(g.id) == group)
            .or_else(|| groups.iter().find(|g| !g.own))
            .or(groups.first())
            .ok_or(StoreError::NoSuchGroup)?;
        let id = SessionId::new(at);
        on!(&mut tx, c => sqlx::query(sql::SESSION_INSERT)
            .bind(id.to_string()).bind(sha256_hex(&token))
            .bind(account.to_string()).bind(chosen.id.to_string())
            .bind(at.ms()).bind(expires.ms())
            .execute(c).await.map(drop))
        .doing("signing in")?;
        note(&mut tx, at, Some(account), None, "sign in", None).await?;
        tx.commit("signing in").await?;
        Ok(token)
    }

    /// Who a session belongs to, if it still holds. Being used keeps it from going idle.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn session(
        &self,
        token: &str,
        now: Timestamp,
        idle_ms: i64,
    ) -> Result<Option<SignedIn>, StoreError> {
        let mut tx = self.db.read().await?;
        let found: Option<SessionRow> = on!(&mut tx, c => sqlx::query_as(sql::SESSION_BY_TOKEN)
            .bind(sha256_hex(token)).bind(now.ms()).bind(now.ms() - idle_ms)
            .fetch_optional(c).await)
        .doing("looking for a session")?;
        drop(tx);
        let Some(row) = found else { return Ok(None) };
        if now.ms() - row.seen_at_ms > NOTED_EACH_MS {
            let mut tx = self.db.write().await?;
            on!(&mut tx, c => sqlx::query(sql::SESSION_SEEN)
                .bind(&row.id).bind(now.ms()).execute(c).await.map(drop))
            .doing("noting a session")?;
            tx.commit("noting a session").await?;
        }
        let Some(role) = row.role else {
            return self.elsewhere(&row, now).await;
        };
        Ok(Some(SignedIn {
            session: Some(read_id(&row.id)?),
            account: read_id(&row.account_id)?,
            name: row.name,
            shown: row.shown,
            group: read_id(&row.group_id)?,
            group_name: row.group_name,
            role: Role::from_row(&role)?,
        }))
    }

    /// The session of somebody who is no longer in the group that it looked at: it looks at
    /// another one of the account's from now on.
    async fn elsewhere(
        &self,
        row: &SessionRow,
        now: Timestamp,
    ) -> Result<Option<SignedIn>, StoreError> {
        let account: AccountId = read_id(&row.account_id)?;
        let mut tx = self.db.write().await?;
        let groups = super::own::groups_of(&mut tx, account).await?;
        let Some(group) = groups.into_iter().next() else {
            return Ok(None);
        };
        on!(&mut tx, c => sqlx::query(sql::SESSION_SWITCH)
            .bind(&row.id).bind(group.id.to_string()).execute(c).await.map(drop))
        .doing("leading a session elsewhere")?;
        let session = read_id(&row.id)?;
        note(&mut tx, now, Some(account), None, "look elsewhere", None).await?;
        tx.commit("leading a session elsewhere").await?;
        Ok(Some(SignedIn {
            session: Some(session),
            account,
            name: row.name.clone(),
            shown: row.shown.clone(),
            group: group.id,
            group_name: group.name,
            role: group.role,
        }))
    }

    /// Whose a token for programs is; none for one that nobody has or that was revoked.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn of_token(&self, token: &str) -> Result<Option<SignedIn>, StoreError> {
        if !token.starts_with(TOKEN_MARK) {
            return Ok(None);
        }
        let mut tx = self.db.read().await?;
        let found: Option<AccessRow> = on!(&mut tx, c => sqlx::query_as(sql::TOKEN_BY_HASH)
            .bind(sha256_hex(token)).fetch_optional(c).await)
        .doing("looking for a token")?;
        let Some(row) = found else { return Ok(None) };
        Ok(Some(SignedIn {
            session: None,
            account: read_id(&row.account_id)?,
            name: row.name,
            shown: row.shown,
            group: read_id(&row.group_id)?,
            group_name: row.group_name,
            role: Role::from_row(&row.role)?.min(Role::from_row(&row.most)?),
        }))
    }

    /// Counts a try under a key (a name, an address), and says which one it is within its
    /// window, and when that began.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn count_try(
        &self,
        key: &str,
        now: Timestamp,
        window_ms: i64,
    ) -> Result<(i64, Timestamp), StoreError> {
        let mut tx = self.db.write().await?;
        let counted = count_try(&mut tx, key, now, window_ms).await?;
        tx.commit("counting a try").await?;
        Ok(counted)
    }

    /// Forgets the tries under a key, and all whose window ended before `old`; sessions that
    /// ended before then too.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn forget_tries(&self, key: &str, old: Timestamp) -> Result<(), StoreError> {
        let mut tx = self.db.write().await?;
        on!(&mut tx, c => sqlx::query(sql::TRY_FORGET)
            .bind(sha256_hex(key)).bind(old.ms()).execute(c).await.map(drop))
        .doing("forgetting tries")?;
        on!(&mut tx, c => sqlx::query(sql::SESSIONS_FORGET)
            .bind(old.ms()).execute(c).await.map(drop))
        .doing("forgetting sessions")?;
        tx.commit("forgetting tries").await
    }

    /// Notes at the door what concerns an account, or nobody who is known.
    ///
    /// # Errors
    /// [`StoreError::Engine`].
    pub async fn note(
        &self,
        account: Option<AccountId>,
        what: &'static str,
        at: Timestamp,
    ) -> Result<(), StoreError> {
        let mut tx = self.db.write().await?;
        note(&mut tx, at, account, None, what, None).await?;
        tx.commit("writing the audit trail").await
    }
}

pub(super) async fn count_try(
    tx: &mut Tx,
    key: &str,
    now: Timestamp,
    window_ms: i64,
) -> Result<(i64, Timestamp), StoreError> {
    let (tries, since): (i64, i64) = on!(tx, c => sqlx::query_as(sql::TRY_COUNT)
        .bind(sha256_hex(key)).bind(now.ms()).bind(now.ms() - window_ms)
        .fetch_one(c).await)
    .doing("counting a try")?;
    Ok((tries, Timestamp::from_row(since)?))
}

pub(super) async fn insert_invitation(
    tx: &mut Tx,
    group: GroupId,
    role: Role,
    by: Option<AccountId>,
    at: Timestamp,
    expires: Timestamp,
) -> Result<(InvitationId, String), StoreError> {
    let (id, token) = (InvitationId::new(at), random_hex()?);
    on!(tx, c => sqlx::query(sql::INVITATION_INSERT)
        .bind(id.to_string()).bind(sha256_hex(&token)).bind(group.to_string())
        .bind(role.word()).bind(by.map(|id| id.to_string()))
        .bind(at.ms()).bind(expires.ms())
        .execute(c).await.map(drop))
    .doing("inviting")?;
    Ok((id, token))
}

pub(super) async fn find_invitation(
    tx: &mut Tx,
    token: &str,
    now: Timestamp,
) -> Result<Option<Invited>, StoreError> {
    let found: Option<(String, String, String, String)> =
        on!(tx, c => sqlx::query_as(sql::INVITATION_BY_TOKEN)
            .bind(sha256_hex(token)).bind(now.ms()).fetch_optional(c).await)
        .doing("looking for an invitation")?;
    let Some((id, group, group_name, role)) = found else {
        return Ok(None);
    };
    Ok(Some(Invited {
        id: read_id(&id)?,
        group: read_id(&group)?,
        group_name,
        role: Role::from_row(&role)?,
    }))
}

/// Uses an invitation up; of two who come at once, one is refused.
pub(super) async fn use_invitation(
    tx: &mut Tx,
    invited: &Invited,
    account: AccountId,
    at: Timestamp,
) -> Result<(), StoreError> {
    let hit = on!(tx, c => sqlx::query(sql::INVITATION_USE)
        .bind(invited.id.to_string()).bind(account.to_string())
        .execute(c).await.map(|done| done.rows_affected()))
    .doing("using an invitation")?;
    if hit != 1 {
        return Err(StoreError::NoInvitation);
    }
    insert_member(tx, invited.group, account, invited.role).await?;
    let group = Some(invited.group);
    note(tx, at, Some(account), group, "join the group", None).await
}

pub(super) async fn group_name(tx: &mut Tx, group: GroupId) -> Result<String, StoreError> {
    let name: Option<String> = on!(tx, c => sqlx::query_scalar(sql::GROUP_NAME)
        .bind(group.to_string()).fetch_optional(c).await)
    .doing("looking for a group")?;
    name.ok_or(StoreError::NoSuchGroup)
}

/// A name has one spelling, so that no two look alike.
fn check_account_name(name: &str) -> Result<(), StoreError> {
    let fine = (2..=40).contains(&name.len())
        && name.starts_with(|c: char| c.is_ascii_lowercase())
        && name
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '-' | '_' | '.'));
    if fine {
        return Ok(());
    }
    Err(StoreError::impossible(
        "name of an account",
        name,
        "2 to 40 small letters a to z, figures, - _ or ., a letter first",
    ))
}

pub(super) const fn token_mark() -> &'static str {
    TOKEN_MARK
}
