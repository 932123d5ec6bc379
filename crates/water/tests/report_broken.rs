//! Broken reports: nothing panics, every place is valid, and no value is taken
//! that a person reading the same line would not take.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use proptest::prelude::*;
use water::report::{Line, Report, Take, closure, read, seasons};

/// Lines from which nobody could take a value.
const NOTHING_TO_TAKE: &[&str] = &[
    // No unit, or one that does not belong.
    "Calcium 96",
    "Calcium: 96",
    "Ca = 96",
    "Sodium 24 mg",
    "Sodium 24 L",
    "Sodium 24 mg/",
    "Sodium 24 /L",
    "Chloride 41 °dH",
    "Chloride 41 µS/cm",
    "Sulfate 68 NTU",
    "Nitrate 14 °C",
    "pH 7.5 mg/L",
    "pH 7.5 °dH",
    "Conductivity 600 mg/L",
    "Conductivity 600",
    "Turbidity 0.3",
    "Turbidity 0.3 mg/L",
    "Temperature 11",
    "Temperature 11 mg/L",
    "Temperature 11 mmol/L",
    "Total hardness 14",
    "Gesamthärte 14,5",
    "Free chlorine 0.4",
    "Free chlorine 0.4 mmol/L",
    "Free chlorine 0.4 °fH",
    "E. coli 0",
    "E. coli 0 mg/L",
    "Iron 0.1 furlongs",
    "Iron 0.1 %",
    "Alkalinity 120 °C",
    "Calcium 96 kg/L/h",
    // A basis that cannot be, or two.
    "Nitrate 5 mg/L as CaO",
    "Nitrate 5 mg/L as SO4",
    "Sulfate 5 mg/L as N",
    "Chloride 5 mg/L as Ca",
    "Alkalinity 120 mg/L as SO4",
    "Alkalinity 120 mg/L as Na",
    "Total hardness 120 mg/L as HCO3",
    "Free chlorine 1 mg/L as CaCO3",
    "Nitrate-N 5 mg/L as NO3",
    "Nitrate (as N) 5 mg/L NO3",
    "Alkalinity as CaCO3 120 mg/L as HCO3",
    // Numbers that are none, or two.
    "Calcium ninety mg/L",
    "Calcium -96 mg/L",
    "Calcium −96 mg/L",
    "Calcium 96 - mg/L 12",
    "Calcium 1e400 mg/L",
    "Calcium 1e30 mg/L",
    "Calcium NaN mg/L",
    "Calcium inf mg/L",
    "Calcium 999999999 mg/L",
    "Calcium 1.2.3 mg/L",
    "Calcium 1,2,3 mg/L",
    "Calcium 12,34.56,78 mg/L",
    "Calcium 1.23,456 mg/L",
    "Calcium 9 6 mg/L",
    "Calcium 96 12 mg/L",
    "Calcium 96 mg/L 12 mg/L",
    "Calcium 96 mg/L 12",
    "Calcium 96 42 11 mg/L",
    "Calcium 112-84 mg/L",
    "Calcium 84-112-140 mg/L",
    "Calcium > 96 mg/L",
    "Calcium max 112 mg/L",
    "Calcium min 84 mg/L",
    "Calcium 96 ± -4 mg/L",
    "Calcium mean 200 mg/L min 84 mg/L max 112 mg/L",
    "Calcium 96x mg/L",
    "Calcium x96 mg/L",
    "Calcium O.5 mg/L",
    "Calcium ٩٦ mg/L",
    "pH 75",
    "pH -3",
    "pH 7.5 8.1",
    "Temperature 9000 °C",
    "Gesamthärte 14,5 °dH (9,90 mmol/L)",
    "Calcium 96 mg/L (12 mmol/L)",
    // Limits and dates are no readings.
    "Calcium limit 200 mg/L",
    "Nitrat Grenzwert 50 mg/l",
    "Nitrates limite de qualité 50 mg/L",
    "Nitratos valor paramétrico 50 mg/L",
    "Nitraat norm 50 mg/l",
    "Nitrate MCL 10 mg/L",
    "Calcium 12.03.2027",
    "Calcium 2027-03-12 mg/L",
    "Calcium analysed 12 March 2027",
    "EU limit: nitrate 50 mg/L",
    "Iron 0.2 mg/L is the limit",
    "Lead 10 µg/L (limit)",
    "The limit for nitrate is 50 mg/L",
    "Nitrate must be below 50 mg/L",
    "Nitrat max. 50 mg/l",
    "max. 50 mg/L nitrate",
    // Words that change what is said.
    "Sum of nitrate and nitrite 3 mg/L",
    "Nitrate + nitrite as N 1.2 mg/L",
    "Chlorine dioxide 0.2 mg/L",
    "Sodium bicarbonate 120 mg/L",
    "Iron bacteria 3 /100 mL",
    "Removal of calcium 96 mg/L",
    "Calcium increased by 5 mg/L",
    "Calcium 96 mg/100 mL",
    "Sodium 24,5,6 mg/L",
    "Calcium deficiency 96 mg/L",
    "Calcium was not 96 mg/L",
    "Calcium hypochlorite 96 mg/L",
    "Sodium chloride 96 mg/L",
    "Calcium magnesium 96 mg/L",
    "Calcium or magnesium 96 mg/L",
    "Without sodium 96 mg/L",
    "Calcium 96 mg/L is wrong",
    "Calcium 96 mg/L in Cold Fell, 12 mg/L in Harrowmere",
    "Unobtainium 42 mg/L",
    "42 mg/L",
    "mg/L 42",
    // Not measured.
    "Calcium n/a",
    "Calcium not tested",
    "Calcium nicht bestimmt",
    "Calcium k.A. mg/L",
    "Calcium positive",
    "Calcium absent",
    "Calcium",
    "Calcium mg/L",
    // What is open is asked.
    "Alkalinity 120 mg/L",
    "Hardness 120 mg/L",
    "Hardness 12 °",
    "Hardness 12 grains/gallon",
    "Karbonathärte 2 mmol/l",
    "Chlorine 0.5 mg/L",
    "Ammonia 0.5 mg/L",
    "Sodium 1.200 mg/L",
    "Sodium 1,200 mg/L",
    // Text that is not what it shows.
    "Calcium \u{202e}69\u{202c} mg/L",
    "Calcium 9\u{200b}6 mg/L",
    "Calcium 9\u{2066}6 mg/L",
    "Calcium 9\u{0}6 mg/L",
    "Calcium \u{fffd}6 mg/L",
    "\u{7}Calcium 96 mg/L",
    "Cal\u{ad}cium 9\u{feff}6 mg/L",
    "\"Calcium\";\"96;mg/L",
];

