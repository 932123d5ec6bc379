//! What a cleaned vessel can leave in the beer.

use quantity::{Caution, Duration, MassConcentration, Note, Temperature, Units, Volume, show};

use super::agent::{Agent, Does, Leaves};
use super::working::Strength;
use crate::error::{PackageError, within};

/// How a vessel was rinsed after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rinse {
    /// It was drained.
    None,
    /// With water from the tap.
    Water,
    /// With water that was boiled.
    BoiledWater,
}

/// An agent as it was used on one vessel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CleaningUse {
    /// What with.
    pub agent: &'static Agent,
    /// How strong; absent: nobody said, so the strongest that is usual.
    pub strength: Option<Strength>,
    /// For how long.
    pub contact: Option<Duration>,
    /// How warm.
    pub temperature: Option<Temperature>,
    /// How it was rinsed.
    pub rinse: Rinse,
    /// Water of the rinse.
    pub rinse_volume: Volume,
    /// Solution that stays on the walls after draining.
    pub film: Volume,
    /// Beer that meets it.
    pub beer: Volume,
}

/// What is left, and what was wrong.
#[derive(Debug, Clone, PartialEq)]
pub struct Residue {
    /// The most of the active substance in a litre of the beer; none for heat and for
    /// what is dosed as it is sold.
    pub at_most: Option<MassConcentration>,
    /// What it can taste of; empty where it was rinsed as it should be.
    pub leaves: Vec<&'static Leaves>,
    /// What was wrong or is to be known.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// What an agent can leave in the beer that a vessel takes up next.
///
/// The film that draining leaves is carried over whole; a rinse dilutes it by
/// film/(film + rinse), as if both mixed: c = c_use · film/beer · film/(film + rinse).
/// An upper bound where the agent does not cling; quaternary ammonium does, so that a
/// rinse is not counted for it. Nothing is taken off for what decays.
///
/// # Errors
/// [`PackageError::Impossible`] for a quantity that cannot be, or without beer.
pub fn residue(used: &CleaningUse) -> Result<Residue, PackageError> {
    let agent = used.agent;
    let film_l = within("solution left on the walls", used.film, 0.0, 1e3)?.l();
    let beer_l = within("beer in the vessel", used.beer, 1e-3, 1e5)?.l();
    let rinse_l = within("water of the rinse", used.rinse_volume, 0.0, 1e5)?.l();
    let strength = used.strength.or(agent.strength.map(|s| s.1));
    let clings = agent.kinds.iter().any(|kind| kind == "quat");
    let rinsed = used.rinse != Rinse::None && rinse_l > 0.0;
    let diluted = match rinsed && !clings && film_l > 0.0 {
        true => film_l / (film_l + rinse_l),
        false => 1.0,
    };
    let at_most = match strength {
        Some(Strength::Active(c)) => {
            let strong = within("strength of the cleaner", c, 0.0, 1e6)?.mg_per_l();
            Some(MassConcentration::from_mg_per_l(
                strong * film_l / beer_l * diluted,
            ))
        }
        _ => None,
    };
    let unrinsed = !rinsed && agent.needs_rinse(strength);
    Ok(Residue {
        at_most,
        leaves: agent.leaves.iter().filter(|_| unrinsed).collect(),
        notes: notes(used, strength, unrinsed, at_most),
        cautions: agent.cautions.clone(),
    })
}

fn notes(
    used: &CleaningUse,
    strength: Option<Strength>,
    unrinsed: bool,
    at_most: Option<MassConcentration>,
) -> Vec<Note> {
    let agent = used.agent;
    let mut notes = Vec::new();
    if unrinsed {
        let amount = at_most.map_or_else(String::new, |c| {
            let of = agent.of.as_deref().unwrap_or("it");
            format!(": up to {} {of} in the beer", show(c, Units::Metric))
        });
        let tastes: Vec<&str> = agent.leaves.iter().map(|l| l.fault.as_str()).collect();
        let taste = match tastes.is_empty() {
            true => String::new(),
            false => format!("; it can make the beer {}", tastes.join(", ")),
        };
        notes.push(Note::act(format!(
            "{} was not rinsed off{amount}{taste}",
            agent.name
        )));
    }
    let tap_after_sanitiser = used.rinse == Rinse::Water && agent.does == Does::Sanitises;
    if tap_after_sanitiser {
        notes.push(Note::look(format!(
            "rinsing {} off with water from the tap brings its germs and its chlorine back: boil the water first",
            agent.name
        )));
    }
    notes.extend(off_use(agent, strength, used.contact, used.temperature));
    notes
}

/// What was weaker, shorter or colder than it works at, or stronger than is usual.
fn off_use(
    agent: &Agent,
    strength: Option<Strength>,
    contact: Option<Duration>,
    temperature: Option<Temperature>,
) -> impl Iterator<Item = Note> {
    let name = &agent.name;
    let weak = strength.and_then(|used| agent.remark_on(used));
    let short = contact
        .filter(|t| t.h() < agent.contact.0.h() * (1.0 - 1e-9))
        .map(|t| {
            Note::look(format!(
                "{name} had {t}; it takes {} or more",
                agent.contact.0
            ))
        });
    let cold = temperature
        .zip(agent.temperature)
        .and_then(|(t, (coldest, warmest))| {
            if t.c() < coldest.c() - 1e-9 {
                return Some(Note::look(format!(
                    "{name} was used at {t}; it works from {coldest}"
                )));
            }
            (t.c() > warmest.c() + 1e-9).then(|| {
                Note::look(format!(
                    "{name} was used at {t}; {warmest} is the most that does it good"
                ))
            })
        });
    [weak, short, cold].into_iter().flatten()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use quantity::Weight;

    fn used(agent: &str, mg_per_l: f64, rinse: Rinse) -> CleaningUse {
        CleaningUse {
            agent: Agent::find(agent).unwrap(),
            strength: Some(Strength::Active(MassConcentration::from_mg_per_l(mg_per_l))),
            contact: Some(Duration::from_min(10.0)),
            temperature: Some(Temperature::from_c(20.0)),
            rinse,
            rinse_volume: Volume::from_l(1.0),
            film: Volume::from_l(0.02),
            beer: Volume::from_l(20.0),
        }
    }

    /// By hand: 20 mL of 200 mg/L in 20 L are 0.2 mg/L; after a litre of rinse a
    /// fifty-first part of that.
    #[test]
    fn a_film_is_carried_over_as_by_hand() {
        let dry = residue(&used("hypochlorite", 200.0, Rinse::None)).unwrap();
        assert!((dry.at_most.unwrap().mg_per_l() - 0.2).abs() < 1e-12);
        assert!(dry.leaves.iter().any(|l| l.fault == "medicinal"));
        assert!(
            dry.notes
                .iter()
                .any(|n| n.weight == Weight::Act && n.text.contains("medicinal"))
        );
        let rinsed = residue(&used("hypochlorite", 200.0, Rinse::BoiledWater)).unwrap();
        assert!((rinsed.at_most.unwrap().mg_per_l() - 0.2 / 51.0).abs() < 1e-12);
        assert!(
            rinsed.leaves.is_empty() && rinsed.notes.is_empty(),
            "{:?}",
            rinsed.notes
        );
    }

    #[test]
    fn what_may_stay_stays_without_a_word_and_tap_water_is_told() {
        let fine = residue(&used("peracetic-acid", 150.0, Rinse::None)).unwrap();
        assert!(
            fine.leaves.is_empty() && fine.notes.is_empty(),
            "{:?}",
            fine.notes
        );
        let strong = residue(&used("peracetic-acid", 500.0, Rinse::None)).unwrap();
        assert!(strong.leaves.iter().any(|l| l.fault == "vinegar"));
        let tap = residue(&used("peracetic-acid", 150.0, Rinse::Water)).unwrap();
        assert!(tap.notes.iter().any(|n| n.text.contains("boil the water")));
        let quat = residue(&used("quat", 200.0, Rinse::Water)).unwrap();
        assert!(
            (quat.at_most.unwrap().mg_per_l() - 0.2).abs() < 1e-12,
            "it clings"
        );
    }

    #[test]
    fn too_weak_too_short_too_cold_is_told() {
        let mut poor = used("caustic", 1e3, Rinse::Water);
        poor.contact = Some(Duration::from_min(2.0));
        let notes = residue(&poor).unwrap().notes;
        for words in ["weaker than", "it takes 15 min", "it works from 50"] {
            assert!(
                notes.iter().any(|n| n.text.contains(words)),
                "{words}: {notes:?}"
            );
        }
        let mut none = used("caustic", 1e3, Rinse::Water);
        none.beer = Volume::from_l(0.0);
        assert!(residue(&none).is_err());
    }

    proptest! {
        #[test]
        fn a_rinse_never_leaves_more(
            mg in 1.0..1000.0f64, film in 0.0..0.5f64, rinse in 0.01..20.0f64, more in 0.1..20.0f64,
        ) {
            let left = |kind, litres: f64| {
                let mut used = used("hypochlorite", mg, kind);
                used.film = Volume::from_l(film);
                used.rinse_volume = Volume::from_l(litres);
                residue(&used).unwrap().at_most.unwrap().mg_per_l()
            };
            let (dry, once, well) = (left(Rinse::None, rinse), left(Rinse::Water, rinse), left(Rinse::Water, rinse + more));
            prop_assert!(once <= dry && well <= once);
            prop_assert!(dry <= mg * film / 20.0 + 1e-12);
        }
    }
}
