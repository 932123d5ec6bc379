//! The rows of `data/carbon.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark, quantity};
use quantity::{Chlorine, Duration, FlowRate, Fraction, Source, Volume};

const FILE: &str = "carbon.toml";

/// What is known of carbon.
#[derive(Debug, Clone, PartialEq)]
pub struct CarbonTable {
    /// Contact that granular carbon needs for free chlorine.
    pub free: Contact,
    /// Contact that granular carbon needs for chloramine.
    pub combined: Contact,
    /// Chlorine before and after such a contact.
    pub reduction: (Chlorine, Chlorine, Source),
    /// The share of the decline that is relied on.
    pub relied_on: (Fraction, Source),
    /// Chlorine before and after a filter with a claim against free chlorine.
    pub free_claim: (Chlorine, Chlorine, Source),
    /// Chlorine before and after a filter with a claim against chloramine.
    pub combined_claim: (Chlorine, Chlorine, Source),
    /// How many times the decline of the claim is expected.
    pub expected_times: (f64, Source),
    /// The share of the litres that counts where chloramine is not claimed.
    pub unclaimed: (Fraction, Source),
    /// Volume of a common household block, and the flow it is often run at.
    pub example: (Volume, FlowRate, Source),
}

/// A time of contact.
#[derive(Debug, Clone, PartialEq)]
pub struct Contact {
    /// The time: volume of the bed over flow.
    pub time: Duration,
    /// Where it comes from.
    pub source: Source,
}

/// What is known of carbon.
#[must_use]
pub fn carbon_table() -> &'static CarbonTable {
    &TABLE
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    granular: Granular,
    claim: Claim,
    example: Example,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Granular {
    free: ContactRow,
    combined: ContactRow,
    reduction: Reduction,
    relied_on: Share,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Claim {
    free: Reduction,
    combined: Reduction,
    expected: Times,
    unclaimed: Share,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ContactRow {
    contact: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Reduction {
    challenge: String,
    leaves: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Share {
    share: String,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Times {
    times: f64,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Example {
    bed: String,
    flow: String,
    source: String,
    mark: String,
}

static TABLE: LazyLock<CarbonTable> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../../data/carbon.toml"));
    let contact = |row: ContactRow| Contact {
        time: quantity(FILE, "contact", &row.contact),
        source: source(row.source, &row.mark),
    };
    let reduction = |row: Reduction| {
        (
            quantity(FILE, "challenge", &row.challenge),
            quantity(FILE, "leaves", &row.leaves),
            source(row.source, &row.mark),
        )
    };
    let share = |row: Share| {
        (
            quantity(FILE, "share", &row.share),
            source(row.source, &row.mark),
        )
    };
    CarbonTable {
        free: contact(file.granular.free),
        combined: contact(file.granular.combined),
        reduction: reduction(file.granular.reduction),
        relied_on: share(file.granular.relied_on),
        free_claim: reduction(file.claim.free),
        combined_claim: reduction(file.claim.combined),
        expected_times: (
            file.claim.expected.times,
            source(file.claim.expected.source, &file.claim.expected.mark),
        ),
        unclaimed: share(file.claim.unclaimed),
        example: (
            quantity(FILE, "example", &file.example.bed),
            quantity(FILE, "example", &file.example.flow),
            source(file.example.source, &file.example.mark),
        ),
    }
});

fn source(text: String, words: &str) -> Source {
    Source {
        mark: mark(FILE, &text, words),
        text,
    }
}
