//! Questions about a pitch as they are typed: a wort and its yeast without a batch, and
//! what a starter may be.

use ferment::{FermentError, StarterPlan, StarterWish, strain};
use quantity::{
    Altitude, Bitterness, Gravity, Quantity, QuantityError, Temperature, Volume, parse_value,
};

use super::{PitchQuestion, Pitching, target, usual_wish};
use crate::document::{YeastSection, yeast};
use crate::plan::{starter, yeast_at_hand};
use crate::reader::{Fault, read_part};
use crate::stream::split;

/// A wort and the yeast for it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TypedPitch {
    /// Original gravity.
    pub gravity: String,
    /// Wort.
    pub volume: String,
    /// Temperature of the wort; empty: the middle of what the yeast likes.
    pub temperature: String,
    /// Height above the sea; empty: sea level.
    pub altitude: String,
    /// Keys of `[yeast]` of a document, with their values.
    pub yeast: Vec<(String, String)>,
    /// What a starter may be.
    pub wish: TypedWish,
}

/// What a starter may be.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TypedWish {
    /// Gravity of its wort; empty: 9 °P.
    pub gravity: String,
    /// The most that its vessel holds; empty: whatever it takes.
    pub vessel: String,
}

impl TypedPitch {
    /// Answers the question.
    ///
    /// # Errors
    /// Everything that is wrong with it, each at the field that it concerns.
    pub fn answer(&self) -> Result<Pitching, Vec<Fault>> {
        let mut faults = Vec::new();
        let gravity: Option<Gravity> = needed(&mut faults, "gravity", &self.gravity, "1.050");
        let volume: Option<Volume> = needed(&mut faults, "volume", &self.volume, "20 L");
        let temperature: Option<Temperature> =
            optional(&mut faults, "temperature", &self.temperature);
        let altitude: Option<Altitude> = optional(&mut faults, "altitude", &self.altitude);
        let wish = self.wish.read().unwrap_or_else(|wrong| {
            faults.extend(wrong);
            usual_wish()
        });
        let section = self.section().map_err(|wrong| faults.extend(wrong));
        let (Some(gravity), Some(volume), Ok(section), true) =
            (gravity, volume, section, faults.is_empty())
        else {
            return Err(faults);
        };
        of_section(&section, gravity, volume, temperature, altitude, wish)
            .map_err(|error| vec![refused(&error)])
    }

    /// The yeast, read as a document has it.
    fn section(&self) -> Result<YeastSection, Vec<Fault>> {
        let given = self
            .yeast
            .iter()
            .filter(|(_, text)| !text.trim().is_empty());
        let text: String = given
            .map(|(key, text)| format!("{key} = {}\n", toml_edit::Value::from(text.trim())))
            .collect();
        let read = read_part("yeast", &text, yeast);
        read.map(|(section, _)| section).map_err(|faults| {
            let own = faults.into_iter();
            own.map(|fault| Fault {
                span: 0..0,
                ..fault
            })
            .collect()
        })
    }
}

fn of_section(
    section: &YeastSection,
    gravity: Gravity,
    volume: Volume,
    temperature: Option<Temperature>,
    altitude: Option<Altitude>,
    wish: StarterWish,
) -> Result<Pitching, FermentError> {
    let strain = strain(&section.class)?.clone();
    let ideal = 0.5 * (strain.ideal.low.c() + strain.ideal.high.c());
    Pitching::of(PitchQuestion {
        target: target(&strain, section),
        yeast: yeast_at_hand(section),
        starter: starter(section),
        gravity,
        volume,
        bitterness: Bitterness::default(),
        temperature: temperature.unwrap_or(Temperature::from_c(ideal)),
        altitude: altitude.unwrap_or_default(),
        wish,
        strain,
    })
}

impl TypedWish {
    /// What was wished.
    ///
    /// # Errors
    /// Everything that is wrong with it, each at its field.
    pub fn read(&self) -> Result<StarterWish, Vec<Fault>> {
        let mut faults = Vec::new();
        let usual = usual_wish();
        let gravity = optional(&mut faults, "starter_gravity", &self.gravity);
        let vessel = optional(&mut faults, "vessel", &self.vessel);
        if !faults.is_empty() {
            return Err(faults);
        }
        Ok(StarterWish {
            gravity: gravity.unwrap_or(usual.gravity),
            vessel,
            ..usual
        })
    }
}

