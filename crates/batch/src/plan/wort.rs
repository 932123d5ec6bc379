//! The plan of the wort stage, and the figures of malts that were taken from their
//! class.

use quantity::{
    EvaporationRate, Fraction, Mark, Measured, Power, Units, show, show_interval, show_measured,
};
use wort::malts::{self, Datasheet, ExtractFigure, Fermentable};
use wort::{
    BoilPlan, Chilling, GristItem, HopAddition, Kit, MashPlan, Rest, Sparge, TemperatureReading,
    WortError, WortPlan,
};

use super::hop::addition;
use crate::certainty::doubt::Doubts;
use crate::document::{Document, GristEntry, KitSection, MashSection, SpargeKind};
use crate::reader::{Assumption, Filled};

/// The wort to be made; figures taken from a class are added to the assumptions.
pub(crate) fn wort_plan(
    document: &Document,
    filled: &mut Filled,
    doubts: &mut Doubts,
) -> Result<WortPlan, WortError> {
    let mut grist = Vec::with_capacity(document.grist.len());
    for (i, entry) in document.grist.iter().enumerate() {
        let mut fermentable = fermentable(entry)?;
        filled.tell(|| class_figures(i + 1, entry, &fermentable));
        class_doubts(i + 1, &mut fermentable, doubts);
        grist.push(GristItem {
            fermentable,
            mass: entry.amount.value,
        });
    }
    let mut hops = Vec::with_capacity(document.hops.len());
    for (i, entry) in document.hops.iter().enumerate() {
        let mut hop = addition(i + 1, entry, filled)?;
        alpha_doubt(i + 1, &mut hop, doubts);
        hops.push(hop);
    }
    let boil = &document.boil;
    let kettle = kettle(&document.kit, filled)?;
    Ok(WortPlan {
        kit: kit(&document.kit, boil.chilled_to.value, &kettle),
        into_fermenter: document.batch.volume.value,
        grist,
        mash: mash(&document.mash, &document.kit),
        sparge: sparge(&document.mash),
        boil: BoilPlan {
            duration: boil.time.value,
            whirlpool: boil.whirlpool.value,
            chill_to: boil.chilled_to.value,
            top_up: None,
        },
        hops,
    })
}

/// What the kettle gives off and loses.
struct Kettle {
    evaporation: EvaporationRate,
    heat_loss: Power,
}

/// Steam as measured; where that is not given but the power is, what the power drives
/// off.
fn kettle(section: &KitSection, filled: &mut Filled) -> Result<Kettle, WortError> {
    let Some(power) = section.power else {
        return Ok(Kettle {
            evaporation: section.evaporation.value,
            heat_loss: section.heat_loss.map_or(NO_POWER, |loss| loss.value),
        });
    };
    let heat_loss = section.heat_loss.map_or_else(
        || {
            filled.tell(|| {
                [Assumption {
                    path: "kit.heat_loss".to_owned(),
                    value: show(BARE_WALLS, Units::Metric),
                    source:
                        "bare walls of a 30 L kettle: 0.4 m² at 10 W/(m² K), 75 K above the room"
                            .to_owned(),
                    mark: Mark::Judgement,
                }]
            });
            BARE_WALLS
        },
        |loss| loss.value,
    );
    let mut evaporation = section.evaporation.value;
    if section.evaporation_assumed {
        evaporation = wort::evaporation_by_power(power.value, heat_loss, section.altitude.value)?;
    }
    if let Some(assumed) = filled.of("kit.evaporation") {
        assumed.value = show(evaporation, Units::Metric);
        "from the power of the kettle, less the loss of its walls".clone_into(&mut assumed.source);
        assumed.mark = Mark::Computed;
    }
    Ok(Kettle {
        evaporation,
        heat_loss,
    })
}

const NO_POWER: Power = Power::from_kw(0.0);
const BARE_WALLS: Power = Power::from_kw(0.3);

fn kit(section: &KitSection, chilled_to: quantity::Temperature, kettle: &Kettle) -> Kit {
    Kit {
        mash_conversion: section.conversion.value,
        absorption: section.absorption.value,
        lauter_stages: section.lauter_stages,
        tun_dead: section.tun_dead_space.value,
        tun_heat_capacity: section.tun_heat_capacity.value,
        tun_time_constant: section.tun_time_constant.value,
        tun_capacity: section.tun_capacity.map(|m| m.value),
        kettle_capacity: section.kettle_capacity.map(|m| m.value),
        evaporation: kettle.evaporation,
        steam_escapes: section
            .steam_escapes
            .map_or(Fraction::from_ratio(1.0), |share| share.value),
        power: section.power.map(|p| p.value),
        heat_loss: kettle.heat_loss,
        altitude: section.altitude.value,
        kettle_loss: section.kettle_loss.value,
        hop_absorption: section.hop_absorption.value,
        transfer_loss: section.transfer_loss.value,
        kettle_time_constant: section.kettle_time_constant.value,
        room: section.room.value,
        chilling: chilling(section, chilled_to),
        ..Kit::common_practice()
    }
}

/// A chiller on tap water comes near the tap's temperature and no further; what
/// is colder than that is cooled in the fermenter or with ice, and reckoned as a
/// coolant of 3 K less than the end.
fn chilling(section: &KitSection, chilled_to: quantity::Temperature) -> Chilling {
    let coldest = section.coolant.value.c().min(chilled_to.c() - 3.0);
    Chilling::Newton {
        time_constant: section.chiller_time_constant.value,
        coolant: quantity::Temperature::from_c(coldest),
    }
}

