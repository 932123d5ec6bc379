//! Chlorine and chloramine: the ways of taking them out of this batch's water,
//! side by side.

use quantity::Duration;
use water::dechlorination::{Reagent, Volumes};
use water::disinfectant::{
    AtHand, Comparison, DisinfectantError, Form, ReagentAtHand, Task, compare,
};

use crate::document::TreatmentSection;
use crate::stream::Reckoning;

/// The time until the water is needed, where nobody says: drawn in the evening for
/// the next morning (judgement).
pub const OVERNIGHT: Duration = Duration::from_h(12.0);

impl Reckoning {
    /// Every way out for the tap's chlorine, and the one to take. At hand is what
    /// the plan uses, and a kettle.
    ///
    /// # Errors
    /// [`DisinfectantError`], where the water cannot be followed.
    pub fn ways_out(&self, time: Duration) -> Result<Comparison, DisinfectantError> {
        let volumes = Volumes {
            mash: self.volumes.mash_liquor,
            sparge: self.volumes.sparge_liquor,
        };
        let treatment = &self.document.water.treatment;
        compare(&Task {
            at_hand: at_hand(treatment),
            excess: treatment.excess.value,
            ..Task::new(self.water.tap.water.clone(), volumes, time)
        })
    }
}

fn at_hand(treatment: &TreatmentSection) -> AtHand {
    let planned = treatment.reagent.as_deref();
    let reagent = planned.and_then(|name| Reagent::named(name).ok());
    let form = match treatment.tablet_mass {
        Some(active) => Form::Tablets {
            active: active.value,
        },
        None => Form::Powder {
            purity: treatment.purity.value,
        },
    };
    AtHand {
        reagents: reagent
            .map(|reagent| ReagentAtHand { reagent, form })
            .into_iter()
            .collect(),
        ..AtHand::default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use water::disinfectant::{Effect, Way};

    fn reckoned(text: &str) -> Reckoning {
        let (document, assumptions) = Document::read(text).unwrap();
        Reckoning::of(document, assumptions).unwrap()
    }

    /// Chloramine: standing overnight and boiling leave it; the reagent of the plan
    /// clears it and is the one to take.
    #[test]
    fn chloraminated_mains_want_the_reagent_at_hand() {
        let r = reckoned(include_str!("../../../../examples/lantern-pale.toml"));
        let compared = r.ways_out(OVERNIGHT).unwrap();
        let taken = compared.recommendation.unwrap();
        assert_eq!(taken.way, Way::Reagent(Reagent::PotassiumMetabisulfite));
        assert!(!taken.to_get && !taken.reasons.is_empty());
        for way in [Way::Stand, Way::Nothing] {
            let found = compared.ways.iter().find(|w| w.out.way == way).unwrap();
            assert_eq!(found.out.effect, Effect::Leaves, "{way}");
            assert!(found.why_not.is_some(), "{way}");
        }
    }

    /// Nothing at hand: what is recommended has to be got first, and is said to be.
    #[test]
    fn untreated_water_is_told_what_to_get() {
        let r = reckoned(include_str!("../../../../examples/lantern-pale-first.toml"));
        let taken = r.ways_out(OVERNIGHT).unwrap().recommendation.unwrap();
        assert!(taken.to_get, "{taken:?}");
    }
}
