//! Work that takes long: asked for once, claimed by a worker under a lease, and kept with
//! what it found.
//!
//! A worker that is heard of no more loses its lease, and the job goes to the next. How a
//! job ended is taken from the holder of its newest claim alone, by the number of that
//! claim: what an earlier holder says late changes nothing. So a job may be worked on twice,
//! and ends once.

use std::fmt;
use std::time::Duration;

use crate::db::{Tx, on};
use crate::digest::sha256_hex;
use crate::error::Doing;
use crate::rows::{self, JobRow, columns};
use crate::{DocumentId, JobId, Role, Store, StoreError, Timestamp, limits, people, sql};

/// After so many leases that ran out without a word a job is given up: what brings down
/// one worker after another must not go round for ever.
pub const LEASES: u32 = 3;

/// So many jobs of one version may wait or run for a group at once: what one group asks
/// must not keep the workers from all others.
pub const MOST_OPEN: u32 = 20;

const WORKING: &str = "the work of workers";

/// Where a job stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum JobState {
    /// For a worker.
    Waiting,
    /// A worker holds it.
    Running,
    /// Its result is there.
    Done,
    /// It broke off.
    Failed,
    /// Somebody stopped it.
    Cancelled,
}

impl JobState {
    /// All of them.
    pub const ALL: [Self; 5] = [
        Self::Waiting,
        Self::Running,
        Self::Done,
        Self::Failed,
        Self::Cancelled,
    ];

    /// Its word in the tables.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Running => "running",
            Self::Done => "done",
            Self::Failed => "failed",
            Self::Cancelled => "cancelled",
        }
    }

    /// Whether it may still change by itself.
    #[must_use]
    pub const fn is_open(self) -> bool {
        matches!(self, Self::Waiting | Self::Running)
    }
}

impl fmt::Display for JobState {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A job that is asked for.
#[derive(Debug, Clone, Copy)]
pub struct NewJob<'a> {
    /// What kind of work it is.
    pub kind: &'a str,
    /// Of the code that is to do it.
    pub version: &'a str,
    /// The document whose readers may see it; none for one of no document.
    pub document: Option<DocumentId>,
    /// All that the worker needs.
    pub input: &'a str,
}

impl NewJob<'_> {
    /// The same for the same question, whoever of a group asks it of the same document.
    fn key(&self, group: Option<&str>) -> String {
        let document = self.document.map_or_else(String::new, |id| id.to_string());
        let group = group.unwrap_or_default();
        let parts = [self.kind, self.version, &document, group, self.input];
        // Lengths first, so that no two lists of parts run into the same text.
        let whole = parts.map(|part| format!("{}:{part}", part.len())).concat();
        sha256_hex(&whole)
    }

    fn check(&self) -> Result<(), StoreError> {
        limits::name("kind of a job", self.kind)?;
        limits::name("version of a job", self.version)?;
        limits::text("question of a job", self.input)
    }
}

/// A job, without its question and its result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// Its identifier.
    pub id: JobId,
    /// What kind of work it is.
    pub kind: String,
    /// Of the code that is to do it.
    pub version: String,
    /// The document whose readers may see it.
    pub document: Option<DocumentId>,
    /// Where it stands.
    pub state: JobState,
    /// How often it was claimed.
    pub attempt: u32,
    /// Leases that ran out without a word.
    pub lost: u32,
    /// Who claimed it last.
    pub worker: Option<String>,
    /// Until when it is held.
    pub lease_until: Option<Timestamp>,
    /// Pieces of work that are done.
    pub done: u64,
    /// Of about so many; nought while that is not known.
    pub whole: u64,
    /// Somebody wants it stopped.
    pub cancel_wanted: bool,
    /// Why it failed.
    pub error: Option<String>,
    /// When it was asked for.
    pub made_at: Timestamp,
    /// When it was claimed last.
    pub started_at: Option<Timestamp>,
    /// When it ended.
    pub ended_at: Option<Timestamp>,
}

/// The texts of a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobTexts {
    /// All that the worker needs.
    pub input: String,
    /// What came of it; none while it is not done.
    pub result: Option<String>,
}

