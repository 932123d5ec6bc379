//! `gyle clean …`: everything about cleaning and sanitising.

use batch::cleaning::{MixQuestion, Mixed, Together, mix, together};
use batch::wire::cleaning::{CleaningAgents, CleaningMix, CleaningTogether};
use clap::Subcommand;
use package::cleaning::Agent;
use quantity::{Units, show_interval};

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// What is asked about cleaning.
#[derive(Debug, Subcommand)]
pub enum CleanCommand {
    /// List cleaners and sanitisers, or say all about one.
    #[command(after_help = "\
Examples:
  gyle clean agents
  gyle clean agents hypochlorite
  gyle clean agents --json")]
    Agents {
        /// One of them.
        agent: Option<String>,
        /// Units of the answer.
        #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
        units: UnitsChoice,
        /// All of them as JSON (schema: gyle schema cleaning-agents).
        #[arg(long, conflicts_with = "agent")]
        json: bool,
    },
    /// Say how much of a stock makes a solution.
    #[command(after_help = "\
Examples:
  gyle clean mix hypochlorite --to '100 mg/L' --volume '10 L'
  gyle clean mix peracetic-acid --stock '15 %' --density '1.13 g/mL' --to '150 mg/L'
  gyle clean mix acid-anionic --volume '5 gal' --units us")]
    Mix {
        /// The cleaner or sanitiser.
        agent: String,
        /// The stock, by its key or its strength; left out, the usual one.
        #[arg(long, default_value = "", hide_default_value = true)]
        stock: String,
        /// Its density, where the strength is one by mass.
        #[arg(long, default_value = "", hide_default_value = true)]
        density: String,
        /// The strength of the solution; left out, the most that is usual.
        #[arg(long, default_value = "", hide_default_value = true, value_name = "STRENGTH")]
        to: String,
        /// How much of it; left out, 10 L.
        #[arg(long, default_value = "", hide_default_value = true)]
        volume: String,
        /// Units of the answer.
        #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
        units: UnitsChoice,
        /// The answer as JSON (schema: gyle schema cleaning-mix).
        #[arg(long)]
        json: bool,
    },
    /// Say whether two may meet.
    #[command(after_help = "\
Examples:
  gyle clean together hypochlorite peracetic-acid
  gyle clean together caustic aluminium --json")]
    Together {
        /// One.
        one: String,
        /// The other.
        other: String,
        /// The answer as JSON (schema: gyle schema cleaning-together).
        #[arg(long)]
        json: bool,
    },
}

/// Answers a question about cleaning.
///
/// # Errors
/// [`Problem`] for a question that cannot be used.
pub fn run(command: &CleanCommand) -> Result<(), Problem> {
    match command {
        CleanCommand::Agents { json: true, .. } => print_json(&CleaningAgents::all()),
        CleanCommand::Agents { agent, units, .. } => {
            let text = match agent {
                Some(key) => one(find(key)?, (*units).into()),
                None => list((*units).into()),
            };
            write_out(text.as_bytes())
        }
        CleanCommand::Mix {
            agent,
            stock,
            density,
            to,
            volume,
            units,
            json,
        } => {
            let question = MixQuestion {
                agent: agent.clone(),
                stock: stock.clone(),
                density: density.clone(),
                to: to.clone(),
                volume: volume.clone(),
            };
            let mixed = mix(&question).map_err(|wrong| Problem::unusable(&wrong))?;
            if *json {
                return print_json(&CleaningMix::from(&mixed));
            }
            write_out(solution(&mixed, (*units).into()).as_bytes())
        }
        CleanCommand::Together { one, other, json } => {
            let found = together(one, other).map_err(|wrong| Problem::unusable(&wrong))?;
            if *json {
                return print_json(&CleaningTogether::from(&found));
            }
            write_out(meeting(&found).as_bytes())
        }
    }
}

fn find(key: &str) -> Result<&'static Agent, Problem> {
    Agent::find(key).map_err(Problem::no_answer)
}

fn list(units: Units) -> String {
    let mut page = Page::new(units);
    page.title("Cleaners and sanitisers");
    for agent in Agent::all() {
        page.row(
            &agent.key,
            &format!("{}, {}", agent.name, agent.does.word()),
        );
    }
    page.paragraph("All about one: gyle clean agents hypochlorite. The label and the safety data sheet of a product come first.");
    page.finish()
}

fn one(agent: &Agent, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&agent.name);
    page.row("what for", agent.does.word());
    if let Some((low, high)) = agent.strength {
        let of = agent.of.as_deref().unwrap_or("it");
        page.row(
            "strength",
            &format!("{} to {} of {of}", low.show(units), high.show(units)),
        );
    }
    page.row(
        "contact",
        &show_interval(agent.contact.0, agent.contact.1, units),
    );
    if let Some((coldest, warmest)) = agent.temperature {
        page.row("temperature", &show_interval(coldest, warmest, units));
    }
    let rinse = match agent.rinse_above {
        Some(free) => format!("not up to {}, always above", free.show(units)),
        None if agent.strength.is_some() => "always".to_owned(),
        None => "no".to_owned(),
    };
    page.row("rinse", &rinse);
    page.paragraph(&agent.usage);
    page.heading("What it can leave in beer");
    for leaves in &agent.leaves {
        page.row(&leaves.fault, &format!("{}; {}", leaves.what, leaves.when));
    }
    page.row(
        "source",
        &format!("{} ({})", agent.source.text, agent.source.mark),
    );
    page.cautions(&agent.cautions);
    page.finish()
}

fn solution(mixed: &Mixed, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&mixed.agent.name);
    page.paragraph(&mixed.sentence(units));
    page.notes(&mixed.notes);
    page.cautions(&mixed.cautions);
    page.finish()
}

fn meeting(found: &Together) -> String {
    let mut page = Page::new(Units::Metric);
    page.title(&format!("{} and {}", found.one.name, found.other.name));
    page.paragraph(&found.sentence());
    for mixture in &found.mixtures {
        page.row(
            "source",
            &format!("{} ({})", mixture.source.text, mixture.source.mark),
        );
    }
    page.cautions(&found.cautions);
    page.finish()
}
