//! How far a yeast can go in a wort.

use quantity::{Gravity, Note, Units, show};
use wort::PitchingWort;

use crate::alcohol::Balance;
use crate::error::{FermentError, within};
use crate::kinetics::{Sugars, common};
use crate::strains::Strain;

/// Shares of simple sugars, maltose and maltotriose in the fermentable extract
/// of all-malt wort (from memory), for wort whose sugars are not known.
const USUAL_SHARES: [f64; 3] = [0.16, 0.62, 0.22];
/// Share of the dextrin that glucoamylase reaches (judgement).
const DEXTRIN_REACHED: f64 = 0.97;

/// Where the fermentation is headed.
#[derive(Debug, Clone)]
pub(crate) struct Aim {
    /// What this yeast can ferment in this wort.
    pub(crate) sugars: Sugars,
    /// Apparent extract when all of that is gone \[°P\].
    pub(crate) expected_plato: f64,
    /// Spread of it by the strain \[°P\].
    pub(crate) sd_plato: f64,
    /// The lowest that the apparent extract can ever go \[°P\].
    pub(crate) floor_plato: f64,
    /// Remarks.
    pub(crate) notes: Vec<Note>,
    balance: Balance,
}

impl Aim {
    /// Ethanol \[g per L of wort\] that makes a strength by volume in beer of
    /// this wort, even if it has not the extract for it.
    pub(crate) fn ethanol_at(&self, volume_fraction: f64) -> f64 {
        // The beer has nearly the volume of the wort (within 2 %), and the
        // tolerance is known to a tenth at best.
        volume_fraction * quantity::density::pure_ethanol_density()
    }

    /// Alcohol when all is fermented \[volume fraction\].
    pub(crate) fn expected_alcohol(&self) -> f64 {
        self.balance
            .beer_after(self.sugars.total())
            .ethanol_volume_fraction
    }
}

/// Refuses wort that cannot be.
pub(crate) fn check_wort(wort: &PitchingWort) -> Result<(), FermentError> {
    within("wort volume", wort.volume, 0.01, 1e5)?;
    within("original gravity", wort.gravity, 0.5, 35.0)?;
    within("wort pH", wort.ph, 3.0, 8.0)?;
    within(
        "attenuation limit of the wort",
        wort.attenuation_limit,
        0.05,
        1.0,
    )?;
    let (c, t) = (&wort.carbohydrates, &wort.traces);
    for (what, x) in [
        ("simple sugars of the wort", c.simple),
        ("maltose of the wort", c.maltose),
        ("maltotriose of the wort", c.maltotriose),
        ("dextrin of the wort", c.dextrin),
        ("free amino nitrogen of the wort", t.fan),
        ("ferulic acid of the wort", t.ferulic_acid),
        ("dimethyl sulfide of the wort", t.dms),
        ("iso-alpha-acids of the wort", t.iso_alpha),
    ] {
        within(what, x, 0.0, 1e6)?;
    }
    Ok(())
}

/// Where a strain ends in a wort.
///
/// Apparent attenuation of the class × limit of the wort / 81.5 %, at most the
/// limit itself; diastatic yeast goes beyond into the dextrin. What it leaves of
/// the fermentable extract is maltotriose first, then maltose.
pub(crate) fn aim(strain: &Strain, wort: &PitchingWort) -> Aim {
    let original = wort.gravity.plato();
    let balance = Balance::new(original);
    let limit = wort.attenuation_limit.ratio();
    let scale = limit / common().class_limit;
    let class = strain.attenuation.value.ratio() * scale;
    let reach = if strain.diastatic {
        class
    } else {
        class.min(limit)
    };
    let at = |attenuation: f64| balance.fermented_at(original * (1.0 - attenuation));
    let to_limit = at(limit);
    let dextrin = (wort.carbohydrates.dextrin.mg_per_l() / 1000.0)
        .min(balance.extract_g_per_l() - to_limit)
        * DEXTRIN_REACHED;
    let wanted = at(reach).min(to_limit + dextrin);
    let (sugars, mut notes) = split(wort, to_limit, wanted);
    notes.extend(capped(strain, class, limit));
    let all = if strain.diastatic {
        to_limit + dextrin
    } else {
        to_limit
    };
    Aim {
        expected_plato: balance.beer_after(sugars.total()).apparent_plato,
        sd_plato: strain.attenuation.sd() * scale * original,
        floor_plato: balance.beer_after(all).apparent_plato,
        sugars,
        notes,
        balance,
    }
}

/// The fermentable extract by kind: the wort's proportions, scaled to what its
/// limit says, less what the yeast leaves.
fn split(wort: &PitchingWort, to_limit: f64, wanted: f64) -> (Sugars, Vec<Note>) {
    let c = &wort.carbohydrates;
    let grams = [c.simple, c.maltose, c.maltotriose].map(|x| x.mg_per_l() / 1000.0);
    let stated: f64 = grams.iter().sum();
    let mut notes = Vec::new();
    let shares = if stated > 1e-9 {
        grams.map(|g| g / stated)
    } else {
        notes.push(Note::fine(
            "the sugars of the wort are not known by kind: the shares of all-malt wort are taken",
        ));
        USUAL_SHARES
    };
    if stated > 1e-9 && (stated / to_limit - 1.0).abs() > 0.15 {
        notes.push(Note::look(format!(
            "sugars of {stated:.0} g/L do not fit the attenuation limit, which needs {to_limit:.0} g/L; the limit decides"
        )));
    }
    let [mut simple, mut maltose, mut maltotriose] = shares.map(|s| s * to_limit);
    let mut leave = (to_limit - wanted).max(0.0);
    for kind in [&mut maltotriose, &mut maltose, &mut simple] {
        let left = leave.min(*kind);
        *kind -= left;
        leave -= left;
    }
    let dextrin = (wanted - to_limit).max(0.0);
    (
        Sugars {
            simple,
            maltose,
            maltotriose,
            dextrin,
        },
        notes,
    )
}

fn capped(strain: &Strain, class: f64, limit: f64) -> Option<Note> {
    (!strain.diastatic && class > limit + 0.005).then(|| {
        Note::fine(format!(
            "the yeast's attenuation of {} would pass the limit of this wort; it ends at the limit of {:.1} %",
            show(strain.attenuation.value, Units::Metric),
            limit * 100.0
        ))
    })
}

/// What a beer may differ from its forced-ferment sample and still be called
/// finished \[°P\]: one point of gravity (common practice).
const FINISHED_WITHIN_PLATO: f64 = 0.25;

/// Apparent extract that could still ferment in the package, at most \[°P\]: from
/// where the beer is reckoned to be down to where this yeast ends (with diastatic
/// yeast, to the end of the dextrin), and the point of gravity by which a beer that
/// passes as finished may differ from its forced-ferment sample.
///
/// How far this yeast attenuates is not known to a point beforehand, but that is no
/// extract left in the bottle: the gravity stands still all the same.
pub(crate) fn left_at_most(aim: &Aim, diastatic: bool, apparent_plato: f64) -> Gravity {
    let end_plato = if diastatic {
        aim.floor_plato
    } else {
        aim.expected_plato
    };
    let left_plato = (apparent_plato - end_plato).max(0.0);
    Gravity::from_plato(left_plato + FINISHED_WITHIN_PLATO)
}
