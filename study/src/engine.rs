//! The engine that answers: in this process, or a scheduler with executors elsewhere.

use std::path::Path;
use std::sync::Arc;

use ballista::prelude::SessionContextExt as _;
use datafusion::arrow::array::{Array as _, AsArray as _, RecordBatch};
use datafusion::arrow::datatypes::{Float64Type, Int64Type, UInt64Type};
use datafusion::execution::SessionStateBuilder;
use datafusion::prelude::{ParquetReadOptions, SessionConfig, SessionContext};

use crate::StudyError;
use crate::functions::{functions, lists};

/// Something that answers questions over one folder.
pub struct Engine {
    context: SessionContext,
}

impl std::fmt::Debug for Engine {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Engine")
    }
}

impl Engine {
    /// In this process.
    ///
    /// # Errors
    /// [`StudyError::Engine`] if the folder holds no rows of a study.
    pub async fn here(data: &str) -> Result<Self, StudyError> {
        Self::over(SessionContext::new(), data).await
    }

    /// On the executors of a scheduler, such as "127.0.0.1:50050". They read the folder
    /// themselves, so that it must lie at the same path for all of them.
    ///
    /// # Errors
    /// [`StudyError::Engine`] if the scheduler cannot be reached, or as [`Self::here`].
    pub async fn on(scheduler: &str, data: &str) -> Result<Self, StudyError> {
        let state = SessionStateBuilder::new()
            .with_config(SessionConfig::new())
            .with_default_features()
            .build();
        let url = format!("df://{scheduler}");
        let context = SessionContext::remote_with_state(&url, state).await?;
        Self::over(context, data).await
    }

    async fn over(context: SessionContext, data: &str) -> Result<Self, StudyError> {
        if Path::new(data).is_relative() && !data.contains("://") {
            let whole =
                std::fs::canonicalize(data).map_err(|e| StudyError::file(Path::new(data), e))?;
            return Box::pin(Self::over(context, &whole.to_string_lossy())).await;
        }
        // A remote context forgets what the state before it knew.
        for function in functions() {
            context.register_udaf(Arc::unwrap_or_clone(function));
        }
        let schema = crate::row::schema();
        let options = ParquetReadOptions::default().schema(&schema);
        context.register_parquet("study", data, options).await?;
        Ok(Self { context })
    }

    /// The rows of a query.
    ///
    /// # Errors
    /// [`StudyError::Engine`].
    pub async fn ask(&self, query: &str) -> Result<Vec<RecordBatch>, StudyError> {
        Ok(self.context.sql(query).await?.collect().await?)
    }
}

/// The texts of a column, batch after batch; no text is an empty one.
pub(crate) fn texts(batches: &[RecordBatch], at: usize) -> Result<Vec<Option<String>>, StudyError> {
    let mut all = Vec::new();
    for batch in batches {
        let column = batch.column(at);
        let column = datafusion::arrow::compute::cast(
            column,
            &datafusion::arrow::datatypes::DataType::Utf8,
        )?;
        let column = column
            .as_string_opt::<i32>()
            .ok_or(StudyError::Shape("a text"))?;
        all.extend(column.iter().map(|text| text.map(str::to_owned)));
    }
    Ok(all)
}

/// The whole numbers of a column; none is nought.
pub(crate) fn counts(batches: &[RecordBatch], at: usize) -> Result<Vec<u64>, StudyError> {
    let mut all = Vec::new();
    for batch in batches {
        let column = datafusion::arrow::compute::cast(
            batch.column(at),
            &datafusion::arrow::datatypes::DataType::Int64,
        )?;
        let column = column
            .as_primitive_opt::<Int64Type>()
            .ok_or(StudyError::Shape("a count"))?;
        let count = |i| {
            if column.is_null(i) {
                0
            } else {
                column.value(i).unsigned_abs()
            }
        };
        all.extend((0..column.len()).map(count));
    }
    Ok(all)
}

/// The numbers that stand for something.
pub(crate) fn pseudonyms(batches: &[RecordBatch], at: usize) -> Result<Vec<u64>, StudyError> {
    let mut all = Vec::new();
    for batch in batches {
        let column = batch.column(at).as_primitive_opt::<UInt64Type>();
        all.extend(column.ok_or(StudyError::Shape("owners"))?.values());
    }
    Ok(all)
}

/// The lists of numbers of a column.
pub(crate) fn number_lists(
    batches: &[RecordBatch],
    at: usize,
) -> Result<Vec<Vec<f64>>, StudyError> {
    let mut all = Vec::new();
    for batch in batches {
        all.extend(lists::<Float64Type>(
            &[Arc::clone(batch.column(at))],
            "an answer",
        )?);
    }
    Ok(all)
}

/// The lists of whole numbers of a column.
pub(crate) fn bin_lists(batches: &[RecordBatch], at: usize) -> Result<Vec<Vec<i64>>, StudyError> {
    let mut all = Vec::new();
    for batch in batches {
        all.extend(lists::<Int64Type>(
            &[Arc::clone(batch.column(at))],
            "an answer",
        )?);
    }
    Ok(all)
}
