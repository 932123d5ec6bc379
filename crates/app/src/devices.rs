//! Devices that send readings by themselves.

use store::{Device, DeviceId, DocumentId, NewDevice};

use crate::{App, AppError, KeptLog};

/// What became of a pack that a device sent.
#[derive(Debug, Clone, PartialEq)]
pub struct Sent {
    /// The device.
    pub device: Device,
    /// What was kept.
    pub kept: KeptLog,
}

impl App {
    /// Makes a device that may send readings to a batch. Its token is shown this once.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn make_device(&self, name: &str, batch: DocumentId) -> Result<NewDevice, AppError> {
        let at = self.now();
        Ok(self.store.make_device(name.trim(), batch, at).await?)
    }

    /// All devices, the oldest first, those that were revoked too.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn devices(&self) -> Result<Vec<Device>, AppError> {
        Ok(self.store.devices().await?)
    }

    /// Takes a device the right to send. What it sent stays.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn revoke_device(&self, id: DeviceId) -> Result<(), AppError> {
        Ok(self.store.revoke_device(id, self.now()).await?)
    }

    /// Sends what comes of a device from now on to another batch.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn point_device(&self, id: DeviceId, batch: DocumentId) -> Result<(), AppError> {
        Ok(self.store.point_device(id, batch).await?)
    }

    /// Keeps a SenML pack that a device sent, with the batch that it writes to; none for
    /// a token that no device has, or whose device was revoked. The name of the device
    /// stands in the way it came.
    ///
    /// # Errors
    /// [`AppError::Log`] for what is no pack, [`AppError::Store`].
    pub async fn keep_sent(&self, token: &str, json: &str) -> Result<Option<Sent>, AppError> {
        let Some(device) = self.store.device_of_token(token).await? else {
            return Ok(None);
        };
        let now = self.now();
        self.store.device_heard(device.id, now).await?;
        let fates = batch::log::read_senml(json, now.ms())?;
        let source = format!("device {}", device.name);
        let kept = self
            .keep_log(device.batch, fates.into_iter(), &source, |_| {})
            .await?;
        Ok(Some(Sent { device, kept }))
    }
}
