//! The chart as a file of its own, for programs that know no variables of a style sheet.

use crate::heading::Heading;
use crate::mark::c;
use maud::{Markup, html};
use std::sync::LazyLock;

const THEME: &str = include_str!("../assets/theme.css");
const MARKS: &str = include_str!("../assets/marks.css");

/// The drawing classes with the daylight colours put in place of the variables.
static STYLE: LazyLock<String> = LazyLock::new(|| {
    daylight().fold(MARKS.to_owned(), |style, (name, value)| {
        style.replace(&format!("var({name})"), value)
    })
});

/// Names and values of the first block of the theme.
fn daylight() -> impl Iterator<Item = (&'static str, &'static str)> {
    let block = THEME
        .split_once('{')
        .and_then(|(_, rest)| rest.split_once('}'));
    let block = block.map_or("", |(block, _)| block);
    block
        .split(';')
        .filter_map(|line| line.split_once(':'))
        .map(|(name, value)| (name.trim(), value.trim()))
}

/// Paper around the drawing.
const MARGIN: f64 = 8.0;

/// A whole SVG file around a body.
pub(crate) fn file(
    heading: &Heading,
    summary: &str,
    (width, height): (f64, f64),
    body: &Markup,
) -> String {
    let (left, wide) = (c(-MARGIN), c(width + 2.0 * MARGIN));
    let (top, high) = (c(-MARGIN), c(height + 2.0 * MARGIN));
    // Half as large again as its units: twelve units then read as on a page.
    let shown = [width, height].map(|side| c((side + 2.0 * MARGIN) * 1.5));
    let text = html! {
        svg.chart-svg xmlns="http://www.w3.org/2000/svg" role="img"
            width=(shown[0]) height=(shown[1])
            viewBox=(format!("{left} {top} {wide} {high}"))
            aria-labelledby={ (heading.id) "-title" } aria-describedby={ (heading.id) "-desc" } {
            title id={ (heading.id) "-title" } { (heading.title) }
            desc id={ (heading.id) "-desc" } { (summary) }
            style { (STYLE.as_str()) }
            rect.chart-sheet x=(left) y=(top) width=(wide) height=(high) {}
            (body)
        }
    };
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n",
        legal(&text.into_string())
    )
}

/// Drops the characters that no XML 1.0 document may hold (production 2, "Char").
fn legal(text: &str) -> String {
    let allowed = |c: &char| matches!(c, '\t' | '\n' | '\r' | '\u{20}'..='\u{D7FF}' | '\u{E000}'..='\u{FFFD}' | '\u{10000}'..);
    text.chars().filter(allowed).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_variable_has_a_daylight_colour() {
        assert!(!STYLE.contains("var("), "{}", STYLE.as_str());
        assert!(STYLE.contains("#1f2733"));
    }
}
