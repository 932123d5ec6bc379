//! What all benches show: remarks, where figures come from, cautions.

use batch::{Assumption, Reckoning, Stage};
use maud::{Markup, html};
use quantity::{Caution, Units};

use crate::views::intervals;

/// A line of a table: what, and how much.
pub struct Row {
    pub label: String,
    pub value: String,
    /// The figure whose interval stands beside the value, by its key.
    pub figure: Option<&'static str>,
    /// An interval that is known already.
    pub between: Option<String>,
}

impl Row {
    /// With a place for the interval of a figure.
    pub fn sure(mut self, figure: &'static str) -> Self {
        self.figure = Some(figure);
        self
    }

    /// With an interval beside the value, where there is one.
    pub fn between(mut self, interval: Option<String>) -> Self {
        self.between = interval;
        self
    }
}

/// A row.
pub fn row(label: impl Into<String>, value: impl Into<String>) -> Row {
    Row {
        label: label.into(),
        value: value.into(),
        figure: None,
        between: None,
    }
}

/// A table of two columns, the second of figures.
pub fn table(caption: &str, rows: &[Row]) -> Markup {
    two_columns(caption, rows, Some("number"))
}

/// A table of two columns, the second of words that may run over lines.
pub fn table_of_words(caption: &str, rows: &[Row]) -> Markup {
    two_columns(caption, rows, None)
}

fn two_columns(caption: &str, rows: &[Row], class: Option<&str>) -> Markup {
    html! {
        @if !rows.is_empty() {
            table {
                caption { (caption) }
                tbody { @for row in rows { tr {
                    th scope="row" { (row.label) }
                    td class=[class] {
                        (row.value)
                        @if let Some(key) = row.figure { (intervals::of_row(key)) }
                        (intervals::known(row.between.as_deref()))
                    }
                } } }
            }
        }
    }
}

/// A caution where its number stands.
pub fn caution(caution: Caution) -> Markup {
    let text = caution.text();
    html! { div.caution role="note" { strong { (text.title) } (text.text) } }
}

/// The remarks of a stage, the heaviest first.
pub fn remarks(stage: Stage, r: &Reckoning) -> Markup {
    html! {
        @if let Some(sign) = r.sign(stage) {
            @if !sign.notes.is_empty() {
                section.card {
                    h3 { "Remarks" }
                    ul.notes {
                        @for note in &sign.notes {
                            li.(note.weight.word()) {
                                @if super::super::stream::asks(note.weight) { strong { (note.weight.word()) ": " } }
                                (note.text)
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Where each figure of a stage comes from, and what was assumed for it.
pub fn origins(stage: Stage, r: &Reckoning, units: Units) -> Markup {
    let figures: Vec<_> = r
        .figures()
        .into_iter()
        .filter(|f| f.stage == stage)
        .collect();
    let assumed = r.assumptions.iter().filter(|a| concerns(stage, &a.path));
    html! {
        section.card {
            h3 { "Where this comes from" }
            p.small.quiet { (inputs(stage)) }
            @for figure in &figures {
                details.why {
                    summary { (figure.label) ": " (figure.text.text(units)) }
                    p { (figure.how) }
                }
            }
            (filled_gaps(assumed))
        }
    }
}

/// What was assumed where nothing was said.
pub fn filled_gaps<'a>(assumed: impl IntoIterator<Item = &'a Assumption>) -> Markup {
    let assumed: Vec<&Assumption> = assumed.into_iter().collect();
    html! {
        @if !assumed.is_empty() {
            details.why {
                summary {
                    @if let [_] = assumed.as_slice() { "1 assumption filled a gap" }
                    @else { (assumed.len()) " assumptions filled gaps" }
                }
                dl {
                    @for a in assumed {
                        dt { (a.path) ": " (a.value) }
                        dd { (a.mark) ": " (a.source) }
                    }
                }
            }
        }
    }
}

/// What a stage reckons from.
fn inputs(stage: Stage) -> &'static str {
    match stage {
        Stage::Water => {
            "Inputs: the sources with their shares, the treatment, salts and acids beside, and the volumes that mash and boil ask for."
        }
        Stage::Mash => {
            "Inputs: grist, mash and kit beside, the treated liquors, and the volume wanted in the fermenter."
        }
        Stage::Boil => "Inputs: hops, boil and kit beside, and the wort that the mash gives.",
        Stage::Ferment => {
            "Inputs: yeast, oxygen and temperature plan beside, and the wort that the boil gives."
        }
        Stage::Package => "Inputs: the package beside, and the beer that fermentation gives.",
        Stage::Glass => {
            "Inputs: the packed beer, thresholds from the literature, and the aim beside."
        }
    }
}

/// The sections of the document that a stage reads.
fn concerns(stage: Stage, path: &str) -> bool {
    let sections: &[&str] = match stage {
        Stage::Water => &["water"],
        Stage::Mash => &["mash", "grist", "kit"],
        Stage::Boil => &["boil", "hop"],
        Stage::Ferment => &["yeast", "fermentation"],
        Stage::Package => &["package"],
        Stage::Glass => &["aim"],
    };
    sections.iter().any(|s| {
        path.strip_prefix(s)
            .is_some_and(|rest| rest.starts_with(['.', '[']))
    })
}
