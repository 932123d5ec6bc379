//! The yeast that a wort needs.

use app::App;
use axum::Json;
use batch::pitch::{TypedPitch, TypedWish};
use batch::wire::pitch::Pitch;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::asked::{reckoned, refused};
use super::extract::{QueryOf, Toml};
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new().routes(routes!(of_wort, of_batch))
}

/// A wort and the yeast for it. A figure that is missing is told with those that are
/// wrong, so every one is optional to the reader of the query.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(deny_unknown_fields, default)]
#[into_params(parameter_in = Query)]
pub struct PitchQuery {
    /// Original gravity. Must be given.
    #[param(example = "1.050")]
    gravity: Option<String>,
    /// Wort. Must be given.
    #[param(example = "20 L")]
    volume: Option<String>,
    /// Its temperature; left out, in the middle of what the yeast likes.
    #[param(example = "10 °C")]
    temperature: Option<String>,
    /// Height above the sea; left out, 0 m.
    #[param(example = "0 m")]
    altitude: Option<String>,
    /// Class of yeast. Must be given.
    #[param(example = "lager")]
    class: Option<String>,
    /// What the pitch is for: usual, clean, estery, phenolic or "very dry".
    #[param(example = "clean")]
    aim: Option<String>,
    /// Pitching rate, in place of an aim.
    #[param(example = "1.0 million/mL/°P")]
    pitch_rate: Option<String>,
    /// How the yeast comes: dry, liquid or slurry. Must be given.
    #[param(example = "liquid")]
    form: Option<String>,
    /// Number of packets; left out, one.
    #[param(example = "1")]
    packets: Option<String>,
    /// Mass of a dry packet.
    #[param(example = "11.5 g")]
    packet_mass: Option<String>,
    /// Living cells in a gram of dry yeast.
    #[param(example = "10 billion/g")]
    cells_per_gram: Option<String>,
    /// Living cells in a liquid packet when packed.
    #[param(example = "200 billion cells")]
    cells: Option<String>,
    /// Volume of thick slurry.
    #[param(example = "150 mL")]
    slurry: Option<String>,
    /// Time since it was packed or harvested; left out, fresh.
    #[param(example = "30 d")]
    age: Option<String>,
    /// Temperature it was stored at; left out, 4 °C.
    #[param(example = "4 °C")]
    stored_at: Option<String>,
    /// Gravity of starter wort; left out, 9 °P.
    #[param(example = "9 °P")]
    starter_gravity: Option<String>,
    /// The most that the vessel of a starter holds.
    #[param(example = "2 L")]
    vessel: Option<String>,
}

impl From<PitchQuery> for TypedPitch {
    fn from(q: PitchQuery) -> Self {
        let yeast = [
            ("class", q.class),
            ("aim", q.aim),
            ("pitch_rate", q.pitch_rate),
            ("form", q.form),
            ("packets", q.packets),
            ("packet_mass", q.packet_mass),
            ("cells_per_gram", q.cells_per_gram),
            ("cells", q.cells),
            ("slurry", q.slurry),
            ("age", q.age),
            ("stored_at", q.stored_at),
        ];
        Self {
            gravity: q.gravity.unwrap_or_default(),
            volume: q.volume.unwrap_or_default(),
            temperature: q.temperature.unwrap_or_default(),
            altitude: q.altitude.unwrap_or_default(),
            yeast: yeast
                .into_iter()
                .map(|(key, text)| (key.to_owned(), text.unwrap_or_default()))
                .collect(),
            wish: TypedWish {
                gravity: q.starter_gravity.unwrap_or_default(),
                vessel: q.vessel.unwrap_or_default(),
            },
        }
    }
}

/// Says how much yeast a wort needs, what is at hand, and how to close the gap.
#[utoipa::path(
    get,
    path = "/yeast/pitch",
    operation_id = "pitch_wort",
    tag = "yeast",
    params(PitchQuery),
    responses(
        (status = 200, description = "The pitch.", body = ref("#/components/schemas/Pitch")),
        (status = 400, description = "The query cannot be read."),
        (status = 422, description = "A figure is missing or cannot be used; each fault says which and what would work."),
    )
)]
pub async fn of_wort(QueryOf(query): QueryOf<PitchQuery>) -> Result<Json<Pitch>, ProblemDetails> {
    let pitching = TypedPitch::from(query)
        .answer()
        .map_err(|faults| ProblemDetails::readings(&faults))?;
    Ok(Json(Pitch::from(&pitching)))
}

/// The same for a batch document, with what another start would do.
///
/// Nothing is kept.
#[utoipa::path(
    post,
    path = "/yeast/pitch",
    operation_id = "pitch_batch",
    tag = "yeast",
    request_body(
        description = "A batch document.",
        content((String = "application/toml"), (String = "text/plain"))
    ),
    responses(
        (status = 200, description = "The pitch.", body = ref("#/components/schemas/Pitch")),
        (status = 400, description = "The body is not UTF-8."),
        (status = 413, description = "The body is too large."),
        (status = 415, description = "The body is not said to be TOML or plain text."),
        (status = 422, description = "The document has faults; each says where it stands and what would work."),
    )
)]
pub async fn of_batch(Toml(text): Toml) -> Result<Json<Pitch>, ProblemDetails> {
    let reckoning = reckoned(&text)?;
    let pitching = reckoning
        .pitching()
        .map_err(|error| refused("this cannot be pitched", error))?;
    Ok(Json(Pitch::from(&pitching)))
}
