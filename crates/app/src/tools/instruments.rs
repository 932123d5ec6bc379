//! The tools that ask whether an instrument can be believed.

use quantity::{Altitude, ElectrodePotential, Gravity, Measured, Note, Ph, Quantity, Temperature};
use wort::instruments::{
    Agreement, Buffer, CheckPoint, agreement, correction, electrode, hydrometer_in_water,
    ice_and_boil, nernst_slope_mv,
};

use super::reading::{Readings, exact, line};
use super::sums::{maybe, one_of, usual, wanted};
use super::{Choice, Line, Measurement, Tool};

pub(super) const AGREE: Tool = Tool {
    key: "agree",
    title: "Two instruments disagree",
    about: "What several readings of one figure come to, whether they agree within their ±, and which to check.",
    fields: &[
        one_of("of", "What was read", "gravity", || {
            [
                ("gravity", "gravity"),
                ("temperature", "temperature"),
                ("ph", "pH"),
            ]
            .map(|(word, label)| Choice { word, label })
            .to_vec()
        }),
        wanted("one", "First reading, with its ±", "1.012 ± 0.001"),
        wanted("two", "Second reading, with its ±", "1.015 ± 0.002"),
        maybe("three", "Third reading", "1.013 ± 0.001", "there is none"),
        maybe("four", "Fourth reading", "1.013 ± 0.001", "there is none"),
    ],
    sum: agree,
};

pub(super) const THERMOMETER: Tool = Tool {
    key: "thermometer-check",
    title: "Check a thermometer",
    about: "In ice, and in boiling water at your altitude: how far it is off, and how sure that is.",
    fields: &[
        usual("altitude", "Altitude", "0 m"),
        maybe("ice", "It reads in melting ice", "0.4 °C", "not read"),
        maybe("boil", "It reads in boiling water", "99.2 °C", "not read"),
        usual("at", "Set right a reading of", "66 °C"),
    ],
    sum: thermometer,
};

pub(super) const HYDROMETER: Tool = Tool {
    key: "hydrometer-check",
    title: "Check a hydrometer",
    about: "What it should show in plain water, and so how far it is off.",
    fields: &[
        wanted("at", "Temperature of the water", "22 °C"),
        usual("calibrated", "Temperature on the stem", "20 °C"),
        maybe("reading", "It shows", "1.001", "not read"),
    ],
    sum: hydrometer,
};

pub(super) const ELECTRODE: Tool = Tool {
    key: "electrode",
    title: "Check a pH electrode",
    about: "Its slope and its offset by two buffers, against what theory asks.",
    fields: &[
        usual("one", "First buffer, as its label says", "7.00"),
        wanted("shows_one", "It shows there", "4 mV"),
        usual("two", "Second buffer", "4.01"),
        wanted("shows_two", "It shows there", "176 mV"),
        usual("at", "Temperature of both", "25 °C"),
    ],
    sum: ph_electrode,
};

fn agree(r: &mut Readings<'_>) -> Option<Measurement> {
    match r.word("of")? {
        "temperature" => agree_of::<Temperature>(r),
        "ph" => agree_of::<Ph>(r),
        _ => agree_of::<Gravity>(r),
    }
}

fn agree_of<Q: Quantity>(r: &mut Readings<'_>) -> Option<Measurement> {
    let mut readings: Vec<Measured<Q>> = Vec::new();
    for name in ["one", "two", "three", "four"] {
        let wanted = matches!(name, "one" | "two");
        if !wanted && r.is_empty(name) {
            continue;
        }
        let Some(reading) = r.measured::<Q>(name) else {
            continue;
        };
        if reading.sd() > 0.0 {
            readings.push(reading);
        } else {
            r.refuse(&"without its ± a reading has no weight; write how well it is known, as in 1.012 ± 0.001", name);
        }
    }
    let found: Agreement<Q> = r.told(agreement(&readings), |_| "two")?;
    let mut lines = vec![
        line("mean", "Together", &found.mean, r.units).main(),
        bare("chi_squared", "χ²", found.chi_squared, 2),
        bare("chance", "Chance of so much by accident", 100.0 * found.chance, 1).unit("%"),
        bare("birge", "Birge ratio", found.birge, 2)
            .remark("above one, the readings lie farther apart than their ± say; the ± of the mean is widened by it"),
    ];
    const APART: [(&str, &str); 4] = [
        ("apart_one", "First, from the others"),
        ("apart_two", "Second, from the others"),
        ("apart_three", "Third, from the others"),
        ("apart_four", "Fourth, from the others"),
    ];
    for ((key, label), apart) in APART.into_iter().zip(&found.apart) {
        lines.push(bare(key, label, *apart, 1).unit("sd"));
    }
    Some(Measurement {
        lines,
        notes: found.notes,
        cautions: Vec::new(),
    })
}

