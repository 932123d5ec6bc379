//! The JSON form of a reckoning: the whole stream.

use quantity::{Caution, Note, Quantity, Units};
use schemars::JsonSchema;
use serde::Serialize;

use super::Assumption;
use crate::certainty::{Certainty, Sure};
use crate::stream;

/// A reckoning. Field names end in the unit of the number.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Reckoning {
    /// The version of this form: "gylewright/reckoning/1".
    pub schema: &'static str,
    /// The batch.
    pub name: String,
    /// The heaviest sign of all stages: fine, look or act.
    pub sign: &'static str,
    /// Each stage's sign and its reasons.
    pub stages: Vec<StageSign>,
    /// The water.
    pub water: Water,
    /// The mash and the wort in the kettle.
    pub mash: Mash,
    /// The boil and the wort in the fermenter.
    pub boil: Boil,
    /// The fermentation.
    pub fermentation: Fermentation,
    /// The package.
    pub package: Package,
    /// How vessels were cleaned, and what that can leave.
    pub cleaning: Vec<super::cleaning::CleaningStep>,
    /// The glass.
    pub glass: Glass,
    /// The beer against its aim.
    pub aim: Vec<AimLine>,
    /// How sure the figures are; empty where they cannot be drawn.
    pub intervals: Vec<Interval>,
    /// What can hurt someone.
    pub cautions: Vec<CautionForm>,
    /// The gaps that were filled.
    pub assumptions: Vec<Assumption>,
}

/// Where a figure lies in nine of ten batches of this plan; numbers in its canonical unit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Interval {
    /// The stage that it belongs to.
    pub stage: &'static str,
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is.
    pub label: &'static str,
    /// Both ends, printed in metric units.
    pub text: String,
    /// Five of a hundred such batches lie below.
    pub low: f64,
    /// Five of a hundred lie above.
    pub high: f64,
}

impl From<&Sure> for Interval {
    fn from(figure: &Sure) -> Self {
        Self {
            stage: figure.stage.word(),
            key: figure.key,
            label: figure.label,
            text: figure.interval(Units::Metric),
            low: figure.low,
            high: figure.high,
        }
    }
}

/// A stage's sign.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct StageSign {
    /// The stage: water, mash, boil, ferment, package or glass.
    pub stage: &'static str,
    /// fine, look or act.
    pub sign: &'static str,
    /// Why, the heaviest first.
    pub notes: Vec<NoteForm>,
}

/// A remark.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct NoteForm {
    /// fine, look or act.
    pub weight: &'static str,
    /// One sentence.
    pub text: String,
}

/// A caution.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CautionForm {
    /// Its key.
    pub key: &'static str,
    /// A heading.
    pub title: String,
    /// What to do and not to do.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// How that was obtained.
    pub mark: &'static str,
}

/// Ions in mg/L.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct IonsForm {
    /// Calcium.
    pub calcium_mg_per_l: f64,
    /// Magnesium.
    pub magnesium_mg_per_l: f64,
    /// Sodium.
    pub sodium_mg_per_l: f64,
    /// Potassium.
    pub potassium_mg_per_l: f64,
    /// Ammonium.
    pub ammonium_mg_per_l: f64,
    /// Chloride.
    pub chloride_mg_per_l: f64,
    /// Sulfate.
    pub sulfate_mg_per_l: f64,
    /// Nitrate.
    pub nitrate_mg_per_l: f64,
}

/// Chlorine left, in mg/L as Cl₂.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ChlorineForm {
    /// Free, expected.
    pub free_mg_per_l_as_cl2: f64,
    /// Combined, expected.
    pub combined_mg_per_l_as_cl2: f64,
    /// Total, at most.
    pub at_most_mg_per_l_as_cl2: f64,
}

/// A liquor.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Liquor {
    /// Volume at 20 °C.
    pub volume_l: f64,
    /// Ions.
    pub ions: IonsForm,
    /// Alkalinity.
    pub alkalinity_meq_per_l: f64,
    /// Chlorine left.
    pub chlorine: ChlorineForm,
    /// Sulfite left, as SO₂, at most.
    pub sulfur_dioxide_at_most_mg_per_l: f64,
}

