//! Rules of practice. The table is `[practice]` of `data/equilibria.toml`.

use std::sync::LazyLock;

use quantity::Source;
use quantity::data::{builtin, mark};

const FILE: &str = "equilibria.toml";

/// Rules of practice for treating water.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Practice {
    pub boiled_alkalinity_meq_per_l: f64,
    pub boiled_calcium_meq_per_l: f64,
    pub lime_low: f64,
    pub lime_high: f64,
    pub limed_ph_low: f64,
    pub limed_ph_high: f64,
    pub leave_alkalinity_meq_per_l: f64,
    #[cfg_attr(not(test), allow(dead_code, reason = "kept with its rows; tests read it"))]
    pub sources: [Source; 2],
}

/// The rules, read once.
pub(super) fn practice() -> &'static Practice {
    static PRACTICE: LazyLock<Practice> = LazyLock::new(read);
    &PRACTICE
}

#[derive(serde::Deserialize)]
struct File {
    practice: Rows,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Rows {
    source: String,
    mark: String,
    boiled_alkalinity_meq_per_l: f64,
    boiled_calcium_meq_per_l: f64,
    lime_low: f64,
    lime_high: f64,
    limed_ph_low: f64,
    limed_ph_high: f64,
    acid: AcidRows,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct AcidRows {
    source: String,
    mark: String,
    leave_alkalinity_meq_per_l: f64,
}

fn read() -> Practice {
    let File { practice: rows } = builtin(FILE, include_str!("../../data/equilibria.toml"));
    let source = |text: String, words: &str| Source {
        mark: mark(FILE, "practice", words),
        text,
    };
    Practice {
        boiled_alkalinity_meq_per_l: rows.boiled_alkalinity_meq_per_l,
        boiled_calcium_meq_per_l: rows.boiled_calcium_meq_per_l,
        lime_low: rows.lime_low,
        lime_high: rows.lime_high,
        limed_ph_low: rows.limed_ph_low,
        limed_ph_high: rows.limed_ph_high,
        leave_alkalinity_meq_per_l: rows.acid.leave_alkalinity_meq_per_l,
        sources: [
            source(rows.source, &rows.mark),
            source(rows.acid.source, &rows.acid.mark),
        ],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_stand_in_their_order_and_say_where_they_come_from() {
        let p = practice();
        assert!(p.lime_low < p.lime_high && p.lime_high <= 1.0);
        assert!(p.limed_ph_low < p.limed_ph_high);
        assert!(p.leave_alkalinity_meq_per_l < p.boiled_alkalinity_meq_per_l);
        assert!(
            p.sources
                .iter()
                .all(|source| !source.text.trim().is_empty())
        );
    }
}
