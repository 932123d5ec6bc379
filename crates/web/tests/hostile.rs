//! The server under attack: input that no honest page sends, names that look like
//! markup, other sites, other names, requests without an end.
//!
//! `hostile/corpus` keeps one folder of files an entry point; a file that once broke
//! something stays there. `PROPTEST_CASES=2000 cargo test --workspace --test hostile` runs longer.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test fails by panicking"
)]

#[expect(dead_code, reason = "what the tests of the API ask with")]
#[path = "api/bench.rs"]
mod bench;
// First, since tests run by their names: it waits for half a minute while others work.
#[path = "hostile/clients.rs"]
mod clients;
#[path = "hostile/corpus.rs"]
mod corpus;
#[path = "api/described.rs"]
mod described;
#[path = "hostile/doors.rs"]
mod doors;
#[path = "hostile/entry.rs"]
mod entry;
#[path = "hostile/house.rs"]
mod house;
#[path = "hostile/markup.rs"]
mod markup;
#[path = "hostile/mutations.rs"]
mod mutations;
#[path = "hostile/names.rs"]
mod names;
#[path = "hostile/people.rs"]
mod people;