/// Something to weigh or measure.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ToWeigh {
    /// Into which liquor: mash or sparge.
    pub into: String,
    /// What.
    pub what: String,
    /// How much, if weighed.
    pub mass_g: Option<f64>,
    /// How much, if measured.
    pub volume_ml: Option<f64>,
}

/// The water.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Water {
    /// Water to draw, at 20 °C.
    pub to_draw_l: f64,
    /// Cations of the tap.
    pub cations_meq_per_l: f64,
    /// Anions of the tap.
    pub anions_meq_per_l: f64,
    /// Hardness of the tap.
    pub hardness_meq_per_l: f64,
    /// Residual alkalinity of the tap.
    pub residual_alkalinity_meq_per_l: f64,
    /// Total chlorine of the tap.
    pub total_chlorine_mg_per_l_as_cl2: f64,
    /// Chlorine that the dose can take up, where one is given.
    pub dose_takes_up_mg_per_l_as_cl2: Option<f64>,
    /// What to weigh.
    pub weigh: Vec<ToWeigh>,
    /// Mash liquor.
    pub mash: Liquor,
    /// Sparge liquor.
    pub sparge: Liquor,
}

/// A step of the mash.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Step {
    /// Temperature of the rest.
    pub temperature_c: f64,
    /// Its length.
    pub time_min: f64,
}

/// Carbohydrates by kind.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CarbohydratesForm {
    /// Glucose, fructose, sucrose.
    pub simple_g_per_l: f64,
    /// Maltose.
    pub maltose_g_per_l: f64,
    /// Maltotriose.
    pub maltotriose_g_per_l: f64,
    /// Dextrins.
    pub dextrin_g_per_l: f64,
}

/// The mash and the wort in the kettle.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Mash {
    /// pH as a cooled sample reads, with the readings of the document; none without
    /// malt.
    pub ph: Option<f64>,
    /// Its standard deviation.
    pub ph_sd: Option<f64>,
    /// Temperature of the strike water; none without malt.
    pub strike_temperature_c: Option<f64>,
    /// The rests.
    pub rests: Vec<Step>,
    /// Mash liquor for a kilogram of grain.
    pub thickness_l_per_kg: f64,
    /// Extract of the last runnings.
    pub last_runnings_plato: f64,
    /// Limit of attenuation, apparent, of the malt's wort.
    pub attenuation_limit: Option<f64>,
    /// Kettle full.
    pub kettle_volume_l: f64,
    /// Its gravity.
    pub kettle_gravity_sg: f64,
    /// Water in and out of the brewhouse.
    pub ledger: Vec<LedgerLine>,
}

/// A line of the ledger of water and extract.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LedgerLine {
    /// water or extract.
    pub of: &'static str,
    /// in or out.
    pub side: &'static str,
    /// What it is.
    pub name: &'static str,
    /// How much.
    pub mass_kg: f64,
}

/// What one hop gives.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HopForm {
    /// Its name.
    pub name: String,
    /// Bitterness from it in the beer.
    pub bitterness_ibu: f64,
    /// The same by Tinseth; none for what goes in after the boil.
    pub tinseth_ibu: Option<f64>,
}

/// The boil and the wort in the fermenter.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Boil {
    /// Boiling point.
    pub boiling_point_c: f64,
    /// Water driven off.
    pub evaporated_kg: f64,
    /// After the boil, at 20 °C.
    pub post_boil_volume_l: f64,
    /// After the boil, hot.
    pub post_boil_hot_l: f64,
    /// Into the fermenter, at 20 °C.
    pub volume_l: f64,
    /// Original gravity.
    pub original_gravity_sg: f64,
    /// The same.
    pub original_gravity_plato: f64,
    /// pH.
    pub ph: f64,
    /// Colour.
    pub colour_ebc: f64,
    /// Bitterness of the beer.
    pub bitterness_ibu: f64,
    /// Hop by hop.
    pub hops: Vec<HopForm>,
    /// Carbohydrates.
    pub carbohydrates: CarbohydratesForm,
    /// Limit of attenuation, apparent.
    pub attenuation_limit: f64,
    /// Dimethyl sulfide.
    pub dms_ug_per_l: f64,
    /// Free ferulic acid.
    pub ferulic_acid_mg_per_l: f64,
    /// Free amino nitrogen.
    pub fan_mg_per_l: f64,
    /// Chlorine that met malt, per litre.
    pub halogen_met: ChlorineForm,
}

