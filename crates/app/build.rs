//! The version of everything that reckons: a hash of its sources, so that what one build
//! found is not taken for what another would find, and nobody has to remember to count a
//! number up.

#![allow(clippy::print_stdout, reason = "what a build script prints is for cargo")]

use std::error::Error;
use std::fs;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};

/// The crates whose code makes a result.
const CRATES: [&str; 9] = [
    "app", "batch", "ferment", "glass", "inquiry", "package", "quantity", "water", "wort",
];
/// What of each counts.
const PARTS: [&str; 2] = ["src", "data"];

fn main() -> Result<(), Box<dyn Error>> {
    let crates = PathBuf::from(std::env::var("CARGO_MANIFEST_DIR")?).join("..");
    let mut files = Vec::new();
    for name in CRATES {
        for part in PARTS {
            let folder = crates.join(name).join(part);
            if folder.is_dir() {
                println!("cargo::rerun-if-changed={}", folder.display());
                collect(&folder, &mut files)?;
            }
        }
    }
    files.sort();
    let mut hasher = DefaultHasher::new();
    for file in files {
        let name = file.strip_prefix(&crates)?.to_string_lossy().into_owned();
        // A separator by another name is the same file, and so is another end of lines.
        name.replace('\\', "/").hash(&mut hasher);
        let text = fs::read(&file)?;
        let text: Vec<u8> = text.into_iter().filter(|byte| *byte != b'\r').collect();
        text.hash(&mut hasher);
    }
    println!("cargo::rustc-env=GYLEWRIGHT_CODE={:016x}", hasher.finish());
    Ok(())
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> std::io::Result<()> {
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            collect(&path, files)?;
        } else {
            files.push(path);
        }
    }
    Ok(())
}
