//! How wide a text will be, and what to do when it does not fit.
//!
//! The font is the reader's, so widths are estimates on the wide side: those of
//! DejaVu Sans, one of the widest fonts in common use (measured by class of letter).

/// The height of a line of labels in the drawing's units.
pub(crate) const LINE: f64 = 14.0;
/// The size of labels.
pub(crate) const SIZE: f64 = 12.0;

/// How much wider semibold is.
const STRONG: f64 = 1.1;

/// Estimated width of a label.
pub(crate) fn width(text: &str) -> f64 {
    width_at(text, SIZE)
}

/// Estimated width of a label in semibold.
pub(crate) fn width_strong(text: &str) -> f64 {
    width(text) * STRONG
}

/// Estimated width at a font size.
pub(crate) fn width_at(text: &str, size: f64) -> f64 {
    text.chars().map(em).sum::<f64>() * size
}

fn em(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | 'I' | '\'' | '|' => 0.30,
        ' ' | '.' | ',' | ':' | ';' | '!' => 0.34,
        'f' | 't' | 'r' | '(' | ')' | '[' | ']' | '-' | '/' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' | '@' | '…' | '→' => 1.0,
        '⁰'..='⁹' | '¹' | '²' | '³' | '⁻' | '₀'..='₉' => 0.42,
        '−' | '±' | '×' | '=' | '+' | '<' | '>' => 0.84,
        'A'..='Z' => 0.74,
        c if u32::from(c) >= 0x2E80 => 1.05,
        _ => 0.63,
    }
}

/// The text, or its beginning and "…", within a width; empty if not even that fits.
pub(crate) fn fit(text: &str, room: f64) -> String {
    if width(text) <= room {
        return text.to_owned();
    }
    let mut left = room - width("…");
    let kept: String = text
        .chars()
        .take_while(|&c| {
            left -= em(c) * SIZE;
            left >= 0.0
        })
        .collect();
    match kept.trim_end() {
        "" => String::new(),
        kept => format!("{kept}…"),
    }
}

/// The same for a label in semibold.
pub(crate) fn fit_strong(text: &str, room: f64) -> String {
    fit(text, room / STRONG)
}

/// Breaks a text at its spaces into at most so many lines within a width.
pub(crate) fn wrap(text: &str, room: f64, most: usize) -> Vec<String> {
    wrap_at(text, room, most, SIZE)
}

pub(crate) fn wrap_at(text: &str, room: f64, most: usize, size: f64) -> Vec<String> {
    let room = room * SIZE / size;
    let mut lines: Vec<String> = Vec::new();
    for word in words(text) {
        match lines.last_mut() {
            Some(line) if lines_full(line, word, room) => lines.push(word.to_owned()),
            Some(line) => {
                line.push(' ');
                line.push_str(word);
            }
            None => lines.push(word.to_owned()),
        }
    }
    if lines.len() > most && most > 0 {
        let rest = lines.split_off(most - 1).join(" ");
        lines.push(rest);
    }
    lines.iter().map(|line| fit(line, room)).collect()
}

/// Words; a no-break space keeps a number and its unit together.
pub(crate) fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split(|c: char| c.is_whitespace() && c != '\u{a0}')
        .filter(|word| !word.is_empty())
}

fn lines_full(line: &str, word: &str, room: f64) -> bool {
    width(line) + width(" ") + width(word) > room
}

/// Where a text of this width may be centred without leaving a span.
pub(crate) fn centre_within(wish: f64, text: &str, from: f64, to: f64) -> f64 {
    let half = width(text) / 2.0;
    if from + half > to - half {
        return f64::midpoint(from, to);
    }
    wish.clamp(from + half, to - half)
}

/// Moves wished heights apart until each has its line, all within a span.
///
/// The wishes must be ascending. Gives none if there is no room for all.
pub(crate) fn spread(wishes: &[f64], step: f64, from: f64, to: f64) -> Option<Vec<f64>> {
    let count = wishes.len();
    if count == 0 {
        return Some(Vec::new());
    }
    if step * (count - 1) as f64 > to - from {
        return None;
    }
    let mut places: Vec<f64> = Vec::with_capacity(count);
    for (i, wish) in wishes.iter().enumerate() {
        let least = places.last().map_or(from, |p| p + step);
        let most = to - step * (count - 1 - i) as f64;
        places.push(wish.clamp(from, to).max(least).min(most));
    }
    Some(places)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn breaks_at_spaces_and_says_when_cut() {
        assert_eq!(wrap("carbon filter", 60.0, 2), ["carbon", "filter"]);
        let cut = wrap("one two three four five six", 50.0, 2);
        assert_eq!(cut.len(), 2);
        assert!(cut[1].ends_with('…'));
    }

    proptest! {
        #[test]
        fn fitted_text_fits(text in ".{0,40}", room in 0.0..200.0_f64) {
            prop_assert!(width(&fit(&text, room)) <= room + 1e-9);
            for line in wrap(&text, room, 3) {
                prop_assert!(width(&line) <= room + 1e-9);
            }
        }

        #[test]
        fn spread_keeps_order_distance_and_span(
            mut wishes in prop::collection::vec(-50.0..250.0_f64, 0..12),
        ) {
            wishes.sort_by(f64::total_cmp);
            match spread(&wishes, 13.0, 0.0, 120.0) {
                None => prop_assert!(13.0 * (wishes.len() - 1) as f64 > 120.0),
                Some(places) => {
                    prop_assert!(places.windows(2).all(|p| p[1] - p[0] >= 13.0 - 1e-9));
                    prop_assert!(places.iter().all(|p| (-1e-9..=120.0 + 1e-9).contains(p)));
                }
            }
        }
    }
}
