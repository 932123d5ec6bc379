//! The page of a group.

use app::StudyState;
use maud::{Markup, html};
use store::{AuditLine, GroupOf, Invitation, Member, Role, SharedDocument, SignedIn};

use super::super::group::Told;
use super::{role_words, roles, wrong};
use crate::page::Page;
use crate::views::fields;
use crate::views::history::time;
use crate::views::study;

/// What the page shows.
pub struct Group<'g> {
    pub who: &'g SignedIn,
    pub groups: &'g [GroupOf],
    pub members: &'g [Member],
    pub invitations: &'g [Invitation],
    pub shared: &'g [SharedDocument],
    pub study: &'g StudyState,
    pub told: &'g Told<'g>,
}

pub fn page(g: &Group<'_>) -> Markup {
    let keeps = g.who.role == Role::Keep;
    let page = Page::new(&g.who.group_name).beside(format!("you: {}", role_words(g.who.role)));
    let page = if keeps {
        page.link("/group/audit".to_owned(), "audit trail")
    } else {
        page
    };
    page.render(&html! {
        (wrong(g.told.wrong.as_deref()))
        @if let Some(token) = g.told.invitation { (new_invitation(token)) }
        div.choices.people {
            (your_groups(g))
            (members(g, keeps))
            @if keeps { (invitations(g)) }
            (shared(g))
            (code(g))
            (study::card(g.study, "of this group", keeps))
        }
    })
}

fn your_groups(g: &Group<'_>) -> Markup {
    html! {
        section.card aria-labelledby="groups-title" {
            h2 #groups-title { "Your groups" }
            ul.devices {
                @for group in g.groups {
                    li {
                        h3 { (group.name) @if group.own { span.quiet { " (your own)" } } }
                        p.small.quiet { (role_words(group.role)) }
                        @if group.id == g.who.group {
                            p { strong { "You look at this one." } }
                        } @else {
                            form method="post" action="/group/look" {
                                input type="hidden" name="group" value=(group.id);
                                button type="submit" aria-label=(format!("look at {}", group.name)) { "Look at it" }
                            }
                        }
                    }
                }
            }
            details.why {
                summary { "Make a further group" }
                form method="post" action="/group/make" {
                    (fields::text("name", "Name of the group", "", "", None))
                    p { button type="submit" { "Make it" } }
                }
            }
        }
    }
}

fn members(g: &Group<'_>, keeps: bool) -> Markup {
    html! {
        section.card aria-labelledby="members-title" {
            h2 #members-title { "Who is in it" }
            ul.devices {
                @for member in g.members {
                    li {
                        h3 { (member.shown) " " span.quiet.small { (member.name) } }
                        p.small.quiet { (role_words(member.role)) }
                        @if keeps && member.account != g.who.account { (changes(member)) }
                    }
                }
            }
            @if g.groups.iter().any(|group| group.id == g.who.group && !group.own) {
                form method="post" action="/group/leave" { button type="submit" { "Leave this group" } }
            }
        }
    }
}

fn changes(member: &Member) -> Markup {
    let id = format!("role-{}", member.account);
    html! {
        div.changes {
            form method="post" action=(format!("/group/members/{}/role", member.account)) {
                label for=(id) { "Role" }
                (roles(&id, Role::Keep, member.role))
                button type="submit" aria-label=(format!("give {} this role", member.name)) { "Give it" }
            }
            form method="post" action=(format!("/group/members/{}/remove", member.account)) {
                button type="submit" aria-label=(format!("take out {}", member.name)) { "Take out" }
            }
        }
    }
}

fn new_invitation(token: &str) -> Markup {
    html! {
        section.card.token role="status" aria-labelledby="invitation-title" {
            h2 #invitation-title { "The invitation" }
            p { "It is shown this once, works once and holds for a week. Send this address to whom it is for, and to nobody else: whoever opens it first comes in." }
            p { a.secret href=(format!("/invitation/{token}")) { "/invitation/" (token) } }
            // The script writes the whole address.
            noscript { p.small.quiet { "The address begins with that of this server, as it stands in your browser." } }
        }
    }
}

fn invitations(g: &Group<'_>) -> Markup {
    html! {
        section.card aria-labelledby="invite-title" {
            h2 #invite-title { "Invite somebody" }
            form method="post" action="/group/invite" {
                div.field {
                    label for="invite-role" { "As one who" }
                    (roles("invite-role", Role::Keep, Role::Brew))
                }
                p { button.main type="submit" { "Make an invitation" } }
            }
            @if !g.invitations.is_empty() {
                h3 { "Those that wait" }
                ul.devices {
                    @for invitation in g.invitations {
                        li {
                            dl.figures {
                                div { dt { "as one who" } dd { (super::short_words(invitation.role)) } }
                                div { dt { "holds until (UTC)" } dd { (time(&invitation.expires_at.to_string())) } }
                            }
                            form method="post" action=(format!("/group/invitations/{}/withdraw", invitation.id)) {
                                button type="submit" { "Withdraw" }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn shared(g: &Group<'_>) -> Markup {
    html! {
        section.card aria-labelledby="shared-title" {
            h2 #shared-title { "What it shares" }
            @if g.shared.is_empty() { p { "Nothing of this group is shared with others. A keeper shares a batch on its page." } }
            ul.notes {
                @for one in g.shared {
                    li { a href=(format!("/share/{}", one.id)) { (one.title) } " (" (one.kind) ") with " (one.with) ", which " (role_words(one.may)) }
                }
            }
        }
    }
}

fn code(g: &Group<'_>) -> Markup {
    html! {
        section.card aria-labelledby="code-title" {
            h2 #code-title { "The code of this group" }
            p { "Whoever wants to share something with you types it. It opens nothing." }
            p { code.secret { (g.who.group) } }
        }
    }
}

pub fn audit(group: &str, lines: &[AuditLine]) -> Markup {
    Page::new("Audit trail")
        .beside(group)
        .link("/group".to_owned(), "back to the group")
        .render(&html! {
            section.card {
                h2 { "What was done, the last first" }
                div.wide tabindex="0" role="region" aria-label="Audit trail" {
                    table {
                        thead { tr { th scope="col" { "when (UTC)" } th scope="col" { "who" } th scope="col" { "what" } th scope="col" { "to" } } }
                        tbody {
                            @for line in lines {
                                tr {
                                    td { (time(&line.at.to_string())) }
                                    td { (line.who.as_deref().unwrap_or("the server")) }
                                    td { (line.what) }
                                    td.small { (line.thing.as_deref().unwrap_or_default()) }
                                }
                            }
                        }
                    }
                }
                @if let Some(last) = lines.last() {
                    p { a href=(format!("/group/audit?before={}", last.number)) { "Earlier ones" } }
                } @else { p { "Nothing earlier." } }
                p.small.quiet { "Texts and secrets are not in it. What a revision changed stands in the history of its document." }
            }
        })
}
