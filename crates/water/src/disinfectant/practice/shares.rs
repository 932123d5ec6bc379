//! How much free and combined chlorine there may be, from the figures at hand.

use quantity::{Chlorine, Measured, Spread};

use super::rows::{Share, table};
use super::{Grade, Known, Practice};
use crate::error::WaterError;

/// Free, combined and total chlorine with what they may be.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Held {
    pub(super) free: Measured<Chlorine>,
    pub(super) combined: Measured<Chlorine>,
    pub(super) total: Measured<Chlorine>,
    /// What was made of the figures, where that is worth a word.
    pub(super) remark: Option<String>,
}

/// What DPD resolves at its best \[mg/L as Cl₂\] (common practice).
const RESOLVED_MG_PER_L: f64 = 0.05;

pub(super) fn held(
    known: &Known,
    practice: Practice,
    grade: Grade,
    chloramine: f64,
) -> Result<Held, WaterError> {
    let share = &share(practice, grade, chloramine);
    match (known.total, known.free, known.unnamed) {
        (Some(total), Some(free), _) => both(total, free),
        (Some(total), None, _) => Ok(split(total, share)),
        (None, Some(free), _) => Ok(of_free(free, practice, grade, share)),
        (None, None, Some(unnamed)) => Ok(of_unnamed(unnamed, practice, grade, share)),
        (None, None, None) => {
            let mut held = split(table().region(known.region).usual, share);
            held.remark = Some(
                "No figure at all: the range is what supplies of the region usually hold."
                    .to_owned(),
            );
            Ok(held)
        }
    }
}

/// The combined share of total chlorine; from end to end where it may be either.
fn share(practice: Practice, grade: Grade, chloramine: f64) -> Share {
    let (free, combined) = (&table().free_kept, &table().chloramine_kept);
    match (grade, practice) {
        (Grade::Open, _) => {
            let value = free.value + chloramine * (combined.value - free.value);
            Share::between(free, value, combined)
        }
        (_, Practice::FreeChlorine) => free.clone(),
        (_, Practice::Chloramine) => combined.clone(),
    }
}

/// Both were measured: combined is the difference, its spread from both.
fn both(total: Measured<Chlorine>, free: Measured<Chlorine>) -> Result<Held, WaterError> {
    let (t, f) = (total.value.mg_per_l(), free.value.mg_per_l());
    let noise = total.sd().hypot(free.sd());
    if f - t > 2.0 * noise + RESOLVED_MG_PER_L {
        return Err(WaterError::FreeAboveTotal {
            water: "the tap".to_owned(),
            free: f,
            total: t,
        });
    }
    // Free a little above total is noise; total is the one to dose on.
    let free_mg = f.min(t);
    let resolution = (2.0 * noise).max(RESOLVED_MG_PER_L);
    let remark = (t - f < resolution).then(|| {
        "Total less free chlorine is within what the test resolves: chloramine is not shown, which \
         is not the same as none."
            .to_owned()
    });
    let combined = Chlorine::from_mg_per_l(t - free_mg);
    Ok(Held {
        free: Measured {
            value: Chlorine::from_mg_per_l(free_mg),
            spread: kept_within(free.spread, free_mg),
        },
        combined: Measured::with_sd(combined, noise.max(RESOLVED_MG_PER_L / 2.0)),
        total,
        remark,
    })
}

/// A range still has to hold its value.
fn kept_within(spread: Spread, value: f64) -> Spread {
    match spread {
        Spread::Range { low, high } => Spread::Range {
            low: low.min(value),
            high: high.max(value),
        },
        spread => spread,
    }
}

/// Only total chlorine is known.
fn split(total: Measured<Chlorine>, share: &Share) -> Held {
    let (low, value, high) = ends(total);
    Held {
        free: range(
            low * (1.0 - share.high),
            value * (1.0 - share.value),
            high * (1.0 - share.low),
        ),
        combined: range(low * share.low, value * share.value, high * share.high),
        total,
        remark: None,
    }
}

/// Only free chlorine is known. Beside chloramine a free reading says little of the
/// total, which may then be anything up to what a supply may hold.
fn of_free(free: Measured<Chlorine>, practice: Practice, grade: Grade, share: &Share) -> Held {
    let (low, value, high) = ends(free);
    let kept = &table().free_kept;
    let beside = |free: f64, share: f64| free * share / (1.0 - share);
    if practice == Practice::FreeChlorine && grade > Grade::Open {
        let combined = range(0.0, beside(value, kept.value), beside(high, kept.high));
        return added(free, combined, None);
    }
    let limit = &table().most;
    let most = limit.chlorine.mg_per_l().max(high);
    let combined = range(0.0, share.value * (most - value), (most - low).max(0.0));
    let remark = format!(
        "Only free chlorine is known and chloramine may be there: the total may be up to what a \
         supply may hold, {} ({}). Measure total chlorine before you dose.",
        limit.chlorine, limit.source.text
    );
    added(free, combined, Some(remark))
}

/// A figure that is only called chlorine: where chloramine is kept it is total
/// chlorine, for free chlorine would say nothing; else it may be either.
fn of_unnamed(
    unnamed: Measured<Chlorine>,
    practice: Practice,
    grade: Grade,
    share: &Share,
) -> Held {
    if practice == Practice::Chloramine && grade > Grade::Open {
        let mut held = split(unnamed, share);
        held.remark =
            Some("The figure is taken as total chlorine, as chloramine is kept.".to_owned());
        return held;
    }
    let (low, value, high) = ends(unnamed);
    let as_free = of_free(unnamed, practice, grade, share);
    let top = as_free.total.upper().mg_per_l();
    let parts = split(unnamed, share);
    Held {
        free: range(low * (1.0 - share.high), parts.free.value.mg_per_l(), high),
        combined: range(
            0.0,
            parts.combined.value.mg_per_l(),
            as_free.combined.upper().mg_per_l(),
        ),
        total: range(low, value, top),
        remark: Some(
            "The report does not say whether its figure is free or total chlorine.".to_owned(),
        ),
    }
}

/// Total as free and combined together.
fn added(free: Measured<Chlorine>, combined: Measured<Chlorine>, remark: Option<String>) -> Held {
    let sum = |a: Chlorine, b: Chlorine| a.mg_per_l() + b.mg_per_l();
    Held {
        total: range(
            sum(free.lower(), combined.lower()),
            sum(free.value, combined.value),
            sum(free.upper(), combined.upper()),
        ),
        free,
        combined,
        remark,
    }
}

fn ends(c: Measured<Chlorine>) -> (f64, f64, f64) {
    (
        c.lower().mg_per_l(),
        c.value.mg_per_l(),
        c.upper().mg_per_l(),
    )
}

/// A range that surely holds its value.
fn range(low: f64, value: f64, high: f64) -> Measured<Chlorine> {
    Measured {
        value: Chlorine::from_mg_per_l(value),
        spread: Spread::Range {
            low: low.min(value).max(0.0),
            high: high.max(value),
        },
    }
}
