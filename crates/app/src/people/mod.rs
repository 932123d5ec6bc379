//! People who share a server: what happens at the door, and what a person does inside.

mod group;
mod me;
mod password;

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use store::{
    Account, GroupId, GroupRow, Invited, JobState, NewAccount, People, Sight, SignedIn, Store,
    Timestamp,
};

use crate::{App, AppError, Known};

pub use me::data_json;
pub use password::{LEAST_LETTERS, MOST_LETTERS, PasswordFault};

const MINUTE_MS: i64 = 60 * 1000;
const HOUR_MS: i64 = 60 * MINUTE_MS;
const DAY_MS: i64 = 24 * HOUR_MS;
/// A session that nothing was asked of for so long is over \[ms\].
pub const IDLE_MS: i64 = 7 * DAY_MS;
/// A session ends after this in any case \[ms\].
pub const SESSION_MS: i64 = 30 * DAY_MS;
/// An invitation holds so long \[ms\].
const INVITATION_MS: i64 = 7 * DAY_MS;
/// Tries are counted within this \[ms\].
const WINDOW_MS: i64 = 15 * MINUTE_MS;
/// So many tries of one name, and of one address, within the window. An address may be a
/// whole school's.
const TRIES_OF_NAME: i64 = 10;
const TRIES_OF_ADDRESS: i64 = 100;
/// Groups whose caches are kept in memory; those that were asked last.
const GROUPS_REMEMBERED: usize = 32;

/// What was read before, a group by itself: nothing of one group's is in another's.
#[derive(Debug, Default)]
pub(crate) struct Groups {
    all: Mutex<Turns>,
}

/// Each group's, with the turn in which it was asked last, and the turn that it is.
#[derive(Debug, Default)]
struct Turns {
    now: u64,
    of: BTreeMap<GroupId, (u64, Known)>,
}

impl Groups {
    fn of(&self, group: GroupId) -> Known {
        let mut all = self.all.lock().unwrap_or_else(PoisonError::into_inner);
        all.now += 1;
        let Turns { now, of: groups } = &mut *all;
        if !groups.contains_key(&group) && groups.len() >= GROUPS_REMEMBERED {
            let oldest = groups.iter().min_by_key(|(_, (asked, _))| *asked);
            if let Some(oldest) = oldest.map(|(id, _)| *id) {
                groups.remove(&oldest);
            }
        }
        let entry = groups.entry(group).or_default();
        entry.0 = *now;
        entry.1.clone()
    }
}

/// The door of a shared server.
#[derive(Debug, Clone)]
pub struct Door {
    people: People,
    clock: fn() -> Timestamp,
}

/// How much there is of what lives in the store, of all groups together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counts {
    /// Jobs in each state.
    pub jobs: Vec<(JobState, u64)>,
    /// Sessions that are open.
    pub sessions: u64,
}

/// What came of trying to sign in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tried {
    /// In: the token of a new session.
    In(String),
    /// Not in. Whether the name or the password is wrong is not said.
    Out,
    /// Too often: try again after so many seconds.
    TooOften {
        /// How long to wait \[s\].
        wait_s: u64,
    },
}

impl App {
    /// The door, for what comes before it is known who asks.
    ///
    /// # Errors
    /// [`AppError::Store`] for an application that somebody acts in already.
    pub fn door(&self) -> Result<Door, AppError> {
        Ok(Door {
            people: self.store.people()?,
            clock: self.clock,
        })
    }

    /// The same application as one person sees it, in one group.
    #[must_use]
    pub fn acting_as(&self, who: &SignedIn) -> Self {
        let sight = Sight {
            account: who.account,
            name: who.name.clone(),
            group: who.group,
            most: who.role,
            session: who.session,
            at: self.now(),
        };
        self.with(self.store.seen_by(sight), self.groups.of(who.group))
    }

    /// The same application as nobody sees it: everything is refused or not there. What a
    /// shared server answers with where it was not said who asks.
    #[must_use]
    pub fn seen_by_nobody(&self) -> Self {
        let nobody = Sight {
            account: store::AccountId::new(Timestamp::MIN),
            name: "nobody".to_owned(),
            group: GroupId::new(Timestamp::MIN),
            most: store::Role::Read,
            session: None,
            at: self.now(),
        };
        self.with(self.store.seen_by(nobody), Known::default())
    }

    fn with(&self, store: Store, known: Known) -> Self {
        Self {
            store,
            known,
            ..self.clone()
        }
    }

    /// What whoever watches over the server may count.
    ///
    /// # Errors
    /// [`AppError::Store`] where the store does not answer.
    pub async fn counts(&self) -> Result<Counts, AppError> {
        Ok(Counts {
            jobs: self.store.jobs_by_state().await?,
            sessions: self
                .store
                .people()?
                .sessions_open(self.now(), IDLE_MS)
                .await?,
        })
    }

    /// Whether the store answers.
    ///
    /// # Errors
    /// [`AppError::Store`] if not.
    pub async fn answers(&self) -> Result<(), AppError> {
        Ok(self.store.people()?.answers().await?)
    }
}

