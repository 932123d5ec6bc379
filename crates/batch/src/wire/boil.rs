//! The boil as JSON.

use quantity::{Measured, Quantity};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;
use wort::bitterness::losses;
use wort::{
    BoilColour, BoilHeat, BoilMoment, BoilWay, DmsLeft, DryHopped, HopAddition, HopShare,
    KettleStage,
};

use crate::Reckoning;
use crate::boil::{DEPTHS, formulas, glass_hex, hop_form};
use crate::wire::reckoning::{caution, note};
use crate::wire::{CautionForm, NoteForm};

/// The boil of a batch: hops, heat, dimethyl sulfide, from moment to moment.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct WortBoil {
    /// The version of this form: "gylewright/wort-boil/1".
    pub schema: &'static str,
    /// Boiling point of water at the altitude.
    pub boiling_point_c: f64,
    /// Wort in the full kettle, at 20 °C.
    pub before_l: f64,
    /// Wort after the boil, at 20 °C.
    pub after_l: f64,
    /// Steam.
    pub evaporated_kg: f64,
    /// Bitterness of the beer.
    pub bitterness_ibu: f64,
    /// Its standard deviation.
    pub bitterness_sd_ibu: f64,
    /// Bitterness of the boil additions by Tinseth.
    pub bitterness_by_tinseth_ibu: f64,
    /// Hop by hop, in the order of the plan.
    pub hops: Vec<BoiledHopForm>,
    /// What dry hops do to it; null without dry hops.
    pub dry_hops: Option<DryHopsForm>,
    /// Colour, and what the boil formed of it.
    pub colour: BoilColourForm,
    /// Heat.
    pub heat: BoilHeatForm,
    /// What this and other boils leave in the wort.
    pub dimethyl_sulfide: Vec<DmsLeftForm>,
    /// From moment to moment.
    pub timeline: Vec<BoilMomentForm>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
}

/// A hop addition.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BoiledHopForm {
    /// Its name.
    pub name: String,
    /// Alpha-acids on brew day.
    pub alpha_percent: f64,
    /// Their standard deviation beside that of a packet against its lot; null where
    /// nothing is said.
    pub alpha_sd_percent: Option<f64>,
    /// The form: cones, pellets; null where it is not said.
    pub form: Option<&'static str>,
    /// Iso-alpha-acids in the kettle after the chiller.
    pub iso_alpha_mg_per_l: f64,
    /// Alpha-acids left.
    pub alpha_left_mg_per_l: f64,
    /// What of the iso-alpha-acids is lost on the way to the glass, in order.
    pub lost: Vec<HopLossForm>,
    /// Bitterness in the beer.
    pub bitterness_ibu: f64,
    /// The same by Tinseth; null for what does not boil.
    pub by_tinseth_ibu: Option<f64>,
}

/// A loss of bitter matter.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HopLossForm {
    /// Its key: trub, hops, yeast, foam, cellar.
    pub key: &'static str,
    /// To what.
    pub what: &'static str,
    /// How much of one litre in the kettle.
    pub lost_mg_per_l: f64,
}

/// A figure with its range.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct RangeForm {
    /// The figure.
    pub value: f64,
    /// The least that is likely.
    pub low: f64,
    /// The most that is likely.
    pub high: f64,
}

/// What dry hops do to bitterness.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DryHopsForm {
    /// Dry hops to a litre.
    pub dose_g_per_l: f64,
    /// Humulinones that they bring.
    pub humulinones_mg_per_l: RangeForm,
    /// Alpha-acids that they bring.
    pub alpha_mg_per_l: RangeForm,
    /// Share of the iso-alpha-acids that goes with the spent hops.
    pub iso_alpha_stripped: RangeForm,
    /// Bitterness that a laboratory would read.
    pub measured_ibu: RangeForm,
    /// Bitterness as it tastes, in units of iso-alpha-acids.
    pub tasted_ibu: RangeForm,
}

/// Colour of the wort.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BoilColourForm {
    /// The colour that goes on to the beer.
    pub ebc: f64,
    /// Its standard deviation.
    pub sd_ebc: f64,
    /// By the grist, with an hour's boil in it.
    pub by_grist_ebc: f64,
    /// Time at 100 °C that browns as much as the whole boil.
    pub as_boil_min: f64,
    /// What the boil forms.
    pub formed_ebc: RangeForm,
    /// What of it the formula for the grist holds already.
    pub in_fit_ebc: f64,
    /// The wort itself, before the fermentation takes its part.
    pub before_fermentation_ebc: RangeForm,
    /// What other formulas say of the grist.
    pub formulas: Vec<FormulaForm>,
}

