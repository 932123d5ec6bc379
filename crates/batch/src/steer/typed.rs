//! A wish as it is typed: plain words and figures, each with what is wrong at its field.

use std::collections::BTreeMap;

use ferment::steer::{Aim, Figure, Goal, Limit};
use quantity::{
    Duration, Gravity, MassConcentration, Quantity, Temperature, TemperatureDifference, parse_value,
};

use crate::reader::Fault;

/// Figures that may be wished, by their keys.
pub const FIGURES: [(&str, Figure); 6] = [
    ("butter", Figure::Diacetyl),
    ("banana", Figure::IsoamylAcetate),
    ("clove", Figure::Vinylguaiacol),
    ("esters", Figure::EthylAcetate),
    ("fusel", Figure::IsoamylAlcohol),
    ("gravity", Figure::Gravity),
];

/// What may be wished of a figure, in the words of a form.
pub const WANTS: [&str; 4] = ["at most", "at least", "least", "most"];

/// Fields beside those of the figures.
const FIELDS: [&str; 13] = [
    "by",
    "soon",
    "coldest",
    "warmest",
    "steepest",
    "yeast_least",
    "yeast_most",
    "against",
    "running",
    "now",
    "read",
    "show",
    "on",
];

/// A wish as typed. Each figure is wished in words, as in "at most 0.1 mg/L", "at least
/// 2 mg/L", "least", "most", "most weight 2"; a form may give the amount and the weight
/// apart, as `butter_amount` and `butter_weight`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TypedSteer {
    given: BTreeMap<String, String>,
}

/// A wish that was read.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Read {
    pub(super) aims: Vec<Aim>,
    pub(super) limits: Vec<Limit>,
    pub(super) by: Option<Duration>,
    pub(super) coldest: Option<Temperature>,
    pub(super) warmest: Option<Temperature>,
    pub(super) steepest: Option<TemperatureDifference>,
    pub(super) yeast: (Option<f64>, Option<f64>),
    pub(super) against: Option<Figure>,
    /// The readings that are kept with the batch say where it stands.
    pub(super) running: bool,
    pub(super) now: Option<Duration>,
    pub(super) readings: Vec<(Duration, Gravity, Option<Temperature>)>,
}

impl<K: Into<String>, V: Into<String>> FromIterator<(K, V)> for TypedSteer {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(pairs: I) -> Self {
        let given = pairs.into_iter().map(|(k, v)| (k.into(), v.into()));
        Self {
            given: given.collect(),
        }
    }
}

impl TypedSteer {
    /// What was typed under a name; empty where nothing was.
    #[must_use]
    pub fn get(&self, name: &str) -> &str {
        self.given.get(name).map_or("", |text| text.trim())
    }

    /// All that was typed: names and texts.
    pub fn pairs(&self) -> impl Iterator<Item = (&str, &str)> {
        let pairs = self.given.iter();
        pairs.map(|(name, text)| (name.as_str(), text.as_str()))
    }

    /// The wish of a figure as a form shows it: word, amount, weight.
    #[must_use]
    pub fn parts(&self, key: &str) -> [String; 3] {
        let text = self.get(key);
        let (text, weight) = match text.rsplit_once(" weight ") {
            Some((text, weight)) => (text.trim(), weight.trim()),
            None => (text, self.get(&format!("{key}_weight"))),
        };
        let amount = self.get(&format!("{key}_amount"));
        let word = WANTS.iter().find_map(|want| {
            let rest = text.strip_prefix(want)?.trim();
            Some((*want, if rest.is_empty() { amount } else { rest }))
        });
        let (word, amount) = word.unwrap_or((text, amount));
        [word, amount, weight].map(str::to_owned)
    }

