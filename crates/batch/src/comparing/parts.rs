//! What differs between two documents, in parts that can be taken over one by one.

use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, TableLike};

use super::shapley::Set;
use super::told::{Change, entry_name, list_name, value_name};
use crate::sign::Stage;

/// Keys that say something of a batch and are no part of its stream.
const TOLD_ONLY: [&str; 6] = [
    "batch.name",
    "batch.notes",
    "batch.brewed",
    "aim",
    "inquiry",
    "fermentation.pitched",
];
/// Lists of what was found: told by themselves.
const FOUND: [&str; 2] = ["finding", "test"];

/// Lists whose entries stand for themselves, with the keys that name one.
const NAMED: [(&str, &[&str]); 4] = [
    ("grist", &["class", "name"]),
    ("hop", &["hop", "used"]),
    ("water.salt", &["salt", "into"]),
    ("water.acid", &["acid", "into"]),
];

/// Something that differs, and can be taken over by itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it is: "pilsner malt", "boil time".
    pub what: String,
    /// The stage that takes it up first.
    pub stage: Stage,
    /// What of it differs, as it is written.
    pub changes: Vec<Change>,
    /// The part of the document that it stands in.
    pub(super) section: String,
    pieces: Vec<Piece>,
}

impl Part {
    /// As it is told: what it stands for in the documents is of use while they are split.
    pub(crate) fn told(what: String, stage: Stage, changes: Vec<Change>) -> Self {
        Self {
            what,
            stage,
            changes,
            section: String::new(),
            pieces: Vec::new(),
        }
    }
}

#[derive(Debug, Clone, PartialEq)]
enum Piece {
    /// A value, a table or a whole list.
    Item(String),
    /// A row of an aligned list.
    Row { list: usize, row: usize },
}

/// A list whose entries were laid beside each other.
#[derive(Debug, Clone)]
struct Aligned {
    path: String,
    /// Places in the one and in the other.
    rows: Vec<(Option<usize>, Option<usize>)>,
}

/// Two documents and what differs between them.
#[derive(Debug, Clone)]
pub(super) struct Apart {
    from: DocumentMut,
    to: DocumentMut,
    lists: Vec<Aligned>,
    pub(super) parts: Vec<Part>,
    /// What differs and is no part of the stream: names, notes, aims.
    pub(super) told: Vec<Change>,
}

impl Apart {
    /// Lays two documents beside each other; both must be TOML.
    pub(super) fn of(from: &str, to: &str) -> Option<Self> {
        let mut apart = Self {
            from: from.parse().ok()?,
            to: to.parse().ok()?,
            lists: Vec::new(),
            parts: Vec::new(),
            told: Vec::new(),
        };
        let (a, b) = (apart.from.clone(), apart.to.clone());
        apart.walk(Some(a.as_table()), Some(b.as_table()), "");
        apart.parts.sort_by_key(|p| p.stage);
        Some(apart)
    }

    /// The first document with the parts of a set as the second has them.
    pub(super) fn mixed(&self, set: Set) -> String {
        let mut document = self.from.clone();
        let taken = |n: &usize| set & 1 << n != 0;
        let parts = || self.parts.iter().enumerate().filter(|(n, _)| taken(n));
        let pieces: Vec<&Piece> = parts().flat_map(|(_, p)| &p.pieces).collect();
        for piece in &pieces {
            if let Piece::Item(path) = piece {
                put(document.as_table_mut(), path, at(&self.to, path).cloned());
            }
        }
        for (list, aligned) in self.lists.iter().enumerate() {
            let takes = |row| pieces.contains(&&Piece::Row { list, row });
            let item = self.list(aligned, takes);
            put(document.as_table_mut(), &aligned.path, item);
        }
        document.to_string()
    }

    /// A list with some rows as the second document has them; none where it is empty.
    fn list(&self, aligned: &Aligned, takes: impl Fn(usize) -> bool) -> Option<Item> {
        let entries = |of| at(of, &aligned.path).and_then(Item::as_array_of_tables);
        let (from, to) = (entries(&self.from), entries(&self.to));
        let mut list = ArrayOfTables::new();
        for (row, (a, b)) in aligned.rows.iter().enumerate() {
            let entry = if takes(row) {
                b.and_then(|n| to?.get(n))
            } else {
                a.and_then(|n| from?.get(n))
            };
            list.extend(entry.cloned());
        }
        (!list.is_empty()).then_some(Item::ArrayOfTables(list))
    }

