//! The program run in a folder of its own.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A folder of a test with a store in it, gone afterwards.
pub struct Place(PathBuf);

impl Place {
    pub fn new(name: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("gyle-{name}-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        Self(folder)
    }

    /// The path of a file of it.
    pub fn path(&self, name: &str) -> String {
        self.0.join(name).to_str().unwrap().to_owned()
    }

    pub fn gyle(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_gyle"))
            .args(args)
            .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
            .env("GYLEWRIGHT_STORE", self.path("batches.db"))
            .env("NO_COLOR", "1")
            .output()
            .unwrap()
    }

    #[track_caller]
    pub fn fine(&self, args: &[&str]) -> String {
        let output = self.gyle(args);
        let err = String::from_utf8(output.stderr).unwrap();
        assert!(output.status.success(), "{err}");
        String::from_utf8(output.stdout).unwrap()
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