    /// Reads it.
    ///
    /// # Errors
    /// Everything that is wrong, each at its field.
    pub(super) fn read(&self) -> Result<Read, Vec<Fault>> {
        let mut faults = self.unknown();
        let mut read = Read::default();
        for (key, figure) in FIGURES {
            match self.wanted(key, figure) {
                Ok(Some(Wanted::Aim(aim))) => read.aims.push(aim),
                Ok(Some(Wanted::Limit(limit))) => read.limits.push(limit),
                Ok(None) => {}
                Err(fault) => faults.push(fault),
            }
        }
        let mut own = Fields {
            typed: self,
            faults: &mut faults,
        };
        read.by = own.quantity("by");
        read.coldest = own.quantity("coldest");
        read.warmest = own.quantity("warmest");
        read.steepest = own.quantity("steepest");
        read.now = own.quantity("now");
        read.running = self.get("running") == "yes";
        read.yeast = (own.number("yeast_least"), own.number("yeast_most"));
        let soon = match self.get("soon") {
            "" => None,
            "yes" => Some(1.0),
            _ => own.number("soon"),
        };
        read.aims.extend(soon.map(|weight| Aim {
            figure: Figure::Days,
            goal: Goal::Least,
            weight,
        }));
        read.against = match self.get("against") {
            "" => None,
            word => {
                let known = FIGURES.iter().find(|(key, _)| *key == word);
                if known.is_none() {
                    let keys = FIGURES.map(|(key, _)| key).join(", ");
                    own.wrong(
                        "against",
                        format!("{word:?} is no figure"),
                        format!("ask for one of {keys}"),
                    );
                }
                known.map(|(_, figure)| *figure)
            }
        };
        for line in self.get("read").split([';', '\n']).map(str::trim) {
            if line.is_empty() {
                continue;
            }
            match reading(line) {
                Some(one) => read.readings.push(one),
                None => own.wrong(
                    "read",
                    format!("{line:?} is no reading"),
                    "write time since pitching, gravity and, if read, temperature, as in 3 d, 1.030, 18 °C; a semicolon or a new line between readings".to_owned(),
                ),
            }
        }
        if faults.is_empty() {
            Ok(read)
        } else {
            Err(faults)
        }
    }

    fn unknown(&self) -> Vec<Fault> {
        let known = |name: &str| {
            let key = name
                .strip_suffix("_amount")
                .or(name.strip_suffix("_weight"));
            let figure = |key: &str| FIGURES.iter().any(|(known, _)| *known == key);
            FIELDS.contains(&name) || figure(name) || key.is_some_and(figure)
        };
        let names = self.given.keys().filter(|name| !known(name));
        names
            .map(|name| {
                let help = format!(
                    "ask for {}, {}",
                    FIGURES.map(|(key, _)| key).join(", "),
                    FIELDS[..FIELDS.len() - 2].join(", ")
                );
                fault(name, format!("{name:?} is no field of a wish"), help)
            })
            .collect()
    }

    fn wanted(&self, key: &str, figure: Figure) -> Result<Option<Wanted>, Fault> {
        let [word, amount, weight] = self.parts(key);
        let goal = match word.as_str() {
            "" => return Ok(None),
            "least" => Goal::Least,
            "most" => Goal::Most,
            "at most" | "at least" => {
                let value = value(figure, key, &amount)?;
                let most = word == "at most";
                return Ok(Some(Wanted::Limit(Limit {
                    figure,
                    value,
                    most,
                })));
            }
            _ => {
                let example = if figure == Figure::Gravity {
                    "1.010"
                } else {
                    "0.1 mg/L"
                };
                return Err(fault(
                    key,
                    format!("{word:?} is no wish"),
                    format!("write at most {example}, at least {example}, least or most"),
                ));
            }
        };
        let weight = match weight.as_str() {
            "" => Ok(1.0),
            text => text
                .parse::<f64>()
                .ok()
                .filter(|w| *w > 0.0 && *w <= 1e3)
                .ok_or_else(|| {
                    fault(
                        &format!("{key}_weight"),
                        format!("{text:?} is no weight"),
                        "write a number above nought, such as 2".to_owned(),
                    )
                }),
        };
        Ok(Some(Wanted::Aim(Aim {
            figure,
            goal,
            weight: weight?,
        })))
    }
}

enum Wanted {
    Aim(Aim),
    Limit(Limit),
}

/// An amount in the unit of its figure: °P or mg/L.
fn value(figure: Figure, key: &str, text: &str) -> Result<f64, Fault> {
    let path = format!("{key}_amount");
    if text.is_empty() {
        let help = "write it, as in 0.1 mg/L or 1.010".to_owned();
        return Err(fault(&path, "the amount is missing".to_owned(), help));
    }
    let told = |error: quantity::QuantityError| fault(&path, error.fault(), error.help());
    if figure == Figure::Gravity {
        return parse_value::<Gravity>(text)
            .map(Gravity::plato)
            .map_err(told);
    }
    let mg = parse_value::<MassConcentration>(text)
        .map(MassConcentration::mg_per_l)
        .map_err(told)?;
    if mg > 0.0 {
        return Ok(mg);
    }
    let help = "a trace of it is always there; write a little, such as 0.05 mg/L".to_owned();
    Err(fault(
        &path,
        "none at all cannot be asked for".to_owned(),
        help,
    ))
}

