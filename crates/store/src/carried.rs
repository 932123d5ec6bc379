//! Devices and deliveries of a batch on their way to and from a folder of plain files.
//!
//! The hash of a device's token goes along, so that what sends goes on sending: a token
//! of 256 random bits is not to be had from it.

use serde::{Deserialize, Serialize};

use crate::db::{Tx, on};
use crate::delivery::{RemarkRecord, insert_remarks};
use crate::error::Doing;
use crate::{DeviceId, DocumentId, RemarkKind, StoreError, Timestamp, limits, sql};

/// A line of a file of devices.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DeviceLine {
    pub(crate) id: String,
    name: String,
    salt: String,
    token_hmac: String,
    made_at: String,
    heard_at: Option<String>,
    revoked_at: Option<String>,
}

/// A line of a file of deliveries. The number is its place among those of the batch, from
/// one: each store counts its own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DeliveryLine {
    pub(crate) number: u64,
    source: String,
    came_at: String,
    rows: i64,
    added: i64,
    already: i64,
    contradicted: i64,
    refused: i64,
}

/// A line of a file of remarks on deliveries.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RemarkLine {
    pub(crate) delivery: u64,
    number: i64,
    line: i64,
    kind: String,
    why: String,
    raw: String,
}

/// What a batch has of them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Carried {
    pub(crate) devices: Vec<DeviceLine>,
    pub(crate) deliveries: Vec<DeliveryLine>,
    pub(crate) remarks: Vec<RemarkLine>,
}

type DeviceCells = (
    String,
    String,
    String,
    String,
    i64,
    Option<i64>,
    Option<i64>,
);
type DeliveryCells = (i64, String, i64, i64, i64, i64, i64, i64);
type RemarkCells = (i64, i64, String, String, String);

fn told(ms: i64) -> Result<String, StoreError> {
    Ok(Timestamp::from_row(ms)?.to_string())
}

fn ms(told: &str) -> Result<i64, StoreError> {
    Ok(told.parse::<Timestamp>()?.ms())
}

/// The devices and deliveries of a document.
pub(crate) async fn carried_of(tx: &mut Tx, id: DocumentId) -> Result<Carried, StoreError> {
    let devices: Vec<DeviceCells> = on!(&mut *tx, c => sqlx::query_as(sql::DEVICES_OF)
        .bind(id.to_string()).fetch_all(c).await)
    .doing("reading devices")?;
    let devices = devices
        .into_iter()
        .map(|(id, name, salt, token_hmac, made, heard, revoked)| {
            Ok(DeviceLine {
                id,
                name,
                salt,
                token_hmac,
                made_at: told(made)?,
                heard_at: heard.map(told).transpose()?,
                revoked_at: revoked.map(told).transpose()?,
            })
        });
    let mut carried = Carried {
        devices: devices.collect::<Result<_, StoreError>>()?,
        ..Carried::default()
    };
    for (number, (key, delivery)) in (1..).zip(deliveries_of(tx, id).await?) {
        let delivery = DeliveryLine { number, ..delivery };
        carried.deliveries.push(delivery);
        carried.remarks.extend(remarks_of(tx, key, number).await?);
    }
    Ok(carried)
}

async fn deliveries_of(
    tx: &mut Tx,
    id: DocumentId,
) -> Result<Vec<(i64, DeliveryLine)>, StoreError> {
    let rows: Vec<DeliveryCells> = on!(&mut *tx, c => sqlx::query_as(sql::DELIVERIES_OF)
        .bind(id.to_string()).fetch_all(c).await)
    .doing("reading deliveries")?;
    let lines = rows.into_iter().map(
        |(key, source, came, rows, added, already, contradicted, refused)| {
            let line = DeliveryLine {
                number: 0,
                source,
                came_at: told(came)?,
                rows,
                added,
                already,
                contradicted,
                refused,
            };
            Ok((key, line))
        },
    );
    lines.collect()
}

async fn remarks_of(tx: &mut Tx, key: i64, delivery: u64) -> Result<Vec<RemarkLine>, StoreError> {
    let rows: Vec<RemarkCells> = on!(&mut *tx, c => sqlx::query_as(sql::REMARKS_OF)
        .bind(key).fetch_all(c).await)
    .doing("reading the remarks on deliveries")?;
    let lines = rows
        .into_iter()
        .map(|(number, line, kind, why, raw)| RemarkLine {
            delivery,
            number,
            line,
            kind,
            why,
            raw,
        });
    Ok(lines.collect())
}

