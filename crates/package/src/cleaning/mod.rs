//! Cleaning and sanitising: what agents are for, how a stock is diluted to use
//! strength, what must never meet, and what each can leave in beer.
//!
//! ```
//! use package::cleaning::{Agent, Strength, working_solution};
//! use quantity::{MassConcentration, Volume};
//! let bleach = Agent::find("hypochlorite")?;
//! let aim = Strength::Active(MassConcentration::from_mg_per_l(200.0));
//! let made = working_solution(&bleach.stocks[0].strength, aim, Volume::from_l(10.0))?;
//! assert_eq!(made.amount.to_string(), "38.1 mL");
//! assert_eq!(package::cleaning::never_meet(&bleach.kinds, &Agent::find("peracetic-acid")?.kinds).len(), 2);
//! # Ok::<(), package::PackageError>(())
//! ```

mod agent;
mod mixture;
mod residue;
mod working;

pub use agent::{Agent, Does, Leaves, Stock};
pub use mixture::{Meeting, Mixture, Severity, Substance, kinds_of, names_that_meet, never_meet};
pub use residue::{CleaningUse, Residue, Rinse, residue};
pub use working::{Amount, StockStrength, Strength, Working, working_solution};