/// A job in the hands of a worker.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claimed {
    /// The job.
    pub id: JobId,
    /// What kind of work it is.
    pub kind: String,
    /// All that is needed.
    pub input: String,
    /// Which claim this is: a later one takes the job away.
    pub attempt: u32,
}

/// What a worker hears when it says that it is at work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beat {
    /// Its lease goes on.
    GoOn,
    /// It goes on, and somebody wants the work stopped.
    Stop,
    /// The job is no longer its own.
    Lost,
}

/// How a claim ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending<'a> {
    /// With a result.
    Done(&'a str),
    /// With a reason why there is none.
    Failed(&'a str),
    /// Stopped as somebody wanted.
    Cancelled,
    /// Not at all: the worker goes, and another may claim it at once.
    GivenBack,
}

columns! {
    struct NextRow {
        id: String,
        kind: String,
        version: String,
        input: String,
        attempt: i64,
        lost: i64,
        cancel_wanted: i64,
        state: String,
    }
}

type TextCells = (
    String,
    String,
    String,
    Option<String>,
    String,
    Option<String>,
);

impl Store {
    /// Asks for work. A job of the same question is joined, in whatever state it is: the
    /// result of one that is done is there at once, and one that failed is not tried again
    /// by itself ([`Store::ask_again`]).
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a question that cannot be kept;
    /// [`StoreError::NoSuchDocument`]; [`StoreError::TooManyJobs`] where the group has
    /// [`MOST_OPEN`] that are not over.
    pub async fn ask_job(&self, new: &NewJob<'_>, at: Timestamp) -> Result<Job, StoreError> {
        new.check()?;
        let group = self.sight.as_ref().map(|sight| sight.group.to_string());
        let key = new.key(group.as_deref());
        let mut tx = self.db.read().await?;
        self.ask_for(&mut tx, new).await?;
        // Most often it is there, and nothing has to be written.
        if let Some(job) = of_key(&mut tx, &key).await? {
            return Ok(job);
        }
        drop(tx);
        let mut tx = self.db.write().await?;
        self.ask_for(&mut tx, new).await?;
        if let Some(id) = new.document {
            crate::table::read_document(&mut tx, id).await?;
        }
        // Whoever asks for the same group waits here, so that none is counted too few.
        if let Some(group) = &group {
            hold_group(&mut tx, group).await?;
            if let Some(job) = of_key(&mut tx, &key).await? {
                return Ok(job);
            }
            require_room(&mut tx, group, new.version).await?;
        }
        insert(&mut tx, new, (&key, group.as_deref()), at).await?;
        // On PostgreSQL another may have been quicker: the insert waited for it, and its
        // row is seen now.
        let job = of_key(&mut tx, &key).await?;
        tx.commit("asking for work").await?;
        job.ok_or_else(|| StoreError::unreadable("job", "none"))
    }

    /// Asks the question of a job that failed or was cancelled once more, as a job of its
    /// own in its place; gives any other as it is.
    ///
    /// # Errors
    /// [`StoreError::NoSuchJob`]; [`StoreError::TooManyJobs`] as in [`Store::ask_job`].
    pub async fn ask_again(&self, id: JobId, at: Timestamp) -> Result<Job, StoreError> {
        let doing = "asking for work again";
        let mut tx = self.db.write().await?;
        let found: Option<TextCells> = on!(&mut tx, c => sqlx::query_as(sql::JOB_TEXTS)
            .bind(id.to_string()).fetch_optional(c).await)
        .doing(doing)?;
        let (kind, key, version, document, input, _) = found.ok_or(StoreError::NoSuchJob { id })?;
        self.ask_of_job(&mut tx, id).await?;
        let group = owner(&mut tx, id).await?;
        if let Some(group) = &group {
            hold_group(&mut tx, group).await?;
        }
        let cleared = on!(&mut tx, c => sqlx::query(sql::JOB_CLEAR_BROKEN)
            .bind(id.to_string()).execute(c).await.map(|done| done.rows_affected()))
        .doing(doing)?;
        if cleared > 0 {
            if let Some(group) = &group {
                require_room(&mut tx, group, &version).await?;
            }
            let document = document.as_deref().map(rows::document_id).transpose()?;
            let new = NewJob {
                kind: &kind,
                version: &version,
                document,
                input: &input,
            };
            insert(&mut tx, &new, (&key, group.as_deref()), at).await?;
        }
        let job = of_key(&mut tx, &key).await?;
        tx.commit(doing).await?;
        job.ok_or(StoreError::NoSuchJob { id })
    }

    /// A job.
    ///
    /// # Errors
    /// [`StoreError::NoSuchJob`].
    pub async fn job(&self, id: JobId) -> Result<Job, StoreError> {
        let mut tx = self.db.read().await?;
        let row: Option<JobRow> = on!(&mut tx, c => sqlx::query_as(sql::JOB_READ)
            .bind(id.to_string()).fetch_optional(c).await)
        .doing("looking for a job")?;
        let job = Job::try_from(row.ok_or(StoreError::NoSuchJob { id })?)?;
        self.ask_of_job(&mut tx, id).await?;
        Ok(job)
    }

    /// The texts of a job.
    ///
    /// # Errors
    /// [`StoreError::NoSuchJob`].
    pub async fn job_texts(&self, id: JobId) -> Result<JobTexts, StoreError> {
        let mut tx = self.db.read().await?;
        let found: Option<TextCells> = on!(&mut tx, c => sqlx::query_as(sql::JOB_TEXTS)
            .bind(id.to_string()).fetch_optional(c).await)
        .doing("reading a job")?;
        let (.., input, result) = found.ok_or(StoreError::NoSuchJob { id })?;
        self.ask_of_job(&mut tx, id).await?;
        Ok(JobTexts { input, result })
    }

    /// Jobs, the newest first, at most so many.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn jobs(&self, most: u32) -> Result<Vec<Job>, StoreError> {
        self.whole("the list of all work")?;
        let mut tx = self.db.read().await?;
        let found: Vec<JobRow> = on!(&mut tx, c => sqlx::query_as(sql::JOB_LIST)
            .bind(i64::from(most)).fetch_all(c).await)
        .doing("listing jobs")?;
        rows::all(found)
    }

    /// How many jobs there are in each state.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn jobs_by_state(&self) -> Result<Vec<(JobState, u64)>, StoreError> {
        self.whole("the count of all work")?;
        let mut tx = self.db.read().await?;
        let found: Vec<(String, i64)> =
            on!(&mut tx, c => sqlx::query_as(sql::JOBS_BY_STATE).fetch_all(c).await)
                .doing("counting jobs")?;
        let count = |state: JobState| {
            let row = found.iter().find(|(word, _)| word == state.word());
            row.map_or(0, |(_, n)| u64::try_from(*n).unwrap_or(0))
        };
        Ok(JobState::ALL.map(|state| (state, count(state))).to_vec())
    }

    /// Whether a job of this version waits, or one whose lease ran out.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be read.
    pub async fn job_waits(&self, version: &str, at: Timestamp) -> Result<bool, StoreError> {
        self.whole(WORKING)?;
        let mut tx = self.db.read().await?;
        let open: i64 = on!(&mut tx, c => sqlx::query_scalar(sql::JOBS_OPEN)
            .bind(version).bind(at.ms()).fetch_one(c).await)
        .doing("looking for a job")?;
        Ok(open > 0)
    }

    /// Claims the job that waits longest, or whose lease ran out, for so long; none where
    /// there is none. One whose lease ran out too often fails, and one that was to be
    /// stopped is.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be written.
    pub async fn claim_job(
        &self,
        worker: &str,
        version: &str,
        lease: Duration,
        at: Timestamp,
    ) -> Result<Option<Claimed>, StoreError> {
        let doing = "claiming a job";
        self.whole(WORKING)?;
        limits::name("worker", worker)?;
        limits::name("version of a job", version)?;
        // Most looks find nothing, and should not lock the store for it.
        if !self.job_waits(version, at).await? {
            return Ok(None);
        }
        let mut tx = self.db.write().await?;
        let mut claimed = None;
        while let Some(next) = next(&mut tx, version, at).await? {
            claimed = take(&mut tx, next, (worker, version), until(at, lease), at).await?;
            if claimed.is_some() {
                break;
            }
        }
        tx.commit(doing).await?;
        Ok(claimed)
    }

    /// Says that a worker is at work, and how far; its lease goes on from now.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be written.
    pub async fn job_beat(
        &self,
        claimed: &Claimed,
        (done, whole): (u64, u64),
        lease: Duration,
        at: Timestamp,
    ) -> Result<Beat, StoreError> {
        let doing = "keeping a lease";
        self.whole(WORKING)?;
        let mut tx = self.db.write().await?;
        let wanted: Option<i64> = on!(&mut tx, c => sqlx::query_scalar(sql::JOB_BEAT)
            .bind(claimed.id.to_string()).bind(i64::from(claimed.attempt))
            .bind(until(at, lease).ms()).bind(count(done)).bind(count(whole))
            .fetch_optional(c).await)
        .doing(doing)?;
        tx.commit(doing).await?;
        Ok(match wanted {
            None => Beat::Lost,
            Some(0) => Beat::GoOn,
            Some(_) => Beat::Stop,
        })
    }

    /// Says how a claim ended. False where the job is no longer this worker's, so that
    /// nothing came of it.
    ///
    /// # Errors
    /// [`StoreError::Impossible`] for a result that cannot be kept.
    pub async fn end_job(
        &self,
        claimed: &Claimed,
        ending: Ending<'_>,
        at: Timestamp,
    ) -> Result<bool, StoreError> {
        let doing = "ending a job";
        self.whole(WORKING)?;
        let reason: String;
        let (state, result, error) = match ending {
            Ending::Done(result) => {
                limits::text("result of a job", result)?;
                (JobState::Done, Some(result), None)
            }
            Ending::Failed(why) => {
                reason = plain(why);
                (JobState::Failed, None, Some(reason.as_str()))
            }
            Ending::Cancelled => (JobState::Cancelled, None, None),
            Ending::GivenBack => return self.give_back(claimed, at).await,
        };
        let mut tx = self.db.write().await?;
        let how = (state, result, error);
        let hit = end(&mut tx, (claimed.id, claimed.attempt), how, 0, at).await?;
        tx.commit(doing).await?;
        Ok(hit)
    }

    async fn give_back(&self, claimed: &Claimed, at: Timestamp) -> Result<bool, StoreError> {
        let doing = "giving a job back";
        let lost = self.job(claimed.id).await?.lost;
        let mut tx = self.db.write().await?;
        let hit = put_back(&mut tx, claimed.id, claimed.attempt, lost, at).await?;
        tx.commit(doing).await?;
        Ok(hit)
    }

    /// Wants a job stopped: at once where it waits, by its worker where one holds it. One
    /// that has ended stays as it is.
    ///
    /// # Errors
    /// [`StoreError::NoSuchJob`].
    pub async fn cancel_job(&self, id: JobId, at: Timestamp) -> Result<Job, StoreError> {
        let doing = "cancelling a job";
        self.job(id).await?;
        let mut tx = self.db.write().await?;
        on!(&mut tx, c => sqlx::query(sql::JOB_CANCEL)
            .bind(id.to_string()).bind(at.ms()).execute(c).await.map(drop))
        .doing(doing)?;
        tx.commit(doing).await?;
        self.job(id).await
    }

    /// Removes the jobs that ended, or have waited, since before a moment; says how many.
    /// What they found can be reckoned again.
    ///
    /// # Errors
    /// [`StoreError::Engine`] if the store cannot be written.
    pub async fn clear_jobs(&self, before: Timestamp) -> Result<u64, StoreError> {
        let doing = "clearing old jobs";
        self.whole("to clear old work")?;
        let mut tx = self.db.write().await?;
        let cleared = on!(&mut tx, c => sqlx::query(sql::JOBS_CLEAR)
            .bind(before.ms()).execute(c).await.map(|done| done.rows_affected()))
        .doing(doing)?;
        tx.commit(doing).await?;
        Ok(cleared)
    }

    /// Whether work of a document may be asked for: by whoever may look at it.
    async fn ask_for(&self, tx: &mut Tx, new: &NewJob<'_>) -> Result<(), StoreError> {
        match new.document {
            Some(id) => self.ask(tx, id, Role::Read).await,
            None => self.within(tx, Role::Read).await.map(drop),
        }
    }

    /// A job is for the group in which it was asked for, and whoever sees everything.
    async fn ask_of_job(&self, tx: &mut Tx, id: JobId) -> Result<(), StoreError> {
        let Some(group) = self.within(tx, Role::Read).await? else {
            return Ok(());
        };
        if owner(tx, id).await?.as_ref() == Some(&group) {
            return Ok(());
        }
        Err(StoreError::NoSuchJob { id })
    }
}

