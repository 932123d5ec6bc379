//! The tools of the cellar: kegs, lines, priming with wort, oxygen, the store.

use package::{Draught, Gassing, PackageError, PrimingWort, Tube, UnderGas, oxygen};
use quantity::{
    Altitude, CarbonDioxide, Caution, Count, Duration, Fraction, GaugePressure, Gravity, Length,
    MassConcentration, Measured, Temperature, Volume, show,
};

use super::reading::{Readings, between, exact, line};
use super::sums::{filled, maybe, one_of, usual, wanted};
use super::{Choice, Line, Measurement, Tool};

pub(super) const KEG: Tool = Tool {
    key: "keg",
    title: "Gas a keg",
    about: "The pressure that holds a keg at its CO2, and how long the beer takes to get there.",
    fields: &[
        wanted("aim", "CO2 aimed at", "2.4 vol"),
        wanted("at", "Temperature of the beer", "4 °C"),
        usual("held", "CO2 in the beer now", "0.85 vol"),
        maybe(
            "pressure",
            "Pressure that is set",
            "2 bar",
            "the pressure that holds the aim",
        ),
        one_of("way", "The keg", "still-small", ways),
        usual("altitude", "Altitude", "0 m"),
    ],
    sum: keg,
};

pub(super) const LINE: Tool = Tool {
    key: "line",
    title: "Line to the tap",
    about: "How long the line must be for a good pour, or how fast a line pours.",
    fields: &[
        wanted("pressure", "Pressure of the keg", "0.8 bar"),
        one_of("tube", "Tube", "vinyl-3/16", tubes),
        usual("rise", "Rise from the keg to the tap", "60 cm"),
        usual("flow", "Pour wanted", "2.0 L/min"),
        maybe(
            "length",
            "Length of a line that is there",
            "3 m",
            "the length is sought",
        ),
    ],
    sum: draught,
};

pub(super) const WORT: Tool = Tool {
    key: "priming-wort",
    title: "Prime with wort",
    about: "How much unfermented or fermenting wort brings the beer to its CO2.",
    fields: &[
        wanted("beer", "Beer to be packaged", "19 L"),
        wanted(
            "original",
            "Gravity of the wort before fermentation",
            "1.048",
        ),
        maybe(
            "now",
            "Gravity of the wort now",
            "1.035",
            "it has not begun to ferment",
        ),
        wanted("limit", "Its limit of attenuation", "80 %"),
        usual("aim", "CO2 aimed at", "2.4 vol"),
        usual("held", "CO2 in the beer now", "0.85 vol"),
    ],
    sum: wort,
};

pub(super) const PURGE: Tool = Tool {
    key: "purge",
    title: "Purge a keg",
    about: "What filling with gas and venting leaves of the oxygen, and how often to do it.",
    fields: &[
        wanted("pressure", "Pressure each time", "1 bar"),
        usual("cycles", "How often", "5"),
        usual("share", "Oxygen to be left in the gas", "0.1 %"),
        usual("head_space", "Gas above the beer", "0.5 L"),
        usual("beer", "Beer", "19 L"),
        usual("at", "Temperature", "20 °C"),
        usual("altitude", "Altitude", "0 m"),
    ],
    sum: purge,
};

pub(super) const OXYGEN: Tool = Tool {
    key: "bottle-oxygen",
    title: "Oxygen in a bottle",
    about: "All the oxygen of a package from a shaken one, and what the air above the beer brings.",
    fields: &[
        wanted("beer", "Beer in the bottle", "330 mL"),
        wanted("head_space", "Head space", "15 mL"),
        maybe(
            "shown",
            "Oxygen shown after shaking",
            "0.12 mg/L",
            "only the air is reckoned",
        ),
        usual("at", "Temperature", "20 °C"),
        usual("altitude", "Altitude", "0 m"),
    ],
    sum: bottle,
};

pub(super) const STORE: Tool = Tool {
    key: "store",
    title: "Warm store or cold",
    about: "How much faster beer goes stale in one store than in another.",
    fields: &[
        wanted("at", "Temperature of the store", "22 °C"),
        usual("against", "Temperature to compare with", "4 °C"),
        usual("time", "Time in the store", "30 d"),
    ],
    sum: store,
};

fn ways() -> Vec<Choice> {
    let all = Gassing::all().iter();
    all.map(|way| Choice {
        word: &way.key,
        label: &way.name,
    })
    .collect()
}

fn tubes() -> Vec<Choice> {
    let all = Tube::all().iter();
    all.map(|tube| Choice {
        word: &tube.key,
        label: &tube.name,
    })
    .collect()
}

/// Days after which the gas of a keg is shown.
const AFTER_D: [(&str, &str, f64); 4] = [
    ("after_1_d", "CO2 after a day", 1.0),
    ("after_3_d", "CO2 after 3 days", 3.0),
    ("after_7_d", "CO2 after a week", 7.0),
    ("after_14_d", "CO2 after two weeks", 14.0),
];

