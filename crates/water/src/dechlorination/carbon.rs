//! Activated carbon. The table is `data/carbon.toml`.
//!
//! Carbon reduces chlorine, free chlorine one to two orders quicker than
//! chloramine (Bauer & Snoeyink 1973; Kim & Snoeyink 1980, from memory). No rate
//! of small beds is at hand, so the decline is first order in the time of contact
//! and its speed is taken from what makers and dialysis rules promise.

mod table;

use quantity::{Chlorine, Duration, FlowRate, Measured, Volume};

use super::remarks::NOT_DETECTED_MG_PER_L;
use crate::check;
use crate::error::WaterError;
use crate::state::{ResidualChlorine, SourceWater};

pub use table::{CarbonTable, Contact, carbon_table};

/// A filter or bed of activated carbon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarbonBed {
    /// The space that the carbon takes up.
    pub volume: Volume,
    /// What the maker claims, of a block that has a claim.
    pub rated: Option<CarbonRating>,
    /// How much chlorinated water has run through it so far.
    pub used: Volume,
}

/// What a maker claims of a filter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarbonRating {
    /// The litres it is good for.
    pub capacity: Volume,
    /// The flow at which.
    pub flow: FlowRate,
    /// Against what.
    pub claim: CarbonClaim,
}

/// What a claim is made against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CarbonClaim {
    /// Free chlorine ("chlorine taste and odour").
    FreeChlorine,
    /// Chloramine, which takes in free chlorine.
    Chloramine,
}

/// A common household block, new and without a claim.
#[must_use]
pub fn household_block() -> CarbonBed {
    CarbonBed {
        volume: carbon_table().example.0,
        rated: None,
        used: Volume::default(),
    }
}

impl CarbonBed {
    /// Empty bed contact time: volume over flow.
    ///
    /// ```
    /// use water::dechlorination::household_block;
    /// let contact = household_block().contact("3.8 L/min".parse()?);
    /// assert!((contact.h() * 3600.0 - 9.8).abs() < 0.05);
    /// # Ok::<(), quantity::QuantityError>(())
    /// ```
    #[must_use]
    pub fn contact(&self, flow: FlowRate) -> Duration {
        Duration::from_min(self.volume.l() / flow.l_per_min())
    }

    /// The flow that suits the bed: that of the claim where it covers what is in
    /// the water, else that which gives granular carbon its time.
    #[must_use]
    pub fn suitable_flow(&self, chloramine: bool) -> FlowRate {
        match self.rated {
            Some(rated) if !chloramine || rated.claim == CarbonClaim::Chloramine => rated.flow,
            _ => {
                let contact = if chloramine {
                    &carbon_table().combined
                } else {
                    &carbon_table().free
                };
                FlowRate::from_l_per_min(self.volume.l() / contact.time.min())
            }
        }
    }

    /// How much more of a water it is good for: rated litres · (chlorine of the
    /// claim's test / chlorine of the water) · (rated flow / flow, if faster), half
    /// of it against chloramine that is not claimed, less what ran through. That
    /// carbon takes up a fixed mass of chlorine is an assumption; none without a
    /// rating or without chlorine.
    #[must_use]
    pub fn capacity_left(
        &self,
        total: Chlorine,
        chloramine: bool,
        flow: FlowRate,
    ) -> Option<Volume> {
        let rated = self.rated?;
        let test = match rated.claim {
            CarbonClaim::FreeChlorine => carbon_table().free_claim.0,
            CarbonClaim::Chloramine => carbon_table().combined_claim.0,
        };
        let slower = (rated.flow.l_per_min() / flow.l_per_min()).min(1.0);
        let claimed = if chloramine && rated.claim == CarbonClaim::FreeChlorine {
            carbon_table().unclaimed.0.ratio()
        } else {
            1.0
        };
        let litres = rated.capacity.l() * test.mg_per_l() / total.mg_per_l() * slower * claimed;
        litres
            .is_finite()
            .then(|| Volume::from_l((litres - self.used.l()).max(0.0)))
    }

