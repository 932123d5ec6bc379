//! Reading documents from files or standard input, and writing new files.

use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::path::Path;

use batch::MAX_BYTES;

use crate::problem::Problem;

/// A text and where it came from.
#[derive(Debug, Clone)]
pub struct Source {
    /// The name for messages.
    pub name: String,
    /// The text.
    pub text: String,
}

/// Reads a document; "-" is standard input.
///
/// # Errors
/// If the file cannot be read, is too large, or is not text.
pub fn read(path: &Path) -> Result<Source, Problem> {
    let (name, bytes) = if path == Path::new("-") {
        let name = "standard input".to_owned();
        let bytes = read_some(std::io::stdin().lock()).map_err(|e| Problem::read(&name, &e))?;
        (name, bytes)
    } else {
        let name = path.display().to_string();
        let file = File::open(path).map_err(|e| Problem::read(&name, &e))?;
        let bytes = read_some(file).map_err(|e| Problem::read(&name, &e))?;
        (name, bytes)
    };
    if bytes.len() > MAX_BYTES {
        return Err(Problem::TooLarge { name });
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(Source { name, text }),
        Err(error) => Err(Problem::NotText {
            name,
            at: error.utf8_error().valid_up_to(),
        }),
    }
}

/// One byte more than is accepted is enough to know that it is too much.
fn read_some(from: impl Read) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Writes a file that does not exist yet.
///
/// # Errors
/// If it exists or cannot be written.
pub fn write_new(path: &Path, text: &str) -> Result<(), Problem> {
    let name = path.display().to_string();
    OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(path)
        .and_then(|mut file| {
            file.write_all(text.as_bytes())
                .and_then(|()| file.sync_all())
        })
        .map_err(|e| Problem::write(&name, &e))
}