fn reading(line: &str) -> Option<(Duration, Gravity, Option<Temperature>)> {
    let mut parts = line.split(',').map(str::trim);
    let at = parse_value::<Duration>(parts.next()?).ok()?;
    let gravity = parse_value::<Gravity>(parts.next()?).ok()?;
    let temperature = match parts.next() {
        Some(text) => Some(parse_value::<Temperature>(text).ok()?),
        None => None,
    };
    parts.next().is_none().then_some((at, gravity, temperature))
}

struct Fields<'t> {
    typed: &'t TypedSteer,
    faults: &'t mut Vec<Fault>,
}

impl Fields<'_> {
    fn quantity<Q: Quantity>(&mut self, name: &str) -> Option<Q> {
        let text = self.typed.get(name);
        if text.is_empty() {
            return None;
        }
        match parse_value(text) {
            Ok(value) => Some(value),
            Err(error) => {
                self.wrong(name, error.fault(), error.help());
                None
            }
        }
    }

    /// A number above nought; per cent are told as such.
    fn number(&mut self, name: &str) -> Option<f64> {
        let text = self.typed.get(name);
        if text.is_empty() {
            return None;
        }
        let (digits, share) = match text.strip_suffix('%') {
            Some(digits) => (digits.trim(), 0.01),
            None => (text, 1.0),
        };
        let number = digits.parse::<f64>().ok().map(|x| x * share);
        let number = number.filter(|x| *x >= 0.05 && *x <= 20.0);
        if number.is_none() {
            let help = "write a number from 0.05 to 20, such as 0.8, or 80 %".to_owned();
            self.wrong(name, format!("{text:?} cannot be used"), help);
        }
        number
    }

    fn wrong(&mut self, path: &str, message: String, help: String) {
        self.faults.push(fault(path, message, help));
    }
}

pub(crate) fn fault(path: &str, message: String, help: String) -> Fault {
    Fault {
        span: 0..0,
        path: path.to_owned(),
        message,
        help,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(pairs: &[(&str, &str)]) -> TypedSteer {
        pairs.iter().copied().collect()
    }

    #[test]
    fn words_and_forms_say_the_same() {
        let words = typed(&[("butter", "at most 0.1 mg/L"), ("banana", "most weight 2")]);
        let form = typed(&[
            ("butter", "at most"),
            ("butter_amount", "0.1 mg/L"),
            ("butter_weight", ""),
            ("banana", "most"),
            ("banana_weight", "2"),
            ("clove", ""),
        ]);
        let read = words.read().unwrap();
        assert_eq!(read, form.read().unwrap());
        assert_eq!(read.limits, [Limit::at_most(Figure::Diacetyl, 0.1)]);
        assert!((read.aims[0].weight - 2.0).abs() < 1e-12 && read.aims[0].goal == Goal::Most);
        assert_eq!(words.parts("butter"), form.parts("butter"));
    }

    #[test]
    fn everything_wrong_is_told_at_its_field() {
        let odd = typed(&[
            ("butter", "none"),
            ("banana", "at least"),
            ("clove", "at most 0 mg/L"),
            ("esters", "most weight heavy"),
            ("gravity", "at most 1.5 kg"),
            ("by", "soon"),
            ("yeast_most", "many"),
            ("against", "time"),
            ("read", "3 d 1.030"),
            ("colour", "at most 3"),
        ]);
        let faults = odd.read().unwrap_err();
        let paths: Vec<&str> = faults.iter().map(|f| f.path.as_str()).collect();
        for path in [
            "butter",
            "banana_amount",
            "clove_amount",
            "esters_weight",
            "gravity_amount",
            "by",
            "yeast_most",
            "against",
            "read",
            "colour",
        ] {
            assert!(paths.contains(&path), "{path}: {paths:?}");
        }
        assert!(faults.iter().all(|f| !f.help.is_empty()));
    }

    #[test]
    fn readings_are_lines() {
        let read = typed(&[
            ("read", "2 d, 1.040; 3 d, 1.030, 18 °C\n"),
            ("soon", "50 %"),
        ]);
        let read = read.read().unwrap();
        assert_eq!(read.readings.len(), 2);
        assert!(read.readings[1].2.is_some() && (read.aims[0].weight - 0.5).abs() < 1e-12);
    }
}
