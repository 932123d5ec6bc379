//! Promises that hold for every chart and any data: whatever is given, the drawing
//! is well formed, finite, and inside its frame.

mod given;

use crate::text::{width, width_at, width_strong};
use crate::*;
use given::any_chart;
use proptest::prelude::*;
use roxmltree::{Document, Node};
use std::collections::HashSet;
use std::sync::LazyLock;

fn number(node: Node, name: &str) -> f64 {
    let text = node
        .attribute(name)
        .unwrap_or_else(|| panic!("{name} is missing in {node:?}"));
    text.parse().unwrap_or_else(|_| panic!("{name} = {text}"))
}

/// All places of an element; paths hold absolute pairs only.
fn places(node: Node) -> Vec<(f64, f64)> {
    let n = |name| number(node, name);
    match node.tag_name().name() {
        "line" => vec![(n("x1"), n("y1")), (n("x2"), n("y2"))],
        "rect" => vec![
            (n("x"), n("y")),
            (n("x") + n("width"), n("y") + n("height")),
        ],
        "circle" => vec![(n("cx"), n("cy"))],
        "text" => text_box(node),
        "path" => pairs(node.attribute("d").unwrap()),
        "svg" | "title" | "desc" => Vec::new(),
        other => panic!("unexpected <{other}>"),
    }
}

fn pairs(d: &str) -> Vec<(f64, f64)> {
    let spaced = d.replace(|c: char| c.is_ascii_alphabetic(), " ");
    let all: Vec<f64> = spaced
        .split_whitespace()
        .map(|t| t.parse().unwrap())
        .collect();
    assert!(all.len() >= 4 && all.len().is_multiple_of(2), "path {d}");
    all.chunks(2).map(|p| (p[0], p[1])).collect()
}

fn text_box(node: Node) -> Vec<(f64, f64)> {
    let (x, y) = (number(node, "x"), number(node, "y"));
    let text = node.text().unwrap_or_default();
    let class = node.attribute("class").unwrap_or_default();
    let wide = if class.contains("strong") {
        width_strong(text)
    } else {
        width(text)
    };
    let from = match node.attribute("text-anchor").unwrap() {
        "start" => x,
        "middle" => x - wide / 2.0,
        "end" => x - wide,
        other => panic!("{other}"),
    };
    vec![(from, y - 9.0), (from + wide, y + 2.0)]
}

fn frame(svg: Node) -> (f64, f64) {
    let view: Vec<f64> = svg
        .attribute("viewBox")
        .unwrap()
        .split(' ')
        .map(|t| t.parse().unwrap())
        .collect();
    assert!(view[0].abs() < 1e-9 && view[1].abs() < 1e-9);
    (view[2], view[3])
}

fn check_inside(svg: Node) {
    let (width, height) = frame(svg);
    assert!(width > 0.0 && height > 0.0 && height.is_finite());
    for node in svg.descendants().filter(Node::is_element) {
        for (x, y) in places(node) {
            let held = (-2.5..=width + 2.5).contains(&x) && (-2.5..=height + 2.5).contains(&y);
            assert!(
                held,
                "({x}, {y}) leaves {width} × {height}: {node:?} {:?}",
                node.text()
            );
        }
    }
}

fn check_plain(node: Node) {
    assert!(!["script", "style"].contains(&node.tag_name().name()));
    for attribute in node.attributes() {
        let name = attribute.name().to_ascii_lowercase();
        assert!(name != "style" && !name.starts_with("on"), "{name}");
        if ["fill", "stroke"].contains(&name.as_str()) {
            panic!("a colour outside of the style sheet: {}", attribute.value());
        }
    }
}

