//! How long an aim takes to be met, and whether a general solver comes nearer.
//!
//! `cargo bench -p gylewright-batch --bench matching`
//!
//! | workload | what it stands for |
//! |---|---|
//! | a hundred aims | figures that the stream gives for recipes put together at random; the goal is each in under 1 s |
//! | the whole page | every different answer to one of them, with its chance |
//! | against SLSQP | the same stream and the same sum, by scipy from the same start |
//!
//! The sum is what the search makes least: the squares of the distances from the middles, in
//! tolerances, and a thousandth of those from the recipe as it stands, in scales. The squares
//! alone would be less where much of the recipe is given up for little.
//!
//! The peer asks this program for the figures of its trial amounts, line by line, so that
//! both run the same stream; its time is told with that of the figures.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::print_stdout,
    reason = "a bench prints, and stops where it cannot go on"
)]

use std::io::{BufRead, BufReader, Write};
use std::process::{Command, Stdio};
use std::time::Instant;

use batch::edit::{set_value, written_values};
use batch::matching::{Matched, TypedMatch, matched};
use batch::{Document, Reckoning};
use quantity::{Mass, Measured};

const DEMOS: [&str; 2] = [
    include_str!("../../../examples/lantern-pale.toml"),
    include_str!("../../../examples/towpath-amber.toml"),
];
const AIMS: usize = 100;
/// What a change of the recipe weighs in the search for the nearest (`matching::answers`).
const CHANGE: f64 = 1e-3;

fn main() {
    let mut random = Random(0x9E37_79B9_7F4A_7C15);
    let aims: Vec<(String, Vec<(String, String)>)> = (0..AIMS)
        .map(|number| {
            let text = aimless(DEMOS[number % 2]);
            let aims = aims_of(&another(&text, &mut random));
            (text, aims)
        })
        .collect();
    hundred(&aims);
    whole(&aims[1]);
    against_peer();
}

fn hundred(aims: &[(String, Vec<(String, String)>)]) {
    let (mut times, mut met, mut reckoned) = (Vec::new(), 0, 0);
    for (text, aims) in aims {
        let start = Instant::now();
        let found = asked(text, aims, &[("draws", "0"), ("only_best", "yes")]);
        times.push(start.elapsed().as_secs_f64());
        met += usize::from(found.met());
        reckoned += found.reckoned;
    }
    times.sort_by(f64::total_cmp);
    println!(
        "{met} of {} aims met; median {:.0} ms, worst {:.0} ms, {} reckonings each",
        times.len(),
        1e3 * times[times.len() / 2],
        1e3 * times[times.len() - 1],
        reckoned / times.len()
    );
}

fn whole((text, aims): &(String, Vec<(String, String)>)) {
    let start = Instant::now();
    let found = asked(text, aims, &[]);
    println!(
        "every answer to one aim: {} answers with 128 draws each in {:.0} ms",
        found.answers.len(),
        1e3 * start.elapsed().as_secs_f64()
    );
}

fn asked(text: &str, aims: &[(String, String)], more: &[(&str, &str)]) -> Matched {
    let more = more.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned()));
    let typed: TypedMatch = aims.iter().cloned().chain(more).collect();
    matched(text, &typed, None, &|_, _| true).expect("an aim of the stream is answered")
}

/// Five amounts for five figures of an amber lager, which no amounts meet all at once:
/// the middles of the aims are in each other's way.
const PEER_AIMS: [(&str, &str); 5] = [
    ("original_gravity", "1.055 ± 0.004"),
    ("final_gravity", "1.0145 ± 0.004"),
    ("alcohol", "5.6 ± 0.6 %"),
    ("colour", "26 ± 6 EBC"),
    ("bitterness", "32 ± 6 IBU"),
];