/// Tables whose broken lines give nothing; the others do.
const BROKEN_TABLES: &[(&str, usize)] = &[
    (
        "Parameter;Unit;Result\nCalcium;mg/L;96;12\nSodium;mg/L;24",
        1,
    ),
    ("Parameter;Unit;Result\nCalcium;mg/L\nSodium;mg/L;24", 1),
    (
        "Parameter;Unit;Result\nCalcium;mg/L;ninety\nSodium;mg/L;24",
        1,
    ),
    (
        "Parameter;Unit;Result\nCalcium;parsecs;96\nSodium;mg/L;24",
        1,
    ),
    ("Parameter;Unit;Result\n;mg/L;96\nSodium;mg/L;24", 1),
    (
        "Parameter,Unit,Result\nCalcium,mg/L,9,6\nSodium,mg/L,24\nChloride,mg/L,41",
        2,
    ),
    ("Parameter;Unit;Limit\nCalcium;mg/L;200\nSodium;mg/L;200", 0),
    (
        "Parameter;Unit;Min;Max\nCalcium;mg/L;112;84\nSodium;mg/L;20;24",
        1,
    ),
    ("Parameter;Unit;Max\nCalcium;mg/L;112\nSodium;mg/L;24", 0),
    (
        "Date;Ca (mg/L);Mg (mg/L)\n2027-02-11;96\n2027-05-11;90;12",
        2,
    ),
    (
        "Date;Ca (mg/L);Mg (mg/L)\nyesterday;96;12\n2027-05-11;90;12",
        2,
    ),
    (
        "Date;Ca (mg/L);Mg (mg/L)\nlimit;200;50\n2027-05-11;90;12",
        2,
    ),
    ("Date;Ca;Mg\n2027-02-11;96;12", 0),
    (
        "Parameter Unit Min Mean Max Limit\nCalcium mg/L 84 96 112\nSodium mg/L 20 24 29 200",
        1,
    ),
    ("03/04/2027\nCalcium 96 mg/L", 1),
    ("Calcium 96 mg/L", 1),
];

