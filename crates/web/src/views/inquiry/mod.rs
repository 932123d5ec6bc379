//! What it could be: findings beside ranked causes, tests that settle it, remedies.

mod find;
mod story;

use app::{HouseHistory, OpenBatch};
use batch::inquiry::{
    CIRCUMSTANCES, cautions_of, costs, finding_words, if_so_if_not, next_batch, of_a_hundred,
    percent, split_words, takes, weighty,
};
use batch::{Fault, Reckoning};
use inquiry::{Answer, Knowledge, RankedCause, RankedTest, Test};
use maud::{Markup, html};
use quantity::Units;

use crate::page::Page;
use crate::views::bench::common::caution;

pub use story::{Told, body as story_body, page as story_page};

/// Causes and tests that are shown.
const CAUSES: usize = 6;
const TESTS: usize = 6;

/// The fields of a finding.
pub const FINDING: [&str; 17] = [
    "what",
    "there",
    "strength",
    "first",
    "taster",
    "by",
    "grows_warm",
    "fades_cold",
    "tap_only",
    "lit_only",
    "some_bottles",
    "same_water",
    "same_yeast",
    "same_kit",
    "same_hops",
    "same_malt",
    "pale_only",
];

type Choice = (&'static str, &'static str, &'static [&'static str]);

const YES: &[&str] = &["yes", "no"];

/// What bears on a fault: key, words, choices; no choices for a time.
pub const BEARING: [Choice; 14] = [
    (
        "sanitiser",
        "Vessels were sanitised with",
        &["bleach", "iodine", "other"],
    ),
    ("rinsed", "and rinsed with water free of chlorine", YES),
    ("scratched", "Plastic is old or scratched", YES),
    (
        "course_held",
        "The temperature of the beer was logged and held",
        YES,
    ),
    (
        "diastatic_before",
        "A diastatic yeast was in this kit before",
        YES,
    ),
    ("generation", "How often the yeast was pitched again", &[]),
    ("purged", "Purged and filled closed", YES),
    ("light", "Stood in clear or green glass in light", YES),
    ("poured", "Poured from", &["line", "bottles"]),
    ("age", "Age of the beer, such as 30 d", &[]),
    ("extract_age", "Age of the malt extract", &[]),
    ("tried", "The remedy that was tried was for", &[]),
    ("gone", "and the fault was gone then", YES),
    ("sound", "It was drunk and nothing was amiss", YES),
];

/// Everything that the page is made of.
pub struct Desk<'d> {
    pub open: &'d OpenBatch,
    pub reckoning: &'d Reckoning,
    pub answer: &'d Result<Answer, String>,
    pub history: &'d HouseHistory,
    /// The flavour words that a finding is looked for by.
    pub find: &'d str,
    pub typed: &'d [(String, String)],
    pub faults: &'d [Fault],
    pub units: Units,
}

/// The page of a batch that cannot be reckoned.
pub fn unread(open: &OpenBatch) -> Markup {
    frame(open).unread(open.id, "it can be asked why the beer is off.")
}

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside("what went wrong, and how we know")
        .link(format!("/batch/{}", open.id), "back to the batch")
        .link(
            format!("/batch/{}/inquiry/story", open.id),
            "the story so far",
        )
        .link("/knowledge".to_owned(), "causes, findings, tests")
}

/// The page.
pub fn page(d: &Desk<'_>) -> Markup {
    frame(d.open).render(&html! {
        @if !d.faults.is_empty() {
            div.trouble role="alert" {
                p { strong { "This was not kept." } }
                ul { @for fault in d.faults { li { (fault.message) "; " (fault.help) } } }
            }
        }
        div.bench.inquiry {
            div {
                section.card { (found(d)) (find::form(d)) (add(d)) }
                section.card { (brewed(d)) (house(d.history)) (bearing(d)) }
            }
            div {
                @match d.answer {
                    Ok(answer) => (answered(d, answer)),
                    Err(why) => div.trouble role="alert" { p { (why) } },
                }
            }
        }
    })
}