fn against_peer() {
    let text = aimless(DEMOS[1]);
    let aims: Vec<(String, String)> = PEER_AIMS
        .iter()
        .map(|(k, v)| ((*k).to_owned(), (*v).to_owned()))
        .collect();
    // A scale that hardly rounds: the peer rounds nothing.
    let fine = [
        ("move", "malts, hops"),
        ("malt_scale", "0.01 g"),
        ("hop_scale", "0.001 g"),
        ("draws", "0"),
        ("only_best", "yes"),
    ];
    let start = Instant::now();
    let found = asked(&text, &aims, &fine);
    let ours_s = start.elapsed().as_secs_f64();
    let amounts: Vec<f64> = found.best().amounts.iter().map(|a| a.value).collect();
    let stream = Stream::of(&text, &found);
    let (ours, squares) = (stream.sum(&amounts), stream.squares(&amounts));
    println!(
        "five amounts for five figures: sum {ours:.6}, squares {squares:.6} of it, {:.0} ms, {} reckonings",
        1e3 * ours_s,
        found.reckoned
    );
    match stream.peer() {
        Ok((amounts, seconds, asked)) => println!(
            "scipy SLSQP: sum {:.6}, squares {:.6} of it ({}), {:.0} ms, {asked} reckonings: {:.1} times our time",
            stream.sum(&amounts),
            stream.squares(&amounts),
            if ours <= stream.sum(&amounts) + 1e-4 {
                "ours are no worse"
            } else {
                "OURS ARE WORSE"
            },
            1e3 * seconds,
            seconds / ours_s
        ),
        Err(reason) => println!("scipy was not run: {reason}"),
    }
}

/// The stream as a function of amounts \[kg\], and the aims' squares.
struct Stream<'f> {
    document: Document,
    found: &'f Matched,
}

impl<'f> Stream<'f> {
    fn of(text: &str, found: &'f Matched) -> Self {
        let document = Document::read(text).unwrap().0;
        Self { document, found }
    }

    fn figures(&self, amounts: &[f64]) -> Option<Vec<f64>> {
        let mut document = self.document.clone();
        let malts = document.grist.len();
        let exact = |kg: &f64| Measured::exactly(Mass::from_kg(kg.max(1e-9)));
        for (entry, kg) in document.grist.iter_mut().zip(amounts) {
            entry.amount = exact(kg);
        }
        for (entry, kg) in document.hops.iter_mut().zip(&amounts[malts..]) {
            entry.amount = exact(kg);
        }
        let r = Reckoning::of(document, vec![]).ok()?;
        Some(vec![
            r.boil.wort.gravity.plato(),
            r.fermentation.final_gravity.value.plato(),
            r.glass.alcohol.ratio(),
            r.glass.colour.ebc(),
            r.glass.bitterness.ibu(),
        ])
    }

    /// Σ ((figure − middle) / tolerance)².
    fn squares(&self, amounts: &[f64]) -> f64 {
        let figures = self.figures(amounts).expect("an answer is reckoned");
        let each = self.found.goals.iter().zip(figures);
        each.map(|(g, f)| ((f - g.centre().unwrap()) / g.tolerance).powi(2))
            .sum()
    }

    /// What is made least.
    fn sum(&self, amounts: &[f64]) -> f64 {
        let each = self.found.levers.iter().zip(amounts);
        let off = each.map(|(l, x)| ((x - l.now) / l.scale).powi(2));
        self.squares(amounts) + CHANGE * off.sum::<f64>()
    }

