//! Yeast at hand, and how much of it is alive.

use quantity::{
    CellDensity, Cells, CellsPerMass, Duration, Fraction, Mass, Measured, Note, Temperature, Volume,
};

use crate::error::{FermentError, within, within_numbers};
use crate::storage::{dry_viability, liquid_viability, slurry_viability};

/// Viable cells in a gram of dry yeast \[10⁹/g\]: makers guarantee 5 to 6, counts
/// of six strains gave 8 to 18 in all (Van den Berg & Van Landschoot 2003, read
/// as quoted); 10 to plan with is judgement.
pub(crate) const DRY_BILLIONS_PER_G: f64 = 10.0;
/// Spread of that, as a share of it (judgement).
pub(crate) const DRY_SPREAD: f64 = 0.25;
/// Cells in thick slurry \[10⁶/mL\]: 1000 to 1500 (common practice).
pub(crate) const SLURRY_MILLIONS_PER_ML: f64 = 1200.0;
/// Spread of that, as a share of it (common practice).
pub(crate) const SLURRY_SPREAD: f64 = 0.30;
/// Spread of a number from a pack date, as a share of it (judgement).
const PACK_DATE_SPREAD: f64 = 0.5;
/// Spread of a count, as a share of it (judgement).
const COUNT_SPREAD: f64 = 0.25;
const HOURS_PER_DAY: f64 = 24.0;

/// Yeast at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Yeast {
    /// Packets of dry yeast.
    Dry {
        /// How many.
        packets: f64,
        /// Mass of one.
        packet: Mass,
        /// Viable cells in a gram when packed, if known.
        cells: Option<Measured<CellsPerMass>>,
        /// Time since packing.
        age: Duration,
        /// Storage temperature.
        storage: Temperature,
    },
    /// Packets of liquid yeast.
    Liquid {
        /// How many.
        packets: f64,
        /// Viable cells in one when packed.
        cells: Cells,
        /// Time since packing.
        age: Duration,
        /// Storage temperature.
        storage: Temperature,
    },
    /// Slurry from an earlier batch.
    Slurry {
        /// How much.
        volume: Volume,
        /// Its density, if counted.
        cells: Option<CellDensity>,
        /// Time since it was taken.
        age: Duration,
        /// Storage temperature.
        storage: Temperature,
    },
    /// A volume of which a sample was counted.
    Suspension {
        /// How much.
        volume: Volume,
        /// Living cells in a millilitre, as counted.
        living: Measured<CellDensity>,
        /// Share of the cells that lived then.
        viability: Fraction,
        /// Time since the count.
        since: Duration,
        /// Storage temperature since.
        storage: Temperature,
    },
    /// Living cells that were counted.
    Counted {
        /// How many.
        cells: Cells,
    },
}

/// Living cells and how surely they are known.
pub(crate) struct Stock {
    pub(crate) billions: f64,
    pub(crate) viability: f64,
    pub(crate) spread: f64,
    /// Living cells in one packet \[10⁹\].
    pub(crate) per_packet: Option<f64>,
    /// Dry mass, where the scales say it \[g\].
    pub(crate) dry_g: Option<f64>,
    /// Age of slurry \[d\].
    pub(crate) slurry_days: Option<f64>,
}

pub(crate) fn living(yeast: &Yeast) -> Result<Stock, FermentError> {
    match *yeast {
        Yeast::Dry {
            packets,
            packet,
            cells,
            age,
            storage,
        } => dry_stock(packets, packet, cells, age, storage),
        Yeast::Liquid {
            packets,
            cells,
            age,
            storage,
        } => {
            let n = within_numbers("number of packets", packets, 0.0, 1e5)?;
            let each = within("cells in a packet", cells, 0.0, 1e7)?.billions();
            let (days, temp_c) = stored(age, storage)?;
            let viability = liquid_viability(days, temp_c);
            Ok(Stock {
                billions: n * each * viability,
                viability,
                spread: PACK_DATE_SPREAD,
                per_packet: Some(each * viability),
                dry_g: None,
                slurry_days: None,
            })
        }
        Yeast::Slurry {
            volume,
            cells,
            age,
            storage,
        } => slurry_stock(volume, cells, age, storage),
        Yeast::Suspension {
            volume,
            living,
            viability,
            since,
            storage,
        } => suspension_stock(volume, &living, viability, since, storage),
        Yeast::Counted { cells } => Ok(Stock {
            billions: within("cells counted", cells, 0.0, 1e9)?.billions(),
            viability: 1.0,
            spread: COUNT_SPREAD,
            per_packet: None,
            dry_g: None,
            slurry_days: None,
        }),
    }
}