fn keg(r: &mut Readings<'_>) -> Option<Measurement> {
    let (aim, at, held) = (r.value("aim"), r.value("at"), r.value("held"));
    let set = filled(r, "pressure", Readings::value::<GaugePressure>);
    let (way, altitude) = (r.word("way"), r.value::<Altitude>("altitude"));
    let (aim, at, altitude): (CarbonDioxide, Temperature, _) = (aim?, at?, altitude?);
    let way = told(r, Gassing::find(way?), "way")?;
    let holds = told(r, package::keg_setting(aim, at, altitude, false), "aim")?;
    let keg = UnderGas {
        start: held?,
        pressure: set?.unwrap_or(holds.pressure.value),
        temperature: at,
        altitude,
    };
    let wait = told(r, keg.wait_for(aim, way), "pressure")?;
    let units = r.units;
    let mut lines = vec![
        line("pressure", "pressure that holds it", &holds.pressure, units).main(),
        exact("balance", "CO2 if the pressure stays", wait.balance, units),
    ];
    if let (Some(time), true) = (&wait.time, set_apart(&keg, &holds.pressure)) {
        lines.push(between("time", "until the aim", time, units));
    }
    for (key, label, days) in AFTER_D {
        let held = told(r, keg.after(Duration::from_h(24.0 * days), way), "pressure")?;
        lines.push(between(key, label, &held, units));
    }
    let mut notes = holds.notes;
    // At its own pressure a keg comes to the aim and never quite reaches it.
    if set_apart(&keg, &holds.pressure) {
        notes.extend(wait.notes);
    }
    Some(Measurement {
        lines,
        notes,
        cautions: vec![Caution::CarbonDioxide, Caution::KegPressure],
    })
}

fn set_apart(keg: &UnderGas, holds: &Measured<GaugePressure>) -> bool {
    (keg.pressure.bar() - holds.value.bar()).abs() > 1e-6
}

fn draught(r: &mut Readings<'_>) -> Option<Measurement> {
    let (pressure, tube) = (r.value("pressure"), r.word("tube"));
    let (rise, flow) = (r.value::<Length>("rise"), r.value("flow"));
    let length = filled(r, "length", Readings::value::<Length>);
    let line = Draught {
        tube: told(r, Tube::find(tube?), "tube")?,
        rise: rise?,
        pressure: pressure?,
    };
    let (flow, units) = (flow?, r.units);
    let (lines, notes) = if let Some(length) = length? {
        let pour = told(r, line.pour_through(length), "length")?;
        let lines = vec![
            between(
                "pour",
                "pour, by the trade's figures",
                &pour.by_trade,
                units,
            )
            .main(),
            exact(
                "pour_by_friction",
                "pour, by the friction of a smooth tube",
                pour.by_friction,
                units,
            ),
        ];
        (lines, pour.notes)
    } else {
        let long = told(r, line.length_for(flow), "flow")?;
        let lines = vec![
            between(
                "length",
                "length, by the trade's figures",
                &long.by_trade,
                units,
            )
            .main(),
            exact(
                "length_by_friction",
                "length, by the friction of a smooth tube",
                long.by_friction,
                units,
            ),
        ];
        (lines, long.notes)
    };
    Some(Measurement {
        lines,
        notes,
        cautions: vec![Caution::KegPressure],
    })
}

fn wort(r: &mut Readings<'_>) -> Option<Measurement> {
    let (beer, original, limit) = (r.value("beer"), r.value("original"), r.value("limit"));
    let now = filled(r, "now", Readings::value::<Gravity>);
    let (aim, held) = (r.value("aim"), r.value("held"));
    let original: Gravity = original?;
    let now = now?;
    let priming = PrimingWort {
        original,
        now: now.unwrap_or(original),
        limit: limit?,
        // What ferments stands under its own gas; what does not holds none.
        held: now.map_or(CarbonDioxide::default(), |_| KRAEUSEN_HELD),
    };
    let dose = priming.dose(beer?, held?, aim?);
    let dose = told(r, dose, "original")?;
    Some(Measurement {
        lines: vec![
            exact("wort", "wort to add", dose.volume, r.units).main(),
            between(
                "carbon_dioxide",
                "CO2 of the beer then",
                &dose.carbon_dioxide,
                r.units,
            )
            .remark("from all of the yeast's share to none of it"),
        ],
        notes: dose.notes,
        cautions: dose.cautions,
    })
}

/// CO₂ of open wort in full fermentation at cellar temperature, about its saturation.
const KRAEUSEN_HELD: CarbonDioxide = CarbonDioxide::from_g_per_l(1.7);

