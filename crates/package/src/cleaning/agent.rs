//! The agents: rows of `data/agents.toml`.

use std::sync::LazyLock;

use quantity::{Caution, Density, Dilution, Duration, Fraction, Note, Source, Temperature, Units};

use super::working::{StockStrength, Strength};
use crate::error::{PackageError, find};

/// Something to clean or to sanitise with.
#[derive(Debug, Clone, PartialEq)]
pub struct Agent {
    /// The key that documents use.
    pub key: String,
    /// Its name.
    pub name: String,
    /// What it is for.
    pub does: Does,
    /// What it counts as where agents meet.
    pub kinds: Vec<String>,
    /// What its strength counts; none for heat.
    pub of: Option<String>,
    /// Usual strength, from the least to the most; none for heat.
    pub strength: Option<(Strength, Strength)>,
    /// The strength up to which it may be drained without a rinse; none: it is always
    /// rinsed off, but for heat.
    pub rinse_above: Option<Strength>,
    /// How long it has to work.
    pub contact: (Duration, Duration),
    /// At which temperatures; none: that of the room.
    pub temperature: Option<(Temperature, Temperature)>,
    /// How it is used.
    pub usage: String,
    /// How it is sold.
    pub stocks: Vec<Stock>,
    /// What it can leave in beer.
    pub leaves: Vec<Leaves>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
    /// Where the row comes from.
    pub source: Source,
}

/// What an agent is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Does {
    /// It takes soil off.
    Cleans,
    /// It takes scale off.
    Descales,
    /// It kills what is left on clean surfaces.
    Sanitises,
}

impl Does {
    /// The word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Cleans => "cleans",
            Self::Descales => "takes scale off",
            Self::Sanitises => "sanitises",
        }
    }
}

/// A form in which an agent is sold.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// Its key.
    pub key: String,
    /// Its name.
    pub name: String,
    /// How strong it is.
    pub strength: StockStrength,
}

/// A fault that an agent can leave in beer.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaves {
    /// The fault in a word: medicinal, vinegar, soapy, oxidised, metallic, sour, flat head.
    pub fault: String,
    /// What it is like and why.
    pub what: String,
    /// When.
    pub when: String,
    /// Where that comes from.
    pub source: Source,
}

impl Agent {
    /// All agents, cleaners before sanitisers.
    #[must_use]
    pub fn all() -> &'static [Self] {
        &AGENTS
    }

    /// The agent with a key.
    ///
    /// # Errors
    /// [`PackageError::UnknownKey`] with the nearest key.
    pub fn find(key: &str) -> Result<&'static Self, PackageError> {
        find("cleaning agent", &AGENTS, |agent| &agent.key, key)
    }

    /// What to say of a strength that is not the usual one.
    #[must_use]
    pub fn remark_on(&self, used: Strength) -> Option<Note> {
        let (low, high) = self.strength?;
        let shown = |strength: Strength| strength.show(Units::Metric);
        let name = &self.name;
        if low.is_above(used) {
            return Some(Note::look(format!(
                "{name} of {} is weaker than the {} that it works at",
                shown(used),
                shown(low)
            )));
        }
        used.is_above(high).then(|| {
            Note::look(format!(
                "{name} of {} is stronger than the {} that is usual: it gains nothing and leaves more",
                shown(used),
                shown(high)
            ))
        })
    }

    /// Whether it has to be rinsed off at a strength; heat has not.
    #[must_use]
    pub fn needs_rinse(&self, strength: Option<Strength>) -> bool {
        let Some(free) = self.rinse_above else {
            return self.strength.is_some();
        };
        strength
            .or(self.strength.map(|s| s.1))
            .is_none_or(|used| used.is_above(free))
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    agent: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    name: String,
    does: DoesWord,
    kinds: Vec<String>,
    of: Option<String>,
    low: Option<String>,
    high: Option<String>,
    rinse_above: Option<String>,
    contact_low: String,
    contact_high: String,
    coldest: Option<String>,
    warmest: Option<String>,
    #[serde(rename = "use")]
    usage: String,
    cautions: Vec<String>,
    source: String,
    mark: String,
    #[serde(default)]
    stock: Vec<StockRow>,
    #[serde(default)]
    leaves: Vec<LeavesRow>,
}

#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum DoesWord {
    Cleans,
    Descales,
    Sanitises,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct StockRow {
    key: String,
    name: String,
    basis: String,
    strength: Option<String>,
    density: Option<String>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct LeavesRow {
    fault: String,
    what: String,
    when: String,
    source: String,
    mark: String,
}

const FILE: &str = "agents.toml";

static AGENTS: LazyLock<Vec<Agent>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../../data/agents.toml"));
    file.agent.into_iter().map(agent).collect()
});

