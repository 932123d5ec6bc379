//! What is at hand against chlorine, as a person writes it.

use std::str::FromStr;

use quantity::{
    Chlorine, FlowRate, Fraction, Mass, Measured, Money, Power, Quantity, QuantityError, Volume,
};
use quantity::{Duration, Units, show};
use water::dechlorination::{CarbonBed, CarbonClaim, CarbonRating, Reagent, household_block};
use water::disinfectant::{AtHand, CleanWater, Form, Prices, ReagentAtHand, TestKind};

use crate::library::Stores;
use crate::liquor::minerals::Wrong;
use crate::plan::carbon_bed;
use crate::stream::Reckoning;

/// The time until the water is needed, where nobody says: drawn in the evening for
/// the next morning (judgement).
const OVERNIGHT: &str = "12 h";
/// Powder of common strength (common practice).
const PURITY: &str = "95 %";

/// What there can be at hand beside reagents.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Have {
    /// Activated carbon.
    Carbon,
    /// Water without chlorine.
    CleanWater,
    /// A pump that blows food-grade air.
    AirPump,
}

impl Have {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Carbon, Self::CleanWater, Self::AirPump];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Carbon => "activated carbon",
            Self::CleanWater => "distilled water",
            Self::AirPump => "air pump",
        }
    }
}

/// A question as it was written: fields and what stands in them. `have` may stand
/// several times.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Question {
    fields: Vec<(String, String)>,
}

/// A question, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Read {
    /// How long there is until the water is needed.
    pub time: Duration,
    /// What is at hand.
    pub at_hand: AtHand,
    /// What things cost.
    pub prices: Prices,
    /// Someone is sensitive to sulfite.
    pub sulfite_sensitive: bool,
    /// The carbon that the question is about, at hand or not.
    pub bed: Bed,
    /// Salt and bottle of a stock solution.
    pub stock: Option<(Mass, Volume)>,
    /// The test that showed nothing.
    pub test: TestKind,
}

/// Carbon and how it is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bed {
    /// The carbon.
    pub bed: CarbonBed,
    /// How fast; none where the flow that suits is sought.
    pub flow: Option<FlowRate>,
}

impl Question {
    /// A question of these fields.
    #[must_use]
    pub fn of(fields: Vec<(String, String)>) -> Self {
        let filled = |(_, value): &(String, String)| !value.trim().is_empty();
        Self {
            fields: fields.into_iter().filter(filled).collect(),
        }
    }

    /// What the plan of a batch uses is at hand.
    #[must_use]
    pub fn usual(r: &Reckoning) -> Self {
        let treatment = &r.document.water.treatment;
        let mut fields = vec![];
        let mut put = |key: &str, value: String| fields.push((key.to_owned(), value));
        if let Some(reagent) = &treatment.reagent {
            if let Some(active) = treatment.tablet_mass {
                put("tablet", reagent.clone());
                put("tablet_mass", show(active.value, Units::Metric));
            } else {
                put("have", reagent.clone());
                put("purity", show(treatment.purity.value, Units::Metric));
            }
        }
        if treatment.way == crate::Way::Carbon {
            put("have", Have::Carbon.word().to_owned());
        }
        Self { fields }
    }

    /// The reagents that stores hold, as powder of the least purity that any of them is
    /// labelled with.
    #[must_use]
    pub fn of_stores(stores: &Stores) -> Self {
        let reagents = &stores.reagents;
        let have = reagents
            .iter()
            .map(|r| ("have".to_owned(), r.reagent.clone()));
        let labelled = reagents.iter().filter_map(|r| r.purity);
        let least = labelled.min_by(|a, b| a.canonical().total_cmp(&b.canonical()));
        let purity = least.map(|p| ("purity".to_owned(), show(p.value, Units::Metric)));
        Self {
            fields: have.chain(purity).collect(),
        }
    }

    /// The fields.
    #[must_use]
    pub fn fields(&self) -> &[(String, String)] {
        &self.fields
    }

    /// What stands in a field; empty where nothing does.
    #[must_use]
    pub fn get(&self, key: &str) -> &str {
        let found = self.fields.iter().find(|(k, _)| k == key);
        found.map_or("", |(_, value)| value.trim())
    }

    /// Whether this is said to be at hand.
    #[must_use]
    pub fn has(&self, word: &str) -> bool {
        self.had().any(|had| had == word)
    }

