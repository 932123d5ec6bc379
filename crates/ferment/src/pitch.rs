//! Yeast to pitch: what the wort needs and what is at hand.

use quantity::{
    Caution, CellDensity, Cells, Fraction, Gravity, Mass, Measured, Note, PitchRate, Volume,
};

use crate::error::{FermentError, within};
use crate::stock::{Yeast, living, stock_notes};

/// Inoculum for which the still-starter fit holds \[10⁶/mL\].
const STARTER_VALID: (f64, f64) = (5.0, 100.0);
/// Dry mass of a cell \[pg\]: 15 to 40 in textbooks (from memory).
const CELL_DRY_PG: f64 = 30.0;

/// A still starter made of the yeast at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Starter {
    /// Volume of starter wort.
    pub volume: Volume,
    /// Its gravity.
    pub gravity: Gravity,
}

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
    /// Pitching rate that results.
    pub rate: PitchRate,
    /// Cells at hand over cells needed.
    pub ratio: f64,
    /// More packets of the same kind that would make up the rest; none where
    /// yeast does not come in packets.
    pub packets_to_buy: Option<u32>,
    /// Dry mass of what is pitched.
    pub dry_mass: Mass,
    /// Remarks.
    pub notes: Vec<Note>,
    /// Cautions.
    pub cautions: Vec<Caution>,
}

/// Cells that a wort needs \[10⁹\]: rate × extract × volume.
///
/// 0.5 to 0.75 million/mL/°P for ale, 1.0 to 1.5 for lager, times 1.3 to 1.5
/// above 18 °P (common practice); here the factor rises from 1 at 18 °P to 1.4
/// at 20 °P.
///
/// # Errors
/// [`FermentError::Impossible`] outside 0.01 to 10 million/mL/°P, 0.5 to 35 °P or
/// 0.01 to 100 000 L.
pub fn cells_needed(
    rate: PitchRate,
    gravity: Gravity,
    volume: Volume,
) -> Result<Cells, FermentError> {
    let rate = within("pitching rate", rate, 0.01, 10.0)?.millions_per_ml_plato();
    let plato = within("original gravity", gravity, 0.5, 35.0)?.plato();
    let litres = within("wort volume", volume, 0.01, 1e5)?.l();
    let strong = 1.0 + 0.4 * ((plato - 18.0) / 2.0).clamp(0.0, 1.0);
    // 10⁶/mL is 10⁹/L.
    Ok(Cells::from_billions(rate * plato * litres * strong))
}

/// Growth in a still starter \[–\]: cells after over cells before.
///
/// N/N₀ = 12.02 I^−0.452, I the inoculum \[10⁶/mL\], from 5 to 100 (fit, computed,
/// to the table for 9 °P in White & Zainasheff 2010, from memory but for the
/// entry at 1 L); held at the ends beyond, never below one.
#[must_use]
pub fn still_starter_growth(inoculum: CellDensity) -> f64 {
    let (low, high) = STARTER_VALID;
    let i = inoculum.millions_per_ml();
    if i > high {
        // Beyond the table a crowded starter hardly grows: the gain fades as 1/I.
        return 1.0 + (starter_fit(high) - 1.0) * high / i;
    }
    starter_fit(i.max(low))
}

fn starter_fit(inoculum_millions_per_ml: f64) -> f64 {
    12.02 * inoculum_millions_per_ml.powf(-0.452)
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
    let growth = match starter {
        Some(s) => grown(s, stock.billions, &mut notes)?,
        None => 1.0,
    };
    let at_hand = stock.billions * growth;
    let ratio = at_hand / needed.billions();
    let missing = needed.billions() - at_hand;
    notes.extend(ratio_notes(ratio));
    let own_rate = rate.millions_per_ml_plato() * ratio;
    Ok(PitchReport {
        needed,
        at_hand: Measured::with_sd(Cells::from_billions(at_hand), at_hand * stock.spread),
        before_starter: Cells::from_billions(stock.billions),
        viability: Fraction::from_ratio(stock.viability),
        rate: PitchRate::from_millions_per_ml_plato(own_rate),
        ratio,
        packets_to_buy: stock
            .per_packet
            .map(|each| packets_for(missing, each * growth)),
        dry_mass: Mass::from_g(
            stock
                .dry_g
                .map_or(at_hand * CELL_DRY_PG * 1e-3, |g| g * growth),
        ),
        notes,
        cautions: starter.map(|_| Caution::StoredWort).into_iter().collect(),
    })
}

