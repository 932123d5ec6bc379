//! The files that a chart is saved as, read back.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail")]

use chart::{
    Axis, BalanceChart, Band, BandPoint, Cell, Chart, CourseChart, FlowChart, Glass, Heading,
    Interval, Ion, Level, Line, Panel, RangeChart, Reading, Readings, Shape, Station, Stroke, Tone,
    Water,
};
use proptest::prelude::*;

/// Fields by record, as RFC 4180, section 2, defines them.
fn records(text: &str) -> Vec<Vec<String>> {
    let mut all = vec![vec![String::new()]];
    let mut quoted = false;
    let mut letters = text.chars().peekable();
    while let Some(c) = letters.next() {
        let record = all.last_mut().unwrap();
        let field = record.last_mut().unwrap();
        match c {
            '"' if quoted && letters.peek() == Some(&'"') => {
                letters.next();
                field.push('"');
            }
            '"' if quoted => quoted = false,
            '"' if field.is_empty() => quoted = true,
            ',' if !quoted => record.push(String::new()),
            '\r' if !quoted => {
                assert_eq!(letters.next(), Some('\n'), "a line ends in CR LF");
                all.push(vec![String::new()]);
            }
            '"' | '\n' if !quoted => panic!("{c:?} outside of quotes"),
            c => field.push(c),
        }
    }
    assert_eq!(
        all.pop(),
        Some(vec![String::new()]),
        "the last line ends too"
    );
    all
}

fn interval() -> impl Strategy<Value = Interval> {
    (any::<String>(), any::<f64>(), any::<f64>(), any::<f64>())
        .prop_map(|(label, low, value, high)| Interval::new(label, low, value, high))
}

/// The same number, bit for bit; nothing where there was none.
fn same(field: &str, value: f64) -> bool {
    match field.parse::<f64>() {
        Ok(read) => read.to_bits() == value.to_bits(),
        Err(_) => field.is_empty() && !value.is_finite(),
    }
}

/// A text without the apostrophe that keeps it from being reckoned as a formula: there only
/// before what begins like one and is no number.
fn as_given<'f>(given: &str, filed: &'f str) -> &'f str {
    let begins = ['=', '+', '-', '@', '\t', '\r', '\0', '＝', '＋', '－', '＠'];
    if given.starts_with(begins) && given.parse::<f64>().is_err() {
        filed
            .strip_prefix('\'')
            .unwrap_or("an apostrophe is missing")
    } else {
        filed
    }
}

proptest! {
    #[test]
    fn csv_reads_back(rows in prop::collection::vec(interval(), 0..20), unit in any::<String>()) {
        let chart = RangeChart {
            heading: Heading::new("r", "", ""),
            axis: Axis::new("value", unit).decimals(1),
            rows: rows.clone(),
            aim: None,
        };
        let read = records(&chart.csv());
        prop_assert_eq!(&read[0], &chart.grid().columns);
        prop_assert_eq!(read.len(), rows.len() + 1);
        for (row, fields) in rows.iter().zip(&read[1..]) {
            prop_assert_eq!(&row.label, as_given(&row.label, &fields[0]));
            for (value, field) in [row.value, row.low, row.high].into_iter().zip(&fields[1..]) {
                prop_assert!(same(field, value), "{} came back as {}", value, field);
            }
        }
    }
}

fn course() -> CourseChart {
    let gravity = Panel::new(Axis::new("gravity", "SG").decimals(3))
        .line(Line::new(
            "plan",
            vec![(0.0, 1.05), (2.0, 1.03)],
            Tone::Water,
            Stroke::Solid,
        ))
        .band(Band {
            label: "90 %".to_owned(),
            points: vec![
                BandPoint {
                    x: 0.0,
                    low: 1.04,
                    high: 1.06,
                },
                BandPoint {
                    x: 2.0,
                    low: 1.02,
                    high: 1.04,
                },
            ],
            tone: Tone::Water,
            level: Level::Outer,
        })
        .readings(Readings {
            label: "read".to_owned(),
            points: vec![
                Reading::new(1.0, 1.041, 0.001),
                Reading::bare(f64::NAN, 1.0),
            ],
            tone: Tone::Copper,
            shape: Shape::Circle,
        })
        .reference(1.01, "aim");
    let diacetyl = Panel::new(Axis::new("diacetyl", "mg/L").log()).line(Line::new(
        "reckoned",
        vec![(0.0, 0.01), (2.0, 1.0)],
        Tone::Plum,
        Stroke::Solid,
    ));
    CourseChart::new(
        Heading::new("c", "Course", "It falls."),
        Axis::new("time", "d"),
    )
    .panel(gravity)
    .panel(diacetyl)
    .marker(1.5, "rest")
}

#[test]
fn a_course_is_filed_as_given_and_read_in_between() {
    let expected = "time (d),\"gravity, read (SG)\",\"gravity, read low (SG)\",\"gravity, read high (SG)\",\
        \"gravity, plan (SG)\",\"gravity, 90 % low (SG)\",\"gravity, 90 % high (SG)\",\"diacetyl, reckoned (mg/L)\"\r\n\
        0,,,,1.05,1.04,1.06,0.01\r\n\
        1,1.041,1.04,1.0419999999999998,,,,\r\n\
        2,,,,1.03,1.02,1.04,1\r\n";
    assert_eq!(course().csv(), expected);

    // Halfway, a linear line is at the mean and a logarithmic one at the geometric mean.
    let tips = course().tips();
    let at_one = tips.iter().find(|t| t.head == "1 d").unwrap();
    let lines: Vec<(&str, &str)> = at_one
        .lines
        .iter()
        .map(|(n, v)| (n.as_str(), v.as_str()))
        .collect();
    assert_eq!(
        lines,
        [
            ("gravity, read", "1.041 (1.040–1.042) SG"),
            ("gravity, plan", "1.040 SG"),
            ("gravity, 90 %", "1.030–1.050 SG"),
            ("diacetyl, reckoned", "0.1 mg/L"),
        ]
    );
    assert_eq!(course().notes(), ["gravity, aim: 1.010 SG", "rest: 1.5 d"]);
}