    fn had(&self) -> impl Iterator<Item = &str> {
        let had = self.fields.iter().filter(|(key, _)| key == "have");
        had.map(|(_, word)| word.trim())
    }

    /// Reads it; the carbon is that of the batch where the question gives none.
    ///
    /// # Errors
    /// Everything that is wrong, by field.
    pub fn read(&self, r: &Reckoning) -> Result<Read, Vec<Wrong>> {
        let mut wrong = vec![];
        let bed = self.bed(r, &mut wrong);
        let time = self.quantity("time", &mut wrong);
        let read = Read {
            time: time.or_else(|| OVERNIGHT.parse().ok()).unwrap_or_default(),
            at_hand: self.at_hand(bed.bed, &mut wrong),
            prices: self.prices(&mut wrong),
            sulfite_sensitive: !self.get("sensitive").is_empty(),
            stock: self.pair("stock_salt", "stock_volume", &mut wrong),
            test: self.test(&mut wrong),
            bed,
        };
        if wrong.is_empty() {
            Ok(read)
        } else {
            Err(wrong)
        }
    }

    fn at_hand(&self, carbon: CarbonBed, wrong: &mut Vec<Wrong>) -> AtHand {
        let mut at_hand = AtHand {
            scale_step: self.above_zero("scale", wrong),
            heater: self.above_zero::<Power>("heater", wrong),
            ..AtHand::default()
        };
        let written = self.above_zero::<Fraction>("purity", wrong);
        let purity = written.or_else(|| PURITY.parse().ok()).unwrap_or_default();
        for word in self.had() {
            match Have::ALL.into_iter().find(|have| have.word() == word) {
                Some(Have::Carbon) => at_hand.carbon = Some(carbon),
                Some(Have::AirPump) => at_hand.air_pump = true,
                Some(Have::CleanWater) => {
                    at_hand.clean_water = Some(CleanWater {
                        name: word.to_owned(),
                        chlorine: Measured::exactly(Chlorine::default()),
                    });
                }
                None => match Reagent::named(word) {
                    Ok(reagent) => at_hand.reagents.push(ReagentAtHand {
                        reagent,
                        form: Form::Powder { purity },
                    }),
                    Err(error) => wrong.push(Wrong {
                        field: "have".to_owned(),
                        message: format!(
                            "{error}; beside reagents there can be {}",
                            Have::ALL.map(Have::word).join(", ")
                        ),
                    }),
                },
            }
        }
        at_hand.reagents.extend(self.tablet(wrong));
        at_hand
    }

    fn tablet(&self, wrong: &mut Vec<Wrong>) -> Option<ReagentAtHand> {
        let active = self.above_zero::<Mass>("tablet_mass", wrong);
        let name = self.get("tablet");
        if name.is_empty() {
            return None;
        }
        let reagent = Reagent::named(name).map_err(|error| refuse(wrong, "tablet", &error));
        if active.is_none() && self.get("tablet_mass").is_empty() {
            let needed = "the mass of a tablet is not said; write it from the label as 0.44 g";
            refuse(wrong, "tablet_mass", &needed);
        }
        Some(ReagentAtHand {
            reagent: reagent.ok()?,
            form: Form::Tablets { active: active? },
        })
    }

    /// The carbon of the question over that of the document over a household block.
    fn bed(&self, r: &Reckoning, wrong: &mut Vec<Wrong>) -> Bed {
        let keys = &r.document.water.treatment.carbon;
        // A plan that does something else may have left figures of nought behind.
        let holds = keys.volume.is_some_and(|volume| volume.value.l() > 0.0);
        let mut bed = if holds {
            carbon_bed(keys)
        } else {
            household_block()
        };
        bed.rated = bed
            .rated
            .filter(|rated| rated.flow.l_per_min() > 0.0 && rated.capacity.l() > 0.0);
        if let Some(volume) = self.above_zero("carbon_volume", wrong) {
            bed.volume = volume;
        }
        if let Some(used) = self.quantity("carbon_used", wrong) {
            bed.used = used;
        }
        let claim = match self.get("carbon_claim") {
            "" => None,
            "free chlorine" => Some(CarbonClaim::FreeChlorine),
            "chloramine" => Some(CarbonClaim::Chloramine),
            other => {
                let text =
                    format!("{other:?} is no claim; free chlorine or chloramine is accepted");
                refuse(wrong, "carbon_claim", &text);
                None
            }
        };
        let rated = self.pair("carbon_capacity", "carbon_rated_flow", wrong);
        match (rated, claim) {
            (Some((capacity, flow)), Some(claim)) => {
                bed.rated = Some(CarbonRating {
                    capacity,
                    flow,
                    claim,
                });
            }
            (None, None) => {}
            _ => refuse(
                wrong,
                "carbon_claim",
                &"a claim needs the litres, the flow and what it is made against",
            ),
        }
        Bed {
            bed,
            flow: self
                .above_zero("carbon_flow", wrong)
                .or(keys.flow.map(|f| f.value).filter(|f| f.l_per_min() > 0.0)),
        }
    }

