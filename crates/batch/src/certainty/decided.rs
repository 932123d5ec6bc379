//! What is decided before nature has its say: a batch is brewed with the liquors, the
//! reagent and the sugar that its plan weighed, wherever it ends.

use quantity::{Mass, Volume};
use water::dechlorination::{Dechlorination, Dose};

use crate::stream::Reckoning;

/// Amounts that a plan reckoned from its own figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Decided {
    pub(crate) mash_liquor: Volume,
    pub(crate) sparge_liquor: Volume,
    /// Against chlorine, where a dose is matched to it.
    reagent: Option<Mass>,
    /// None where none is weighed.
    sugar: Mass,
}

impl Decided {
    pub(crate) fn by(plan: &Reckoning) -> Self {
        Self {
            mash_liquor: plan.volumes.mash_liquor,
            sparge_liquor: plan.volumes.sparge_liquor,
            reagent: plan.water.dechlorination.dose.map(|dose| dose.total),
            sugar: plan
                .packaging
                .priming
                .as_ref()
                .map_or(Mass::default(), |p| p.mass),
        }
    }

    /// The sugar that was weighed.
    pub(crate) fn sugar(&self) -> Mass {
        self.sugar
    }

    /// A dose that would be matched to the chlorine is the one that was weighed.
    pub(crate) fn weigh(&self, way: &mut Dechlorination) {
        if let Dechlorination::Reagent { dose, .. } = way
            && matches!(dose, Dose::Matched)
            && let Some(mass) = self.reagent
        {
            *dose = Dose::Mass(mass);
        }
    }
}