fn grown(starter: &Starter, billions: f64, notes: &mut Vec<Note>) -> Result<f64, FermentError> {
    let litres = within("starter volume", starter.volume, 0.05, 1e4)?.l();
    let plato = within("starter gravity", starter.gravity, 2.0, 20.0)?.plato();
    let inoculum = billions / litres;
    let (low, high) = STARTER_VALID;
    if !(low..=high).contains(&inoculum) {
        notes.push(Note::look(format!(
            "the starter begins with {inoculum:.0} million cells/mL; the growth figures hold from {low:.0} to {high:.0}"
        )));
    }
    if !(8.0..=10.5).contains(&plato) {
        notes.push(Note::look(format!(
            "starter wort of {plato:.1} °P; the growth figures are for 9 °P, and 8 to 10 °P is usual"
        )));
    }
    Ok(still_starter_growth(CellDensity::from_millions_per_ml(
        inoculum,
    )))
}

fn packets_for(missing_billions: f64, each_billions: f64) -> u32 {
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
    use proptest::prelude::*;
    use quantity::{Duration, Temperature};

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

    /// Products of the pitching rule (Briggs et al. 2004, from memory).
    #[test]
    fn cells_needed_is_the_product() {
        for (r, plato, litres, billions) in [
            (0.75, 12.0, 20.0, 180.0),
            (1.5, 12.0, 20.0, 360.0),
            (1.0, 18.0, 23.0, 414.0),
            (0.75, 10.0, 19.0, 142.5),
        ] {
            let (g, v) = wort(plato, litres);
            assert!((cells_needed(rate(r), g, v).unwrap().billions() - billions).abs() < 1e-9);
        }
        let (g, v) = wort(22.0, 20.0);
        let strong = cells_needed(rate(1.0), g, v).unwrap().billions() / 440.0;
        assert!((1.3..=1.5).contains(&strong), "{strong}");
    }

    /// White & Zainasheff 2010: 100 billion cells in V litres of 9 °P (from
    /// memory; 152 at 1 L read). The fit misses its table by up to 4 %.
    #[test]
    fn still_starter_follows_the_table() {
        for (litres, billions) in [
            (1.0, 152.0),
            (1.5, 181.0),
            (2.0, 205.0),
            (4.0, 276.0),
            (8.0, 369.0),
            (20.0, 600.0),
        ] {
            let inoculum = CellDensity::from_millions_per_ml(100.0 / litres);
            let ours = 100.0 * still_starter_growth(inoculum);
            assert!(
                (ours / billions - 1.0).abs() < 0.045,
                "{litres} L: {ours} {billions}"
            );
        }
        // Beyond the fit: 112 in 0.5 L, with the loose agreement of a guess.
        let crowded = 100.0 * still_starter_growth(CellDensity::from_millions_per_ml(200.0));
        assert!((100.0..130.0).contains(&crowded), "{crowded}");
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
        let starter = Starter {
            volume: Volume::from_l(2.0),
            gravity: Gravity::from_plato(9.0),
        };
        let report = pitch(&liquid, Some(&starter), rate(0.75), g, v).unwrap();
        assert!((report.at_hand.value.billions() / 205.0 - 1.0).abs() < 0.035);
        assert_eq!(report.cautions, vec![Caution::StoredWort]);
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

        #[test]
        fn a_starter_never_shrinks_the_yeast(i in 0.1..5000.0f64) {
            let growth = still_starter_growth(CellDensity::from_millions_per_ml(i));
            prop_assert!((1.0..6.0).contains(&growth));
        }
    }
}
