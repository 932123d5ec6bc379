//! The pooled study: what the batches of many brewers say together.
//!
//! [`gather`](gather::gather) takes one row of rounded figures of each batch whose owner
//! agreed, [`synthesise`](synthesise::synthesise) makes rows of known laws in their place,
//! [`answer`](answer::answer) asks a folder of such rows its questions: in this process or
//! on the executors of a [`cluster`]. What too few owners say is not told ([`suppress`]).

pub mod answer;
#[cfg(test)]
mod attack;
pub mod cluster;
pub mod comoments;
pub mod engine;
pub mod folder;
pub mod functions;
pub mod gather;
pub mod row;
pub mod same;
pub mod sketch;
pub mod suppress;
pub mod synthesise;
mod table;

use std::path::{Path, PathBuf};

/// What can go wrong in a study.
#[derive(Debug, thiserror::Error)]
pub enum StudyError {
    /// A file or folder.
    #[error("{}: {source}", path.display())]
    File {
        /// Which.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A folder that holds Parquet already.
    #[error("{} holds Parquet already: two gatherings must not mix; name a new folder", path.display())]
    Taken {
        /// Which.
        path: PathBuf,
    },
    /// A store that cannot be read.
    #[error(transparent)]
    App(#[from] app::AppError),
    /// A text or a list of a store that cannot be read.
    #[error(transparent)]
    Store(#[from] store::StoreError),
    /// Parquet that cannot be written.
    #[error("writing Parquet: {0}")]
    Parquet(#[from] datafusion::parquet::errors::ParquetError),
    /// The engine refuses.
    #[error("the engine: {0}")]
    Engine(#[from] datafusion::error::DataFusionError),
    /// Rows of another shape.
    #[error("the engine: {0}")]
    Arrow(#[from] datafusion::arrow::error::ArrowError),
    /// The engine answers something else than it was asked.
    #[error("the engine did not answer with {0}; was the folder written by another version?")]
    Shape(&'static str),
    /// A scheduler or an executor that cannot run.
    #[error("the cluster: {0}")]
    Cluster(String),
    /// The system gives no random numbers.
    #[error("the system gives no random numbers: {0}")]
    NoChance(String),
}

impl StudyError {
    pub(crate) fn file(path: &Path, source: std::io::Error) -> Self {
        Self::File {
            path: path.to_owned(),
            source,
        }
    }
}
