//! The pages before it is known who comes.

use app::people::LEAST_LETTERS;
use maud::{Markup, html};
use store::{Invited, SignedIn};

use super::{role_words, secret, wrong};
use crate::page::Page;

/// What was typed for a new account, but the password.
#[derive(Debug, Default)]
pub struct NewPerson<'n> {
    pub name: &'n str,
    pub shown: &'n str,
}

pub fn sign_in(name: &str, to: &str, why: Option<&str>) -> Markup {
    Page::new("Sign in").at_the_door().render(&html! {
        form.card.door method="post" action="/sign-in" {
            h2 { "Sign in" }
            (wrong(why))
            div.field {
                label for="name" { "Name" }
                input #name name="name" type="text" value=(name) autocomplete="username" autocapitalize="none" spellcheck="false" required;
            }
            (secret("password", "password", "Password", "current-password"))
            input type="hidden" name="to" value=(to);
            p { button.main type="submit" { "Sign in" } }
            p.small.quiet { "There is no account without an invitation: ask a keeper of your group. A keeper of it can also invite you anew where a password is lost." }
        }
    })
}

pub fn invited(
    token: &str,
    invited: &Invited,
    who: Option<&SignedIn>,
    typed: &NewPerson<'_>,
    why: Option<&str>,
) -> Markup {
    let action = format!("/invitation/{token}");
    Page::new("An invitation").at_the_door().render(&html! {
        form.card.door method="post" action=(action) {
            h2 { "Join " (invited.group_name) }
            p { "You are invited as one who " (role_words(invited.role)) "." }
            @if let Some(who) = who {
                p { "You are signed in as " strong { (who.shown) } " and join with that account." }
                p { button.main type="submit" { "Join" } }
            } @else {
                (wrong(why))
                div.field {
                    label for="name" { "Name to sign in with" }
                    input #name name="name" type="text" value=(typed.name) autocomplete="username" autocapitalize="none" spellcheck="false" required aria-describedby="name-hint";
                    p.hint #name-hint { "Small letters, figures, - _ or . It stands as the author beside what you save." }
                }
                div.field {
                    label for="shown" { "How people call you" }
                    input #shown name="shown" type="text" value=(typed.shown) autocomplete="nickname";
                }
                (secret("password", "password", "Password", "new-password"))
                (secret("again", "again", "The same again", "new-password"))
                p.small.quiet { "At least " (LEAST_LETTERS) " letters, of any kind. Four words that do not belong together are good." }
                p { button.main type="submit" { "Make the account" } }
                p.small { "You have an account here? " a href=(format!("/sign-in?to={action}")) { "Sign in first" } ", then join with it." }
            }
        }
    })
}
