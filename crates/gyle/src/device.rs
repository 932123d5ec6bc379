//! `gyle device`: sensors that send readings by themselves.

use app::App;
use batch::wire::kept::{DeviceRow, Devices};
use clap::Subcommand;
use quantity::Units;
use store::{Device, DeviceId};

use crate::kept::{block_on, by_wanted, place};
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What can be done with devices.
#[derive(Debug, Subcommand)]
pub enum DeviceCommand {
    /// Let a device send readings to a batch; its token is shown this once.
    #[command(after_help = "\
Examples:
  gyle device add cellar-float --batch lantern

The device then posts SenML (RFC 8428) with its token:
  curl --header \"Authorization: Bearer TOKEN\" \\
       --header \"Content-Type: application/senml+json\" \\
       --data '[{\"n\":\"cellar-float/sg\",\"u\":\"/\",\"v\":1.048}]' \\
       http://127.0.0.1:4180/api/readings")]
    Add {
        /// A name for it.
        name: String,
        /// The batch that its readings go to, by identifier or a part of its name.
        #[arg(long)]
        batch: String,
    },
    /// List the devices: made when, last heard, revoked.
    #[command(after_help = "Example:\n  gyle device list --json")]
    List {
        /// The list as JSON (schema: gyle schema devices).
        #[arg(long)]
        json: bool,
    },
    /// Send what comes of a device from now on to another batch.
    #[command(after_help = "Example:\n  gyle device move cellar-float --batch towpath")]
    Move {
        /// The device, by its name or identifier.
        device: String,
        /// The batch, by identifier or a part of its name.
        #[arg(long)]
        batch: String,
    },
    /// Take a device the right to send; what it sent stays.
    #[command(after_help = "Example:\n  gyle device revoke cellar-float")]
    Revoke {
        /// The device, by its name or identifier.
        device: String,
    },
}

/// Does what was asked for.
///
/// # Errors
/// [`Problem`].
pub fn run(command: &DeviceCommand, store: Option<&str>) -> Result<(), Problem> {
    let place = place(store)?;
    let told = block_on(async {
        let app = App::open(place).await?;
        match command {
            DeviceCommand::Add { name, batch } => {
                let batch = by_wanted(&app, batch).await?;
                let made = app.make_device(name, batch).await?;
                Ok(Some(format!(
                    "{} may send readings to {batch}.\nIts token, shown this once:\n\n  {}\n\nA lost token cannot be found again: revoke the device and add it anew.\n",
                    made.device.name, made.token
                )))
            }
            DeviceCommand::List { json } => list(&app.devices().await?, *json),
            DeviceCommand::Move { device, batch } => {
                let device = wanted(&app, device).await?;
                let batch = by_wanted(&app, batch).await?;
                app.point_device(device.id, batch).await?;
                Ok(Some(format!(
                    "{} sends to {batch} from now on\n",
                    device.name
                )))
            }
            DeviceCommand::Revoke { device } => {
                let device = wanted(&app, device).await?;
                app.revoke_device(device.id).await?;
                Ok(Some(format!("{} may send no more\n", device.name)))
            }
        }
    })?;
    told.map_or(Ok(()), |told| write_out(told.as_bytes()))
}

/// The device with an identifier, or the one with a name that may still send.
async fn wanted(app: &App, wanted: &str) -> Result<Device, Problem> {
    let all = app.devices().await?;
    let id = wanted.parse::<DeviceId>().ok();
    let found: Vec<&Device> = all
        .iter()
        .filter(|d| id == Some(d.id) || (d.revoked_at.is_none() && d.name == wanted))
        .collect();
    match found.as_slice() {
        [one] => Ok((*one).clone()),
        [] => {
            let names: Vec<&str> = all
                .iter()
                .filter(|d| d.revoked_at.is_none())
                .map(|d| d.name.as_str())
                .collect();
            Err(Problem::not_one(
                wanted,
                &if names.is_empty() {
                    "no device".to_owned()
                } else {
                    names.join(", ")
                },
            ))
        }
        many => {
            let ids: Vec<String> = many.iter().map(|d| d.id.to_string()).collect();
            Err(Problem::not_one(wanted, &ids.join(", ")))
        }
    }
}

fn list(devices: &[Device], json: bool) -> Result<Option<String>, Problem> {
    if json {
        let rows = devices.iter().map(row).collect();
        return print_json(&Devices::of(rows)).map(|()| None);
    }
    let mut page = Page::new(Units::Metric);
    if devices.is_empty() {
        page.paragraph(
            "No device may send readings yet; let one in with: gyle device add NAME --batch BATCH",
        );
    }
    for device in devices {
        page.heading(&device.name);
        page.row("identifier", &device.id.to_string());
        page.row("sends to", &device.batch.to_string());
        page.row("made", &device.made_at.to_string());
        let heard = device.heard_at.map(|at| at.to_string());
        page.row("last heard", heard.as_deref().unwrap_or("never"));
        if let Some(at) = device.revoked_at {
            page.row("revoked", &at.to_string());
        }
    }
    Ok(Some(page.finish()))
}

fn row(device: &Device) -> DeviceRow {
    DeviceRow {
        id: device.id.to_string(),
        name: device.name.clone(),
        batch: device.batch.to_string(),
        made_at: device.made_at.to_string(),
        heard_at: device.heard_at.map(|at| at.to_string()),
        revoked_at: device.revoked_at.map(|at| at.to_string()),
    }
}
