//! Messages of sensors in SenML (RFC 8428), as JSON.

use serde_json::{Map, Value};

use super::table::reading;
use super::{BRIX, Fate, LogError, LogReading, What};

/// Times below this count from the moment of the message (RFC 8428, section 4.5.3).
const RELATIVE_BELOW_S: f64 = 268_435_456.0;
/// The version of SenML that is understood.
const VERSION: f64 = 10.0;

/// Reads a pack of records; `received_ms` is when it came, in milliseconds since 1970.
///
/// Base name, time, unit, value and version are resolved first. What a record measured
/// is told by its unit (`Cel`, `K`, `pH`, `Pa`) or, for gravity, which has none in the
/// registry, by the end of its name: `sg` with the unit `/`, `plato` or `brix` with `%`. A name
/// that ends in `ambient` or `room` is the temperature around the vessel. The rest of
/// the name is the instrument.
///
/// # Errors
/// [`LogError::NoPack`] for what is no JSON list of records. What is wrong with one
/// record stands in its [`Fate`].
pub fn read_senml(json: &str, received_ms: i64) -> Result<Vec<Fate>, LogError> {
    let no_pack = |why: &str| LogError::NoPack {
        why: why.to_owned(),
    };
    let pack: Value = serde_json::from_str(json).map_err(|e| no_pack(&e.to_string()))?;
    let Value::Array(records) = pack else {
        return Err(no_pack("it is no list"));
    };
    if records.is_empty() {
        return Err(LogError::Empty);
    }
    let mut base = Base::default();
    let fates = records.iter().enumerate().map(|(place, record)| {
        let mut fate = Fate::of(place + 1);
        match record.as_object() {
            None => fate.refused.push("it is no record".to_owned()),
            Some(record) => match base.resolve(record, received_ms) {
                Ok(found) => fate.readings.extend(found),
                Err(why) => fate.refused.push(why),
            },
        }
        if !fate.refused.is_empty() {
            fate.raw = record.to_string();
        }
        fate
    });
    Ok(fates.collect())
}

/// The base fields that hold from the record where they stand.
#[derive(Debug, Default)]
struct Base {
    name: String,
    time_s: f64,
    unit: String,
    value: f64,
}

impl Base {
    fn resolve(
        &mut self,
        record: &Map<String, Value>,
        received_ms: i64,
    ) -> Result<Option<LogReading>, String> {
        if let Some(key) = record.keys().find(|key| key.ends_with('_')) {
            return Err(format!("the field {key:?} must be understood and is not"));
        }
        if number(record, "bver")?.is_some_and(|version| version > VERSION) {
            return Err("it is of a later version than 10".to_owned());
        }
        if let Some(name) = text(record, "bn")? {
            name.clone_into(&mut self.name);
        }
        if let Some(unit) = text(record, "bu")? {
            unit.clone_into(&mut self.unit);
        }
        self.time_s = number(record, "bt")?.unwrap_or(self.time_s);
        self.value = number(record, "bv")?.unwrap_or(self.value);
        let name = format!("{}{}", self.name, text(record, "n")?.unwrap_or_default());
        let unit = text(record, "u")?.unwrap_or(&self.unit);
        let Some(value) = number(record, "v")? else {
            let other = ["vs", "vb", "vd", "s"]
                .into_iter()
                .find(|key| record.contains_key(*key));
            return match other {
                // A record may only set the base.
                None => Ok(None),
                Some(key) => Err(format!(
                    "its value is in {key:?}; a number in \"v\" is read"
                )),
            };
        };
        let at_ms = at_ms(
            self.time_s + number(record, "t")?.unwrap_or(0.0),
            received_ms,
        )?;
        let (what, symbol, factor) = what_of(&name, unit)?;
        let raw = Value::Object(record.clone()).to_string();
        let given = (value + self.value) * factor;
        let (value, canonical) = reading(&given.to_string(), what, symbol, false)?;
        Ok(Some(LogReading {
            instrument: instrument(&name)?,
            what,
            at_ms,
            value,
            unit: symbol,
            canonical,
            raw: raw.chars().take(1000).collect(),
            lapsed_sd: 0.0,
        }))
    }
}

