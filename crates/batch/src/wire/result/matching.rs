//! Recipes that meet an aim, and a batch that is moved.

use serde_json::{Value, json};

use super::{Keep, kept, kept_by_word};
use crate::matching::{ANSWERS, AimFrom};
use crate::matching::{
    Aimed, Amount, Answer, Block, GROUPS, Goal, Lever, Limited, Matched, MovedBatch, Moves,
    Reached, aimed,
};

const ORIGINS: [AimFrom; 5] = [
    AimFrom::Document,
    AimFrom::Asked,
    AimFrom::Label,
    AimFrom::Sample,
    AimFrom::Reached,
];

kept_by_word! {
    AimFrom: ORIGINS, AimFrom::words;
}

kept! {
    Reached { value, between, chance, beyond }
    Amount { lever, value }
    Goal { figure, low, high, tolerance, from }
    Lever { path, name, moves, now, least, most, limited, step, price, scale }
    Matched { goals, before, levers, answers, blocks, assumptions, reckoned }
    MovedBatch { multiplied, factor, reached, matched }
}

impl Keep for &'static Aimed {
    fn keep(&self) -> Value {
        self.key.into()
    }

    fn back(kept: &Value) -> Option<Self> {
        aimed(kept.as_str()?)
    }
}

impl Keep for Answer {
    fn keep(&self) -> Value {
        json!({
            "key": self.key,
            "label": self.label,
            "text": self.text,
            "changes": self.changes.keep(),
            "amounts": self.amounts.keep(),
            "additions": self.additions.keep(),
            "figures": self.figures.keep(),
            "worst": self.worst.keep(),
            "ingredients": self.ingredients.keep(),
            "cost": self.cost.keep(),
            "change": self.change.keep(),
            "chance": self.chance.keep(),
            "notes": self.notes.keep(),
            "cautions": self.cautions.keep(),
            "of_additions": self.of_additions.keep(),
        })
    }

    fn back(kept: &Value) -> Option<Self> {
        let key = kept.get("key")?.as_str()?;
        let of = |name: &str| kept.get(name);
        Some(Self {
            key: ANSWERS.into_iter().find(|known| *known == key)?,
            label: Keep::back(of("label")?)?,
            text: Keep::back(of("text")?)?,
            changes: Keep::back(of("changes")?)?,
            amounts: Keep::back(of("amounts")?)?,
            additions: Keep::back(of("additions")?)?,
            figures: Keep::back(of("figures")?)?,
            worst: Keep::back(of("worst")?)?,
            ingredients: Keep::back(of("ingredients")?)?,
            cost: Keep::back(of("cost")?)?,
            change: Keep::back(of("change")?)?,
            chance: Keep::back(of("chance")?)?,
            notes: Keep::back(of("notes")?)?,
            cautions: Keep::back(of("cautions")?)?,
            of_additions: Keep::back(of("of_additions")?)?,
        })
    }
}

impl Keep for Moves {
    fn keep(&self) -> Value {
        let (what, at) = match *self {
            Self::Malt(at) => ("malt", at),
            Self::Hop(at) => ("hop", at),
            Self::RestTemperature(at) => ("rest temperature", at),
            Self::RestTime(at) => ("rest time", at),
            Self::Packets => ("packets", 0),
            Self::Slurry => ("slurry", 0),
            Self::Course => ("course", 0),
            Self::Gas => ("gas", 0),
        };
        json!([what, at])
    }

    fn back(kept: &Value) -> Option<Self> {
        let (what, at) = <(String, usize)>::back(kept)?;
        Some(match what.as_str() {
            "malt" => Self::Malt(at),
            "hop" => Self::Hop(at),
            "rest temperature" => Self::RestTemperature(at),
            "rest time" => Self::RestTime(at),
            "packets" => Self::Packets,
            "slurry" => Self::Slurry,
            "course" => Self::Course,
            "gas" => Self::Gas,
            _ => return None,
        })
    }
}

impl Keep for Limited {
    fn keep(&self) -> Value {
        match self {
            Self::Asked => json!(["asked", ""]),
            Self::Stores => json!(["stores", ""]),
            Self::Usual(source) => json!(["usual", source]),
        }
    }

    fn back(kept: &Value) -> Option<Self> {
        let (who, source) = <(String, String)>::back(kept)?;
        Some(match who.as_str() {
            "asked" => Self::Asked,
            "stores" => Self::Stores,
            "usual" => Self::Usual(source),
            _ => return None,
        })
    }
}

impl Keep for Block {
    fn keep(&self) -> Value {
        match self {
            Self::Limit {
                lever,
                ends,
                limited,
                would,
                enough,
            } => json!({
                "block": "limit",
                "lever": lever,
                "ends": ends.keep(),
                "limited": limited.keep(),
                "would": would.keep(),
                "enough": enough,
            }),
            Self::Together {
                name,
                limited,
                enough,
            } => json!({
                "block": "together",
                "name": name,
                "limited": limited.keep(),
                "enough": enough,
            }),
            Self::Goal { key, would } => json!({
                "block": "goal",
                "key": key,
                "would": would.keep(),
            }),
            Self::Flat { key, at } => json!({ "block": "flat", "key": key, "at": at.keep() }),
            Self::Group { groups } => json!({ "block": "group", "groups": groups }),
        }
    }

    fn back(kept: &Value) -> Option<Self> {
        let of = |name: &str| kept.get(name);
        let number = |name: &str| f64::back(of(name)?);
        let key = || aimed(of("key")?.as_str()?).map(|figure| figure.key);
        Some(match of("block")?.as_str()? {
            "limit" => Self::Limit {
                lever: Keep::back(of("lever")?)?,
                ends: number("ends")?,
                limited: Keep::back(of("limited")?)?,
                would: number("would")?,
                enough: Keep::back(of("enough")?)?,
            },
            "together" => Self::Together {
                name: Keep::back(of("name")?)?,
                limited: Keep::back(of("limited")?)?,
                enough: Keep::back(of("enough")?)?,
            },
            "goal" => Self::Goal {
                key: key()?,
                would: number("would")?,
            },
            "flat" => Self::Flat {
                key: key()?,
                at: number("at")?,
            },
            "group" => Self::Group {
                groups: of("groups")?
                    .as_array()?
                    .iter()
                    .map(|group| {
                        let group = group.as_str()?;
                        GROUPS.iter().map(|(name, _)| *name).find(|n| *n == group)
                    })
                    .collect::<Option<_>>()?,
            },
            _ => return None,
        })
    }
}
