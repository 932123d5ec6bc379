//! The roles of a cluster: one scheduler, any number of executors.
//!
//! Nothing between them is encrypted and nobody has to sign in: they are for one machine
//! or a private network. Both know the functions of the study; each executor reads the
//! folder of Parquet itself.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;

use ballista_core::registry::BallistaFunctionRegistry;
use ballista_executor::executor_process::{ExecutorProcessConfig, start_executor_process};
use ballista_scheduler::cluster::BallistaCluster;
use ballista_scheduler::config::SchedulerConfig;
use ballista_scheduler::scheduler_process::start_server;
use datafusion::execution::SessionStateBuilder;
use datafusion::prelude::SessionConfig;

use crate::StudyError;
use crate::functions::functions;

/// Between two signs of life of an executor \[s\].
const HEARTBEAT_S: u64 = 2;
/// Silence after which an executor counts as gone \[s\].
const GONE_AFTER_S: u64 = 10;
/// Between two looks for executors that are gone \[s\].
const LOOK_EVERY_S: u64 = 2;

/// Where an executor listens and what it is part of.
#[derive(Debug, Clone)]
pub struct ExecutorPlace {
    /// The scheduler's host and port.
    pub scheduler: (String, u16),
    /// The address that it listens at and is reached by.
    pub host: String,
    /// The port at which others fetch its partial results.
    pub port: u16,
    /// The port at which the scheduler hands it tasks.
    pub grpc_port: u16,
    /// Tasks at once.
    pub tasks: usize,
    /// The folder for partial results; a temporary one if none is named.
    pub work: Option<PathBuf>,
}

/// Runs a scheduler until it is stopped.
///
/// # Errors
/// [`StudyError::Cluster`] if it cannot listen there.
pub async fn scheduler(at: SocketAddr) -> Result<(), StudyError> {
    let config = SchedulerConfig {
        bind_host: at.ip().to_string(),
        external_host: at.ip().to_string(),
        bind_port: at.port(),
        executor_timeout_seconds: GONE_AFTER_S,
        expire_dead_executor_interval_seconds: LOOK_EVERY_S,
        no_executors_grace_period_seconds: 3 * GONE_AFTER_S,
        override_session_builder: Some(Arc::new(|config: SessionConfig| {
            Ok(SessionStateBuilder::new()
                .with_config(config)
                .with_default_features()
                .with_aggregate_functions(all_functions())
                .build())
        })),
        ..SchedulerConfig::default()
    };
    let cluster = BallistaCluster::new_from_config(&config)
        .await
        .map_err(failed)?;
    start_server(cluster, at, Arc::new(config))
        .await
        .map_err(failed)
}

/// The engine's own aggregate functions and those of the study.
fn all_functions() -> Vec<Arc<datafusion::logical_expr::AggregateUDF>> {
    let mut all = datafusion::functions_aggregate::all_default_aggregate_functions();
    all.extend(functions());
    all
}

/// Runs an executor until it is stopped.
///
/// # Errors
/// [`StudyError::Cluster`] if it cannot listen there, or finds no scheduler within half a
/// minute.
pub async fn executor(place: ExecutorPlace) -> Result<(), StudyError> {
    let mut registry = BallistaFunctionRegistry::default();
    for function in functions() {
        registry
            .aggregate_functions
            .insert(function.name().to_owned(), function);
    }
    let config = ExecutorProcessConfig {
        bind_host: place.host.clone(),
        external_host: Some(place.host),
        port: place.port,
        grpc_port: place.grpc_port,
        scheduler_host: place.scheduler.0,
        scheduler_port: place.scheduler.1,
        scheduler_connect_timeout_seconds: 30,
        vcores: place.tasks,
        work_dir: place.work.map(|w| w.to_string_lossy().into_owned()),
        executor_heartbeat_interval_seconds: HEARTBEAT_S,
        override_function_registry: Some(Arc::new(registry)),
        ..ExecutorProcessConfig::default()
    };
    start_executor_process(Arc::new(config))
        .await
        .map_err(failed)
}

fn failed(error: impl std::fmt::Display) -> StudyError {
    StudyError::Cluster(error.to_string())
}
