//! The figures of a chart as rows and columns: the table beside it and the file.

use crate::calendar::said;
use crate::number::show;
use crate::scale::Axis;
use maud::{Markup, html};

/// The most rows that a page shows; a file holds all.
const MOST_SHOWN: usize = 200;

/// One figure of a grid.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A number, with the decimals to show; a file keeps every digit.
    Number(f64, Option<usize>),
    /// A number that is shown in words, such as a time; a file keeps the number.
    Named(f64, String),
    /// Nothing known here.
    Blank,
}

impl Cell {
    pub(crate) fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// A number, or blank if it is none.
    pub(crate) fn number(value: f64, decimals: Option<usize>) -> Self {
        if value.is_finite() {
            Self::Number(value, decimals)
        } else {
            Self::Blank
        }
    }

    /// A value of an axis: in words if the axis has words for it.
    pub(crate) fn on(axis: &Axis, value: f64) -> Self {
        match said(axis.names, value) {
            Some(words) => Self::Named(value, words),
            None => Self::number(value, axis.decimals),
        }
    }

    fn shown(&self) -> String {
        match self {
            Self::Text(text) => text.clone(),
            Self::Number(value, decimals) => show(*value, *decimals),
            Self::Named(_, words) => words.clone(),
            Self::Blank => String::new(),
        }
    }

    fn filed(&self) -> String {
        match self {
            Self::Text(text) => field(text),
            Self::Number(value, _) | Self::Named(value, _) => format!("{value}"),
            Self::Blank => String::new(),
        }
    }
}

/// Column names with units, and rows of cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Column names, each with its unit.
    pub columns: Vec<String>,
    /// Rows, each as long as `columns`.
    pub rows: Vec<Vec<Cell>>,
}

impl Grid {
    /// The rows as a table that opens on demand, with notes below.
    pub(crate) fn table(&self, title: &str, notes: &[String]) -> Markup {
        html! {
            details.chart-data {
                summary { "Figures: " (title) }
                div.chart-scroll tabindex="0" role="region" aria-label={ "Figures: " (title) } {
                    table {
                        thead { tr { @for name in &self.columns { th scope="col" { (name) } } } }
                        tbody { @for row in self.shown_rows() { (table_row(row)) } }
                    }
                }
                @if self.rows.len() > MOST_SHOWN {
                    p { (MOST_SHOWN) " of " (self.rows.len()) " rows; the file of figures holds all." }
                }
                @if !notes.is_empty() {
                    ul { @for note in notes { li { (note) } } }
                }
            }
        }
    }

    /// Evenly spaced rows, the first and the last among them.
    fn shown_rows(&self) -> Vec<&Vec<Cell>> {
        let count = self.rows.len();
        if count <= MOST_SHOWN {
            return self.rows.iter().collect();
        }
        (0..MOST_SHOWN)
            .filter_map(|i| self.rows.get(i * (count - 1) / (MOST_SHOWN - 1)))
            .collect()
    }

    /// The rows as RFC 4180 says: quoted where needed, lines ended by CR LF.
    pub(crate) fn csv(&self) -> String {
        let mut out = line(self.columns.iter().map(|name| field(name)));
        for row in &self.rows {
            out.push_str(&line(row.iter().map(Cell::filed)));
        }
        out
    }
}

fn table_row(row: &[Cell]) -> Markup {
    html! {
        tr {
            @for (i, cell) in row.iter().enumerate() {
                @match (i, cell) {
                    (0, cell) => th scope="row" { (cell.shown()) },
                    (_, Cell::Text(text)) => td { (text) },
                    (_, cell) => td.chart-number { (cell.shown()) },
                }
            }
        }
    }
}

fn line(fields: impl Iterator<Item = String>) -> String {
    let mut out = fields.collect::<Vec<_>>().join(",");
    out.push_str("\r\n");
    out
}

/// A text as one field. Programs for tables reckon with what begins like a formula, and
/// names come from documents and logs of anybody: an apostrophe before it keeps it a text.
fn field(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r', '\0', '＝', '＋', '－', '＠']);
    let text = if formula && text.parse::<f64>().is_err() {
        format!("'{text}")
    } else {
        text.to_owned()
    };
    if text.contains(['"', ',', '\r', '\n']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_that_begins_like_a_formula_stays_a_text() {
        for (given, filed) in [
            ("=1+1", "'=1+1"),
            (
                "=HYPERLINK(\"//other.example\",\"x\")",
                "\"'=HYPERLINK(\"\"//other.example\"\",\"\"x\"\")\"",
            ),
            ("+41", "+41"),
            ("+a", "'+a"),
            ("-2 °C", "'-2 °C"),
            ("-2", "-2"),
            ("@sum(a1)", "'@sum(a1)"),
            ("\t=1", "'\t=1"),
            ("\r=1", "\"'\r=1\""),
            ("＝1", "'＝1"),
            ("mash = 66 °C", "mash = 66 °C"),
            ("", ""),
        ] {
            assert_eq!(field(given), filed, "{given:?}");
        }
    }

    #[test]
    fn columns_and_cells_are_filed_alike() {
        let grid = Grid {
            columns: vec!["=cmd".to_owned()],
            rows: vec![vec![Cell::text("@a")], vec![Cell::number(-2.5, None)]],
        };
        assert_eq!(grid.csv(), "'=cmd\r\n'@a\r\n-2.5\r\n");
    }
}
