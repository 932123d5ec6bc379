//! An inquiry told as it went: for a page, and for a report that stands alone.

use app::{HouseHistory, OpenBatch};
use batch::inquiry::{Came, Next, Story, Told as Chances, Verdict, percent, weighty};
use inquiry::{Cause, Knowledge};
use maud::{Markup, html};
use quantity::Caution;

use super::bar;
use crate::page::Page;

/// Everything that is told.
pub struct Told<'t> {
    pub story: &'t Story,
    pub history: &'t HouseHistory,
}

/// Keys that are shown to have changed.
const CHANGED: usize = 30;

/// The page.
pub fn page(open: &OpenBatch, story: &Result<Story, String>, history: &HouseHistory) -> Markup {
    let at = |rest: &str| format!("/batch/{}/inquiry{rest}", open.id);
    Page::new(&open.name)
        .beside("what went wrong, as a story")
        .link(at(""), "back to the inquiry")
        .link(at("/report"), "as a report to print")
        .link(at("/report.html"), "save the report")
        .render(&html! {
            @match story {
                Ok(story) => article.story {
                    (body(&Told { story, history }))
                    @for next in &story.next {
                        p.no-print { a href=(format!("/batch/{}", next.id)) { "open " (next.name) } }
                    }
                },
                Err(why) => div.trouble role="alert" { p { strong { "This cannot be told as it is. " } (why) "." } },
            }
        })
}

/// The story, without a link: it may stand in a file.
pub fn body(t: &Told<'_>) -> Markup {
    let story = t.story;
    html! {
        p.verdict { (story.verdict.words()) }
        (found(story))
        (could_be(story))
        (tested(story))
        (was(t))
        (changed(story))
        (came(story))
        (cautions(story))
        p.quiet.small {
            "Chances rest on judgement (" (sources()) ") and on what was brewed; a test decides. "
            "The mark on a bar is where the chance stood before anything was found."
        }
    }
}

fn found(story: &Story) -> Markup {
    html! {
        h2 { "What was found" }
        @if story.found.is_empty() { p { "Nothing was said to be found." } }
        ul { @for words in &story.found { li { (words) } } }
        @if !story.brewed.is_empty() {
            h3 { "What was known of the brewing" }
            ul.small { @for fact in &story.brewed { li { (fact) } } }
        }
    }
}

fn could_be(story: &Story) -> Markup {
    html! {
        h2 { "What it could be" }
        @if story.could_be.is_empty() { p { "Nothing that was found asks for a cause." } }
        @else { (chances(&story.could_be, "by what was found")) }
    }
}

fn chances(told: &[Chances], how: &str) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label=(format!("causes {how}")) { table.chances {
            thead { tr { th scope="col" { "cause" } th scope="col" { "before" } th scope="col" { (how) } th scope="col" aria-label="as a bar" {} } }
            tbody { @for t in told {
                tr {
                    th scope="row" { (t.cause.name) }
                    td { (percent(t.before)) }
                    td { (percent(t.made)) }
                    td { (bar(t.made, t.before)) }
                }
            } }
        } }
    }
}

fn tested(story: &Story) -> Markup {
    html! {
        h2 { "What was tested" }
        @if story.steps.is_empty() { p { "No test was made." } }
        ol {
            @for step in &story.steps {
                li {
                    strong { (step.name) ": " (if step.positive { "it was so" } else { "it was not so" }) }
                    "; " (step.means) "."
                    @if let Some(then) = &step.then { " Then the likeliest: " (then.cause.name.to_lowercase()) ", " (percent(then.made)) "." }
                }
            }
        }
    }
}