async fn owner(tx: &mut Tx, id: JobId) -> Result<Option<String>, StoreError> {
    let found: Option<Option<String>> = on!(tx, c => sqlx::query_scalar(sql::JOB_OWNER)
        .bind(id.to_string()).fetch_optional(c).await)
    .doing("looking for a job")?;
    Ok(found.flatten())
}

/// Holds the row of a group until the transaction ends.
async fn hold_group(tx: &mut Tx, group: &str) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(people::sql::GROUP_HOLD).bind(group).execute(c).await.map(drop))
        .doing("asking for work")
}

/// Refuses one job more than a group may have. Those of another version are not counted:
/// what waits for a program that is gone would shut the group out until it is cleared.
async fn require_room(tx: &mut Tx, group: &str, version: &str) -> Result<(), StoreError> {
    let open: i64 = on!(tx, c => sqlx::query_scalar(people::sql::JOBS_OPEN_OF)
        .bind(group).bind(version).fetch_one(c).await)
    .doing("counting jobs")?;
    if open >= i64::from(MOST_OPEN) {
        return Err(StoreError::TooManyJobs { most: MOST_OPEN });
    }
    Ok(())
}

async fn insert(
    tx: &mut Tx,
    new: &NewJob<'_>,
    (key, group): (&str, Option<&str>),
    at: Timestamp,
) -> Result<(), StoreError> {
    on!(tx, c => sqlx::query(sql::JOB_INSERT)
        .bind(JobId::new(at).to_string()).bind(new.kind).bind(key).bind(new.version)
        .bind(new.document.map(|id| id.to_string())).bind(group).bind(new.input).bind(at.ms())
        .execute(c).await.map(drop))
    .doing("asking for work")
}

