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

/// The longest message that is read at once \[bytes\].
const PACK_BYTES: usize = 64 << 20;
/// So much of a log tells what its columns hold \[bytes\].
const HEAD_BYTES: usize = 64 << 10;

/// A log that is read bit by bit.
pub struct OpenLog {
    /// The name for messages.
    pub name: String,
    /// Its beginning.
    pub head: String,
    /// All of it, from the beginning on.
    pub all: Box<dyn Read + Send>,
    /// How many bytes it has, where that is known.
    pub whole: Option<u64>,
}

/// Reads a document; "-" is standard input.
///
/// # Errors
/// If the file cannot be read, is too large, or is not text.
pub fn read(path: &Path) -> Result<Source, Problem> {
    read_up_to(path, MAX_BYTES)
}

/// Reads a log or a pack that is looked at as a whole.
///
/// # Errors
/// As [`read`].
pub fn read_log(path: &Path) -> Result<Source, Problem> {
    read_up_to(path, PACK_BYTES)
}

/// Opens a log, however long it is; "-" is standard input.
///
/// # Errors
/// If the file cannot be read.
pub fn open_log(path: &Path) -> Result<OpenLog, Problem> {
    let (name, mut from, whole): (String, Box<dyn Read + Send>, Option<u64>) =
        if path == Path::new("-") {
            let from = Box::new(std::io::stdin());
            ("standard input".to_owned(), from, None)
        } else {
            let name = path.display().to_string();
            let file = File::open(path).map_err(|e| Problem::read(&name, &e))?;
            let whole = file.metadata().ok().map(|m| m.len());
            (name, Box::new(file), whole)
        };
    let mut head = Vec::new();
    from.by_ref()
        .take(HEAD_BYTES as u64)
        .read_to_end(&mut head)
        .map_err(|e| Problem::read(&name, &e))?;
    Ok(OpenLog {
        name,
        head: batch::log::head(&head, head.len() < HEAD_BYTES),
        all: Box::new(std::io::Cursor::new(head).chain(from)),
        whole,
    })
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
