//! Chlorine and chloramine: what the supply keeps, the ways of taking it out of this
//! batch's water side by side, and how a way comes into the plan.

mod breakpoint;
mod judged;
mod plan;
mod question;

use quantity::{Chlorine, Duration, FlowRate, Measured, Volume};
use water::SourceWater;
use water::dechlorination::{CarbonBed, Volumes};
use water::disinfectant::{
    Comparison, DisinfectantError, Line, Task, Way, WayOut, as_planned, compare, courses,
};

use crate::plan::dechlorination;
use crate::stream::Reckoning;

pub use breakpoint::{Breakpoint, BreakpointQuestion};
pub use judged::{Judged, judgement};
pub(crate) use judged::{total_chlorine, unkept};
pub use plan::{Plan, plan_of};
pub use question::{Bed, Have, Question, Read, prices};

/// The ways of this batch, and what its plan does.
#[derive(Debug, Clone, PartialEq)]
pub struct Answer {
    /// What was asked.
    pub task: Task,
    /// Every way, the better first, and the one to take.
    pub compared: Comparison,
    /// What the plan does now.
    pub planned: WayOut,
}

/// A bed of carbon as it is run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarbonRun {
    /// The carbon.
    pub bed: CarbonBed,
    /// The flow that suits it, by its claim or by the time of contact.
    pub suitable: FlowRate,
    /// The flow.
    pub flow: FlowRate,
    /// Volume of the carbon over the flow.
    pub contact: Duration,
    /// The time for all of the liquor.
    pub time: Duration,
    /// How much more of this water it is good for, by its claim.
    pub left: Option<Volume>,
}

/// Less than this a test for total chlorine does not show \[mg/L\] (common practice).
const NOT_SHOWN_MG_PER_L: f64 = 0.1;

impl Reckoning {
    /// Every way out for the tap's chlorine and the one to take, and the plan beside
    /// them.
    ///
    /// # Errors
    /// [`DisinfectantError`], where the water cannot be followed.
    pub fn ways_out(&self, asked: &Read) -> Result<Answer, DisinfectantError> {
        let task = Task {
            excess: self.document.water.treatment.excess.value,
            at_hand: asked.at_hand.clone(),
            prices: asked.prices.clone(),
            sulfite_sensitive: asked.sulfite_sensitive,
            ..Task::new(self.water.tap.water.clone(), self.liquors(), asked.time)
        };
        Ok(Answer {
            compared: compare(&task)?,
            planned: as_planned(&task, &dechlorination(&self.document.water.treatment)?)?,
            task,
        })
    }

    /// How much liquor there is to treat.
    fn liquors(&self) -> Volumes {
        Volumes {
            mash: self.volumes.mash_liquor,
            sparge: self.volumes.sparge_liquor,
        }
    }

    /// What the supplies of this batch keep, one for each source that holds chlorine.
    #[must_use]
    pub fn supplies(&self) -> Vec<Judged> {
        let sources = &self.document.water.sources;
        // The stage has judged these already, so none is refused here.
        let judged = sources
            .iter()
            .filter_map(|entry| judgement(entry).ok().flatten());
        judged.collect()
    }

    /// Total chlorine of the tap.
    #[must_use]
    pub fn tap_chlorine(&self) -> Measured<Chlorine> {
        self.tap().total_chlorine
    }

    fn tap(&self) -> &SourceWater {
        &self.water.tap.water
    }

    /// The carbon of a question, run at its flow or at the one that suits.
    #[must_use]
    pub fn carbon(&self, asked: &Read) -> CarbonRun {
        let tap = self.tap();
        let free = tap.free_chlorine.map_or(0.0, |free| free.value.mg_per_l());
        let chloramine = tap.total_chlorine.value.mg_per_l() - free > NOT_SHOWN_MG_PER_L;
        let bed = asked.bed.bed;
        let suitable = bed.suitable_flow(chloramine);
        let flow = asked.bed.flow.unwrap_or(suitable);
        let litres = self.liquors().total().l();
        CarbonRun {
            bed,
            suitable,
            flow,
            contact: bed.contact(flow),
            time: Duration::from_min(litres / flow.l_per_min()),
            left: bed.capacity_left(tap.total_chlorine.upper(), chloramine, flow),
        }
    }
}

impl Answer {
    /// Chlorine over time: standing, aerating, boiling and the way to take, or the
    /// plan's own kind where none is to be taken.
    ///
    /// # Errors
    /// [`DisinfectantError`].
    pub fn courses(&self) -> Result<Vec<Line>, DisinfectantError> {
        let taken = self.compared.recommendation.as_ref().map(|taken| taken.way);
        let mut ways = vec![Way::Boil, Way::Stand, Way::Aerate];
        for way in [taken, Some(self.planned.way)].into_iter().flatten() {
            if !ways.contains(&way) && way != Way::Nothing {
                ways.push(way);
            }
        }
        courses(&self.task, &ways, &COURSE_MIN.map(Duration::from_min))
    }
}

/// From a minute to a week \[min\], evenly on a logarithmic axis.
const COURSE_MIN: [f64; 15] = [
    1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 240.0, 480.0, 720.0, 1440.0, 2880.0, 5760.0,
    10080.0,
];

#[cfg(test)]
mod tests;