/// A moment of the course.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Moment {
    /// Time since pitching.
    pub at_h: f64,
    /// Temperature.
    pub temperature_c: f64,
    /// Apparent extract.
    pub gravity_sg: f64,
    /// Alcohol.
    pub alcohol_percent_vol: f64,
    /// Active yeast in suspension.
    pub active_cells_millions_per_ml: f64,
    /// Flavour compounds so far.
    pub flavour: FlavourForm,
}

/// Flavour compounds in mg/L.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FlavourForm {
    /// Ethyl acetate.
    pub ethyl_acetate_mg_per_l: f64,
    /// Isoamyl acetate.
    pub isoamyl_acetate_mg_per_l: f64,
    /// Isoamyl alcohol.
    pub isoamyl_alcohol_mg_per_l: f64,
    /// Acetaldehyde.
    pub acetaldehyde_mg_per_l: f64,
    /// Diacetyl.
    pub diacetyl_mg_per_l: f64,
    /// What may still become diacetyl, as that.
    pub diacetyl_to_come_mg_per_l: f64,
    /// 4-Vinylguaiacol.
    pub vinylguaiacol_mg_per_l: f64,
    /// Dimethyl sulfide.
    pub dms_mg_per_l: f64,
    /// Iso-alpha-acids.
    pub iso_alpha_mg_per_l: f64,
}

/// The fermentation.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Fermentation {
    /// Cells needed.
    pub cells_needed_billions: f64,
    /// Living cells at hand.
    pub cells_at_hand_billions: f64,
    /// Their standard deviation.
    pub cells_at_hand_sd_billions: f64,
    /// More packets that would make up the rest.
    pub packets_to_buy: Option<u32>,
    /// Oxygen at pitching.
    pub oxygen_mg_per_l: f64,
    /// When 90 % of what can ferment is gone.
    pub ninety_percent_at_h: Option<f64>,
    /// When 99 % is gone.
    pub ended_at_h: Option<f64>,
    /// Final gravity.
    pub final_gravity_sg: f64,
    /// Its standard deviation.
    pub final_gravity_sd_plato: f64,
    /// Apparent attenuation.
    pub apparent_attenuation: f64,
    /// Real attenuation.
    pub real_attenuation: f64,
    /// Alcohol.
    pub alcohol_percent_vol: f64,
    /// The course.
    pub course: Vec<Moment>,
    /// Which model, and where it holds.
    pub validity: &'static str,
}

/// The package.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Package {
    /// CO₂ in the beer before packaging.
    pub residual_co2_g_per_l: f64,
    /// CO₂ in the packed beer.
    pub co2_g_per_l: f64,
    /// The same in volumes at 0 °C and 1 atm.
    pub co2_volumes: f64,
    /// Priming sugar.
    pub priming_sugar_g: Option<f64>,
    /// For one bottle.
    pub priming_per_bottle_g: Option<f64>,
    /// Full bottles.
    pub bottles: Option<u32>,
    /// Gauge pressure to set on a keg.
    pub keg_pressure_bar: Option<f64>,
    /// Apparent extract that likely still ferments in the package.
    pub left_likely_plato: f64,
    /// The most that can.
    pub left_at_most_plato: f64,
    /// How that is known: model, forced, forced too short, or below forced.
    pub left_known_by: &'static str,
    /// The warmest store that the pressures are for.
    pub warmest_c: f64,
    /// The gauge pressure that is likely there.
    pub likely_pressure_bar: f64,
    /// The least that it comes to.
    pub least_pressure_bar: f64,
    /// The worst case with what is not known of it: it decides the verdict.
    pub highest_pressure_bar: f64,
    /// The gauge pressure of the worst case, if the law of solubility holds just so.
    pub worst_pressure_bar: f64,
    /// What it should never pass.
    pub service_pressure_bar: f64,
    /// The verdict.
    pub safety: &'static str,
    /// Why.
    pub reason: String,
    /// What to do.
    pub remedy: String,
}

