//! The report of a batch: one page of HTML that loads nothing, to keep, to send, to
//! print. It holds its own style, as a file has no style sheet beside it.

mod story;

use app::{HouseHistory, OpenTasting};
use batch::Reckoning;
use batch::certainty::Certainty;
use batch::inquiry::Story;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use quantity::Units;

use super::inquiry::Told;
use super::{charts, inquiry};

const STYLE: &str = include_str!("report.css");

/// The report of a batch, with the intervals of its figures where they are known.
#[must_use]
pub fn report(r: &Reckoning, sure: Option<&Certainty>, units: Units) -> String {
    with_tastings(r, sure, &[], units)
}

/// The same with what tastings said.
pub fn with_tastings(
    r: &Reckoning,
    sure: Option<&Certainty>,
    tastings: &[OpenTasting],
    units: Units,
) -> String {
    let name = &r.document.batch.name;
    file(
        &format!("{name} · batch report"),
        &html! {
            (story::opening(r, sure, units))
            (story::water(r, units))
            (drawn("ions", r, units))
            (story::wort(r, units))
            (drawn("volumes", r, units))
            (drawn("bitterness", r, units))
            (story::fermentation(r, units))
            (drawn("course", r, units))
            (story::package(r, units))
            (story::glass(r, units))
            (drawn("glass", r, units))
            (story::tasted(tastings))
            (story::cautions(r))
            (story::sources(r, units))
        },
    )
}

/// The report of an inquiry: the story of what went wrong.
#[must_use]
pub fn inquiry_report(name: &str, told: &Story, history: &HouseHistory) -> String {
    let story = Told {
        story: told,
        history,
    };
    file(
        &format!("{name} · what went wrong"),
        &html! {
            p.quiet.small { "What went wrong, and how we know" }
            h1 { (name) }
            (inquiry::story_body(&story))
        },
    )
}

/// A page that holds all that it shows.
fn file(title: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                style { (PreEscaped(STYLE)) (PreEscaped(chart::STYLE)) }
            }
            body {
                main { (body) }
                footer {
                    p.small.quiet {
                        "Made by gylewright. Reckonings are estimates with their sources beside them; a reading decides. "
                        "Where health, pressure or the law is concerned, local codes and licensed practice decide."
                    }
                }
            }
        }
    };
    page.into_string()
}

fn drawn(name: &str, r: &Reckoning, units: Units) -> Markup {
    html! { @if let Some(chart) = charts::named(name, r, units) { (chart.still()) } }
}

#[cfg(test)]
mod tests {
    use super::*;
    use batch::Document;

    fn reckoned(text: &str) -> Reckoning {
        let (document, assumptions) = Document::read(text).unwrap();
        Reckoning::of(document, assumptions).unwrap()
    }

    const PALE: &str = include_str!("../../../../../examples/lantern-pale.toml");

    /// What a browser would fetch: an address in src or href, an import, a url() in a
    /// style, a script, a frame.
    fn loads(page: &str) -> Vec<String> {
        let lower = page.to_lowercase();
        let asked = [
            "src=",
            "href=",
            "@import",
            "url(",
            "<script",
            "<link",
            "<iframe",
            "<object",
            "<embed",
            "<base",
            "srcset",
            "http-equiv",
            "<form",
            "<img",
        ];
        let found = asked.iter().filter(|what| lower.contains(**what));
        found.map(|what| (*what).to_owned()).collect()
    }

    #[test]
    fn a_report_loads_nothing() {
        for text in [
            PALE,
            include_str!("../../../../../examples/towpath-amber.toml"),
            include_str!("../../../../../examples/lantern-pale-first.toml"),
        ] {
            for units in [Units::Metric, Units::Us] {
                let page = report(&reckoned(text), None, units);
                assert_eq!(loads(&page), Vec::<String>::new());
                assert!(page.contains("<svg") && page.len() < 2_000_000);
            }
        }
        assert_eq!(
            loads("<img src=http://x>").len(),
            2,
            "the test sees what it should"
        );
    }

    /// The story of an inquiry stands in a file as well: it loads nothing, has all its
    /// parts, and what was typed is text.
    #[test]
    fn the_report_of_an_inquiry_loads_nothing_and_tells_all() {
        let text = format!(
            "{}\n[[finding]]\nwhat = \"medicinal\"\nthere = \"yes\"\n[[test]]\nwhat = \"sulfite-glass\"\nresult = \"positive\"\n",
            include_str!("../../../../../examples/lantern-pale-first.toml")
        );
        let r = reckoned(&text);
        let story = Story::of(&text, &r, &::inquiry::House::default(), &[]).unwrap();
        let page = inquiry_report("<script>", &story, &HouseHistory::default());
        assert_eq!(loads(&page), Vec::<String>::new());
        for heading in [
            "What was found",
            "What it could be",
            "What was tested",
            "What it was",
            "What was changed in the next batch",
            "What came of it",
        ] {
            assert!(page.contains(&format!(">{heading}<")), "{heading}");
        }
        assert!(page.contains("chloramine in the brewing water") && page.contains("judgement"));
        assert!(page.contains("Metabisulfite") || page.contains("sulfite"));
    }

    #[test]
    fn a_report_tells_the_whole_story() {
        let r = reckoned(PALE);
        let page = report(&r, None, Units::Metric);
        for heading in [
            "Water",
            "Wort",
            "Fermentation",
            "Package",
            "The glass",
            "Cautions",
            "Sources",
        ] {
            assert!(page.contains(&format!(">{heading}<")), "{heading}");
        }
        for caution in r.cautions() {
            assert!(page.contains(&html! { (caution.text().title) }.into_string()));
            assert!(page.contains(&html! { (caution.text().source) }.into_string()));
        }
        for assumption in &r.assumptions {
            assert!(page.contains(&assumption.path), "{}", assumption.path);
        }
        assert!(page.contains("licensed practice"));
    }

    /// What a brewer typed is text, never markup.
    #[test]
    fn a_name_with_markup_stays_text() {
        let named = PALE.replacen("name = \"", "name = \"<script>alert(1)</script> & ", 1);
        let page = report(&reckoned(&named), None, Units::Metric);
        assert!(!page.contains("<script") && page.contains("&lt;script&gt;"));
    }

    #[test]
    fn ids_are_unique() {
        let page = report(&reckoned(PALE), None, Units::Metric);
        let mut ids: Vec<&str> = page
            .split(" id=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
            .collect();
        let all = ids.len();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), all);
    }
}
