//! A step mash and a boil of two hops with whirlpool and chiller, whole, against SciPy's
//! LSODA on the equations behind them: seconds of each and the ratio. The goal for ours
//! is 1 ms, for the ratio 100.

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use quantity::{Duration, Fraction, Mass, Ph, Temperature, Volume, VolumePerMass};
use water::{BrewingWater, Ions, ResidualChlorine};
use wort::{
    BoilPlan, GristItem, HopAddition, HopTime, Kit, MashPlan, Rest, Sparge, WortPlan, boil, malts,
    mash, volumes,
};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Outcome<()> {
    let plan = plan()?;
    let water = water();
    let amounts = volumes(&plan)?;
    let ph = Ph::from_ph(5.4);
    let mashed = mash(&plan, &amounts, &water, &water, ph)?;
    let of_mash = best(|| {
        black_box(mash(&plan, &amounts, &water, &water, ph)?);
        Ok(())
    })?;
    let of_boil = best(|| {
        black_box(boil(&plan, &mashed.wort)?);
        Ok(())
    })?;
    let peer = peer()?;
    for ((name, ours), peer) in ["mash", "boil"].iter().zip([of_mash, of_boil]).zip(&peer) {
        let ratio = peer / ours;
        println!(
            "{name} ours {:.3} ms, scipy LSODA {:.3} ms, ratio {ratio:.0}",
            1e3 * ours,
            1e3 * peer
        );
    }
    let (ours, theirs): (f64, f64) = (of_mash + of_boil, peer.iter().sum());
    println!("both ours {:.3} ms, ratio {:.0}", 1e3 * ours, theirs / ours);
    Ok(())
}

fn plan() -> Outcome<WortPlan> {
    let rest = |c, min| Rest {
        temperature: Temperature::from_c(c),
        duration: Duration::from_min(min),
    };
    let hop = |g, min| HopAddition {
        name: "hop".to_owned(),
        alpha: Fraction::from_ratio(0.05),
        mass: Mass::from_g(g),
        when: HopTime::Boil(Duration::from_min(min)),
    };
    Ok(WortPlan {
        kit: Kit::common_practice(),
        into_fermenter: Volume::from_l(20.0),
        grist: vec![GristItem {
            fermentable: malts::find("pilsner malt")?,
            mass: Mass::from_kg(4.5),
        }],
        mash: MashPlan {
            rests: vec![rest(52.0, 15.0), rest(63.0, 30.0), rest(72.0, 30.0)],
            ..MashPlan::single(
                VolumePerMass::from_l_per_kg(3.5),
                Temperature::from_c(63.0),
                Duration::from_min(30.0),
            )
        },
        sparge: Sparge::Batch { refills: 1 },
        boil: BoilPlan {
            duration: Duration::from_min(60.0),
            whirlpool: Duration::from_min(10.0),
            chill_to: Temperature::from_c(18.0),
            top_up: None,
        },
        hops: vec![hop(25.0, 60.0), hop(20.0, 10.0)],
    })
}

fn water() -> BrewingWater {
    BrewingWater {
        volume: Volume::from_l(40.0),
        ions: Ions::default(),
        alkalinity: quantity::Alkalinity::from_meq_per_l(0.5),
        chlorine: ResidualChlorine::default(),
        sulfur_dioxide_at_most: quantity::SulfurDioxide::default(),
    }
}

/// The shortest of some runs \[s\].
fn best(work: impl Fn() -> Outcome<()>) -> Outcome<f64> {
    let mut shortest = f64::INFINITY;
    for _ in 0..200 {
        let start = Instant::now();
        work()?;
        shortest = shortest.min(start.elapsed().as_secs_f64());
    }
    Ok(shortest)
}

/// Seconds of the peer, for mash and boil.
fn peer() -> Outcome<Vec<f64>> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let setup = Command::new(here.join("../../tests/reference/setup")).output()?;
    let python = String::from_utf8(setup.stdout)?.trim().to_owned();
    let out = Command::new(python)
        .arg(here.join("tests/reference/mash_boil_bench.py"))
        .output()?;
    let text = String::from_utf8(out.stdout)?;
    let seconds: Result<Vec<f64>, _> = text.split_whitespace().map(str::parse).collect();
    Ok(seconds?)
}