fn thermometer(r: &mut Readings<'_>) -> Option<Measurement> {
    let altitude = r.value::<Altitude>("altitude");
    let (mut ice_read, mut boil_read) = (None, None);
    if !r.is_empty("ice") {
        ice_read = r.measured::<Temperature>("ice");
    }
    if !r.is_empty("boil") {
        boil_read = r.measured::<Temperature>("boil");
    }
    let at = r.measured::<Temperature>("at");
    let (ice, boil) = r.told(ice_and_boil(altitude?), |_| "altitude")?;
    let mut lines = vec![
        line("ice", "Melting ice is", &ice, r.units),
        line("boils", "Water boils at", &boil, r.units)
            .remark("the weather moves it; a barometer would say better"),
    ];
    let mut notes = vec![Note::fine(
        "ice: crushed, of plain water, stirred with a little water for a minute. Boil: in the steam or just under the surface, a rolling boil, not the bottom of the pot",
    )];
    let points: Vec<CheckPoint<Temperature>> = [(ice, ice_read), (boil, boil_read)]
        .into_iter()
        .filter_map(|(reference, read)| {
            Some(CheckPoint {
                reference,
                read: read?,
            })
        })
        .collect();
    if points.is_empty() {
        lines = lines.into_iter().map(Line::main).collect();
    } else {
        let usual_sd = 0.2;
        let found = r.told(correction(&points, usual_sd, 20.0), |_| "ice")?;
        let (right, outside) = found.correct(at?, usual_sd);
        lines.insert(
            0,
            line("right", "The reading, set right", &right, r.units).main(),
        );
        let (by, by_sd) = found.at(at?.value);
        lines.push(bare("add", "To add there", by, 2).unit("K").known(by_sd));
        notes.extend(found.notes);
        notes.extend(outside);
    }
    Some(Measurement {
        lines,
        notes,
        cautions: Vec::new(),
    })
}

fn hydrometer(r: &mut Readings<'_>) -> Option<Measurement> {
    let (at, stem) = (r.value("at"), r.value("calibrated"));
    let read = if r.is_empty("reading") {
        None
    } else {
        Some(r.measured::<Gravity>("reading")?)
    };
    let (at, stem): (Temperature, Temperature) = (at?, stem?);
    let shows = r.told(hydrometer_in_water(at, stem), |e| {
        if e.to_string().contains("calibration") {
            "calibrated"
        } else {
            "at"
        }
    })?;
    let mut lines = vec![bare("shows", "It should show", shows, 4).unit("SG").main()];
    if let Some(read) = read {
        let off = shows - read.value.sg();
        lines.push(bare("add", "To add to its readings", off, 4).unit("SG"));
    }
    Some(Measurement {
        lines,
        notes: vec![Note::fine(
            "spin it so that no bubble clings, read at eye level where its stem says (bottom or top of the meniscus). One point says nothing of the rest of the scale: a weighed sugar solution does, 100 g of sucrose in 900 g of water is 10 °P",
        )],
        cautions: Vec::new(),
    })
}

fn ph_electrode(r: &mut Readings<'_>) -> Option<Measurement> {
    let (one, two) = (r.measured::<Ph>("one"), r.measured::<Ph>("two"));
    let shows_one = r.value::<ElectrodePotential>("shows_one");
    let shows_two = r.value::<ElectrodePotential>("shows_two");
    let at: Option<Temperature> = r.value("at");
    let buffer = |is, shows: ElectrodePotential| Buffer {
        is,
        shows_mv: shows.mv(),
    };
    let (one, two) = (buffer(one?, shows_one?), buffer(two?, shows_two?));
    let found = r.told(electrode(one, two, at?), |e| {
        if e.to_string().contains("temperature") {
            "at"
        } else {
            "two"
        }
    })?;
    Some(Measurement {
        lines: vec![
            bare("slope", "Slope, of theory", found.slope_percent, 1)
                .unit("%")
                .main(),
            exact(
                "offset",
                "At pH 7",
                ElectrodePotential::from_mv(found.offset_mv),
                r.units,
            ),
            bare("theory", "Theory asks for", nernst_slope_mv(at?), 2).unit("mV per pH"),
        ],
        notes: found.notes,
        cautions: Vec::new(),
    })
}

/// A number that is of no quantity.
fn bare(key: &'static str, label: &'static str, value: f64, decimals: usize) -> Line {
    Line {
        key,
        label,
        text: format!("{value:.decimals$}"),
        value,
        sd: None,
        unit: "",
        main: false,
        remark: None,
        colour: None,
    }
}

impl Line {
    fn unit(mut self, unit: &'static str) -> Self {
        self.unit = unit;
        self.text = format!("{} {unit}", self.text);
        self
    }

    fn known(mut self, sd: f64) -> Self {
        self.text = format!("{:.2} ± {sd:.2} {}", self.value, self.unit);
        self.sd = Some(sd);
        self
    }
}
