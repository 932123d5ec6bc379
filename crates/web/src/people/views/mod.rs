//! The pages: ready text in its place.

pub mod account;
pub mod door;
pub mod group;
pub mod share;

use maud::{Markup, html};
use store::Role;

/// What a role may, in words.
pub const fn role_words(role: Role) -> &'static str {
    match role {
        Role::Read => "may look",
        Role::Brew => "may brew: make and change documents",
        Role::Keep => "keeps the group: invites, shares, reads the audit trail",
    }
}

/// The same, where there is little room.
const fn short_words(role: Role) -> &'static str {
    match role {
        Role::Read => "may look",
        Role::Brew => "may brew",
        Role::Keep => "keeps the group",
    }
}

/// A choice of roles.
fn roles(id: &str, upto: Role, chosen: Role) -> Markup {
    html! {
        select id=(id) name="role" {
            @for role in Role::ALL.into_iter().filter(|r| *r <= upto) {
                option value=(role.word()) selected[role == chosen] { (short_words(role)) }
            }
        }
    }
}

/// A line for a secret that is typed.
fn secret(id: &str, name: &str, label: &str, complete: &str) -> Markup {
    html! {
        div.field {
            label for=(id) { (label) }
            input id=(id) name=(name) type="password" autocomplete=(complete) required;
        }
    }
}

/// What is wrong in a form.
fn wrong(why: Option<&str>) -> Markup {
    html! { @if let Some(why) = why { p.trouble role="alert" { (why) } } }
}
