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
        .routes(routes!(glass))
        .routes(routes!(spirit))
        .routes(routes!(keg))
        .routes(routes!(line))
        .routes(routes!(priming_wort))
        .routes(routes!(purge))
        .routes(routes!(bottle_oxygen))
        .routes(routes!(store))
        .routes(routes!(cells))
        .routes(routes!(starter))
        .routes(routes!(agree))
        .routes(routes!(thermometer_check))
        .routes(routes!(hydrometer_check))
        .routes(routes!(electrode))
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
            answer($path.trim_start_matches("/measure/"), readings)
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
        /// The gas of the sample: "shaken out", which it is if left out, or "left in".
        #[param(example = "shaken out")]
        gas,
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

    /// How clear beer of a colour looks in daylight through any depth.
    glass("/measure/glass", "measure_glass", GlassQuery {
        /// Colour of the beer. Must be given.
        #[param(example = "20 EBC")]
        colour,
        /// Depth of the glass; left out, 7.5 cm.
        #[param(example = "7.5 cm")]
        depth,
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

    /// The pressure of a keg, and how long its beer takes to gas.
    keg("/measure/keg", "measure_keg", KegQuery {
        /// CO2 aimed at. Must be given.
        #[param(example = "2.4 vol")]
        aim,
        /// Temperature of the beer. Must be given.
        #[param(example = "4 °C")]
        at,
        /// CO2 in the beer now; left out, 0.85 vol.
        #[param(example = "0.85 vol")]
        held,
        /// Pressure that is set; left out, the one that holds the aim.
        #[param(example = "2 bar")]
        pressure,
        /// The keg: still-small or still-large; left out, still-small.
        #[param(example = "still-small")]
        way,
        /// Height above the sea; left out, 0 m.
        #[param(example = "0 m")]
        altitude,
    });

    /// The length of a line to the tap, or how fast a line pours.
    line("/measure/line", "measure_line", LineQuery {
        /// Pressure of the keg. Must be given.
        #[param(example = "0.8 bar")]
        pressure,
        /// The tube; left out, vinyl-3/16. An unknown one names them all.
        #[param(example = "vinyl-1/4")]
        tube,
        /// Rise from the keg to the tap; left out, 60 cm.
        #[param(example = "60 cm")]
        rise,
        /// Pour wanted; left out, 2.0 L/min.
        #[param(example = "2.0 L/min")]
        flow,
        /// Length of a line that is there.
        #[param(example = "3 m")]
        length,
    });

    /// The wort that primes beer, fresh or fermenting.
    priming_wort("/measure/priming-wort", "measure_priming_wort", PrimingWortQuery {
        /// Beer to be packaged. Must be given.
        #[param(example = "19 L")]
        beer,
        /// Gravity of the wort before fermentation. Must be given.
        #[param(example = "1.048")]
        original,
        /// Gravity of the wort now; left out, it has not begun to ferment.
        #[param(example = "1.035")]
        now,
        /// Its limit of attenuation, apparent. Must be given.
        #[param(example = "80 %")]
        limit,
        /// CO2 aimed at; left out, 2.4 vol.
        #[param(example = "2.4 vol")]
        aim,
        /// CO2 in the beer now; left out, 0.85 vol.
        #[param(example = "0.85 vol")]
        held,
    });

    /// What filling with gas and venting leaves of the oxygen.
    purge("/measure/purge", "measure_purge", PurgeQuery {
        /// Pressure each time. Must be given.
        #[param(example = "1 bar")]
        pressure,
        /// How often; left out, 5.
        #[param(example = "5")]
        cycles,
        /// Oxygen to be left in the gas; left out, 0.1 %.
        #[param(example = "0.1 %")]
        share,
        /// Gas above the beer; left out, 0.5 L.
        #[param(example = "0.5 L")]
        head_space,
        /// Beer; left out, 19 L.
        #[param(example = "19 L")]
        beer,
        /// Temperature; left out, 20 °C.
        #[param(example = "20 °C")]
        at,
        /// Height above the sea; left out, 0 m.
        #[param(example = "0 m")]
        altitude,
    });

    /// All the oxygen of a bottle, from a shaken one or from its air.
    bottle_oxygen("/measure/bottle-oxygen", "measure_bottle_oxygen", BottleOxygenQuery {
        /// Beer in the bottle. Must be given.
        #[param(example = "330 mL")]
        beer,
        /// Head space. Must be given.
        #[param(example = "15 mL")]
        head_space,
        /// Oxygen that a meter shows after shaking.
        #[param(example = "0.12 mg/L")]
        shown,
        /// Temperature; left out, 20 °C.
        #[param(example = "20 °C")]
        at,
        /// Height above the sea; left out, 0 m.
        #[param(example = "0 m")]
        altitude,
    });

    /// How much faster beer goes stale in one store than in another.
    store("/measure/store", "measure_store", StoreQuery {
        /// Temperature of the store. Must be given.
        #[param(example = "22 °C")]
        at,
        /// Temperature to compare with; left out, 4 °C.
        #[param(example = "4 °C")]
        against,
        /// Time in the store; left out, 30 d.
        #[param(example = "30 d")]
        time,
    });

    /// Yeast counted in a chamber: how many cells, how many of them live, how surely.
    cells("/measure/cells", "measure_cells", CellsQuery {
        /// Cells counted, dead and living. Must be given.
        #[param(example = "210")]
        cells,
        /// What was counted: "large squares" or "groups"; left out, groups.
        #[param(example = "groups")]
        over,
        /// How many of them. Must be given.
        #[param(example = "5")]
        squares,
        /// How many times the sample was diluted; left out, 1.
        #[param(example = "100")]
        dilution,
        /// Cells that took up a dye.
        #[param(example = "8")]
        dead,
        /// Cells looked at for the dye, dead and living.
        #[param(example = "200")]
        of,
        /// The dye: "methylene blue" or "methylene violet"; left out, methylene blue.
        #[param(example = "methylene violet")]
        dye,
        /// Spread of the dilution; left out, 4 %.
        #[param(example = "4 %")]
        pipetting,
    });

    /// What grows in a starter, or the starter for a number of cells.
    starter("/measure/starter", "measure_starter", StarterQuery {
        /// Living cells to begin with. Must be given.
        #[param(example = "80 billion cells")]
        cells,
        /// Living cells wanted; one of this and the volume must be given.
        #[param(example = "200 billion cells")]
        wanted,
        /// Starter wort of one step.
        #[param(example = "1.5 L")]
        volume,
        /// Its gravity; left out, 9 °P.
        #[param(example = "9 °P")]
        gravity,
        /// How it is kept: still or stirred; left out, still.
        #[param(example = "stirred")]
        way,
        /// The most that its vessel holds.
        #[param(example = "2 L")]
        vessel,
    });

    /// What readings of one figure by several instruments come to.
    agree("/measure/agree", "measure_agree", AgreeQuery {
        /// gravity, temperature or ph; left out, gravity.
        #[param(example = "gravity")]
        of,
        /// The first reading, with its ±. Must be given.
        #[param(example = "1.012 ± 0.001")]
        one,
        /// The second reading, with its ±. Must be given.
        #[param(example = "1.015 ± 0.002")]
        two,
        /// A third reading.
        #[param(example = "1.013 ± 0.001")]
        three,
        /// A fourth reading.
        #[param(example = "1.013 ± 0.001")]
        four,
    });

    /// What a thermometer should read in ice and in boiling water, and its correction.
    thermometer_check("/measure/thermometer-check", "measure_thermometer_check", ThermometerCheckQuery {
        /// Height above the sea; left out, 0 m.
        #[param(example = "500 m")]
        altitude,
        /// What it reads in melting ice.
        #[param(example = "0.4 °C")]
        ice,
        /// What it reads in boiling water.
        #[param(example = "99.2 °C")]
        boil,
        /// A reading to set right; left out, 66 °C.
        #[param(example = "66 °C")]
        at,
    });

    /// What a hydrometer should show in plain water.
    hydrometer_check("/measure/hydrometer-check", "measure_hydrometer_check", HydrometerCheckQuery {
        /// Temperature of the water. Must be given.
        #[param(example = "22 °C")]
        at,
        /// Temperature printed on the stem; left out, 20 °C.
        #[param(example = "20 °C")]
        calibrated,
        /// What it shows.
        #[param(example = "1.001")]
        reading,
    });

    /// How a pH electrode stands by two buffers.
    electrode("/measure/electrode", "measure_electrode", ElectrodeQuery {
        /// The first buffer; left out, 7.00.
        #[param(example = "7.00")]
        one,
        /// What the meter shows in it. Must be given.
        #[param(example = "4 mV")]
        shows_one,
        /// The second buffer; left out, 4.01.
        #[param(example = "4.01")]
        two,
        /// What the meter shows in it. Must be given.
        #[param(example = "176 mV")]
        shows_two,
        /// Temperature of both; left out, 25 °C.
        #[param(example = "25 °C")]
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
