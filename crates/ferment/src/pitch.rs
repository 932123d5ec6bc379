//! Yeast to pitch: what the wort needs and what is at hand.

use quantity::{Caution, Cells, Fraction, Gravity, Mass, Measured, Note, PitchRate, Volume};

use crate::error::FermentError;
use crate::need::cells_needed;
use crate::starter::{GrownStarter, Starter, grow_starter};
use crate::stock::{Yeast, living, stock_notes};

/// Dry mass of a cell \[pg\]: 15 to 40 in textbooks (from memory).
const CELL_DRY_PG: f64 = 30.0;

/// Cells needed and cells at hand.
#[derive(Debug, Clone, PartialEq)]
pub struct PitchReport {
    /// Cells that the wort needs.
    pub needed: Cells,
    /// Living cells at hand, after a starter if there is one.
    pub at_hand: Measured<Cells>,
    /// Living cells before a starter.
    pub before_starter: Cells,
    /// Share of the cells that is alive, before a starter.
    pub viability: Fraction,
    /// The starter as it comes out, if there is one.
    pub starter: Option<GrownStarter>,
    /// Pitching rate that results.
    pub rate: PitchRate,
    /// Cells at hand over cells needed.
    pub ratio: f64,
    /// More packets of the same kind that would make up the rest, pitched beside the
    /// starter if there is one; none where yeast does not come in packets.
    pub packets_to_buy: Option<u32>,
    /// Dry mass of what is pitched.
    pub dry_mass: Mass,
    /// Remarks.
    pub notes: Vec<Note>,
    /// Cautions.
    pub cautions: Vec<Caution>,
}

/// The yeast at hand beside what the wort needs.
///
/// # Errors
/// [`FermentError::Impossible`] for amounts, ages or temperatures that cannot be,
/// [`FermentError::NoYeast`] where nothing is alive.
pub fn pitch(
    yeast: &Yeast,
    starter: Option<&Starter>,
    rate: PitchRate,
    gravity: Gravity,
    volume: Volume,
) -> Result<PitchReport, FermentError> {
    let needed = cells_needed(rate, gravity, volume)?;
    let stock = living(yeast)?;
    if stock.billions <= 0.0 {
        return Err(FermentError::NoYeast);
    }
    let mut notes = stock_notes(&stock);
    let spread = stock.billions * stock.spread;
    let before = Measured::with_sd(Cells::from_billions(stock.billions), spread);
    let grown = starter.map(|s| grow_starter(&before, s)).transpose()?;
    notes.extend(grown.iter().flat_map(|g| g.notes.iter().cloned()));
    let growth = grown.as_ref().map_or(1.0, |g| g.growth);
    let pitched = grown.as_ref().map_or(before, |g| g.cells);
    let at_hand = pitched.value.billions();
    let ratio = at_hand / needed.billions();
    let missing = needed.billions() - at_hand;
    notes.extend(ratio_notes(ratio));
    let own_rate = rate.millions_per_ml_plato() * ratio;
    Ok(PitchReport {
        needed,
        at_hand: pitched,
        before_starter: before.value,
        viability: Fraction::from_ratio(stock.viability),
        rate: PitchRate::from_millions_per_ml_plato(own_rate),
        ratio,
        packets_to_buy: stock.per_packet.map(|each| packets_for(missing, each)),
        dry_mass: Mass::from_g(
            stock
                .dry_g
                .map_or(at_hand * CELL_DRY_PG * 1e-3, |g| g * growth),
        ),
        notes,
        cautions: grown.iter().flat_map(|g| g.cautions.clone()).collect(),
        starter: grown,
    })
}

/// Packets that make up what is missing.
pub(crate) fn packets_for(missing_billions: f64, each_billions: f64) -> u32 {
    if missing_billions <= 0.0 || each_billions <= 0.0 {
        return 0;
    }
    // A hair of slack, so that rounding does not sell one packet too many.
    let count = (missing_billions / each_billions - 1e-9).ceil();
    count.clamp(0.0, f64::from(u32::MAX)) as u32
}

