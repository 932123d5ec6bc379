//! Work that takes long: asked for, done by whichever worker is free, shown when it is
//! there.
//!
//! An application lends a hand itself where it asks for work, so that one process does
//! everything; where other processes work, it can leave it to them.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::thread::available_parallelism;
use std::time::Duration;

use batch::job::{Outcome, Work};
use batch::wire::job::JobRow;
use batch::wire::result::{read, read_outcome, write, write_outcome};
use store::{
    Beat, Claimed, DocumentId, Ending, Job, JobId, JobState, NewJob, StoreError, Timestamp,
};
use tokio::sync::{Notify, Semaphore};
use tokio::time::{Instant, interval_at, sleep, timeout};

use crate::{App, AppError};

/// Of all code that reckons: what one version found is not shown by another.
pub const CODE_VERSION: &str = concat!(env!("CARGO_PKG_VERSION"), "-", env!("GYLEWRIGHT_CODE"));

/// How long a worker may be silent before its job goes to another.
pub const LEASE: Duration = Duration::from_secs(15);
/// How long the result of a job is kept.
pub const KEPT: Duration = Duration::from_secs(7 * 24 * 3600);

/// Between two words of a worker to the store.
const BEAT: Duration = Duration::from_millis(500);
/// Between two looks of whoever waits for a job that another process may end.
const LOOK: Duration = Duration::from_millis(100);
/// Between two looks of a worker that has nothing to do.
const IDLE: Duration = Duration::from_millis(200);
/// Between two looks of a server for work that nobody else takes up.
const ROUND: Duration = Duration::from_secs(2);
/// Between two clearings of old jobs.
const CLEARING: Duration = Duration::from_secs(3600);
/// How long a worker tries to tell how a job ended while the store does not answer.
const PATIENCE: Duration = Duration::from_secs(60);
/// How long a worker that is told to stop may take to let go.
const PARTING: Duration = Duration::from_secs(8);

/// The hands of one process.
#[derive(Debug)]
pub(crate) struct Hands {
    /// Whether they take up what is asked for here.
    own: bool,
    name: String,
    lease: Duration,
    places: Arc<Semaphore>,
    all: usize,
    /// A job ended in this process.
    ended: Notify,
    /// Somebody who does not see the whole store asked for one.
    asked: Notify,
    /// They are to let go.
    resting: AtomicBool,
    rest: Notify,
}

impl Default for Hands {
    fn default() -> Self {
        Self::of(
            available_parallelism().map_or(2, |n| n.get().max(2)),
            LEASE,
            true,
        )
    }
}

impl Hands {
    fn of(all: usize, lease: Duration, own: bool) -> Self {
        Self {
            own,
            lease,
            all,
            name: format!("process {}", std::process::id()),
            places: Arc::new(Semaphore::new(all)),
            ended: Notify::new(),
            asked: Notify::new(),
            resting: AtomicBool::new(false),
            rest: Notify::new(),
        }
    }

    fn resting(&self) -> bool {
        self.resting.load(Ordering::Relaxed)
    }
}

/// What became of a question so far.
#[derive(Debug)]
pub enum Asked {
    /// The answer.
    Answered(Box<Outcome>),
    /// It waits, runs, failed or was cancelled.
    Not(Box<Job>),
}

/// How a worker of its own works.
#[derive(Debug, Clone, Copy)]
pub struct Working {
    /// Jobs at once.
    pub threads: usize,
    /// How long it may be silent before its job goes to another.
    pub lease: Duration,
    /// Ends when nothing waits any more.
    pub until_empty: bool,
}

/// How far a piece of work is, and whether it is to stop.
#[derive(Debug, Default)]
struct Far {
    done: AtomicU64,
    whole: AtomicU64,
    stop: AtomicBool,
}

/// Stops the work when whoever looks after it goes, so that no process waits for work that
/// nobody will hear of.
struct LookedAfter(Arc<Far>);

impl Drop for LookedAfter {
    fn drop(&mut self) {
        self.0.stop.store(true, Ordering::Relaxed);
    }
}

