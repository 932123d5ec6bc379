//! Charts of water: what a reader must be able to see in them.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail")]

use chart::{
    Axis, BalanceChart, Cell, Chart, Decay, DecayWay, Heading, Ion, Left, Reading, SeasonPanel,
    Seasons, Shift, ShiftChart, Titration, TitrationCurve, Tone, Water,
};
use roxmltree::{Document, Node};

fn heading() -> Heading {
    Heading::new("h", "A title", "A message.")
}

fn with_class<'a>(page: &'a Document<'_>, class: &str) -> Vec<Node<'a, 'a>> {
    let has = |n: &Node<'_, '_>| {
        let classes = n.attribute("class").unwrap_or_default();
        classes.split_whitespace().any(|c| c == class)
    };
    page.descendants().filter(has).collect()
}

fn number(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

fn words(page: &Document<'_>) -> Vec<String> {
    page.descendants()
        .filter(|n| n.tag_name().name() == "text")
        .filter_map(|n| n.text().map(str::to_owned))
        .collect()
}

fn gap() -> BalanceChart {
    let cations = vec![
        Ion::new("Ca", 4.8, Tone::Water),
        Ion::new("Mg", 0.9, Tone::Mist),
    ];
    let anions = vec![
        Ion::new("HCO3", 4.7, Tone::Slate),
        Ion::missing("not named", 1.0),
    ];
    let water = Water::new("tap", cations, anions)
        .give_or_take(0.2, 0.3)
        .with_gap("1.0 mEq/L of anions missing");
    BalanceChart {
        heading: heading(),
        waters: vec![water],
    }
}

#[test]
fn what_is_missing_is_hatched_and_not_summed() {
    let chart = gap();
    let svg = chart.standalone_svg();
    let page = Document::parse(&svg).unwrap();
    assert_eq!(with_class(&page, "chart-hatch").len(), 1);
    let hollow = with_class(&page, "chart-hollow");
    let calcium = with_class(&page, "chart-segment");
    let ratio = number(&hollow[0], "width") / number(&calcium[0], "width");
    assert!((ratio - 1.0 / 4.8).abs() < 0.002, "{ratio}");
    assert!(words(&page).contains(&"4.70 ± 0.30".to_owned()));
    assert!(words(&page).contains(&"1.0 mEq/L of anions missing".to_owned()));
    assert_eq!(chart.notes(), ["tap: 1.0 mEq/L of anions missing"]);
    assert_eq!(chart.grid().rows[3][5], Cell::Text("missing".to_owned()));
}

#[test]
fn the_reach_of_a_sum_is_as_long_as_it_says() {
    let svg = gap().standalone_svg();
    let page = Document::parse(&svg).unwrap();
    let lines = with_class(&page, "chart-reach-line");
    let long = |n: &Node<'_, '_>| number(n, "x2") - number(n, "x1");
    let calcium = number(&with_class(&page, "chart-segment")[0], "width");
    // Of three strokes a bar, the first is the reach itself.
    assert_eq!(lines.len(), 6);
    assert!((long(&lines[0]) / calcium - 0.4 / 4.8).abs() < 0.002);
    assert!((long(&lines[3]) / calcium - 0.6 / 4.8).abs() < 0.002);
}

#[test]
fn ions_without_room_for_their_name_are_in_the_key() {
    let tiny = (0..5).map(|i| Ion::new(format!("ion{i}"), 0.01, Tone::Plum));
    let cations = std::iter::once(Ion::new("Ca", 5.0, Tone::Water)).chain(tiny);
    let chart = BalanceChart {
        heading: heading(),
        waters: vec![Water::new("tap", cations.collect(), Vec::new())],
    };
    let svg = chart.standalone_svg();
    let page = Document::parse(&svg).unwrap();
    let all = words(&page);
    for i in 0..5 {
        assert!(all.contains(&format!("ion{i}")), "ion{i} is named nowhere");
    }
}

fn moved(limit: f64) -> ShiftChart {
    let axis = Axis::new("nitrate", "mg/L").starting_at(0.0).decimals(0);
    let row = Shift::new(axis, 31.0, 19.0)
        .aiming(0.0, 25.0, "aim")
        .limited(limit, "health limit 50");
    ShiftChart {
        heading: heading(),
        rows: vec![row],
    }
}

#[test]
fn a_near_limit_is_a_tick_and_a_far_one_an_arrow() {
    for (limit, ticks, arrows) in [(50.0, 1, 0), (500.0, 0, 1), (f64::NAN, 0, 0)] {
        let svg = moved(limit).standalone_svg();
        let page = Document::parse(&svg).unwrap();
        assert_eq!(with_class(&page, "chart-threshold").len(), ticks, "{limit}");
        assert_eq!(with_class(&page, "chart-arrow").len(), arrows, "{limit}");
        let said: Vec<String> = words(&page);
        let of = |end: &str| said.contains(&format!("health limit 50{end}"));
        assert_eq!((of(""), of(" →")), (ticks == 1, arrows == 1), "{limit}");
    }
}

#[test]
fn before_after_and_aim_stand_on_one_scale() {
    let svg = moved(50.0).standalone_svg();
    let page = Document::parse(&svg).unwrap();
    let tick = number(&with_class(&page, "chart-threshold")[0], "x1");
    let before = number(&with_class(&page, "chart-ring")[0], "cx");
    let after = number(&with_class(&page, "chart-dot")[0], "cx");
    let aim = &with_class(&page, "chart-aim")[0];
    let (nought, aim_end) = (number(aim, "x"), number(aim, "x") + number(aim, "width"));
    let per = (tick - nought) / 50.0;
    for (x, value) in [(before, 31.0), (after, 19.0), (aim_end, 25.0)] {
        assert!((x - nought - per * value).abs() < 0.2, "{value}");
    }
    assert!(words(&page).contains(&"31 → 19 mg/L".to_owned()));
}

#[test]
fn hostile_words_are_words() {
    let hostile = "</text><script>alert(1)</script>\"'&";
    let axis = Axis::new(hostile, hostile);
    let chart = ShiftChart {
        heading: Heading::new(hostile, hostile, hostile),
        rows: vec![Shift::new(axis, 1.0, 2.0).limited(3.0, hostile)],
    };
    for text in [chart.markup().into_string(), chart.table().into_string()] {
        let page = Document::parse(&text).unwrap();
        assert!(!page.descendants().any(|n| n.has_tag_name("script")));
    }
}

#[test]
fn time_is_read_in_words_and_filed_in_minutes() {
    let left = |min, expected| Left {
        min,
        expected,
        at_most: expected * 2.0,
    };
    let decay = Decay {
        heading: heading(),
        axis: Axis::new("total chlorine", "mg/L").log(),
        ways: vec![DecayWay {
            label: "boil".to_owned(),
            places: vec![left(5.0, 1.6), left(90.0, 0.4), left(10080.0, 0.01)],
        }],
        threshold: Some((0.1, "not detectable, 0.1 mg/L".to_owned())),
    };
    let chart = decay.chart();
    let heads: Vec<String> = chart.tips().into_iter().map(|t| t.head).collect();
    assert_eq!(heads, ["5 min", "1 h 30 min", "1 week"]);
    assert!(chart.csv().contains("\r\n90,0.4,0.4,0.8\r\n"));
    let svg = chart.standalone_svg();
    let page = Document::parse(&svg).unwrap();
    for word in [
        "15 min",
        "1 d",
        "1 week",
        "boil",
        "not detectable, 0.1 mg/L",
    ] {
        assert!(words(&page).contains(&word.to_owned()), "{word}");
    }
}

#[test]
fn a_titration_shows_where_one_is_and_where_to_go() {
    let titration = |now, meets| Titration {
        heading: heading(),
        dose: Axis::new("lactic acid", "mL").decimals(1),
        curves: vec![TitrationCurve {
            label: "closed".to_owned(),
            points: vec![(0.0, 7.6), (4.6, 5.4), (8.0, 3.9)],
        }],
        aim: None,
        now,
        meets,
    };
    let svg = titration(Some((0.0, 7.6)), Some((4.6, 5.4)))
        .chart()
        .standalone_svg();
    let page = Document::parse(&svg).unwrap();
    assert_eq!(with_class(&page, "chart-spot").len(), 2);
    assert!(words(&page).contains(&"now".to_owned()));
    assert!(words(&page).contains(&"4.6 mL".to_owned()));
    let svg = titration(None, Some((f64::NAN, 5.4)))
        .chart()
        .standalone_svg();
    let page = Document::parse(&svg).unwrap();
    assert!(with_class(&page, "chart-spot").is_empty());
}

#[test]
fn a_year_without_readings_says_so() {
    let seasons = |readings| Seasons {
        heading: heading(),
        panels: vec![SeasonPanel {
            axis: Axis::new("alkalinity", "mg/L as CaCO3"),
            readings,
            spread: Vec::new(),
            levels: Vec::new(),
        }],
        changes: Vec::new(),
    };
    let svg = seasons(Vec::new()).chart().standalone_svg();
    assert!(svg.contains("no figures yet"));
    let svg = seasons(vec![Reading::bare(105.0, 180.0)])
        .chart()
        .standalone_svg();
    assert!(!svg.contains("no figures yet"));
    for month in ["Jan", "Jul", "Dec"] {
        assert!(svg.contains(month));
    }
}
