//! Recipes from and to other programs, with what did not map.

use std::fmt::Write as _;
use std::path::PathBuf;

use app::App;
use clap::ValueEnum;
use interchange::wire::{RecipeWritten, RecipesRead};
use interchange::{Imported, ReadError, Remark};

use crate::cli::StoreCommand;
use crate::problem::Problem;
use crate::{input, kept, print_json, source, write_out};

/// What is taken in.
#[derive(Debug, clap::Args)]
pub struct Import {
    /// The file of recipes; - reads standard input. With --everything, the folder that an
    /// export wrote.
    from: PathBuf,
    /// Only say what would be taken in and what does not map; keep nothing.
    #[arg(long)]
    look: bool,
    /// The report as JSON (schema: gyle schema recipes-read).
    #[arg(long)]
    json: bool,
    /// Take in everything that `gyle export --everything` wrote.
    #[arg(long, conflicts_with_all = ["look", "json"])]
    everything: bool,
}

/// What is written.
#[derive(Debug, clap::Args)]
pub struct Export {
    /// The batch document; - reads standard input, store:NAME a batch of the store. With
    /// --everything, the new folder.
    what: PathBuf,
    /// The form.
    #[arg(long = "as", value_enum, default_value_t = Form::Beerjson, value_name = "FORM")]
    form: Form,
    /// The file, which must not exist yet; left out, standard output.
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The file and the report as one JSON (schema: gyle schema recipe-written).
    #[arg(long, conflicts_with = "out")]
    json: bool,
    /// Write everything that is kept as TOML and CSV into a new folder.
    #[arg(long, conflicts_with_all = ["out", "json"])]
    everything: bool,
}

/// Forms that are written for other programs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Form {
    /// The open standard for recipes as JSON.
    Beerjson,
}

/// Takes in a file of recipes, or everything.
///
/// # Errors
/// [`Problem`] for a file that is not taken, or a store that does not answer.
pub fn import(asked: &Import, place: Option<&str>) -> Result<(), Problem> {
    if asked.everything {
        let folder = asked.from.clone();
        let told = kept::store(place, &StoreCommand::Import { folder })?;
        return write_out(told.as_bytes());
    }
    let source = input::read(&asked.from)?;
    let (documents, remarks, ids) = if asked.look {
        let (documents, remarks) = interchange::read(&source.text).map_err(refused)?;
        (documents, remarks, Vec::new())
    } else {
        keep(&source.text, place)?
    };
    if asked.json {
        return print_json(&RecipesRead::of(&documents, &remarks, &ids));
    }
    write_out(report(&documents, &ids, &remarks).as_bytes())
}

type Kept = (Vec<Imported>, Vec<Remark>, Vec<String>);

fn keep(text: &str, place: Option<&str>) -> Result<Kept, Problem> {
    // A file that is not taken makes no store.
    interchange::read(text).map_err(refused)?;
    let place = kept::place(place)?;
    kept::block_on(async {
        let taken = App::open(place).await?.take_in(text).await?;
        let (ids, documents) = taken
            .kept
            .into_iter()
            .map(|(id, made)| (id.to_string(), made))
            .unzip();
        Ok((documents, taken.remarks, ids))
    })
}

/// What is wrong with a file, a line each.
fn refused(error: ReadError) -> Problem {
    match error {
        ReadError::NotTheStandard { faults } => {
            let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            Problem::no_answer(lines.join("\n"))
        }
        error => Problem::no_answer(error),
    }
}

/// Writes a batch for other programs, or everything.
///
/// # Errors
/// [`Problem`] for a batch that cannot be reckoned, or a file that cannot be written.
pub fn export(asked: &Export, place: Option<&str>) -> Result<(), Problem> {
    if asked.everything {
        let folder = asked.what.clone();
        let told = kept::store(place, &StoreCommand::Export { folder })?;
        return write_out(told.as_bytes());
    }
    let source = source(&asked.what, place)?;
    let Form::Beerjson = asked.form;
    let written = interchange::write(&source.text)
        .map_err(|faults| Problem::document(faults, source, asked.json))?;
    if asked.json {
        return print_json(&RecipeWritten::from(&written));
    }
    match &asked.out {
        Some(out) => {
            input::write_new(out, &written.text)?;
            write_out(remarks(&written.remarks).as_bytes())
        }
        None => {
            // Standard output is the file; what did not map is told beside it.
            eprint!("{}", remarks(&written.remarks));
            write_out(written.text.as_bytes())
        }
    }
}

fn report(documents: &[Imported], ids: &[String], left: &[Remark]) -> String {
    let mut told = String::new();
    for (n, made) in documents.iter().enumerate() {
        let (kind, name) = (made.kind(), &made.name);
        let _ = match ids.get(n) {
            Some(id) => writeln!(told, "kept {kind}: {name}, {id}"),
            None => writeln!(told, "would keep {kind}: {name}"),
        };
    }
    told + &remarks(left)
}

fn remarks(remarks: &[Remark]) -> String {
    if remarks.is_empty() {
        return "everything mapped\n".to_owned();
    }
    let mut told = format!("{} did not map as they stand:\n", remarks.len());
    for remark in remarks {
        let _ = write!(told, "  {}", remark.at);
        if !remark.found.is_empty() {
            let _ = write!(told, " ({})", remark.found);
        }
        let _ = write!(told, "\n    {}: {}", remark.fate.word(), remark.why);
        if !remark.taken.is_empty() {
            let _ = write!(told, "; taken: {}", remark.taken);
        }
        told.push('\n');
    }
    told
}