#[test]
fn aims_and_markers_are_told_with_the_drawing() {
    let markup = course().markup().into_string();
    let page = roxmltree::Document::parse(&markup).unwrap();
    let desc = page.descendants().find(|n| n.has_tag_name("desc")).unwrap();
    assert_eq!(
        desc.text(),
        Some("It falls. gravity, aim: 1.010 SG. rest: 1.5 d")
    );
}

#[test]
fn a_line_ends_at_a_gap() {
    let points = vec![
        (0.0, 1.0),
        (1.0, 2.0),
        (2.0, f64::NAN),
        (3.0, 2.0),
        (4.0, 1.0),
    ];
    let panel =
        Panel::new(Axis::new("y", "")).line(Line::new("l", points, Tone::Ink, Stroke::Solid));
    let chart = CourseChart::new(Heading::new("gap", "", ""), Axis::new("x", "")).panel(panel);
    let svg = chart.standalone_svg();
    let page = roxmltree::Document::parse(&svg).unwrap();
    let drawn = |n: &roxmltree::Node| {
        n.attribute("class")
            .is_some_and(|c| c.contains("chart-solid"))
    };
    let d = page
        .descendants()
        .find(drawn)
        .and_then(|n| n.attribute("d"))
        .unwrap();
    assert_eq!(d.matches('M').count(), 2, "{d}");
    // Nothing is read inside of the gap.
    assert!(
        chart
            .tips()
            .iter()
            .filter(|t| t.head == "2")
            .all(|t| t.lines.is_empty())
    );
}

#[test]
fn long_tables_show_evenly_chosen_rows_and_say_so() {
    let points = (0..1000).map(|i| (f64::from(i), 1.0)).collect();
    let panel =
        Panel::new(Axis::new("y", "")).line(Line::new("l", points, Tone::Ink, Stroke::Solid));
    let chart =
        CourseChart::new(Heading::new("t", "", ""), Axis::new("x", "").decimals(0)).panel(panel);
    let table = chart.table().into_string();
    let page = roxmltree::Document::parse(&table).unwrap();
    let heads: Vec<&str> = page
        .descendants()
        .filter(|n| n.attribute("scope") == Some("row"))
        .filter_map(|n| n.text())
        .collect();
    assert_eq!((heads.len(), heads[0], heads[199]), (200, "0", "999"));
    assert!(table.contains("200 of 1000 rows"));
    assert_eq!(records(&chart.csv()).len(), 1001);
    assert!(chart.tips().len() <= 251);
}

#[test]
fn a_flow_balances() {
    let chart = FlowChart {
        heading: Heading::new("f", "Flow", ""),
        unit: "L".to_owned(),
        decimals: Some(1),
        start: 30.0,
        stations: vec![
            Station::new("drawn", Tone::Mist).losing("grain", 5.0),
            Station::new("kettle", Tone::Sand)
                .gaining("water", 2.0)
                .losing("steam", 4.0),
            Station::new("fermenter", Tone::Amber).losing("too much", 99.0),
            Station::new("bottles", Tone::Copper),
        ],
    };
    assert_eq!(chart.volumes(), [30.0, 25.0, 23.0, 0.0]);
    assert_eq!(
        chart.notes(),
        [
            "0.0 L of 32.0 L arrive",
            "The losses are larger than the volume"
        ]
    );
    let steam = chart
        .tips()
        .into_iter()
        .find(|t| t.head == "steam")
        .unwrap();
    assert_eq!(steam.lines[0], ("leaves".to_owned(), "4.0 L".to_owned()));
    assert_eq!(
        steam.lines[1],
        ("of all that came in".to_owned(), "12.5 %".to_owned())
    );
}

#[test]
fn widths_of_segments_are_in_proportion() {
    let ions = vec![
        Ion::new("Ca", 3.0, Tone::Water).aiming(2.0),
        Ion::new("Na", 1.0, Tone::Sand),
    ];
    let water = Water::new("tap", ions, Vec::new());
    let chart = BalanceChart {
        heading: Heading::new("b", "Charge", ""),
        waters: vec![water],
    };
    let svg = chart.standalone_svg();
    let page = roxmltree::Document::parse(&svg).unwrap();
    let widths: Vec<f64> = page
        .descendants()
        .filter(|n| {
            n.attribute("class")
                .is_some_and(|c| c.starts_with("chart-segment"))
        })
        .map(|n| n.attribute("width").unwrap().parse().unwrap())
        .collect();
    assert_eq!(widths.len(), 2);
    assert!((widths[0] / widths[1] - 3.0).abs() < 0.01, "{widths:?}");
    let aim = Cell::Number(2.0, Some(2));
    assert_eq!(chart.grid().rows[0][4], aim);
    assert_eq!(chart.notes().len(), 1);
}

#[test]
fn a_glass_is_filled_with_its_colour() {
    let glass = Glass::new("g", "amber & clear", (190, 98, 22));
    let svg = glass.standalone_svg();
    let page = roxmltree::Document::parse(&svg).unwrap();
    assert!(
        page.descendants()
            .any(|n| n.attribute("fill") == Some("#be6216"))
    );
    for foam in [f64::NAN, -1.0, 7.0] {
        let markup = Glass {
            foam,
            ..glass.clone()
        }
        .markup()
        .into_string();
        assert!(roxmltree::Document::parse(&markup).is_ok());
        assert!(!markup.contains("NaN"));
    }
}
