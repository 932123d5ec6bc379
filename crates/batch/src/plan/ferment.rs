//! The plan of the fermentation stage.

use ferment::{
    Aeration, CoursePoint, Datasheet, FermentError, FermentPlan, Habits, Starter, StarterStep,
    Stirring, Yeast, pitch_target, strain,
};
use quantity::{Duration, Fraction, Gravity};
use wort::PitchingWort;

use crate::certainty::doubt::{Doubts, Model};
use crate::document::{self, Document, YeastForm, YeastSection};

/// Air through a stone or a pump comes near saturation (common practice).
const AIR_SATURATION: f64 = 0.9;

/// Starter wort of the usual strength \[°P\] (common practice: 8 to 10).
pub(crate) const STARTER_PLATO: f64 = 9.0;

/// The fermentation as planned.
pub(crate) fn ferment_plan(
    document: &Document,
    wort: &PitchingWort,
) -> Result<FermentPlan, FermentError> {
    ferment_plan_doubting(document, wort, &mut Doubts::Kept)
}

/// The same, meeting the doubts of the yeast.
pub(crate) fn ferment_plan_doubting(
    document: &Document,
    wort: &PitchingWort,
    doubts: &mut Doubts,
) -> Result<FermentPlan, FermentError> {
    let yeast = &document.yeast;
    let course: Vec<CoursePoint> = document
        .fermentation
        .course
        .iter()
        .map(|p| CoursePoint {
            at: p.at.value,
            temperature: p.temperature.value,
        })
        .collect();
    let mut strain = strain(&yeast.class)?.clone().with(&Datasheet {
        attenuation: yeast.attenuation,
        ..Datasheet::default()
    })?;
    // One that is given has met its doubt in the document.
    if yeast.attenuation.is_none() {
        strain.attenuation = doubts.of_class(
            || "yeast.attenuation".to_owned(),
            || format!("attenuation of {}", strain.name),
            strain.attenuation,
        );
    }
    // A speed that is given has met its doubt in the document, batch by batch.
    let habits = Habits {
        speed: yeast
            .speed
            .map_or_else(|| doubts.factor(Model::Speed), |s| s.value.times()),
        ..Habits::default()
    };
    let given = yeast.pitch_rate.map(|r| r.value);
    Ok(FermentPlan {
        pitch_rate: given.or_else(|| yeast.aim.map(|aim| pitch_target(&strain, aim).rate)),
        strain,
        yeast: yeast_at_hand(yeast),
        starter: starter(yeast),
        pitch_temperature: wort.temperature,
        pitched_after: Duration::from_h(0.5),
        length: course.last().map_or(Duration::from_h(0.0), |p| p.at),
        course,
        aeration: aeration(document),
        altitude: document.kit.altitude.value,
        habits,
    })
}

/// The starter that a document plans.
pub(crate) fn starter(section: &YeastSection) -> Option<Starter> {
    let one = section.starter.map(|volume| StarterStep {
        volume: volume.value,
        gravity: Gravity::from_plato(STARTER_PLATO),
        stirring: Stirring::Still,
    });
    let steps: Vec<StarterStep> = section.steps.iter().copied().chain(one).collect();
    (!steps.is_empty()).then_some(Starter {
        steps,
        whole: section.whole,
    })
}

/// The yeast that a document has at hand.
pub(crate) fn yeast_at_hand(section: &YeastSection) -> Yeast {
    let (age, storage) = (section.age.value, section.stored_at.value);
    match section.form {
        YeastForm::Dry => Yeast::Dry {
            packets: section.packets,
            packet: section.packet_mass.map(|m| m.value).unwrap_or_default(),
            cells: Some(section.cells_per_gram),
            age,
            storage,
        },
        YeastForm::Liquid => Yeast::Liquid {
            packets: section.packets,
            cells: section.cells.map(|c| c.value).unwrap_or_default(),
            age,
            storage,
        },
        YeastForm::Slurry => slurry(section),
    }
}

/// Slurry by its count, or by what is usual.
fn slurry(section: &YeastSection) -> Yeast {
    let volume = section.slurry.map(|v| v.value).unwrap_or_default();
    let storage = section.stored_at.value;
    match &section.count {
        Some(count) => Yeast::Suspension {
            volume,
            living: count.found.living,
            viability: count
                .found
                .viability
                .as_ref()
                .map_or(Fraction::from_ratio(1.0), |v| v.share),
            since: count.since.value,
            storage,
        },
        None => Yeast::Slurry {
            volume,
            cells: None,
            age: section.age.value,
            storage,
        },
    }
}

fn aeration(document: &Document) -> Aeration {
    let section = &document.fermentation;
    match section.aeration {
        document::Aeration::None => Aeration::None,
        document::Aeration::Shaking => Aeration::Shaking,
        document::Aeration::Air => Aeration::Air {
            saturation: Fraction::from_ratio(AIR_SATURATION),
        },
        document::Aeration::Oxygen => Aeration::Oxygen {
            time: section.aeration_time.value,
            transfer: None,
        },
    }
}
