//! The page of a person.

use maud::{Markup, html};
use store::{OpenSession, Role, SignedIn, TokenRow};

use super::super::account::Told;
use super::{roles, secret, wrong};
use crate::page::Page;
use crate::views::fields;
use crate::views::history::time;

pub fn page(
    who: &SignedIn,
    sessions: &[OpenSession],
    tokens: &[TokenRow],
    told: &Told<'_>,
) -> Markup {
    let of = |form: &str| {
        let wrong = told.wrong.as_ref().filter(|(at, _)| *at == form);
        wrong.map(|(_, why)| why.as_str())
    };
    Page::new("You")
        .beside(format!("{}, signed in as {}", who.shown, who.name))
        .render(&html! {
            @if let Some(token) = told.token { (new_token(token)) }
            div.choices.people {
                (of_sessions(who, sessions))
                (password(of("password")))
                (of_tokens(who, tokens, of("token")))
                (own_data())
                (closing(of("close")))
            }
        })
}

fn of_sessions(who: &SignedIn, sessions: &[OpenSession]) -> Markup {
    html! {
        section.card aria-labelledby="sessions-title" {
            h2 #sessions-title { "Where you are signed in" }
            ul.devices {
                @for session in sessions {
                    li {
                        dl.figures {
                            div { dt { "signed in (UTC)" } dd { (time(&session.made_at.to_string())) @if Some(session.id) == who.session { ", here" } } }
                            div { dt { "last used (UTC)" } dd { (time(&session.seen_at.to_string())) } }
                            div { dt { "ends (UTC)" } dd { (time(&session.expires_at.to_string())) } }
                        }
                    }
                }
            }
            div.row {
                form method="post" action="/you/sign-out" { button.main type="submit" { "Sign out" } }
                form method="post" action="/you/sign-out-everywhere" { button type="submit" { "Sign out everywhere" } }
            }
            p.small.quiet { "A session that nothing is asked of for a week is over." }
        }
    }
}

fn password(why: Option<&str>) -> Markup {
    html! {
        form.card method="post" action="/you/password" aria-labelledby="password-title" {
            h2 #password-title { "Another password" }
            (wrong(why))
            (secret("old", "old", "Password until now", "current-password"))
            (secret("new", "new", "New password", "new-password"))
            (secret("again", "again", "The same again", "new-password"))
            p { button type="submit" { "Change it" } }
            p.small.quiet { "All your sessions end; sign in with the new one." }
        }
    }
}

fn new_token(token: &str) -> Markup {
    html! {
        section.card.token role="status" aria-labelledby="token-title" {
            h2 #token-title { "The new token" }
            p { "It is shown this once. Copy it to where it is used; a lost one is revoked and made anew." }
            p { code.secret { (token) } }
            p.small { "A program sends it with each request to " code { "/api" } " as " code { "Authorization: Bearer" } " and the token." }
        }
    }
}

fn of_tokens(who: &SignedIn, tokens: &[TokenRow], why: Option<&str>) -> Markup {
    html! {
        section.card aria-labelledby="tokens-title" {
            h2 #tokens-title { "Tokens for programs" }
            (wrong(why))
            @if tokens.is_empty() { p { "No program acts for you." } }
            ul.devices {
                @for token in tokens {
                    li.gone[token.revoked_at.is_some()] {
                        h3 { (token.name) }
                        dl.figures {
                            div { dt { "in" } dd { (token.group_name) } }
                            div { dt { "at most" } dd { (token.role) } }
                            div { dt { "made (UTC)" } dd { (time(&token.made_at.to_string())) } }
                            @if let Some(at) = token.revoked_at {
                                div { dt { "revoked (UTC)" } dd { (time(&at.to_string())) } }
                            }
                        }
                        @if token.revoked_at.is_none() {
                            form method="post" action=(format!("/you/tokens/{}/revoke", token.id)) {
                                button type="submit" aria-label=(format!("revoke {}", token.name)) { "Revoke" }
                            }
                        }
                    }
                }
            }
            form method="post" action="/you/tokens" {
                (fields::text("name", "Name of the program", "", "", None))
                div.field {
                    label for="token-role" { "In " (who.group_name) ", it" }
                    (roles("token-role", who.role, Role::Read))
                }
                p { button type="submit" { "Make its token" } }
            }
            p.small.quiet { "A sensor needs less: it has a token of its own on the page " a href="/devices" { "devices" } "." }
        }
    }
}

fn own_data() -> Markup {
    html! {
        section.card aria-labelledby="data-title" {
            h2 #data-title { "What is kept of you" }
            p { a.button href="/you/data.json" { "Your account and what you did (JSON)" } }
            p { a.button href="/everything.tar" { "Everything that this group owns, as plain files" } }
            p.small.quiet { "For another group, look at that one first." }
        }
    }
}

fn closing(why: Option<&str>) -> Markup {
    html! {
        form.card method="post" action="/you/close" aria-labelledby="close-title" {
            h2 #close-title { "Close the account" }
            (wrong(why))
            p { "Your own group and every group that nobody else is in go, with all their batches, readings and tastings. "
                "What you wrote in groups of others stays there, under no name. It cannot be brought back: take your data first." }
            (secret("close-password", "password", "Password", "current-password"))
            p { label { input type="checkbox" name="sure" value="yes"; " I know what goes." } }
            p { button type="submit" { "Close it for good" } }
        }
    }
}
