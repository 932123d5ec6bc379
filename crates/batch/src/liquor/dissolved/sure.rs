//! How sure the chemistry of a water is: its analysis drawn, and the same done to each.

use quantity::{Alkalinity, Calcium, MassConcentration, Molality, Ph, Quantity, Temperature};
use water::acids::AcidProduct;
use water::speciation::{
    Air, Mineral, OUTDOOR_AIR, Solution, Speciated, SpeciationError, acid_to, acid_to_alkalinity,
    boil, lime, stoichiometric_lime, titration,
};

use super::Dissolved;
use super::doses::AcidAim;
use super::waters;
use crate::certainty::{Between, Columns};

/// Where the figures of a water lie in nine of ten draws; each is none where nothing moves
/// it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sure {
    /// Bicarbonate as it is.
    pub bicarbonate: Option<Between<MassConcentration>>,
    /// Carbon dioxide as it is.
    pub carbon_dioxide: Option<Between<MassConcentration>>,
    /// Those of [`Dissolved::states`], in their order.
    pub states: Vec<StateSure>,
    /// Of the acid; none without any.
    pub acid: Option<AcidSure>,
    /// Of the lime by the formula; none without any.
    pub lime: Option<Between<MassConcentration>>,
}

/// Of a state of a water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StateSure {
    /// Its pH.
    pub ph: Option<Between<Ph>>,
    /// Its alkalinity.
    pub alkalinity: Option<Between<Alkalinity>>,
    /// Its calcium.
    pub calcium: Option<Between<Calcium>>,
    /// Its saturation index of calcite \[–\].
    pub chalk: Option<Between<f64>>,
}

/// Of acid in a water.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcidSure {
    /// While carbon dioxide stays.
    pub closed: DoseSure,
    /// Once it has left.
    pub open: DoseSure,
}

/// Of a dose of acid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DoseSure {
    /// The dose that would bring the water just where it should be.
    pub dose: Option<Between<Molality>>,
    /// The pH after the dose that is told.
    pub ph: Option<Between<Ph>>,
    /// The alkalinity after it.
    pub alkalinity: Option<Between<Alkalinity>>,
}

/// What is done to each draw of a water: what was answered for the likeliest.
struct Done<'d> {
    found: &'d Dissolved,
    heated_to: Temperature,
}

/// How sure an answer is; none for a batch that cannot be drawn.
///
/// The doses that the answer tells are what is poured; the water is what differs.
#[must_use]
pub fn sure(text: &str, found: &Dissolved) -> Option<Sure> {
    let done = Done {
        found,
        heated_to: found.heated.temperature,
    };
    let of = found.of;
    let mut columns = if of.is_liquor() {
        Columns::glanced(text, &|drawn| {
            let [water, before] = [waters::whole(of, drawn), waters::before_acid(of, drawn)];
            done.to(&water.ok()?, &before.ok()?).ok()
        })
    } else {
        Columns::glanced_at_documents(text, &|drawn| {
            let water = waters::untouched(of, drawn).ok()?;
            done.to(&water, &water).ok()
        })
    }?;
    Some(Sure {
        bicarbonate: columns.quantity(),
        carbon_dioxide: columns.quantity(),
        states: found.states().iter().map(|_| state(&mut columns)).collect(),
        acid: found.acid.as_ref().map(|_| AcidSure {
            closed: dose(&mut columns),
            open: dose(&mut columns),
        }),
        lime: found.lime.as_ref().and_then(|_| columns.quantity()),
    })
}

fn state(columns: &mut Columns) -> StateSure {
    StateSure {
        ph: columns.quantity(),
        alkalinity: columns.quantity(),
        calcium: columns.quantity(),
        chalk: columns.next(),
    }
}

fn dose(columns: &mut Columns) -> DoseSure {
    DoseSure {
        dose: columns.quantity(),
        ph: columns.quantity(),
        alkalinity: columns.quantity(),
    }
}

impl Done<'_> {
    /// Every number that [`sure`] reads, in its order: of a water, and of the same before its
    /// acid.
    fn to(&self, water: &Solution, before_acid: &Solution) -> Result<Vec<f64>, SpeciationError> {
        let is = water.speciated();
        let mut numbers = vec![
            is.bicarbonate_mass().canonical(),
            is.carbon_dioxide_mass().canonical(),
        ];
        let mut states = vec![
            is,
            water.heated(self.heated_to)?.speciated(),
            water.open_to(OUTDOOR_AIR)?.speciated(),
        ];
        if self.found.boiled.is_some() {
            let boiled = boil(water, OUTDOOR_AIR)?;
            states.push(boiled.likely.speciated());
            states.push(boiled.end_point.speciated());
        }
        if let Some(limed) = &self.found.lime {
            states.push(lime(water, limed.taken)?.speciated());
        }
        numbers.extend(states.iter().flat_map(of_state));
        if let Some(acid) = &self.found.acid {
            let told = |to: Molality, air| after(before_acid, acid.product, acid.aim, to, air);
            numbers.extend(told(acid.closed.dose, Air::Closed)?);
            numbers.extend(told(acid.open.dose, Air::Open(OUTDOOR_AIR))?);
        }
        numbers.push(stoichiometric_lime(water).canonical());
        Ok(numbers)
    }
}

fn of_state(is: &Speciated) -> [f64; 4] {
    [
        is.ph.canonical(),
        is.alkalinity.canonical(),
        is.ions.calcium.canonical(),
        is.saturation_of(Mineral::Calcite).unwrap_or(0.0),
    ]
}

/// The dose that a water would need, and where it stands after the one that is told.
fn after(
    water: &Solution,
    product: &'static AcidProduct,
    aim: AcidAim,
    told: Molality,
    air: Air,
) -> Result<[f64; 3], SpeciationError> {
    let needs = match aim {
        AcidAim::Ph(ph) => acid_to(water, product, ph, air),
        AcidAim::Alkalinity(alkalinity) => acid_to_alkalinity(water, product, alkalinity),
    };
    let needs = match needs {
        Ok(needs) => needs.dose.canonical(),
        // It stands there without any.
        Err(SpeciationError::OutOfReach { .. } | SpeciationError::AlkalinityOutOfReach { .. }) => {
            0.0
        }
        Err(error) => return Err(error),
    };
    let stands = titration(water, product, &[told], air)?;
    let [ph, alkalinity] = stands.first().map_or([0.0; 2], |point| {
        [point.ph.canonical(), point.alkalinity.canonical()]
    });
    Ok([needs, ph, alkalinity])
}
