//! `gyle-study`: gathers, synthesises and answers, and runs the roles of a cluster.

use std::io::Write as _;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use serde::Serialize;
use study::answer::{Answer, answer};
use study::cluster::{ExecutorPlace, executor, scheduler};
use study::engine::Engine;
use study::gather::gather;
use study::synthesise::synthesise;
use study::{StudyError, row};

/// What the batches of many brewers say together.
#[derive(Debug, Parser)]
#[command(name = "gyle-study", version)]
struct Cli {
    #[command(subcommand)]
    role: Role,
}

#[derive(Debug, Subcommand)]
enum Role {
    /// Take one row of rounded figures of each batch whose owner agreed.
    #[command(
        after_help = "Example:\n  gyle-study gather --store club.db --store postgres://host/school --to rows"
    )]
    Gather {
        /// A store: a file or a PostgreSQL URL; each store is one owner.
        #[arg(long = "store", required = true)]
        stores: Vec<String>,
        /// A new folder for the Parquet files.
        #[arg(long)]
        to: PathBuf,
        /// The account of it as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Make rows of known laws, to hold answers against what was put in.
    #[command(after_help = "Example:\n  gyle-study synthesise --batches 100000 --seed 1 --to rows")]
    Synthesise {
        /// How many.
        #[arg(long, value_parser = clap::value_parser!(u64).range(1..=100_000_000))]
        batches: u64,
        /// The same seed gives the same rows.
        #[arg(long, default_value_t = 1)]
        seed: u64,
        /// A new folder for the Parquet files.
        #[arg(long)]
        to: PathBuf,
        /// The account of it as JSON.
        #[arg(long)]
        json: bool,
    },
    /// Ask a folder of rows the questions of the study.
    #[command(after_help = "\
Examples:
  gyle-study answer --data rows
  gyle-study answer --data rows --json > answer.json
  gyle-study answer --data /shared/rows --scheduler 10.0.0.5:50050 --parquet answer.parquet")]
    Answer {
        /// The folder; on a cluster, one that every executor has under the same name.
        #[arg(long)]
        data: String,
        /// Ask the executors of this scheduler instead of this process.
        #[arg(long, value_name = "HOST:PORT")]
        scheduler: Option<String>,
        /// The answer as JSON.
        #[arg(long)]
        json: bool,
        /// Write every number as a row of this Parquet file as well.
        #[arg(long, value_name = "FILE")]
        parquet: Option<PathBuf>,
    },
    /// Hold two answers in JSON against each other; fails where they differ by more than
    /// rounding.
    #[command(after_help = "Example:\n  gyle-study same here.json cluster.json")]
    Same {
        /// One.
        one: PathBuf,
        /// The other.
        other: PathBuf,
    },
    /// Print the dictionary of the columns.
    #[command(after_help = "Example:\n  gyle-study columns")]
    Columns,
    /// Hand out the work of a cluster. Nothing is encrypted: private networks only.
    #[command(after_help = "Example:\n  gyle-study scheduler --listen 127.0.0.1:50050")]
    Scheduler {
        /// Where clients and executors reach it.
        #[arg(long, default_value = "127.0.0.1:50050")]
        listen: SocketAddr,
    },
    /// Do the work of a cluster. Nothing is encrypted: private networks only.
    #[command(
        after_help = "Example:\n  gyle-study executor --scheduler 127.0.0.1:50050 --port 50051 --grpc-port 50052"
    )]
    Executor {
        /// The scheduler.
        #[arg(long, default_value = "127.0.0.1:50050", value_parser = host_and_port)]
        scheduler: (String, u16),
        /// The address that it listens at and is reached by.
        #[arg(long, default_value = "127.0.0.1")]
        host: String,
        /// The port at which others fetch its partial results.
        #[arg(long, default_value_t = 50051)]
        port: u16,
        /// The port at which the scheduler hands it tasks.
        #[arg(long, default_value_t = 50052)]
        grpc_port: u16,
        /// Tasks at once; left out, one a core.
        #[arg(long, default_value_t = 0)]
        tasks: usize,
        /// The folder for partial results; left out, a temporary one.
        #[arg(long)]
        work: Option<PathBuf>,
    },
}

