//! The plan of the water stage.

use quantity::{Fraction, Measured, Ph, Spread};
use water::acids::{AcidAmount, AcidDose, AcidProduct};
use water::dechlorination::{
    CarbonBed, CarbonRating, Dechlorination, Dose, Reagent, household_block,
};
use water::mash_ph::{AcidMalt, MaltAcidity, constants};
use water::salts::{Salt, SaltDose};
use water::{Ions, Liquor, SourceShare, SourceWater, WaterError, WaterPlan};
use wort::{Volumes, WortPlan};

use crate::document::{
    AcidEntry, CarbonKeys, Document, Into, SaltEntry, SourceEntry, TreatmentSection, Way,
};
use crate::liquor::chlorine::{judgement, total_chlorine, unkept};
use crate::reader::Filled;
use crate::words::ACID_MALT;

/// What is to be done to the water; a split of chlorine that had to be judged is an
/// assumption.
pub(crate) fn water_plan(
    document: &Document,
    volumes: &Volumes,
    filled: &mut Filled,
) -> Result<WaterPlan, WaterError> {
    let section = &document.water;
    let mut sources: Vec<SourceShare> = section.sources.iter().map(source).collect();
    for (n, (entry, share)) in section.sources.iter().zip(&mut sources).enumerate() {
        if entry.total_chlorine.is_some() && entry.free_chlorine.is_some() {
            continue;
        }
        let Some(judged) = judgement(entry)? else {
            filled.tell(|| unkept(entry, n));
            continue;
        };
        filled.tell(|| judged.assumptions(n));
        if entry.free_chlorine.is_none() {
            share.water = judged.judgement.put_into(share.water.clone());
        }
    }
    Ok(WaterPlan {
        sources,
        mash_volume: volumes.mash_liquor,
        sparge_volume: volumes.sparge_liquor,
        dechlorination: dechlorination(&section.treatment)?,
        salts: section.salts.iter().map(salt).collect::<Result<_, _>>()?,
        acids: section.acids.iter().map(acid).collect::<Result<_, _>>()?,
    })
}

/// The malts as the mash's pH sees them.
pub(crate) struct MashMalts {
    /// Those that buffer.
    pub(crate) buffering: Vec<MaltAcidity>,
    /// What each of them is called.
    pub(crate) names: Vec<String>,
    /// Which entry of the grist each is, counted from nought.
    pub(crate) entries: Vec<usize>,
    /// Acidulated malt.
    pub(crate) acid: Vec<AcidMalt>,
}

/// The malts as the mash's pH sees them: those that buffer, and acidulated malt.
pub(crate) fn mash_malts(document: &Document, plan: &WortPlan) -> MashMalts {
    let mut malts = MashMalts {
        buffering: Vec::new(),
        names: Vec::new(),
        entries: Vec::new(),
        acid: Vec::new(),
    };
    for (n, (entry, item)) in document.grist.iter().zip(&plan.grist).enumerate() {
        if item.fermentable.name == ACID_MALT {
            let unmeasured = AcidMalt::unmeasured(item.mass);
            malts.acid.push(AcidMalt {
                acidity: entry.sheet.acidity.unwrap_or(unmeasured.acidity),
                ..unmeasured
            });
        } else if let (Some(ph_di), Some(buffer)) =
            (item.fermentable.mash_ph, item.fermentable.buffering)
        {
            malts.buffering.push(MaltAcidity {
                mass: item.mass,
                ph_di: read_by_hand(ph_di),
                buffer,
            });
            let name = entry.name.as_ref().unwrap_or(&item.fermentable.name);
            malts.names.push(name.clone());
            malts.entries.push(n);
        }
    }
    malts
}

/// A pH whose spread is not said was read with a hand meter.
fn read_by_hand(ph: Measured<Ph>) -> Measured<Ph> {
    match ph.spread {
        Spread::Unstated => Measured::with_sd(ph.value, constants().own_ph_sd.value),
        _ => ph,
    }
}

fn source(entry: &SourceEntry) -> SourceShare {
    SourceShare {
        share: entry.share.map_or(Fraction::from_ratio(1.0), |s| s.value),
        water: source_water(entry),
    }
}