fn mash(section: &MashSection, kit: &KitSection) -> MashPlan {
    let grain = section.grain_temperature.value;
    MashPlan {
        thickness: section.thickness.value,
        rests: section
            .rests
            .iter()
            .map(|r| Rest {
                temperature: r.temperature.value,
                duration: r.time.value,
                by: r.by,
                boiled: r.boiled.map(|b| b.value),
            })
            .collect(),
        stepping: section.stepping,
        grain,
        tun: kit.tun_temperature.map_or(grain, |t| t.value),
        slaking: Fraction::from_ratio(0.0),
        sparge: section.sparge_temperature.value,
        power: kit.mash_power.map(|p| p.value),
        measured: section
            .measured
            .iter()
            .filter_map(|entry| {
                Some(TemperatureReading {
                    after: entry.after.value,
                    temperature: entry.temperature?.value,
                })
            })
            .collect(),
    }
}

fn sparge(section: &MashSection) -> Sparge {
    match section.sparge {
        SpargeKind::None => Sparge::None,
        SpargeKind::Batch => Sparge::Batch {
            refills: section.sparge_steps,
        },
        SpargeKind::Continuous => Sparge::Continuous,
    }
}

fn fermentable(entry: &GristEntry) -> Result<Fermentable, WortError> {
    let sheet = &entry.sheet;
    let fine = sheet.extract.map(|x| ExtractFigure::FineDry(x.value));
    let coarse = sheet.coarse_extract;
    let hot = sheet.hot_water_extract;
    malts::find(&entry.class)?.with(&Datasheet {
        extract: fine
            .or(coarse.map(|x| ExtractFigure::CoarseDry(x.value)))
            .or(hot.map(|x| ExtractFigure::LitreDegrees(x.value))),
        fine_coarse_difference: sheet.coarse_fine.map(|x| x.value),
        moisture: sheet.moisture.map(|x| x.value),
        colour: sheet.colour.map(|x| x.value),
        diastatic_power: sheet.diastatic_power.map(|x| x.value),
        mash_ph: sheet.distilled_ph,
        buffering: sheet.buffering,
        smm: sheet.smm.map(|x| x.value),
        amino_nitrogen: sheet.amino_nitrogen.map(|x| x.value),
        protein: sheet.protein.map(|x| x.value),
        kolbach: sheet.kolbach.map(|x| x.value),
        malted: entry.malted.map(|x| x.value),
        crushed: entry.crushed.map(|x| x.value),
        fermentable: None,
    })
}

/// Meets what is not known of a malt.
fn class_doubts(place: usize, malt: &mut Fermentable, doubts: &mut Doubts) {
    let name = malt.name.clone();
    let path = |key: &str| format!("grist[{place}].{key}");
    let what = |figure: &str| format!("{figure} of {name}");
    malt.extract = doubts.of_class(|| path("extract"), || what("extract"), malt.extract);
    malt.moisture = doubts.of_class(|| path("moisture"), || what("moisture"), malt.moisture);
    malt.colour = doubts.of_class(|| path("colour"), || what("colour"), malt.colour);
    malt.mash_ph = malt.mash_ph.map(|ph| {
        let what = || what("mash pH in distilled water");
        doubts.of_class(|| path("distilled_ph"), what, ph)
    });
    malt.buffering = malt
        .buffering
        .map(|buffering| doubts.of_class(|| path("buffering"), || what("buffering"), buffering));
    malt.smm = doubts.of_class(
        || path("smm"),
        || what("precursor of dimethyl sulfide"),
        malt.smm,
    );
}

/// Meets what is not known of the alpha-acids of a hop on brew day.
fn alpha_doubt(place: usize, hop: &mut HopAddition, doubts: &mut Doubts) {
    let Some(sd) = hop.alpha_sd else { return };
    let alpha = doubts.of_class(
        || format!("hop[{place}].alpha"),
        || format!("alpha-acids of {} on brew day", hop.name),
        Measured::with_sd(hop.alpha, sd.ratio()),
    );
    hop.alpha = alpha.value;
    hop.alpha_sd = (alpha.sd() > 0.0).then_some(sd);
}

/// What a malt's own sheet left open and its class filled in.
fn class_figures(place: usize, entry: &GristEntry, malt: &Fermentable) -> Option<Assumption> {
    let mut taken = Vec::new();
    let sheet = &entry.sheet;
    if sheet.extract.is_none()
        && sheet.coarse_extract.is_none()
        && sheet.hot_water_extract.is_none()
    {
        taken.push(format!("extract {}", range(&malt.extract)));
    }
    if sheet.moisture.is_none() {
        taken.push(format!("moisture {}", range(&malt.moisture)));
    }
    if sheet.colour.is_none() {
        taken.push(format!("colour {}", range(&malt.colour)));
    }
    if let (None, Some(ph)) = (sheet.distilled_ph, &malt.mash_ph) {
        taken.push(format!("distilled-water mash pH {}", range(ph)));
    }
    if let (None, Some(buffering)) = (sheet.buffering, &malt.buffering) {
        taken.push(format!("buffering {}", range(buffering)));
    }
    (!taken.is_empty()).then(|| Assumption {
        path: format!("grist[{place}]"),
        value: format!("{}: {}", malt.name, taken.join(", ")),
        source: format!("the class; {}", malt.source.text),
        mark: malt.source.mark,
    })
}

pub(super) fn range<Q: quantity::Quantity>(figure: &Measured<Q>) -> String {
    match figure.spread {
        quantity::Spread::Range { low, high } => show_interval(
            Q::from_canonical(low),
            Q::from_canonical(high),
            Units::Metric,
        ),
        _ => show_measured(figure, Units::Metric),
    }
}