fn at_ms(time_s: f64, received_ms: i64) -> Result<i64, String> {
    let ms = (time_s * 1000.0).round();
    if ms.abs() >= 1e15 || ms.is_nan() {
        return Err(format!("its time {time_s} cannot be"));
    }
    // Finite and small enough for an i64, as was just seen.
    let ms = ms as i64;
    let ms = if time_s.abs() < RELATIVE_BELOW_S {
        received_ms.saturating_add(ms)
    } else {
        ms
    };
    // The store keeps no other times.
    (0..super::TIMES_END_MS)
        .contains(&ms)
        .then_some(ms)
        .ok_or_else(|| format!("its time {time_s} cannot be"))
}

/// What was measured, the unit it is kept in, and the factor to that unit.
fn what_of(name: &str, unit: &str) -> Result<(What, &'static str, f64), String> {
    let last = last_word(name);
    let around = ["ambient", "room", "surroundings"].contains(&last.as_str());
    let heat = if around {
        What::Surroundings
    } else {
        What::Temperature
    };
    match (unit, last.as_str()) {
        ("Cel", _) => Ok((heat, "°C", 1.0)),
        ("K", _) => Ok((heat, "K", 1.0)),
        ("pH", _) => Ok((What::Ph, "pH", 1.0)),
        ("Pa", _) => Ok((What::Pressure, "Pa", 1.0)),
        // RFC 8798 adds hPa; kPa is in no registry, and is sent all the same.
        ("hPa", _) => Ok((What::Pressure, "Pa", 100.0)),
        ("kPa", _) => Ok((What::Pressure, "kPa", 1.0)),
        ("/" | "", "sg" | "gravity") => Ok((What::Gravity, "SG", 1.0)),
        ("%" | "", "plato" | "extract") => Ok((What::Gravity, "°P", 1.0)),
        ("%" | "", "brix") => Ok((What::Gravity, BRIX, 1.0)),
        // The registry has the ratio too, which RFC 8798 prefers to per cent.
        ("/", "plato" | "extract") => Ok((What::Gravity, "°P", 100.0)),
        _ => Err(format!(
            "the unit {unit:?} of {name:?} is not understood; known are Cel, K, pH, Pa, hPa, kPa, and for gravity a name that ends in sg (unit /) or plato or brix (unit %)"
        )),
    }
}

fn last_word(name: &str) -> String {
    let mut words = name.rsplit(|c: char| !c.is_alphanumeric());
    words.next().unwrap_or_default().to_lowercase()
}

/// The name without its last word where that only says what was measured.
fn instrument(name: &str) -> Result<String, String> {
    const WORDS: [&str; 12] = [
        "brix",
        "sg",
        "gravity",
        "plato",
        "extract",
        "ambient",
        "room",
        "surroundings",
        "temperature",
        "temp",
        "ph",
        "pressure",
    ];
    super::named(name)?;
    let last = last_word(name);
    let cut = if WORDS.contains(&last.as_str()) {
        let head = name.get(..name.len() - last.len()).unwrap_or(name);
        head.trim_end_matches(|c: char| !c.is_alphanumeric())
    } else {
        name
    };
    Ok(if cut.is_empty() { name } else { cut }.to_owned())
}

fn text<'r>(record: &'r Map<String, Value>, key: &str) -> Result<Option<&'r str>, String> {
    match record.get(key) {
        None => Ok(None),
        Some(Value::String(text)) => Ok(Some(text)),
        Some(other) => Err(format!("{key:?} is {other} and should be text")),
    }
}

