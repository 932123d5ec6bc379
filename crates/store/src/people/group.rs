//! What a keeper does with the group that is looked at, and what its members may know of it.

use super::door::{group_name, insert_invitation};
use super::own::{hold, remove_member, require_keeper};
use super::{AuditLine, AuditRow, Invitation, Member, SharedDocument, SharedWith, read_id, sql};
use crate::db::{Tx, on};
use crate::error::Doing;
use crate::sight::refused;
use crate::{
    AccountId, DocumentId, GroupId, InvitationId, Kind, Role, Sight, Store, StoreError, Timestamp,
    rows,
};

impl Store {
    /// A transaction of a keeper, with who that is.
    async fn to_keep(&self) -> Result<(Tx, &Sight), StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.write().await?;
        self.within(&mut tx, Role::Keep).await?;
        Ok((tx, sight))
    }

    /// Who is in the group, by name.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without a sight.
    pub async fn members(&self) -> Result<Vec<Member>, StoreError> {
        let mut tx = self.db.read().await?;
        let group = self.within(&mut tx, Role::Read).await?;
        let group = group.ok_or(refused(Role::Read))?;
        let found: Vec<(String, String, String, String)> =
            on!(&mut tx, c => sqlx::query_as(sql::MEMBERS).bind(&group).fetch_all(c).await)
                .doing("listing members")?;
        let member = |(id, name, shown, role): (String, String, String, String)| {
            Ok(Member {
                account: read_id(&id)?,
                name,
                shown,
                role: Role::from_row(&role)?,
            })
        };
        found.into_iter().map(member).collect()
    }

    /// Gives a member another role.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`], [`StoreError::NoSuchMember`],
    /// [`StoreError::LastKeeper`].
    pub async fn set_role(&self, account: AccountId, role: Role) -> Result<(), StoreError> {
        let (mut tx, sight) = self.to_keep().await?;
        hold(&mut tx, sight.group).await?;
        let hit = on!(&mut tx, c => sqlx::query(sql::MEMBER_SET)
            .bind(sight.group.to_string()).bind(account.to_string()).bind(role.word())
            .execute(c).await.map(|done| done.rows_affected()))
        .doing("giving a role")?;
        if hit == 0 {
            return Err(StoreError::NoSuchMember);
        }
        require_keeper(&mut tx, sight.group).await?;
        let what = match role {
            Role::Read => "give the role read",
            Role::Brew => "give the role brew",
            Role::Keep => "give the role keep",
        };
        self.note(&mut tx, what, Some(&account.to_string())).await?;
        tx.commit("giving a role").await
    }

    /// Takes somebody out of the group.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`], [`StoreError::NoSuchMember`],
    /// [`StoreError::LastKeeper`].
    pub async fn remove_member(&self, account: AccountId) -> Result<(), StoreError> {
        let (mut tx, sight) = self.to_keep().await?;
        hold(&mut tx, sight.group).await?;
        self.note(&mut tx, "take out a member", Some(&account.to_string()))
            .await?;
        remove_member(&mut tx, sight.group, account).await?;
        tx.commit("taking somebody out of a group").await
    }

    /// Invites somebody: the token of the invitation is shown this once, works once, and
    /// only as long as who made it keeps the group.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`].
    pub async fn invite(
        &self,
        role: Role,
        expires: Timestamp,
    ) -> Result<(InvitationId, String), StoreError> {
        let (mut tx, sight) = self.to_keep().await?;
        let by = Some(sight.account);
        let made = insert_invitation(&mut tx, sight.group, role, by, sight.at, expires).await?;
        self.note(&mut tx, "invite", Some(&made.0.to_string()))
            .await?;
        tx.commit("inviting").await?;
        Ok(made)
    }

    /// The invitations to the group that wait, the oldest first.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] for who does not keep it.
    pub async fn invitations(&self) -> Result<Vec<Invitation>, StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.read().await?;
        self.within(&mut tx, Role::Keep).await?;
        let found: Vec<(String, String, i64, i64)> =
            on!(&mut tx, c => sqlx::query_as(sql::INVITATIONS_OF)
            .bind(sight.group.to_string()).bind(sight.at.ms()).fetch_all(c).await)
            .doing("listing invitations")?;
        let row = |(id, role, made, expires): (String, String, i64, i64)| {
            Ok(Invitation {
                id: read_id(&id)?,
                role: Role::from_row(&role)?,
                made_at: Timestamp::from_row(made)?,
                expires_at: Timestamp::from_row(expires)?,
            })
        };
        found.into_iter().map(row).collect()
    }

    /// Withdraws an invitation to the group; another's is left as it is, and nothing is said.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`].
    pub async fn withdraw(&self, id: InvitationId) -> Result<(), StoreError> {
        let (mut tx, sight) = self.to_keep().await?;
        let hit = on!(&mut tx, c => sqlx::query(sql::INVITATION_WITHDRAW)
            .bind(id.to_string()).bind(sight.group.to_string()).bind(sight.at.ms())
            .execute(c).await.map(|done| done.rows_affected()))
        .doing("withdrawing an invitation")?;
        if hit > 0 {
            self.note(&mut tx, "withdraw an invitation", Some(&id.to_string()))
                .await?;
        }
        tx.commit("withdrawing an invitation").await
    }

    /// Whether the group owns a document, and what the member may do with it.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`].
    pub async fn standing_of(&self, id: DocumentId) -> Result<(Role, bool), StoreError> {
        let mut tx = self.db.read().await?;
        let allowed = self.allowed(&mut tx, id).await?;
        allowed.ok_or(StoreError::NoSuchDocument { id })
    }

    /// With which groups a document of the group is shared.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`]; [`StoreError::NotAllowed`] for another group's.
    pub async fn shares(&self, id: DocumentId) -> Result<Vec<SharedWith>, StoreError> {
        let mut tx = self.db.read().await?;
        self.ask_to_share(&mut tx, id, Role::Read).await?;
        let found: Vec<(String, String, String)> = on!(&mut tx, c => sqlx::query_as(sql::SHARES_OF)
            .bind(id.to_string()).fetch_all(c).await)
        .doing("listing shares")?;
        let row = |(group, name, may): (String, String, String)| {
            Ok(SharedWith {
                group: read_id(&group)?,
                name,
                may: Role::from_row(&may)?,
            })
        };
        found.into_iter().map(row).collect()
    }

    /// Shares a document of the group with another one, which may then read it, or brew.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::NoSuchGroup`],
    /// [`StoreError::NotAllowed`] for who does not keep the group that owns it,
    /// [`StoreError::Impossible`] for any role but those two.
    pub async fn share(&self, id: DocumentId, with: GroupId, may: Role) -> Result<(), StoreError> {
        let (mut tx, sight) = self.to_keep().await?;
        self.ask_to_share(&mut tx, id, Role::Keep).await?;
        if may == Role::Keep {
            return Err(StoreError::impossible("share", may, "read or brew"));
        }
        if with == sight.group {
            return Err(StoreError::impossible("group", with, "another group"));
        }
        group_name(&mut tx, with).await?;
        on!(&mut tx, c => sqlx::query(sql::SHARE_SET)
            .bind(id.to_string()).bind(with.to_string()).bind(may.word())
            .execute(c).await.map(drop))
        .doing("sharing a document")?;
        self.note(&mut tx, "share", Some(&id.to_string())).await?;
        tx.commit("sharing a document").await
    }

    /// Ends a share.
    ///
    /// # Errors
    /// Those of [`Store::share`].
    pub async fn unshare(&self, id: DocumentId, with: GroupId) -> Result<(), StoreError> {
        let (mut tx, _) = self.to_keep().await?;
        self.ask_to_share(&mut tx, id, Role::Keep).await?;
        on!(&mut tx, c => sqlx::query(sql::SHARE_END)
            .bind(id.to_string()).bind(with.to_string()).execute(c).await.map(drop))
        .doing("ending a share")?;
        self.note(&mut tx, "end a share", Some(&id.to_string()))
            .await?;
        tx.commit("ending a share").await
    }

    /// The documents that the group shares with others.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] without a sight.
    pub async fn shared_by_group(&self) -> Result<Vec<SharedDocument>, StoreError> {
        let mut tx = self.db.read().await?;
        let group = self.within(&mut tx, Role::Read).await?;
        let group = group.ok_or(refused(Role::Read))?;
        type Row = (String, String, String, String, String);
        let found: Vec<Row> =
            on!(&mut tx, c => sqlx::query_as(sql::SHARED_BY).bind(&group).fetch_all(c).await)
                .doing("listing shares")?;
        let row = |(id, kind, title, with, may): Row| {
            Ok(SharedDocument {
                id: rows::document_id(&id)?,
                kind: kind.parse::<Kind>()?,
                title,
                with,
                may: Role::from_row(&may)?,
            })
        };
        found.into_iter().map(row).collect()
    }

    /// The audit trail of the group, the newest line first, those before line `before`.
    ///
    /// # Errors
    /// [`StoreError::NotAllowed`] for who does not keep it.
    pub async fn audit(
        &self,
        before: Option<i64>,
        most: u32,
    ) -> Result<Vec<AuditLine>, StoreError> {
        let (sight, _) = self.person()?;
        let mut tx = self.db.read().await?;
        self.within(&mut tx, Role::Keep).await?;
        let found: Vec<AuditRow> = on!(&mut tx, c => sqlx::query_as(sql::AUDIT_OF_GROUP)
            .bind(sight.group.to_string()).bind(before.unwrap_or(i64::MAX)).bind(i64::from(most))
            .fetch_all(c).await)
        .doing("reading the audit trail")?;
        rows::all(found)
    }

    /// Only the group that owns a document shares it.
    async fn ask_to_share(
        &self,
        tx: &mut Tx,
        id: DocumentId,
        needs: Role,
    ) -> Result<(), StoreError> {
        match self.allowed(tx, id).await? {
            None => Err(StoreError::NoSuchDocument { id }),
            Some((role, true)) if role >= needs => Ok(()),
            Some(_) => Err(refused(Role::Keep)),
        }
    }
}