/// What a formula says of the colour of the grist.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FormulaForm {
    /// Whose it is.
    pub who: &'static str,
    /// What it says; null where it does not hold.
    pub ebc: Option<f64>,
    /// Where it holds.
    pub holds: &'static str,
    /// The glass in daylight.
    pub glass: Vec<GlassForm>,
}

/// A glass in daylight.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GlassForm {
    /// How deep the beer is.
    pub depth_cm: f64,
    /// Its colour, sRGB as #rrggbb.
    pub srgb: String,
}

/// The heat of a boil.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BoilHeatForm {
    /// Temperature of the full kettle.
    pub from_c: f64,
    /// Heat that brings the wort to the boil.
    pub to_boil_kwh: f64,
    /// Heat that the steam carries off.
    pub steam_kwh: f64,
    /// Heat that the walls lose; null where the power is not known.
    pub lost_kwh: Option<f64>,
    /// Time from the full kettle to the boil; null where the power is not known.
    pub heat_up_min: Option<f64>,
    /// Heat drawn until the end of the boil; null where the power is not known.
    pub drawn_kwh: Option<f64>,
    /// Power that keeps up the boil.
    pub power_at_boil_kw: f64,
    /// How much hotter than water the wort boils at the end.
    pub elevation_k: f64,
}

/// What a way to boil leaves in the wort.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DmsLeftForm {
    /// The way: as_planned, shorter, lid_on, left_overnight.
    pub way: &'static str,
    /// Dimethyl sulfide.
    pub dms_ug_per_l: f64,
    /// Its precursor, counted as dimethyl sulfide.
    pub smm_ug_per_l: f64,
}

/// The kettle at one moment.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BoilMomentForm {
    /// Time from the start of the boil; below zero before it.
    pub time_min: f64,
    /// The stage: heat_up, boil, whirlpool, stand, chill.
    pub stage: &'static str,
    /// Temperature.
    pub temperature_c: f64,
    /// Volume, at 20 °C.
    pub volume_l: f64,
    /// Extract.
    pub gravity_plato: f64,
    /// Iso-alpha-acids of each hop, in the order of the plan.
    pub iso_alpha_mg_per_l: Vec<f64>,
    /// Precursor of dimethyl sulfide, counted as such.
    pub smm_ug_per_l: f64,
    /// Dimethyl sulfide.
    pub dms_ug_per_l: f64,
}

/// The JSON Schema of [`WortBoil`].
#[must_use]
pub fn wort_boil_schema() -> Value {
    super::named::<WortBoil>("urn:gylewright:schema:wort-boil:1")
}

impl From<&Reckoning> for WortBoil {
    fn from(r: &Reckoning) -> Self {
        let report = &r.boil.report;
        Self {
            schema: "gylewright/wort-boil/1",
            boiling_point_c: report.boiling_point.c(),
            before_l: report.pre_boil.volume.l(),
            after_l: report.post_boil.volume.l(),
            evaporated_kg: report.evaporated.kg(),
            bitterness_ibu: report.bitterness.value.ibu(),
            bitterness_sd_ibu: report.bitterness.sd(),
            bitterness_by_tinseth_ibu: report.bitterness_by_tinseth.ibu(),
            hops: r
                .wort_plan
                .hops
                .iter()
                .zip(&report.hops)
                .map(|(added, share)| hop(added, share))
                .collect(),
            dry_hops: report.dry_hops.as_ref().map(Into::into),
            colour: colour(r),
            heat: (&report.heat).into(),
            dimethyl_sulfide: report.dms_left.iter().map(Into::into).collect(),
            timeline: report.timeline.iter().map(Into::into).collect(),
            notes: report.notes.iter().map(note).collect(),
            cautions: report.cautions.iter().copied().map(caution).collect(),
        }
    }
}

