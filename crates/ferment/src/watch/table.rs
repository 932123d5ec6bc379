//! The rows of `data/watch.toml`.

use std::sync::LazyLock;

use quantity::{Mark, Source, data};

const FILE: &str = "watch.toml";

/// All of it.
#[derive(Debug, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Table {
    pub(crate) curve: CurveRow,
    pub(crate) spread: SpreadRow,
    pub(crate) energy: EnergyRow,
    pub(crate) wander: WanderRow,
    pub(crate) original: OriginalRow,
    instrument: Vec<InstrumentRow>,
    pub(crate) alarm: AlarmRow,
}

/// Declares rows that carry their source.
macro_rules! rows {
    ($($(#[$doc:meta])* $name:ident { $($field:ident: $kind:ty),+ $(,)? })+) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        pub(crate) struct $name {
            $(pub(crate) $field: $kind,)+
            source: String,
            mark: String,
        }

        impl $name {
            /// Where the row comes from.
            #[cfg_attr(not(test), expect(dead_code, reason = "no face asks yet; a test holds every row to one"))]
            pub(crate) fn source(&self) -> Source {
                origin(stringify!($name), &self.source, &self.mark)
            }
        }
    )+};
}

rows! {
    /// The shape where no plan is at hand.
    CurveRow { reference_c: f64, uptake_per_h: f64, onset_h: f64, growth_per_h: f64, half_share: f64 }
    /// Spreads: batch, strain, class; and the share of that of strains by which batches differ
    /// that are brewed otherwise.
    SpreadRow { uptake: [f64; 3], onset: [f64; 3], growth: [f64; 3], half: [f64; 3], attenuation: [f64; 3], unlike: f64 }
    /// Activation energy.
    EnergyRow { kj_per_mol: f64, sd: f64, best_c: f64 }
    /// How far courses are off their curve.
    WanderRow { floor_plato: f64, ahead_h: f64, hours: f64 }
    /// The original gravity.
    OriginalRow { sd_plato: f64 }
    /// An instrument.
    InstrumentRow { key: String, noise_plato: f64, bias_plato: f64, drift_plato_per_week: f64, tails: f64 }
    /// When something is said.
    AlarmRow {
        lag_share: f64, lag_at_least_h: f64, lag_at_most_h: f64,
        stall_plato_per_day: f64, stall_gap_plato: f64, stall_window_h: f64,
        warm_margin_k: f64, cold_margin_k: f64,
        creep_least_plato_per_day: f64, creep_window_h: f64,
        dead_sensor_h: f64, rise_plato: f64,
        ph_still_high: f64, ph_sour: f64, ph_too_long_h: f64,
        finish_plato_per_day: f64, finish_window_h: f64, finish_window_cool_h: f64,
        finish_left_plato: f64, finish_chance: f64,
    }
}

fn origin(row: &str, text: &str, mark: &str) -> Source {
    let mark: Mark = data::mark(FILE, row, mark);
    Source {
        text: text.to_owned(),
        mark,
    }
}

/// The table.
pub(crate) fn table() -> &'static Table {
    static TABLE: LazyLock<Table> =
        LazyLock::new(|| data::builtin(FILE, include_str!("../../data/watch.toml")));
    &TABLE
}

impl Table {
    /// The row of an instrument.
    pub(crate) fn instrument(&self, key: &str) -> &InstrumentRow {
        match self.instrument.iter().find(|row| row.key == key) {
            Some(row) => row,
            #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
            None => panic!("built-in data file {FILE}: no instrument {key:?}"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::watch::Instrument;

    #[test]
    fn every_row_has_a_source_and_numbers_that_can_be() {
        let t = table();
        for source in [
            t.curve.source(),
            t.spread.source(),
            t.energy.source(),
            t.wander.source(),
            t.original.source(),
            t.alarm.source(),
        ] {
            assert!(source.text.len() > 10);
        }
        for kind in Instrument::ALL {
            let row = t.instrument(kind.word());
            assert!(row.noise_plato > 0.0 && row.tails > 2.0 && !row.source().text.is_empty());
        }
        assert_eq!(t.instrument.len(), Instrument::ALL.len());
        assert!(t.curve.onset_h > 0.0 && t.wander.hours > 0.0);
    }
}