fn fault(path: &str, message: String, help: String) -> Fault {
    Fault {
        span: 0..0,
        path: path.to_owned(),
        message,
        help,
    }
}

fn refused(error: &FermentError) -> Fault {
    let (message, help) = split(&error.to_string());
    let place = ["gravity", "volume", "temperature", "altitude"];
    let path = match error {
        FermentError::Impossible { what, .. } => match *what {
            "starter vessel" => "vessel",
            "starter gravity" => "starter_gravity",
            what => place.into_iter().find(|p| what.contains(p)).unwrap_or(""),
        },
        _ => "",
    };
    fault(path, message, help)
}

fn needed<Q: Quantity>(
    faults: &mut Vec<Fault>,
    path: &str,
    text: &str,
    example: &str,
) -> Option<Q> {
    if text.trim().is_empty() {
        let help = format!("write it as in {example}");
        faults.push(fault(path, format!("{path} is missing"), help));
        return None;
    }
    optional(faults, path, text)
}

fn optional<Q: Quantity>(faults: &mut Vec<Fault>, path: &str, text: &str) -> Option<Q> {
    if text.trim().is_empty() {
        return None;
    }
    let told = |error: QuantityError| fault(path, error.fault(), error.help());
    parse_value(text.trim())
        .map_err(|error| faults.push(told(error)))
        .ok()
}

/// The steps of a planned starter as entries of `yeast.step`, key by key.
#[must_use]
pub fn starter_entries(plan: &StarterPlan) -> Vec<Vec<(String, String)>> {
    let steps = plan.starter.steps.iter();
    steps
        .map(|step| {
            vec![
                ("volume".to_owned(), format!("{:.2} L", step.volume.l())),
                (
                    "gravity".to_owned(),
                    format!("{:.1} °P", step.gravity.plato()),
                ),
                ("way".to_owned(), step.stirring.word().to_owned()),
            ]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(yeast: &[(&str, &str)]) -> TypedPitch {
        TypedPitch {
            gravity: "1.050".to_owned(),
            volume: "20 L".to_owned(),
            yeast: yeast
                .iter()
                .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
                .collect(),
            ..TypedPitch::default()
        }
    }

    #[test]
    fn a_wort_and_a_packet_are_enough() {
        let asked = typed(&[
            ("class", "lager"),
            ("aim", "clean"),
            ("form", "liquid"),
            ("cells", "100 billion cells"),
            ("age", "30 d"),
        ]);
        let got = asked.answer().unwrap();
        assert!((got.question.target.rate.millions_per_ml_plato() - 2.0).abs() < 1e-12);
        assert!(got.report.ratio < 0.5 && got.ways.ways.len() > 3);
        assert!(got.cases.is_empty());
    }

    #[test]
    fn everything_wrong_is_told_at_its_field() {
        let mut asked = typed(&[("class", "larger"), ("form", "dry")]);
        asked.gravity = "heavy\" = \n[x]".to_owned();
        asked.volume = String::new();
        asked.wish.vessel = "big".to_owned();
        let faults = asked.answer().unwrap_err();
        let paths: Vec<&str> = faults.iter().map(|f| f.path.as_str()).collect();
        for path in ["gravity", "volume", "vessel", "class"] {
            assert!(paths.contains(&path), "{paths:?}");
        }
        assert!(faults.iter().any(|f| f.help.contains("lager")));
        let quoted = typed(&[("class", "lager\"\nform = \"dry")])
            .answer()
            .unwrap_err();
        assert!(
            quoted.iter().any(|f| f.path == "class"),
            "a value stays one value"
        );
    }

    #[test]
    fn what_the_model_refuses_is_told_too() {
        let mut asked = typed(&[("class", "lager"), ("form", "slurry"), ("slurry", "0 mL")]);
        assert!(
            asked.answer().unwrap_err()[0]
                .message
                .contains("no living yeast")
        );
        asked.gravity = "45 °P".to_owned();
        assert_eq!(asked.answer().unwrap_err()[0].path, "gravity");
    }
}
