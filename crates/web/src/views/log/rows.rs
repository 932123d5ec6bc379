//! The readings, and what became of the rows that brought them.

use app::LoggedChannel;
use batch::log::{Corrected, FlagKind, LogReading};
use maud::{Markup, html};
use store::{RemarkKind, Timestamp};

use super::Desk;
use crate::views::history::time;

/// Readings on a page.
const A_PAGE: usize = 100;

/// A line of the table.
struct Row<'r> {
    channel: &'r LoggedChannel,
    reading: &'r LogReading,
    right: Option<&'r Corrected>,
    odd: Vec<String>,
}

/// The readings that the filter leaves, the newest first.
pub fn readings(desk: &Desk<'_>) -> Markup {
    let all = chosen(desk);
    let page: usize = desk.asked.filter("page").parse().unwrap_or(0);
    let pages = all.len().div_ceil(A_PAGE);
    let shown = all.iter().skip(page.saturating_mul(A_PAGE)).take(A_PAGE);
    let known = desk.channels.iter().any(|c| !c.corrected.is_empty());
    let thinned = desk
        .channels
        .iter()
        .any(|c| c.count > c.readings.len() as u64);
    html! {
        section.card aria-labelledby="readings-title" {
            h2 #readings-title { "Readings" }
            (filter(desk))
            @if thinned { p.small { "Of a channel with very many readings every so many is shown; all of them are kept, and the programs' face has them all." } }
            @let notes: Vec<&String> = desk.channels.iter().flat_map(|c| &c.notes).collect();
            @if !notes.is_empty() { ul.notes { @for note in notes { li { span.sign.look { b { "look" } } " " (note) } } } }
            p.small { (all.len()) @if all.len() == 1 { " reading" } @else { " readings" } @if pages > 1 { ", page " (page + 1) " of " (pages) } }
            div.wide.tall tabindex="0" role="region" aria-label="Table of readings" {
                table.log {
                    thead { tr { th scope="col" { "time (UTC)" } th scope="col" { "instrument" } th scope="col" { "reading" } @if known { th scope="col" { "set right" } } th scope="col" { "as it came" } th scope="col" { "what is odd" } } }
                    tbody {
                        @for row in shown {
                            tr.odd[!row.odd.is_empty()] {
                                td { (moment(row.reading.at_ms)) }
                                td { (row.channel.instrument) }
                                th scope="row" { (row.reading.show(desk.units)) }
                                @if known { td { @if let Some(right) = row.right { (set_right(desk, row, right)) } @else { "–" } } }
                                td.raw { (shortened(&row.reading.raw)) }
                                td { @if row.odd.is_empty() { "–" } @else { (row.odd.join("; ")) } }
                            }
                        }
                    }
                }
            }
            @if pages > 1 {
                nav.save aria-label="Pages of readings" {
                    @if page > 0 { a href=(turned(desk, page - 1)) { "newer" } }
                    @if page + 1 < pages { a href=(turned(desk, page + 1)) { "older" } }
                }
            }
        }
    }
}

/// A reading set right, with how well it is known and what was done.
fn set_right(desk: &Desk<'_>, row: &Row<'_>, right: &Corrected) -> Markup {
    html! {
        (row.channel.what.show_measured(right.value, right.sd, desk.units))
        @if !right.done.is_empty() { br; small { (right.done.join(", ")) } }
    }
}

fn turned(desk: &Desk<'_>, page: usize) -> String {
    let channel = desk.asked.filter("channel");
    let only = desk.asked.filter("only");
    format!(
        "{}?channel={channel}&only={only}&page={page}#readings-title",
        desk.home()
    )
}

fn chosen<'d>(desk: &'d Desk<'_>) -> Vec<Row<'d>> {
    let wanted: Option<usize> = desk.asked.filter("channel").parse().ok();
    let only_odd = desk.asked.filter("only") == "odd";
    let channels = desk.channels.iter().enumerate();
    let mut rows: Vec<Row<'d>> = channels
        .filter(|(n, _)| wanted.is_none_or(|wanted| wanted == *n))
        .flat_map(|(_, channel)| of_channel(channel))
        .filter(|row| !only_odd || !row.odd.is_empty())
        .collect();
    rows.sort_by_key(|row| std::cmp::Reverse(row.reading.at_ms));
    rows
}

