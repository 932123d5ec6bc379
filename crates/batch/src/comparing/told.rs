//! What differs, in the words of the trade.

use toml_edit::{Item, Table};

/// A value that differs, as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// What it is a value of, where several things were put together.
    pub of: Option<String>,
    /// Where it stands: a path of the document, or a key of an entry.
    pub path: String,
    /// Before; none where it was not said.
    pub before: Option<String>,
    /// After; none where it is not said any more.
    pub after: Option<String>,
}

/// Changes that are told of one part.
const TOLD: usize = 3;

impl Change {
    /// In words: "0.6 kg more", "3 °C cooler", "alpha 3.5 % → 4 %".
    #[must_use]
    pub fn words(&self) -> String {
        let what = self.path.rsplit('.').next().unwrap_or(&self.path);
        let said = what.replace('_', " ");
        let of = self
            .of
            .as_ref()
            .map_or_else(String::new, |of| format!("{of}: "));
        let words = match (&self.before, &self.after) {
            (Some(a), Some(b)) => {
                more_or_less(what, a, b).unwrap_or_else(|| format!("{said} {a} → {b}"))
            }
            (None, Some(b)) => format!("{said} {b}, not said before"),
            (Some(a), None) => format!("{said} no longer said (was {a})"),
            (None, None) => said,
        };
        format!("{of}{words}")
    }
}

impl Change {
    /// With its whole path: "aim alcohol: 5.0 % → 6.0 %"; for what is told by itself.
    #[must_use]
    pub fn told(&self) -> String {
        let said = |text: &Option<String>| text.clone().unwrap_or_else(|| "–".to_owned());
        let path = self.path.replace(['.', '_'], " ");
        format!("{path}: {} → {}", said(&self.before), said(&self.after))
    }
}

/// A part in one phrase: "0.6 kg more pilsner malt", "boil time 15 min longer".
pub(super) fn phrase(what: &str, changes: &[Change]) -> String {
    let added = changes.iter().all(|c| c.before.is_none());
    let gone = changes.iter().all(|c| c.after.is_none());
    if changes.len() > 1 && changes.iter().all(|c| c.of.is_none()) && (added || gone) {
        let amount = changes.iter().find(|c| is_amount(key_of(c)));
        let of = amount.and_then(|c| c.after.as_ref().or(c.before.as_ref()));
        let of = of.map_or_else(String::new, |of| format!(", {of}"));
        let how = if added { "new" } else { "left out" };
        return format!("{what}{of}: {how}");
    }
    if let [one] = changes
        && let (None, Some(a), Some(b)) = (&one.of, &one.before, &one.after)
        && let Some(by) = more_or_less(key_of(one), a, b)
    {
        return match by.strip_suffix(" more").or(by.strip_suffix(" less")) {
            // "0.6 kg more pilsner malt", "boil time 15 min longer".
            Some(_) if key_of(one) == "amount" => format!("{by} {what}"),
            Some(_) if key_of(one) == "packets" => format!("{by} of yeast"),
            _ => format!("{what} {by}"),
        };
    }
    if let [one] = changes
        && let (None, Some(a), Some(b)) = (&one.of, &one.before, &one.after)
        && what.contains(&key_of(one).replace('_', " "))
    {
        return format!("{what}: {a} → {b}");
    }
    let told: Vec<String> = changes.iter().take(TOLD).map(Change::words).collect();
    let more = match changes.len().saturating_sub(TOLD) {
        0 => String::new(),
        n => format!(", and {n} more"),
    };
    format!("{what}: {}{more}", told.join(", "))
}

fn key_of(change: &Change) -> &str {
    change.path.rsplit('.').next().unwrap_or(&change.path)
}

fn is_amount(key: &str) -> bool {
    matches!(
        key,
        "amount" | "volume" | "mass" | "packets" | "slurry" | "dose" | "packet_mass"
    )
}

/// A change of a number in the same unit, by how much it is more.
fn more_or_less(key: &str, before: &str, after: &str) -> Option<String> {
    let ((a, unit), (b, other)) = (number(before)?, number(after)?);
    if unit != other || a.to_bits() == b.to_bits() {
        return None;
    }
    let by = format!("{} {unit}", quantity::rounded((b - a).abs()));
    let by = by.trim();
    let more = b > a;
    let words = if matches!(unit, "°C" | "°F") {
        if more { "warmer" } else { "cooler" }
    } else if is_amount(key) {
        if more { "more" } else { "less" }
    } else if matches!(key, "time" | "whirlpool" | "boiled" | "aeration_time") {
        if more { "longer" } else { "shorter" }
    } else if key == "age" {
        if more { "older" } else { "younger" }
    } else {
        return None;
    };
    Some(if unit.is_empty() {
        // A bare count: "1 packet more".
        let noun = if by == "1" {
            key.trim_end_matches('s')
        } else {
            key
        };
        format!("{by} {} {words}", noun.replace('_', " "))
    } else {
        format!("{by} {words}")
    })
}

