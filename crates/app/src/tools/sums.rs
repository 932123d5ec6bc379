//! The tools themselves: which readings go into which sum, and what is shown of it.

use quantity::{
    AlcoholByVolume, Density, Gravity, Measured, Note, Temperature, Units, Volume, show_measured,
};
use wort::alcohol::{Analysis, analysis};
use wort::instruments::{
    Change, HydrometerReading, RefractometerReading, SpiritReading, Wanted, WortReading,
    extract_of, read_hydrometer, read_refractometer, read_refractometer_in_beer, set_strength,
    strength, usual_wort_factor, without_gas,
};

use super::reading::{Readings, gravity_line, line};
use super::{Choice, Empty, Field, Line, Measurement, Tool};
use super::{glass, instruments, packaging, yeast};

/// A field that must be filled in.
pub(super) const fn wanted(
    name: &'static str,
    label: &'static str,
    example: &'static str,
) -> Field {
    Field {
        name,
        label,
        example,
        empty: Empty::Refused,
        choices: None,
    }
}

/// A field with a usual value.
pub(super) const fn usual(name: &'static str, label: &'static str, value: &'static str) -> Field {
    Field {
        name,
        label,
        example: value,
        empty: Empty::Usual(value),
        choices: None,
    }
}

/// A field that may stay empty.
pub(super) const fn maybe(
    name: &'static str,
    label: &'static str,
    example: &'static str,
    without: &'static str,
) -> Field {
    Field {
        name,
        label,
        example,
        empty: Empty::Without(without),
        choices: None,
    }
}

/// A field that holds one of some words, this one where it stays empty.
pub(super) const fn one_of(
    name: &'static str,
    label: &'static str,
    first: &'static str,
    choices: fn() -> Vec<Choice>,
) -> Field {
    Field {
        name,
        label,
        example: first,
        empty: Empty::Usual(first),
        choices: Some(choices),
    }
}

pub(super) static TOOLS: [Tool; 19] = [
    Tool {
        key: "hydrometer",
        title: "Hydrometer",
        about: "The gravity behind a reading in a sample that is warmer or colder than the stem says.",
        fields: &[
            wanted("reading", "Reading", "1.048"),
            wanted("at", "Temperature of the sample", "28 °C"),
            usual("calibrated", "Temperature on the stem", "20 °C"),
            maybe(
                "original",
                "Gravity before fermentation",
                "1.052",
                "the sample is wort, without alcohol",
            ),
            one_of("gas", "Gas of the sample", "shaken out", gas),
        ],
        sum: hydrometer,
    },
    Tool {
        key: "refractometer",
        title: "Refractometer",
        about: "The gravity of wort, or with the reading before fermentation that of beer.",
        fields: &[
            wanted("reading", "Reading", "12.4 °Bx"),
            maybe(
                "before",
                "Reading before fermentation",
                "12.4 °Bx",
                "the sample is wort, without alcohol",
            ),
            maybe("factor", "Wort factor", "1.04 ± 0.01", "1.04 ± 0.02"),
            maybe(
                "at",
                "Temperature, if not compensated",
                "24 °C",
                "the instrument compensates",
            ),
        ],
        sum: refractometer,
    },
    Tool {
        key: "alcohol",
        title: "Alcohol and attenuation",
        about: "What the gravities before and after fermentation say of a beer.",
        fields: &[
            wanted("original", "Gravity before fermentation", "1.052"),
            wanted("now", "Gravity now", "1.011"),
        ],
        sum: alcohol,
    },
    Tool {
        key: "extract",
        title: "Extract and density",
        about: "One wort as °P, as specific gravity, as density at a temperature, and in grams a litre.",
        fields: &[
            wanted("reading", "Gravity or density", "12 °P"),
            usual("at", "Temperature", "20 °C"),
        ],
        sum: extract,
    },
    Tool {
        key: "dilute",
        title: "Thin or boil down",
        about: "The water to add to wort, or to boil off, for another gravity or another volume.",
        fields: &[
            wanted("volume", "Volume now", "20 L"),
            wanted("gravity", "Gravity now", "1.060"),
            wanted("to", "Gravity or volume wanted", "1.048"),
            usual("at", "Temperature at which the volume was read", "20 °C"),
        ],
        sum: dilute,
    },
    Tool {
        key: "glass",
        title: "Colour in the glass",
        about: "How clear beer of a colour looks in daylight through any depth.",
        fields: &[
            wanted("colour", "Colour", "20 EBC"),
            usual("depth", "Depth of the glass", "7.5 cm"),
        ],
        sum: glass::glass,
    },
    Tool {
        key: "spirit",
        title: "Strength by density",
        about: "The strength of ethanol in water by its density, or the other way; for a distillate in a laboratory.",
        fields: &[
            wanted("reading", "Density or strength", "991.0 kg/m³"),
            usual("at", "Temperature", "20 °C"),
        ],
        sum: spirit,
    },
    packaging::KEG,
    packaging::LINE,
    packaging::WORT,
    packaging::PURGE,
    packaging::OXYGEN,
    packaging::STORE,
    yeast::CELLS,
    yeast::STARTER,
    instruments::AGREE,
    instruments::THERMOMETER,
    instruments::HYDROMETER,
    instruments::ELECTRODE,
];