    /// e-foldings of the decline, expected and relied on.
    fn declines(&self, flow: FlowRate, chloramine: bool) -> (f64, f64) {
        let covered = |claim: CarbonClaim| !chloramine || claim == CarbonClaim::Chloramine;
        match self.rated {
            Some(rated) if covered(rated.claim) => {
                let (before, after, _) = match (chloramine, rated.claim) {
                    (false, CarbonClaim::FreeChlorine) => &carbon_table().free_claim,
                    _ => &carbon_table().combined_claim,
                };
                let claim = (before.mg_per_l() / after.mg_per_l()).ln();
                let relied = claim * rated.flow.l_per_min() / flow.l_per_min();
                (relied * carbon_table().expected_times.0, relied)
            }
            rated => {
                let contact = if chloramine {
                    &carbon_table().combined
                } else {
                    &carbon_table().free
                };
                let (before, after, _) = &carbon_table().reduction;
                let rule = (before.mg_per_l() / after.mg_per_l()).ln();
                let expected = rule * self.contact(flow).h() / contact.time.h();
                // A claim that is silent about chloramine assures nothing.
                let relied = if rated.is_some() {
                    0.0
                } else {
                    expected * carbon_table().relied_on.0.ratio()
                };
                (expected, relied)
            }
        }
    }
}

/// Water that ran through carbon.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Passed {
    pub(super) residual: ResidualChlorine,
    pub(super) contact: Duration,
    pub(super) capacity_left: Option<Volume>,
    pub(super) needed: Volume,
    pub(super) claim_is_silent: bool,
}

/// What remains behind carbon.
pub(super) fn pass(
    water: &SourceWater,
    needed: Volume,
    bed: &CarbonBed,
    flow: FlowRate,
) -> Result<Passed, WaterError> {
    check_bed(bed, flow)?;
    let total = water.total_chlorine;
    let nothing = Measured::exactly(Chlorine::default());
    let free = water.free_chlorine.unwrap_or(nothing);
    let (top, sure_free) = (total.upper().mg_per_l(), free.lower().mg_per_l());
    let chloramine = total.value.mg_per_l() - free.value.mg_per_l() > NOT_DETECTED_MG_PER_L;
    let left = bed.capacity_left(total.upper(), chloramine, flow);
    let fresh = left.map_or(1.0, |left| (left.l() / needed.l()).min(1.0));
    let through = |decline: f64| fresh * (-decline).exp() + (1.0 - fresh);
    let (free_expected, free_relied) = bed.declines(flow, false);
    let (combined_expected, combined_relied) = bed.declines(flow, true);
    let sure_free = sure_free.min(top);
    // Where the litres run out, the last of the water may pass untouched.
    let at_most = if fresh < 1.0 {
        top
    } else {
        sure_free * through(free_relied) + (top - sure_free) * through(combined_relied)
    };
    let expected_free = free.value.mg_per_l();
    let combined = (total.value.mg_per_l() - expected_free).max(0.0);
    let mg = Chlorine::from_mg_per_l;
    Ok(Passed {
        residual: ResidualChlorine {
            free: mg(expected_free * through(free_expected)),
            combined: mg(combined * through(combined_expected)),
            at_most: mg(at_most),
        },
        contact: bed.contact(flow),
        capacity_left: left,
        needed,
        claim_is_silent: chloramine
            && bed
                .rated
                .is_some_and(|r| r.claim == CarbonClaim::FreeChlorine),
    })
}

