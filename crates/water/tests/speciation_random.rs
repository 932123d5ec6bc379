//! Waters drawn at random against PHREEQC 3.7.3-15968, phreeqc.dat as shipped in
//! phreeqpython 1.6.2. `tests/reference/phreeqc_waters.py --seed 1` made the stored
//! file; `GYLEWRIGHT_PHREEQC_CSV` may name another one that it made.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use std::collections::BTreeMap;
use std::fmt::Write as _;

use quantity::{
    Alkalinity, Ammonium, Calcium, Chloride, Magnesium, MassConcentration, Molality, Nitrate,
    PartialPressure, Ph, Potassium, Sodium, Sulfate, Temperature,
};
use water::Ions;
use water::acids::{Acid, acids};
use water::speciation::{Air, Anchor, Available, Mineral, Solid, Solution, WATER_KG_PER_L, lime};

const STORED: &str = include_str!("reference/phreeqc_waters.csv");

type Row = BTreeMap<String, String>;

/// The stored waters, and those of another seed where they are given, so that
/// nothing can be fitted to the stored ones.
#[test]
fn waters_drawn_at_random_come_out_as_in_phreeqc() {
    hold(STORED, 500);
    if let Ok(path) = std::env::var("GYLEWRIGHT_PHREEQC_CSV") {
        hold(&std::fs::read_to_string(path).unwrap(), 50);
    }
}

fn hold(csv: &str, at_least: usize) {
    let mut worst = Worst::default();
    let rows: Vec<Row> = csv::Reader::from_reader(csv.as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .unwrap();
    assert!(rows.len() >= at_least, "only {} waters", rows.len());
    for (n, row) in rows.iter().enumerate() {
        worst.compare(n, row);
    }
    println!("{} waters\n{}", rows.len(), worst.table());
    let beyond = worst.beyond();
    assert!(beyond.is_empty(), "{beyond}");
}

fn number(row: &Row, key: &str) -> f64 {
    row[key].parse().unwrap()
}

fn ions(row: &Row) -> Ions {
    macro_rules! ions {
        ($($field:ident: $kind:ident of $key:literal),+) => {
            Ions { $($field: $kind::from_mg_per_l(
                number(row, $key) * WATER_KG_PER_L * $kind::MOLAR_MASS,
            )),+ }
        };
    }
    ions! {
        calcium: Calcium of "ca", magnesium: Magnesium of "mg", sodium: Sodium of "na",
        potassium: Potassium of "k", ammonium: Ammonium of "nh4", chloride: Chloride of "cl",
        sulfate: Sulfate of "so4", nitrate: Nitrate of "no3"
    }
}

fn acid(row: &Row) -> &'static Acid {
    let key = match row["acid"].as_str() {
        "HCl" => "hydrochloric",
        "H2SO4" => "sulfuric",
        "H3PO4" => "phosphoric",
        "HLac" => "lactic",
        other => panic!("no such acid: {other}"),
    };
    acids().iter().find(|acid| acid.key == key).unwrap()
}

/// PHREEQC's saturation index of a mineral whose ions are not there.
const ABSENT: f64 = -99.0;

/// How a figure is compared, and how far it may be off.
#[derive(Clone, Copy)]
enum Scale {
    /// A pH, a saturation index, the logarithm of a pressure.
    Absolute(f64),
    /// An amount: this part of it, and so many mmol that do not count.
    Relative(f64, f64),
}

const PH: Scale = Scale::Absolute(5e-4);
const INDEX: Scale = Scale::Absolute(5e-4);
const ALKALINITY: Scale = Scale::Relative(2e-4, 2e-5);
const SOLID: Scale = Scale::Relative(5e-4, 5e-5);
const AMOUNT: Scale = Scale::Relative(2e-4, 1e-7);

/// The worst of each figure: ours, theirs, which water, how much of what is allowed.
#[derive(Default)]
struct Worst(BTreeMap<String, (f64, f64, usize, f64, usize)>);

impl Worst {
    fn note(&mut self, n: usize, row: &Row, key: &str, ours: f64, scale: Scale) {
        let theirs = number(row, key);
        let off = (ours - theirs).abs();
        let used = match scale {
            Scale::Absolute(most) => off / most,
            Scale::Relative(part, floor) => off / (part * theirs.abs() + floor),
        };
        assert!(ours.is_finite(), "water {n}: {key} is {ours}");
        let entry = self
            .0
            .entry(key.to_owned())
            .or_insert((ours, theirs, n, -1.0, 0));
        entry.4 += 1;
        if used > entry.3 {
            *entry = (ours, theirs, n, used, entry.4);
        }
    }

    fn table(&self) -> String {
        let mut text = String::new();
        for (key, (ours, theirs, n, used, count)) in &self.0 {
            let off = ours - theirs;
            let _ = writeln!(
                text,
                "{key:22} worst of {count}: {ours:.6} against {theirs:.6}, {off:+.2e}, \
                 {:.2} % of what is allowed (water {n})",
                100.0 * used
            );
        }
        text
    }

