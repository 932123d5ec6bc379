//! The mash as JSON.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use wort::{Change, MashCourse, Part, Remedy, RestStep, SugarShares, TunLoss};

use crate::Reckoning;
use crate::wire::NoteForm;
use crate::wire::reckoning::note;

/// The mash of a batch: heat, temperatures, starch into sugar.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WortMash {
    /// The version of this form: "gylewright/wort-mash/1".
    pub schema: &'static str,
    /// Strike water, at 20 °C.
    pub strike_l: Option<f64>,
    /// Its temperature.
    pub strike_c: Option<f64>,
    /// Steps to the rests after the first.
    pub steps: Vec<MashStepForm>,
    /// What the mash has come to at the end of its last rest.
    pub ends_c: Option<f64>,
    /// Heat that the walls of the tun lose meanwhile.
    pub lost_kwh: Option<f64>,
    /// Heat that holds the rests, in a tun that is heated.
    pub holding_kwh: Option<f64>,
    /// What the readings say of the loss; null where they say nothing.
    pub tun_loss: Option<TunLossForm>,
    /// The temperatures as planned: minutes after mashing in, and °C; straight between.
    pub planned: Vec<MashPointForm>,
    /// The same with what was read.
    pub course: Vec<MashPointForm>,
    /// Apparent limit of attenuation.
    pub attenuation_limit: Option<f64>,
    /// Its standard deviation.
    pub attenuation_limit_sd: Option<f64>,
    /// The same by the published limits of the rests alone.
    pub attenuation_limit_by_rests: Option<f64>,
    /// Share of the starch that is dissolved at the end.
    pub dissolved: Option<f64>,
    /// When iodine shows no more starch; null where it does to the end.
    pub converted_min: Option<f64>,
    /// Sugars by kind, each as a share of what ferments.
    pub sugars: Option<SugarSharesForm>,
    /// From moment to moment.
    pub moments: Vec<MashMomentForm>,
    /// What the last temperature that was read asks for; null where it was met.
    pub missed: Option<MissedForm>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
}

/// A step to a rest.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MashStepForm {
    /// The rest that it leads to.
    pub to_c: f64,
    /// What the mash has come to by then.
    pub from_c: f64,
    /// "boiling water", "heat", "decoction", "thick decoction" or "thin decoction".
    pub by: &'static str,
    /// Boiling water, or mash to take, at its temperature.
    pub volume_l: Option<f64>,
    /// Heat that it takes.
    pub heat_kwh: f64,
    /// The part of the mash that is boiled.
    pub pull: Option<PullForm>,
}

/// A part of the mash that is boiled.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PullForm {
    /// Its mass.
    pub mass_kg: f64,
    /// Grain in it.
    pub grain_kg: f64,
    /// Share of the grain.
    pub of_grain: f64,
    /// Share of the liquor, and with it of the enzymes.
    pub of_liquor: f64,
    /// When to take it, after mashing in.
    pub pulled_after_min: f64,
    /// How long it boils.
    pub boils_min: f64,
    /// Steam that it gives off.
    pub steam_kg: f64,
}

/// What readings say of the heat that the tun loses.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TunLossForm {
    /// Fall in an hour.
    pub k_per_h: f64,
    /// Its standard deviation.
    pub k_per_h_sd: f64,
    /// Time in which the tun comes a factor e nearer to the room; null where no fall is
    /// seen.
    pub time_constant_h: Option<f64>,
    /// Its standard deviation.
    pub time_constant_h_sd: Option<f64>,
    /// Pairs of readings that it rests on.
    pub pairs: usize,
}

/// A temperature at a time.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MashPointForm {
    /// After mashing in.
    pub after_min: f64,
    /// Temperature.
    pub temperature_c: f64,
}

/// Sugars by kind.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SugarSharesForm {
    /// Glucose.
    pub glucose: f64,
    /// Fructose.
    pub fructose: f64,
    /// Sucrose.
    pub sucrose: f64,
    /// Maltose.
    pub maltose: f64,
    /// Maltotriose.
    pub maltotriose: f64,
}

/// The mash at one moment.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MashMomentForm {
    /// After mashing in.
    pub after_min: f64,
    /// Temperature.
    pub temperature_c: f64,
    /// Share of the starch that is dissolved.
    pub dissolved: f64,
    /// Apparent limit of attenuation if it ran off now.
    pub attenuation_limit: f64,
    /// β-amylase left.
    pub beta_amylase: f64,
    /// α-amylase left.
    pub alpha_amylase: f64,
}

/// A missed temperature.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MissedForm {
    /// When it was read.
    pub after_min: f64,
    /// What was planned.
    pub planned_c: f64,
    /// What was read.
    pub read_c: f64,
    /// Apparent limit of attenuation as planned.
    pub limit_planned: f64,
    /// The same if nothing is done.
    pub limit_now: f64,
    /// What can be done.
    pub ways: Vec<WayBackForm>,
}

/// Something to do about it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WayBackForm {
    /// "boiling water", "cold water", "heat" or "longer".
    pub way: &'static str,
    /// Water.
    pub volume_l: Option<f64>,
    /// Heat.
    pub heat_kwh: Option<f64>,
    /// Time.
    pub time_min: Option<f64>,
    /// Apparent limit of attenuation then.
    pub limit: f64,
}

