//! `gyle`: the command line of gylewright.

mod bottling;
mod certainty;
mod clean;
mod cli;
mod compare;
mod device;
mod input;
mod inquire;
mod instrument;
mod interchange;
mod job;
mod kept;
mod kettle;
mod learn;
mod liquor;
mod log;
mod matching;
mod measure;
mod of_batch;
mod people;
mod pitch;
mod problem;
mod progress;
mod serve;
mod sheet;
mod steer;
mod study;
mod taste;
mod watch;

use std::io::Write;
use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;

use app::{Demo, demos};
use batch::certainty::glance;
use batch::{Document, Reckoning, wire};
use clap::{CommandFactory, Parser, ValueEnum};
use quantity::Units;

use cli::{Cli, Command, SchemaOf};
use input::Source;
use of_batch::OfBatch;
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
            sensors,
            shared,
            behind_proxy,
            metrics,
            log,
            no_browser,
            no_work,
        } => {
            serve::begin_log(log);
            let doors = serve::Doors {
                phones,
                sensors,
                metrics,
                shared: shared.then_some(web::Sharing { behind_proxy }),
            };
            let address = SocketAddr::new(listen, port);
            serve::serve(place, address, &allow_hosts, &doors, !no_browser, !no_work)
        }
        Command::List { find, json } => list(place, &find, json),
        Command::Work(asked) => job::work(&asked, place),
        Command::Job { command } => job::run(&command, place),
        Command::Keep { file } => {
            let source = input::read(&file)?;
            let (id, name) = kept::keep(place, &source.text)?;
            write_out(format!("kept as {name}, {id}\n").as_bytes())
        }
        Command::Store { command } => write_out(kept::store(place, &command)?.as_bytes()),
        Command::Import(asked) => interchange::import(&asked, place),
        Command::Export(asked) => interchange::export(&asked, place),
        Command::Reckon(of) => reckon(&of, place),
        Command::Certainty(asked) => certainty::say(&asked, place),
        Command::Compare(asked) => compare::say(&asked, place),
        Command::Check { file, json } => check(source(&file, place)?, json),
        Command::Package(of) => bottling::say(&of, place),
        Command::Clean { command } => clean::run(&command),
        Command::Report { file, out, units } => {
            report(&source(&file, place)?, out.as_deref(), units.into())
        }
        Command::Measure { command } => measure::run(&command),
        Command::Water { command } => liquor::run(&command, place),
        Command::Wort { command } => kettle::run(&command, place),
        Command::Pitch(asked) => pitch::say(&asked, place),
        Command::Steer(asked) => steer::say(&asked, place),
        Command::Match(asked) => matching::find(&asked, place),
        Command::Move(asked) => matching::relocate(&asked, place),
        Command::Taste { command } => taste::run(&command, place),
        Command::Learn(asked) => learn::say(&asked, place),
        Command::Inquire(asked) => inquire::say(&asked, place),
        Command::Findings(asked) => inquire::findings(&asked),
        Command::Log { command } => log::run(&command, place),
        Command::Instrument { command } => instrument::run(&command, place),
        Command::Device { command } => device::run(&command, place),
        Command::People { command } => people::run(&command, place),
        Command::Study { command } => study::run(&command, place),
        Command::Watch(asked) => watch::say(&asked, place),
        Command::Example { name, into, json } => example(name.as_deref(), into.as_deref(), json),
        Command::Schema { of } => print_json(&schema(of)?),
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
        let rows = rows.iter().map(kept::Row::wire).collect();
        return print_json(&wire::kept::Batches::of(rows));
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

/// The whole plan, with how sure its figures are.
fn reckon(of: &OfBatch, place: Option<&str>) -> Result<(), Problem> {
    let (source, reckoning) = of.reckoned(place)?;
    let sure = glance(&source.text);
    if of.json {
        return print_json(&wire::Reckoning::from(&reckoning).sure(sure.as_ref()));
    }
    write_out(sheet::plan(&reckoning, sure.as_ref(), of.units()).as_bytes())
}

/// A report of a batch, to a file that does not exist yet or to standard output.
fn report(source: &Source, out: Option<&Path>, units: Units) -> Result<(), Problem> {
    let reckoning = reckoned(source, false)?;
    // A document that cannot be drawn has a report all the same, without intervals.
    let sure = glance(&source.text);
    let text = web::report(&reckoning, sure.as_ref(), units);
    match out {
        Some(path) => input::write_new(path, &text),
        None => write_out(text.as_bytes()),
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

fn demo_list() -> wire::kept::Demos {
    let row = |d: &Demo| wire::kept::DemoRow {
        name: d.name,
        about: d.about,
    };
    wire::kept::Demos::of(demos().iter().map(row).collect())
}

/// The words of the command line are the names of the forms; a test asks for them all.
fn schema(of: SchemaOf) -> Result<serde_json::Value, Problem> {
    let named = of.to_possible_value();
    let found = named.and_then(|word| app::schema(word.get_name()));
    found.ok_or_else(|| Problem::Defect(format!("there is no schema of {of:?}")))
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_has_its_schema_and_every_schema_its_word() {
        let words = SchemaOf::value_variants();
        assert!(words.iter().all(|of| schema(*of).is_ok()));
        assert_eq!(words.len(), app::schema_names().len());
    }

    /// Whatever prints JSON says in its help which schema it keeps to. What a batch
    /// answers names its form by the name of the command.
    #[test]
    fn every_command_with_json_names_its_schema() {
        let mut found = Vec::new();
        commands_with_json(&Cli::command(), "gyle", &mut found);
        assert!(found.len() >= 30, "{found:?}");
        for (command, help) in found {
            let named = help.split("gyle schema ").nth(1).unwrap_or_default();
            let name = named.split([')', ' ', ',']).next().unwrap_or_default();
            let told = app::schema(name).is_some() || is_output_of_a_form(&command);
            assert!(told, "{command}: {help}");
        }
    }

    fn is_output_of_a_form(command: &str) -> bool {
        let forms = SchemaOf::value_variants().iter();
        let mut helps =
            forms.filter_map(|of| Some(of.to_possible_value()?.get_help()?.to_string()));
        let ends = [" --json`", " ... --json`"].map(|end| format!("`{command}{end}"));
        helps.any(|help| ends.iter().any(|end| help.contains(end)))
    }

    fn commands_with_json(of: &clap::Command, path: &str, found: &mut Vec<(String, String)>) {
        for arg in of.get_arguments().filter(|a| a.get_id() == "json") {
            let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
            found.push((path.to_owned(), help));
        }
        for under in of.get_subcommands() {
            commands_with_json(under, &format!("{path} {}", under.get_name()), found);
        }
    }
}
