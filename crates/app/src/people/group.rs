//! What the members of a group know of it, and what its keepers do.

use store::{
    AccountId, AuditLine, DocumentId, GroupId, Invitation, InvitationId, Member, Role,
    SharedDocument, SharedWith, Timestamp,
};

use super::INVITATION_MS;
use crate::{App, AppError};

impl App {
    /// Who is in the group.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn members(&self) -> Result<Vec<Member>, AppError> {
        Ok(self.store.members().await?)
    }

    /// Gives a member a role.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn set_role(&self, account: AccountId, role: Role) -> Result<(), AppError> {
        Ok(self.store.set_role(account, role).await?)
    }

    /// Takes somebody out of the group.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn remove_member(&self, account: AccountId) -> Result<(), AppError> {
        Ok(self.store.remove_member(account).await?)
    }

    /// Invites somebody; the token is shown this once.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn invite(&self, role: Role) -> Result<(InvitationId, String), AppError> {
        let expires = Timestamp::from_ms(self.now().ms() + INVITATION_MS).unwrap_or(Timestamp::MAX);
        Ok(self.store.invite(role, expires).await?)
    }

    /// Invitations that wait.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn invitations(&self) -> Result<Vec<Invitation>, AppError> {
        Ok(self.store.invitations().await?)
    }

    /// Withdraws an invitation.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn withdraw(&self, id: InvitationId) -> Result<(), AppError> {
        Ok(self.store.withdraw(id).await?)
    }

    /// What may be done with a document, and whether the group owns it.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn standing_of(&self, id: DocumentId) -> Result<(Role, bool), AppError> {
        Ok(self.store.standing_of(id).await?)
    }

    /// The title of a document, whatever it is about.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn title_of(&self, id: DocumentId) -> Result<(store::Kind, String), AppError> {
        let document = self.store.document(id).await?;
        Ok((document.kind, document.title))
    }

    /// With which groups a document is shared.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn shares(&self, id: DocumentId) -> Result<Vec<SharedWith>, AppError> {
        Ok(self.store.shares(id).await?)
    }

    /// Shares a document with a group.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn share(&self, id: DocumentId, with: GroupId, may: Role) -> Result<(), AppError> {
        Ok(self.store.share(id, with, may).await?)
    }

    /// Ends a share.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn unshare(&self, id: DocumentId, with: GroupId) -> Result<(), AppError> {
        Ok(self.store.unshare(id, with).await?)
    }

    /// What the group shares with others.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn shared_by_group(&self) -> Result<Vec<SharedDocument>, AppError> {
        Ok(self.store.shared_by_group().await?)
    }

    /// The audit trail of the group, the newest line first.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn audit(&self, before: Option<i64>) -> Result<Vec<AuditLine>, AppError> {
        Ok(self.store.audit(before, AUDIT_LINES).await?)
    }
}

/// Lines on a page of the audit trail.
const AUDIT_LINES: u32 = 100;
