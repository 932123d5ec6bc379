//! The frame of every page.

use app::LibraryKind;
use maud::{DOCTYPE, Markup, html};
use store::DocumentId;

use crate::assets::VERSION;
use crate::people::visitor;
use crate::views::library;

/// A refusal has its fragment and answers with success; an answer that says it
/// failed is none, and leaves the page as it is.
const HTMX: &str = r#"{"noSwap":[204,304,"4xx","5xx"]}"#;

/// A page to be rendered.
pub struct Page<'p> {
    title: &'p str,
    quiet: Option<String>,
    links: Vec<(String, &'static str)>,
    at_the_door: bool,
    looks_again: bool,
}

impl<'p> Page<'p> {
    pub fn new(title: &'p str) -> Self {
        Self {
            title,
            quiet: None,
            links: Vec::new(),
            at_the_door: false,
            looks_again: false,
        }
    }

    /// A few quiet words beside the title.
    pub fn beside(mut self, words: impl Into<String>) -> Self {
        self.quiet = Some(words.into());
        self
    }

    /// A link of this page, in a row of their own under the title.
    pub fn link(mut self, href: String, words: &'static str) -> Self {
        self.links.push((href, words));
        self
    }

    /// The link to who may use a document, where several people are.
    pub fn of_people(self, document: DocumentId) -> Self {
        match visitor::here() {
            Some(_) => self.link(format!("/share/{document}"), "who may use it"),
            None => self,
        }
    }

    /// A page for whoever is not in: it leads nowhere else.
    pub fn at_the_door(mut self) -> Self {
        self.at_the_door = true;
        self
    }

    /// Without scripts it is loaded anew every two seconds: what it waits for comes by itself.
    pub fn looks_again(mut self) -> Self {
        self.looks_again = true;
        self
    }

    /// The page of a batch that cannot be reckoned; `then` says what could be done with
    /// one that can.
    pub fn unread(&self, batch: DocumentId, then: &str) -> Markup {
        self.render(&html! {
            div.trouble role="alert" {
                p { strong { "This document cannot be reckoned as it is. " } "Mend it first; then " (then) }
                p { a href=(format!("/batch/{batch}")) { "Back to the batch" } }
            }
        })
    }

    pub fn render(&self, body: &Markup) -> Markup {
        let file = |name: &str| format!("/assets/{name}?v={VERSION}");
        html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta name="htmx-config" content=(HTMX);
                    @if self.looks_again { noscript { meta http-equiv="refresh" content="2"; } }
                    title { (self.title) " · gylewright" }
                    link rel="icon" href=(file("icon.svg")) type="image/svg+xml";
                    link rel="stylesheet" href=(file("gyle.css"));
                    link rel="stylesheet" href=(file("chart.css"));
                    script src=(file("htmx.js")) defer {}
                    script src=(file("gyle.js")) type="module" {}
                    script src=(file("chart.js")) type="module" {}
                }
                body {
                    a.skip href="#main" { "Skip to the content" }
                    header.top {
                        h1 #title { (self.title) }
                        @if let Some(quiet) = &self.quiet { span #beside .quiet.small { (quiet) } }
                        @if !self.at_the_door { (pages()) }
                        @if !self.links.is_empty() {
                            nav.own aria-label="Of this page" {
                                @for (href, words) in &self.links { a href=(href) { (words) } }
                            }
                        }
                    }
                    main #main { (body) }
                    p #say .hidden role="status" aria-live="polite" {}
                    footer {
                        p {
                            "Reckonings are estimates with their sources beside them; a reading decides. "
                            "Where health, pressure or the law is concerned, local codes and licensed practice decide."
                        }
                    }
                }
            }
        }
    }
}

/// Where one can go from everywhere; on a shared server also who one is, and for which group.
fn pages() -> Markup {
    html! {
                        nav.all aria-label="Pages" {
                            @for kind in LibraryKind::ALL { a href=(library::shelf(kind)) { (library::title(kind)) } }
                            a href="/instruments" { "instruments" }
                            a href="/measure" { "measure" }
                            a href="/cleaning" { "cleaning" }
                            a.home href="/" { "gylewright" }
                        }
        @if let Some(visitor) = visitor::here() {
            nav.who aria-label="You and your group" {
                a href="/group" { "group " (visitor.who.group_name) }
                a href="/you" { (visitor.who.shown) }
            }
        }
    }
}