fn purge(r: &mut Readings<'_>) -> Option<Measurement> {
    let (pressure, cycles) = (r.value("pressure"), r.value::<Count>("cycles"));
    let (share, head) = (
        r.value::<Fraction>("share"),
        r.value::<Volume>("head_space"),
    );
    let (beer, at, altitude) = (r.value("beer"), r.value("at"), r.value("altitude"));
    let (pressure, altitude): (GaugePressure, Altitude) = (pressure?, altitude?);
    let cycles = cycles?.number().round().clamp(0.0, 1000.0) as u32;
    let often = oxygen::Purge::Cycles {
        pressure,
        count: cycles,
    };
    let left = told(r, oxygen::left_by(often, altitude), "pressure")?;
    let needed = told(r, oxygen::cycles_to(share?, pressure, altitude), "share")?;
    let brings = oxygen::from_gas(left, head?, beer?, at?, altitude);
    let brings: MassConcentration = told(r, brings, "beer")?;
    let units = r.units;
    let mut share_left = exact("left", "oxygen left in the gas", left, units);
    share_left.text = if left.ratio() < 1e-3 {
        format!("{:.0} ppm", left.ratio() * 1e6)
    } else {
        format!("{:.2} %", left.ratio() * 100.0)
    };
    let needed = Count::from_number(f64::from(needed));
    let mut times = exact("cycles", "times to come to the share wanted", needed, units);
    times.text = format!("{:.0}", needed.number());
    Some(Measurement {
        lines: vec![
            share_left.main(),
            times,
            exact(
                "oxygen",
                "oxygen that it brings into the beer",
                brings,
                units,
            ),
        ],
        notes: vec![oxygen::judged(brings, false)],
        cautions: vec![Caution::CarbonDioxide, Caution::KegPressure],
    })
}

fn bottle(r: &mut Readings<'_>) -> Option<Measurement> {
    let (beer, head) = (r.value("beer"), r.value("head_space"));
    let shown = filled(r, "shown", Readings::value::<MassConcentration>);
    let (at, altitude) = (r.value::<Temperature>("at"), r.value("altitude"));
    let fill = package::Fill::with_air(beer?, head?);
    let (at, units) = (at?, r.units);
    let air = told(
        r,
        oxygen::from_head_space(&fill, at, altitude?),
        "head_space",
    )?;
    let mut lines = vec![exact("air", "what the air above it brings", air, units)];
    let mut judged = air;
    if let Some(shown) = shown? {
        let whole = told(r, oxygen::whole_package(shown, &fill, at), "shown")?;
        judged = whole.value;
        lines.insert(
            0,
            line("oxygen", "oxygen in the package", &whole, units).main(),
        );
    } else {
        lines = lines.into_iter().map(Line::main).collect();
    }
    Some(Measurement {
        lines,
        notes: vec![oxygen::judged(judged, true)],
        cautions: Vec::new(),
    })
}

fn store(r: &mut Readings<'_>) -> Option<Measurement> {
    let (at, against) = (r.value("at"), r.value::<Temperature>("against"));
    let time = r.value::<Duration>("time");
    let against = against?;
    let faster = told(r, package::ageing_ratio(at?, against), "at")?;
    let time = time?;
    let as_long = faster.as_long_as(time);
    let text = format!(
        "{} as in {} at {}: {:.1} times as fast ({:.1} to {:.1})",
        show(time, r.units),
        show(as_long.value, r.units),
        show(against, r.units),
        faster.value,
        faster.low,
        faster.high,
    );
    let mut found = between("same_ageing", "ages as much", &as_long, r.units).main();
    found.text = text;
    found = found.remark("by the aldehydes that taste of cardboard; in brackets the least by esters, the most by furans (Ferreira et al. 2022)");
    Some(Measurement {
        lines: vec![found],
        notes: Vec::new(),
        cautions: Vec::new(),
    })
}

/// An answer, or what the model refuses at the field that it concerns.
fn told<T>(
    r: &mut Readings<'_>,
    answer: Result<T, PackageError>,
    otherwise: &'static str,
) -> Option<T> {
    r.told(answer, |e| place_of(e, otherwise))
}

fn place_of(error: &PackageError, otherwise: &'static str) -> &'static str {
    match error {
        PackageError::Impossible { what, .. } => match *what {
            "flow at the tap" => "flow",
            "length of the line" => "length",
            "rise to the tap" => "rise",
            "volume" | "beer" | "beer in a bottle" => "beer",
            "head space of a bottle" | "volume of gas" => "head_space",
            "limit of attenuation" => "limit",
            "gravity of the wort now" => "now",
            "gravity of the wort" => "original",
            "oxygen to be left" => "share",
            "cycles of purging" => "cycles",
            w if w.starts_with("temperature") => "at",
            w if w.starts_with("pressure") => "pressure",
            _ => otherwise,
        },
        PackageError::NoPour { .. } => "pressure",
        PackageError::WeakWort { .. } => "original",
        _ => otherwise,
    }
}
