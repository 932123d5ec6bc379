//! How far a piece of work is.

use app::Standing;
use maud::{Markup, html};
use store::{Job, JobState};

/// The card that stands where the answer will be; `here` is the address of the page. It
/// asks for itself again until the work has ended.
pub fn card(job: &Job, standing: &Standing, here: &str) -> Markup {
    let at = format!("/job/{}", job.id);
    let open = job.state.is_open();
    html! {
        section.card.keeping.job #job aria-labelledby="job-title"
            hx-get=[open.then_some(&at)] hx-trigger=[open.then_some("every 500ms")] hx-swap=[open.then_some("outerMorph")] {
            @match job.state {
                JobState::Waiting | JobState::Running | JobState::Done => {
                    h3 #job-title { "Working on it" }
                    p { (standing.does) "." }
                    @match standing.per_cent {
                        Some(per_cent) => p { progress aria-labelledby="job-title" value=(per_cent) max="100" { } },
                        None => p { progress aria-labelledby="job-title" { } },
                    }
                    p { (standing.words) }
                    form.no-print method="post" action=(format!("{at}/cancel"))
                        hx-post=(format!("{at}/cancel")) hx-target="#job" hx-swap="outerMorph" {
                        input type="hidden" name="back" value=(here);
                        button type="submit" disabled[job.cancel_wanted] { "Cancel" }
                    }
                    p.small.quiet { "You may leave this page: the work goes on, and the same address shows what it found." }
                }
                JobState::Failed => {
                    div.trouble role="alert" {
                        p { strong #job-title { "It broke off. " } (job.error.as_deref().unwrap_or_default()) "." }
                    }
                    (again(&at, here, "Try again"))
                }
                JobState::Cancelled => {
                    h3 #job-title { "It was cancelled" }
                    p { "Nothing was kept of it." }
                    (again(&at, here, "Begin again"))
                }
            }
        }
    }
}

fn again(at: &str, here: &str, words: &str) -> Markup {
    html! {
        form.no-print method="post" action=(format!("{at}/again")) {
            input type="hidden" name="back" value=(here);
            button.main type="submit" { (words) }
        }
    }
}

/// Work that has ended, looked at by its own address.
pub fn ended(job: &Job, card: &Markup) -> Markup {
    html! {
        @if job.state == JobState::Done {
            section.card {
                h3 { "It is done" }
                p { "Open the page that asked for it: its answer is there." }
                @if let Some(document) = job.document {
                    p { a href=(format!("/batch/{document}")) { "To the batch" } }
                }
            }
        } @else { (card) }
    }
}
