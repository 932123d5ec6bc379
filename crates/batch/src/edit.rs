//! Changing one value of a document and leaving the rest of the text, comments
//! and order included, as the person wrote it.

use std::collections::BTreeMap;

use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, TableLike, value};

/// Why an edit could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EditError {
    /// The text is not TOML, so there is nothing to hold on to.
    #[error("the document is not TOML: {message}")]
    NotToml {
        /// What the parser says.
        message: String,
    },
    /// A path that is not written like one.
    #[error("{path:?} is not a path; one is written like water.source[1].calcium")]
    NotAPath {
        /// What was given.
        path: String,
    },
    /// A path that leads through something that is not there or not a table.
    #[error("{path:?} leads nowhere in this document: there is no {missing:?}")]
    Nowhere {
        /// What was given.
        path: String,
        /// The step that failed.
        missing: String,
    },
}

/// A step of a path: a key, and the place in a list counted from one.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Step {
    key: String,
    place: Option<usize>,
}

/// Sets the value at `path`, such as `water.source[1].calcium`; an empty value
/// takes the key out. Tables on the way are made where they are missing.
///
/// # Errors
/// [`EditError`]; the text is then unchanged.
pub fn set_value(text: &str, path: &str, written: &str) -> Result<String, EditError> {
    let mut document = parse(text)?;
    let steps = steps(path)?;
    let (last, way) = steps.split_last().ok_or_else(|| not_a_path(path))?;
    if last.place.is_some() {
        return Err(not_a_path(path));
    }
    let table = walk(document.as_table_mut(), way, path)?;
    if written.trim().is_empty() {
        table.remove(&last.key);
    } else if let Some(Item::Value(old)) = table.get_mut(&last.key) {
        let decor = old.decor().clone();
        let mut new = toml_edit::Value::from(written);
        *new.decor_mut() = decor;
        *old = new;
    } else {
        table.insert(&last.key, value(written));
    }
    Ok(document.to_string())
}

/// Adds an entry with these values to the end of a list such as `hop`.
///
/// # Errors
/// [`EditError`]; the text is then unchanged.
pub fn add_entry(text: &str, list: &str, values: &[(&str, &str)]) -> Result<String, EditError> {
    let mut document = parse(text)?;
    let steps = steps(list)?;
    let (last, way) = steps.split_last().ok_or_else(|| not_a_path(list))?;
    let table = walk(document.as_table_mut(), way, list)?;
    let entries = table
        .entry(&last.key)
        .or_insert(Item::ArrayOfTables(ArrayOfTables::new()))
        .as_array_of_tables_mut()
        .ok_or_else(|| nowhere(list, &last.key))?;
    let mut entry = Table::new();
    for (key, written) in values {
        entry.insert(key, value(*written));
    }
    entry.decor_mut().set_prefix("\n");
    entries.push(entry);
    Ok(document.to_string())
}

/// Takes an entry such as `hop[2]` out of its list.
///
/// # Errors
/// [`EditError`]; the text is then unchanged.
pub fn remove_entry(text: &str, path: &str) -> Result<String, EditError> {
    let mut document = parse(text)?;
    let steps = steps(path)?;
    let (last, way) = steps.split_last().ok_or_else(|| not_a_path(path))?;
    let place = last.place.ok_or_else(|| not_a_path(path))?;
    let table = walk(document.as_table_mut(), way, path)?;
    let entries = table
        .get_mut(&last.key)
        .and_then(Item::as_array_of_tables_mut)
        .filter(|entries| place <= entries.len())
        .ok_or_else(|| nowhere(path, &last.key))?;
    entries.remove(place - 1);
    if entries.is_empty() {
        table.remove(&last.key);
    }
    Ok(document.to_string())
}

/// The values of a document as they are written, by path.
///
/// # Errors
/// [`EditError::NotToml`].
pub fn written_values(text: &str) -> Result<BTreeMap<String, String>, EditError> {
    let document = parse(text)?;
    let mut values = BTreeMap::new();
    collect(document.as_table(), "", &mut values);
    Ok(values)
}

fn collect(table: &dyn TableLike, prefix: &str, values: &mut BTreeMap<String, String>) {
    for (key, item) in table.iter() {
        let path = if prefix.is_empty() {
            key.to_owned()
        } else {
            format!("{prefix}.{key}")
        };
        if let Some(entries) = item.as_array_of_tables() {
            for (i, entry) in entries.iter().enumerate() {
                collect(entry, &format!("{path}[{}]", i + 1), values);
            }
        } else if let Some(sub) = item.as_table_like() {
            collect(sub, &path, values);
        } else if let Some(text) = item.as_str() {
            values.insert(path, text.to_owned());
        } else if let Some(plain) = item.as_value() {
            values.insert(path, plain.to_string().trim().to_owned());
        }
    }
}