const GAS: [(&str, bool); 2] = [("shaken out", false), ("left in", true)];

fn gas() -> Vec<Choice> {
    GAS.iter()
        .map(|(word, _)| Choice { word, label: word })
        .collect()
}

fn hydrometer(r: &mut Readings<'_>) -> Option<Measurement> {
    let (reading, at) = (r.measured("reading"), r.measured("at"));
    let gas_left_in = r.pick("gas", &GAS);
    let calibrated_at = r.value("calibrated");
    let original = filled(r, "original", Readings::value::<Gravity>);
    let gas_left_in = gas_left_in?;
    let reading = HydrometerReading {
        reading: if gas_left_in {
            without_gas(reading?)
        } else {
            reading?
        },
        at: at?,
        calibrated_at: calibrated_at?,
        original: original?,
    };
    let got = read_hydrometer(&reading);
    let mut got = r.told(got, |e| place_of(e, "reading"))?;
    if gas_left_in {
        got.notes.push(Note::look(
            "bubbles lift a hydrometer by 1 to 6 points (common practice): the middle is taken off, and the ± is wide; shake the gas out and read again",
        ));
    }
    Some(Measurement {
        lines: vec![gravity_line("gravity", "gravity", &got.gravity, r.units).main()],
        notes: got.notes,
        cautions: Vec::new(),
    })
}

fn refractometer(r: &mut Readings<'_>) -> Option<Measurement> {
    let reading = r.measured("reading");
    let before = filled(r, "before", Readings::measured);
    let factor = filled(r, "factor", Readings::measured);
    let uncompensated_at = filled(r, "at", Readings::value::<Temperature>);
    let (before, uncompensated_at) = (before?, uncompensated_at?);
    let factor = factor?.unwrap_or_else(usual_wort_factor);
    let of = |reading| RefractometerReading {
        reading,
        uncompensated_at,
    };
    let Some(before) = before else {
        let got = read_refractometer(&of(reading?), factor);
        let got = r.told(got, |e| place_of(e, "reading"))?;
        return Some(Measurement {
            lines: vec![
                gravity_line("gravity", "gravity", &got.gravity, r.units).main(),
                line("wort_factor", "wort factor", &factor, r.units),
            ],
            notes: got.notes,
            cautions: Vec::new(),
        });
    };
    // The one before was taken of the wort at its own time: as it stands.
    let before = RefractometerReading {
        reading: before,
        uncompensated_at: None,
    };
    let got = read_refractometer_in_beer(&before, &of(reading?), factor);
    let got = r.told(got, |e| place_of(e, "reading"))?;
    let mut found = of_beer(&got.analysis, r.units);
    let other = |key, label, gravity: Option<Gravity>| {
        gravity.map(|g| gravity_line(key, label, &Measured::exactly(g), r.units))
    };
    found.lines.extend(
        [
            other(
                "final_by_cubic",
                "gravity now, cubic regression",
                got.by_cubic,
            ),
            other(
                "final_by_index",
                "gravity now, refractive indices",
                got.by_index,
            ),
            Some(line("wort_factor", "wort factor", &factor, r.units)),
        ]
        .into_iter()
        .flatten(),
    );
    Some(found)
}

