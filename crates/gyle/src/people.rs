//! `gyle people`: accounts and groups of a shared server, for whoever runs it.

use app::App;
use batch::wire::people::{AccountRow, GroupRow, People};
use clap::Subcommand;
use quantity::Units;
use store::GroupId;

use crate::kept::{block_on, place};
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What can be done with people.
#[derive(Debug, Subcommand)]
pub enum PeopleCommand {
    /// Make a group and the invitation for its first keeper, which is shown this once.
    #[command(after_help = "\
Examples:
  gyle people begin \"Lantern club\" --address https://brewing.example
  gyle people begin \"Lantern club\" --take-in

The invitation works once and holds for a week. Whoever opens it chooses name and
password; there is no account before that. Then: gyle serve --shared")]
    Begin {
        /// The name of the group.
        name: String,
        /// The address under which the server is reached.
        #[arg(long, default_value = "http://127.0.0.1:4180")]
        address: String,
        /// Give it all documents that belong to no group yet: those from before.
        #[arg(long)]
        take_in: bool,
    },
    /// A further invitation for a keeper of a group, where the last one is gone or a
    /// password is lost.
    #[command(after_help = "Example:\n  gyle people invite 019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61")]
    Invite {
        /// The group, by its code (gyle people list).
        group: String,
        /// The address under which the server is reached.
        #[arg(long, default_value = "http://127.0.0.1:4180")]
        address: String,
    },
    /// End all sessions of an account and revoke its tokens for programs.
    #[command(after_help = "Example:\n  gyle people shut-out ann")]
    ShutOut {
        /// The name that it signs in with.
        name: String,
    },
    /// List groups and accounts.
    #[command(after_help = "Example:\n  gyle people list --json")]
    List {
        /// The list as JSON (schema: gyle schema people).
        #[arg(long)]
        json: bool,
    },
}

/// Does what was asked for.
///
/// # Errors
/// [`Problem`].
pub fn run(command: &PeopleCommand, store: Option<&str>) -> Result<(), Problem> {
    let place = place(store)?;
    let told = block_on(async {
        let app = App::open(place).await?;
        let door = app.door()?;
        match command {
            PeopleCommand::Begin {
                name,
                address,
                take_in,
            } => {
                let (group, token) = door.begin(name).await?;
                let mut told = format!("The group {} is made, {group}.\n", name.trim());
                if *take_in {
                    let taken = door.give_rest_to(group).await?;
                    told.push_str(&format!(
                        "It has the {taken} documents that belonged to no group.\n"
                    ));
                }
                told.push_str(&invitation(address, &token));
                Ok(Some(told))
            }
            PeopleCommand::Invite { group, address } => {
                let token = door.invite_keeper(group.parse::<GroupId>()?).await?;
                Ok(Some(invitation(address, &token)))
            }
            PeopleCommand::ShutOut { name } => {
                door.shut_out(name).await?;
                Ok(Some(format!(
                    "{} is out, and may sign in anew\n",
                    name.trim()
                )))
            }
            PeopleCommand::List { json } => {
                let (groups, accounts) = door.everybody().await?;
                list(&groups, &accounts, *json)
            }
        }
    })?;
    told.map_or(Ok(()), |told| write_out(told.as_bytes()))
}

fn invitation(address: &str, token: &str) -> String {
    format!(
        "Its next keeper comes in here, once, within a week:\n\n  {}/invitation/{token}\n\n",
        address.trim_end_matches('/')
    )
}

fn list(
    groups: &[store::GroupRow],
    accounts: &[store::Account],
    json: bool,
) -> Result<Option<String>, Problem> {
    if json {
        let groups = groups.iter().map(|g| GroupRow {
            id: g.id.to_string(),
            name: g.name.clone(),
            own: g.own,
            members: g.members,
        });
        let accounts = accounts.iter().map(|a| AccountRow {
            id: a.id.to_string(),
            name: a.name.clone(),
            shown: a.shown.clone(),
            made_at: a.made_at.to_string(),
            closed_at: a.closed_at.map(|at| at.to_string()),
        });
        return print_json(&People::of(groups.collect(), accounts.collect())).map(|()| None);
    }
    let mut page = Page::new(Units::Metric);
    if groups.is_empty() {
        page.paragraph("There are no groups yet; make the first with: gyle people begin NAME");
    }
    for group in groups {
        page.heading(&group.name);
        page.row("code", &group.id.to_string());
        page.row("members", &group.members.to_string());
        if group.own {
            page.row("kind", "one account's own");
        }
    }
    for account in accounts {
        page.heading(&account.shown);
        page.row("signs in as", &account.name);
        page.row("made", &account.made_at.to_string());
        if let Some(at) = account.closed_at {
            page.row("closed", &at.to_string());
        }
    }
    Ok(Some(page.finish()))
}