impl From<&Reckoning> for WortMash {
    fn from(r: &Reckoning) -> Self {
        let mash = &r.mash;
        let found = mash.conversion.as_ref();
        let moments = found.iter().flat_map(|f| &f.moments);
        Self {
            schema: "gylewright/wort-mash/1",
            strike_l: mash.heat.as_ref().map(|h| h.strike_water.l()),
            strike_c: mash.heat.as_ref().map(|h| h.strike_temperature.c()),
            steps: mash.heat.iter().flat_map(|h| &h.steps).map(step).collect(),
            ends_c: mash.heat.as_ref().map(|h| h.ends.c()),
            lost_kwh: mash.heat.as_ref().map(|h| h.lost.kwh()),
            holding_kwh: mash.heat.as_ref().map(|h| h.holding.kwh()),
            tun_loss: mash.tun_loss.as_ref().map(tun_loss),
            planned: points(mash.planned.as_ref()),
            course: points(mash.course.as_ref()),
            attenuation_limit: found.map(|f| f.limit.value.ratio()),
            attenuation_limit_sd: found.map(|f| f.limit.sd()),
            attenuation_limit_by_rests: mash.limit_by_rests.map(|l| l.value.ratio()),
            dissolved: found.map(|f| f.dissolved.ratio()),
            converted_min: found.and_then(|f| f.converted).map(quantity::Duration::min),
            sugars: found.map(|f| sugars(&f.sugars)),
            moments: moments
                .map(|m| MashMomentForm {
                    after_min: m.after.min(),
                    temperature_c: m.temperature.c(),
                    dissolved: m.dissolved.ratio(),
                    attenuation_limit: m.limit.ratio(),
                    beta_amylase: m.beta.ratio(),
                    alpha_amylase: m.alpha.ratio(),
                })
                .collect(),
            missed: r.missed_mash().as_ref().map(MissedForm::from),
            notes: mash.notes.iter().map(note).collect(),
        }
    }
}

fn step(step: &RestStep) -> MashStepForm {
    let (by, volume, pull) = match step.change {
        Change::BoilingWater(water) => ("boiling water", Some(water), None),
        Change::Heat => ("heat", None, None),
        Change::Decoction(pull) => {
            let by = match pull.part {
                Part::Whole => "decoction",
                Part::Thick => "thick decoction",
                Part::Thin => "thin decoction",
            };
            (by, Some(pull.volume), Some(pull))
        }
    };
    MashStepForm {
        to_c: step.to.temperature.c(),
        from_c: step.from.c(),
        by,
        volume_l: volume.map(quantity::Volume::l),
        heat_kwh: step.heat.kwh(),
        pull: pull.map(|pull| PullForm {
            mass_kg: pull.mass.kg(),
            grain_kg: pull.grain.kg(),
            of_grain: pull.of_grain.ratio(),
            of_liquor: pull.of_liquor.ratio(),
            pulled_after_min: pull.pulled_after.min(),
            boils_min: pull.boils.min(),
            steam_kg: pull.steam.kg(),
        }),
    }
}

fn tun_loss(loss: &TunLoss) -> TunLossForm {
    TunLossForm {
        k_per_h: loss.in_an_hour.value.k(),
        k_per_h_sd: loss.in_an_hour.sd(),
        time_constant_h: loss.time_constant.map(|t| t.value.h()),
        time_constant_h_sd: loss.time_constant.map(|t| t.sd()),
        pairs: loss.pairs,
    }
}

impl From<&wort::Missed> for MissedForm {
    fn from(missed: &wort::Missed) -> Self {
        Self {
            after_min: missed.after.min(),
            planned_c: missed.planned.c(),
            read_c: missed.read.c(),
            limit_planned: missed.limit_planned.ratio(),
            limit_now: missed.limit_now.ratio(),
            ways: missed.ways.iter().map(way).collect(),
        }
    }
}

fn way(way: &wort::WayBack) -> WayBackForm {
    let (name, volume_l, heat_kwh, time_min) = match way.what {
        Remedy::BoilingWater(water) => ("boiling water", Some(water.l()), None, None),
        Remedy::ColdWater(water) => ("cold water", Some(water.l()), None, None),
        Remedy::Heat(heat, time) => ("heat", None, Some(heat.kwh()), Some(time.min())),
        Remedy::Longer(time) => ("longer", None, None, Some(time.min())),
    };
    WayBackForm {
        way: name,
        volume_l,
        heat_kwh,
        time_min,
        limit: way.limit.ratio(),
    }
}

fn points(course: Option<&MashCourse>) -> Vec<MashPointForm> {
    let points = course.into_iter().flat_map(MashCourse::points);
    points
        .map(|(after, temperature)| MashPointForm {
            after_min: after.min(),
            temperature_c: temperature.c(),
        })
        .collect()
}

fn sugars(shares: &SugarShares) -> SugarSharesForm {
    SugarSharesForm {
        glucose: shares.glucose.ratio(),
        fructose: shares.fructose.ratio(),
        sucrose: shares.sucrose.ratio(),
        maltose: shares.maltose.ratio(),
        maltotriose: shares.maltotriose.ratio(),
    }
}

/// The JSON Schema of [`WortMash`].
#[must_use]
pub fn wort_mash_schema() -> Value {
    super::named::<WortMash>("urn:gylewright:schema:wort-mash:1")
}
