//! The plan of the package stage.

use package::{Carbonation, Container, Fill, PackageError, PackagePlan, Proof, Sugar, Vessel};

use quantity::Mass;

use crate::document::{self, Document, Gas};

/// The keg that small breweries have.
const KEG: &str = "keg";

/// How the beer is packaged; with sugar that was weighed before, so much of it.
pub(crate) fn package_plan(
    document: &Document,
    weighed: Option<Mass>,
) -> Result<PackagePlan, PackageError> {
    let section = &document.package;
    let (forced, forced_time) = document.forced();
    let vessel = match section.vessel {
        document::Vessel::Bottles => Vessel::Bottles {
            class: Container::find(&section.bottle)?,
            fill: Fill::with_air(section.bottle_volume.value, section.head_space.value),
        },
        document::Vessel::Keg => Vessel::Keg {
            class: Container::find(KEG)?,
            stamped: section.stamped.map(|p| p.value),
            serving: section.serving_temperature.value,
        },
    };
    Ok(PackagePlan {
        vessel,
        target: section.carbon_dioxide.value,
        carbonation: match section.gas {
            Gas::Priming => {
                let sugar = Sugar::find(&section.sugar)?;
                weighed.map_or(Carbonation::Priming(sugar), |mass| {
                    Carbonation::Weighed(sugar, mass)
                })
            }
            Gas::Cylinder => Carbonation::Gas,
        },
        loss: section.loss.value,
        conditioning: section.conditioning.value,
        // As warm as it may be, not as is likely.
        warmest_storage: section.warmest_storage.upper(),
        altitude: document.kit.altitude.value,
        proof: Proof {
            gravity: section.gravity,
            forced,
            forced_for: forced_time.map(|t| t.value),
        },
    })
}
