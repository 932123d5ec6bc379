//! The ways of taking chlorine out of this batch's water, side by side.

use quantity::{Duration, Fraction};
use water::ResidualChlorine;
use water::dechlorination::{Dechlorination, Dose, Reagent, Volumes, dechlorinate};

use crate::stream::Reckoning;

/// A way and what it would leave.
#[derive(Debug, Clone, PartialEq)]
pub struct WayOut {
    /// What is done.
    pub name: &'static str,
    /// Chlorine that would stay.
    pub left: ResidualChlorine,
}

impl Reckoning {
    /// What each way would leave of the tap's chlorine, the planned one last.
    #[must_use]
    pub fn ways_out(&self) -> Vec<WayOut> {
        let matched = Dechlorination::Reagent {
            reagent: Reagent::PotassiumMetabisulfite,
            purity: Fraction::from_ratio(0.95),
            excess: Fraction::from_ratio(0.5),
            dose: Dose::Matched,
        };
        let ways = [
            ("nothing", Dechlorination::None),
            (
                "stand 12 h",
                Dechlorination::Stand {
                    time: Duration::from_h(12.0),
                },
            ),
            (
                "boil 30 min",
                Dechlorination::BoilLiquor {
                    time: Duration::from_min(30.0),
                },
            ),
            ("metabisulfite + 50 %", matched),
        ];
        let volumes = Volumes {
            mash: self.volumes.mash_liquor,
            sparge: self.volumes.sparge_liquor,
        };
        let mut out: Vec<WayOut> = ways
            .iter()
            // The stage has reckoned this water already, so none is refused here.
            .filter_map(|(name, how)| {
                let done = dechlorinate(&self.water.tap.water, volumes, how).ok()?;
                Some(WayOut {
                    name,
                    left: done.residual,
                })
            })
            .collect();
        out.push(WayOut {
            name: "as planned",
            left: self.water.mash.chlorine,
        });
        out
    }
}