    fn walk(&mut self, a: Option<&dyn TableLike>, b: Option<&dyn TableLike>, prefix: &str) {
        for key in keys(a, b) {
            let path = if prefix.is_empty() {
                key.clone()
            } else {
                format!("{prefix}.{key}")
            };
            let (x, y) = (a.and_then(|t| t.get(&key)), b.and_then(|t| t.get(&key)));
            let told = TOLD_ONLY.contains(&path.as_str());
            let list = |i: Option<&Item>| i.is_some_and(Item::is_array_of_tables);
            if FOUND.contains(&path.as_str()) {
            } else if told {
                self.told.extend(changes(x, y, &path));
            } else if list(x) || list(y) {
                self.take_list(x, y, &path);
            } else if let (Some(x), Some(y)) = (
                x.and_then(Item::as_table_like),
                y.and_then(Item::as_table_like),
            ) {
                self.walk(Some(x), Some(y), &path);
            } else {
                self.take_item(x, y, &path, value_name(&path));
            }
        }
    }

    fn take_item(&mut self, x: Option<&Item>, y: Option<&Item>, path: &str, what: String) {
        let changes = changes(x, y, path);
        self.take(what, path, changes, Piece::Item(path.to_owned()));
    }

    fn take(&mut self, what: String, path: &str, changes: Vec<Change>, piece: Piece) {
        if !changes.is_empty() {
            self.parts.push(Part {
                what,
                stage: stage_of(path),
                changes,
                section: section_of(path),
                pieces: vec![piece],
            });
        }
    }

    /// Entries by their names where they stand for themselves; else the list as a whole.
    fn take_list(&mut self, x: Option<&Item>, y: Option<&Item>, path: &str) {
        let Some((_, named)) = NAMED.iter().find(|(list, _)| *list == path) else {
            return self.take_item(x, y, path, list_name(path));
        };
        let entries = |i: Option<&Item>| -> Option<Vec<Table>> {
            match i {
                None => Some(Vec::new()),
                Some(i) => Some(i.as_array_of_tables()?.iter().cloned().collect()),
            }
        };
        let (Some(from), Some(to)) = (entries(x), entries(y)) else {
            return self.take_item(x, y, path, list_name(path));
        };
        let rows = aligned(&from, &to, named);
        let list = self.lists.len();
        for (row, (a, b)) in rows.iter().enumerate() {
            let (a, b) = (a.map(|n| &from[n]), b.map(|n| &to[n]));
            let mut differs = Vec::new();
            between(
                a.map(|t| t as &dyn TableLike),
                b.map(|t| t as &dyn TableLike),
                "",
                &mut differs,
            );
            if let Some(entry) = a.or(b) {
                let what = entry_name(path, entry);
                self.take(what, path, differs, Piece::Row { list, row });
            }
        }
        self.lists.push(Aligned {
            path: path.to_owned(),
            rows,
        });
    }

    /// Makes one part of all those that stand in a section.
    pub(super) fn join(&mut self, section: &str) {
        let (within, mut others): (Vec<Part>, Vec<Part>) =
            self.parts.drain(..).partition(|p| p.section == section);
        others.extend(joined(within, section, section));
        others.sort_by_key(|p| p.stage);
        self.parts = others;
    }

    /// Makes one part of two, and gives what it is called.
    pub(super) fn pair(&mut self, a: usize, b: usize) -> String {
        let (a, b) = (a.min(b), a.max(b));
        let (second, first) = (self.parts.remove(b), self.parts.remove(a));
        let what = format!("{} and {}", first.what, second.what);
        let section = first.section.clone();
        self.parts
            .extend(joined(vec![first, second], &what, &section));
        self.parts.sort_by_key(|p| p.stage);
        what
    }

    /// Makes one part of everything, and gives what it is called.
    pub(super) fn join_all(&mut self) -> String {
        let all = std::mem::take(&mut self.parts);
        let what = "everything that differs";
        self.parts.extend(joined(all, what, what));
        what.to_owned()
    }

    /// The sections in which something differs, each once.
    pub(super) fn sections(&self) -> Vec<String> {
        let mut all: Vec<String> = self.parts.iter().map(|p| p.section.clone()).collect();
        all.sort_unstable();
        all.dedup();
        all
    }
}