    /// What scipy finds: amounts, seconds, reckonings.
    fn peer(&self) -> Result<(Vec<f64>, f64, usize), String> {
        let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
        let setup = Command::new(format!("{root}/tests/reference/setup"))
            .output()
            .map_err(|e| e.to_string())?;
        let python = String::from_utf8_lossy(&setup.stdout).trim().to_owned();
        let script = concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/tests/reference/match_scipy.py"
        );
        let mut child = Command::new(python)
            .arg(script)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|e| e.to_string())?;
        let mut into = child.stdin.take().ok_or("no way in")?;
        let mut out = BufReader::new(child.stdout.take().ok_or("no way out")?);
        let line = |numbers: &[f64]| {
            let words: Vec<String> = numbers.iter().map(f64::to_string).collect();
            words.join(" ")
        };
        let (goals, levers) = (&self.found.goals, &self.found.levers);
        let centres: Vec<f64> = goals
            .iter()
            .filter_map(batch::matching::Goal::centre)
            .collect();
        let tolerances: Vec<f64> = goals.iter().map(|g| g.tolerance).collect();
        let now: Vec<f64> = levers.iter().map(|l| l.now).collect();
        let most: Vec<f64> = levers.iter().map(|l| l.most).collect();
        let scales: Vec<f64> = levers.iter().map(|l| l.scale).collect();
        let change = vec![CHANGE];
        for numbers in [&centres, &tolerances, &now, &most, &scales, &change] {
            writeln!(into, "{}", line(numbers)).map_err(|e| e.to_string())?;
        }
        let (start, mut asked) = (Instant::now(), 0);
        loop {
            let mut told = String::new();
            out.read_line(&mut told).map_err(|e| e.to_string())?;
            let (word, numbers) = told.trim().split_once(' ').ok_or("it broke off")?;
            let numbers: Result<Vec<f64>, _> = numbers.split(' ').map(str::parse).collect();
            let numbers = numbers.map_err(|e| e.to_string())?;
            if word == "found" {
                let _ = child.wait();
                return Ok((numbers, start.elapsed().as_secs_f64(), asked));
            }
            asked += 1;
            let figures = self.figures(&numbers).ok_or("it cannot be brewed")?;
            writeln!(into, "{}", line(&figures)).map_err(|e| e.to_string())?;
        }
    }
}

fn aimless(text: &str) -> String {
    text[..text.find("[aim]").unwrap()].to_owned()
}

/// Numbers between 0 and 1 that are the same on every machine (xorshift, Marsaglia 2003).
struct Random(u64);

impl Random {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        low + (high - low) * (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// The recipes of the test of a hundred aims (`tests/matching.rs`).
fn another(text: &str, random: &mut Random) -> String {
    let mut made = text.to_owned();
    for (path, value) in written_values(text).unwrap() {
        let kg = |factor: f64| {
            let mass: Mass = value.parse().unwrap();
            format!("{:.4} kg", mass.kg() * factor)
        };
        let p = path.as_str();
        let written = if p.starts_with("grist[") && p.ends_with(".amount") {
            kg(random.between(0.6, 1.4))
        } else if p.starts_with("hop[") && p.ends_with(".amount") {
            kg(random.between(0.3, 2.0))
        } else if p.starts_with("water.salt[") && p.ends_with(".amount") {
            kg(random.between(0.5, 1.8))
        } else if p == "mash.rest[1].temperature" {
            format!("{:.1} °C", random.between(62.5, 66.0))
        } else if p == "package.carbon_dioxide" {
            format!("{:.2} g/L", random.between(4.2, 5.8))
        } else {
            continue;
        };
        made = set_value(&made, p, &written).unwrap();
    }
    made
}

fn aims_of(text: &str) -> Vec<(String, String)> {
    let (document, assumptions) = Document::read(text).unwrap();
    let r = Reckoning::of(document, assumptions).unwrap();
    let (beer, water) = (&r.glass, &r.water.mash.ions);
    let aims = [
        ("original_gravity", r.boil.wort.gravity.plato(), "°P"),
        (
            "final_gravity",
            r.fermentation.final_gravity.value.plato(),
            "°P",
        ),
        ("alcohol", 100.0 * beer.alcohol.ratio(), "% vol"),
        ("colour", beer.colour.ebc(), "EBC"),
        ("bitterness", beer.bitterness.ibu(), "IBU"),
        ("carbon_dioxide", beer.carbon_dioxide.g_per_l(), "g/L"),
        ("mash_ph", r.mash.wort.ph.ph(), ""),
        ("calcium", water.calcium.mg_per_l(), "mg/L"),
        ("sulfate", water.sulfate.mg_per_l(), "mg/L"),
    ];
    aims.map(|(key, value, unit)| (key.to_owned(), format!("{value:.4} {unit}")))
        .to_vec()
}
