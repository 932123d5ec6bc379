//! The names of things in the store: kinds, identifiers, numbers, times.

use std::fmt;
use std::str::FromStr;

use crate::StoreError;

/// What a document is about.
///
/// A new kind needs no change of the tables; add it here and to [`Kind::ALL`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
pub enum Kind {
    /// One brewing, from plan to glass.
    Batch,
    /// The constants of one kit.
    Brewhouse,
    /// A source of water; it may hold dated analyses.
    Water,
    /// Malts, hops, yeasts and salts at hand.
    Stores,
    /// What a panel tasted.
    Tasting,
    /// Findings, causes and the tests that decide between them.
    Inquiry,
}

impl Kind {
    /// Every kind, in the order in which lists show them.
    pub const ALL: [Self; 6] = [
        Self::Batch,
        Self::Brewhouse,
        Self::Water,
        Self::Stores,
        Self::Tasting,
        Self::Inquiry,
    ];

    /// The word for this kind, as it stands in the tables and in folder names.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Batch => "batch",
            Self::Brewhouse => "brewhouse",
            Self::Water => "water",
            Self::Stores => "stores",
            Self::Tasting => "tasting",
            Self::Inquiry => "inquiry",
        }
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl FromStr for Kind {
    type Err = StoreError;

    fn from_str(word: &str) -> Result<Self, StoreError> {
        Self::ALL
            .into_iter()
            .find(|kind| kind.word() == word)
            .ok_or_else(|| {
                let known: Vec<&str> = Self::ALL.iter().map(|kind| kind.word()).collect();
                StoreError::impossible(
                    "kind of document",
                    word,
                    format!("one of {}", known.join(", ")),
                )
            })
    }
}

macro_rules! identifier {
    ($(#[$doc:meta])* $name:ident, $what:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(uuid::Uuid);

        impl $name {
            /// A fresh identifier that sorts by `at`; its last 74 bits are random.
            #[must_use]
            pub fn new(at: Timestamp) -> Self {
                Self(fresh(at))
            }

            /// The last twelve hexadecimal digits: enough to tell documents
            /// apart on a screen, not a key.
            #[must_use]
            pub fn short(self) -> String {
                let whole = self.to_string();
                whole.rsplit('-').next().unwrap_or(&whole).to_owned()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.hyphenated().fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = StoreError;

            /// Accepts the form that `Display` writes and no other, so that one
            /// identifier has one spelling in tables and file names.
            fn from_str(text: &str) -> Result<Self, StoreError> {
                uuid::Uuid::try_parse(text)
                    .ok()
                    .filter(|id| id.get_version_num() == 7 && id.hyphenated().to_string() == text)
                    .map(Self)
                    .ok_or_else(|| StoreError::impossible(
                        $what,
                        text,
                        "a UUID of version 7 in lower case, such as 019f1c2e-7a40-7c11-9d3e-5b0c4f2a8e61",
                    ))
            }
        }
    };
}

identifier! {
    /// The identifier of a document: a UUID of version 7 (RFC 9562), which
    /// sorts by the time it was made.
    DocumentId, "document id"
}

identifier! {
    /// The identifier of a side version: a text that was refused because it was
    /// written on a revision that was no longer the newest, and kept.
    SideId, "side version id"
}

identifier! {
    /// The identifier of a job.
    JobId, "job id"
}

identifier! {
    /// The identifier of a device that sends readings.
    DeviceId, "device id"
}

identifier! {
    /// The identifier of an account.
    AccountId, "account id"
}

identifier! {
    /// The identifier of a group of people, to whom documents belong.
    GroupId, "group id"
}

identifier! {
    /// The identifier of a session. It opens nothing: that is its token's work.
    SessionId, "session id"
}

identifier! {
    /// The identifier of an invitation. It opens nothing: that is its token's work.
    InvitationId, "invitation id"
}

identifier! {
    /// The identifier of a token for programs. It opens nothing by itself.
    TokenId, "token id"
}

fn fresh(at: Timestamp) -> uuid::Uuid {
    // `Timestamp` is within 1970 to 9999, so both casts are exact.
    let seconds = u64::try_from(at.ms() / 1000).unwrap_or_default();
    let nanos = u32::try_from(at.ms() % 1000).unwrap_or_default() * 1_000_000;
    uuid::Uuid::new_v7(uuid::Timestamp::from_unix(uuid::NoContext, seconds, nanos))
}

/// The number of a revision, counted from one without gaps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RevisionNumber(u32);

impl RevisionNumber {
    /// The revision that a document starts with.
    pub const FIRST: Self = Self(1);

    /// The number `n`.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for zero and for more than `i32::MAX`.
    pub fn new(n: u32) -> Result<Self, StoreError> {
        if n == 0 || i32::try_from(n).is_err() {
            return Err(StoreError::impossible(
                "revision number",
                n,
                "a whole number from 1",
            ));
        }
        Ok(Self(n))
    }

    /// The bare number.
    #[must_use]
    pub const fn get(self) -> u32 {
        self.0
    }

    /// The number after this one.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }

    pub(crate) fn from_row(n: i64) -> Result<Self, StoreError> {
        u32::try_from(n)
            .ok()
            .and_then(|n| Self::new(n).ok())
            .ok_or_else(|| StoreError::unreadable("revision number", n))
    }
}

impl fmt::Display for RevisionNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for RevisionNumber {
    type Err = StoreError;

    fn from_str(text: &str) -> Result<Self, StoreError> {
        text.parse().map_or_else(
            |_| {
                Err(StoreError::impossible(
                    "revision number",
                    text,
                    "a whole number from 1",
                ))
            },
            Self::new,
        )
    }
}

/// An instant in UTC, to the millisecond \[ms since 1970-01-01\].
///
/// The store reads no clock: whoever saves says when. `Display` and `FromStr`
/// use RFC 3339 with three decimals, `2026-03-14T09:26:53.589Z`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Timestamp(i64);

impl Timestamp {
    /// The earliest instant the store keeps: 1970-01-01.
    pub const MIN: Self = Self(0);
    /// The latest instant the store keeps: the last millisecond of 9998.
    /// (A year short of 9999, so that no time zone carries it over.)
    pub const MAX: Self = Self(253_370_764_799_999);

    /// The instant `ms` milliseconds after 1970-01-01T00:00:00Z.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] outside 1970 to 9998.
    pub fn from_ms(ms: i64) -> Result<Self, StoreError> {
        if (Self::MIN.0..=Self::MAX.0).contains(&ms) {
            Ok(Self(ms))
        } else {
            Err(StoreError::impossible(
                "time",
                format!("{ms} ms since 1970"),
                "an instant in the years 1970 to 9998",
            ))
        }
    }

    /// Milliseconds since 1970-01-01T00:00:00Z \[ms\].
    #[must_use]
    pub const fn ms(self) -> i64 {
        self.0
    }

    pub(crate) fn from_row(ms: i64) -> Result<Self, StoreError> {
        Self::from_ms(ms).map_err(|_| StoreError::unreadable("time", ms))
    }
}

impl fmt::Display for Timestamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let instant = jiff::Timestamp::from_millisecond(self.0).map_err(|_| fmt::Error)?;
        write!(f, "{instant:.3}")
    }
}

