//! What a person does with the own account.

use serde_json::{Value, json};
use store::{GroupId, GroupOf, OpenSession, PersonData, Role, TokenId, TokenRow};

use super::{IDLE_MS, TRIES_OF_NAME, WINDOW_MS, left_s, password};
use crate::{App, AppError};

impl App {
    /// The groups that the person is in.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn my_groups(&self) -> Result<Vec<GroupOf>, AppError> {
        Ok(self.store.my_groups().await?)
    }

    /// Makes a group that the person keeps, and looks at it.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn make_group(&self, name: &str) -> Result<GroupId, AppError> {
        let made = self.store.make_group(name.trim()).await?;
        self.store.look_at(made).await?;
        Ok(made)
    }

    /// Joins the group of an invitation, and looks at it.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn join(&self, invitation: &str) -> Result<GroupId, AppError> {
        let joined = self.store.join(invitation).await?;
        self.store.look_at(joined).await?;
        Ok(joined)
    }

    /// Looks at another group from now on.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn look_at(&self, group: GroupId) -> Result<(), AppError> {
        Ok(self.store.look_at(group).await?)
    }

    /// Leaves the group that is looked at.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn leave_group(&self) -> Result<(), AppError> {
        Ok(self.store.leave_group().await?)
    }

    /// The sessions that are open, the newest first.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn my_sessions(&self) -> Result<Vec<OpenSession>, AppError> {
        Ok(self.store.my_sessions(IDLE_MS).await?)
    }

    /// Ends this session.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn sign_out(&self) -> Result<(), AppError> {
        Ok(self.store.sign_out().await?)
    }

    /// Ends every session of the account.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn sign_out_everywhere(&self) -> Result<(), AppError> {
        Ok(self.store.sign_out_everywhere().await?)
    }

    /// Sets another password; every session ends, this one too.
    ///
    /// # Errors
    /// [`AppError::WrongPassword`], [`AppError::Password`], [`AppError::Store`].
    pub async fn change_password(&self, old: &str, new: &str) -> Result<(), AppError> {
        self.require_password(old).await?;
        let name = self.store.sight().map_or("", |sight| sight.name.as_str());
        password::check(new, name).map_err(AppError::Password)?;
        let hash = password::hash(new).await?;
        Ok(self.store.set_my_password(&hash).await?)
    }

    /// The tokens for programs.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn my_tokens(&self) -> Result<Vec<TokenRow>, AppError> {
        Ok(self.store.my_tokens().await?)
    }

    /// Makes a token for programs, which is shown this once.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn make_token(&self, name: &str, role: Role) -> Result<String, AppError> {
        Ok(self.store.make_token(name.trim(), role).await?)
    }

    /// Revokes a token for programs.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn revoke_token(&self, id: TokenId) -> Result<(), AppError> {
        Ok(self.store.revoke_token(id).await?)
    }

    /// Everything that is kept of the person, but the documents: those are in
    /// [`App::everything`] of each group.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn my_data(&self) -> Result<PersonData, AppError> {
        Ok(self.store.my_data(IDLE_MS).await?)
    }

    /// Closes the account for good.
    ///
    /// # Errors
    /// [`AppError::WrongPassword`]; [`AppError::Store`].
    pub async fn close_account(&self, password: &str) -> Result<(), AppError> {
        self.require_password(password).await?;
        Ok(self.store.close_my_account().await?)
    }

    /// What is not to be undone asks for the password again; tries are counted, so that an
    /// open screen is no place to guess.
    async fn require_password(&self, password: &str) -> Result<(), AppError> {
        let (tries, since) = self.store.count_my_try(WINDOW_MS).await?;
        if tries > TRIES_OF_NAME {
            return Err(AppError::TooOften {
                wait_s: left_s(since, self.now()),
            });
        }
        let hash = self.store.my_password_hash().await?;
        if password::is(password, Some(hash)).await? {
            return Ok(());
        }
        Err(AppError::WrongPassword)
    }
}

/// A person's data as JSON, for a person to keep.
#[must_use]
pub fn data_json(data: &PersonData) -> Value {
    let groups = data.groups.iter().map(
        |g| json!({ "id": g.id.to_string(), "name": g.name, "role": g.role.word(), "own": g.own }),
    );
    let sessions = data.sessions.iter().map(|s| {
        json!({ "signed_in_at": s.made_at.to_string(), "seen_at": s.seen_at.to_string(),
                "ends_at": s.expires_at.to_string() })
    });
    let tokens = data.tokens.iter().map(|t| {
        json!({ "id": t.id.to_string(), "name": t.name, "group": t.group_name, "role": t.role.word(),
                "made_at": t.made_at.to_string(), "revoked_at": t.revoked_at.map(|at| at.to_string()) })
    });
    let written = data.written.iter().map(|w| {
        json!({ "document": w.document.to_string(), "revision": w.revision.get(), "title": w.title,
                "saved_at": w.at.to_string() })
    });
    let audit = data
        .audit
        .iter()
        .map(|line| json!({ "at": line.at.to_string(), "what": line.what, "thing": line.thing }));
    json!({
        "schema": "gylewright/person/1",
        "account": {
            "id": data.account.id.to_string(),
            "name": data.account.name,
            "shown": data.account.shown,
            "made_at": data.account.made_at.to_string(),
        },
        "groups": groups.collect::<Vec<_>>(),
        "sessions": sessions.collect::<Vec<_>>(),
        "tokens": tokens.collect::<Vec<_>>(),
        "written": written.collect::<Vec<_>>(),
        "audit": audit.collect::<Vec<_>>(),
    })
}
