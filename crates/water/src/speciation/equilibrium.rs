//! Which solids stand in equilibrium with a water, and how much of each.
//!
//! A solid either holds the water at its solubility, or all that is available of
//! it is dissolved and the water is not beyond its solubility. The one is true or
//! the other; the set of those that hold is found by changing one at a time, the
//! worst first, and by trying all sets where that runs in a circle.

use super::constants::Constants;
use super::kernel::{self, Answer, Buffer, MAX_BUFFERS, Problem, Stalled, WaterMass};
use super::table::{COMPONENTS, table};

/// A solid that may form or dissolve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Supply {
    /// Its place in the table.
    pub phase: usize,
    /// Moles of it that can dissolve; zero where it can only form.
    pub available: f64,
}

/// A closed water, the gas over it and the solids in it.
#[derive(Debug, Clone, Copy)]
pub(super) struct System<'a> {
    pub constants: &'a Constants,
    pub totals: [f64; COMPONENTS],
    pub water_mol: f64,
    /// A gas held over the water.
    pub gas: Option<Buffer>,
    pub supplies: &'a [Supply],
}

/// The answer, and the moles that each solid gave to the water.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Settled {
    pub answer: Answer,
    /// Moles of gas taken up; negative where it left.
    pub gas: f64,
    /// In the order of the supplies; negative where the solid formed.
    pub given: Vec<f64>,
}

/// Supersaturation that is rounding \[in ln\].
const LN_ROUNDING: f64 = 1e-9;
/// Moles that are rounding.
const MOL_ROUNDING: f64 = 1e-15;
/// One bit a supply.
type Set = u32;

/// Finds the solids that hold.
pub(super) fn settle(system: &System<'_>, like: Option<&Answer>) -> Result<Settled, Stalled> {
    match system.one_at_a_time(like) {
        Ok(settled) => Ok(settled),
        Err(_) if system.supplies.is_empty() => system.with(0, None),
        Err(_) => system.try_all(),
    }
}

impl System<'_> {
    fn one_at_a_time(&self, like: Option<&Answer>) -> Result<Settled, Stalled> {
        let mut holding = self.dissolving();
        let mut settled = self.with(holding, like)?;
        for _ in 0..3 * self.supplies.len() {
            let Some(change) = self.worst(holding, &settled) else {
                return Ok(settled);
            };
            holding ^= 1 << change;
            settled = self.with(holding, Some(&settled.answer))?;
        }
        match self.worst(holding, &settled) {
            None => Ok(settled),
            Some(_) => Err(Stalled::Steps),
        }
    }

    /// The solids of which there is some, which are taken to hold at first.
    fn dissolving(&self) -> Set {
        let some = |(n, supply): (usize, &Supply)| Set::from(supply.available > 0.0) << n;
        self.supplies.iter().enumerate().map(some).sum()
    }

    /// The answer if the solids of a set hold, and of the others all is dissolved.
    fn with(&self, holding: Set, like: Option<&Answer>) -> Result<Settled, Stalled> {
        let mut buffers: Vec<Buffer> = self.gas.into_iter().collect();
        let mut dissolved = super::table::Makeup {
            of: self.totals,
            water: self.water_mol,
        };
        for (n, supply) in self.supplies.iter().enumerate() {
            let makeup = table().phases[supply.phase].makeup;
            if holding & (1 << n) != 0 {
                buffers.push(Buffer::phase(
                    makeup,
                    self.constants.ln_k_phase[supply.phase],
                ));
            } else if supply.available.is_infinite() {
                return Err(Stalled::Singular);
            } else if supply.available > 0.0 {
                dissolved = dissolved.plus(&makeup, supply.available);
            }
        }
        let answer = kernel::solve(
            &Problem {
                constants: self.constants,
                totals: dissolved.of,
                water: WaterMass::Total(dissolved.water),
                buffers: &buffers,
            },
            like,
        )?;
        Ok(self.settled(holding, answer))
    }

    fn settled(&self, holding: Set, answer: Answer) -> Settled {
        let mut amounts = answer.amounts.iter().copied();
        let gas = self.gas.and_then(|_| amounts.next()).unwrap_or(0.0);
        let given = (0..self.supplies.len()).map(|n| {
            if holding & (1 << n) != 0 {
                amounts.next().unwrap_or(0.0)
            } else {
                self.supplies[n].available
            }
        });
        Settled {
            given: given.collect(),
            gas,
            answer,
        }
    }

    /// The solid that is farthest from what its being held, or not, requires.
    fn worst(&self, holding: Set, settled: &Settled) -> Option<usize> {
        let mut worst: Option<(f64, usize)> = None;
        for (n, supply) in self.supplies.iter().enumerate() {
            let wrong = if holding & (1 << n) != 0 {
                // More than there is would have to dissolve.
                let excess = settled.given[n] - supply.available;
                if excess > MOL_ROUNDING {
                    excess.max(1.0)
                } else {
                    0.0
                }
            } else {
                let makeup = &table().phases[supply.phase].makeup;
                settled.answer.ln_product(makeup) - self.constants.ln_k_phase[supply.phase]
            };
            if wrong > LN_ROUNDING && worst.is_none_or(|(most, _)| wrong > most) {
                worst = Some((wrong, n));
            }
        }
        worst.map(|(_, n)| n)
    }

    fn try_all(&self) -> Result<Settled, Stalled> {
        let sets: Set = 1 << self.supplies.len().min(MAX_BUFFERS - 1);
        for holding in 0..sets {
            if let Ok(settled) = self.with(holding, None)
                && self.worst(holding, &settled).is_none()
            {
                return Ok(settled);
            }
        }
        Err(Stalled::Steps)
    }
}
