//! A tasting of a batch beside the beer that was its aim: its document, what it can
//! show before it is poured, and what its answers say.

mod judged;
mod one_glass;
mod plan;
mod read;
mod said;

use glass::tasting::{Beer, Design, Protocol, Serving, design};

use crate::document::refuse_oversize;
use crate::reader::{Assumption, Fault, FieldDoc, describe_part, json_schema, read_part};

pub use judged::{Judged, TasterCount};
pub use one_glass::OneGlass;
pub use plan::{Beside, Plan, PlanError, PlanQuestion, percent, plain, seen_sentence};

/// A tasting as it was planned, and what has been answered so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Tasting {
    /// What it is called.
    pub name: String,
    /// The identifier of the batch in the store.
    pub batch: Option<String>,
    /// What the batch is called here.
    pub beer: String,
    /// The beer beside it.
    pub reference: String,
    /// How it is asked.
    pub protocol: Protocol,
    /// What is asked about, where the protocol names it: "bitter".
    pub about: Option<String>,
    /// Who tastes, in the order of serving.
    pub tasters: Vec<String>,
    /// How many tastings were planned.
    pub tastings: u32,
    /// What orders and codes were drawn from.
    pub seed: u64,
    /// The risk of a false alarm \[–\].
    pub false_alarm: f64,
    /// The risk of missing the difference that matters \[–\].
    pub missed: f64,
    /// The difference that matters \[d′\].
    pub difference: f64,
    /// When it ends.
    pub stop: Stop,
    /// Who pours.
    pub pours: Pours,
    /// The share that may tell the beers apart if they are to count as alike \[–\].
    pub alike: Option<f64>,
    /// What was answered.
    pub answers: Vec<Answer>,
    /// What each taster scores in both beers, blind, after the last tasting.
    pub scored: Vec<String>,
    /// What was scored.
    pub scores: Vec<Score>,
    /// Orders and codes.
    pub design: Design,
    /// The two glasses that each taster scores, in the order of the tasters; none
    /// where nothing is scored.
    pub scorings: Vec<Serving>,
}

/// When a tasting ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stop {
    /// After the planned number.
    Fixed,
    /// As soon as enough is known, by lines that were set before.
    Early,
}

/// Who pours, and so who is blind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pours {
    /// Somebody who does not taste.
    Helper,
    /// The taster, by cards and lidded cups that are shuffled blind.
    OwnHand,
    /// Bottles coded weeks before; the key stays sealed.
    SealedKey,
}

/// An answer to one tasting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// Which, from one.
    pub tasting: u32,
    /// The glass or glasses that were named.
    pub glasses: Vec<u16>,
    /// Whether that is right.
    pub right: bool,
}

/// An attribute that one taster scored in both beers.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// What.
    pub attribute: String,
    /// Who.
    pub taster: String,
    /// In the batch \[points\].
    pub batch: f64,
    /// In the reference \[points\].
    pub reference: f64,
}

impl Tasting {
    /// Reads a tasting.
    ///
    /// # Errors
    /// Every fault found, in the order of the text.
    pub fn read(text: &str) -> Result<(Self, Vec<Assumption>), Vec<Fault>> {
        refuse_oversize(text, "a tasting")?;
        let (tasting, assumptions) = read_part("", text, read::tasting)?;
        tasting
            .map(|tasting| (tasting, assumptions))
            .ok_or_else(Vec::new)
    }

    /// The keys of its document.
    #[must_use]
    pub fn fields() -> Vec<FieldDoc> {
        describe_part("", read::tasting)
    }

    /// The JSON Schema (2020-12) of its document.
    #[must_use]
    pub fn schema() -> serde_json::Value {
        json_schema(
            "urn:gylewright:schema:tasting:1",
            "gylewright tasting document",
            &Self::fields(),
        )
    }

    /// Who is served tasting `number`, from one.
    #[must_use]
    pub fn taster_of(&self, number: u32) -> &str {
        let places = self.tasters.len().max(1);
        let place = (number as usize).saturating_sub(1) % places;
        self.tasters.get(place).map_or("", String::as_str)
    }

    /// The tastings of a taster, from one.
    pub fn tastings_of<'t>(&'t self, taster: &'t str) -> impl Iterator<Item = u32> + 't {
        (1..=self.tastings).filter(move |&n| self.taster_of(n) == taster)
    }

    /// The answer to a tasting.
    #[must_use]
    pub fn answer(&self, number: u32) -> Option<&Answer> {
        self.answers.iter().find(|a| a.tasting == number)
    }

    /// The next tasting of a taster that is not answered.
    #[must_use]
    pub fn next_of(&self, taster: &str) -> Option<u32> {
        self.tastings_of(taster).find(|&n| self.answer(n).is_none())
    }