fn hidden(d: &Desk<'_>, what: &str) -> Markup {
    html! {
        input type="hidden" name="on" value=(d.open.revision);
        input type="hidden" name="do" value=(what);
    }
}

fn here(d: &Desk<'_>) -> String {
    format!("/batch/{}/inquiry", d.open.id)
}

fn found(d: &Desk<'_>) -> Markup {
    let document = &d.reckoning.document;
    let k = Knowledge::built_in();
    html! {
        h2 { "What was found" }
        @if let Some(words) = many(&document.findings) { p.look { (words) } }
        @if document.findings.is_empty() { p.quiet { "Nothing yet. Say what you smell, taste or see, and what you looked for and did not find." } }
        ul.found {
            @for (n, finding) in (1_usize..).zip(&document.findings) {
                li.absent[finding.state == inquiry::State::Absent] {
                    span { (finding_words(finding)) }
                    (forget(d, "forget finding", n, &finding.key))
                }
            }
            @for (n, result) in (1_usize..).zip(&document.tests) {
                @let name = k.test(&result.test).map_or(result.test.as_str(), |at| &k.tests[at].name);
                li {
                    span { (name) ": " (if result.positive { "positive" } else { "negative" }) }
                    (forget(d, "forget test", n, name))
                }
            }
        }
    }
}

fn forget(d: &Desk<'_>, what: &str, n: usize, name: &str) -> Markup {
    html! {
        form method="post" action=(here(d)) {
            (hidden(d, what))
            input type="hidden" name="number" value=(n);
            button type="submit" aria-label=(format!("take out {name}")) { "×" }
        }
    }
}

fn typed<'d>(d: &Desk<'d>, name: &str) -> &'d str {
    d.typed
        .iter()
        .find(|(key, _)| key == name)
        .map_or("", |(_, value)| value.as_str())
}

/// A list to choose from; the first says nothing.
fn select(d: &Desk<'_>, name: &str, label: &str, choices: &[&str], now: &str) -> Markup {
    let id = format!("of-{name}");
    let now = if typed(d, name).is_empty() {
        now
    } else {
        typed(d, name)
    };
    html! {
        div.field {
            label for=(id) { (label) }
            select id=(id) name=(name) {
                option value="" { "not said" }
                @for choice in choices { option value=(choice) selected[*choice == now] { (choice) } }
            }
        }
    }
}

fn add(d: &Desk<'_>) -> Markup {
    html! {
        form method="post" action=(here(d)) {
            (hidden(d, "finding"))
            (find::what(d))
            div.field {
                label for="of-there" { "It is there" }
                select #of-there name="there" { @for word in YES { option value=(word) selected[*word == typed(d, "there")] { (word) } } }
            }
            (select(d, "strength", "How strong", &["slight", "clear", "strong"], ""))
            (select(d, "first", "First noticed in", &["in the wort", "fermenter", "package"], ""))
            div.field {
                label for="of-by" { "Who found it" }
                input #of-by name="by" maxlength="100" value=(typed(d, "by"));
            }
            details.why {
                summary { "where and when it shows" }
                @for (key, _, words) in CIRCUMSTANCES { (select(d, key, words, YES, "")) }
                (select(d, "taster", "The taster is", &["keen", "unsure", "blind to it"], ""))
            }
            button.main type="submit" { "Keep this finding" }
        }
    }
}

/// What is said before more is found than can be weighed for certain.
fn many(findings: &[inquiry::Finding]) -> Option<String> {
    const NEAR: usize = 12;
    let there = findings
        .iter()
        .filter(|f| f.state == inquiry::State::Present)
        .count();
    (there >= NEAR).then(|| {
        format!("{there} findings are there. Up to 16 can always be weighed at once; more can, where they have few causes in common.")
    })
}

/// The facts that moved the chances before anything was tasted.
fn brewed(d: &Desk<'_>) -> Markup {
    html! {
        h2 { "What was brewed" }
        @if let Ok(answer) = d.answer {
            ul.notes { @for fact in &answer.facts { li { (fact.text) } } }
        }
    }
}

