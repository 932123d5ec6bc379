//! Houses whose kits are known, brewed and read.

use batch::Reckoning;
use batch::learning::{Constant, Evidence, Forget, Taught, house};
use quantity::{Gravity, Measured, Temperature, Volume};
use wort::correct::{Day, Point, Reading, Strays, as_strayed, stands};

/// Numbers by the chance of a seed (splitmix64; G. L. Steele et al. 2014).
pub struct Rng(u64);

impl Rng {
    pub fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        let (a, b) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

/// The constants that a brew day tells directly.
const TOLD: [Constant; 4] = [
    Constant::Conversion,
    Constant::Absorption,
    Constant::Evaporation,
    Constant::Losses,
];

/// How often the interval of nine in ten held the mean of a house.
pub fn simulated(plan: &Reckoning, houses: usize, batches: usize) -> Vec<(Constant, usize)> {
    let mut held: Vec<(Constant, usize)> = TOLD.map(|c| (c, 0)).to_vec();
    let priors: Vec<_> = priors(plan);
    for n in 0..houses {
        let mut rng = Rng::seeded(5000 + n as u64);
        let of_house: Vec<(f64, f64)> = priors
            .iter()
            .map(|p| {
                let apart = p.apart * (p.apart_ln_sd * rng.normal()).exp();
                (p.mean + p.sd * rng.normal(), apart)
            })
            .collect();
        let all: Vec<Taught> = (0..batches)
            .map(|_| {
                let on: Vec<f64> = of_house.iter().map(|(m, a)| m + a * rng.normal()).collect();
                brewed(plan, &on, &mut rng)
            })
            .collect();
        let known = house(&plan.document, &all, Forget::Never);
        for ((constant, held), (mean, _)) in held.iter_mut().zip(&of_house) {
            let truth = constant.scale().back(*mean);
            let found = known.iter().find(|k| k.constant == *constant);
            let (low, high) = found.map_or((f64::NAN, f64::NAN), |k| k.likely);
            *held += usize::from((low..=high).contains(&truth));
        }
    }
    held
}

/// What the document says of its kit before any batch, as learning takes it.
fn priors(plan: &Reckoning) -> Vec<batch::learning::Prior> {
    let kit = &plan.document.kit;
    let pair = |x: f64, sd: f64| Some((x, sd));
    let said = [
        pair(kit.conversion.value.ratio(), kit.conversion.sd()),
        pair(kit.absorption.value.l_per_kg(), kit.absorption.sd()),
        pair(kit.evaporation.value.kg_per_h(), kit.evaporation.sd()),
        None,
    ];
    let each = TOLD.iter().zip(said);
    each.map(|(constant, said)| constant.prior(said)).collect()
}

/// A batch whose kit is as said, by its readings.
fn brewed(plan: &Reckoning, on: &[f64], rng: &mut Rng) -> Taught {
    let at: Vec<f64> = TOLD
        .iter()
        .zip(on)
        .map(|(c, x)| c.scale().back(*x))
        .collect();
    let kit = &plan.document.kit;
    let day = Day {
        plan: &plan.wort_plan,
        volumes: &plan.volumes,
        sweet: &plan.mash.wort,
        liquor: &plan.water.mash,
        evaporation_sd: Some(kit.evaporation.sd() / kit.evaporation.value.kg_per_h())
            .filter(|sd| *sd > 0.0),
    };
    let grist = plan.wort_plan.grist.iter();
    let mashed = grist.filter(|g| g.fermentable.kind.is_mashed());
    let grain_kg: f64 = mashed.map(|g| g.mass.kg()).sum();
    let water_l = plan.volumes.pre_boil.water.kg() / 0.998_2;
    let strays = Strays {
        conversion: at[0] / kit.conversion.value.ratio(),
        left_in_tun: (1.0 + 0.5 * rng.normal()).max(0.05),
        water: 1.0 - (at[1] - kit.absorption.value.l_per_kg()) * grain_kg / water_l,
        evaporation: at[2] / kit.evaporation.value.kg_per_h(),
        losses: at[3],
    };
    let mut readings = Vec::new();
    for place in [
        Point::FirstWort,
        Point::LastRunnings,
        Point::KettleFull,
        Point::EndOfBoil,
        Point::Fermenter,
    ] {
        let (volume, gravity) = as_strayed(&day, &strays, place);
        let model_sd = match place {
            Point::LastRunnings => 0.15 * gravity.plato(),
            _ => 0.0,
        };
        let read_l =
            volume.map(|v| Measured::with_sd(Volume::from_l(v.l() + 0.2 * rng.normal()), 0.2));
        let plato = gravity.plato() + 0.12 * rng.normal() + model_sd * rng.normal();
        readings.push(Reading {
            at: place,
            volume: read_l,
            volume_at: Temperature::from_c(20.0),
            gravity: Some(Measured::with_sd(Gravity::from_plato(plato.max(0.3)), 0.12)),
            gravity_at: Measured::exactly(Temperature::from_c(20.0)),
        });
    }
    let told = stands(&day, &readings, &[]).unwrap().told.unwrap();
    Taught {
        id: String::new(),
        name: String::new(),
        document: Box::new(plan.document.clone()),
        evidence: Evidence::of_day(&told),
        came: Vec::new(),
        unread: None,
    }
}