async fn of_key(tx: &mut Tx, key: &str) -> Result<Option<Job>, StoreError> {
    let row: Option<JobRow> =
        on!(tx, c => sqlx::query_as(sql::JOB_OF_KEY).bind(key).fetch_optional(c).await)
            .doing("looking for a job")?;
    row.map(Job::try_from).transpose()
}

/// The next that may be claimed, held until the transaction ends.
async fn next(tx: &mut Tx, version: &str, at: Timestamp) -> Result<Option<NextRow>, StoreError> {
    let found = match tx {
        Tx::Lite(lite, _) => {
            sqlx::query_as(sql::JOB_NEXT)
                .bind(version)
                .bind(at.ms())
                .fetch_optional(&mut **lite)
                .await
        }
        Tx::Pg(pg) => {
            sqlx::query_as(sql::PG_JOB_NEXT)
                .bind(version)
                .bind(at.ms())
                .fetch_optional(&mut **pg)
                .await
        }
    };
    found.doing("claiming a job")
}

/// Claims a job; or ends it or sets it free, where that is what has become of it.
async fn take(
    tx: &mut Tx,
    next: NextRow,
    (worker, version): (&str, &str),
    until: Timestamp,
    at: Timestamp,
) -> Result<Option<Claimed>, StoreError> {
    let id: JobId = rows::job_id(&next.id)?;
    let attempt = rows::small("claims of a job", next.attempt)?;
    let ran_out = next.state == JobState::Running.word();
    let lost = rows::small("lost leases of a job", next.lost)? + u32::from(ran_out);
    if ran_out && next.cancel_wanted != 0 {
        end(tx, (id, attempt), (JobState::Cancelled, None, None), 1, at).await?;
        return Ok(None);
    }
    if lost >= LEASES {
        let why = format!(
            "{lost} workers one after the other were heard of no more while they were at it"
        );
        end(
            tx,
            (id, attempt),
            (JobState::Failed, None, Some(&why)),
            1,
            at,
        )
        .await?;
        return Ok(None);
    }
    if next.version != version {
        // Its own kind will take it.
        put_back(tx, id, attempt, lost, at).await?;
        return Ok(None);
    }
    on!(tx, c => sqlx::query(sql::JOB_CLAIM)
        .bind(&next.id).bind(i64::from(lost)).bind(worker).bind(until.ms()).bind(at.ms())
        .execute(c).await.map(drop))
    .doing("claiming a job")?;
    Ok(Some(Claimed {
        id,
        kind: next.kind,
        input: next.input,
        attempt: attempt + 1,
    }))
}

