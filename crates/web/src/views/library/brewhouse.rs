//! The page of a brewhouse: the constants of its kit.

use maud::{Markup, html};

use super::{Desk, assumed, form};

const KIT: [(&str, &[(&str, &str)]); 4] = [
    (
        "The place",
        &[
            ("altitude", "Altitude"),
            ("room", "Room"),
            ("coolant", "Cooling water"),
        ],
    ),
    (
        "Mash tun",
        &[
            ("tun_capacity", "Holds to the brim"),
            ("conversion", "Conversion"),
            ("absorption", "Kept by the grain"),
            ("tun_dead_space", "Dead space"),
            ("tun_heat_capacity", "Warms as so much water"),
            ("tun_time_constant", "Time constant, full"),
            ("tun_temperature", "Temperature at mashing in"),
            ("mash_power", "Heat into the mash"),
            ("lauter_stages", "Stages of a sparge"),
        ],
    ),
    (
        "Kettle",
        &[
            ("kettle_capacity", "Holds to the brim"),
            ("evaporation", "Evaporation"),
            ("kettle_loss", "Left in the kettle"),
            ("hop_absorption", "Kept by hops"),
            ("kettle_time_constant", "Time constant, covered"),
        ],
    ),
    (
        "Chiller",
        &[
            ("chiller_time_constant", "Time constant"),
            ("transfer_loss", "Left in it and in hoses"),
        ],
    ),
];

pub fn desk(desk: &Desk<'_>) -> Markup {
    let fields = desk.form();
    html! {
        div.bench {
            (form(desk, &html! {
                fieldset {
                    legend { "The brewhouse" }
                    (fields.words("brewhouse.name", "Name"))
                    (fields.words("brewhouse.notes", "Notes"))
                }
                @for (legend, keys) in KIT {
                    fieldset {
                        legend { (legend) }
                        @for (key, label) in keys { (fields.field(&format!("kit.{key}"), label)) }
                    }
                }
            }))
            div.results {
                section.card {
                    h2 { "What is known of this kit" }
                    @match &desk.open.contents {
                        Ok((_, assumptions)) => {
                            p {
                                @if assumptions.is_empty() { "Every constant is your own." } @else {
                                    "Fields that stand empty show what is assumed; a batch that takes this kit assumes the same. "
                                    "Each constant that you measure narrows what the batch can say."
                                }
                            }
                            (assumed(assumptions))
                        },
                        Err(_) => { p { "Mend what is listed above." } },
                    }
                }
                section.card {
                    h2 { "How to measure them" }
                    ul.notes {
                        li { strong { "From the batches themselves: " } "write down what is read on brew day; what the batches taught stands with each batch, and a plan takes it in one step." }
                        li { strong { "Dead space: " } "fill the tun with water, run it off, and weigh what stays." }
                        li { strong { "Mash tun, time constant: " } "read the mash twice in one rest, half an hour apart; the mash bench says what that comes to." }
                        li { strong { "Evaporation: " } "boil a known volume of water for half an hour and weigh what is gone." }
                        li { strong { "Kept by the grain: " } "mash liquor less run-off less dead space, for each kilogram of grain." }
                        li { strong { "Chiller: " } "the time in which the distance to the cooling water's temperature falls to 37 %." }
                    }
                }
            }
        }
    }
}