/// A compound against its threshold.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ActivityForm {
    /// The compound.
    pub compound: String,
    /// What it tastes or smells of.
    pub words: String,
    /// expected, at most, or at least.
    pub bound: String,
    /// Concentration.
    pub concentration_mg_per_l: f64,
    /// Concentration over the highest threshold.
    pub activity_low: f64,
    /// Concentration over the typical threshold.
    pub activity: f64,
    /// Concentration over the lowest threshold.
    pub activity_high: f64,
    /// not noticed, hardly, secondary, primary.
    pub notice: String,
}

/// A risk.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RiskForm {
    /// Its key.
    pub key: String,
    /// A heading.
    pub title: String,
    /// none, low, moderate or high, as expected.
    pub grade: String,
    /// The same in the worst case.
    pub at_most: String,
    /// Why.
    pub reason: String,
    /// What moves it.
    pub moves: String,
}

/// The glass.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Glass {
    /// Alcohol.
    pub alcohol_percent_vol: f64,
    /// Bitterness.
    pub bitterness_ibu: f64,
    /// Colour.
    pub colour_ebc: f64,
    /// CO₂.
    pub co2_volumes: f64,
    /// Apparent extract.
    pub gravity_sg: f64,
    /// Compounds against their thresholds, the strongest first.
    pub activities: Vec<ActivityForm>,
    /// Those of which the document says that something was found.
    pub beside: Vec<super::beside::BesideForm>,
    /// The smallest yield of chlorophenol that would reach the threshold.
    pub medicinal_yield_to_reach: Option<f64>,
    /// Risks, the medicinal one first.
    pub risks: Vec<RiskForm>,
}

/// A figure against its aim.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AimLine {
    /// The key in the aim section.
    pub key: &'static str,
    /// What it is.
    pub name: &'static str,
    /// The aim, printed.
    pub aim: String,
    /// The reckoned figure, printed.
    pub reckoned: String,
    /// Distance in spreads of the aim.
    pub spreads_off: Option<f64>,
    /// Whether it is within the spread that would do.
    pub met: Option<bool>,
}

impl From<&stream::Reckoning> for Reckoning {
    fn from(r: &stream::Reckoning) -> Self {
        Self {
            schema: "gylewright/reckoning/1",
            name: r.document.batch.name.clone(),
            sign: r.weight().word(),
            stages: r.signs.iter().map(stage_sign).collect(),
            water: water(r),
            mash: mash(r),
            boil: boil(r),
            fermentation: fermentation(r),
            package: package(r),
            cleaning: r
                .cleaning
                .steps
                .iter()
                .map(super::cleaning::CleaningStep::from)
                .collect(),
            glass: glass(r),
            aim: r.aim.iter().map(aim_line).collect(),
            intervals: vec![],
            cautions: r.cautions().into_iter().map(caution).collect(),
            assumptions: r.assumptions.iter().map(Assumption::from).collect(),
        }
    }
}

impl Reckoning {
    /// With the intervals of its figures, where they can be drawn.
    #[must_use]
    pub fn sure(mut self, found: Option<&Certainty>) -> Self {
        let figures = found.iter().flat_map(|found| &found.figures);
        self.intervals = figures.map(Interval::from).collect();
        self
    }
}

fn stage_sign(sign: &crate::Sign) -> StageSign {
    StageSign {
        stage: sign.stage.word(),
        sign: sign.weight.word(),
        notes: sign.notes.iter().map(note).collect(),
    }
}