fn joined(parts: Vec<Part>, what: &str, section: &str) -> Option<Part> {
    if parts.len() < 2 {
        return parts.into_iter().next();
    }
    let stage = parts.iter().map(|p| p.stage).min()?;
    let named = |part: &Part| -> Vec<Change> {
        let of = |c: &Change| match &c.of {
            Some(of) => format!("{}, {of}", part.what),
            None => part.what.clone(),
        };
        let named = part.changes.iter().map(|c| Change {
            of: Some(of(c)),
            ..c.clone()
        });
        named.collect()
    };
    Some(Part {
        what: what.to_owned(),
        stage,
        changes: parts.iter().flat_map(named).collect(),
        section: section.to_owned(),
        pieces: parts.into_iter().flat_map(|p| p.pieces).collect(),
    })
}

/// The places of entries of the same name beside each other, in their order.
fn aligned(from: &[Table], to: &[Table], named: &[&str]) -> Vec<(Option<usize>, Option<usize>)> {
    let name = |t: &Table| -> Vec<String> {
        let said = |key: &&str| t.get(key).and_then(Item::as_str).unwrap_or("");
        named
            .iter()
            .map(|key| said(key).trim().to_lowercase())
            .collect()
    };
    let mut free: Vec<Option<Vec<String>>> = to.iter().map(|t| Some(name(t))).collect();
    let mut rows = Vec::new();
    for (n, entry) in from.iter().enumerate() {
        let wanted = name(entry);
        let beside = free
            .iter()
            .position(|other| other.as_ref() == Some(&wanted));
        if let Some(taken) = beside {
            free[taken] = None;
        }
        rows.push((Some(n), beside));
    }
    let left = free.iter().enumerate().filter(|(_, name)| name.is_some());
    rows.extend(left.map(|(n, _)| (None, Some(n))));
    rows
}

fn keys(a: Option<&dyn TableLike>, b: Option<&dyn TableLike>) -> Vec<String> {
    let of = |t: Option<&dyn TableLike>| -> Vec<String> {
        t.map_or_else(Vec::new, |t| t.iter().map(|(k, _)| k.to_owned()).collect())
    };
    let mut keys = of(a);
    for key in of(b) {
        if !keys.contains(&key) {
            keys.push(key);
        }
    }
    keys
}

/// Values that differ below two items.
fn changes(x: Option<&Item>, y: Option<&Item>, path: &str) -> Vec<Change> {
    let mut found = Vec::new();
    compared(x, y, path, &mut found);
    found
}

fn between(
    a: Option<&dyn TableLike>,
    b: Option<&dyn TableLike>,
    prefix: &str,
    found: &mut Vec<Change>,
) {
    for key in keys(a, b) {
        let path = if prefix.is_empty() {
            key.clone()
        } else {
            format!("{prefix}.{key}")
        };
        let (x, y) = (a.and_then(|t| t.get(&key)), b.and_then(|t| t.get(&key)));
        compared(x, y, &path, found);
    }
}

fn compared(x: Option<&Item>, y: Option<&Item>, path: &str, found: &mut Vec<Change>) {
    let (a, b) = (
        x.and_then(Item::as_table_like),
        y.and_then(Item::as_table_like),
    );
    if a.is_some() || b.is_some() {
        return between(a, b, path, found);
    }
    let list = |i: Option<&Item>| {
        i.and_then(Item::as_array_of_tables)
            .map_or(0, ArrayOfTables::len)
    };
    let entries = list(x).max(list(y));
    if entries > 0 {
        for n in 0..entries {
            let entry = |i: Option<&Item>| i.and_then(Item::as_array_of_tables)?.get(n).cloned();
            let (a, b) = (entry(x), entry(y));
            let begun = found.len();
            between(
                a.as_ref().map(|t| t as &dyn TableLike),
                b.as_ref().map(|t| t as &dyn TableLike),
                &format!("{path}[{}]", n + 1),
                found,
            );
            let label = a.or(b).filter(|_| entries > 1).map(|t| label_of(&t, n));
            for change in &mut found[begun..] {
                change.of.clone_from(&label);
            }
        }
        return;
    }
    let (before, after) = (written(x), written(y));
    if before != after {
        found.push(Change {
            of: None,
            path: path.to_owned(),
            before,
            after,
        });
    }
}

