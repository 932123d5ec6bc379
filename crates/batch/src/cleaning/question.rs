//! What is asked about cleaning: how much of a stock, and whether two may meet.

use std::collections::BTreeSet;

use package::PackageError;
use package::cleaning::{
    Agent, Meeting, Mixture, StockStrength, Strength, Working, kinds_of, never_meet,
    working_solution,
};
use quantity::{Caution, Density, Dilution, Fraction, MassConcentration, Note, Units, Volume};

use crate::liquor::Wrong;

/// How much of a stock makes a solution. Empty fields take what is usual.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct MixQuestion {
    /// The agent by its key.
    pub agent: String,
    /// A stock by its key, or its strength, as in "5.25 %".
    pub stock: String,
    /// Its density, where the strength is one by mass.
    pub density: String,
    /// The strength of the solution.
    pub to: String,
    /// How much of it.
    pub volume: String,
}

/// A solution as it is made.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixed {
    /// The agent.
    pub agent: &'static Agent,
    /// The stock in words.
    pub stock: String,
    /// What to take.
    pub working: Working,
    /// How much it makes.
    pub volume: Volume,
    /// What to know.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// Two that are asked about.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// One.
    pub one: Meeting,
    /// The other.
    pub other: Meeting,
    /// What comes of it; empty where nothing is known, which is not the same as safe.
    pub mixtures: Vec<&'static Mixture>,
    /// What can hurt, where they must not meet.
    pub cautions: Vec<Caution>,
}

impl Together {
    /// The answer in a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        if self.mixtures.is_empty() {
            return format!(
                "Nothing is known here against {} and {}. That is not the same as safe: rinse between any two, and let the safety data sheets decide.",
                self.one.name, self.other.name
            );
        }
        let gives: Vec<&str> = self.mixtures.iter().map(|m| m.gives.as_str()).collect();
        format!(
            "Never together: {} and {} give {}.",
            self.one.name,
            self.other.name,
            gives.join("; and ")
        )
    }
}

/// Says how much of a stock makes a solution.
///
/// # Errors
/// All that is wrong in the question, with its field.
pub fn mix(question: &MixQuestion) -> Result<Mixed, Vec<Wrong>> {
    let agent = Agent::find(question.agent.trim()).map_err(|e| vec![wrong("agent", &e)])?;
    let Some(usual) = agent.rinse_above.or(agent.strength.map(|s| s.1)) else {
        return Err(vec![told(
            "agent",
            format!("{} is not mixed; choose one that is", agent.name),
        )]);
    };
    let mut wrongs = Vec::new();
    let stock = keep(stock(agent, question), &mut wrongs);
    let aim = keep(aim(usual, &question.to), &mut wrongs);
    let volume = keep(volume(&question.volume), &mut wrongs);
    let (Some((name, strength)), Some(aim), Some(volume)) = (stock, aim, volume) else {
        return Err(wrongs);
    };
    let working = working_solution(&strength, aim, volume).map_err(|e| {
        let field = match e {
            PackageError::WeakStock => "stock",
            PackageError::Impossible { what, .. } if what.contains("stock") => "stock",
            PackageError::Impossible { what, .. } if what.contains("volume") => "volume",
            _ => "to",
        };
        vec![wrong(field, &e)]
    })?;
    Ok(Mixed {
        agent,
        stock: name,
        working,
        volume,
        notes: notes(agent, aim),
        cautions: agent.cautions.clone(),
    })
}

/// Says whether two may meet.
///
/// # Errors
/// What is not known, with its field.
pub fn together(one: &str, other: &str) -> Result<Together, Vec<Wrong>> {
    let mut wrongs = Vec::new();
    let mut find = |field: &str, key: &str| {
        keep(
            kinds_of(key.trim()).map_err(|e| wrong(field, &e)),
            &mut wrongs,
        )
    };
    let (Some(one), Some(other)) = (find("one", one), find("other", other)) else {
        return Err(wrongs);
    };
    let mixtures = never_meet(one.kinds, other.kinds);
    let cautions = match mixtures.is_empty() {
        true => Vec::new(),
        false => cautions_of(&[one, other]),
    };
    Ok(Together {
        mixtures,
        cautions,
        one,
        other,
    })
}

/// The cautions of those that are agents, each once.
fn cautions_of(met: &[Meeting]) -> Vec<Caution> {
    let agents = met.iter().filter_map(|m| Agent::find(m.key).ok());
    let all: BTreeSet<Caution> = agents.flat_map(|a| a.cautions.iter().copied()).collect();
    all.into_iter().collect()
}

fn notes(agent: &Agent, aim: Strength) -> Vec<Note> {
    let mut notes: Vec<Note> = agent.remark_on(aim).into_iter().collect();
    notes.push(if agent.needs_rinse(Some(aim)) {
        Note::look("rinse it off before beer or wort comes near")
    } else {
        Note::fine("drain well; at this strength it needs no rinse")
    });
    if agent.kinds.iter().any(|k| k == "chlorine") {
        notes.push(Note::look(
            "bleach loses strength on the shelf, by half in some months: buy it fresh, or test the solution with a strip",
        ));
    }
    notes.push(Note::fine(
        "the chemical goes into cold water, never water onto the chemical",
    ));
    notes
}

fn keep<T>(found: Result<T, Wrong>, wrongs: &mut Vec<Wrong>) -> Option<T> {
    found.map_err(|wrong| wrongs.push(wrong)).ok()
}