fn was(t: &Told<'_>) -> Markup {
    let answer = &t.story.answer;
    let blamed: Vec<&Cause> = match &t.story.verdict {
        Verdict::NoFault => Vec::new(),
        Verdict::Settled(told) | Verdict::Likely(told) => vec![told.cause],
        Verdict::Open(told) => told.iter().map(|t| t.cause).collect(),
    };
    let blamed = answer.causes.iter().filter(|c| blamed.contains(&c.cause));
    html! {
        h2 { "What it was" }
        p { (t.story.verdict.words()) }
        @for cause in blamed {
            h3 { (cause.cause.name) }
            p { (cause.cause.mechanism) " " span.quiet.small { "(" (cause.cause.source.mark) ": " (cause.cause.source.text) ")" } }
            @let speaks_for = weighty(&cause.reasons, true);
            @let against = weighty(&cause.reasons, false);
            @if !speaks_for.is_empty() { p { b { "For: " } (speaks_for.join(" · ")) } }
            @if !against.is_empty() { p { b { "Against: " } (against.join(" · ")) } }
            p { b { "What to change: " } (cause.cause.remedy) }
        }
        @if !t.history.spoke.is_empty() {
            h3 { "What other batches of the house said" }
            ul.small { @for spoke in &t.history.spoke { li { (spoke.words) } } }
            @if let Some(more) = t.history.unlisted() { p.quiet.small { (more) } }
        }
    }
}

fn changed(story: &Story) -> Markup {
    html! {
        h2 { "What was changed in the next batch" }
        @if story.next.is_empty() { p { "No batch was begun from it yet." } }
        @for next in &story.next {
            h3 { (next.name) }
            @if let Some(cause) = next.mends { p { "It mends: " (cause.name.to_lowercase()) "." } }
            @if next.changed.is_empty() { p { "Its document says the same as the one before." } }
            @else { (keys(next)) }
        }
    }
}

fn keys(next: &Next) -> Markup {
    html! {
        div.wide tabindex="0" role="region" aria-label=(format!("what {} changed", next.name)) { table {
            thead { tr { th scope="col" { "key" } th scope="col" { "before" } th scope="col" { "now" } } }
            tbody { @for (path, before, now) in next.changed.iter().take(CHANGED) {
                tr { th scope="row" { (path) } td { (before) } td { (now) } }
            } }
        } }
        @if next.changed.len() > CHANGED { p.small { "and more that differs" } }
    }
}

fn came(story: &Story) -> Markup {
    html! {
        h2 { "What came of it" }
        @if story.next.is_empty() { p { "That is still to be tasted." } }
        ul { @for next in &story.next {
            li class=[(next.came == Came::Still).then_some("look")] {
                strong { (next.name) ": " } (next.words) "."
                @if let (Some(cause), Some(chance)) = (next.mends, next.chance) {
                    " With that, the chance of " (cause.name.to_lowercase()) " is " (percent(chance)) "."
                }
            }
        } }
    }
}

/// The cautions of the tests that were made, and of what was changed.
fn cautions(story: &Story) -> Markup {
    let k = Knowledge::built_in();
    let tests = k
        .tests
        .iter()
        .filter(|t| story.steps.iter().any(|s| s.key == t.key));
    let remedies = story
        .answer
        .causes
        .iter()
        .take(1)
        .map(|c| &c.cause.cautions);
    let mended = story
        .next
        .iter()
        .filter_map(|n| n.mends.map(|c| &c.cautions));
    let mut all: Vec<Caution> = Vec::new();
    for caution in tests
        .map(|t| &t.cautions)
        .chain(remedies)
        .chain(mended)
        .flatten()
    {
        if !all.contains(caution) {
            all.push(*caution);
        }
    }
    html! {
        @if story.verdict != Verdict::NoFault || !story.steps.is_empty() {
            @for caution in all {
                @let text = caution.text();
                div.caution { strong { (text.title) ". " } (text.text) " " span.quiet { "Source: " (text.source) " (" (text.mark) ")." } }
            }
        }
    }
}

/// Where the tables come from, in a few words.
fn sources() -> String {
    let k = Knowledge::built_in();
    k.sources
        .get("findings")
        .map_or_else(String::new, |s| s.text.clone())
}