impl Carried {
    /// What is wrong with what a folder says.
    pub(crate) fn check(&self) -> Result<(), StoreError> {
        for device in &self.devices {
            device.id.parse::<DeviceId>()?;
            limits::name("name of a device", &device.name)?;
            let times = [&device.heard_at, &device.revoked_at];
            ms(&device.made_at)?;
            for time in times.into_iter().flatten() {
                ms(time)?;
            }
        }
        for delivery in &self.deliveries {
            limits::line("source of a reading", &delivery.source)?;
            ms(&delivery.came_at)?;
        }
        for remark in &self.remarks {
            let known = RemarkKind::of_word(&remark.kind).is_some()
                && self.deliveries.iter().any(|d| d.number == remark.delivery);
            if !known {
                let given = format!("{} of delivery {}", remark.kind, remark.delivery);
                return Err(StoreError::impossible(
                    "remark",
                    given,
                    "one on a delivery of the batch",
                ));
            }
        }
        Ok(())
    }
}

/// Takes in what the store has not yet; what differs is told.
pub(crate) async fn insert_carried(
    tx: &mut Tx,
    batch: DocumentId,
    given: &Carried,
) -> Result<(u64, u64, Vec<String>), StoreError> {
    let (mut devices, mut deliveries, mut problems) = (0, 0, Vec::new());
    for device in &given.devices {
        let held: Option<String> = on!(&mut *tx, c => sqlx::query_scalar(sql::DEVICE_HASH)
            .bind(&device.id).fetch_optional(c).await)
        .doing("looking for a device")?;
        match held {
            Some(held) if held == device.token_hmac => {}
            Some(_) => problems.push(format!(
                "device {} has another token in the store",
                device.id
            )),
            None => {
                insert_device(tx, batch, device).await?;
                devices += 1;
            }
        }
    }
    let mut held: Vec<DeliveryLine> = deliveries_of(tx, batch)
        .await?
        .into_iter()
        .map(|(_, line)| line)
        .collect();
    for delivery in &given.deliveries {
        let same = |line: &DeliveryLine| {
            DeliveryLine {
                number: 0,
                ..delivery.clone()
            } == *line
        };
        if let Some(at) = held.iter().position(same) {
            held.remove(at);
            continue;
        }
        insert_delivery(tx, batch, delivery, &given.remarks).await?;
        deliveries += 1;
    }
    Ok((devices, deliveries, problems))
}

async fn insert_device(
    tx: &mut Tx,
    batch: DocumentId,
    device: &DeviceLine,
) -> Result<(), StoreError> {
    let made = ms(&device.made_at)?;
    let heard = device.heard_at.as_deref().map(ms).transpose()?;
    let revoked = device.revoked_at.as_deref().map(ms).transpose()?;
    on!(&mut *tx, c => sqlx::query(sql::DEVICE_CARRY)
        .bind(&device.id).bind(&device.name).bind(batch.to_string())
        .bind(&device.salt).bind(&device.token_hmac)
        .bind(made).bind(heard).bind(revoked)
        .execute(c).await.map(drop))
    .doing("taking in a device")
}

async fn insert_delivery(
    tx: &mut Tx,
    batch: DocumentId,
    delivery: &DeliveryLine,
    remarks: &[RemarkLine],
) -> Result<(), StoreError> {
    let came = ms(&delivery.came_at)?;
    let key: i64 = on!(&mut *tx, c => sqlx::query_scalar(sql::DELIVERY_CARRY)
        .bind(batch.to_string()).bind(&delivery.source).bind(came)
        .bind(delivery.rows).bind(delivery.added).bind(delivery.already)
        .bind(delivery.contradicted).bind(delivery.refused)
        .fetch_one(c).await)
    .doing("taking in a delivery")?;
    let of_it = remarks.iter().filter(|r| r.delivery == delivery.number);
    let records: Vec<RemarkRecord<'_>> = of_it
        .map(|r| RemarkRecord {
            number: r.number,
            line: r.line,
            kind: &r.kind,
            why: r.why.as_str().into(),
            raw: r.raw.as_str().into(),
        })
        .collect();
    insert_remarks(tx, key, &records)
        .await
        .doing("taking in the remarks on a delivery")
}
