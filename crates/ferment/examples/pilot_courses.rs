//! Writes docs/pilot-courses.md to standard output.

use std::io::Write;

#[path = "../tests/pilots/mod.rs"]
mod pilots;

fn main() -> std::io::Result<()> {
    std::io::stdout().write_all(pilots::page(&pilots::table()).as_bytes())
}
