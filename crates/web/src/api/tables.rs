//! The built-in tables of malts and hops.

use app::App;
use axum::Json;
use batch::tables::{found, hops as hop_table, malts as malt_table};
use batch::wire::tables::IngredientTable;
use quantity::Units;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::extract::QueryOf;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(malts))
        .routes(routes!(hops))
}

/// Which rows.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// A part of the name; left out, all of them.
    #[param(example = "pilsner")]
    find: String,
}

/// Malts, adjuncts, sugars and malt extracts.
///
/// Each figure with its source, how it was obtained, and the key by which a person's own
/// sheet overrides it.
#[utoipa::path(
    get,
    path = "/malts",
    operation_id = "list_malts",
    tag = "wort",
    params(Which),
    responses(
        (status = 200, description = "The table.", body = ref("#/components/schemas/IngredientTable")),
        (status = 400, description = "The query cannot be read."),
    )
)]
pub async fn malts(QueryOf(which): QueryOf<Which>) -> Json<IngredientTable> {
    Json(found(malt_table(Units::Metric), &which.find).into())
}

/// Hop cultivars.
///
/// Each figure with its source and how it was obtained.
#[utoipa::path(
    get,
    path = "/hops",
    operation_id = "list_hops",
    tag = "wort",
    params(Which),
    responses(
        (status = 200, description = "The table.", body = ref("#/components/schemas/IngredientTable")),
        (status = 400, description = "The query cannot be read."),
    )
)]
pub async fn hops(QueryOf(which): QueryOf<Which>) -> Json<IngredientTable> {
    Json(found(hop_table(Units::Metric), &which.find).into())
}
