//! A folder of Parquet files: `part-00001.parquet` and on, some ten thousand rows each.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

use datafusion::parquet::arrow::ArrowWriter;
use datafusion::parquet::basic::Compression;
use datafusion::parquet::file::properties::WriterProperties;

use crate::StudyError;
use crate::row::{Row, record_batch, schema};

/// Rows in a file.
pub const ROWS_OF_FILE: usize = 10_000;

/// A folder that rows are written to.
#[derive(Debug)]
pub struct Folder {
    path: PathBuf,
    unwritten: Vec<Row>,
    files: usize,
    rows: u64,
    bytes: u64,
}

/// What was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Written {
    /// Files.
    pub files: usize,
    /// Rows in all of them.
    pub rows: u64,
    /// Bytes of all of them.
    pub bytes: u64,
}

impl Folder {
    /// Makes the folder, or takes one that holds no Parquet yet.
    ///
    /// # Errors
    /// [`StudyError::Taken`] where it holds some, so that two gatherings never mix;
    /// [`StudyError::File`].
    pub fn make(path: &Path) -> Result<Self, StudyError> {
        let file = |e| StudyError::file(path, e);
        fs::create_dir_all(path).map_err(file)?;
        for entry in fs::read_dir(path).map_err(file)? {
            let name = entry.map_err(file)?.path();
            if name.extension().is_some_and(|kind| kind == "parquet") {
                return Err(StudyError::Taken {
                    path: path.to_owned(),
                });
            }
        }
        Ok(Self {
            path: path.to_owned(),
            unwritten: Vec::new(),
            files: 0,
            rows: 0,
            bytes: 0,
        })
    }

    /// Adds rows, rounded; whole files are written at once.
    ///
    /// # Errors
    /// [`StudyError::File`], [`StudyError::Parquet`].
    pub fn add(&mut self, rows: impl IntoIterator<Item = Row>) -> Result<(), StudyError> {
        for row in rows {
            self.unwritten.push(row.rounded());
            if self.unwritten.len() == ROWS_OF_FILE {
                self.write()?;
            }
        }
        Ok(())
    }

    /// Writes what is left.
    ///
    /// # Errors
    /// As [`Self::add`].
    pub fn finish(mut self) -> Result<Written, StudyError> {
        if !self.unwritten.is_empty() || self.files == 0 {
            self.write()?;
        }
        Ok(Written {
            files: self.files,
            rows: self.rows,
            bytes: self.bytes,
        })
    }

    fn write(&mut self) -> Result<(), StudyError> {
        self.files += 1;
        let written = self.write_part(self.files, &self.unwritten)?;
        self.bytes += written.bytes;
        self.rows += written.rows;
        self.unwritten.clear();
        Ok(())
    }

    /// Writes rows as the file of a number; half a file never bears the name of a whole one.
    ///
    /// # Errors
    /// As [`Self::add`].
    pub fn write_part(&self, number: usize, rows: &[Row]) -> Result<Written, StudyError> {
        let whole = self.path.join(format!("part-{number:05}.parquet"));
        let half = whole.with_extension("unfinished");
        let failed = |e| StudyError::file(&half, e);
        let settings = WriterProperties::builder()
            .set_compression(Compression::SNAPPY)
            .build();
        let file = File::create(&half).map_err(failed)?;
        let mut writer = ArrowWriter::try_new(file, schema(), Some(settings))?;
        writer.write(&record_batch(rows)?)?;
        let file = writer.into_inner()?;
        file.sync_all().map_err(failed)?;
        let bytes = file.metadata().map_err(failed)?.len();
        fs::rename(&half, &whole).map_err(failed)?;
        Ok(Written {
            files: 1,
            rows: rows.len() as u64,
            bytes,
        })
    }
}