/// What the other batches of the house say.
pub fn house(history: &HouseHistory) -> Markup {
    html! {
        @if !history.weighed.is_empty() {
            ul.notes { @for weighed in &history.weighed { li { (weighed.words) "." } } }
        }
        @if !history.spoke.is_empty() {
            details.why {
                summary { "what the other batches of this house say: " (history.spoke_in_all) " of " (history.looked_back_on) }
                ul.notes { @for spoke in &history.spoke { li { a href=(format!("/batch/{}/inquiry", spoke.id)) { (spoke.words) } } } }
                @if let Some(more) = history.unlisted() { p.quiet.small { (more) } }
                p.quiet.small {
                    "All batches that are kept were looked at; those speak in which something was found, tested or called sound. "
                    "A batch speaks of the water where that is the same, of the fermentation where the yeast is, of the rest where the kit is. "
                    "What the tables say counts like ten batches; what a batch's own facts made likely is taken out first (judgement)."
                }
            }
        }
    }
}

fn bearing(d: &Desk<'_>) -> Markup {
    let written = batch::edit::written_values(&d.open.text).unwrap_or_default();
    let now = |key: &str| {
        written
            .get(&format!("inquiry.{key}"))
            .cloned()
            .unwrap_or_default()
    };
    let k = Knowledge::built_in();
    html! {
        details.why {
            summary { "what else bears on it, and what was tried" }
            form method="post" action=(here(d)) {
                (hidden(d, "bearing"))
                @for (key, words, choices) in BEARING {
                    @if key == "tried" {
                        div.field {
                            label for="of-tried" { (words) }
                            select #of-tried name="tried" {
                                option value="" { "not said" }
                                @for cause in &k.causes { option value=(cause.key) selected[cause.key == now("tried")] { (cause.name) } }
                            }
                        }
                    } @else if choices.is_empty() {
                        @let id = format!("of-{key}");
                        div.field {
                            label for=(id) { (words) }
                            input type="text" id=(id) name=(key) value=(if typed(d, key).is_empty() { now(key) } else { typed(d, key).to_owned() });
                        }
                    } @else { (select(d, key, words, choices, &now(key))) }
                }
                button type="submit" { "Keep" }
            }
        }
    }
}

fn answered(d: &Desk<'_>, answer: &Answer) -> Markup {
    html! {
        section.card {
            h2 { "What it could be" }
            @for note in &answer.notes { p.small { (note) "." } }
            @if answer.fault {
                @for cause in answer.causes.iter().take(CAUSES) { (could_be(cause)) }
                p.quiet.small {
                    "The bar is the chance that it made some of what was found; the mark on it is where it stood before, by what was brewed alone. Chances are judgement. "
                    "That none of the listed causes is there: " (percent(answer.none)) "."
                }
            } @else { p { "Nothing that was found asks for a cause." } }
        }
        @if answer.fault {
            (tests(d, answer))
            (remedies(d, answer))
        }
    }
}

fn could_be(c: &RankedCause) -> Markup {
    let (speaks_for, against) = (weighty(&c.reasons, true), weighty(&c.reasons, false));
    html! {
        div.cause {
            h3 { a href=(format!("/knowledge/cause/{}", c.cause.key)) { (c.cause.name) } }
            (bar(c.made, c.before))
            p.chance { (percent(c.made)) span.quiet.small { " before: " (percent(c.before)) } }
            p.said {
                @if !speaks_for.is_empty() { b.for { "for: " } (speaks_for.join(" · ")) " " }
                @if !against.is_empty() { b.against { "against: " } (against.join(" · ")) }
            }
        }
    }
}

/// A chance, and a mark where it stood before.
fn bar(made: f64, before: f64) -> Markup {
    let (made, before) = (of_a_hundred(made), of_a_hundred(before));
    html! {
        svg.chance-bar viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true" {
            rect.all x="0" y="1" width="100" height="4" {}
            rect.part x="0" y="1" width=(made) height="4" {}
            line.mark x1=(before) x2=(before) y1="0" y2="6" {}
        }
    }
}

