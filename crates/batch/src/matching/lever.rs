//! What of a batch may move, between which ends and in which steps.

use quantity::{
    CarbonDioxide, Count, Duration, Mass, Measured, Quantity, Temperature, TemperatureDifference,
    Units, Volume, show,
};

use crate::document::Document;

/// Amounts below this are none \[kg\].
pub(super) const NOTHING_KG: f64 = 1e-6;

/// Which key of the document is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moves {
    /// The amount of an entry of the grist, counted from nought \[kg\].
    Malt(usize),
    /// The amount of a hop addition \[kg\].
    Hop(usize),
    /// The temperature of a rest \[°C\].
    RestTemperature(usize),
    /// The time of a rest \[h\].
    RestTime(usize),
    /// Packets of yeast \[–\].
    Packets,
    /// Volume of slurry \[L\].
    Slurry,
    /// All temperatures of the course, by so much \[K\].
    Course,
    /// Carbon dioxide in the package \[g/L\].
    Gas,
}

/// Who says where a lever ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Limited {
    /// It is asked for.
    Asked,
    /// So much is in the stores.
    Stores,
    /// A usual limit, with its source.
    Usual(String),
}

/// Something that may move.
#[derive(Debug, Clone, PartialEq)]
pub struct Lever {
    /// Its key, such as `grist[2].amount`.
    pub path: String,
    /// What it is.
    pub name: String,
    /// What it moves.
    pub moves: Moves,
    /// Where it stands in the document; nought for what is not in it yet.
    pub now: f64,
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
    /// Who says the most.
    pub limited: Limited,
    /// Amounts are multiples of this.
    pub step: f64,
    /// What one costs of what its amount counts, kilograms or packets; none where nobody
    /// says.
    pub price: Option<f64>,
    /// A change of this size counts as one.
    pub scale: f64,
}

impl Lever {
    /// Whether it is an amount of malt, sugar or hops.
    #[must_use]
    pub const fn is_ingredient(&self) -> bool {
        matches!(self.moves, Moves::Malt(_) | Moves::Hop(_))
    }

    /// A value printed.
    #[must_use]
    pub fn print(&self, value: f64, units: Units) -> String {
        match self.moves {
            Moves::Malt(_) | Moves::Hop(_) if value < NOTHING_KG => "none".to_owned(),
            Moves::Malt(_) | Moves::Hop(_) => show(Mass::from_kg(value), units),
            Moves::RestTemperature(_) => show(Temperature::from_c(value), units),
            Moves::RestTime(_) => show(Duration::from_h(value), units),
            Moves::Packets => show(Count::from_number(value), units),
            Moves::Slurry => show(Volume::from_l(value), units),
            Moves::Course if value.abs() < 1e-9 => "as planned".to_owned(),
            Moves::Course => {
                let by = show(TemperatureDifference::from_k(value.abs()), units);
                let way = if value < 0.0 { "colder" } else { "warmer" };
                format!("{by} {way}")
            }
            Moves::Gas => show(CarbonDioxide::from_g_per_l(value), units),
        }
    }

    /// A value as it is written into the document.
    pub(super) fn written(&self, value: f64) -> String {
        match self.moves {
            Moves::Malt(_) if value >= 1.0 => format!("{} kg", trimmed(value)),
            Moves::Malt(_) | Moves::Hop(_) => format!("{} g", trimmed(1e3 * value)),
            Moves::RestTemperature(_) => format!("{} °C", trimmed(value)),
            Moves::RestTime(_) => format!("{} min", trimmed(60.0 * value)),
            Moves::Packets => trimmed(value),
            Moves::Slurry => format!("{} mL", trimmed(1e3 * value)),
            Moves::Course => format!("{} K", trimmed(value)),
            Moves::Gas => format!("{} g/L", trimmed(value)),
        }
    }

    /// Puts a value into a document.
    pub(super) fn set(&self, document: &mut Document, value: f64) {
        match self.moves {
            Moves::Malt(at) => put(document.grist.get_mut(at).map(|g| &mut g.amount), value),
            Moves::Hop(at) => put(document.hops.get_mut(at).map(|h| &mut h.amount), value),
            Moves::RestTemperature(at) => {
                let rest = document.mash.rests.get_mut(at);
                put(rest.map(|r| &mut r.temperature), value);
            }
            Moves::RestTime(at) => {
                let rest = document.mash.rests.get_mut(at);
                put(rest.map(|r| &mut r.time), value);
            }
            Moves::Packets => document.yeast.packets = value,
            Moves::Slurry => put(document.yeast.slurry.as_mut(), value),
            Moves::Course => {
                for point in &mut document.fermentation.course {
                    let c = point.temperature.value.c() + value;
                    point.temperature = Measured::exactly(Temperature::from_c(c));
                }
            }
            Moves::Gas => put(Some(&mut document.package.carbon_dioxide), value),
        }
    }
}

fn put<Q: Quantity>(place: Option<&mut Measured<Q>>, canonical: f64) {
    if let Some(place) = place {
        place.value = Q::from_canonical(canonical);
    }
}

/// A document with its levers at values; what is none of is left out.
pub(super) fn with(document: &Document, levers: &[Lever], values: &[f64]) -> Document {
    let mut moved = document.clone();
    for (lever, value) in levers.iter().zip(values) {
        lever.set(&mut moved, *value);
    }
    moved.grist.retain(|g| g.amount.value.kg() >= NOTHING_KG);
    moved.hops.retain(|h| h.amount.value.kg() >= NOTHING_KG);
    moved
}

/// Three decimals without the noughts behind them.
pub(super) fn trimmed(x: f64) -> String {
    let digits = format!("{x:.3}");
    let short = digits.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0" } else { short }.to_owned()
}

/// The sum of some levers is held between two ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// What it is, in words.
    pub name: String,
    /// A factor for each lever.
    pub factors: Vec<f64>,
    /// Σ factor · value is no less than this.
    pub at_least: f64,
    /// Who says so.
    pub limited: Limited,
}

impl Together {
    /// How much room there is; negative where it is not kept.
    pub(super) fn room(&self, values: &[f64]) -> f64 {
        let sum: f64 = self.factors.iter().zip(values).map(|(a, x)| a * x).sum();
        sum - self.at_least
    }
}
