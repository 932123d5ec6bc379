//! Devices that send readings by themselves, each with a token of its own.
//!
//! A token holds 256 bits of the system's randomness, so that a single keyed hash is
//! as good against guessing as a slow one; the salt keeps two stores from sharing a
//! hash. The token itself is given out once and kept nowhere.

use hmac::{Hmac, KeyInit as _, Mac as _};
use sha2::Sha256;

use crate::db::{Tx, on};
use crate::error::Doing;
use crate::rows::{self, DeviceRow};
use crate::table::require_kind;
use crate::{DeviceId, DocumentId, Kind, Role, Store, StoreError, Timestamp, limits, people, sql};

/// A device that may send readings, or might until it was revoked.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    /// Its identifier.
    pub id: DeviceId,
    /// The name its owner gave it.
    pub name: String,
    /// The batch that its readings go to.
    pub batch: DocumentId,
    /// When it was made.
    pub made_at: Timestamp,
    /// When it last sent something; none while it has sent nothing.
    pub heard_at: Option<Timestamp>,
    /// Since when it may send no more; none while it may.
    pub revoked_at: Option<Timestamp>,
}

/// A device as it was made, with its token: the only time that it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewDevice {
    /// The device.
    pub device: Device,
    /// What it shows: its identifier, a full stop, 64 hexadecimal digits.
    pub token: String,
}

impl Store {
    /// Makes a device that may send readings to a batch.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDocument`], [`StoreError::WrongKind`],
    /// [`StoreError::Impossible`] for a name that cannot be kept.
    pub async fn make_device(
        &self,
        name: &str,
        batch: DocumentId,
        at: Timestamp,
    ) -> Result<NewDevice, StoreError> {
        limits::shown_name("name of a device", name)?;
        let id = DeviceId::new(at);
        let (secret, salt) = (random_hex()?, random_hex()?);
        let mut tx = self.to_change(batch, "let a device in").await?;
        require_kind(&mut tx, batch, Kind::Batch, "readings").await?;
        on!(&mut tx, c => sqlx::query(sql::DEVICE_INSERT)
            .bind(id.to_string()).bind(name).bind(batch.to_string())
            .bind(&salt).bind(hex(&keyed(&salt, &secret).finalize().into_bytes()))
            .bind(at.ms())
            .execute(c).await.map(drop))
        .doing("making a device")?;
        tx.commit("making a device").await?;
        let device = Device {
            id,
            name: name.to_owned(),
            batch,
            made_at: at,
            heard_at: None,
            revoked_at: None,
        };
        Ok(NewDevice {
            device,
            token: format!("{id}.{secret}"),
        })
    }

