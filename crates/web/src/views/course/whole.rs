//! The whole posterior of a fermentation, with what tells whether it can be trusted.

use app::{OpenBatch, Standing};
use ferment::watch::{Likely, Posterior};
use maud::{Markup, html};
use quantity::{Quantity, Units, show};
use store::Job;

use crate::page::Page;
use crate::views::bench::common::{row, table_of_words};
use crate::views::jobs::card;

fn frame(open: &OpenBatch) -> Page<'_> {
    Page::new(&open.name)
        .beside(format!("revision {}", open.revision))
        .link(format!("/batch/{}/course", open.id), "its fermentation")
}

fn hello() -> Markup {
    html! {
        div.hello {
            h2 { "The whole posterior" }
            p { "The quick answer takes the neighbourhood of the likeliest curve. Here every curve that the readings allow is sampled, which takes some seconds." }
        }
    }
}

/// While it is still sampled.
pub fn working(open: &OpenBatch, job: &Job, standing: &Standing) -> Markup {
    let here = format!("/batch/{}/course/whole", open.id);
    let page = if job.state.is_open() {
        frame(open).looks_again()
    } else {
        frame(open)
    };
    page.render(&html! {
        (hello())
        section.bench.brew-day aria-label="the whole posterior" { div { (card(job, standing, &here)) } }
    })
}

fn likely<Q: Quantity>(l: &Likely<Q>, units: Units) -> String {
    let [low, middle, high] = [l.low, l.middle, l.high].map(|x| show(x, units));
    format!("{middle} ({low} to {high})")
}

/// What was found.
pub fn found(open: &OpenBatch, posterior: &Posterior, units: Units) -> Markup {
    let end = [
        row("gravity at the end", likely(&posterior.end, units)),
        row("gravity by the curve now", likely(&posterior.now, units)),
    ];
    let nine = posterior.nine_tenths.as_ref();
    let nine = nine.map(|at| row("nine tenths of the fall are done", likely(at, units)));
    let rows: Vec<_> = end.into_iter().chain(nine).collect();
    let trust = [
        row(
            "divergences; none is right",
            posterior.divergences.to_string(),
        ),
        row(
            "R-hat at most; below 1.01 the chains agree",
            format!("{:.3}", posterior.r_hat),
        ),
        row(
            "worth independent draws",
            format!("{:.0}", posterior.effective),
        ),
        row("gradients it took", posterior.gradients.to_string()),
    ];
    frame(open).render(&html! {
        (hello())
        section.bench.brew-day aria-label="the whole posterior" {
            div data-part="whole" {
                section.card { h3 { "What it comes to" } (table_of_words("nine times in ten", &rows)) }
                section.card { h3 { "How far to trust it" } (table_of_words("of the sampling", &trust)) }
            }
        }
    })
}

/// Why there is none.
pub fn refused(open: &OpenBatch, told: &str) -> Markup {
    frame(open).render(&html! {
        div.trouble role="alert" { p { strong { "There is none. " } (told) "." } }
    })
}
