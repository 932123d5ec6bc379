//! Stores: the ingredients at hand, each with the figures of its own sheet.

use quantity::{Cells, Fraction, Mass, Measured, Money, Temperature, Volume};

use wort::WortError;

use super::day::{day, year};
use crate::document::{self, HopSheet, MaltSheet, YeastForm, positive};
use crate::reader::Reader;
use crate::words;

/// The ingredients at hand in one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Stores {
    /// What the stores are called.
    pub name: String,
    /// Anything.
    pub notes: Option<String>,
    /// Malts, adjuncts and sugars.
    pub malts: Vec<StoredMalt>,
    /// Hops.
    pub hops: Vec<StoredHop>,
    /// Yeasts.
    pub yeasts: Vec<StoredYeast>,
    /// Salts for water.
    pub salts: Vec<StoredSalt>,
    /// Acids.
    pub acids: Vec<StoredAcid>,
    /// Reagents against chlorine.
    pub reagents: Vec<StoredReagent>,
}

/// A malt, an adjunct or a sugar at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredMalt {
    /// What it says on the sack.
    pub name: Option<String>,
    /// Its generic class.
    pub class: String,
    /// How much there is.
    pub amount: Measured<Mass>,
    /// Its own analysis.
    pub sheet: MaltSheet,
    /// The lot it is from.
    pub lot: Option<String>,
    /// The day until which it is good.
    pub best_before: Option<String>,
    /// What a kilogram costs, in whatever currency.
    pub price: Option<Measured<Money>>,
}

/// A hop at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredHop {
    /// The cultivar.
    pub hop: String,
    /// Its alpha-acids and how it is kept.
    pub sheet: HopSheet,
    /// How much there is.
    pub amount: Measured<Mass>,
    /// The year it was picked.
    pub harvest: Option<String>,
    /// The lot it is from.
    pub lot: Option<String>,
    /// What a kilogram costs, in whatever currency.
    pub price: Option<Measured<Money>>,
}

impl StoredHop {
    /// Alpha-acids that storage has left in it, by its index or by its age; none where
    /// neither is known.
    ///
    /// # Errors
    /// [`WortError`] for figures that no hop has.
    pub fn alpha_left(&self) -> Result<Option<Measured<Fraction>>, WortError> {
        crate::plan::alpha_left(&self.hop, &self.sheet)
    }
}

/// A yeast at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredYeast {
    /// What it says on the packet.
    pub name: Option<String>,
    /// Its generic class.
    pub class: String,
    /// How it comes.
    pub form: YeastForm,
    /// Number of packets.
    pub packets: f64,
    /// Mass in a packet of dry yeast.
    pub packet_mass: Option<Measured<Mass>>,
    /// Living cells in a liquid packet when packed.
    pub cells: Option<Measured<Cells>>,
    /// Volume of slurry.
    pub slurry: Option<Measured<Volume>>,
    /// The day it was packed or harvested.
    pub packed: Option<String>,
    /// Temperature at which it is stored.
    pub stored_at: Option<Measured<Temperature>>,
    /// What a packet costs, in whatever currency.
    pub price: Option<Measured<Money>>,
}

/// A salt at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredSalt {
    /// Which.
    pub salt: String,
    /// How much there is.
    pub amount: Measured<Mass>,
    /// What a kilogram costs, in whatever currency.
    pub price: Option<Measured<Money>>,
}

/// An acid at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredAcid {
    /// Which, with its strength.
    pub acid: String,
    /// How much by volume.
    pub volume: Option<Measured<Volume>>,
    /// How much by mass.
    pub mass: Option<Measured<Mass>>,
    /// What a litre costs, or a kilogram of one that is weighed, in whatever currency.
    pub price: Option<Measured<Money>>,
}

/// A reagent against chlorine at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredReagent {
    /// Which.
    pub reagent: String,
    /// How pure it is, from its label.
    pub purity: Option<Measured<Fraction>>,
    /// How much there is.
    pub amount: Measured<Mass>,
    /// The day it was opened: sulfites lose strength in an open pot.
    pub opened: Option<String>,
}

