//! The JSON forms of lists: batches, instruments, devices, demos.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

/// The batches that are kept.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Batches {
    /// The version of this form: "gylewright/batches/1".
    pub schema: &'static str,
    /// Those that were asked for, the last saved first.
    pub batches: Vec<BatchRow>,
}

/// A batch in the list.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BatchRow {
    /// Its identifier.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Its newest revision.
    pub revision: u32,
    /// When that was saved, RFC 3339.
    pub saved_at: String,
}

/// The instruments of all brewhouses.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Instruments {
    /// The version of this form: "gylewright/instruments/1".
    pub schema: &'static str,
    /// All of them.
    pub instruments: Vec<InstrumentRow>,
}

/// An instrument.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct InstrumentRow {
    /// Its name, as readings name it.
    pub name: String,
    /// thermometer, hydrometer, refractometer or ph-meter.
    pub kind: &'static str,
    /// The brewhouse that keeps it.
    pub brewhouse: String,
    /// The day until which its checks hold.
    pub valid_until: Option<String>,
    /// That it is due for a check, or soon will be.
    pub due: Option<String>,
    /// Its checks.
    pub checks: Vec<String>,
    /// What is to be added to its readings.
    pub correction: String,
    /// What to know.
    pub notes: Vec<String>,
}

/// The devices that may send readings, or might until they were revoked.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Devices {
    /// The version of this form: "gylewright/devices/1".
    pub schema: &'static str,
    /// All of them, the oldest first.
    pub devices: Vec<DeviceRow>,
}

/// A device.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DeviceRow {
    /// Its identifier.
    pub id: String,
    /// Its name.
    pub name: String,
    /// The batch that its readings go to.
    pub batch: String,
    /// When it was made, RFC 3339.
    pub made_at: String,
    /// When it last sent something.
    pub heard_at: Option<String>,
    /// Since when it may send no more.
    pub revoked_at: Option<String>,
}

/// The demo documents. Beers, town and waters are invented.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Demos {
    /// The version of this form: "gylewright/demos/1".
    pub schema: &'static str,
    /// All of them.
    pub demos: Vec<DemoRow>,
}

/// A demo.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DemoRow {
    /// Its name.
    pub name: &'static str,
    /// What it is, in a line.
    pub about: &'static str,
}

impl Batches {
    /// The form of these.
    #[must_use]
    pub const fn of(batches: Vec<BatchRow>) -> Self {
        Self {
            schema: "gylewright/batches/1",
            batches,
        }
    }
}

impl Instruments {
    /// The form of these.
    #[must_use]
    pub const fn of(instruments: Vec<InstrumentRow>) -> Self {
        Self {
            schema: "gylewright/instruments/1",
            instruments,
        }
    }
}

impl Devices {
    /// The form of these.
    #[must_use]
    pub const fn of(devices: Vec<DeviceRow>) -> Self {
        Self {
            schema: "gylewright/devices/1",
            devices,
        }
    }
}

impl Demos {
    /// The form of these.
    #[must_use]
    pub const fn of(demos: Vec<DemoRow>) -> Self {
        Self {
            schema: "gylewright/demos/1",
            demos,
        }
    }
}

/// The schema of [`Batches`].
#[must_use]
pub fn batches_schema() -> Value {
    super::named::<Batches>("urn:gylewright:schema:batches:1")
}

/// The schema of [`Instruments`].
#[must_use]
pub fn instruments_schema() -> Value {
    super::named::<Instruments>("urn:gylewright:schema:instruments:1")
}

/// The schema of [`Devices`].
#[must_use]
pub fn devices_schema() -> Value {
    super::named::<Devices>("urn:gylewright:schema:devices:1")
}

/// The schema of [`Demos`].
#[must_use]
pub fn demos_schema() -> Value {
    super::named::<Demos>("urn:gylewright:schema:demos:1")
}