impl Door {
    fn now(&self) -> Timestamp {
        (self.clock)()
    }

    fn later(&self, ms: i64) -> Timestamp {
        Timestamp::from_ms(self.now().ms() + ms).unwrap_or(Timestamp::MAX)
    }

    /// Makes a group and the invitation for its first keeper: the token is shown this once.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn begin(&self, name: &str) -> Result<(GroupId, String), AppError> {
        let expires = self.later(INVITATION_MS);
        Ok(self.people.begin(name.trim(), self.now(), expires).await?)
    }

    /// A further invitation for a keeper of a group, from whoever runs the server.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn invite_keeper(&self, group: GroupId) -> Result<String, AppError> {
        let expires = self.later(INVITATION_MS);
        Ok(self
            .people
            .invite_keeper(group, self.now(), expires)
            .await?)
    }

    /// Gives the documents that belong to no group to one.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn give_rest_to(&self, group: GroupId) -> Result<u64, AppError> {
        Ok(self.people.give_rest_to(group, self.now()).await?)
    }

    /// Ends all sessions and tokens of an account, for whoever runs the server.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn shut_out(&self, name: &str) -> Result<(), AppError> {
        Ok(self.people.shut_out(&name_of(name), self.now()).await?)
    }

    /// All groups and accounts, for whoever runs the server.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn everybody(&self) -> Result<(Vec<GroupRow>, Vec<Account>), AppError> {
        Ok((self.people.groups().await?, self.people.accounts().await?))
    }

    /// The invitation of a token; none where it does not hold.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn invitation(&self, token: &str) -> Result<Option<Invited>, AppError> {
        Ok(self.people.invitation(token, self.now()).await?)
    }

    /// Makes an account by an invitation and signs it in.
    ///
    /// # Errors
    /// [`AppError::Password`] for one that is too easy; [`AppError::Store`].
    pub async fn enter(
        &self,
        invitation: &str,
        name: &str,
        shown: &str,
        password: &str,
    ) -> Result<String, AppError> {
        let name = name_of(name);
        let shown = match shown.trim() {
            "" => name.as_str(),
            shown => shown,
        };
        // Whoever has no invitation costs no hash.
        let Some(invited) = self.invitation(invitation).await? else {
            return Err(store::StoreError::NoInvitation.into());
        };
        password::check(password, &name).map_err(AppError::Password)?;
        let hash = password::hash(password).await?;
        let new = NewAccount {
            name: &name,
            shown,
            password_hash: &hash,
        };
        let account = self.people.enter(invitation, &new, self.now()).await?;
        let expires = self.later(SESSION_MS);
        let group = Some(invited.group);
        let signed_in = self.people.sign_in(account, group, self.now(), expires);
        Ok(signed_in.await?)
    }

    /// Tries to sign in from an address, where that is known. An unknown name takes the
    /// same time as a wrong password, and is answered alike.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn sign_in(
        &self,
        name: &str,
        password: &str,
        address: Option<&str>,
    ) -> Result<Tried, AppError> {
        let now = self.now();
        let name = name_of(name);
        let of_name = format!("name {name}");
        let of_address = address.map(|address| (format!("address {address}"), TRIES_OF_ADDRESS));
        let keys = of_address
            .into_iter()
            .chain([(of_name.clone(), TRIES_OF_NAME)]);
        for (key, most) in keys {
            let (tries, since) = self.people.count_try(&key, now, WINDOW_MS).await?;
            if tries > most {
                return Ok(Tried::TooOften {
                    wait_s: left_s(since, now),
                });
            }
        }
        let found = self.people.by_name(&name).await?;
        let hash = found.as_ref().map(|(_, hash)| hash.clone());
        let right = password::is(password, hash).await?;
        let Some((account, _)) = found.filter(|_| right) else {
            return Ok(Tried::Out);
        };
        let old = Timestamp::from_ms((now.ms() - WINDOW_MS).max(0)).unwrap_or(Timestamp::MIN);
        self.people.forget_tries(&of_name, old).await?;
        let expires = self.later(SESSION_MS);
        let token = self.people.sign_in(account, None, now, expires).await?;
        Ok(Tried::In(token))
    }

    /// Who a session belongs to.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn session(&self, token: &str) -> Result<Option<SignedIn>, AppError> {
        Ok(self.people.session(token, self.now(), IDLE_MS).await?)
    }

    /// Whose a token for programs is.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn of_token(&self, token: &str) -> Result<Option<SignedIn>, AppError> {
        Ok(self.people.of_token(token).await?)
    }
}

/// How long a window of tries still lasts \[s\].
fn left_s(since: Timestamp, now: Timestamp) -> u64 {
    let left = (since.ms() + WINDOW_MS - now.ms()).max(1000) / 1000;
    u64::try_from(left).unwrap_or(1)
}

/// A name as it is kept: people write capitals and spaces without meaning them.
fn name_of(typed: &str) -> String {
    typed.trim().to_lowercase()
}