fn of_channel(channel: &LoggedChannel) -> impl Iterator<Item = Row<'_>> {
    let mut flags = channel.flags.iter().peekable();
    channel
        .readings
        .iter()
        .enumerate()
        .map(move |(n, reading)| {
            let mut odd = Vec::new();
            while let Some(flag) = flags.next_if(|flag| flag.place <= n) {
                odd.push(match flag.kind {
                    FlagKind::Spike(_) => "far from its neighbours: an outlier?".to_owned(),
                    other => other.words(),
                });
            }
            Row {
                channel,
                reading,
                right: channel.corrected.get(n).and_then(Option::as_ref),
                odd,
            }
        })
}

fn filter(desk: &Desk<'_>) -> Markup {
    let channel = desk.asked.filter("channel");
    html! {
        form.filter.no-print method="get" action=(desk.home()) {
            div.field {
                label for="channel" { "Show" }
                select #channel name="channel" {
                    option value="" { "all channels" }
                    @for (n, c) in desk.channels.iter().enumerate() {
                        option value=(n) selected[channel == n.to_string()] { (c.what.word()) ", " (c.instrument) " (" (c.count) ")" }
                    }
                }
            }
            div.field {
                label for="only" { "Which" }
                select #only name="only" {
                    option value="" { "all readings" }
                    option value="odd" selected[desk.asked.filter("only") == "odd"] { "those that look odd" }
                }
            }
            p { button type="submit" { "Show them" } }
        }
    }
}

/// What came in one go, and the rows that gave no reading or have an odd clock.
pub fn came(desk: &Desk<'_>) -> Markup {
    let arrivals = desk.arrivals;
    html! {
        @if !arrivals.deliveries.is_empty() {
            section.card aria-labelledby="came" {
                h2 #came { "What came, and what became of it" }
                div.wide tabindex="0" role="region" aria-label="Table of what came" {
                    table.log {
                        thead { tr { th scope="col" { "came (UTC)" } th scope="col" { "from" } th scope="col" { "rows" } th scope="col" { "kept" } th scope="col" { "there before" } th scope="col" { "contradicted" } th scope="col" { "refused" } } }
                        tbody {
                            @for d in &arrivals.deliveries {
                                tr {
                                    td { (time(&d.came_at.to_string())) }
                                    th scope="row" { (d.source) }
                                    td { (d.rows) } td { (d.added) } td { (d.already) } td { (d.contradicted) } td { (d.refused) }
                                }
                            }
                        }
                    }
                }
                @if arrivals.remarks.is_empty() { p.small { "Every row was read." } }
                @else { (remarks(desk)) }
            }
        }
    }
}

fn remarks(desk: &Desk<'_>) -> Markup {
    let of = |id: i64| desk.arrivals.deliveries.iter().find(|d| d.id == id);
    html! {
        h3 { "Rows to look at" }
        p.small { "Nothing is thrown away: a row that gave no reading is kept as it came." }
        div.wide tabindex="0" role="region" aria-label="Table of rows to look at" {
            table.log {
                thead { tr { th scope="col" { "from" } th scope="col" { "row" } th scope="col" { "fate" } th scope="col" { "why" } th scope="col" { "as it came" } } }
                tbody {
                    @for remark in &desk.arrivals.remarks {
                        tr {
                            td { (of(remark.delivery).map_or("", |d| d.source.as_str())) }
                            td { (remark.line) }
                            th scope="row" { (fate(remark.kind)) }
                            td.why { (remark.why) }
                            td.raw { (shortened(&remark.raw)) }
                        }
                    }
                }
            }
        }
    }
}

fn fate(kind: RemarkKind) -> &'static str {
    match kind {
        RemarkKind::Refused => "could not be read",
        RemarkKind::Contradicted => "not kept: contradicts",
        RemarkKind::Clock => "odd clock",
    }
}

fn moment(at_ms: i64) -> String {
    Timestamp::from_ms(at_ms).map_or_else(|_| String::new(), |at| time(&at.to_string()))
}

fn shortened(raw: &str) -> String {
    let mut letters = raw.chars();
    let head: String = letters.by_ref().take(80).collect();
    if letters.next().is_some() {
        head + " …"
    } else {
        head
    }
}
