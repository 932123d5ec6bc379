//! Finding a row of a table by what a person wrote.

use quantity::nearest;

use crate::error::WaterError;

/// A row with names.
pub(crate) trait Named {
    /// The name it is shown by, then every other spelling.
    fn names(&self) -> impl Iterator<Item = &str>;
}

/// Finds a row by one of its names, without regard to case, spacing or
/// subscripts.
///
/// What is only part of a name is not taken for it: "lactic acid" leaves the
/// strength open, and "metabisulfite" the salt.
pub(crate) fn find<'a, T: Named>(
    kind: &'static str,
    rows: &'a [T],
    written: &str,
) -> Result<&'a T, WaterError> {
    // Mostly it is written as the table has it.
    let as_it_is = rows
        .iter()
        .find(|row| row.names().any(|name| name == written));
    if let Some(row) = as_it_is {
        return Ok(row);
    }
    let wanted = tidy(written);
    let exact = rows
        .iter()
        .find(|row| row.names().any(|name| tidy(name) == wanted));
    exact.ok_or_else(|| WaterError::Unknown {
        kind,
        written: written.to_owned(),
        nearest: near(rows, &wanted),
        known: rows.iter().map(first_name).collect(),
    })
}

/// What a row of a built-in file says, where the program knows it.
pub(crate) fn known<T>(file: &str, row: &str, what: &str, found: Option<T>) -> T {
    match found {
        Some(value) => value,
        #[expect(clippy::panic, reason = "a broken built-in file is a defect of the program")]
        None => panic!("built-in data file {file}, row {row}: unknown {what}"),
    }
}

/// The rows that have what was written as whole words of a name, or else the one
/// that a slip of the finger could have meant.
fn near<T: Named>(rows: &[T], wanted: &str) -> Vec<String> {
    let words = format!(" {wanted} ");
    let holds = |row: &&T| {
        row.names()
            .any(|name| format!(" {} ", tidy(name)).contains(&words))
    };
    let holding: Vec<String> = if wanted.is_empty() {
        vec![]
    } else {
        rows.iter().filter(holds).map(first_name).collect()
    };
    if !holding.is_empty() {
        return holding;
    }
    nearest(wanted, rows.iter().flat_map(Named::names))
        .map(str::to_owned)
        .into_iter()
        .collect()
}

fn first_name<T: Named>(row: &T) -> String {
    row.names().next().unwrap_or_default().to_owned()
}

/// One spelling for what is written in several ways.
fn tidy(name: &str) -> String {
    let plain: String = name
        .chars()
        .map(|c| match c {
            '₀'..='₉' => char::from_digit(c as u32 - '₀' as u32, 10).unwrap_or(c),
            '*' | '⋅' => '·',
            '_' => ' ',
            c => c,
        })
        .collect();
    let spaced = plain.replace('%', " % ").to_lowercase();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Row(&'static [&'static str]);

    impl Named for Row {
        fn names(&self) -> impl Iterator<Item = &str> {
            self.0.iter().copied()
        }
    }

    const ROWS: [Row; 3] = [
        Row(&["lactic acid 80 %"]),
        Row(&["lactic acid 88 %"]),
        Row(&["gypsum", "CaSO4·2H2O"]),
    ];

    fn nearest_to(written: &str) -> Vec<String> {
        match find("thing", &ROWS, written) {
            Err(WaterError::Unknown { nearest, .. }) => nearest,
            other => panic!("{:?}", other.map(|row| row.0)),
        }
    }

    #[test]
    fn spellings_meet_their_row() {
        for written in ["lactic acid 80%", " Lactic  Acid 80 % "] {
            assert_eq!(find("thing", &ROWS, written).unwrap().0, ROWS[0].0);
        }
        assert_eq!(find("thing", &ROWS, "CaSO₄·2H₂O").unwrap().0, ROWS[2].0);
    }

    #[test]
    fn half_a_name_is_asked_back() {
        assert_eq!(
            nearest_to("lactic acid"),
            ["lactic acid 80 %", "lactic acid 88 %"]
        );
        assert_eq!(nearest_to("gypsm"), ["gypsum"]);
        assert!(nearest_to("yeast").is_empty());
        assert!(nearest_to("").is_empty());
    }
}
