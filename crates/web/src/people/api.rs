//! What a program may know of whom it acts for.

use app::App;
use axum::http::StatusCode;
use axum::{Extension, Json};
use serde::Serialize;
use store::SignedIn;
use utoipa::ToSchema;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use crate::acting::Acting;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(me))
        .routes(routes!(group))
}

/// Who is signed in, and in which group.
#[derive(Debug, Serialize, ToSchema)]
pub struct Me {
    /// The account, a UUID of version 7.
    #[schema(format = "uuid")]
    account: String,
    /// The name that it signs in with.
    name: String,
    /// How people call it.
    shown: String,
    /// The group that it acts in, a UUID of version 7.
    #[schema(format = "uuid")]
    group: String,
    /// What that is called.
    group_name: String,
    /// What it may there: read, brew or keep.
    #[schema(example = "brew")]
    role: &'static str,
}

/// Somebody in the group.
#[derive(Debug, Serialize, ToSchema)]
pub struct MemberLine {
    /// The account, a UUID of version 7.
    #[schema(format = "uuid")]
    account: String,
    /// The name that it signs in with.
    name: String,
    /// How people call it.
    shown: String,
    /// What it may: read, brew or keep.
    #[schema(example = "brew")]
    role: &'static str,
}

/// A document that the group shares with another.
#[derive(Debug, Serialize, ToSchema)]
pub struct SharedLine {
    /// The document, a UUID of version 7.
    #[schema(format = "uuid")]
    document: String,
    /// What it is about.
    kind: &'static str,
    /// Its title.
    title: String,
    /// The name of the other group.
    with: String,
    /// What that one may: read or brew.
    may: &'static str,
}

/// The group that is acted in.
#[derive(Debug, Serialize, ToSchema)]
pub struct GroupOfMany {
    /// The group, a UUID of version 7.
    #[schema(format = "uuid")]
    group: String,
    /// What it is called.
    name: String,
    /// Who is in it.
    members: Vec<MemberLine>,
    /// What it shares with others.
    shared: Vec<SharedLine>,
}

/// Whom the token or the session belongs to.
#[utoipa::path(
    get,
    path = "/me",
    operation_id = "read_me",
    tag = "people",
    responses(
        (status = 200, description = "Who acts, and in which group.", body = Me),
        (status = 404, description = "This server has no accounts."),
    )
)]
async fn me(who: Option<Extension<SignedIn>>) -> Result<Json<Me>, ProblemDetails> {
    let who = signed_in(who)?;
    Ok(Json(Me {
        account: who.account.to_string(),
        name: who.name,
        shown: who.shown,
        group: who.group.to_string(),
        group_name: who.group_name,
        role: who.role.word(),
    }))
}

/// The group that is acted in: who is in it, and what it shares.
#[utoipa::path(
    get,
    path = "/group",
    operation_id = "read_group",
    tag = "people",
    responses(
        (status = 200, description = "The group.", body = GroupOfMany),
        (status = 404, description = "This server has no accounts."),
    )
)]
async fn group(
    Acting(app): Acting,
    who: Option<Extension<SignedIn>>,
) -> Result<Json<GroupOfMany>, ProblemDetails> {
    let who = signed_in(who)?;
    let members = app.members().await?.into_iter().map(|member| MemberLine {
        account: member.account.to_string(),
        name: member.name,
        shown: member.shown,
        role: member.role.word(),
    });
    let shared = app.shared_by_group().await?;
    let shared = shared.into_iter().map(|one| SharedLine {
        document: one.id.to_string(),
        kind: one.kind.word(),
        title: one.title,
        with: one.with,
        may: one.may.word(),
    });
    Ok(Json(GroupOfMany {
        group: who.group.to_string(),
        name: who.group_name,
        members: members.collect(),
        shared: shared.collect(),
    }))
}

fn signed_in(who: Option<Extension<SignedIn>>) -> Result<SignedIn, ProblemDetails> {
    who.map(|Extension(who)| who).ok_or_else(|| {
        ProblemDetails::new(
            StatusCode::NOT_FOUND,
            "this server has no accounts",
            "it serves one household; start it with gyle serve --shared for several people",
        )
    })
}
