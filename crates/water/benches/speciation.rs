//! Speciation of waters here and by PHREEQC 3.7.3 through phreeqpython 1.6.2, in
//! one run: 500 waters drawn at random, each with alkalinity and pH given; asked
//! for pH, inorganic carbon, carbon dioxide pressure and saturation with calcite.
//!
//! PHREEQC gets all waters as one text, its database loaded once; one call a water is
//! timed too, and the faster of the two counts. The sides take turns, and ours goes
//! over the waters for as long as PHREEQC took, so that whatever else runs on the
//! machine slows both: each round gives a ratio of its own.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::hint::black_box;
use std::io::{BufRead as _, BufReader, Write as _};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use quantity::{
    Alkalinity, Ammonium, Calcium, Chloride, Magnesium, Nitrate, Ph, Potassium, Sodium, Sulfate,
    Temperature,
};
use water::Ions;
use water::speciation::{Anchor, Mineral, Solution, WATER_KG_PER_L};

/// Each side has so many turns, after one that does not count.
const ROUNDS: usize = 15;

struct Water {
    ions: Ions,
    alkalinity: Alkalinity,
    ph: Ph,
    temperature: Temperature,
}

/// Microseconds a water.
struct Round {
    together: f64,
    one_by_one: f64,
    ours: f64,
    heated: f64,
}

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let waters = read(&folder.join("phreeqc_waters.csv"));
    let Some(mut peer) = Peer::start(&folder) else {
        println!("no Python with phreeqpython: nothing is compared");
        std::process::exit(1);
    };
    let solved: Vec<Solution> = waters.iter().map(solve).collect();
    let mut rounds: Vec<Round> = (0..=ROUNDS)
        .map(|_| turn(&mut peer, &waters, &solved))
        .collect();
    rounds.remove(0);
    print_times(waters.len(), &rounds);
    print_differences(&solved, &peer.figures(waters.len()));
}

fn turn(peer: &mut Peer, waters: &[Water], solved: &[Solution]) -> Round {
    let count = waters.len() as f64;
    let together = peer.seconds("together");
    let one_by_one = peer.seconds("one_by_one");
    let as_long = Duration::from_secs_f64(together.min(one_by_one));
    Round {
        together: 1e6 * together / count,
        one_by_one: 1e6 * one_by_one / count,
        ours: mean_us(waters, as_long, |water| {
            let found = solve(water);
            black_box((
                found.ph(),
                found.inorganic_carbon(),
                found.log_carbon_dioxide_pressure(),
                found.saturation(Mineral::Calcite),
            ));
        }),
        heated: mean_us(solved, as_long, |water| {
            let _ = black_box(water.heated(Temperature::from_c(65.0)));
        }),
    }
}

/// Microseconds a water, over as many passes as fill a time.
fn mean_us<T>(waters: &[T], as_long: Duration, mut run: impl FnMut(&T)) -> f64 {
    let (mut count, start) = (0, Instant::now());
    while start.elapsed() < as_long {
        waters.iter().for_each(|water| run(black_box(water)));
        count += waters.len();
    }
    1e6 * start.elapsed().as_secs_f64() / count as f64
}

fn print_times(count: usize, rounds: &[Round]) {
    println!("{count} waters, microseconds a water, of {ROUNDS} rounds:    fastest   median");
    let line = |name: &str, of: fn(&Round) -> f64| {
        let values = sorted(rounds, of);
        println!("{name:44}{:10.3}{:10.3}", values[0], values[ROUNDS / 2]);
    };
    line("ours", |round| round.ours);
    line("ours, heated closed to 65 °C", |round| round.heated);
    line("PHREEQC, all in one text", |round| round.together);
    line("PHREEQC, one call a water", |round| round.one_by_one);
    let ratios = sorted(rounds, |r| r.together.min(r.one_by_one) / r.ours);
    println!(
        "ratio to the faster of the two: {:.1} in the middle round, {:.1} to {:.1} in all",
        ratios[ROUNDS / 2],
        ratios[0],
        ratios[ROUNDS - 1]
    );
}

fn sorted(rounds: &[Round], of: impl Fn(&Round) -> f64) -> Vec<f64> {
    let mut values: Vec<f64> = rounds.iter().map(of).collect();
    values.sort_by(f64::total_cmp);
    values
}

fn print_differences(solved: &[Solution], figures: &[[f64; 3]]) {
    assert_eq!(solved.len(), figures.len(), "a line of figures each water");
    let mut worst = [0.0_f64; 3];
    for (found, [dic, calcite, log_pressure]) in solved.iter().zip(figures) {
        let index = found.saturation(Mineral::Calcite).unwrap_or(f64::NAN);
        let off = [
            found.inorganic_carbon().mmol_per_kg() / dic - 1.0,
            index - calcite,
            found.log_carbon_dioxide_pressure() - log_pressure,
        ];
        for (worst, off) in worst.iter_mut().zip(off) {
            *worst = worst.max(off.abs());
        }
    }
    println!(
        "worst difference: inorganic carbon {:.1e} of it, SI calcite {:.1e}, log pCO2 {:.1e}",
        worst[0], worst[1], worst[2]
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

/// PHREEQC in a process of its own, which answers line by line.
struct Peer {
    child: Child,
    ask: ChildStdin,
    answers: BufReader<ChildStdout>,
}

impl Peer {
    fn start(folder: &Path) -> Option<Self> {
        let setup = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/reference/setup");
        let python = std::env::var("GYLEWRIGHT_PYTHON").ok().or_else(|| {
            let output = Command::new(setup).output().ok()?;
            Some(String::from_utf8(output.stdout).ok()?.trim().to_owned())
        })?;
        let mut child = Command::new(python)
            .arg(folder.join("phreeqc_speed.py"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .ok()?;
        let (ask, answers) = (child.stdin.take()?, BufReader::new(child.stdout.take()?));
        let mut peer = Self {
            child,
            ask,
            answers,
        };
        // Without the library it has ended by now.
        writeln!(peer.ask, "together").ok()?;
        (!peer.line().is_empty()).then_some(peer)
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        self.answers.read_line(&mut line).expect("a line");
        line.trim().to_owned()
    }

    fn seconds(&mut self, question: &str) -> f64 {
        writeln!(self.ask, "{question}").expect("the peer runs");
        self.line().parse().expect("seconds")
    }

    fn figures(&mut self, count: usize) -> Vec<[f64; 3]> {
        writeln!(self.ask, "figures").expect("the peer runs");
        let row = |line: String| {
            let mut numbers = line.split(' ').map(|n| n.parse().expect("a number"));
            [(); 3].map(|()| numbers.next().expect("three numbers"))
        };
        (0..count).map(|_| row(self.line())).collect()
    }
}

impl Drop for Peer {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
