//! From a batch document of ours to a file of the standard.

mod ingredients;
mod job;
mod process;

use batch::{Document, Fault, Reckoning};
use serde_json::{Map, Value, json};

use crate::read::AUTHOR;
use crate::report::Remark;
use crate::schema::VERSION;
use job::{Job, measured};

/// A batch as a file of the standard.
#[derive(Debug, Clone, PartialEq)]
pub struct Exported {
    /// The file.
    pub text: String,
    /// What did not map.
    pub remarks: Vec<Remark>,
}

/// Writes a batch document as a file of the standard.
///
/// # Errors
/// The faults of a document that cannot be read or reckoned: the standard asks for
/// figures that only a reckoning has.
pub fn write(text: &str) -> Result<Exported, Vec<Fault>> {
    let (document, assumptions) = Document::read(text)?;
    let reckoning = Reckoning::of(document, assumptions).map_err(|fault| vec![fault])?;
    let job = Job::of(text);
    let mut file = Map::new();
    file.insert("version".to_owned(), json!(VERSION));
    file.insert("recipes".to_owned(), json!([recipe(&reckoning, &job)]));
    for (list, records) in ingredients::records(&reckoning, &job) {
        file.insert(list.to_owned(), Value::Array(records));
    }
    if let Some(kit) = process::kit(&reckoning, &job) {
        file.insert("equipments".to_owned(), json!([kit]));
    }
    let file = json!({ "beerjson": file });
    Ok(Exported {
        text: format!("{file:#}\n"),
        remarks: job.into_remarks(),
    })
}

fn recipe(reckoning: &Reckoning, job: &Job) -> Value {
    let document = &reckoning.document;
    let (author, notes) = author_and_notes(document, job);
    let mut recipe = Map::new();
    job.take("batch.name");
    job.take("batch.volume");
    let mut put = |key: &str, value: Value| {
        recipe.insert(key.to_owned(), value);
    };
    put("name", json!(document.batch.name));
    put("type", json!(ingredients::kind(reckoning)));
    put("author", json!(author));
    if let Some(notes) = notes {
        put("notes", json!(notes));
    }
    put(
        "batch_size",
        measured("l", document.batch.volume.canonical()),
    );
    put("efficiency", efficiency(reckoning, job));
    put("ingredients", ingredients::ingredients(reckoning, job));
    put("mash", process::mash(document, job));
    put("boil", process::boil(document, job));
    put("fermentation", process::fermentation(document, job));
    put("packaging", process::packaging(document, job));
    for (key, value) in aim(document, job) {
        put(key, value);
    }
    Value::Object(recipe)
}

fn author_and_notes(document: &Document, job: &Job) -> (String, Option<String>) {
    job.take("batch.notes");
    let Some(notes) = &document.batch.notes else {
        return (String::new(), None);
    };
    let Some(rest) = notes.strip_prefix(AUTHOR) else {
        return (String::new(), Some(notes.clone()));
    };
    let (author, notes) = rest.split_once('\n').unwrap_or((rest, ""));
    (
        author.to_owned(),
        (!notes.is_empty()).then(|| notes.to_owned()),
    )
}

fn efficiency(reckoning: &Reckoning, job: &Job) -> Value {
    let percent = |ratio: f64| measured("%", ratio * 100.0);
    let mut parts = Map::new();
    if job.take("kit.conversion") {
        let conversion = reckoning.document.kit.conversion.canonical();
        parts.insert("conversion".to_owned(), percent(conversion));
    }
    let volumes = &reckoning.volumes;
    parts.insert(
        "lauter".to_owned(),
        percent(volumes.lauter_efficiency.ratio()),
    );
    parts.insert(
        "brewhouse".to_owned(),
        percent(volumes.brewhouse_efficiency.ratio()),
    );
    Value::Object(parts)
}

fn aim(document: &Document, job: &Job) -> Vec<(&'static str, Value)> {
    let Some(aim) = &document.aim else {
        return Vec::new();
    };
    let mut keys = Vec::new();
    for (path, key, gravity) in [
        (
            "aim.original_gravity",
            "original_gravity",
            aim.original_gravity,
        ),
        ("aim.final_gravity", "final_gravity", aim.final_gravity),
    ] {
        if let (true, Some(gravity)) = (job.take(path), gravity) {
            keys.push((key, measured("plato", gravity.canonical())));
        }
    }
    if let (true, Some(alcohol)) = (job.take("aim.alcohol"), aim.alcohol) {
        keys.push(("alcohol_by_volume", measured("%", alcohol.value.percent())));
    }
    if let (true, Some(colour)) = (job.take("aim.colour"), aim.colour) {
        keys.push(("color_estimate", measured("EBC", colour.canonical())));
    }
    keys
}