fn wrong(field: &str, error: &impl ToString) -> Wrong {
    told(field, error.to_string())
}

fn told(field: &str, message: String) -> Wrong {
    Wrong {
        field: field.to_owned(),
        message,
    }
}

fn stock(agent: &Agent, question: &MixQuestion) -> Result<(String, StockStrength), Wrong> {
    let text = question.stock.trim();
    let row = agent.stocks.iter().find(|s| s.key == text);
    let first = agent.stocks.first().filter(|_| text.is_empty());
    if let Some(stock) = row.or(first) {
        return Ok((stock.name.clone(), stock.strength));
    }
    let kind = agent.stocks.first().map(|s| s.strength);
    let part = || text.parse::<Fraction>().map_err(|e| wrong("stock", &e));
    let strength = match kind {
        Some(StockStrength::AsSold) => {
            return Err(told(
                "stock",
                format!(
                    "{} is dosed as it is sold; leave the stock empty",
                    agent.name
                ),
            ));
        }
        Some(StockStrength::Solid(_)) => StockStrength::Solid(part()?),
        Some(StockStrength::OfVolume(_)) => {
            StockStrength::OfVolume(Dilution::from_ml_per_l(1e3 * part()?.ratio()))
        }
        _ if question.density.trim().is_empty() => StockStrength::by_volume(part()?),
        _ => {
            let density = question.density.parse::<Density>();
            StockStrength::by_mass(part()?, density.map_err(|e| wrong("density", &e))?)
        }
    };
    Ok((text.to_owned(), strength))
}

fn aim(usual: Strength, text: &str) -> Result<Strength, Wrong> {
    let text = text.trim();
    if text.is_empty() {
        return Ok(usual);
    }
    match usual {
        Strength::Active(_) => text
            .parse::<MassConcentration>()
            .map(Strength::Active)
            .map_err(|e| wrong("to", &e)),
        Strength::Mixed(_) => text
            .parse::<Dilution>()
            .map(Strength::Mixed)
            .map_err(|e| wrong("to", &e)),
    }
}

fn volume(text: &str) -> Result<Volume, Wrong> {
    match text.trim() {
        "" => Ok(Volume::from_l(10.0)),
        text => text
            .parse()
            .map_err(|e: quantity::QuantityError| wrong("volume", &e)),
    }
}

impl Mixed {
    /// What to do, in a sentence.
    #[must_use]
    pub fn sentence(&self, units: Units) -> String {
        format!(
            "{} of {} in cold water, filled up to {}, makes {}.",
            self.working.amount.show(units),
            self.stock,
            quantity::show(self.volume, units),
            self.working.strength.show(units)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Weight;

    fn question(agent: &str, stock: &str, to: &str, volume: &str) -> MixQuestion {
        let own = str::to_owned;
        MixQuestion {
            agent: own(agent),
            stock: own(stock),
            density: String::new(),
            to: own(to),
            volume: own(volume),
        }
    }

    /// By hand: 10 L of 200 mg/L from 5.25 % are 38 mL, from 12 % 16.7 mL.
    #[test]
    fn a_stock_may_be_named_by_its_strength() {
        let usual = mix(&question("hypochlorite", "", "", "")).unwrap();
        assert_eq!(usual.working.amount.to_string(), "38.1 mL");
        assert!(
            usual
                .notes
                .iter()
                .any(|n| n.weight == Weight::Look && n.text.contains("rinse"))
        );
        let strong = mix(&question("hypochlorite", "12 %", "200 mg/L", "10 L")).unwrap();
        assert_eq!(strong.working.amount.to_string(), "16.7 mL");
        let by_mass = mix(&MixQuestion {
            density: "1.13 g/mL".to_owned(),
            ..question("peracetic-acid", "15 %", "150 mg/L", "1 L")
        });
        assert!((by_mass.unwrap().working.water.l() - (1.0 - 0.000_885)).abs() < 1e-6);
        assert!(
            usual
                .sentence(Units::Metric)
                .starts_with("38.1 mL of household bleach")
        );
    }

    #[test]
    fn all_that_is_wrong_is_told_at_its_field() {
        let found = mix(&question("hypochlorite", "strong", "much", "a bucket")).unwrap_err();
        let fields: Vec<_> = found.iter().map(|w| w.field.as_str()).collect();
        assert_eq!(fields, ["stock", "to", "volume"]);
        assert_eq!(
            mix(&question("bleach", "", "", "")).unwrap_err()[0].field,
            "agent"
        );
        assert_eq!(
            mix(&question("heat", "", "", "")).unwrap_err()[0].field,
            "agent"
        );
        let weak = mix(&question("caustic", "caustic-lye", "500 g/L", "1 L")).unwrap_err();
        assert_eq!(weak[0].field, "to");
        let unit = mix(&question("acid-anionic", "", "150 mg/L", "1 L")).unwrap_err();
        assert_eq!(unit[0].field, "to");
    }

    #[test]
    fn nothing_known_is_never_called_safe() {
        let known = together("hypochlorite", "vinegar").unwrap();
        assert!(known.sentence().contains("chlorine gas"));
        assert!(known.cautions.contains(&Caution::ChlorineMixtures));
        let unknown = together("heat", "quat").unwrap();
        assert!(unknown.sentence().contains("not the same as safe"));
        assert_eq!(together("x", "y").unwrap_err().len(), 2);
    }
}