fn alcohol(r: &mut Readings<'_>) -> Option<Measurement> {
    let (original, last) = (r.measured("original"), r.measured("now"));
    let got = analysis(original?, last?);
    let got = r.told(got, |e| place_of(e, "now"))?;
    let mut found = of_beer(&got, r.units);
    let classical = &got.classical;
    let mut alcohol = line(
        "alcohol_classical",
        "alcohol, classical quotient",
        &Measured::exactly(classical.alcohol),
        r.units,
    );
    alcohol.text = format!("{:.2} % vol", classical.alcohol.percent());
    found.lines.push(
        alcohol
        .remark("real extract as 0.1808 of the original and 0.8192 of the apparent; about 0.15 °P low in the extract, nearly right in the alcohol"),
    );
    found.lines.push(
        gravity_line(
            "real_extract_classical",
            "real extract, classical quotient",
            &Measured::exactly(classical.real),
            r.units,
        )
        .extract_only(classical.real),
    );
    Some(found)
}

fn extract(r: &mut Readings<'_>) -> Option<Measurement> {
    let (reading, at) = (r.either::<Gravity, Density>("reading"), r.value("at"));
    let reading = match reading? {
        Ok(gravity) => WortReading::Gravity(gravity),
        Err(density) => WortReading::Density(density),
    };
    let got = extract_of(reading, at?);
    let got = r.told(got, |e| place_of(e, "reading"))?;
    let units = r.units;
    Some(Measurement {
        lines: vec![
            gravity_line("gravity", "gravity", &got.gravity, units).main(),
            line(
                "density",
                "density at this temperature",
                &got.density,
                units,
            ),
            line(
                "density_at_20",
                "density at 20 °C",
                &got.density_at_20,
                units,
            ),
            line(
                "extract_per_litre",
                "extract in a litre at 20 °C",
                &got.extract_per_litre,
                units,
            ),
            gravity_line(
                "extract_asbc",
                "by the older ASBC tables",
                &Measured::exactly(got.by_asbc),
                units,
            )
            .extract_only(got.by_asbc)
            .remark("to compare with tables in print"),
        ],
        notes: got.notes,
        cautions: Vec::new(),
    })
}

fn dilute(r: &mut Readings<'_>) -> Option<Measurement> {
    let (volume, gravity) = (r.measured("volume"), r.measured("gravity"));
    let (to, at) = (r.either::<Gravity, Volume>("to"), r.value("at"));
    let to = match to? {
        Ok(gravity) => Wanted::Gravity(gravity.value),
        Err(volume) => Wanted::Volume(volume.value),
    };
    let got = set_strength(volume?, gravity?, to, at?);
    let got = r.told(got, |e| place_of(e, "to"))?;
    let units = r.units;
    let water = match got.change {
        Change::Add => "water to add",
        Change::BoilOff => "water to boil off",
    };
    Some(Measurement {
        lines: vec![
            line("water", water, &got.water, units).main(),
            line("water_mass", "the same, weighed", &got.water_mass, units),
            line("volume", "wort then, at 20 °C", &got.volume, units),
            gravity_line("gravity", "gravity then", &got.gravity, units),
            line("volume_now", "wort now, at 20 °C", &got.volume_now, units),
            line("extract", "extract in it", &got.extract, units),
        ],
        notes: got.notes,
        cautions: got.cautions,
    })
}

