//! The style sheet: every class has its rule, and every colour can be read.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test may fail")]

use chart::{SCRIPT, STYLE, Tone};
use std::collections::BTreeMap;

type Theme = BTreeMap<String, [f64; 3]>;

/// The colour variables of each block of the sheet, in its order: light, dark, print.
fn themes() -> Vec<Theme> {
    STYLE
        .split('{')
        .filter_map(|block| block.split('}').next())
        .map(|block| block.split(';').filter_map(colour).collect())
        .filter(|theme: &Theme| !theme.is_empty())
        .collect()
}

fn colour(line: &str) -> Option<(String, [f64; 3])> {
    let (name, value) = line.split_once(':')?;
    let hex = value.trim().strip_prefix('#')?;
    let name = name.trim().strip_prefix("--chart-")?;
    let part = |i: usize| f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0;
    Some((name.to_owned(), [part(0), part(2), part(4)]))
}

/// Relative luminance (WCAG 2.2, definition of the same name).
fn luminance(colour: [f64; 3]) -> f64 {
    let linear = |c: f64| {
        if c <= 0.04045 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    };
    let [r, g, b] = colour.map(linear);
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// Contrast ratio (WCAG 2.2, definition of the same name).
fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn black_on_white_is_twenty_one_to_one() {
    assert!((contrast([0.0; 3], [1.0; 3]) - 21.0).abs() < 1e-9);
    // #767676 is the lightest grey that passes 4.5 on white.
    assert!((contrast([118.0 / 255.0; 3], [1.0; 3]) - 4.54).abs() < 0.01);
}

#[test]
fn every_theme_names_the_same_colours() {
    let themes = themes();
    assert_eq!(themes.len(), 3);
    for theme in &themes {
        assert!(theme.keys().eq(themes[0].keys()));
    }
}

#[test]
fn text_and_lines_can_be_read_in_every_theme() {
    let mut dim = Vec::new();
    for (i, theme) in themes().iter().enumerate() {
        let mut ask = |a: &str, b: &str, least: f64| {
            let ratio = contrast(theme[a], theme[b]);
            if ratio < least {
                dim.push(format!("theme {i}: {a} on {b} is {ratio:.2}"));
            }
        };
        ask("ink", "paper", 7.0);
        ask("soft", "paper", 4.5);
        for tone in Tone::ALL.into_iter().filter(|&t| t != Tone::Ink) {
            let name = tone.name();
            ask(&format!("{name}-line"), "paper", 4.5);
            ask(&format!("{name}-on"), name, 4.5);
        }
    }
    assert!(dim.is_empty(), "{dim:#?}");
}

#[test]
fn every_tone_has_its_four_classes() {
    for tone in Tone::ALL {
        for part in ["fill", "line", "on", "text"] {
            assert!(
                STYLE.contains(&format!(".chart-{part}-{} {{", tone.name())),
                "{part} {tone:?}"
            );
        }
    }
}

#[test]
fn the_script_serves_what_the_markup_says() {
    for word in [
        "data-at",
        "dataset.rows",
        "dataset.along",
        ".chart-cursor",
        "aria-live",
        "Home",
        "End",
        "ArrowLeft",
    ] {
        assert!(SCRIPT.contains(word), "{word}");
    }
    assert!(!SCRIPT.contains("innerHTML") && !SCRIPT.contains("eval("));
    assert!(SCRIPT.len() < 5000);
}