pub(super) fn note(note: &Note) -> NoteForm {
    NoteForm {
        weight: note.weight.word(),
        text: note.text.clone(),
    }
}

pub(super) fn caution(caution: Caution) -> CautionForm {
    let text = caution.text();
    CautionForm {
        key: caution.key(),
        title: text.title.clone(),
        text: text.text.clone(),
        source: text.source.clone(),
        mark: text.mark.words(),
    }
}

fn ions(ions: &::water::Ions) -> IonsForm {
    IonsForm {
        calcium_mg_per_l: ions.calcium.mg_per_l(),
        magnesium_mg_per_l: ions.magnesium.mg_per_l(),
        sodium_mg_per_l: ions.sodium.mg_per_l(),
        potassium_mg_per_l: ions.potassium.mg_per_l(),
        ammonium_mg_per_l: ions.ammonium.mg_per_l(),
        chloride_mg_per_l: ions.chloride.mg_per_l(),
        sulfate_mg_per_l: ions.sulfate.mg_per_l(),
        nitrate_mg_per_l: ions.nitrate.mg_per_l(),
    }
}

fn chlorine(left: &::water::ResidualChlorine) -> ChlorineForm {
    ChlorineForm {
        free_mg_per_l_as_cl2: left.free.mg_per_l(),
        combined_mg_per_l_as_cl2: left.combined.mg_per_l(),
        at_most_mg_per_l_as_cl2: left.at_most.mg_per_l(),
    }
}

fn liquor(water: &::water::BrewingWater) -> Liquor {
    Liquor {
        volume_l: water.volume.l(),
        ions: ions(&water.ions),
        alkalinity_meq_per_l: water.alkalinity.meq_per_l(),
        chlorine: chlorine(&water.chlorine),
        sulfur_dioxide_at_most_mg_per_l: water.sulfur_dioxide_at_most.mg_per_l(),
    }
}

fn water(r: &stream::Reckoning) -> Water {
    let tap = &r.water.tap;
    Water {
        to_draw_l: r.volumes.total_water.l(),
        cations_meq_per_l: tap.balance.cations.meq_per_l(),
        anions_meq_per_l: tap.balance.anions.meq_per_l(),
        hardness_meq_per_l: tap.hardness.meq_per_l(),
        residual_alkalinity_meq_per_l: tap.residual_alkalinity.meq_per_l(),
        total_chlorine_mg_per_l_as_cl2: tap.water.total_chlorine.value.mg_per_l(),
        dose_takes_up_mg_per_l_as_cl2: r.water.dechlorination.dose.map(|d| d.capacity.mg_per_l()),
        weigh: r.water.weigh.iter().map(to_weigh).collect(),
        mash: liquor(&r.water.mash),
        sparge: liquor(&r.water.sparge),
    }
}

fn to_weigh(line: &::water::ToWeigh) -> ToWeigh {
    let (mass_g, volume_ml) = match line.amount {
        ::water::Amount::Mass(mass) => (Some(mass.g()), None),
        ::water::Amount::Volume(volume) => (None, Some(volume.l() * 1000.0)),
    };
    ToWeigh {
        into: line.into.to_string(),
        what: line.what.clone(),
        mass_g,
        volume_ml,
    }
}

fn mash(r: &stream::Reckoning) -> Mash {
    Mash {
        ph: r.mash_stands().map(|ph| ph.value.ph()),
        ph_sd: r.mash_stands().map(|ph| ph.sd()),
        strike_temperature_c: r.mash.heat.as_ref().map(|h| h.strike_temperature.c()),
        rests: r
            .wort_plan
            .mash
            .rests
            .iter()
            .map(|rest| Step {
                temperature_c: rest.temperature.c(),
                time_min: rest.duration.min(),
            })
            .collect(),
        thickness_l_per_kg: r.volumes.thickness.l_per_kg(),
        last_runnings_plato: r.volumes.last_runnings.plato(),
        attenuation_limit: r.mash.attenuation_limit.map(|a| a.value.ratio()),
        kettle_volume_l: r.mash.wort.volume.l(),
        kettle_gravity_sg: r.mash.wort.gravity.sg(),
        ledger: ledger(&r.volumes.ledger),
    }
}