fn dry_stock(
    packets: f64,
    packet: Mass,
    cells: Option<Measured<CellsPerMass>>,
    age: Duration,
    storage: Temperature,
) -> Result<Stock, FermentError> {
    let n = within_numbers("number of packets", packets, 0.0, 1e5)?;
    let grams = within("mass of a packet", packet, 0.0, 1e3)?.g();
    let (per_g, spread) = match cells {
        Some(m) => {
            let value = within("cells in a gram of dry yeast", m.value, 0.0, 50.0)?;
            (value.billions_per_g(), relative_spread(&m))
        }
        None => (DRY_BILLIONS_PER_G, DRY_SPREAD),
    };
    let (days, temp_c) = stored(age, storage)?;
    let viability = dry_viability(days, temp_c);
    let each = grams * per_g * viability;
    Ok(Stock {
        billions: n * each,
        viability,
        spread,
        per_packet: Some(each),
        dry_g: Some(n * grams),
        slurry_days: None,
    })
}

fn slurry_stock(
    volume: Volume,
    cells: Option<CellDensity>,
    age: Duration,
    storage: Temperature,
) -> Result<Stock, FermentError> {
    let litres = within("volume of slurry", volume, 0.0, 1e4)?.l();
    let density = cells.unwrap_or(CellDensity::from_millions_per_ml(SLURRY_MILLIONS_PER_ML));
    let millions = within("cells in slurry", density, 0.0, 5e3)?.millions_per_ml();
    let (days, temp_c) = stored(age, storage)?;
    let viability = slurry_viability(days, temp_c);
    Ok(Stock {
        billions: litres * millions * viability,
        viability,
        spread: if cells.is_some() {
            COUNT_SPREAD
        } else {
            SLURRY_SPREAD
        },
        per_packet: None,
        dry_g: None,
        slurry_days: Some(days),
    })
}

fn suspension_stock(
    volume: Volume,
    living: &Measured<CellDensity>,
    viability: Fraction,
    since: Duration,
    storage: Temperature,
) -> Result<Stock, FermentError> {
    let litres = within("volume of yeast counted", volume, 0.0, 1e4)?.l();
    let millions = within("cells in the yeast counted", living.value, 0.0, 1e4)?.millions_per_ml();
    let counted = within("viability of the yeast counted", viability, 0.0, 1.0)?.ratio();
    let (days, temp_c) = stored(since, storage)?;
    let left = slurry_viability(days, temp_c);
    let sd = living.sd();
    Ok(Stock {
        billions: litres * millions * left,
        viability: counted * left,
        spread: if sd > 0.0 && sd.is_finite() && millions > 0.0 {
            sd / millions
        } else {
            COUNT_SPREAD
        },
        per_packet: None,
        dry_g: None,
        slurry_days: None,
    })
}

fn relative_spread(cells: &Measured<CellsPerMass>) -> f64 {
    let sd = cells.sd();
    if sd > 0.0 && sd.is_finite() {
        sd / cells.value.billions_per_g()
    } else {
        DRY_SPREAD
    }
}

fn stored(age: Duration, storage: Temperature) -> Result<(f64, f64), FermentError> {
    let hours = within("age of the yeast", age, 0.0, 1e5)?.h();
    let temp_c = within("storage temperature", storage, -25.0, 45.0)?.c();
    Ok((hours / HOURS_PER_DAY, temp_c))
}

impl Yeast {
    /// So many times as much of it.
    pub(crate) fn times(self, factor: f64) -> Self {
        let litres = |v: Volume| Volume::from_l(v.l() * factor);
        let mut more = self;
        match &mut more {
            Self::Dry { packets, .. } | Self::Liquid { packets, .. } => *packets *= factor,
            Self::Slurry { volume, .. } | Self::Suspension { volume, .. } => {
                *volume = litres(*volume);
            }
            Self::Counted { cells } => *cells = Cells::from_billions(cells.billions() * factor),
        }
        more
    }

    /// Living cells, with their spread.
    ///
    /// # Errors
    /// [`FermentError::Impossible`] for amounts, ages or temperatures that cannot be.
    pub fn living(&self) -> Result<Measured<Cells>, FermentError> {
        let stock = living(self)?;
        let cells = Cells::from_billions(stock.billions);
        Ok(Measured::with_sd(cells, stock.billions * stock.spread))
    }
}

pub(crate) fn stock_notes(stock: &Stock) -> Vec<Note> {
    let mut notes = Vec::new();
    if stock.viability < 0.5 {
        notes.push(Note::look(format!(
            "only {:.0} % of the cells are reckoned to be alive: a starter or fresh yeast is safer",
            stock.viability * 100.0
        )));
    }
    if stock.slurry_days.is_some_and(|d| d > 14.0) {
        notes.push(Note::look(
            "slurry older than 14 days: use it within 3 days, two weeks at most at 1 °C under beer",
        ));
    }
    notes
}
