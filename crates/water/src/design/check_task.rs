//! What a task must be before it can be reckoned.

use quantity::{Quantity, Volume};

use super::error::DesignError;
use super::model::within;
use super::task::{Money, Task};
use crate::acids::AcidAmount;
use crate::check;
use crate::error::WaterError;

/// Refuses what no task can have; aims and limits are looked at where they become
/// rows.
pub(super) fn check(task: &Task) -> Result<(), DesignError> {
    volumes(task)?;
    sources(task)?;
    salts(task)?;
    acids(task)?;
    if let Some(malt) = &task.acid_malt {
        let what = "acidulated malt";
        check::measured(format_args!("acidity of {what}"), &malt.acidity)?;
        at_hand(what, malt.at_hand)?;
        check::within(format_args!("share of {what}"), malt.at_most)?;
        check::above_zero(format_args!("scale for {what}"), malt.resolution)?;
        money(&format!("price of {what}"), malt.price_per_kg, 0.0)?;
    }
    money("worth of a tolerance", task.worth_of_a_tolerance, 1e-6)
}

fn volumes(task: &Task) -> Result<(), DesignError> {
    check::within("mash volume", task.mash.volume)?;
    check::within("sparge volume", task.sparge.volume)?;
    if task.mash.volume.l() <= 0.0 {
        return Err(DesignError::NoMash);
    }
    check::above_zero("step of the jug", task.pour)?;
    // Thinner than that the arithmetic loses the smaller liquor.
    for (what, volume) in [("mash", task.mash.volume), ("sparge", task.sparge.volume)] {
        if volume.l() > 0.0 {
            within(&format!("{what} volume"), volume.l(), 0.1, Volume::MAX, "L")?;
        }
    }
    Ok(())
}

fn sources(task: &Task) -> Result<(), DesignError> {
    if task.sources.is_empty() {
        return Err(WaterError::NoSource.into());
    }
    for (at, source) in task.sources.iter().enumerate() {
        let Some(first) = source.variants.first() else {
            return Err(DesignError::NoVariant { number: at + 1 });
        };
        let name = &first.water.name;
        for variant in &source.variants {
            check::source(&variant.water)?;
            money(&format!("price of {name}"), variant.price_per_litre, 0.0)?;
        }
        at_hand(name, source.at_hand)?;
        check::within(format_args!("least share of {name}"), source.share.at_least)?;
        check::within(
            format_args!("greatest share of {name}"),
            source.share.at_most,
        )?;
        if source.share.at_least > source.share.at_most {
            return Err(DesignError::Crossed {
                what: format!("share of {name}"),
                at_least: source.share.at_least.to_string(),
                at_most: source.share.at_most.to_string(),
            });
        }
    }
    Ok(())
}

fn salts(task: &Task) -> Result<(), DesignError> {
    for given in &task.salts {
        let name = &given.salt.name;
        at_hand(name, given.at_hand)?;
        check::above_zero(format_args!("scale for {name}"), given.resolution)?;
        if let Some(most) = given.at_most {
            check::within(format_args!("greatest dose of {name}"), most)?;
        }
        money(&format!("price of {name}"), given.price_per_kg, 0.0)?;
    }
    Ok(())
}

fn acids(task: &Task) -> Result<(), DesignError> {
    for given in &task.acids {
        let name = &given.product.name;
        let what = format!("scale for {name}");
        match given.resolution {
            AcidAmount::Mass(mass) => check::above_zero(&what, mass).map(drop)?,
            AcidAmount::Volume(volume) => check::above_zero(&what, volume).map(drop)?,
        }
        given.product.mol(given.resolution)?;
        match (given.at_hand, given.resolution) {
            (None, _) => {}
            (Some(AcidAmount::Mass(mass)), AcidAmount::Mass(_)) => at_hand(name, Some(mass))?,
            (Some(AcidAmount::Volume(volume)), AcidAmount::Volume(_)) => {
                at_hand(name, Some(volume))?;
            }
            (Some(_), _) => {
                return Err(DesignError::MixedUnits { what: name.clone() });
            }
        }
        money(
            &format!("price of {name}"),
            given.price_per_litre_or_kg,
            0.0,
        )?;
    }
    Ok(())
}

fn at_hand<Q: Quantity>(name: &str, amount: Option<Q>) -> Result<(), DesignError> {
    if let Some(amount) = amount {
        check::within(format_args!("{name} at hand"), amount)?;
    }
    Ok(())
}

fn money(what: &str, price: Option<Money>, least: f64) -> Result<(), DesignError> {
    price.map_or(Ok(()), |price| {
        within(what, price.amount(), least, 1e9, "of your money")
    })
}
