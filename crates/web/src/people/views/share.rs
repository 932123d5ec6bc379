//! Whom a document is shared with.

use maud::{Markup, html};
use store::{DocumentId, GroupOf, Kind, Role, SharedWith, SignedIn};

use super::wrong;
use crate::page::Page;
use crate::views::fields;

/// What the page shows.
pub struct Sharing<'s> {
    pub who: &'s SignedIn,
    pub id: DocumentId,
    pub kind: Kind,
    pub title: &'s str,
    pub role: Role,
    /// Whether the group that is looked at owns it.
    pub own: bool,
    pub shares: &'s [SharedWith],
    /// Groups of the person.
    pub groups: &'s [GroupOf],
    pub wrong: Option<&'s str>,
}

pub fn page(s: &Sharing<'_>) -> Markup {
    let page = Page::new(s.title).beside("who may use it");
    let page = match home(s.kind) {
        Some(home) => page.link(format!("{home}/{}", s.id), "back to it"),
        None => page,
    };
    page.render(&html! {
        (wrong(s.wrong))
        div.choices.people {
            section.card aria-labelledby="whose-title" {
                h2 #whose-title { "Whose it is" }
                @if s.own {
                    p { "It belongs to " strong { (s.who.group_name) } ", and everybody there can see it." }
                } @else {
                    p { "Another group shares it with " strong { (s.who.group_name) } ", which "
                        @if s.role >= Role::Brew { "may change it." } @else { "may look at it." } }
                }
                @for share in s.shares { (ends(s, share)) }
            }
            @if s.own && s.role == Role::Keep { (with(s)) }
            @if s.own && s.role < Role::Keep { p { "A keeper of the group can share it with others." } }
        }
    })
}

fn ends(s: &Sharing<'_>, share: &SharedWith) -> Markup {
    html! {
        div.entry {
            p { strong { (share.name) } @if share.may == Role::Brew { " may look at it and change it." } @else { " may look at it." } }
            @if s.role == Role::Keep {
                form method="post" action=(format!("/share/{}/end", s.id)) {
                    input type="hidden" name="group" value=(share.group);
                    button type="submit" aria-label=(format!("end the share with {}", share.name)) { "End it" }
                }
            }
        }
    }
}

fn with(s: &Sharing<'_>) -> Markup {
    let others: Vec<&GroupOf> = s.groups.iter().filter(|g| g.id != s.who.group).collect();
    html! {
        form.card method="post" action=(format!("/share/{}", s.id)) aria-labelledby="with-title" {
            h2 #with-title { "Share it" }
            div.field {
                label for="group" { "With one of your groups" }
                select #group name="group" {
                    option value="" { "another one, by its code" }
                    @for group in others { option value=(group.id) { (group.name) } }
                }
            }
            (fields::text("code", "Or by the code of a group", "", "", None))
            div.field {
                label for="may" { "Its members" }
                select #may name="may" {
                    option value="read" { "may look at it" }
                    option value="brew" { "may change it too" }
                }
            }
            p { button.main type="submit" { "Share" } }
            p.small.quiet { "The history and the log of a batch go with it. A tasting, a water or a brewhouse is a document of its own: share that too where it is wanted." }
        }
    }
}

fn home(kind: Kind) -> Option<&'static str> {
    match kind {
        Kind::Batch => Some("/batch"),
        Kind::Water => Some("/waters"),
        Kind::Brewhouse => Some("/brewhouses"),
        Kind::Stores => Some("/stores"),
        Kind::Tasting => Some("/tasting"),
        _ => None,
    }
}
