//! `gyle wort malts` and `gyle wort hops`: the built-in tables.

use batch::tables::{Entry, UNUSED, found};
use batch::wire::tables::IngredientTable;
use quantity::Units;

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// Which of them.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// A part of the name; left out, all of them.
    name: Option<String>,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The table as JSON (schema: gyle schema ingredient-table).
    #[arg(long)]
    json: bool,
}

/// Prints the malts of that name.
///
/// # Errors
/// [`Problem`] where there is none.
pub fn malts(asked: &Asked) -> Result<(), Problem> {
    let remark = format!("Not used by any model here: {UNUSED}.");
    print(asked, batch::tables::malts, "malts", Some(&remark))
}

/// Prints the hops of that name.
///
/// # Errors
/// [`Problem`] where there is none.
pub fn hops(asked: &Asked) -> Result<(), Problem> {
    print(asked, batch::tables::hops, "hops", None)
}

fn print(
    asked: &Asked,
    table: fn(Units) -> Vec<Entry>,
    word: &str,
    remark: Option<&str>,
) -> Result<(), Problem> {
    let units = asked.units.into();
    let name = asked.name.as_deref().unwrap_or_default();
    let rows = found(table(units), name);
    if rows.is_empty() {
        return Err(Problem::no_answer(format!(
            "no name in the table of {word} holds {name:?}"
        )));
    }
    if asked.json {
        return print_json(&IngredientTable::from(rows));
    }
    let mut page = Page::new(units);
    page.title(&format!("The table of {word}"));
    page.paragraph("Usual ranges of generic classes. A figure of your own sheet stands in its place: write it with the key in brackets.");
    if let Some(remark) = remark {
        page.paragraph(remark);
    }
    for entry in &rows {
        page.heading(&format!("{} ({})", entry.name, entry.kind));
        for figure in &entry.figures {
            let own = figure.own.map_or(String::new(), |key| format!(" [{key}]"));
            let value = format!("{} ({}){own}", figure.text, figure.mark);
            page.row(figure.label, &value);
        }
        page.row("source", &entry.source.text);
    }
    write_out(page.finish().as_bytes())
}