/// The water of a source with its chlorine split as it is judged, where nobody
/// measured that.
pub(crate) fn judged_water(entry: &SourceEntry) -> Result<SourceWater, WaterError> {
    let water = source_water(entry);
    let judged = judgement(entry)?.filter(|_| entry.free_chlorine.is_none());
    Ok(match judged {
        Some(judged) => judged.judgement.put_into(water),
        None => water,
    })
}

/// The water of a source, whatever its share.
pub(crate) fn source_water(entry: &SourceEntry) -> SourceWater {
    SourceWater {
        name: entry.name.clone(),
        ions: Ions {
            calcium: entry.calcium.value,
            magnesium: entry.magnesium.value,
            sodium: entry.sodium.value,
            potassium: entry.potassium.value,
            chloride: entry.chloride.value,
            sulfate: entry.sulfate.value,
            nitrate: entry.nitrate.value,
            ammonium: value(entry.ammonium).unwrap_or_default(),
        },
        alkalinity: entry.alkalinity.value,
        ph: value(entry.ph),
        total_chlorine: total_chlorine(entry),
        free_chlorine: entry.free_chlorine,
        nitrite: value(entry.nitrite),
        iron: value(entry.iron),
        manganese: value(entry.manganese),
        copper: value(entry.copper),
        lead: value(entry.lead),
        arsenic: value(entry.arsenic),
        fluoride: value(entry.fluoride),
        zinc: value(entry.zinc),
        dissolved_solids: value(entry.dissolved_solids),
        e_coli: entry.e_coli,
        origin: entry.kind.unwrap_or_default(),
        notice: entry.notice,
        smell: entry.smell,
        test_age: value(entry.test_age),
    }
}

/// How chlorine is taken out.
pub(crate) fn dechlorination(section: &TreatmentSection) -> Result<Dechlorination, WaterError> {
    let time = value(section.time).unwrap_or_default();
    Ok(match section.way {
        Way::None => Dechlorination::None,
        Way::Stand => Dechlorination::Stand { time },
        Way::Boil => Dechlorination::BoilLiquor { time },
        Way::Aerate => Dechlorination::Aerate { time },
        Way::Carbon => Dechlorination::Carbon {
            bed: carbon_bed(&section.carbon),
            flow: value(section.carbon.flow).unwrap_or_default(),
        },
        Way::Reagent => Dechlorination::Reagent {
            reagent: Reagent::named(section.reagent.as_deref().unwrap_or_default())?,
            purity: section.purity.value,
            excess: section.excess.value,
            dose: dose(section),
        },
    })
}

/// The carbon of the keys; a household block where its volume is not said.
pub(crate) fn carbon_bed(keys: &CarbonKeys) -> CarbonBed {
    let rated =
        (keys.capacity.zip(keys.rated_flow).zip(keys.claim)).map(|((capacity, flow), claim)| {
            CarbonRating {
                capacity: capacity.value,
                flow: flow.value,
                claim,
            }
        });
    CarbonBed {
        volume: value(keys.volume).unwrap_or(household_block().volume),
        rated,
        used: value(keys.used).unwrap_or_default(),
    }
}

fn dose(section: &TreatmentSection) -> Dose {
    match (section.dose, section.tablets, section.tablet_mass) {
        (Some(mass), _, _) => Dose::Mass(mass.value),
        (None, Some(count), Some(mass)) => Dose::Tablets {
            count,
            tablet_mass: mass.value,
        },
        _ => Dose::Matched,
    }
}

fn salt(entry: &SaltEntry) -> Result<SaltDose, WaterError> {
    Ok(SaltDose {
        salt: Salt::named(&entry.salt)?,
        mass: entry.amount.value,
        into: liquor(entry.into),
    })
}

fn acid(entry: &AcidEntry) -> Result<AcidDose, WaterError> {
    let by_volume = entry.volume.map(|v| AcidAmount::Volume(v.value));
    let by_mass = entry.mass.map(|m| AcidAmount::Mass(m.value));
    Ok(AcidDose {
        product: AcidProduct::named(&entry.acid)?,
        amount: by_volume
            .or(by_mass)
            .unwrap_or(AcidAmount::Mass(quantity::Mass::default())),
        into: liquor(entry.into),
    })
}

fn liquor(into: Into) -> Liquor {
    match into {
        Into::Mash => Liquor::Mash,
        Into::Sparge => Liquor::Sparge,
    }
}

fn value<Q: Copy>(measured: Option<Measured<Q>>) -> Option<Q> {
    measured.map(|m| m.value)
}