impl App {
    /// The same application, whose process leaves the work to others.
    #[must_use]
    pub fn without_worker(self) -> Self {
        Self {
            hands: Arc::new(Hands::of(self.hands.all, self.hands.lease, false)),
            ..self
        }
    }

    /// Asks for work; a job of the same question is joined. Whoever of the group may
    /// see the job.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn ask(&self, work: &Work, document: Option<DocumentId>) -> Result<Job, AppError> {
        let input = write(work);
        let new = NewJob {
            kind: work.kind(),
            version: CODE_VERSION,
            document,
            input: &input,
        };
        let job = self.store.ask_job(&new, self.now()).await?;
        if job.state == JobState::Waiting {
            self.lend_a_hand();
        }
        Ok(job)
    }

    /// Asks for work, and waits a while for the answer.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn ask_and_wait(
        &self,
        work: &Work,
        document: Option<DocumentId>,
        patience: Duration,
    ) -> Result<Asked, AppError> {
        let job = self.ask(work, document).await?;
        let job = self.wait_for_job(job.id, patience).await?;
        if job.state != JobState::Done {
            return Ok(Asked::Not(Box::new(job)));
        }
        let found = self.store.job_texts(job.id).await?.result;
        let outcome = found.and_then(|text| read_outcome(work, &text));
        outcome
            .map(|outcome| Asked::Answered(Box::new(outcome)))
            .ok_or_else(|| unreadable(job.id))
    }

    /// A job.
    ///
    /// # Errors
    /// [`AppError::Store`] where there is none of that identifier.
    pub async fn job(&self, id: JobId) -> Result<Job, AppError> {
        Ok(self.store.job(id).await?)
    }

    /// The question of a job, and what came of it where it is done.
    ///
    /// # Errors
    /// [`AppError::Store`] where there is none of that identifier, or it was asked by
    /// another version of the program.
    pub async fn job_answer(&self, id: JobId) -> Result<(Work, Option<Outcome>), AppError> {
        let texts = self.store.job_texts(id).await?;
        let work: Work = read(&texts.input).ok_or_else(|| unreadable(id))?;
        let outcome = match texts.result {
            None => None,
            Some(text) => Some(read_outcome(&work, &text).ok_or_else(|| unreadable(id))?),
        };
        Ok((work, outcome))
    }

    /// The jobs of the store, the newest first.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn jobs(&self, most: u32) -> Result<Vec<Job>, AppError> {
        Ok(self.store.jobs(most).await?)
    }

    /// Waits until a job has ended, or that long; gives it as it stands then.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn wait_for_job(&self, id: JobId, patience: Duration) -> Result<Job, AppError> {
        let until = Instant::now() + patience;
        loop {
            // Before the look, so that an end in between is not missed.
            let ended = self.hands.ended.notified();
            let job = self.store.job(id).await?;
            let left = until.saturating_duration_since(Instant::now());
            if !job.state.is_open() || left.is_zero() {
                return Ok(job);
            }
            self.lend_a_hand();
            tokio::select! {
                () = ended => {}
                () = sleep(left.min(LOOK)) => {}
            }
        }
    }

    /// Wants a job stopped.
    ///
    /// # Errors
    /// [`AppError::Store`] where there is none of that identifier.
    pub async fn cancel_job(&self, id: JobId) -> Result<Job, AppError> {
        Ok(self.store.cancel_job(id, self.now()).await?)
    }

    /// Asks the question of a job that failed or was cancelled once more.
    ///
    /// # Errors
    /// [`AppError::Store`] where there is none of that identifier.
    pub async fn ask_again(&self, id: JobId) -> Result<Job, AppError> {
        let job = self.store.ask_again(id, self.now()).await?;
        self.lend_a_hand();
        Ok(job)
    }

    /// Does the job that waits longest; false where none waits.
    ///
    /// # Errors
    /// [`AppError::Store`] where the store does not answer.
    pub async fn work_once(&self, worker: &str) -> Result<bool, AppError> {
        let (lease, now) = (self.hands.lease, self.now());
        let claimed = self
            .store
            .claim_job(worker, CODE_VERSION, lease, now)
            .await?;
        let Some(claimed) = claimed else {
            return Ok(false);
        };
        self.work_at(&claimed).await?;
        self.hands.ended.notify_waiters();
        Ok(true)
    }

    /// Works at jobs until told to stop, or until nothing waits; what it holds then it
    /// gives back. Says how many it did.
    pub async fn work(self, how: Working, stop: impl Future<Output = ()>) -> u64 {
        let app = Self {
            hands: Arc::new(Hands::of(how.threads.max(1), how.lease, false)),
            ..self
        };
        let did = Arc::new(AtomicU64::new(0));
        let mut workers = tokio::task::JoinSet::new();
        for n in 1..=app.hands.all {
            let (app, did) = (app.clone(), Arc::clone(&did));
            let name = format!("{}, hand {n}", app.hands.name);
            workers.spawn(async move { app.work_on(&name, how.until_empty, &did).await });
        }
        let clearing = app.clear_now_and_then();
        tokio::select! {
            () = async { while workers.join_next().await.is_some() {} } => {}
            () = clearing => {}
            () = stop => {
                app.begin_rest();
                let parted = async { while workers.join_next().await.is_some() {} };
                // What is not let go by then is lost with its lease, and taken up again.
                let _ = timeout(PARTING, parted).await;
            }
        }
        did.load(Ordering::Relaxed)
    }

    async fn work_on(&self, name: &str, until_empty: bool, did: &AtomicU64) {
        while !self.hands.resting() {
            match self.work_once(name).await {
                Ok(true) => {
                    did.fetch_add(1, Ordering::Relaxed);
                    continue;
                }
                Ok(false) if until_empty => return,
                Ok(false) => {}
                Err(error) => {
                    eprintln!("{name}: {error}");
                    if until_empty {
                        return;
                    }
                }
            }
            tokio::select! {
                () = self.hands.rest.notified() => {}
                () = sleep(IDLE) => {}
            }
        }
    }

    /// Takes up what nobody else does, and clears old jobs, until the process ends; what is
    /// asked for here is taken up at once without it.
    pub async fn look_for_work(&self) {
        let look = async {
            loop {
                tokio::select! {
                    () = sleep(ROUND) => {}
                    () = self.hands.asked.notified() => {}
                }
                self.lend_a_hand();
            }
        };
        tokio::join!(look, self.clear_now_and_then());
    }

    async fn clear_now_and_then(&self) {
        loop {
            let kept = i64::try_from(KEPT.as_millis()).unwrap_or(i64::MAX);
            let before = Timestamp::from_ms(self.now().ms() - kept).unwrap_or(Timestamp::MIN);
            if let Err(error) = self.store.clear_jobs(before).await {
                eprintln!("old jobs are not cleared: {error}");
            }
            sleep(CLEARING).await;
        }
    }

    /// Lets go of what is held here, so that another takes it up at once.
    pub async fn rest(&self) {
        self.begin_rest();
        let all = u32::try_from(self.hands.all).unwrap_or(u32::MAX);
        let _ = timeout(PARTING, self.hands.places.acquire_many(all)).await;
    }

    fn begin_rest(&self) {
        self.hands.resting.store(true, Ordering::Relaxed);
        self.hands.rest.notify_waiters();
    }

    /// Begins to work at what waits, where this process does and has a hand free.
    fn lend_a_hand(&self) {
        if !self.hands.own || self.hands.resting() {
            return;
        }
        // Work is claimed by what sees the whole store.
        if self.store.sight().is_some() {
            self.hands.asked.notify_one();
            return;
        }
        let Ok(place) = Arc::clone(&self.hands.places).try_acquire_owned() else {
            return;
        };
        let app = self.clone();
        tokio::spawn(async move {
            let mut place = Some(place);
            while place.is_some() {
                let name = app.hands.name.clone();
                while !app.hands.resting() && matches!(app.work_once(&name).await, Ok(true)) {}
                drop(place.take());
                // What came between the last look and now found no hand free.
                let waits = app.store.job_waits(CODE_VERSION, app.now()).await;
                if matches!(waits, Ok(true)) && !app.hands.resting() {
                    place = Arc::clone(&app.hands.places).try_acquire_owned().ok();
                }
            }
        });
    }

    /// Works at a claimed job to its end, keeping the lease.
    async fn work_at(&self, claimed: &Claimed) -> Result<(), AppError> {
        let Some(work) = read::<Work>(&claimed.input) else {
            let why = "its question cannot be read by this version of the program";
            return self.end(claimed, Ending::Failed(why)).await;
        };
        let far = Arc::new(Far::default());
        let (at, told) = (work.clone(), Arc::clone(&far));
        let mut doing = tokio::task::spawn_blocking(move || {
            at.done(&|done, whole| {
                told.whole.store(whole as u64, Ordering::Relaxed);
                told.done.fetch_max(done as u64, Ordering::Relaxed);
                !told.stop.load(Ordering::Relaxed)
            })
        });
        let _looked_after = LookedAfter(Arc::clone(&far));
        let mut beats = interval_at(Instant::now() + BEAT, BEAT);
        let mut last = Beat::GoOn;
        let outcome = loop {
            tokio::select! {
                ended = &mut doing => break ended,
                () = self.hands.rest.notified() => far.stop.store(true, Ordering::Relaxed),
                _ = beats.tick() => {
                    last = self.beat(claimed, &far, last).await;
                    if last != Beat::GoOn || self.hands.resting() {
                        far.stop.store(true, Ordering::Relaxed);
                    }
                }
            }
        };
        match (outcome, last) {
            (_, Beat::Lost) => Ok(()),
            (Ok(Some(outcome)), _) => self.keep(claimed, &work, &outcome).await,
            (Ok(None), Beat::Stop) => self.end(claimed, Ending::Cancelled).await,
            (Ok(None), Beat::GoOn) => self.end(claimed, Ending::GivenBack).await,
            (Err(broken), _) => {
                eprintln!("a job broke off: {broken}");
                let why = "a defect of the program: the reckoning broke off";
                self.end(claimed, Ending::Failed(why)).await
            }
        }
    }

    /// A word to the store; where it does not answer, all stays as it was.
    async fn beat(&self, claimed: &Claimed, far: &Far, last: Beat) -> Beat {
        let at = (
            far.done.load(Ordering::Relaxed),
            far.whole.load(Ordering::Relaxed),
        );
        let (lease, now) = (self.hands.lease, self.now());
        self.store
            .job_beat(claimed, at, lease, now)
            .await
            .unwrap_or(last)
    }

    async fn keep(&self, claimed: &Claimed, work: &Work, found: &Outcome) -> Result<(), AppError> {
        let text = write_outcome(found);
        if read_outcome(work, &text).is_none() {
            let why = "a defect of the program: its result cannot be kept";
            return self.end(claimed, Ending::Failed(why)).await;
        }
        match self.end(claimed, Ending::Done(&text)).await {
            Err(AppError::Store(error @ StoreError::Impossible { .. })) => {
                self.end(claimed, Ending::Failed(&error.to_string())).await
            }
            other => other,
        }
    }

    /// Tells how a job ended, for as long as it takes a store to come back.
    async fn end(&self, claimed: &Claimed, ending: Ending<'_>) -> Result<(), AppError> {
        let until = Instant::now() + PATIENCE;
        loop {
            match self.store.end_job(claimed, ending, self.now()).await {
                Ok(_) => return Ok(()),
                Err(StoreError::Engine { .. })
                    if Instant::now() < until && !self.hands.resting() =>
                {
                    sleep(IDLE).await;
                }
                Err(error) => return Err(error.into()),
            }
        }
    }
}

