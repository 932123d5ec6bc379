//! One story, told to each engine, and what must hold whatever happens to it.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod backup;
mod consent;
mod devices;
mod folder;
mod ground;
mod jobs;
mod kill;
mod outside;
mod people;
mod postgres;
mod race;
mod schema;
mod story;
