//! Passwords: which may be chosen, and their hashes.
//!
//! Argon2id (RFC 9106) with the costs that the crate recommends (19 MiB, 2 passes, 1 lane).
//! The string that is kept says how it was made, so that the costs can grow later.

use std::fmt;
use std::sync::{LazyLock, OnceLock};

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher as _, PasswordVerifier as _};
use tokio::sync::Semaphore;

use crate::AppError;

/// A password has at least so many letters.
pub const LEAST_LETTERS: usize = 12;
/// And at most so many: a hash of a book would only be work.
pub const MOST_LETTERS: usize = 200;
/// So many hashes are made at once; each takes 19 MiB. Whoever comes next waits.
const AT_ONCE: usize = 2;

static PLACES: Semaphore = Semaphore::const_new(AT_ONCE);

/// What people choose first, written without marks and figures around: from memory, common
/// words of such lists that are long enough when they are doubled or numbered.
static COMMON: LazyLock<Vec<&str>> =
    LazyLock::new(|| include_str!("common.txt").split_whitespace().collect());

/// Why a password cannot be chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PasswordFault {
    /// It is too short.
    Short,
    /// It is too long.
    Long,
    /// The name is in it.
    Name,
    /// It is among those that are tried first.
    Common,
}

impl fmt::Display for PasswordFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Short => write!(
                f,
                "a password has at least {LEAST_LETTERS} letters: take four words that do not belong together"
            ),
            Self::Long => write!(f, "a password has at most {MOST_LETTERS} letters"),
            Self::Name => {
                f.write_str("the name is in the password, and is tried first: take something else")
            }
            Self::Common => f.write_str(
                "this password is among those that are tried first: take four words that do not belong together",
            ),
        }
    }
}

/// Whether a password may be chosen.
pub(super) fn check(password: &str, name: &str) -> Result<(), PasswordFault> {
    let letters = password.chars().count();
    if letters < LEAST_LETTERS {
        return Err(PasswordFault::Short);
    }
    if letters > MOST_LETTERS {
        return Err(PasswordFault::Long);
    }
    let plain = password.to_lowercase();
    if name.len() >= 4 && plain.contains(name) {
        return Err(PasswordFault::Name);
    }
    if is_common(&plain) {
        return Err(PasswordFault::Common);
    }
    Ok(())
}

/// A common word, doubled, or with figures and marks around it; or a few letters again and
/// again, or in the order of the keys.
fn is_common(plain: &str) -> bool {
    let different: std::collections::BTreeSet<char> = plain.chars().collect();
    if different.len() < 5 {
        return true;
    }
    if [
        "0123456789012345678901234567890",
        "9876543210987654321098765432109",
    ]
    .iter()
    .any(|row| row.contains(plain))
    {
        return true;
    }
    let mut rest = plain.to_owned();
    for word in COMMON.iter() {
        rest = rest.replace(word, " ");
    }
    // What is left of "password1234!" beside the common word is no secret of its own.
    let own = rest
        .trim_matches(|c: char| !c.is_alphabetic())
        .chars()
        .filter(|c| c.is_alphabetic())
        .count();
    rest != plain && own == 0
}

/// The hash of a password, made where it holds nobody up.
pub(super) async fn hash(password: &str) -> Result<String, AppError> {
    let password = password.to_owned();
    aside(move || made(&password)).await?
}

/// Whether this is the password of a hash. Without a hash the answer is no, after the same
/// work.
pub(super) async fn is(password: &str, hash: Option<String>) -> Result<bool, AppError> {
    if password.chars().count() > MOST_LETTERS {
        return Ok(false);
    }
    let password = password.to_owned();
    aside(move || {
        let nobody = nobody()?;
        let known = hash.is_some();
        let hash = hash.as_deref().unwrap_or(nobody);
        let Ok(hash) = PasswordHash::new(hash) else {
            return Ok(false);
        };
        let right = Argon2::default()
            .verify_password(password.as_bytes(), &hash)
            .is_ok();
        Ok(right && known)
    })
    .await?
}

/// A hash that is nobody's.
fn nobody() -> Result<&'static str, AppError> {
    static NOBODY: OnceLock<String> = OnceLock::new();
    if let Some(hash) = NOBODY.get() {
        return Ok(hash);
    }
    let hash = made("a password that nobody has")?;
    Ok(NOBODY.get_or_init(|| hash))
}

fn made(password: &str) -> Result<String, AppError> {
    let hash = Argon2::default().hash_password(password.as_bytes());
    hash.map(|hash| hash.to_string())
        .map_err(|e| AppError::Hash(e.to_string()))
}

async fn aside<T: Send + 'static>(
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, AppError> {
    let place = PLACES.acquire().await;
    let place = place.map_err(|e| AppError::Hash(e.to_string()))?;
    let held = move || {
        let done = work();
        drop(place);
        done
    };
    let done = tokio::task::spawn_blocking(held).await;
    done.map_err(|e| AppError::Hash(e.to_string()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_tried_first_cannot_be_chosen() {
        for (bad, why) in [
            ("short", PasswordFault::Short),
            ("password1234", PasswordFault::Common),
            ("PasswordPassword", PasswordFault::Common),
            ("letmein-letmein", PasswordFault::Common),
            ("123456789012", PasswordFault::Common),
            ("aaaaaaaaaaaaaa", PasswordFault::Common),
            ("qwertyuiop123", PasswordFault::Common),
            ("my name is Maltster", PasswordFault::Name),
        ] {
            assert_eq!(check(bad, "maltster"), Err(why), "{bad}");
        }
        assert_eq!(
            check(&"a1 b2 c3 ".repeat(30), "x"),
            Err(PasswordFault::Long)
        );
        for fine in ["ladle copper tide eleven", "qwerty over the copper tun"] {
            assert_eq!(check(fine, "maltster"), Ok(()), "{fine}");
        }
    }

    #[tokio::test]
    async fn a_hash_says_how_it_was_made_and_knows_its_password_alone() {
        let kept = hash("ladle copper tide eleven").await.unwrap();
        assert!(
            kept.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"),
            "{kept}"
        );
        assert_ne!(hash("ladle copper tide eleven").await.unwrap(), kept);
        let same = |password: &'static str, hash: Option<String>| async move {
            is(password, hash).await.unwrap()
        };
        assert!(same("ladle copper tide eleven", Some(kept.clone())).await);
        assert!(!same("ladle copper tide twelve", Some(kept)).await);
        assert!(!same("a password that nobody has", None).await);
        assert!(!same("anything", Some("no hash".to_owned())).await);
    }
}