    /// The glasses that a taster has to score still; none before the last tasting is
    /// answered, since scores may give away which is which.
    #[must_use]
    pub fn scoring_of(&self, taster: &str) -> Option<&Serving> {
        let place = self.tasters.iter().position(|name| name == taster)?;
        let open = self.scored.iter().any(|a| !self.has_scored(taster, a));
        let ready = self.next_of(taster).is_none() && open;
        self.scorings.get(place).filter(|_| ready)
    }

    fn has_scored(&self, taster: &str, attribute: &str) -> bool {
        let same = |s: &Score| s.taster == taster && s.attribute == attribute;
        self.scores.iter().any(same)
    }

    /// A taster's points for an attribute by the codes of the glasses, as the entry of
    /// the document that says which beer was which.
    ///
    /// # Errors
    /// What is wrong and what would work, if the codes are not those of the two glasses.
    pub fn decoded(
        &self,
        taster: &str,
        attribute: &str,
        points: &[(u16, String)],
    ) -> Result<[(&'static str, String); 4], String> {
        let place = self.tasters.iter().position(|name| name == taster);
        let serving = place.and_then(|place| self.scorings.get(place));
        let Some(serving) = serving else {
            return Err(format!(
                "{taster:?} has no glasses to score; name a taster of this tasting, and what is scored under \"scored\""
            ));
        };
        let of = |beer: Beer| {
            let at = serving.glasses.iter().position(|held| *held == beer)?;
            let code = serving.codes.get(at)?;
            points.iter().find(|(named, _)| named == code)
        };
        let (Some((_, batch)), Some((_, reference))) = (of(Beer::Batch), of(Beer::Reference))
        else {
            let codes: Vec<String> = serving.codes.iter().map(ToString::to_string).collect();
            return Err(format!(
                "points are wanted for both glasses of {taster}: {}",
                codes.join(" and ")
            ));
        };
        Ok([
            ("attribute", attribute.to_owned()),
            ("taster", taster.to_owned()),
            ("batch", batch.clone()),
            ("reference", reference.clone()),
        ])
    }

    /// The question that is put to the tasters.
    #[must_use]
    pub fn question(&self) -> String {
        let plain = self.protocol.question();
        match &self.about {
            Some(about) => plain.replace("of what was asked for", &format!("of this: {about}")),
            None => plain.to_owned(),
        }
    }

    /// What comes before the first coded glass; none in ways that compare glasses.
    #[must_use]
    pub fn warm_up(&self) -> Option<&'static str> {
        (self.protocol == Protocol::OneGlass).then_some(
            "Before the first glass, taste the reference openly until you know it; not again between the glasses. Glasses may come on different days, each from a bottle as fresh (ISO 8588, from memory).",
        )
    }

    /// How to stay blind, step by step.
    #[must_use]
    pub const fn way(&self) -> &'static [&'static str] {
        self.pours.way()
    }
}

/// Points as they stand on a taster's sheet: "417 5, 528 6.5" gives each code its own.
///
/// # Errors
/// What is wrong and what would work.
pub fn points_by_code(written: &str) -> Result<Vec<(u16, String)>, String> {
    let parts = written
        .split(',')
        .map(str::trim)
        .filter(|part| !part.is_empty());
    parts
        .map(|part| {
            let pair = part.split_once([' ', '=', ':']);
            let read = pair
                .and_then(|(code, points)| Some((code.parse().ok()?, points.trim().to_owned())));
            read.ok_or_else(|| {
                format!("{part:?} is no code with its points; write them such as 417 5, 528 6.5")
            })
        })
        .collect()
}

impl Pours {
    /// Its word in the document.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Helper => "helper",
            Self::OwnHand => "own hand",
            Self::SealedKey => "sealed key",
        }
    }

    /// How to stay blind, step by step (common practice).
    #[must_use]
    pub const fn way(self) -> &'static [&'static str] {
        match self {
            Self::Helper => &[
                "The helper writes the codes on identical dark or opaque glasses, pours by the serving sheet, and leaves before anybody tastes.",
                "Fill, foam and temperature are the same in every glass; cover the glasses until they are served.",
                "The tasters get the glasses in the order of the sheet, taste from left to right, may go back, and must choose, even by a guess.",
                "The serving sheet stays with the helper until the last answer is in.",
            ],
            Self::OwnHand => &[
                "Take identical opaque cups with lids. Write the codes of the tasting underneath, pour by the serving sheet, put the lids on.",
                "Turn away, shuffle the cups on a tray with closed eyes, wait until you no longer know which is which, and taste.",
                "Name the cup before you look underneath.",
                "You know which beer is the odd one, so the right answers count against guessing, but no size of the difference follows from them.",
            ],
            Self::SealedKey => &[
                "When packaging, put the codes of the serving sheet on otherwise identical bottles or caps, and let somebody keep the sheet, or seal it, for at least three weeks.",
                "Taste by the codes alone; open the sheet after the last answer.",
            ],
        }
    }
}

/// Draws the design of a tasting.
fn drawn(protocol: Protocol, tastings: u32, seed: u64) -> Result<Design, String> {
    design(protocol, tastings, seed).map_err(|error| error.to_string())
}