fn number(record: &Map<String, Value>, key: &str) -> Result<Option<f64>, String> {
    match record.get(key) {
        None => Ok(None),
        Some(value) => value
            .as_f64()
            .filter(|x| x.is_finite())
            .map(Some)
            .ok_or_else(|| format!("{key:?} is {value} and should be a number")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const NOW: i64 = 1_773_480_413_589;

    /// The shapes of RFC 8428, sections 5.1.1 to 5.1.3, with quantities of a fermenter.
    #[test]
    fn packs_are_resolved_as_the_standard_has_it() {
        let one = read_senml(
            r#"[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]"#,
            NOW,
        )
        .unwrap();
        let reading = &one[0].readings[0];
        assert_eq!(
            (reading.at_ms, reading.value, reading.what),
            (NOW, 23.1, What::Temperature)
        );
        assert_eq!(reading.instrument, "urn:dev:ow:10e2073a01080063");
        let pack = r#"[
            {"bn":"float-1/","bt":1773480000,"bu":"Cel","bver":10,"n":"temperature","v":19.5},
            {"n":"sg","u":"/","t":-60,"v":1.0421},
            {"n":"room","t":60,"v":17.2},
            {"n":"pressure","u":"Pa","v":20000}
        ]"#;
        let read = read_senml(pack, NOW).unwrap();
        let all: Vec<&LogReading> = read.iter().flat_map(|f| &f.readings).collect();
        assert_eq!(all.len(), 4);
        assert!(all.iter().all(|r| r.instrument == "float-1"));
        assert_eq!(
            (all[1].what, all[1].at_ms),
            (What::Gravity, 1_773_479_940_000)
        );
        assert_eq!(
            (all[2].what, all[2].at_ms),
            (What::Surroundings, 1_773_480_060_000)
        );
        assert!((all[3].canonical - 0.2).abs() < 1e-12);
        let relative = read_senml(
            r#"[{"bn":"a/","bu":"%","n":"plato","t":-5,"v":2.4},{"n":"plato","t":-3600,"v":2.5}]"#,
            NOW,
        )
        .unwrap();
        assert_eq!(relative[0].readings[0].at_ms, NOW - 5000);
        assert!((relative[1].readings[0].canonical - 2.5).abs() < 1e-12);
        let based = read_senml(
            r#"[{"n":"a","u":"Cel","bv":10,"v":8.5},{"bn":"b"},{"n":"x","u":"Cel","v":1}]"#,
            NOW,
        )
        .unwrap();
        assert!((based[0].readings[0].value - 18.5).abs() < 1e-12);
        assert!(based[1].readings.is_empty() && based[1].refused.is_empty());
        assert!((based[2].readings[0].value - 11.0).abs() < 1e-12);
    }

    #[test]
    fn what_a_record_may_not_be_is_told_and_the_others_stay() {
        let pack = r#"[
            {"n":"a","u":"Cel","v":"warm"},
            {"n":"a","u":"lm","v":3},
            {"n":"a","u":"Cel","vs":"20"},
            {"u":"Cel","v":20},
            {"n":"a","u":"Cel","v":400},
            {"n":"a","u":"Cel","v":20,"new_":1},
            {"bver":11,"n":"a","u":"Cel","v":20},
            7,
            {"n":"a","u":"Cel","v":20}
        ]"#;
        let fates = read_senml(pack, NOW).unwrap();
        let words = [
            "should be a number",
            "not understood",
            "\"vs\"",
            "no name",
            "cannot be",
            "must be understood",
            "later version",
            "no record",
        ];
        for (fate, word) in fates.iter().zip(words) {
            assert!(fate.refused[0].contains(word), "{fate:?} {word}");
        }
        assert_eq!(fates[8].readings.len(), 1);
        for text in ["", "{}", "[1,", "null", "\"a\""] {
            let error = read_senml(text, NOW).unwrap_err().to_string();
            assert!(error.contains("RFC 8428"), "{error}");
        }
        assert_eq!(read_senml("[]", NOW), Err(LogError::Empty));
    }

    proptest! {
        #[test]
        fn no_text_breaks_it(text in "[\\[\\]{}\":,a-z0-9._\\- ]{0,200}", now in any::<i64>()) {
            let _ = read_senml(&text, now);
        }

        #[test]
        fn no_numbers_break_it(v in any::<f64>(), t in any::<f64>(), bt in any::<f64>()) {
            let record = serde_json::json!([{"n": "a", "u": "Cel", "v": v, "t": t, "bt": bt}]);
            let fates = read_senml(&record.to_string(), NOW).unwrap();
            prop_assert!(fates[0].readings.iter().all(|r| r.canonical.is_finite()));
        }
    }
}