fn ratio_notes(ratio: f64) -> Option<Note> {
    let percent = ratio * 100.0;
    match ratio {
        r if r < 0.5 => Some(Note::act(format!(
            "{percent:.0} % of the cells needed: a long start in which spoilers can grow, more fusel alcohols and diacetyl, and a risk of stopping early"
        ))),
        r if r < 0.8 => Some(Note::look(format!(
            "{percent:.0} % of the cells needed: a slow start, more growth and with it more fusel alcohols"
        ))),
        r if r > 2.5 => Some(Note::look(format!(
            "{percent:.0} % of the cells needed: little growth, thin flavour, and yeast that tires sooner"
        ))),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::starter::{StarterStep, Stirring};
    use proptest::prelude::*;
    use quantity::{CellDensity, Duration, Temperature};

    fn rate(x: f64) -> PitchRate {
        PitchRate::from_millions_per_ml_plato(x)
    }

    fn wort(plato: f64, litres: f64) -> (Gravity, Volume) {
        (Gravity::from_plato(plato), Volume::from_l(litres))
    }

    fn packets(n: f64, age_d: f64) -> Yeast {
        Yeast::Dry {
            packets: n,
            packet: Mass::from_g(11.5),
            cells: None,
            age: Duration::from_h(age_d * 24.0),
            storage: Temperature::from_c(4.0),
        }
    }

    #[test]
    fn packets_are_counted_up_to_what_is_missing() {
        let (g, v) = wort(12.0, 20.0);
        let report = pitch(&packets(1.0, 0.0), None, rate(0.75), g, v).unwrap();
        assert!((report.at_hand.value.billions() - 115.0).abs() < 1e-9);
        assert!((report.ratio - 115.0 / 180.0).abs() < 1e-12);
        assert_eq!(report.packets_to_buy, Some(1));
        assert!(report.notes.iter().any(|n| n.text.contains("fusel")));
        assert!((report.dry_mass.g() - 11.5).abs() < 1e-9);

        let enough = pitch(&packets(2.0, 0.0), None, rate(0.75), g, v).unwrap();
        assert_eq!(enough.packets_to_buy, Some(0));
        assert!(enough.notes.is_empty(), "{:?}", enough.notes);
    }

    #[test]
    fn a_starter_multiplies_cells_and_carries_its_caution() {
        let (g, v) = wort(12.0, 20.0);
        let liquid = Yeast::Liquid {
            packets: 1.0,
            cells: Cells::from_billions(100.0),
            age: Duration::from_h(0.0),
            storage: Temperature::from_c(4.0),
        };
        let starter = Starter::of(StarterStep {
            volume: Volume::from_l(2.0),
            gravity: Gravity::from_plato(9.0),
            stirring: Stirring::Still,
        });
        let report = pitch(&liquid, Some(&starter), rate(0.75), g, v).unwrap();
        let at_hand = report.at_hand.value.billions();
        assert!((at_hand / 205.0 - 1.0).abs() < 0.035);
        // Of a packet beside the starter nothing grows: 100 billion each.
        let short = pitch(&liquid, Some(&starter), rate(2.0), g, v).unwrap();
        let packets = ((480.0 - at_hand) / 100.0).ceil() as u32;
        assert_eq!(short.packets_to_buy, Some(packets));
        assert!(report.cautions.contains(&Caution::StoredWort));
        assert!(report.cautions.contains(&Caution::Starter));
        assert_eq!(report.starter.unwrap().cells, report.at_hand);
    }

    /// McCaig & Bendiak 1985: a slurry counted loses by its storage since.
    #[test]
    fn a_count_is_pitched_as_counted_and_loses_after() {
        let (g, v) = wort(12.0, 20.0);
        let slurry = |days: f64| Yeast::Suspension {
            volume: Volume::from_l(0.2),
            living: Measured::with_sd(CellDensity::from_millions_per_ml(900.0), 90.0),
            viability: Fraction::from_ratio(0.94),
            since: Duration::from_h(days * 24.0),
            storage: Temperature::from_c(1.0),
        };
        let fresh = pitch(&slurry(0.0), None, rate(0.75), g, v).unwrap();
        assert!((fresh.at_hand.value.billions() - 180.0).abs() < 1e-9);
        assert!((fresh.at_hand.sd() - 18.0).abs() < 1e-9);
        assert!((fresh.viability.ratio() - 0.94).abs() < 1e-12);
        let week = pitch(&slurry(7.0), None, rate(0.75), g, v).unwrap();
        assert!((week.at_hand.value.billions() / 180.0 - 0.909).abs() < 1e-3);
    }

    #[test]
    fn dead_or_absent_yeast_is_refused() {
        let (g, v) = wort(12.0, 20.0);
        assert_eq!(
            pitch(&packets(0.0, 0.0), None, rate(0.75), g, v),
            Err(FermentError::NoYeast)
        );
        assert!(pitch(&packets(f64::NAN, 0.0), None, rate(0.75), g, v).is_err());
        assert!(pitch(&packets(1.0, -5.0), None, rate(0.75), g, v).is_err());
        let old = Yeast::Slurry {
            volume: Volume::from_l(0.3),
            cells: None,
            age: Duration::from_h(30.0 * 24.0),
            storage: Temperature::from_c(10.0),
        };
        let report = pitch(&old, None, rate(0.75), g, v).unwrap();
        assert!((report.viability.ratio() - 0.312).abs() < 2e-3);
        assert_eq!(report.packets_to_buy, None);
        assert!(report.notes.len() >= 2, "{:?}", report.notes);
    }

    proptest! {
        #[test]
        fn age_never_helps_and_buying_suffices(
            n in 0.5..5.0f64, age in 0.0..900.0f64, litres in 5.0..200.0f64, plato in 4.0..30.0f64,
        ) {
            let (g, v) = wort(plato, litres);
            let now = pitch(&packets(n, age), None, rate(0.75), g, v).unwrap();
            let later = pitch(&packets(n, age + 30.0), None, rate(0.75), g, v).unwrap();
            prop_assert!(later.at_hand.value < now.at_hand.value);
            let more = n + f64::from(now.packets_to_buy.unwrap());
            let bought = pitch(&packets(more, age), None, rate(0.75), g, v).unwrap();
            prop_assert!(bought.ratio >= 1.0 - 1e-9);
        }
    }
}
