//! Plans and waters that the tests share.

use quantity::{
    Alkalinity, Calcium, Chlorine, Duration, SulfurDioxide, Temperature, Volume, VolumePerMass,
};
use water::{BrewingWater, Ions, ResidualChlorine};
use wort::{BoilPlan, GristItem, Kit, MashPlan, Sparge, WortPlan};

/// An ordinary plan: 66 °C for an hour, an hour's boil.
pub(crate) fn plan(sparge: Sparge, litres: f64, grist: Vec<GristItem>) -> WortPlan {
    WortPlan {
        kit: Kit::common_practice(),
        into_fermenter: Volume::from_l(litres),
        grist,
        mash: MashPlan::single(
            VolumePerMass::from_l_per_kg(3.0),
            Temperature::from_c(66.0),
            Duration::from_min(60.0),
        ),
        sparge,
        boil: BoilPlan {
            duration: Duration::from_min(60.0),
            whirlpool: Duration::from_min(0.0),
            chill_to: Temperature::from_c(20.0),
            top_up: None,
        },
        hops: Vec::new(),
    }
}

/// Water with so much calcium and combined chlorine [mg/L].
pub(crate) fn water(litres: f64, calcium: f64, chlorine: f64) -> BrewingWater {
    BrewingWater {
        volume: Volume::from_l(litres),
        ions: Ions {
            calcium: Calcium::from_mg_per_l(calcium),
            ..Ions::default()
        },
        alkalinity: Alkalinity::from_meq_per_l(1.0),
        chlorine: ResidualChlorine {
            free: Chlorine::from_mg_per_l(0.0),
            combined: Chlorine::from_mg_per_l(chlorine),
            at_most: Chlorine::from_mg_per_l(chlorine),
        },
        sulfur_dioxide_at_most: SulfurDioxide::from_mg_per_l(0.0),
    }
}

/// Water with nothing in it.
pub(crate) fn pure() -> BrewingWater {
    water(0.0, 0.0, 0.0)
}
