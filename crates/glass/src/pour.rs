//! What the glass should hold.

use package::PackedBeer;
use quantity::{AlcoholByVolume, Bitterness, CarbonDioxide, Caution, Colour, Gravity, Note, Ph};

use crate::activity::{Notice, OdourActivity, activities};
use crate::error::{GlassError, sound};
use crate::medicinal::{Medicinal, medicinal};
use crate::risk::{Risk, risks};

/// What the glass should hold: figures, flavours, and what may be noticed that
/// was not asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Glass {
    /// Apparent extract.
    pub gravity: Gravity,
    /// Alcohol.
    pub alcohol: AlcoholByVolume,
    /// CO₂ in solution.
    pub carbon_dioxide: CarbonDioxide,
    /// Bitterness.
    pub bitterness: Bitterness,
    /// Colour.
    pub colour: Colour,
    /// pH.
    pub ph: Ph,
    /// Odour activities, the strongest first.
    pub activities: Vec<OdourActivity>,
    /// The medicinal risk with its bounds.
    pub medicinal: Medicinal,
    /// All risks, the medicinal one first.
    pub risks: Vec<Risk>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// Cautions that belong to these numbers.
    pub cautions: Vec<Caution>,
}

impl Glass {
    /// The activities that are a part of the flavour, secondary or primary.
    pub fn noticed(&self) -> impl Iterator<Item = &OdourActivity> {
        self.activities
            .iter()
            .filter(|a| a.notice >= Notice::Secondary)
    }

    /// The risk with a key.
    #[must_use]
    pub fn risk(&self, key: &str) -> Option<&Risk> {
        self.risks.iter().find(|risk| risk.key == key)
    }
}

/// Pours packed beer: its figures, the activity of each compound that it
/// carries, and the risks.
///
/// # Errors
/// [`GlassError::Impossible`] where a figure of the beer cannot be.
pub fn glass(beer: &PackedBeer) -> Result<Glass, GlassError> {
    let medicinal = medicinal(&beer.halogen_met)?;
    Ok(Glass {
        gravity: sound("gravity", beer.gravity)?,
        alcohol: sound("alcohol", beer.alcohol)?,
        carbon_dioxide: sound("carbon dioxide", beer.carbon_dioxide)?,
        bitterness: sound("bitterness", beer.bitterness)?,
        colour: sound("colour", beer.colour)?,
        ph: sound("pH", beer.ph)?,
        activities: activities(beer)?,
        risks: risks(beer, &medicinal)?,
        medicinal,
        notes: notes(beer),
        cautions: cautions(beer),
    })
}

/// pH above which food counts as low-acid: USDA (read).
const LOW_ACID_PH: f64 = 4.6;
/// Below this beer is flat \[g/L\] (judgement: about the gas of open beer).
const FLAT_G_PER_L: f64 = 2.0;

fn notes(beer: &PackedBeer) -> Vec<Note> {
    let mut notes = vec![Note::fine(
        "thresholds differ twentyfold between tasters, compounds of like flavour add and unlike ones mask: an activity near 1 is a maybe",
    )];
    if beer.ph.ph() > LOW_ACID_PH {
        notes.push(Note::look(format!(
            "pH {} is above 4.6: beer like this protects itself less; keep it cold and drink it soon",
            beer.ph
        )));
    }
    if beer.carbon_dioxide.g_per_l() < FLAT_G_PER_L {
        notes.push(Note::fine(format!(
            "with {} of CO2 the beer is flat",
            beer.carbon_dioxide
        )));
    }
    notes
}

fn cautions(beer: &PackedBeer) -> Vec<Caution> {
    if beer.sulfur_dioxide_at_most.mg_per_l() > 0.0 {
        vec![Caution::SulfiteLabel]
    } else {
        Vec::new()
    }
}