fn parse(text: &str) -> Result<DocumentMut, EditError> {
    text.parse::<DocumentMut>()
        .map_err(|error| EditError::NotToml {
            message: error.message().to_owned(),
        })
}

fn walk<'t>(
    root: &'t mut Table,
    way: &[Step],
    path: &str,
) -> Result<&'t mut dyn TableLike, EditError> {
    let mut at: &'t mut dyn TableLike = root;
    for step in way {
        let item = match step.place {
            None => at.entry(&step.key).or_insert_with(|| Item::Table(made())),
            Some(_) => at
                .get_mut(&step.key)
                .ok_or_else(|| nowhere(path, &step.key))?,
        };
        at = match step.place {
            None => item
                .as_table_like_mut()
                .ok_or_else(|| nowhere(path, &step.key))?,
            Some(place) => item
                .as_array_of_tables_mut()
                .and_then(|entries| entries.get_mut(place - 1))
                .ok_or_else(|| nowhere(path, &format!("{}[{place}]", step.key)))?,
        };
    }
    Ok(at)
}

/// A table on the way: its header is written only where it has values of its own.
fn made() -> Table {
    let mut table = Table::new();
    table.set_implicit(true);
    table
}

fn steps(path: &str) -> Result<Vec<Step>, EditError> {
    path.split('.')
        .map(|part| step(part).ok_or_else(|| not_a_path(path)))
        .collect()
}

fn step(part: &str) -> Option<Step> {
    let (key, place) = match part.split_once('[') {
        None => (part, None),
        Some((key, rest)) => {
            let place: usize = rest.strip_suffix(']')?.parse().ok()?;
            (key, Some(place).filter(|p| *p > 0)?.into())
        }
    };
    let plain = !key.is_empty() && key.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    plain.then(|| Step {
        key: key.to_owned(),
        place,
    })
}

fn not_a_path(path: &str) -> EditError {
    EditError::NotAPath {
        path: path.to_owned(),
    }
}

fn nowhere(path: &str, missing: &str) -> EditError {
    EditError::Nowhere {
        path: path.to_owned(),
        missing: missing.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# mine\n[batch]\nname = \"Pale\"   # the second\n\n[[hop]]\nhop = \"Saaz\"\namount = \"20 g\" # weighed\n\n[[hop]]\nhop = \"Perle\"\n";

    #[test]
    fn a_value_is_changed_and_everything_else_stays() {
        let changed = set_value(TEXT, "hop[1].amount", "25 g").unwrap();
        assert_eq!(changed, TEXT.replace("\"20 g\"", "\"25 g\""));
        let named = set_value(TEXT, "batch.name", "Pale \"two\"").unwrap();
        assert!(
            named.contains("# the second")
                && written_values(&named).unwrap()["batch.name"] == "Pale \"two\""
        );
    }

    #[test]
    fn an_empty_value_takes_the_key_out_and_a_new_one_makes_its_table() {
        assert!(
            !set_value(TEXT, "hop[1].amount", " ")
                .unwrap()
                .contains("amount")
        );
        let grown = set_value(TEXT, "kit.altitude", "200 m").unwrap();
        assert_eq!(written_values(&grown).unwrap()["kit.altitude"], "200 m");
    }

    #[test]
    fn entries_come_and_go() {
        let more = add_entry(TEXT, "hop", &[("hop", "Tettnanger"), ("amount", "5 g")]).unwrap();
        assert_eq!(written_values(&more).unwrap()["hop[3].hop"], "Tettnanger");
        let fewer = remove_entry(&more, "hop[1]").unwrap();
        assert_eq!(written_values(&fewer).unwrap()["hop[1].hop"], "Perle");
        let none = remove_entry(&remove_entry(&fewer, "hop[1]").unwrap(), "hop[1]").unwrap();
        assert!(!none.contains("hop"));
        let first = add_entry(&none, "hop", &[("hop", "Saaz")]).unwrap();
        assert!(first.contains("[[hop]]\nhop = \"Saaz\""));
    }

    #[test]
    fn paths_that_lead_nowhere_are_refused() {
        for path in [
            "",
            "hop[0].amount",
            "hop[9].amount",
            "hop[1]",
            "batch.name.x",
            "a b",
            "hop[x].y",
            "hop.amount.x",
        ] {
            assert!(set_value(TEXT, path, "1").is_err(), "{path}");
        }
        assert!(remove_entry(TEXT, "hop[3]").is_err());
        assert!(remove_entry(TEXT, "batch").is_err());
        assert!(set_value("[batch", "batch.name", "x").is_err());
    }
}