/// Every class that the style sheet names.
static RULES: LazyLock<HashSet<&str>> = LazyLock::new(|| {
    let words = STYLE.split(|c: char| !c.is_alphanumeric() && !".-".contains(c));
    words.filter_map(|word| word.strip_prefix('.')).collect()
});

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn drawings_are_well_formed_and_inside_their_frames(chart in any_chart()) {
        let markup = chart.markup().into_string();
        let page = Document::parse(&markup).unwrap();
        let svgs: Vec<Node> = page.descendants().filter(|n| n.has_tag_name("svg")).collect();
        prop_assert_eq!(svgs.len(), 2);
        for svg in svgs {
            check_inside(svg);
        }
    }

    #[test]
    fn pages_need_no_inline_style_or_script(chart in any_chart()) {
        for markup in [chart.markup(), chart.table()] {
            let text = markup.into_string();
            let page = Document::parse(&text).unwrap();
            page.descendants().filter(Node::is_element).for_each(check_plain);
        }
    }

    #[test]
    fn each_drawing_has_a_place_for_every_tip(chart in any_chart()) {
        let markup = chart.markup().into_string();
        let page = Document::parse(&markup).unwrap();
        let figure = page.descendants().find(|n| n.attribute("data-rows").is_some());
        let rows = figure.map_or(0, |f| {
            let rows: Vec<serde_json::Value> = serde_json::from_str(f.attribute("data-rows").unwrap()).unwrap();
            rows.len()
        });
        prop_assert_eq!(rows, chart.tips().len());
        for svg in page.descendants().filter(|n| n.has_tag_name("svg")) {
            let at: Vec<f64> = svg.attribute("data-at").unwrap().split_whitespace().map(|t| t.parse().unwrap()).collect();
            prop_assert_eq!(at.len(), rows);
            let (width, height) = frame(svg);
            let most = if svg.attribute("data-along") == Some("x") { width } else { height };
            prop_assert!(at.iter().all(|p| (0.0..=most).contains(p)));
        }
    }

    #[test]
    fn names_in_a_page_are_unique_and_referred_to(chart in any_chart()) {
        let markup = chart.markup().into_string();
        let page = Document::parse(&markup).unwrap();
        let mut ids: Vec<&str> = page.descendants().filter_map(|n| n.attribute("id")).collect();
        for node in page.descendants().filter(Node::is_element) {
            for name in ["aria-labelledby", "aria-describedby"] {
                prop_assert!(node.attribute(name).is_none_or(|id| ids.contains(&id)));
            }
        }
        let count = ids.len();
        ids.sort_unstable();
        ids.dedup();
        prop_assert_eq!(ids.len(), count);
    }

    #[test]
    fn saved_files_are_whole(chart in any_chart()) {
        let text = chart.standalone_svg();
        let file = Document::parse(&text).unwrap();
        let root = file.root_element();
        prop_assert_eq!(root.tag_name().namespace(), Some("http://www.w3.org/2000/svg"));
        prop_assert!(root.descendants().any(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "style"))));
        prop_assert!(!text.contains("var("));
        let wide = chart.heading().title.split_whitespace().all(|w| width_at(w, 15.0) < 580.0);
        for line in root.descendants().filter(|n| n.attribute("class") == Some("chart-heading")) {
            prop_assert!(!wide || width_at(line.text().unwrap_or_default(), 15.0) <= 600.0);
        }
    }

    #[test]
    fn every_class_has_its_rule(chart in any_chart()) {
        for markup in [chart.markup(), chart.table()] {
            let text = markup.into_string();
            let page = Document::parse(&text).unwrap();
            for class in page.descendants().filter_map(|n| n.attribute("class")).flat_map(str::split_whitespace) {
                prop_assert!(RULES.contains(class), "{class} has no rule");
            }
        }
    }

    #[test]
    fn tables_and_files_have_a_cell_for_every_column(chart in any_chart()) {
        let grid = chart.grid();
        prop_assert!(grid.rows.iter().all(|row| row.len() == grid.columns.len()));
    }
}

#[test]
fn saved_files_survive_letters_that_xml_forbids() {
    let heading = Heading::new("a\u{0}b <c>", "title \u{1}\u{fffe} & <b>", "\u{1b}[1m");
    let chart = RangeChart {
        heading,
        axis: Axis::new("\u{8}", "\""),
        rows: Vec::new(),
        aim: None,
    };
    let text = chart.standalone_svg();
    let file = Document::parse(&text).unwrap();
    let title = file
        .descendants()
        .find(|n| n.tag_name().name() == "title")
        .unwrap();
    assert_eq!(title.text(), Some("title  & <b>"));
}
