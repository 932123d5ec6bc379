//! From the batch document to the plans of the stages.

mod ferment;
mod hop;
mod package;
mod water;
mod wort;

pub(crate) use self::ferment::{
    STARTER_PLATO, ferment_plan, ferment_plan_doubting, starter, yeast_at_hand,
};
pub(crate) use self::hop::alpha_left;
pub(crate) use self::package::package_plan;
pub(crate) use self::water::{
    carbon_bed, dechlorination, judged_water, mash_malts, source_water, water_plan,
};
pub(crate) use self::wort::wort_plan;