fn agent(row: Row) -> Agent {
    let strength = |text: &String| match text.contains("mL/L") {
        true => Strength::Mixed(quantity::data::quantity(FILE, &row.key, text)),
        false => Strength::Active(quantity::data::quantity(FILE, &row.key, text)),
    };
    let temperature = |text: &String| quantity::data::quantity(FILE, &row.key, text);
    let contact = |text: &str| quantity::data::quantity(FILE, &row.key, text);
    let source = |text: String, mark: &str| Source {
        text,
        mark: quantity::data::mark(FILE, &row.key, mark),
    };
    Agent {
        does: match row.does {
            DoesWord::Cleans => Does::Cleans,
            DoesWord::Descales => Does::Descales,
            DoesWord::Sanitises => Does::Sanitises,
        },
        strength: row
            .low
            .as_ref()
            .map(strength)
            .zip(row.high.as_ref().map(strength)),
        rinse_above: row.rinse_above.as_ref().map(strength),
        contact: (contact(&row.contact_low), contact(&row.contact_high)),
        temperature: row
            .coldest
            .as_ref()
            .map(temperature)
            .zip(row.warmest.as_ref().map(temperature)),
        stocks: row.stock.iter().map(|s| stock(&row.key, s)).collect(),
        leaves: row
            .leaves
            .into_iter()
            .map(|l| Leaves {
                source: source(l.source, &l.mark),
                fault: l.fault,
                what: l.what,
                when: l.when,
            })
            .collect(),
        cautions: Caution::ALL
            .iter()
            .copied()
            .filter(|c| row.cautions.iter().any(|key| key == c.key()))
            .collect(),
        source: source(row.source.clone(), &row.mark),
        usage: row.usage,
        kinds: row.kinds,
        of: row.of,
        key: row.key,
        name: row.name,
    }
}

fn stock(agent: &str, row: &StockRow) -> Stock {
    let share = |text: &String| quantity::data::quantity::<Fraction>(FILE, agent, text);
    let part = row.strength.as_ref().map(share).unwrap_or_default();
    let strength = match row.basis.as_str() {
        "solid" => StockStrength::Solid(part),
        "as sold" => StockStrength::AsSold,
        "of volume" => StockStrength::OfVolume(Dilution::from_ml_per_l(1e3 * part.ratio())),
        "by mass" => {
            let density = row.density.as_ref();
            let density = density.map(|d| quantity::data::quantity::<Density>(FILE, agent, d));
            StockStrength::by_mass(part, density.unwrap_or_default())
        }
        _ => StockStrength::by_volume(part),
    };
    Stock {
        key: row.key.clone(),
        name: row.name.clone(),
        strength,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::MassConcentration;

    #[test]
    fn every_row_is_sound_and_has_its_own_key() {
        let text = include_str!("../../data/agents.toml");
        for (i, agent) in Agent::all().iter().enumerate() {
            let key = &agent.key;
            assert!(
                !agent.source.text.is_empty() && !agent.usage.is_empty(),
                "{key}"
            );
            assert!(
                Agent::all().iter().skip(i + 1).all(|a| a.key != *key),
                "{key}"
            );
            assert!(agent.contact.0 <= agent.contact.1, "{key}");
            if let Some((low, high)) = agent.strength {
                assert!(!low.is_above(high) && !agent.stocks.is_empty(), "{key}");
                assert!(agent.of.is_some(), "{key}");
            }
            assert!(
                agent.leaves.iter().all(|l| !l.source.text.is_empty()),
                "{key}"
            );
        }
        // A caution that no key knows would be lost without a word.
        let named = text
            .lines()
            .filter(|l| l.starts_with("cautions"))
            .map(|l| l.matches('"').count() / 2);
        let kept: usize = Agent::all().iter().map(|a| a.cautions.len()).sum();
        assert_eq!(named.sum::<usize>(), kept);
        for basis in text.lines().filter_map(|l| l.strip_prefix("basis = ")) {
            let known = ["solid", "by mass", "by volume", "of volume", "as sold"];
            assert!(known.contains(&basis.trim_matches('"')), "{basis}");
        }
    }

    #[test]
    fn each_says_when_it_is_rinsed() {
        let needs = |key: &str, mg_per_l: f64| {
            let used = Strength::Active(MassConcentration::from_mg_per_l(mg_per_l));
            Agent::find(key).unwrap().needs_rinse(Some(used))
        };
        assert!(needs("hypochlorite", 50.0) && needs("caustic", 100.0) && needs("quat", 10.0));
        assert!(!needs("iodophor", 12.5) && needs("iodophor", 25.0));
        assert!(!needs("peracetic-acid", 150.0) && needs("peracetic-acid", 400.0));
        assert!(!Agent::find("heat").unwrap().needs_rinse(None));
        assert!(
            Agent::find("iodophor").unwrap().needs_rinse(None),
            "unknown: at its most"
        );
    }
}