fn hop(added: &HopAddition, share: &HopShare) -> BoiledHopForm {
    let lost = losses().iter().zip(&share.lost);
    BoiledHopForm {
        name: share.name.clone(),
        alpha_percent: 100.0 * added.alpha.ratio(),
        alpha_sd_percent: added.alpha_sd.map(|sd| 100.0 * sd.ratio()),
        form: added.form.map(hop_form),
        iso_alpha_mg_per_l: share.iso_alpha.mg_per_l(),
        alpha_left_mg_per_l: share.alpha_left.mg_per_l(),
        lost: lost
            .map(|(loss, lost)| HopLossForm {
                key: &loss.key,
                what: &loss.what,
                lost_mg_per_l: lost.mg_per_l(),
            })
            .collect(),
        bitterness_ibu: share.bitterness.ibu(),
        by_tinseth_ibu: share.by_tinseth.map(quantity::Bitterness::ibu),
    }
}

impl From<&DryHopped> for DryHopsForm {
    fn from(dry: &DryHopped) -> Self {
        Self {
            dose_g_per_l: dry.dose.mg_per_l() / 1000.0,
            humulinones_mg_per_l: range(&dry.humulinones),
            alpha_mg_per_l: range(&dry.alpha),
            iso_alpha_stripped: range(&dry.stripped),
            measured_ibu: range(&dry.measured),
            tasted_ibu: range(&dry.tasted),
        }
    }
}

fn range<Q: Quantity>(figure: &Measured<Q>) -> RangeForm {
    RangeForm {
        value: figure.canonical(),
        low: figure.lower().canonical(),
        high: figure.upper().canonical(),
    }
}

fn colour(r: &Reckoning) -> BoilColourForm {
    let found: &BoilColour = &r.boil.report.colour;
    let formulas = formulas(r).into_iter().map(|formula| FormulaForm {
        who: formula.who,
        ebc: formula.colour.map(quantity::Colour::ebc),
        holds: formula.holds,
        glass: formula
            .colour
            .map(|colour| {
                let glass = |depth: quantity::Length| {
                    Some(GlassForm {
                        depth_cm: depth.cm(),
                        srgb: glass_hex(colour, depth)?,
                    })
                };
                DEPTHS.into_iter().filter_map(glass).collect()
            })
            .unwrap_or_default(),
    });
    BoilColourForm {
        ebc: found.wort.value.ebc(),
        sd_ebc: found.wort.sd(),
        by_grist_ebc: found.by_grist.ebc(),
        as_boil_min: found.as_boil.min(),
        formed_ebc: range(&found.formed),
        in_fit_ebc: found.in_fit.ebc(),
        before_fermentation_ebc: range(&found.before_fermentation),
        formulas: formulas.collect(),
    }
}

impl From<&BoilHeat> for BoilHeatForm {
    fn from(heat: &BoilHeat) -> Self {
        Self {
            from_c: heat.from.c(),
            to_boil_kwh: heat.to_boil.kwh(),
            steam_kwh: heat.steam.kwh(),
            lost_kwh: heat.lost.map(quantity::Energy::kwh),
            heat_up_min: heat.heat_up.map(quantity::Duration::min),
            drawn_kwh: heat.drawn.map(quantity::Energy::kwh),
            power_at_boil_kw: heat.power_at_boil.kw(),
            elevation_k: heat.elevation.k(),
        }
    }
}

impl From<&DmsLeft> for DmsLeftForm {
    fn from(left: &DmsLeft) -> Self {
        Self {
            way: match left.way {
                BoilWay::AsPlanned => "as_planned",
                BoilWay::Shorter => "shorter",
                BoilWay::LidOn => "lid_on",
                BoilWay::LeftOvernight => "left_overnight",
            },
            dms_ug_per_l: left.dms.mg_per_l() * 1000.0,
            smm_ug_per_l: left.smm.mg_per_l() * 1000.0,
        }
    }
}

impl From<&BoilMoment> for BoilMomentForm {
    fn from(at: &BoilMoment) -> Self {
        Self {
            time_min: at.time.min(),
            stage: match at.stage {
                KettleStage::HeatUp => "heat_up",
                KettleStage::Boil => "boil",
                KettleStage::Whirlpool => "whirlpool",
                KettleStage::Stand => "stand",
                KettleStage::Chill => "chill",
            },
            temperature_c: at.temperature.c(),
            volume_l: at.volume.l(),
            gravity_plato: at.gravity.plato(),
            iso_alpha_mg_per_l: at.iso_alpha.iter().map(|c| c.mg_per_l()).collect(),
            smm_ug_per_l: at.smm.mg_per_l() * 1000.0,
            dms_ug_per_l: at.dms.mg_per_l() * 1000.0,
        }
    }
}