fn check_bed(bed: &CarbonBed, flow: FlowRate) -> Result<(), WaterError> {
    check::above_zero("volume of the carbon", bed.volume)?;
    check::above_zero("flow through the carbon", flow)?;
    check::within("water that ran through the carbon", bed.used)?;
    if let Some(rated) = bed.rated {
        check::above_zero("rated litres of the carbon", rated.capacity)?;
        check::above_zero("rated flow of the carbon", rated.flow)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tap(total: &str, free: Option<&str>) -> SourceWater {
        SourceWater {
            alkalinity: quantity::Alkalinity::from_meq_per_l(1.0),
            total_chlorine: total.parse().unwrap(),
            free_chlorine: free.map(|f| f.parse().unwrap()),
            ..SourceWater::named("tap")
        }
    }

    fn rated(claim: CarbonClaim) -> CarbonBed {
        CarbonBed {
            rated: Some(CarbonRating {
                capacity: Volume::from_l(5000.0),
                flow: FlowRate::from_l_per_min(2.0),
                claim,
            }),
            ..household_block()
        }
    }

    /// Empty bed contact by plain arithmetic: 9.8 s at 3.8 L/min, 2 min at
    /// 0.31 L/min and 10 min at 0.062 L/min of an annulus 63/28 mm by 248 mm.
    #[test]
    fn the_household_block_has_the_volume_of_its_size() {
        let annulus = std::f64::consts::PI / 4.0 * (0.63f64.powi(2) - 0.28f64.powi(2)) * 2.48;
        assert!((annulus - household_block().volume.l()).abs() < 5e-3);
        for (chloramine, flow) in [(false, 0.31), (true, 0.062)] {
            let ours = household_block().suitable_flow(chloramine).l_per_min();
            assert!((ours - flow).abs() < 5e-4, "{ours}");
        }
    }

    /// A bed at the time of contact of the rules does what the rules say.
    #[test]
    fn at_the_contact_of_the_rules_four_becomes_a_tenth() {
        let bed = CarbonBed {
            volume: Volume::from_l(20.0),
            rated: None,
            used: Volume::default(),
        };
        for (water, flow) in [
            (tap("4 mg/L", Some("4 mg/L")), 10.0),
            (tap("4 mg/L", None), 2.0),
        ] {
            let flow = FlowRate::from_l_per_min(flow);
            let passed = pass(&water, Volume::from_l(30.0), &bed, flow).unwrap();
            assert!((passed.residual.total().mg_per_l() - 0.1).abs() < 1e-9);
            assert!(passed.residual.at_most.mg_per_l() > 0.6);
        }
    }

    /// At its rated flow a filter leaves at most what its claim lets through.
    #[test]
    fn a_claim_bounds_what_passes() {
        let flow = FlowRate::from_l_per_min(2.0);
        let needed = Volume::from_l(30.0);
        let free = tap("2 mg/L", Some("2 mg/L"));
        let passed = pass(&free, needed, &rated(CarbonClaim::FreeChlorine), flow).unwrap();
        assert!((passed.residual.at_most.mg_per_l() - 1.0).abs() < 1e-9);
        let combined = tap("3 mg/L", None);
        let passed = pass(&combined, needed, &rated(CarbonClaim::Chloramine), flow).unwrap();
        assert!((passed.residual.at_most.mg_per_l() - 0.5).abs() < 1e-9);
        // The claim against free chlorine bounds nothing here.
        let passed = pass(&combined, needed, &rated(CarbonClaim::FreeChlorine), flow).unwrap();
        assert!((passed.residual.at_most.mg_per_l() - 3.0).abs() < 1e-9);
        assert!(passed.claim_is_silent);
    }

    #[test]
    fn litres_run_out() {
        let bed = CarbonBed {
            used: Volume::from_l(9980.0),
            ..rated(CarbonClaim::FreeChlorine)
        };
        let flow = FlowRate::from_l_per_min(1.0);
        let one = Chlorine::from_mg_per_l(1.0);
        // 5000 L of 2 mg/L are 10 000 L of 1 mg/L.
        let left = bed.capacity_left(one, false, flow).unwrap();
        assert!((left.l() - 20.0).abs() < 1e-6);
        let water = tap("1 mg/L", Some("1 mg/L"));
        let passed = pass(&water, Volume::from_l(40.0), &bed, flow).unwrap();
        assert!(passed.residual.total().mg_per_l() > 0.5);
        assert!((passed.residual.at_most.mg_per_l() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_bed_of_nothing_is_refused() {
        let bed = CarbonBed {
            volume: Volume::default(),
            ..household_block()
        };
        let flow = FlowRate::from_l_per_min(1.0);
        let error = pass(&tap("1 mg/L", None), Volume::from_l(1.0), &bed, flow).unwrap_err();
        assert!(error.to_string().starts_with("volume of the carbon is 0 L"));
    }
}