/// The number and the unit of a plain figure; none for a spread, a bound or two units.
fn number(text: &str) -> Option<(f64, &str)> {
    let end = text
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-')))
        .unwrap_or(text.len());
    let (digits, unit) = text.split_at(end);
    let unit = unit.trim();
    let plain = !unit.chars().any(|c| c.is_ascii_digit() || c == '±');
    digits.parse().ok().filter(|_| plain).map(|n| (n, unit))
}

/// What a value is called: "boil time".
pub(super) fn value_name(path: &str) -> String {
    match path {
        "batch.volume" => "volume of the batch".to_owned(),
        "water.treatment" => "treatment against chlorine".to_owned(),
        "boil.chilled_to" => "temperature after chilling".to_owned(),
        "package.carbon_dioxide" => "carbonation".to_owned(),
        "yeast.class" => "yeast".to_owned(),
        "fermentation.aeration" => "aeration".to_owned(),
        path => path.replace(['.', '_'], " "),
    }
}

/// What a list is called that is taken as a whole.
pub(super) fn list_name(path: &str) -> String {
    let known = match path {
        "water.source" => "waters",
        "mash.rest" => "rests of the mash",
        "mash.reading" => "pH readings of the mash",
        "mash.measured" => "temperatures read in the mash",
        "fermentation.course" => "temperatures of the fermentation",
        "brew_day.reading" => "readings of the brew day",
        "brew_day.done" => "what was done on brew day",
        "yeast.step" => "starter",
        "cleaning" => "cleaning",
        path => return path.replace(['.', '_'], " "),
    };
    known.to_owned()
}

/// What an entry of a list is called: "Perle, boiled 60 min".
pub(super) fn entry_name(list: &str, entry: &Table) -> String {
    let said = |key: &str| entry.get(key).and_then(Item::as_str).unwrap_or("").trim();
    let with = |first: &str, then: String| {
        if then.trim().is_empty() {
            first.to_owned()
        } else {
            format!("{first} {}", then.trim())
        }
    };
    match list {
        "grist" if !said("name").is_empty() => said("name").to_owned(),
        "grist" => said("class").to_owned(),
        "hop" => with(
            said("hop"),
            format!("({} {})", said("used"), said("time")).replace(" )", ")"),
        ),
        "water.salt" => with(said("salt"), into(said("into"))),
        "water.acid" => with(said("acid"), into(said("into"))),
        other => other.to_owned(),
    }
}

fn into(liquor: &str) -> String {
    if liquor.is_empty() {
        String::new()
    } else {
        format!("into the {liquor}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn change(path: &str, before: &str, after: &str) -> String {
        let said = |text: &str| (!text.is_empty()).then(|| text.to_owned());
        Change {
            of: None,
            path: path.to_owned(),
            before: said(before),
            after: said(after),
        }
        .words()
    }

    #[test]
    fn a_change_is_told_by_how_much_where_that_is_plain() {
        for (path, before, after, words) in [
            ("amount", "3.55 kg", "4.15 kg", "0.6 kg more"),
            ("mash.rest[1].temperature", "67 °C", "64 °C", "3 °C cooler"),
            ("boil.time", "60 min", "75 min", "15 min longer"),
            ("yeast.age", "90 d", "30 d", "60 d younger"),
            ("yeast.packets", "1", "2", "1 packet more"),
            ("amount", "1 kg", "2 lb", "amount 1 kg → 2 lb"),
            (
                "amount",
                "5 lb 6 oz",
                "5 lb 8 oz",
                "amount 5 lb 6 oz → 5 lb 8 oz",
            ),
            ("alpha", "8.2 ± 0.5 %", "7.6 %", "alpha 8.2 ± 0.5 % → 7.6 %"),
            (
                "mash.sparge",
                "batch",
                "",
                "sparge no longer said (was batch)",
            ),
            (
                "boil.whirlpool",
                "",
                "20 min",
                "whirlpool 20 min, not said before",
            ),
        ] {
            assert_eq!(change(path, before, after), words);
        }
    }
}