    fn prices(&self, wrong: &mut Vec<Wrong>) -> Prices {
        let mut judged = Prices::judged();
        for (key, _) in prices() {
            let Some(price) = self.quantity::<Money>(&format!("price.{key}"), wrong) else {
                continue;
            };
            match key.as_str() {
                "carbon for 1000 L" => judged.carbon_per_1000_l = price,
                "a kWh" => judged.energy_per_kwh = price,
                "a litre of distilled water" => judged.clean_water_per_l = price,
                "an hour of work" => judged.work_per_h = price,
                name => {
                    if let Ok(reagent) = Reagent::named(name) {
                        judged.reagent_per_kg.insert(reagent, price);
                    }
                }
            }
        }
        judged
    }

    fn test(&self, wrong: &mut Vec<Wrong>) -> TestKind {
        let written = self.get("test");
        let known = TestKind::ALL.into_iter().find(|t| t.data().name == written);
        if known.is_none() && !written.is_empty() {
            let names = TestKind::ALL.map(|t| t.data().name.as_str()).join(", ");
            refuse(
                wrong,
                "test",
                &format!("{written:?} is no test; known: {names}"),
            );
        }
        known.unwrap_or(TestKind::Strip)
    }

    /// Two quantities that go together.
    fn pair<A: Written, B: Written>(
        &self,
        first: &str,
        second: &str,
        wrong: &mut Vec<Wrong>,
    ) -> Option<(A, B)> {
        let pair = (
            self.above_zero::<A>(first, wrong),
            self.above_zero::<B>(second, wrong),
        );
        let empty = [first, second].map(|key| self.get(key).is_empty());
        if empty[0] != empty[1] {
            let missing = if empty[0] { first } else { second };
            let there = if empty[0] { second } else { first };
            refuse(wrong, missing, &format!("{there} needs this as well"));
        }
        pair.0.zip(pair.1)
    }

    fn above_zero<Q: Written>(&self, key: &str, wrong: &mut Vec<Wrong>) -> Option<Q> {
        let value: Q = self.quantity(key, wrong)?;
        if value.canonical() > 0.0 {
            return Some(value);
        }
        refuse(wrong, key, &format!("the {} must be above zero", Q::NAME));
        None
    }

    fn quantity<Q: Written>(&self, key: &str, wrong: &mut Vec<Wrong>) -> Option<Q> {
        let written = self.get(key);
        if written.is_empty() {
            return None;
        }
        written
            .parse()
            .map_err(|error: QuantityError| refuse(wrong, key, &error))
            .ok()
    }
}

/// A quantity that can be written.
trait Written: Quantity + FromStr<Err = QuantityError> {}
impl<Q: Quantity + FromStr<Err = QuantityError>> Written for Q {}

fn refuse(wrong: &mut Vec<Wrong>, field: &str, why: &impl std::fmt::Display) {
    wrong.push(Wrong {
        field: field.to_owned(),
        message: why.to_string(),
    });
}

/// What can be priced, and the price to start from: a kilogram of each reagent, and
/// what else is used up.
#[must_use]
pub fn prices() -> Vec<(String, Money)> {
    let judged = Prices::judged();
    let reagents = Reagent::ALL.map(|reagent| (reagent.to_string(), judged.per_kg(reagent)));
    let others = [
        ("carbon for 1000 L", judged.carbon_per_1000_l),
        ("a kWh", judged.energy_per_kwh),
        ("a litre of distilled water", judged.clean_water_per_l),
        ("an hour of work", judged.work_per_h),
    ];
    reagents
        .into_iter()
        .chain(others.map(|(name, price)| (name.to_owned(), price)))
        .collect()
}
