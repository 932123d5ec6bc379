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

/// The longest log that is read at once \[bytes\].
const LOG_BYTES: usize = 512 << 20;

/// Reads a document; "-" is standard input.
///
/// # Errors
/// If the file cannot be read, is too large, or is not text.
pub fn read(path: &Path) -> Result<Source, Problem> {
    read_up_to(path, MAX_BYTES)
}

/// Reads a log, which may be long.
///
/// # Errors
/// As [`read`].
pub fn read_log(path: &Path) -> Result<Source, Problem> {
    read_up_to(path, LOG_BYTES)
}

fn read_up_to(path: &Path, most: usize) -> Result<Source, Problem> {
    let (name, bytes) = if path == Path::new("-") {
        let name = "standard input".to_owned();
        let bytes =
            read_some(std::io::stdin().lock(), most).map_err(|e| Problem::read(&name, &e))?;
        (name, bytes)
    } else {
        let name = path.display().to_string();
        let file = File::open(path).map_err(|e| Problem::read(&name, &e))?;
        let bytes = read_some(file, most).map_err(|e| Problem::read(&name, &e))?;
        (name, bytes)
    };
    if bytes.len() > most {
        return Err(Problem::TooLarge { name, most });
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
fn read_some(from: impl Read, most: usize) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    from.take(most as u64 + 1).read_to_end(&mut bytes)?;
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