impl FromStr for Timestamp {
    type Err = StoreError;

    fn from_str(text: &str) -> Result<Self, StoreError> {
        let wanted = "an RFC 3339 instant such as 2026-03-14T09:26:53.589Z";
        let instant: jiff::Timestamp = text
            .parse()
            .map_err(|_| StoreError::impossible("time", text, wanted))?;
        Self::from_ms(instant.as_millisecond())
    }
}

/// A day of the calendar, `2026-03-14`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(jiff::civil::Date);

impl Day {
    /// Days from an earlier day to this one; below zero if that one is later.
    #[must_use]
    pub fn days_since(self, earlier: Self) -> i64 {
        self.0.duration_since(earlier.0).as_hours() / 24
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl FromStr for Day {
    type Err = StoreError;

    fn from_str(text: &str) -> Result<Self, StoreError> {
        text.parse::<jiff::civil::Date>()
            .ok()
            .map(Self)
            .filter(|day| (1..=9999).contains(&day.0.year()) && day.to_string() == text)
            .ok_or_else(|| StoreError::impossible("date", text, "a day such as 2026-03-14"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_kind_is_read_back_from_its_word() {
        for kind in Kind::ALL {
            assert_eq!(kind.word().parse::<Kind>().unwrap(), kind);
        }
        let said = "beer".parse::<Kind>().unwrap_err().to_string();
        assert!(
            said.contains("\"beer\"") && said.contains("batch, brewhouse"),
            "{said}"
        );
    }

    #[test]
    fn the_latest_instant_is_the_last_millisecond_of_9998() {
        assert_eq!(Timestamp::MAX.to_string(), "9998-12-31T23:59:59.999Z");
        assert_eq!(Timestamp::MIN.to_string(), "1970-01-01T00:00:00.000Z");
        assert!(Timestamp::from_ms(Timestamp::MAX.ms() + 1).is_err());
        assert!(Timestamp::from_ms(-1).is_err());
    }

    #[test]
    fn days_between_are_those_of_the_calendar() {
        let day = |text: &str| text.parse::<Day>().unwrap();
        assert_eq!(day("2028-03-01").days_since(day("2028-02-28")), 2);
        assert_eq!(day("2026-01-01").days_since(day("2026-12-31")), -364);
    }

    #[test]
    fn days_that_do_not_exist_are_refused() {
        for bad in [
            "2026-02-29",
            "2026-13-01",
            "14.03.2026",
            "2026-3-14",
            "",
            "-000001-01-01",
        ] {
            assert!(bad.parse::<Day>().is_err(), "{bad}");
        }
        assert_eq!(
            "2028-02-29".parse::<Day>().unwrap().to_string(),
            "2028-02-29"
        );
    }

    #[test]
    fn an_identifier_has_one_spelling() {
        let id = DocumentId::new(Timestamp::from_ms(1_773_480_413_589).unwrap());
        let text = id.to_string();
        assert_eq!(text.parse::<DocumentId>().unwrap(), id);
        for other in [
            text.to_uppercase(),
            text.replace('-', ""),
            format!("{{{text}}}"),
        ] {
            assert!(other.parse::<DocumentId>().is_err(), "{other}");
        }
        assert!(text.ends_with(&id.short()) && id.short().len() == 12);
    }

    proptest! {
        #[test]
        fn identifiers_sort_by_time(a in 0..Timestamp::MAX.ms(), later in 1_i64..1_000_000) {
            let early = DocumentId::new(Timestamp::from_ms(a).unwrap());
            let late = DocumentId::new(Timestamp::from_ms((a + later).min(Timestamp::MAX.ms())).unwrap());
            prop_assert!(early.to_string() < late.to_string() || a == Timestamp::MAX.ms());
        }

        #[test]
        fn an_instant_is_read_back_from_its_text(ms in 0..=Timestamp::MAX.ms()) {
            let at = Timestamp::from_ms(ms).unwrap();
            prop_assert_eq!(at.to_string().parse::<Timestamp>().unwrap(), at);
        }
    }
}