pub(super) fn stores(r: &mut Reader<'_>) -> Stores {
    let (name, notes) = r.section("stores", "the ingredients at hand in one place", |r| {
        (
            r.name("what the stores are called").required(),
            r.text("notes", "anything worth keeping").optional(),
        )
    });
    Stores {
        name,
        notes,
        malts: r.sections("malt", "a malt, an adjunct or a sugar at hand", malt),
        hops: r.sections("hop", "a hop at hand", hop),
        yeasts: r.sections("yeast", "a yeast at hand", yeast),
        salts: r.sections("salt", "a salt at hand", salt),
        acids: r.sections("acid", "an acid at hand", acid),
        reagents: r.sections("reagent", "a reagent against chlorine at hand", reagent),
    }
}

fn malt(r: &mut Reader<'_>) -> StoredMalt {
    let class = document::malt_class(r);
    StoredMalt {
        name: r.name("what it says on the sack").optional(),
        amount: positive(r, "amount", "how much there is"),
        sheet: document::malt_sheet(r, &class),
        class,
        lot: r.text("lot", "the lot it is from").optional(),
        best_before: day(r, "best_before", "the day until which it is good"),
        price: price(r, A_KILOGRAM),
    }
}

const A_KILOGRAM: &str = "what a kilogram costs, one currency for all, such as 1.80";
const A_PACKET: &str = "what a packet costs, one currency for all, such as 4.50";
const A_LITRE: &str =
    "what a litre costs, or a kilogram of one that is weighed, one currency for all, such as 9.00";

fn price(r: &mut Reader<'_>, of: &'static str) -> Option<Measured<Money>> {
    r.quantity("price", of).optional()
}

fn hop(r: &mut Reader<'_>) -> StoredHop {
    let entry = StoredHop {
        hop: r.text("hop", "the cultivar").required(),
        sheet: document::hop_sheet(r),
        amount: positive(r, "amount", "how much there is"),
        harvest: year(r, "harvest", "the year it was picked, such as \"2026\""),
        lot: r.text("lot", "the lot it is from").optional(),
        price: price(r, A_KILOGRAM),
    };
    document::refuse_unknown_hop(r, &entry.hop);
    entry
}

fn yeast(r: &mut Reader<'_>) -> StoredYeast {
    let entry = StoredYeast {
        name: r.name("what it says on the packet").optional(),
        class: document::yeast_class(r),
        form: document::yeast_form(r),
        packets: document::packets(r),
        packet_mass: r
            .quantity("packet_mass", "mass in a packet of dry yeast")
            .optional(),
        cells: r
            .quantity(
                "cells",
                "living cells in a liquid packet when it was packed",
            )
            .optional(),
        slurry: r.quantity("slurry", "volume of thick slurry").optional(),
        packed: day(r, "packed", "the day it was packed or harvested"),
        stored_at: r
            .quantity("stored_at", "temperature it is stored at")
            .optional(),
        price: price(r, A_PACKET),
    };
    document::refuse_unsaid_yeast(r, entry.form);
    entry
}

fn salt(r: &mut Reader<'_>) -> StoredSalt {
    StoredSalt {
        salt: r
            .word("salt", "which salt", words::salts, words::salt)
            .required()
            .unwrap_or_default(),
        amount: positive(r, "amount", "how much there is"),
        price: price(r, A_KILOGRAM),
    }
}

fn acid(r: &mut Reader<'_>) -> StoredAcid {
    let entry = StoredAcid {
        acid: r
            .word(
                "acid",
                "which acid, with its strength",
                words::acids,
                words::acid,
            )
            .required()
            .unwrap_or_default(),
        volume: r
            .quantity("volume", "how much there is, by volume")
            .optional(),
        mass: r.quantity("mass", "how much there is, by mass").optional(),
        price: price(r, A_LITRE),
    };
    document::refuse_unsaid_acid(r);
    entry
}

fn reagent(r: &mut Reader<'_>) -> StoredReagent {
    StoredReagent {
        reagent: r
            .word("reagent", "which reagent", words::reagents, words::reagent)
            .required()
            .unwrap_or_default(),
        purity: r
            .quantity("purity", "how pure it is, from its label")
            .optional(),
        amount: positive(r, "amount", "how much there is"),
        opened: day(
            r,
            "opened",
            "the day it was opened: sulfites lose strength in an open pot",
        ),
    }
}