/// What an entry of a list is told by: its name, its time, or its place.
fn label_of(entry: &Table, n: usize) -> String {
    let said = |key| entry.get(key).and_then(Item::as_str);
    let told = ["name", "at", "after"].into_iter().find_map(said);
    told.map_or_else(|| format!("no. {}", n + 1), |t| t.trim().to_owned())
}

/// A value as it is written, without its comment.
fn written(item: Option<&Item>) -> Option<String> {
    let value = item?.as_value()?;
    Some(match value.as_str() {
        Some(text) => text.trim().to_owned(),
        None => value.to_string().trim().to_owned(),
    })
}

fn at<'d>(document: &'d DocumentMut, path: &str) -> Option<&'d Item> {
    let mut item = document.as_item();
    for key in path.split('.') {
        item = item.as_table_like()?.get(key)?;
    }
    Some(item)
}

/// Puts an item where a path leads, or takes it out; tables on the way are made.
fn put(root: &mut Table, path: &str, item: Option<Item>) {
    let mut way: Vec<&str> = path.split('.').collect();
    let Some(last) = way.pop() else { return };
    let mut table: &mut dyn TableLike = root;
    for key in way {
        let made = || {
            let mut made = Table::new();
            made.set_implicit(true);
            Item::Table(made)
        };
        let Some(next) = table.entry(key).or_insert_with(made).as_table_like_mut() else {
            return;
        };
        table = next;
    }
    match item {
        Some(item) => {
            table.insert(last, item);
        }
        None => {
            table.remove(last);
        }
    }
}

/// The part of a document that a path stands in.
fn section_of(path: &str) -> String {
    let first = path.split('.').next().unwrap_or(path);
    let words = match first {
        "water" if path.starts_with("water.source") => "waters",
        "water" => "treatment of the water",
        "grist" => "grist",
        "hop" => "hops",
        "batch" | "kit" => "volume and kit",
        "brew_day" => "brew day",
        other => other,
    };
    words.to_owned()
}

fn stage_of(path: &str) -> Stage {
    match path.split('.').next().unwrap_or(path) {
        "batch" | "kit" | "water" => Stage::Water,
        "grist" | "mash" => Stage::Mash,
        "boil" | "hop" | "brew_day" => Stage::Boil,
        "yeast" | "fermentation" => Stage::Ferment,
        _ => Stage::Package,
    }
}

#[cfg(test)]
mod tests {
    use super::super::figures::numbers;
    use super::super::shapley::all;
    use super::*;
    use crate::{Document, Reckoning};

    const PALE: &str = include_str!("../../../../examples/lantern-pale.toml");
    const FIRST: &str = include_str!("../../../../examples/lantern-pale-first.toml");
    const AMBER: &str = include_str!("../../../../examples/towpath-amber.toml");

    fn figures(text: &str) -> Vec<f64> {
        let (document, assumptions) = Document::read(text).unwrap();
        let r = Reckoning::of(document, assumptions).unwrap();
        numbers(&r)
    }

    #[test]
    fn with_nothing_taken_over_it_is_the_one_and_with_everything_the_other() {
        for (from, to) in [(PALE, FIRST), (FIRST, PALE), (PALE, AMBER), (AMBER, PALE)] {
            let apart = Apart::of(from, to).unwrap();
            let whole = all(apart.parts.len());
            for (mixed, own) in [(apart.mixed(0), from), (apart.mixed(whole), to)] {
                for (a, b) in figures(&mixed).iter().zip(figures(own)) {
                    assert!((a - b).abs() <= 1e-9 * b.abs() || (a.is_nan() && b.is_nan()));
                }
            }
        }
    }

    #[test]
    fn entries_are_laid_beside_each_other_by_name_and_not_by_place() {
        let turned = PALE.replace(
            "class = \"pilsner malt\"\namount = \"3.55 kg\"\n\n[[grist]]\n",
            "",
        ) + "\n[[grist]]\nclass = \"pilsner malt\"\namount = \"3.55 kg\"\n";
        let apart = Apart::of(PALE, &turned).unwrap();
        assert!(apart.parts.is_empty(), "{:?}", apart.parts);
        let other = PALE.replace("class = \"wheat malt\"", "class = \"Vienna malt\"");
        let apart = Apart::of(PALE, &other).unwrap();
        let phrases: Vec<String> = apart.parts.iter().map(Part::phrase).collect();
        assert_eq!(
            phrases,
            ["wheat malt, 0.25 kg: left out", "Vienna malt, 0.25 kg: new"]
        );
    }
}