    /// All devices, the oldest first, those that were revoked too.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn devices(&self) -> Result<Vec<Device>, StoreError> {
        let mut tx = self.db.read().await?;
        let found: Vec<DeviceRow> = match self.within(&mut tx, Role::Read).await? {
            None => on!(&mut tx, c => sqlx::query_as(sql::DEVICE_LIST).fetch_all(c).await),
            Some(group) => {
                on!(&mut tx, c => sqlx::query_as(people::sql::DEVICE_LIST_OF).bind(&group).fetch_all(c).await)
            }
        }
        .doing("listing devices")?;
        rows::all(found)
    }

    /// The device that a token belongs to; none for a token that no device has, or
    /// whose device was revoked.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn device_of_token(&self, token: &str) -> Result<Option<Device>, StoreError> {
        let Some((id, secret)) = token.split_once('.') else {
            return Ok(None);
        };
        let Ok(id) = id.parse::<DeviceId>() else {
            return Ok(None);
        };
        let mut tx = self.db.read().await?;
        let found: Option<DeviceRow> =
            on!(&mut tx, c => sqlx::query_as(sql::DEVICE_READ).bind(id.to_string()).fetch_optional(c).await)
                .doing("looking for a device")?;
        let Some(row) = found else { return Ok(None) };
        // The comparison takes the same time however much of the token is right.
        let right = keyed(&row.salt, secret)
            .verify_slice(&bytes(&row.token_hmac))
            .is_ok();
        let device = Device::try_from(row)?;
        if self.sight.is_some() && self.allowed(&mut tx, device.batch).await?.is_none() {
            return Ok(None);
        }
        Ok(Some(device).filter(|device| right && device.revoked_at.is_none()))
    }

    /// Notes that a device was heard.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be written.
    pub async fn device_heard(&self, id: DeviceId, at: Timestamp) -> Result<(), StoreError> {
        self.change_device(sql::DEVICE_HEARD, id, DeviceChange::At(at))
            .await
            .map(drop)
    }

    /// Takes a device the right to send. What it sent stays.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDevice`].
    pub async fn revoke_device(&self, id: DeviceId, at: Timestamp) -> Result<(), StoreError> {
        let change = DeviceChange::At(at);
        self.change_device(sql::DEVICE_REVOKE, id, change)
            .await?
            .then_some(())
            .ok_or(StoreError::NoSuchDevice { id })
    }

    /// Sends what comes of a device from now on to another batch.
    ///
    /// # Errors
    /// [`StoreError::NoSuchDevice`], [`StoreError::NoSuchDocument`],
    /// [`StoreError::WrongKind`].
    pub async fn point_device(&self, id: DeviceId, batch: DocumentId) -> Result<(), StoreError> {
        let change = DeviceChange::To(batch);
        self.change_device(sql::DEVICE_POINT, id, change)
            .await?
            .then_some(())
            .ok_or(StoreError::NoSuchDevice { id })
    }

    /// Whether there is such a device.
    async fn change_device(
        &self,
        statement: &'static str,
        id: DeviceId,
        change: DeviceChange,
    ) -> Result<bool, StoreError> {
        let doing = "changing a device";
        let mut tx = self.db.write().await?;
        self.ask_of_device(&mut tx, id).await?;
        let hit = match change {
            DeviceChange::At(at) => {
                on!(&mut tx, c => sqlx::query(statement).bind(id.to_string()).bind(at.ms())
                    .execute(c).await.map(|done| done.rows_affected()))
            }
            DeviceChange::To(batch) => {
                self.ask(&mut tx, batch, Role::Brew).await?;
                require_kind(&mut tx, batch, Kind::Batch, "readings").await?;
                on!(&mut tx, c => sqlx::query(statement).bind(id.to_string()).bind(batch.to_string())
                    .execute(c).await.map(|done| done.rows_affected()))
            }
        }
        .doing(doing)?;
        self.note(&mut tx, "change a device", Some(&id.to_string()))
            .await?;
        tx.commit(doing).await?;
        Ok(hit > 0)
    }

    /// A device that sends to a document that may not be seen is not there either.
    async fn ask_of_device(&self, tx: &mut Tx, id: DeviceId) -> Result<(), StoreError> {
        if self.sight.is_none() {
            return Ok(());
        }
        let to: Option<String> = on!(&mut *tx, c => sqlx::query_scalar(sql::DEVICE_DOCUMENT)
            .bind(id.to_string()).fetch_optional(c).await)
        .doing("looking for a device")?;
        let gone = || StoreError::NoSuchDevice { id };
        let to = to.ok_or_else(gone)?;
        match self.ask(tx, rows::document_id(&to)?, Role::Brew).await {
            Err(StoreError::NoSuchDocument { .. }) => Err(gone()),
            other => other,
        }
    }
}

enum DeviceChange {
    At(Timestamp),
    To(DocumentId),
}

/// HMAC-SHA-256 of a secret under a salt (RFC 2104).
fn keyed(salt: &str, secret: &str) -> Hmac<Sha256> {
    // A key of any length is taken; the other arm cannot be reached.
    let mut mac = Hmac::<Sha256>::new_from_slice(salt.as_bytes())
        .unwrap_or_else(|_| Hmac::<Sha256>::new(&hmac::digest::Key::<Hmac<Sha256>>::default()));
    mac.update(secret.as_bytes());
    mac
}

/// 256 bits of the system's randomness.
pub(crate) fn random_hex() -> Result<String, StoreError> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).map_err(|e| StoreError::NoChance { why: e.to_string() })?;
    Ok(hex(&bytes))
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The bytes of hexadecimal digits; what is none gives no bytes, which match nothing.
fn bytes(hex: &str) -> Vec<u8> {
    let pairs = (0..hex.len()).step_by(2);
    pairs
        .map(|at| {
            hex.get(at..at + 2)
                .and_then(|p| u8::from_str_radix(p, 16).ok())
        })
        .collect::<Option<_>>()
        .unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4231, test case 2: key "Jefe".
    #[test]
    fn the_published_hash_of_a_short_key() {
        let mac = keyed("Jefe", "what do ya want for nothing?");
        let wanted = "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843";
        assert_eq!(hex(&mac.finalize().into_bytes()), wanted);
        assert_eq!(hex(&bytes(wanted)), wanted);
        assert!(bytes("5b zz").is_empty());
    }
}
