//! `gyle work` and `gyle job`: work that takes long, done beside those who ask for it.

use std::time::Duration;

use app::{App, Standing, Working, job_row};
use batch::wire::job::{Job as JobForm, Jobs};
use clap::Subcommand;
use store::JobId;

use crate::kept::{block_on, place};
use crate::problem::Problem;
use crate::serve::stopped;
use crate::{print_json, write_out};

/// Jobs that are listed.
const MOST: u32 = 200;

/// How a worker works.
#[derive(Debug, clap::Args)]
pub struct WorkAsked {
    /// Jobs at once; left out, one a core.
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: Option<u16>,
    /// End when nothing waits any more.
    #[arg(long)]
    until_empty: bool,
    /// Seconds that it may be silent before its job goes to another.
    #[arg(long, value_name = "SECONDS", default_value_t = app::LEASE.as_secs(), value_parser = clap::value_parser!(u64).range(2..=3600))]
    lease: u64,
}

/// What can be done with jobs.
#[derive(Debug, Subcommand)]
pub enum JobCommand {
    /// List the newest jobs.
    #[command(after_help = "Example:\n  gyle job list --json")]
    List {
        /// The list as JSON (schema: gyle schema jobs).
        #[arg(long)]
        json: bool,
    },
    /// Show how a job stands; with --json also what came of it.
    #[command(after_help = "Example:\n  gyle job show 019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61 --json")]
    Show {
        /// Its identifier.
        id: JobId,
        /// The job as JSON (schema: gyle schema job).
        #[arg(long)]
        json: bool,
    },
    /// Stop a job.
    #[command(after_help = "Example:\n  gyle job cancel 019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61")]
    Cancel {
        /// Its identifier.
        id: JobId,
    },
}

/// Works until it is told to stop, or until nothing waits.
///
/// # Errors
/// [`Problem`] for a store that cannot be opened.
pub fn work(asked: &WorkAsked, store: Option<&str>) -> Result<(), Problem> {
    let place = place(store)?;
    let threads = asked.threads.map_or_else(cores, usize::from);
    let how = Working {
        threads,
        lease: Duration::from_secs(asked.lease),
        until_empty: asked.until_empty,
    };
    let did = block_on(async {
        let app = App::open(place).await?;
        eprintln!("at work, {threads} at once (Ctrl+C ends it; what it holds then goes to others)");
        Ok(app.work(how, stopped()).await)
    })?;
    write_out(
        format!(
            "{did} {} worked at\n",
            if did == 1 { "job" } else { "jobs" }
        )
        .as_bytes(),
    )
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}

/// Does what was asked for.
///
/// # Errors
/// [`Problem`].
pub fn run(command: &JobCommand, store: Option<&str>) -> Result<(), Problem> {
    let place = place(store)?;
    match command {
        JobCommand::List { json } => {
            let jobs = block_on(async { Ok(App::open(place).await?.jobs(MOST).await?) })?;
            if *json {
                return print_json(&Jobs::of(jobs.iter().map(job_row).collect()));
            }
            let line = |job: &store::Job| {
                format!(
                    "{}  {:<9}  {:<9}  {}\n",
                    job.id,
                    job.kind,
                    job.state.word(),
                    job.made_at
                )
            };
            write_out(jobs.iter().map(line).collect::<String>().as_bytes())
        }
        JobCommand::Show { id, json: true } => {
            let form = block_on(async {
                let app = App::open(place).await?;
                let job = app.job(*id).await?;
                let (_, outcome) = app.job_answer(*id).await?;
                Ok(JobForm::of(job_row(&job), outcome.as_ref()))
            })?;
            print_json(&form)
        }
        JobCommand::Show { id, json: false } => {
            let told = block_on(async {
                let app = App::open(place).await?;
                let job = app.job(*id).await?;
                Ok(line(&job, &app.standing(&job)))
            })?;
            write_out(told.as_bytes())
        }
        JobCommand::Cancel { id } => {
            let told = block_on(async {
                let app = App::open(place).await?;
                let job = app.cancel_job(*id).await?;
                Ok(line(&job, &app.standing(&job)))
            })?;
            write_out(told.as_bytes())
        }
    }
}

fn line(job: &store::Job, standing: &Standing) -> String {
    let why = job.error.as_deref().unwrap_or_default();
    let words = if job.state.is_open() {
        standing.words.as_str()
    } else {
        why
    };
    format!("{}: {}. {words}", job.kind, job.state)
        .trim_end()
        .to_owned()
        + "\n"
}
