//! `gyle`: the command line of gylewright.

mod cli;
mod input;
mod kept;
mod kettle;
mod liquor;
mod log;
mod measure;
mod pitch;
mod problem;
mod serve;
mod sheet;
mod taste;

use std::io::Write;
use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;

use app::{Demo, demos};
use batch::{Document, Reckoning, wire};
use clap::{CommandFactory, Parser};
use quantity::Units;

use cli::{Cli, Command, SchemaOf};
use input::Source;
use problem::Problem;

fn main() -> ExitCode {
    let cli = Cli::parse();
    let place = cli.store.as_deref();
    let command = cli.command.unwrap_or_else(Command::serve_usually);
    match run(command, place) {
        Ok(()) => ExitCode::from(cli::exit::FINE),
        Err(problem) => {
            problem.report();
            ExitCode::from(problem.exit_code())
        }
    }
}

fn run(command: Command, place: Option<&str>) -> Result<(), Problem> {
    match command {
        Command::Serve {
            port,
            listen,
            allow_hosts,
            phones,
            no_browser,
        } => serve::serve(
            place,
            SocketAddr::new(listen, port),
            &allow_hosts,
            phones,
            !no_browser,
        ),
        Command::List { find, json } => list(place, &find, json),
        Command::Keep { file } => {
            let source = input::read(&file)?;
            let (id, name) = kept::keep(place, &source.text)?;
            write_out(format!("kept as {name}, {id}\n").as_bytes())
        }
        Command::Store { command } => write_out(kept::store(place, &command)?.as_bytes()),
        Command::Reckon { file, units, json } => reckon(&source(&file, place)?, units.into(), json),
        Command::Check { file, json } => check(source(&file, place)?, json),
        Command::Measure { command } => measure::run(&command),
        Command::Water { command } => liquor::run(&command, place),
        Command::Wort { command } => kettle::run(&command, place),
        Command::Pitch(asked) => pitch::say(&asked, place),
        Command::Taste { command } => taste::run(&command, place),
        Command::Log { command } => log::run(&command, place),
        Command::Example { name, into, json } => example(name.as_deref(), into.as_deref(), json),
        Command::Schema { of } => print_json(&schema(of)),
        Command::Completions { shell } => {
            let mut script = Vec::new();
            clap_complete::generate(shell, &mut Cli::command(), "gyle", &mut script);
            write_out(&script)
        }
        Command::Man => {
            let mut page = Vec::new();
            clap_mangen::Man::new(Cli::command())
                .render(&mut page)
                .map_err(|e| Problem::write("the manual page", &e))?;
            write_out(&page)
        }
    }
}

/// A document from a file, from standard input, or from the store.
fn source(file: &Path, place: Option<&str>) -> Result<Source, Problem> {
    match file.to_str().and_then(|f| f.strip_prefix("store:")) {
        Some(wanted) => kept::find(place, wanted),
        None => input::read(file),
    }
}

fn list(place: Option<&str>, find: &str, json: bool) -> Result<(), Problem> {
    let rows = kept::list(place, find)?;
    if json {
        return print_json(
            &rows
                .iter()
                .map(kept::Row::json)
                .collect::<serde_json::Value>(),
        );
    }
    let lines: String = rows.iter().map(kept::Row::line).collect();
    write_out(lines.as_bytes())
}

/// The reckoning of a document, or its faults.
fn reckoned(source: &Source, json: bool) -> Result<Reckoning, Problem> {
    let faulty = |faults| Problem::document(faults, source.clone(), json);
    let (document, assumptions) = Document::read(&source.text).map_err(faulty)?;
    Reckoning::of(document, assumptions).map_err(|fault| faulty(vec![fault]))
}

fn reckon(source: &Source, units: Units, json: bool) -> Result<(), Problem> {
    let reckoning = reckoned(source, json)?;
    if json {
        print_json(&wire::Reckoning::from(&reckoning))
    } else {
        write_out(sheet::plan(&reckoning, units).as_bytes())
    }
}