    fn beyond(&self) -> String {
        let rows = self.0.iter().filter(|(_, worst)| worst.3 > 1.0);
        rows.map(|(key, worst)| format!("{key}: {worst:?}\n"))
            .collect()
    }

    fn compare(&mut self, n: usize, row: &Row) {
        let get = |key: &str| number(row, key);
        let celsius = |key: &str| Temperature::from_c(get(key));
        let tap = Solution::new(
            &ions(row),
            Alkalinity::from_meq_per_l(get("alkalinity") * WATER_KG_PER_L),
            Anchor::Ph(Ph::from_ph(get("ph"))),
            celsius("t0"),
        )
        .unwrap_or_else(|error| panic!("water {n}: {error}"));
        let warm = celsius("t1");
        let open = Air::Open(PartialPressure::from_atm(10f64.powf(get("log_p"))));
        let forming = [Mineral::Calcite, Mineral::Gypsum, Mineral::Brucite].map(Mineral::forming);
        let lime_mg_per_l = get("lime_mmol") * 74.092 * WATER_KG_PER_L;
        let acid_dose = Molality::from_mmol_per_kg(get("acid_mmol"));

        self.at_ph(n, row, &tap);
        self.task(n, row, "heated", &tap.heated(warm).unwrap());
        self.task(n, row, "open", &tap.equilibrated(warm, open, &[]).unwrap());
        let formed = tap.equilibrated(warm, Air::Closed, &forming[..1]).unwrap();
        self.task(n, row, "forming", &formed);
        self.task(
            n,
            row,
            "settled",
            &tap.equilibrated(warm, open, &forming).unwrap(),
        );
        self.task(
            n,
            row,
            "acid",
            &tap.with_acid(acid(row), acid_dose).unwrap(),
        );
        let limed = lime(&tap, MassConcentration::from_mg_per_l(lime_mg_per_l)).unwrap();
        self.task(n, row, "lime", &limed);
        let chalk = Solid {
            mineral: Mineral::Calcite,
            available: Available::Amount(Molality::from_mmol_per_kg(get("chalk_mmol"))),
        };
        self.task(
            n,
            row,
            "chalk",
            &tap.equilibrated(warm, open, &[chalk]).unwrap(),
        );
        let phosphoric = acids()
            .iter()
            .find(|acid| acid.key == "phosphoric")
            .unwrap();
        let phosphate = tap.with_acid(phosphoric, acid_dose).unwrap();
        let forming = [Mineral::Calcite, Mineral::Hydroxyapatite].map(Mineral::forming);
        let settled = phosphate.equilibrated(warm, Air::Closed, &forming).unwrap();
        self.task(n, row, "phosphate", &settled);
    }

    fn at_ph(&mut self, n: usize, row: &Row, tap: &Solution) {
        self.task(n, row, "at_ph", tap);
        let found = tap.speciated();
        for (key, species) in [
            ("co2", "CO2"),
            ("hco3", "HCO3-"),
            ("co3", "CO3-2"),
            ("caso4", "CaSO4"),
        ] {
            let ours = found.molality_of(species).mmol_per_kg();
            self.note(n, row, &format!("at_ph_{key}"), ours, AMOUNT);
        }
        let strength = found.ionic_strength.mmol_per_kg() / 1000.0;
        self.note(n, row, "at_ph_strength", strength, AMOUNT);
    }

    /// Every figure of a task that the file has a column for.
    fn task(&mut self, n: usize, row: &Row, task: &str, found: &Solution) {
        let index = |mineral| found.saturation(mineral).unwrap_or(f64::NEG_INFINITY);
        // PHREEQC tells what lies there in the end.
        let lying = if task == "chalk" {
            number(row, "chalk_mmol")
        } else {
            0.0
        };
        let dic = || found.speciated().inorganic_carbon.mmol_per_kg();
        let figures: [(&str, Scale, &dyn Fn() -> f64); 11] = [
            ("ph", PH, &|| found.ph().ph()),
            ("alkalinity", ALKALINITY, &|| {
                found.alkalinity().meq_per_l() / WATER_KG_PER_L
            }),
            ("dic", AMOUNT, &dic),
            ("si_calcite", INDEX, &|| index(Mineral::Calcite)),
            ("si_gypsum", INDEX, &|| index(Mineral::Gypsum)),
            ("si_apatite", INDEX, &|| index(Mineral::Hydroxyapatite)),
            ("log_p", INDEX, &|| found.log_carbon_dioxide_pressure()),
            ("calcite", SOLID, &|| {
                lying + found.formed_mmol_per_kg(Mineral::Calcite)
            }),
            ("gypsum", SOLID, &|| {
                found.formed_mmol_per_kg(Mineral::Gypsum)
            }),
            ("brucite", SOLID, &|| {
                found.formed_mmol_per_kg(Mineral::Brucite)
            }),
            ("apatite", SOLID, &|| {
                found.formed_mmol_per_kg(Mineral::Hydroxyapatite)
            }),
        ];
        for (figure, scale, ours) in figures {
            let key = format!("{task}_{figure}");
            if row.contains_key(&key) && number(row, &key) > ABSENT {
                self.note(n, row, &key, ours(), scale);
            }
        }
    }
}
