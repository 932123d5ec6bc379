//! Speciation of waters here and by PHREEQC 3.7.3 through phreeqpython 1.6.2, in
//! one run: 500 waters drawn at random, each with alkalinity and pH given; asked
//! for pH, inorganic carbon, carbon dioxide pressure and saturation with calcite.
//!
//! PHREEQC gets all waters as one text, its database loaded once, which is the
//! fastest way found; one call a water is timed too.

use std::hint::black_box;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

use quantity::{
    Alkalinity, Ammonium, Calcium, Chloride, Magnesium, Nitrate, Ph, Potassium, Sodium, Sulfate,
    Temperature,
};
use water::Ions;
use water::speciation::{Anchor, Mineral, Solution, WATER_KG_PER_L};

/// Each side is run so many times, and the fastest counts.
const ROUNDS: usize = 9;

struct Water {
    ions: Ions,
    alkalinity: Alkalinity,
    ph: Ph,
    temperature: Temperature,
}

struct Peer {
    together_us: f64,
    one_by_one_us: f64,
    /// ln-free figures of each water: inorganic carbon \[mmol/kg\], SI of calcite.
    figures: Vec<[f64; 2]>,
}

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let waters = read(&folder.join("phreeqc_waters.csv"));
    let Some(peer) = peer(&folder) else {
        println!("no Python with phreeqpython: nothing is compared");
        std::process::exit(1);
    };
    let ours_us = ours(&waters);
    let at_ph: Vec<Solution> = waters.iter().map(solve).collect();
    let again_us = heated(&at_ph);
    println!(
        "{} waters, microseconds a water, fastest of {ROUNDS} rounds",
        waters.len()
    );
    println!("ours                             {ours_us:9.3}");
    println!("ours, heated closed to 65 °C     {again_us:9.3}");
    println!("PHREEQC, all in one text         {:9.3}", peer.together_us);
    println!(
        "PHREEQC, one call a water        {:9.3}",
        peer.one_by_one_us
    );
    println!(
        "ratio to the faster of the two   {:9.1}",
        peer.together_us.min(peer.one_by_one_us) / ours_us
    );
    let mut worst = [0.0_f64; 2];
    for (found, [dic, calcite]) in at_ph.iter().zip(&peer.figures) {
        let ours = found.speciated().inorganic_carbon.mmol_per_kg();
        worst[0] = worst[0].max((ours / dic - 1.0).abs());
        let index = found.saturation(Mineral::Calcite).unwrap_or(f64::NAN);
        worst[1] = worst[1].max((index - calcite).abs());
    }
    println!(
        "worst difference: inorganic carbon {:.1e} of it, SI calcite {:.1e}",
        worst[0], worst[1]
    );
}

fn solve(water: &Water) -> Solution {
    Solution::new(
        &water.ions,
        water.alkalinity,
        Anchor::Ph(water.ph),
        water.temperature,
    )
    .expect("every water of the file has an answer")
}

fn ours(waters: &[Water]) -> f64 {
    fastest(waters.len(), || {
        for water in waters {
            let found = solve(black_box(water));
            black_box((
                found.ph(),
                found.inorganic_carbon(),
                found.log_carbon_dioxide_pressure(),
                found.saturation(Mineral::Calcite),
            ));
        }
    })
}

fn heated(waters: &[Solution]) -> f64 {
    fastest(waters.len(), || {
        for water in waters {
            let _ = black_box(black_box(water).heated(Temperature::from_c(65.0)));
        }
    })
}

/// Microseconds for one of `count` in the fastest round.
fn fastest(count: usize, mut round: impl FnMut()) -> f64 {
    let times = (0..ROUNDS).map(|_| {
        let start = Instant::now();
        round();
        start.elapsed().as_secs_f64()
    });
    1e6 * times.fold(f64::INFINITY, f64::min) / count as f64
}

fn read(path: &Path) -> Vec<Water> {
    let mut reader = csv::Reader::from_path(path).expect("the stored waters");
    let header = reader.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let place = |name: &str| {
        header
            .iter()
            .position(|h| h == name)
            .expect("a known column")
    };
    let water = |row: &csv::StringRecord| {
        let get = |name: &str| -> f64 { row[place(name)].parse().expect("a number") };
        macro_rules! ions {
            ($($field:ident: $kind:ident of $key:literal),+) => {
                Ions { $($field: $kind::from_mg_per_l(
                    get($key) * WATER_KG_PER_L * $kind::MOLAR_MASS,
                )),+ }
            };
        }
        Water {
            ions: ions! {
                calcium: Calcium of "ca", magnesium: Magnesium of "mg", sodium: Sodium of "na",
                potassium: Potassium of "k", ammonium: Ammonium of "nh4",
                chloride: Chloride of "cl", sulfate: Sulfate of "so4", nitrate: Nitrate of "no3"
            },
            alkalinity: Alkalinity::from_meq_per_l(get("alkalinity") * WATER_KG_PER_L),
            ph: Ph::from_ph(get("ph")),
            temperature: Temperature::from_c(get("t0")),
        }
    };
    rows.iter().map(water).collect()
}

/// Runs PHREEQC: two times, then a line a water.
fn peer(folder: &Path) -> Option<Peer> {
    let setup = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/setup");
    let python = std::env::var("GYLEWRIGHT_PYTHON").ok().or_else(|| {
        let output = Command::new(setup).output().ok()?;
        Some(String::from_utf8(output.stdout).ok()?.trim().to_owned())
    })?;
    let output = Command::new(python)
        .arg(folder.join("phreeqc_speed.py"))
        .arg(ROUNDS.to_string())
        .output()
        .ok()?;
    let text = String::from_utf8(output.stdout).ok()?;
    let mut lines = text.lines();
    let mut time = || lines.next()?.parse().ok();
    let (together_us, one_by_one_us) = (time()?, time()?);
    let pair = |line: &str| {
        let (one, two) = line.split_once(' ')?;
        Some([one.parse().ok()?, two.parse().ok()?])
    };
    Some(Peer {
        together_us,
        one_by_one_us,
        figures: lines.filter_map(pair).collect(),
    })
}