fn ledger(ledger: &::wort::Ledger) -> Vec<LedgerLine> {
    let side = |of, side, entries: &[::wort::Entry]| -> Vec<LedgerLine> {
        entries
            .iter()
            .map(|e| LedgerLine {
                of,
                side,
                name: e.name,
                mass_kg: e.mass.kg(),
            })
            .collect()
    };
    [
        side("water", "in", &ledger.water_in),
        side("water", "out", &ledger.water_out),
        side("extract", "in", &ledger.extract_in),
        side("extract", "out", &ledger.extract_out),
    ]
    .concat()
}

fn boil(r: &stream::Reckoning) -> Boil {
    let wort = &r.boil.wort;
    let report = &r.boil.report;
    let sugars = &wort.carbohydrates;
    Boil {
        boiling_point_c: report.boiling_point.c(),
        evaporated_kg: report.evaporated.kg(),
        post_boil_volume_l: report.post_boil.volume.l(),
        post_boil_hot_l: report.post_boil_hot.l(),
        volume_l: wort.volume.l(),
        original_gravity_sg: wort.gravity.sg(),
        original_gravity_plato: wort.gravity.plato(),
        ph: wort.ph.ph(),
        colour_ebc: wort.colour.ebc(),
        bitterness_ibu: wort.bitterness.ibu(),
        hops: report
            .hops
            .iter()
            .map(|h| HopForm {
                name: h.name.clone(),
                bitterness_ibu: h.bitterness.ibu(),
                tinseth_ibu: h.by_tinseth.map(Quantity::canonical),
            })
            .collect(),
        carbohydrates: CarbohydratesForm {
            simple_g_per_l: sugars.simple.mg_per_l() / 1000.0,
            maltose_g_per_l: sugars.maltose.mg_per_l() / 1000.0,
            maltotriose_g_per_l: sugars.maltotriose.mg_per_l() / 1000.0,
            dextrin_g_per_l: sugars.dextrin.mg_per_l() / 1000.0,
        },
        attenuation_limit: wort.attenuation_limit.ratio(),
        dms_ug_per_l: wort.traces.dms.mg_per_l() * 1000.0,
        ferulic_acid_mg_per_l: wort.traces.ferulic_acid.mg_per_l(),
        fan_mg_per_l: wort.traces.fan.mg_per_l(),
        halogen_met: chlorine(&wort.traces.halogen_met),
    }
}

fn flavour(f: &::ferment::Flavour) -> FlavourForm {
    FlavourForm {
        ethyl_acetate_mg_per_l: f.ethyl_acetate.mg_per_l(),
        isoamyl_acetate_mg_per_l: f.isoamyl_acetate.mg_per_l(),
        isoamyl_alcohol_mg_per_l: f.isoamyl_alcohol.mg_per_l(),
        acetaldehyde_mg_per_l: f.acetaldehyde.mg_per_l(),
        diacetyl_mg_per_l: f.diacetyl.mg_per_l(),
        diacetyl_to_come_mg_per_l: f.diacetyl_to_come.mg_per_l(),
        vinylguaiacol_mg_per_l: f.vinylguaiacol.mg_per_l(),
        dms_mg_per_l: f.dms.mg_per_l(),
        iso_alpha_mg_per_l: f.iso_alpha.mg_per_l(),
    }
}