async fn end(
    tx: &mut Tx,
    (id, attempt): (JobId, u32),
    (state, result, error): (JobState, Option<&str>, Option<&str>),
    more_lost: i64,
    at: Timestamp,
) -> Result<bool, StoreError> {
    let hit = on!(tx, c => sqlx::query(sql::JOB_END)
        .bind(id.to_string()).bind(i64::from(attempt)).bind(state.word())
        .bind(result).bind(error).bind(at.ms()).bind(more_lost)
        .execute(c).await.map(|done| done.rows_affected()))
    .doing("ending a job")?;
    Ok(hit > 0)
}

async fn put_back(
    tx: &mut Tx,
    id: JobId,
    attempt: u32,
    lost: u32,
    at: Timestamp,
) -> Result<bool, StoreError> {
    let hit = on!(tx, c => sqlx::query(sql::JOB_GIVE_BACK)
        .bind(id.to_string()).bind(i64::from(attempt)).bind(at.ms()).bind(i64::from(lost))
        .execute(c).await.map(|done| done.rows_affected()))
    .doing("giving a job back")?;
    Ok(hit > 0)
}

fn until(at: Timestamp, lease: Duration) -> Timestamp {
    let ms = i64::try_from(lease.as_millis()).unwrap_or(i64::MAX);
    Timestamp::from_ms(at.ms().saturating_add(ms)).unwrap_or(Timestamp::MAX)
}