fn readings(report: &Report) -> usize {
    report
        .lines
        .iter()
        .flat_map(|l| &l.takes)
        .filter(|t| matches!(t, Take::Reading(_)))
        .count()
}

/// True where the reader says that something is not understood, or asks, or
/// leaves it out with a reason.
fn says_so(line: &Line) -> bool {
    line.takes.iter().all(|t| match t {
        Take::NotUnderstood(t) => !t.reason.is_empty() && !t.would_work.is_empty(),
        Take::Asked(q) => q.choices.len() >= 2,
        Take::LeftOut(why) => !why.is_empty(),
        Take::Prose => true,
        _ => false,
    })
}

#[test]
fn no_value_is_taken_from_a_broken_line() {
    assert!(NOTHING_TO_TAKE.len() >= 100, "{}", NOTHING_TO_TAKE.len());
    let mut wrong = vec![];
    for text in NOTHING_TO_TAKE {
        let report = read(text);
        if readings(&report) != 0 || !says_so(&report.lines[0]) {
            wrong.push(format!("{text}: {:?}", report.lines[0].takes));
        }
        sound(text, &report);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn broken_lines_of_tables_do_not_spoil_the_others() {
    for (text, expected) in BROKEN_TABLES {
        let report = read(text);
        assert_eq!(readings(&report), *expected, "{text}: {:#?}", report.lines);
        sound(text, &report);
    }
}

#[test]
fn an_ambiguous_date_is_asked() {
    let report = read("Date: 03/04/2027\nCalcium 96 mg/L");
    assert_eq!(report.questions.len(), 1);
    assert_eq!(report.analyses[0].date, None);
    // Another date of the same report settles it.
    let report = read("Date: 03/04/2027\nCalcium 96 mg/L\nDate: 25/04/2027\nCalcium 90 mg/L");
    assert!(report.questions.is_empty());
    assert_eq!(report.analyses[0].date.unwrap().month, Some(4));
}

#[test]
fn a_megabyte_on_one_line_is_refused() {
    let long = format!("Calcium 96 mg/L{}\nSodium 24 mg/L", " x".repeat(500_000));
    let report = read(&long);
    assert!(matches!(
        report.lines[0].takes[..],
        [Take::NotUnderstood(_)]
    ));
    assert_eq!(readings(&report), 1);
    let digits = "9".repeat(1_000_000);
    assert_eq!(readings(&read(&format!("Calcium {digits} mg/L"))), 0);
}

/// Places lie in the text and between characters; figures are finite; what
/// follows from the report does not panic.
fn sound(text: &str, report: &Report) {
    let valid = |at: &std::ops::Range<usize>| text.get(at.clone()).is_some();
    let mut end = 0;
    for line in &report.lines {
        assert!(valid(&line.span) && line.span.start >= end);
        assert_eq!(line.text, text[line.span.clone()]);
        assert!(!line.takes.is_empty());
        end = line.span.end;
        for take in &line.takes {
            match take {
                Take::Reading(r) => {
                    assert!(valid(&r.at), "{r:?}");
                    assert!(
                        r.value.canonical().is_none_or(f64::is_finite) && r.value.sd().is_finite()
                    );
                    assert!(!r.sentence.is_empty());
                }
                Take::NotUnderstood(t) => {
                    assert!(valid(&t.at) && !t.would_work.is_empty(), "{t:?}");
                }
                _ => {}
            }
        }
    }
    for analysis in &report.analyses {
        let water = analysis.to_source_water(None);
        let closed = closure(&water);
        assert!(closed.difference.meq_per_l().is_finite() && closed.sd.meq_per_l().is_finite());
        assert!(!closed.sentence().contains("NaN"));
        for (key, text) in water.to_document_source() {
            assert!(
                !text.is_empty() && (key == "name" || !text.contains("NaN")),
                "{key}"
            );
        }
    }
    let _ = seasons(&report.analyses);
}

fn corpus() -> Vec<String> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reports");
    let mut names: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    names.sort();
    names
        .into_iter()
        .filter(|p| p.extension().is_some_and(|e| e != "toml"))
        .map(|p| std::fs::read_to_string(p).unwrap())
        .collect()
}

/// A small generator, so that a mutation is the same on every machine.
struct Seed(u64);

impl Seed {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % n.max(1)
    }
}