fn fermentation(r: &stream::Reckoning) -> Fermentation {
    let f = &r.fermentation;
    Fermentation {
        cells_needed_billions: f.pitch.needed.billions(),
        cells_at_hand_billions: f.pitch.at_hand.value.billions(),
        cells_at_hand_sd_billions: f.pitch.at_hand.sd(),
        packets_to_buy: f.pitch.packets_to_buy,
        oxygen_mg_per_l: f.oxygen.dissolved.mg_per_l(),
        ninety_percent_at_h: f.ninety_percent_at.map(Quantity::canonical),
        ended_at_h: f.ended_at.map(Quantity::canonical),
        final_gravity_sg: f.final_gravity.value.sg(),
        final_gravity_sd_plato: f.final_gravity.sd(),
        apparent_attenuation: f.apparent_attenuation.ratio(),
        real_attenuation: f.real_attenuation.ratio(),
        alcohol_percent_vol: f.alcohol.percent(),
        course: f
            .course
            .iter()
            .map(|m| Moment {
                at_h: m.at.h(),
                temperature_c: m.temperature.c(),
                gravity_sg: m.gravity.sg(),
                alcohol_percent_vol: m.alcohol.percent(),
                active_cells_millions_per_ml: m.active_cells.millions_per_ml(),
                flavour: flavour(&m.flavour),
            })
            .collect(),
        validity: f.validity,
    }
}

pub(super) fn package(r: &stream::Reckoning) -> Package {
    let p = &r.packaging;
    Package {
        residual_co2_g_per_l: p.residual.value.g_per_l(),
        co2_g_per_l: p.beer.carbon_dioxide.g_per_l(),
        co2_volumes: p.beer.carbon_dioxide.volumes(),
        priming_sugar_g: p.priming.as_ref().map(|s| s.mass.g()),
        priming_per_bottle_g: p
            .priming
            .as_ref()
            .and_then(|s| s.per_bottle)
            .map(quantity::Mass::g),
        bottles: p.bottles.map(|b| b.full),
        keg_pressure_bar: p.keg.as_ref().map(|k| k.pressure.value.bar()),
        left_likely_plato: p.left.likely.plato(),
        left_at_most_plato: p.left.at_most.plato(),
        left_known_by: p.left.basis.word(),
        warmest_c: p.worst.at.c(),
        likely_pressure_bar: p.worst.interval.value.bar(),
        least_pressure_bar: p.worst.interval.lower().bar(),
        highest_pressure_bar: p.worst.interval.upper().bar(),
        worst_pressure_bar: p.worst.pressure.bar(),
        service_pressure_bar: p.worst.service.bar(),
        safety: p.worst.safety.word(),
        reason: p.worst.reason.text(Units::Metric).to_owned(),
        remedy: p.worst.remedy.clone(),
    }
}

fn glass(r: &stream::Reckoning) -> Glass {
    let g = &r.glass;
    Glass {
        alcohol_percent_vol: g.alcohol.percent(),
        bitterness_ibu: g.bitterness.ibu(),
        colour_ebc: g.colour.ebc(),
        co2_volumes: g.carbon_dioxide.volumes(),
        gravity_sg: g.gravity.sg(),
        activities: g.activities.iter().map(activity).collect(),
        beside: super::beside::told(&crate::beside::Held::of(r, None)),
        medicinal_yield_to_reach: g.medicinal.yield_to_reach.map(quantity::Fraction::ratio),
        risks: g.risks.iter().map(risk).collect(),
    }
}

fn activity(a: &::glass::OdourActivity) -> ActivityForm {
    ActivityForm {
        compound: a.compound.name.clone(),
        words: a.compound.words.join(", "),
        bound: a.bound.words().to_owned(),
        concentration_mg_per_l: a.concentration.mg_per_l(),
        activity_low: a.low,
        activity: a.typical,
        activity_high: a.high,
        notice: a.notice.words().to_owned(),
    }
}

fn risk(r: &::glass::Risk) -> RiskForm {
    RiskForm {
        key: r.key.clone(),
        title: r.title.clone(),
        grade: r.grade.word().to_owned(),
        at_most: r.at_most.word().to_owned(),
        reason: r.reason.clone(),
        moves: r.moves.clone(),
    }
}

fn aim_line(line: &crate::AimLine) -> AimLine {
    AimLine {
        key: line.key,
        name: line.name,
        aim: line.aim.metric.clone(),
        reckoned: line.reckoned.metric.clone(),
        spreads_off: line.spreads_off,
        met: line.met,
    }
}
