//! Where a store lives.

use std::fmt;
use std::path::{Path, PathBuf};

use etcetera::BaseStrategy as _;

use crate::StoreError;

/// Where a store lives: in one file, or in a database of a PostgreSQL server.
///
/// A text that starts with `postgres://` or `postgresql://` is a server,
/// anything else is the name of a file, with or without `sqlite:` or `sqlite://`
/// before it. `Display` leaves out a password.
#[derive(Clone, PartialEq, Eq)]
pub enum Place {
    /// One SQLite file, with its `-wal` and `-shm` companions beside it.
    File(PathBuf),
    /// The URL of a PostgreSQL database. The connection is not encrypted, so
    /// use it on one machine or inside a trusted network.
    Server(String),
}

impl From<&str> for Place {
    fn from(text: &str) -> Self {
        if text.starts_with("postgres://") || text.starts_with("postgresql://") {
            Self::Server(text.to_owned())
        } else {
            let path = text
                .strip_prefix("sqlite:")
                .map(|path| path.strip_prefix("//").unwrap_or(path));
            Self::File(PathBuf::from(path.unwrap_or(text)))
        }
    }
}

impl From<String> for Place {
    fn from(text: String) -> Self {
        text.as_str().into()
    }
}

impl From<PathBuf> for Place {
    fn from(path: PathBuf) -> Self {
        Self::File(path)
    }
}

impl From<&Path> for Place {
    fn from(path: &Path) -> Self {
        Self::File(path.to_owned())
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File(path) => path.display().fmt(f),
            Self::Server(url) => f.write_str(&without_secrets(url)),
        }
    }
}

impl fmt::Debug for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Place({self})")
    }
}

/// The URL without password and without its query, which may hold one too.
fn without_secrets(url: &str) -> String {
    let url = url.split(['?', '#']).next().unwrap_or(url);
    let Some((scheme, rest)) = url.split_once("://") else {
        return url.to_owned();
    };
    // A password may itself hold an '@', so the last one ends it.
    match rest.rsplit_once('@') {
        Some((who, place)) => {
            let user = who.split(':').next().unwrap_or(who);
            format!("{scheme}://{user}@{place}")
        }
        None => url.to_owned(),
    }
}

/// The file of the store when none is named: `gylewright/gylewright.db` in the
/// folder that the platform keeps for a user's data.
///
/// # Errors
/// [`StoreError::NoDataFolder`] if the platform names none.
pub fn default_path() -> Result<PathBuf, StoreError> {
    let folders = etcetera::base_strategy::choose_native_strategy().map_err(|why| {
        StoreError::NoDataFolder {
            why: why.to_string(),
        }
    })?;
    Ok(folders.data_dir().join("gylewright").join("gylewright.db"))
}

/// `path` with `addition` behind its whole name.
pub(crate) fn beside(path: &Path, addition: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(addition);
    PathBuf::from(name)
}

/// The first of `path` + `addition`, `path` + `addition` + `-2`, ... that does
/// not exist yet.
pub(crate) fn free_name_beside(path: &Path, addition: &str) -> PathBuf {
    let mut name = beside(path, addition);
    let mut n = 2_u32;
    while name.exists() {
        name = beside(path, &format!("{addition}-{n}"));
        n = n.saturating_add(1);
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_is_a_server_only_with_its_scheme() {
        for url in ["postgres://localhost/club", "postgresql://u@h:5433/x"] {
            assert_eq!(Place::from(url), Place::Server(url.to_owned()));
        }
        for path in ["club.db", "/srv/postgres", "postgres.db"] {
            for prefix in ["", "sqlite:", "sqlite://"] {
                let place = Place::from(format!("{prefix}{path}"));
                assert_eq!(place, Place::File(PathBuf::from(path)));
            }
        }
    }

    #[test]
    fn no_secret_is_shown() {
        for (url, shown) in [
            (
                "postgres://ann:se@cr:et@host:5432/club",
                "postgres://ann@host:5432/club",
            ),
            (
                "postgres://ann@host/club?password=secret",
                "postgres://ann@host/club",
            ),
            ("postgres://host/club", "postgres://host/club"),
        ] {
            let place = Place::from(url);
            assert_eq!(place.to_string(), shown);
            assert_eq!(format!("{place:?}"), format!("Place({shown})"));
        }
    }

    #[test]
    fn the_default_is_one_file_in_a_folder_of_its_own() {
        let path = default_path().unwrap();
        assert!(path.is_absolute());
        assert!(
            path.ends_with("gylewright/gylewright.db"),
            "{}",
            path.display()
        );
    }
}