fn mutated(text: &str, seed: &mut Seed) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    let strange = [
        '\u{202e}', '\u{200b}', '\0', '\u{fffd}', ';', ',', '\t', '|', '"', '.', '-', '<', '±',
        '\r', '٣', '🜄', '(', ')', '9', '\u{301}',
    ];
    for _ in 0..=seed.below(6) {
        let at = seed.below(chars.len());
        match seed.below(5) {
            0 => chars.truncate(at),
            1 => chars.insert(at, strange[seed.below(strange.len())]),
            2 => {
                let to = (at + seed.below(30)).min(chars.len());
                chars.drain(at..to);
            }
            3 => {
                let from = seed.below(chars.len());
                let piece: Vec<char> = chars[from..(from + 20).min(chars.len())].to_vec();
                chars.splice(at..at, piece);
            }
            _ => {
                if let Some(c) = chars.get_mut(at) {
                    *c = strange[seed.below(strange.len())];
                }
            }
        }
        if chars.is_empty() {
            break;
        }
    }
    chars.into_iter().collect()
}

#[test]
fn mutated_reports_are_read_without_a_panic() {
    let corpus = corpus();
    let mut seed = Seed(20_270_312);
    for _ in 0..300 {
        let text = mutated(&corpus[seed.below(corpus.len())], &mut seed);
        sound(&text, &read(&text));
    }
}

/// Cutting the end off a line takes its unit first, so that no figure is left.
#[test]
fn a_line_that_is_cut_before_its_unit_gives_nothing() {
    for line in [
        "Calcium (Ca): 96.5 mg/L",
        "Total hardness 2.6 mmol/L",
        "Conductivity 612 µS/cm",
        "Alkalinity 230 mg/L as CaCO3",
    ] {
        for (end, _) in line.char_indices() {
            let report = read(&line[..end]);
            // "mg/L" without its basis is asked about; a cut basis is not known.
            assert_eq!(readings(&report), 0, "{}", &line[..end]);
        }
        assert_eq!(readings(&read(line)), 1);
    }
}

proptest! {
    #[test]
    fn any_text_is_read(text in "\\PC{0,200}") {
        sound(&text, &read(&text));
    }

    #[test]
    fn any_bytes_are_read(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        let text = String::from_utf8_lossy(&bytes).into_owned();
        sound(&text, &read(&text));
    }

    #[test]
    fn text_of_the_right_words_is_read(words in proptest::collection::vec(prop_oneof![
        "Calcium|Ca2\\+|Nitrat|TAC|Gesamthärte|pH|E. coli|KS4,3|hardness",
        "mg/L|°dH|mmol/l|as CaCO3|als N|µS/cm|°|%|/100 ml",
        "[0-9]{1,4}([.,][0-9]{1,3})?|<0,05|n\\.n\\.|1e-3|12-18|± 4",
        "Grenzwert|min|max|mean|Parameter|Unit|Date|;|\\||\t|\n|\"|,|  |\\(|\\)",
    ], 0..40)) {
        let text = words.join(" ");
        let report = read(&text);
        prop_assert_eq!(&report, &read(&text));
        sound(&text, &report);
    }
}