fn check(source: Source, json: bool) -> Result<(), Problem> {
    match Document::read(&source.text) {
        Ok((document, assumptions)) if json => {
            print_json(&wire::Check::fine(&document, &assumptions))
        }
        Ok((document, assumptions)) => {
            let text = format!(
                "{}: {} is a batch document. {} keys were left to defaults.\n",
                source.name,
                document.batch.name,
                assumptions.len()
            );
            write_out(text.as_bytes())
        }
        Err(faults) if json => {
            print_json(&wire::Check::faulty(&faults, &source.text))?;
            Err(Problem::AlreadyTold)
        }
        Err(faults) => Err(Problem::document(faults, source, false)),
    }
}

fn example(name: Option<&str>, into: Option<&Path>, json: bool) -> Result<(), Problem> {
    let Some(name) = name else {
        return if json {
            print_json(&demo_list())
        } else {
            write_out(demo_listing().as_bytes())
        };
    };
    let demo = Demo::find(name).ok_or_else(|| Problem::NotOne {
        name: name.to_owned(),
        known: demos()
            .iter()
            .map(|d| d.name)
            .collect::<Vec<_>>()
            .join(", "),
    })?;
    match into {
        Some(path) => input::write_new(path, demo.text),
        None => write_out(demo.text.as_bytes()),
    }
}

fn demo_listing() -> String {
    let lines: String = demos()
        .iter()
        .map(|d| format!("  {:<20} {}\n", d.name, d.about))
        .collect();
    format!(
        "Demo documents (beers, town and waters are invented):\n{lines}\nWrite one with: gyle example lantern-pale > mine.toml\n"
    )
}

fn demo_list() -> serde_json::Value {
    demos()
        .iter()
        .map(|d| serde_json::json!({"name": d.name, "about": d.about}))
        .collect()
}

fn schema(of: SchemaOf) -> serde_json::Value {
    match of {
        SchemaOf::Batch => batch::document_schema(),
        SchemaOf::Reckoning => wire::reckoning_schema(),
        SchemaOf::Check => wire::check_schema(),
        SchemaOf::Measurement => wire::measurement_schema(),
        SchemaOf::WaterReport => wire::water_report_schema(),
        SchemaOf::WaterChlorine => wire::water_chlorine_schema(),
        SchemaOf::WaterBreakpoint => wire::water_breakpoint_schema(),
        SchemaOf::Minerals => wire::liquor::minerals::minerals_schema(),
        SchemaOf::WortMash => wire::mash::wort_mash_schema(),
        SchemaOf::WortBoil => wire::boil::wort_boil_schema(),
        SchemaOf::WaterChoice => wire::liquor::choice::water_choice_schema(),
        SchemaOf::WortLauter => wire::brew_day::wort_lauter_schema(),
        SchemaOf::WortCorrect => wire::brew_day::wort_correct_schema(),
        SchemaOf::WaterMash => wire::liquor::reading::water_mash_schema(),
        SchemaOf::Tasting => batch::tasting::Tasting::schema(),
        SchemaOf::TastingPlan => wire::tasting::tasting_plan_schema(),
        SchemaOf::TastingOneGlass => wire::tasting::tasting_one_glass_schema(),
        SchemaOf::TastingResult => wire::tasting::tasting_result_schema(),
        SchemaOf::WaterDissolved => wire::liquor::dissolved::water_dissolved_schema(),
        SchemaOf::Log => wire::log::log_schema(),
        SchemaOf::Pitch => wire::pitch::pitch_schema(),
    }
}

fn print_json(value: &impl serde::Serialize) -> Result<(), Problem> {
    let mut text =
        serde_json::to_string_pretty(value).map_err(|e| Problem::Defect(e.to_string()))?;
    text.push('\n');
    write_out(text.as_bytes())
}

/// Writes to standard output. A reader that has gone away, as in `gyle … | head`,
/// is no error.
fn write_out(bytes: &[u8]) -> Result<(), Problem> {
    let mut out = std::io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Problem::write("standard output", &e))
        }
        _ => Ok(()),
    }
}
