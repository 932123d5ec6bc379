//! A starter that goes into the batch with its liquid: what that does to the batch.

use quantity::{Bitterness, Colour, Fraction, Gravity, Note, Volume, density::sucrose_density};
use wort::{Carbohydrates, PitchingWort, Traces};

use super::{Starter, StarterStep, share_of};

/// A share of starter above which it is tasted (judgement).
const TASTED: f64 = 0.05;

/// What the liquid of a starter does to the batch.
#[derive(Debug, Clone, PartialEq)]
pub struct WholeStarter {
    /// Its share of what is in the fermenter then.
    pub share: Fraction,
    /// Volume in the fermenter.
    pub volume: Volume,
    /// Original gravity of the two together, as if the starter had not fermented.
    pub gravity: Gravity,
    /// Bitterness of the two together.
    pub bitterness: Bitterness,
    /// Remarks.
    pub notes: Vec<Note>,
}

/// What the last step of a starter does to a wort when it is pitched whole: masses of
/// liquid and of extract add up; hops are thinned.
#[must_use]
pub fn whole_starter(
    step: &StarterStep,
    gravity: Gravity,
    volume: Volume,
    bitterness: Bitterness,
) -> WholeStarter {
    let share = share_of(step.volume, volume);
    let grams_per_l = |plato: f64| sucrose_density(plato / 100.0, 20.0);
    let (own, added) = (gravity.plato(), step.gravity.plato());
    let masses = [
        grams_per_l(own) * volume.l(),
        grams_per_l(added) * step.volume.l(),
    ];
    let extract = masses[0] * own + masses[1] * added;
    let together = extract / (masses[0] + masses[1]);
    let notes = (share.ratio() > TASTED).then(|| {
        Note::look(format!(
            "the liquid of the starter is {:.0} % of the batch: it thins hops and malt and tastes of warm, aired fermentation; chill it and pour it off",
            share.ratio() * 100.0
        ))
    });
    WholeStarter {
        share,
        volume: Volume::from_l(volume.l() + step.volume.l()),
        gravity: Gravity::from_plato(together),
        bitterness: Bitterness::from_ibu(bitterness.ibu() * (1.0 - share.ratio())),
        notes: notes.into_iter().collect(),
    }
}

/// The wort that ferments with a starter in it. Its extract counts as not yet
/// fermented, of the same make-up: in the end its alcohol is in the beer either way.
pub(crate) fn with_starter(wort: &PitchingWort, starter: Option<&Starter>) -> PitchingWort {
    let last = starter.filter(|s| s.whole).and_then(|s| s.steps.last());
    let Some(step) = last else {
        return wort.clone();
    };
    let mixed = whole_starter(step, wort.gravity, wort.volume, wort.bitterness);
    let thinned = 1.0 - mixed.share.ratio();
    let extract = |plato: f64| plato * sucrose_density(plato / 100.0, 20.0);
    let of_extract = extract(mixed.gravity.plato()) / extract(wort.gravity.plato());
    let times = |x: quantity::MassConcentration, factor: f64| {
        quantity::MassConcentration::from_mg_per_l(x.mg_per_l() * factor)
    };
    let c = &wort.carbohydrates;
    let t = &wort.traces;
    PitchingWort {
        volume: mixed.volume,
        gravity: mixed.gravity,
        bitterness: mixed.bitterness,
        colour: Colour::from_ebc(wort.colour.ebc() * thinned),
        carbohydrates: Carbohydrates {
            simple: times(c.simple, of_extract),
            maltose: times(c.maltose, of_extract),
            maltotriose: times(c.maltotriose, of_extract),
            dextrin: times(c.dextrin, of_extract),
        },
        traces: Traces {
            fan: times(t.fan, thinned),
            ferulic_acid: times(t.ferulic_acid, thinned),
            dms: times(t.dms, thinned),
            iso_alpha: times(t.iso_alpha, thinned),
            ..*t
        },
        ..wort.clone()
    }
}
