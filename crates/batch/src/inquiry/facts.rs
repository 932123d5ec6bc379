//! What the reckoning of a batch knows that bears on a fault.

use inquiry::{Facts, Held, Vessel, WaterKind};
use quantity::{Colour, Fraction, MassConcentration, Temperature};
use water::Origin;

use crate::Reckoning;
use crate::document::{self, Document, Gas, HopUse, SpargeKind};
use crate::reader::Assumption;

/// Below this a grist is pale. Judgement.
const PALE: Colour = Colour::from_ebc(16.0);

/// Hop creep needs about this warmth (judgement).
const CREEP: Temperature = Temperature::from_c(15.0);

/// The facts of a batch. What the document leaves to a default says nothing.
#[must_use]
pub fn facts(r: &Reckoning) -> Facts {
    let d = &r.document;
    let said = |path: &str| !r.assumptions.iter().any(|a: &Assumption| a.path == path);
    let inquiry = &d.inquiry;
    let mash = &r.water.mash;
    let sparged = d.mash.sparge != SpargeKind::None;
    Facts {
        water: water_kind(d),
        chlorine: Some(mash.chlorine),
        alkalinity: Some(mash.alkalinity),
        pale: Some(r.glass.colour.ebc() < PALE.ebc()),
        sulfate: Some(mash.ions.sulfate),
        sodium: Some(mash.ions.sodium),
        chloride: Some(mash.ions.chloride),
        mash_ph: Some(r.mash.wort.ph),
        mash_rest: longest_rest(d),
        sparge: (sparged && said("mash.sparge_temperature"))
            .then_some(d.mash.sparge_temperature.value),
        sparged: Some(sparged),
        pilsner: pilsner(d),
        boil: said("boil.time").then_some(d.boil.time.value),
        covered: d.kit.steam_escapes.map(|s| s.value.ratio() < 0.5),
        evaporation: evaporation(r),
        hot_stand: said("boil.whirlpool").then_some(d.boil.whirlpool.value),
        sanitiser: inquiry.sanitiser,
        rinsed: inquiry.rinsed,
        scratched: inquiry.scratched,
        phenolic: strain(d).map(|s| s.phenolic),
        diastatic: strain(d).map(|s| s.diastatic),
        diastatic_before: inquiry.diastatic_before,
        generation: inquiry.generation,
        pitched: Some(Fraction::from_ratio(r.fermentation.pitch.ratio)),
        oxygen: said("fermentation.aeration").then(|| oxygen(r)),
        warmest: warmest(d),
        logged: inquiry.course_held,
        after_end: after_end(r),
        vessel: Some(match d.package.vessel {
            document::Vessel::Bottles => Vessel::Bottles,
            document::Vessel::Keg => Vessel::Keg,
        }),
        lit: inquiry.light,
        primed: Some(
            d.package.gas == Gas::Priming && d.package.vessel == document::Vessel::Bottles,
        ),
        purged: inquiry.purged,
        age: inquiry.age.map(|a| a.value),
        dispense: inquiry.poured,
        dry_hops: Some(dry_hops(d)),
        extract_age: inquiry.extract_age.map(|a| a.value),
        house: inquiry::House::default(),
    }
}

/// Notes that the aim asks for by their figure: they are no fault.
#[must_use]
pub fn wanted(r: &Reckoning) -> Vec<String> {
    let aim = r.document.aim.as_ref();
    let clove = aim.and_then(|a| a.clove).map(|_| "clove");
    let banana = aim.and_then(|a| a.banana).map(|_| "banana");
    clove.into_iter().chain(banana).map(str::to_owned).collect()
}

/// Purified or a well only where all of it is; mains where some of it is.
fn water_kind(d: &Document) -> Option<WaterKind> {
    let drawn = |s: &&document::SourceEntry| s.share.is_none_or(|share| share.value.ratio() > 0.0);
    let kinds: Vec<Option<Origin>> = d
        .water
        .sources
        .iter()
        .filter(drawn)
        .map(|s| s.kind)
        .collect();
    let all = |kind| !kinds.is_empty() && kinds.iter().all(|k| *k == Some(kind));
    if all(Origin::Purified) {
        Some(WaterKind::Purified)
    } else if all(Origin::PrivateWell) {
        Some(WaterKind::Well)
    } else {
        kinds
            .contains(&Some(Origin::Mains))
            .then_some(WaterKind::Mains)
    }
}

/// The rest in which most is converted, taken as the longest.
fn longest_rest(d: &Document) -> Option<Temperature> {
    let longest = d
        .mash
        .rests
        .iter()
        .max_by(|a, b| a.time.value.min().total_cmp(&b.time.value.min()));
    longest.map(|rest| rest.temperature.value)
}

fn pilsner(d: &Document) -> Option<Fraction> {
    let all: f64 = d.grist.iter().map(|g| g.amount.value.kg()).sum();
    let of = |word: &str| -> f64 {
        d.grist
            .iter()
            .filter(|g| g.class.contains(word))
            .map(|g| g.amount.value.kg())
            .sum()
    };
    (all > 0.0).then(|| Fraction::from_ratio((of("pilsner") / all).clamp(0.0, 1.0)))
}

fn evaporation(r: &Reckoning) -> Option<Fraction> {
    let full = r.boil.report.pre_boil.volume.l();
    let share = r.document.kit.evaporation.value.kg_per_h() / full;
    (full > 0.0 && share.is_finite()).then(|| Fraction::from_ratio(share.clamp(0.0, 1.0)))
}

fn strain(d: &Document) -> Option<&'static ferment::Strain> {
    ferment::strain(&d.yeast.class).ok()
}

/// Oxygen by the lower end of what is wanted.
fn oxygen(r: &Reckoning) -> Fraction {
    let report = &r.fermentation.oxygen;
    let wanted = report.wanted_from.mg_per_l().max(f64::MIN_POSITIVE);
    Fraction::from_ratio((report.dissolved.mg_per_l() / wanted).clamp(0.0, 100.0))
}

fn warmest(d: &Document) -> Option<(Temperature, Temperature)> {
    let course = &d.fermentation.course;
    let warmest = course
        .iter()
        .map(|p| p.temperature.value)
        .max_by(|a, b| a.c().total_cmp(&b.c()))?;
    Some((warmest, strain(d)?.working.high))
}

fn after_end(r: &Reckoning) -> Option<Held> {
    let length = r.document.fermentation.course.last()?.at.value;
    Some(match r.fermentation.ended_at {
        Some(end) => Held::For(quantity::Duration::from_min(
            (length.min() - end.min()).max(0.0),
        )),
        None => Held::NotEnded,
    })
}

/// Dry hops that lie warmer than hop creep needs.
fn dry_hops(d: &Document) -> MassConcentration {
    let warm = d
        .fermentation
        .course
        .iter()
        .any(|p| p.temperature.value.c() > CREEP.c());
    let dry = d.hops.iter().filter(|h| h.used == HopUse::Dry);
    let grams: f64 = dry.map(|h| h.amount.value.g()).sum();
    let litres = d.batch.volume.value.l().max(f64::MIN_POSITIVE);
    let per_l = if warm { grams / litres } else { 0.0 };
    MassConcentration::from_mg_per_l(1000.0 * per_l)
}