fn count(n: u64) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

/// A reason that both engines take, cut to what a line may be.
fn plain(text: &str) -> String {
    let clean = text.replace('\0', "\u{2400}");
    let end = clean.floor_char_boundary(limits::MAX_LINE_BYTES);
    clean.get(..end).unwrap_or_default().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_key_tells_every_part_of_a_question_apart() {
        let new = NewJob {
            kind: "match",
            version: "1",
            document: None,
            input: "{}",
        };
        let id = DocumentId::new(Timestamp::MIN);
        let others = [
            NewJob {
                kind: "move",
                ..new
            },
            NewJob {
                version: "2",
                ..new
            },
            NewJob {
                document: Some(id),
                ..new
            },
            NewJob {
                input: "{ }",
                ..new
            },
            // The same letters, parted elsewhere.
            NewJob {
                kind: "match1",
                version: "",
                ..new
            },
        ];
        assert_eq!(new.key(None), NewJob { ..new }.key(None));
        for other in others {
            assert_ne!(new.key(None), other.key(None), "{other:?}");
        }
        // Another group's answer is nobody else's.
        assert_ne!(new.key(None), new.key(Some("a")));
        assert_ne!(new.key(Some("a")), new.key(Some("b")));
    }

    #[test]
    fn a_reason_is_cut_between_letters() {
        let long = "é\0".repeat(limits::MAX_LINE_BYTES);
        let cut = plain(&long);
        assert!(cut.len() <= limits::MAX_LINE_BYTES && !cut.contains('\0'));
        assert_eq!(plain("why"), "why");
    }
}