fn unreadable(id: JobId) -> AppError {
    AppError::Store(StoreError::NoSuchJob { id })
}

/// How a job stands, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// What it does.
    pub does: &'static str,
    /// How much of it is done \[%\]; none while that is not known.
    pub per_cent: Option<u8>,
    /// How far it is, and since when.
    pub words: String,
}

impl App {
    /// How a job stands now.
    #[must_use]
    pub fn standing(&self, job: &Job) -> Standing {
        standing(job, self.now())
    }
}

/// A job as JSON tells it.
#[must_use]
pub fn job_row(job: &Job) -> JobRow {
    JobRow {
        id: job.id.to_string(),
        kind: job.kind.clone(),
        state: job.state.word(),
        document: job.document.map(|id| id.to_string()),
        done: job.done,
        whole: job.whole,
        attempt: job.attempt,
        worker: job.worker.clone(),
        lost: job.lost,
        cancel_wanted: job.cancel_wanted,
        error: job.error.clone(),
        made_at: job.made_at.to_string(),
        started_at: job.started_at.map(|at| at.to_string()),
        ended_at: job.ended_at.map(|at| at.to_string()),
    }
}

fn standing(job: &Job, now: Timestamp) -> Standing {
    let known = job.state == JobState::Running && job.whole > 0;
    let per_cent = known.then(|| {
        let share = job.done.min(job.whole).saturating_mul(100) / job.whole;
        u8::try_from(share).unwrap_or(100)
    });
    let since = job.started_at.unwrap_or(job.made_at);
    let until = job.ended_at.unwrap_or(now);
    let seconds = until.ms().saturating_sub(since.ms()).max(0) / 1000;
    let so_far = match seconds {
        0 => "just begun".to_owned(),
        s if s < 120 => format!("{s} s so far"),
        s => format!("{} min so far", s / 60),
    };
    let words = match (job.state, per_cent) {
        _ if job.cancel_wanted => "It is being stopped.".to_owned(),
        (JobState::Waiting, _) if seconds < 2 => "It waits for its turn.".to_owned(),
        (JobState::Waiting, _) => {
            format!("It waits for a worker that is free (gyle work), {so_far}.")
        }
        (_, Some(per_cent)) => format!("About {per_cent} % is done, {so_far}."),
        (_, None) => format!("It is under way, {so_far}."),
    };
    Standing {
        does: batch::job::does(&job.kind),
        per_cent,
        words,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job(state: JobState, done: u64, whole: u64) -> Job {
        Job {
            id: JobId::new(Timestamp::MIN),
            kind: "match".to_owned(),
            version: CODE_VERSION.to_owned(),
            document: None,
            state,
            attempt: 1,
            lost: 0,
            worker: None,
            lease_until: None,
            done,
            whole,
            cancel_wanted: false,
            error: None,
            made_at: Timestamp::MIN,
            started_at: None,
            ended_at: None,
        }
    }

    #[test]
    fn how_a_job_stands_is_told_in_words() {
        let now = Timestamp::from_ms(65_000).unwrap();
        let told = standing(&job(JobState::Running, 30, 120), now);
        assert_eq!(told.per_cent, Some(25));
        assert_eq!(told.words, "About 25 % is done, 65 s so far.");
        // Pieces are counted about: more than all is all.
        let over = standing(&job(JobState::Running, 130, 120), now);
        assert_eq!(over.per_cent, Some(100));
        let waits = standing(&job(JobState::Waiting, 0, 0), now);
        assert!(waits.per_cent.is_none() && waits.words.contains("gyle work"));
        let stopping = Job {
            cancel_wanted: true,
            ..job(JobState::Running, 1, 2)
        };
        assert!(standing(&stopping, now).words.contains("being stopped"));
    }

    #[test]
    fn the_version_tells_one_code_from_another() {
        let (number, code) = CODE_VERSION.split_once('-').unwrap();
        assert_eq!(number, env!("CARGO_PKG_VERSION"));
        assert_eq!(code.len(), 16);
    }
}