fn host_and_port(text: &str) -> Result<(String, u16), String> {
    text.rsplit_once(':')
        .and_then(|(host, port)| Some((host.to_owned(), port.parse().ok()?)))
        .filter(|(host, _)| !host.is_empty())
        .ok_or_else(|| "a host and a port are accepted, such as 127.0.0.1:50050".to_owned())
}

fn main() -> ExitCode {
    let role = Cli::parse().role;
    let ran = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|e| StudyError::Cluster(e.to_string()))
        .and_then(|runtime| runtime.block_on(run(role)));
    match ran {
        Ok(code) => code,
        Err(error) => {
            let _ = writeln!(std::io::stderr(), "error: {error}");
            ExitCode::from(2)
        }
    }
}

async fn run(role: Role) -> Result<ExitCode, StudyError> {
    match role {
        Role::Gather { stores, to, json } => {
            let done = gather(&stores, &to).await?;
            let words = format!(
                "{} of {} agreed batches of {} owners, in {} files of {} bytes; {} cannot be reckoned",
                done.written.rows,
                done.agreed,
                done.owners,
                done.written.files,
                done.written.bytes,
                done.unread,
            );
            say(json, &done, &words)
        }
        Role::Synthesise {
            batches,
            seed,
            to,
            json,
        } => {
            let done = synthesise(batches, seed, &to)?;
            let words = format!(
                "{} rows in {} files of {} bytes",
                done.rows, done.files, done.bytes
            );
            say(json, &done, &words)
        }
        Role::Answer {
            data,
            scheduler,
            json,
            parquet,
        } => {
            let engine = match scheduler {
                Some(scheduler) => Engine::on(&scheduler, &data).await?,
                None => Engine::here(&data).await?,
            };
            let answer: Answer = answer(&engine).await?;
            if let Some(path) = parquet {
                answer.write_parquet(&path)?;
            }
            say(json, &answer, answer.sheet().trim_end())
        }
        Role::Same { one, other } => same(&one, &other),
        Role::Columns => write(row::dictionary().trim_end()),
        Role::Scheduler { listen } => scheduler(listen).await.map(|()| ExitCode::SUCCESS),
        Role::Executor {
            scheduler,
            host,
            port,
            grpc_port,
            tasks,
            work,
        } => {
            let place = ExecutorPlace {
                scheduler,
                host,
                port,
                grpc_port,
                tasks,
                work,
            };
            executor(place).await.map(|()| ExitCode::SUCCESS)
        }
    }
}

fn say(json: bool, form: &impl Serialize, words: &str) -> Result<ExitCode, StudyError> {
    if json {
        let text =
            serde_json::to_string_pretty(form).map_err(|e| StudyError::Cluster(e.to_string()))?;
        return write(&text);
    }
    write(words)
}

/// A reader that goes away is no error.
fn write(text: &str) -> Result<ExitCode, StudyError> {
    let _ = writeln!(std::io::stdout(), "{text}");
    Ok(ExitCode::SUCCESS)
}

fn same(one: &Path, other: &Path) -> Result<ExitCode, StudyError> {
    let read = |path: &Path| -> Result<serde_json::Value, StudyError> {
        let text = std::fs::read_to_string(path).map_err(|e| StudyError::File {
            path: path.to_owned(),
            source: e,
        })?;
        serde_json::from_str(&text).map_err(|e| StudyError::File {
            path: path.to_owned(),
            source: e.into(),
        })
    };
    let differs = study::same::differences(&read(one)?, &read(other)?);
    if differs.is_empty() {
        return write("the same, to rounding");
    }
    write(&differs.join("\n"))?;
    Ok(ExitCode::FAILURE)
}