fn spirit(r: &mut Readings<'_>) -> Option<Measurement> {
    let (reading, at) = (
        r.either::<AlcoholByVolume, Density>("reading"),
        r.measured("at"),
    );
    let reading = match reading? {
        Ok(strength) => SpiritReading::Strength(strength),
        Err(density) => SpiritReading::Density(density),
    };
    let got = strength(reading, at?);
    let got = r.told(got, |e| place_of(e, "reading"))?;
    let units = r.units;
    let by_density = matches!(reading, SpiritReading::Density(_));
    let mut strength = line("alcohol", "strength at 20 °C", &got.alcohol, units);
    let mut density = line(
        "density",
        "density at this temperature",
        &got.density,
        units,
    );
    strength.main = by_density;
    density.main = !by_density;
    let mut lines = vec![
        strength,
        density,
        line(
            "alcohol_by_mass",
            "ethanol by mass",
            &got.alcohol_by_mass,
            units,
        ),
        line(
            "density_at_20",
            "density at 20 °C",
            &got.density_at_20,
            units,
        ),
    ];
    lines.sort_by_key(|l| !l.main);
    Some(Measurement {
        lines,
        notes: got.notes,
        cautions: got.cautions,
    })
}

/// What is shown of a beer by two gravities.
fn of_beer(got: &Analysis, units: Units) -> Measurement {
    let route = "recommended: Balling's masses with Tabarié's sum of densities, whose real extract agrees with measured beers";
    let mut energy = line("energy", "energy", &got.energy, units);
    energy.text = format!(
        "{} ({:.0} kcal)",
        show_measured(&got.energy, Units::Metric),
        got.energy.canonical() / 4.184
    );
    Measurement {
        lines: vec![
            line("alcohol", "alcohol", &got.alcohol, units)
                .main()
                .remark(route),
            gravity_line(
                "original",
                "gravity before fermentation",
                &got.original,
                units,
            ),
            gravity_line("final", "gravity now", &got.apparent, units),
            gravity_line("real_extract", "real extract", &got.real, units)
                .extract_only(got.real.value),
            line(
                "alcohol_by_mass",
                "alcohol by mass",
                &got.alcohol_by_mass,
                units,
            ),
            line(
                "apparent_attenuation",
                "apparent attenuation",
                &got.apparent_attenuation,
                units,
            ),
            line(
                "real_attenuation",
                "real degree of fermentation",
                &got.real_attenuation,
                units,
            ),
            energy,
        ],
        notes: got.notes.clone(),
        cautions: Vec::new(),
    }
}

impl Line {
    /// The same as an extract that is no gravity: its density is another matter.
    fn extract_only(mut self, extract: Gravity) -> Self {
        self.text = match self.sd {
            Some(sd) => format!("{:.2} ± {sd:.2} °P", extract.plato()),
            None => format!("{:.2} °P", extract.plato()),
        };
        self
    }
}

/// A field that may stay empty: nothing where it did, and no answer at all where it
/// cannot be read.
pub(super) fn filled<'t, T>(
    r: &mut Readings<'t>,
    name: &'static str,
    read: fn(&mut Readings<'t>, &'static str) -> Option<T>,
) -> Option<Option<T>> {
    if r.is_empty(name) {
        Some(None)
    } else {
        read(r, name).map(Some)
    }
}

/// The field that a refusal of a model concerns.
fn place_of(error: &wort::WortError, otherwise: &'static str) -> &'static str {
    match error {
        wort::WortError::Impossible { what, .. } => match *what {
            "calibration temperature" => "calibrated",
            w if w.starts_with("temperature") => "at",
            "original extract" => "original",
            "extract before fermentation" => "before",
            "volume" => "volume",
            "gravity" => "gravity",
            _ => otherwise,
        },
        _ => otherwise,
    }
}
