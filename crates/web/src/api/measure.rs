//! The small tools beside the kettle, each under an address of its own. The query
//! holds the readings as a person writes them.

use app::{App, Tool, Typed};
use axum::Json;
use axum::http::StatusCode;
use batch::wire;
use quantity::Units;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

use super::extract::QueryOf;
use crate::problem::ProblemDetails;

/// The routes.
pub fn routes() -> OpenApiRouter<App> {
    OpenApiRouter::new()
        .routes(routes!(hydrometer))
        .routes(routes!(refractometer))
        .routes(routes!(alcohol))
        .routes(routes!(extract))
        .routes(routes!(dilute))
        .routes(routes!(spirit))
}

/// A tool's query and its handler. A reading that is missing is told by the tool,
/// with those that are wrong, so every one is optional to the reader of the query.
macro_rules! tools {
    ($(
        $(#[$doc:meta])*
        $name:ident($path:literal, $operation:literal, $query:ident {
            $( $(#[$about:meta])* $reading:ident, )+
        });
    )+) => {$(
        /// The readings.
        #[derive(Debug, Default, Deserialize, IntoParams)]
        #[serde(deny_unknown_fields, default)]
        #[into_params(parameter_in = Query)]
        pub struct $query {
            $( $(#[$about])* $reading: Option<String>, )+
        }

        $(#[$doc])*
        #[utoipa::path(
            get,
            path = $path,
            operation_id = $operation,
            tag = "measure",
            params($query),
            responses(
                (status = 200, description = "The figures.", body = ref("#/components/schemas/Measurement")),
                (status = 400, description = "The query cannot be read."),
                (status = 422, description = "A reading is missing or cannot be used; each fault says which and what would work."),
            )
        )]
        pub async fn $name(
            QueryOf(query): QueryOf<$query>,
        ) -> Result<Json<wire::Measurement>, ProblemDetails> {
            let readings = [$( (stringify!($reading), query.$reading), )+];
            answer(stringify!($name), readings)
        }
    )+};
}

tools! {
    /// Gravity from a hydrometer in a warm or cold sample.
    hydrometer("/measure/hydrometer", "measure_hydrometer", HydrometerQuery {
        /// The mark at the surface. Must be given.
        #[param(example = "1.048")]
        reading,
        /// Temperature of the sample. Must be given.
        #[param(example = "28 °C")]
        at,
        /// Temperature printed on the stem; left out, 20 °C.
        #[param(example = "20 °C")]
        calibrated,
        /// Gravity before fermentation, where the sample holds alcohol.
        #[param(example = "1.052")]
        original,
    });

    /// Gravity of wort, or of beer, by a refractometer.
    refractometer("/measure/refractometer", "measure_refractometer", RefractometerQuery {
        /// The mark. Must be given.
        #[param(example = "6.3 °Bx")]
        reading,
        /// The reading before fermentation, where the sample is beer.
        #[param(example = "12.4 °Bx")]
        before,
        /// How much more strongly wort refracts than sucrose; left out, 1.04 ± 0.02.
        #[param(example = "1.04 ± 0.01")]
        factor,
        /// Temperature of the sample, for an instrument that does not compensate.
        #[param(example = "24 °C")]
        at,
    });

    /// Alcohol, attenuation and energy from two gravities.
    alcohol("/measure/alcohol", "measure_alcohol", AlcoholQuery {
        /// Gravity before fermentation. Must be given.
        #[param(example = "1.052")]
        original,
        /// Gravity now. Must be given.
        #[param(example = "1.011")]
        now,
    });

    /// One wort as °P, specific gravity, density and grams in a litre.
    extract("/measure/extract", "measure_extract", ExtractQuery {
        /// Gravity, or density at the temperature. Must be given.
        #[param(example = "12 °P")]
        reading,
        /// The temperature; left out, 20 °C.
        #[param(example = "30 °C")]
        at,
    });

    /// The water to add to wort, or to boil off.
    dilute("/measure/dilute", "measure_dilute", DiluteQuery {
        /// Volume now. Must be given.
        #[param(example = "20 L")]
        volume,
        /// Gravity now. Must be given.
        #[param(example = "1.060")]
        gravity,
        /// Gravity, or volume at 20 °C, that is wanted. Must be given.
        #[param(example = "1.048")]
        to,
        /// Temperature at which the volume was read; left out, 20 °C.
        #[param(example = "20 °C")]
        at,
    });

    /// Strength of ethanol in water by its density, or the other way.
    spirit("/measure/spirit", "measure_spirit", SpiritQuery {
        /// Density at the temperature, or strength at 20 °C. Must be given.
        #[param(example = "991.0 kg/m3")]
        reading,
        /// The temperature; left out, 20 °C.
        #[param(example = "20 °C")]
        at,
    });
}

fn answer<const N: usize>(
    key: &str,
    readings: [(&str, Option<String>); N],
) -> Result<Json<wire::Measurement>, ProblemDetails> {
    let typed: Typed = readings
        .into_iter()
        .filter_map(|(name, text)| Some((name.to_owned(), text?)))
        .collect();
    let tool = Tool::find(key).ok_or_else(|| {
        ProblemDetails::new(
            StatusCode::NOT_FOUND,
            "there is no such tool",
            "see /measure",
        )
    })?;
    let found = tool
        .measure(&typed, Units::Metric)
        .map_err(|faults| ProblemDetails::readings(&faults))?;
    Ok(Json(found.wire(tool)))
}

#[cfg(test)]
mod tests {
    /// The queries name the readings that the tools know, no more and no less.
    #[test]
    fn every_reading_of_every_tool_can_be_asked_for() {
        let document = super::super::openapi();
        for tool in app::tools() {
            let path = format!("/paths/~1api~1measure~1{}/get/parameters", tool.key);
            let parameters = document.pointer(&path).and_then(|p| p.as_array());
            let names: Vec<&str> = parameters
                .unwrap()
                .iter()
                .map(|p| p["name"].as_str().unwrap())
                .collect();
            let fields: Vec<&str> = tool.fields.iter().map(|f| f.name).collect();
            assert_eq!(names, fields, "{}", tool.key);
        }
    }
}
