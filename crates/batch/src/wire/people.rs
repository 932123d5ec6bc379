//! The JSON form of who shares a server.

use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

/// The groups and accounts of a shared server, for whoever runs it.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct People {
    /// The version of this form: "gylewright/people/1".
    pub schema: &'static str,
    /// All groups, the oldest first.
    pub groups: Vec<GroupRow>,
    /// All accounts, the oldest first, those that were closed too.
    pub accounts: Vec<AccountRow>,
}

/// A group.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct GroupRow {
    /// Its identifier, which is its code.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Whether it is one account's own.
    pub own: bool,
    /// How many are in it.
    pub members: u64,
}

/// An account.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AccountRow {
    /// Its identifier.
    pub id: String,
    /// By which it signs in.
    pub name: String,
    /// How people call it.
    pub shown: String,
    /// When it was made, RFC 3339.
    pub made_at: String,
    /// Since when it is closed.
    pub closed_at: Option<String>,
}

impl People {
    /// The form of these.
    #[must_use]
    pub const fn of(groups: Vec<GroupRow>, accounts: Vec<AccountRow>) -> Self {
        Self {
            schema: "gylewright/people/1",
            groups,
            accounts,
        }
    }
}

/// The schema of [`People`].
#[must_use]
pub fn people_schema() -> Value {
    super::named::<People>("urn:gylewright:schema:people:1")
}