fn tests(d: &Desk<'_>, answer: &Answer) -> Markup {
    html! {
        section.card {
            h2 { "What would settle it" }
            @if answer.tests.is_empty() { p { "No test of the list would tell much now." } }
            @let shown = || answer.tests.iter().take(TESTS);
            @for each in cautions_of(shown().map(|t| &t.test.cautions)) { (caution(each)) }
            @for ranked in shown() { (test(d, ranked)) }
        }
    }
}

fn test(d: &Desk<'_>, ranked: &RankedTest) -> Markup {
    let test = ranked.test;
    let [so, not] = if_so_if_not(ranked);
    html! {
        div.test {
            h3 { a href=(format!("/knowledge/test/{}", test.key)) { (test.name) } }
            p.quiet.small { (takes(test)) "; costs " (costs(test)) "; positive in " (percent(ranked.positive)) }
            p { (test.how) }
            dl {
                dt { "If so: " (test.if_positive) } dd { (so) }
                dt { "If not: " (test.if_negative) } dd { (not) }
            }
            @if let Some(split) = split_words(test, d.units) { p.small { (split) } (plan_halves(d, test)) }
            div.row {
                @for (word, label) in [("positive", "It is so"), ("negative", "It is not so")] {
                    form method="post" action=(here(d)) {
                        (hidden(d, "test"))
                        input type="hidden" name="what" value=(test.key);
                        button type="submit" name="result" value=(word) aria-label=(format!("{label}: {}", test.name)) { (label) }
                    }
                }
            }
        }
    }
}

/// To the plan of the tasting that a split batch takes, with what is known of it.
fn plan_halves(d: &Desk<'_>, test: &Test) -> Markup {
    let Ok(Some(split)) = test.split() else {
        return html! {};
    };
    let tastings = split.tastings.stable.unwrap_or(split.tastings.first);
    let fields = [
        ("protocol", split.protocol.word().to_owned()),
        ("tastings", tastings.to_string()),
        ("name", format!("The halves: {}", test.name)),
        ("reference", "the other half".to_owned()),
        ("about", "the note that was found".to_owned()),
    ];
    html! {
        form method="get" action=(format!("/batch/{}/tasting", d.open.id)) {
            @for (name, value) in fields { input type="hidden" name=(name) value=(value); }
            button type="submit" aria-label=(format!("Plan the tasting of the halves: {}", test.name)) { "Plan the tasting of the halves" }
        }
    }
}

fn remedies(d: &Desk<'_>, answer: &Answer) -> Markup {
    let worth: Vec<&RankedCause> = answer
        .causes
        .iter()
        .take(CAUSES)
        .filter(|c| c.worth_remedy)
        .collect();
    html! {
        @if !worth.is_empty() {
            section.card {
                h2 { "Or simply change it" }
                p.quiet.small { "What costs less than leaving it in the next batch, at this chance (judgement)." }
                @for each in cautions_of(worth.iter().map(|c| &c.cause.cautions)) { (caution(each)) }
                @for c in worth { (remedy(d, c)) }
            }
        }
    }
}

fn remedy(d: &Desk<'_>, c: &RankedCause) -> Markup {
    let next = next_batch(&d.open.text, d.reckoning, &c.cause.key, d.units);
    html! {
        div.moved {
            p { strong { (c.cause.name) ": " } (c.cause.remedy) }
            @if let Some(next) = &next {
                p { "In the next batch: " strong { (next.changed.join("; ")) } ". Its chance there goes from " (percent(next.before)) " to " (percent(next.after)) "." }
                form method="post" action=(format!("{}/next", here(d))) {
                    input type="hidden" name="cause" value=(c.cause.key);
                    button.main type="submit" aria-label=(format!("Put it into the next batch: {}", c.cause.name)) { "Put it into the next batch" }
                }
            }
        }
    }
}
