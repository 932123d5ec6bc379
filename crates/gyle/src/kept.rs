//! Documents that are kept in the store.

use app::{App, BatchRow};
use store::{DocumentId, Place, default_path};

use crate::cli::StoreCommand;
use crate::input::Source;
use crate::problem::Problem;

/// A batch in a list.
pub struct Row(BatchRow);

impl Row {
    /// For programs.
    pub fn wire(&self) -> batch::wire::kept::BatchRow {
        let row = &self.0;
        batch::wire::kept::BatchRow {
            id: row.id.to_string(),
            name: row.name.clone(),
            revision: row.revision.get(),
            saved_at: row.saved_at.to_string(),
        }
    }

    /// For people.
    pub fn line(&self) -> String {
        let row = &self.0;
        format!(
            "{}  {:>4}  {}  {}\n",
            row.id,
            row.revision.get(),
            row.saved_at,
            row.name
        )
    }
}

/// Where batches are kept.
pub fn place(named: Option<&str>) -> Result<Place, Problem> {
    match named {
        Some(named) => Ok(Place::from(named)),
        None => Ok(Place::File(default_path()?)),
    }
}

/// Runs a use case of the store to its end.
pub fn block_on<T>(work: impl Future<Output = Result<T, Problem>>) -> Result<T, Problem> {
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(|e| Problem::Defect(e.to_string()))?
        .block_on(work)
}

/// Keeps a text as a batch.
pub fn keep(named: Option<&str>, text: &str) -> Result<(DocumentId, String), Problem> {
    let place = place(named)?;
    block_on(async {
        let app = App::open(place).await?;
        let kept = app.keep_batch(text, "kept from a file").await?;
        Ok((kept.id, kept.name))
    })
}

/// All batches with a part of a name.
pub fn list(named: Option<&str>, find: &str) -> Result<Vec<Row>, Problem> {
    let place = place(named)?;
    block_on(async {
        let app = App::open(place).await?;
        let mut rows = Vec::new();
        let mut number = 0;
        loop {
            let page = app.batches(find, number).await?;
            rows.extend(page.rows.into_iter().map(Row));
            number += 1;
            if number >= page.pages {
                return Ok(rows);
            }
        }
    })
}

/// The waters of the library.
pub fn waters(named: Option<&str>) -> Result<Vec<batch::liquor::choice::Kept>, Problem> {
    let place = place(named)?;
    block_on(async { Ok(App::open(place).await?.kept_waters().await?) })
}

/// The newest text of a batch, by its identifier or a part of its name.
pub fn find(named: Option<&str>, wanted: &str) -> Result<Source, Problem> {
    let place = place(named)?;
    block_on(async {
        let app = App::open(place).await?;
        let id = by_wanted(&app, wanted).await?;
        let open = app.batch(id).await?;
        Ok(Source {
            name: format!("{}, revision {}", open.name, open.revision),
            text: open.text,
        })
    })
}

/// The batch with an identifier, or with a part of a name.
pub async fn by_wanted(app: &App, wanted: &str) -> Result<DocumentId, Problem> {
    match wanted.parse::<DocumentId>() {
        Ok(id) => Ok(id),
        Err(_) => by_name(app, wanted).await,
    }
}

async fn by_name(app: &App, wanted: &str) -> Result<DocumentId, Problem> {
    let page = app.batches(wanted, 0).await?;
    match page.rows.as_slice() {
        [one] => Ok(one.id),
        [] => Err(Problem::not_one(wanted, "no batch with that in its name")),
        many => {
            let names: Vec<String> = many
                .iter()
                .take(8)
                .map(|r| format!("{} ({})", r.name, r.id))
                .collect();
            Err(Problem::not_one(wanted, &names.join(", ")))
        }
    }
}

/// Does something with the whole store, and says what was done.
pub fn store(named: Option<&str>, command: &StoreCommand) -> Result<String, Problem> {
    let place = place(named)?;
    block_on(async {
        let app = App::open(place).await?;
        let store = app.store();
        let told = match command {
            StoreCommand::Backup { to } => {
                store.backup(to).await?;
                format!("backed up to {}\n", to.display())
            }
            StoreCommand::Restore { from } => {
                let done = store.restore(from).await?;
                format!(
                    "restored {} documents in {} revisions; what was there is kept as {}\n",
                    done.documents,
                    done.revisions,
                    done.kept_aside.display()
                )
            }
            StoreCommand::Check => return checked(store).await,
            StoreCommand::Export { folder } => {
                let done = store.export(folder).await?;
                format!(
                    "exported {} documents in {} revisions and {} readings to {}\n",
                    done.documents,
                    done.revisions,
                    done.readings,
                    folder.display()
                )
            }
            StoreCommand::Import { folder } => {
                let done = store.import(folder).await?;
                format!(
                    "imported {} documents in {} revisions and {} readings; {} were here already\n",
                    done.documents, done.revisions, done.readings, done.already
                )
            }
        };
        Ok(told)
    })
}

async fn checked(store: &store::Store) -> Result<String, Problem> {
    let report = store.check().await?;
    if let Some(first) = report.problems.first() {
        return Err(Problem::File {
            message: format!(
                "{} problems in the store, the first: {first}; restore a backup, or export what can be read",
                report.problems.len()
            ),
        });
    }
    Ok(format!(
        "all is well: {} documents, {} revisions, {} kept aside, {} analyses, {} readings\n",
        report.documents, report.revisions, report.side_versions, report.analyses, report.readings
    ))
}
