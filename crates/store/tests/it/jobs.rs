//! Jobs: asked for once, done once in effect, whatever becomes of those who work at them.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicI64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use store::{Beat, Claimed, Ending, Job, JobId, JobState, Kind, LEASES, NewJob, Store, StoreError};

use crate::ground::{Ground, assert_sound, at, on_both, plant};

const LEASE: Duration = Duration::from_millis(100);

on_both!(
    a_question_is_one_job_with_one_result,
    super::a_question_is_one_job_with_one_result_on
);
on_both!(
    a_lease_that_ran_out_goes_to_the_next,
    super::a_lease_that_ran_out_goes_to_the_next_on
);
on_both!(
    what_is_cancelled_stops_and_can_be_asked_again,
    super::what_is_cancelled_stops_and_can_be_asked_again_on
);
on_both!(
    what_is_given_back_is_taken_up_at_once,
    super::what_is_given_back_is_taken_up_at_once_on
);
on_both!(
    a_worker_takes_what_is_of_its_version,
    super::a_worker_takes_what_is_of_its_version_on
);
on_both!(old_jobs_are_cleared, super::old_jobs_are_cleared_on);
on_both!(
    workers_that_die_lose_no_job_and_double_none,
    super::workers_that_die_lose_no_job_and_double_none_on
);

fn question(input: &str) -> NewJob<'_> {
    NewJob {
        kind: "match",
        version: "1",
        document: None,
        input,
    }
}

async fn ask(store: &Store, input: &str, ms: i64) -> Job {
    store.ask_job(&question(input), at(ms)).await.unwrap()
}

async fn claim(store: &Store, worker: &str, ms: i64) -> Option<Claimed> {
    store.claim_job(worker, "1", LEASE, at(ms)).await.unwrap()
}

async fn state(store: &Store, id: JobId) -> JobState {
    store.job(id).await.unwrap().state
}

async fn a_question_is_one_job_with_one_result_on(ground: &Ground) {
    let store = ground.open().await;
    let batch = plant(&store, Kind::Batch, "Stout").await;
    assert_eq!(claim(&store, "a", 0).await, None);
    let of_batch = NewJob {
        document: Some(batch),
        ..question("{\"a\":1}")
    };
    let made = store.ask_job(&of_batch, at(1)).await.unwrap();
    assert_eq!((made.state, made.attempt), (JobState::Waiting, 0));
    assert_eq!(made.document, Some(batch));
    assert_eq!(store.ask_job(&of_batch, at(2)).await.unwrap(), made);
    // The same question of no document is another job: who may see it differs.
    let other = ask(&store, "{\"a\":1}", 3).await;
    assert_ne!(other.id, made.id);

    let held = claim(&store, "a", 4).await.unwrap();
    assert_eq!(
        (
            held.id,
            held.kind.as_str(),
            held.input.as_str(),
            held.attempt
        ),
        (made.id, "match", "{\"a\":1}", 1)
    );
    let beat = store.job_beat(&held, (3, 10), LEASE, at(50)).await.unwrap();
    assert_eq!(beat, Beat::GoOn);
    let running = store.job(made.id).await.unwrap();
    assert_eq!((running.done, running.whole), (3, 10));
    assert_eq!(running.lease_until, Some(at(150)));
    assert_eq!(running.started_at, Some(at(4)));
    assert_eq!(running.worker.as_deref(), Some("a"));
    assert!(
        store
            .end_job(&held, Ending::Done("{}"), at(60))
            .await
            .unwrap()
    );
    // Said once, and not again, nor otherwise.
    assert!(
        !store
            .end_job(&held, Ending::Failed("no"), at(61))
            .await
            .unwrap()
    );
    let joined = store.ask_job(&of_batch, at(70)).await.unwrap();
    assert_eq!((joined.id, joined.state), (made.id, JobState::Done));
    assert_eq!(joined.ended_at, Some(at(60)));
    let texts = store.job_texts(made.id).await.unwrap();
    assert_eq!(texts.result.as_deref(), Some("{}"));
    assert_eq!(
        store.jobs(10).await.unwrap(),
        [store.job(other.id).await.unwrap(), joined]
    );

    let nobody = JobId::new(at(0));
    assert!(matches!(
        store.job(nobody).await,
        Err(StoreError::NoSuchJob { .. })
    ));
    let nowhere = NewJob {
        document: Some(store::DocumentId::new(at(0))),
        ..question("x")
    };
    assert!(matches!(
        store.ask_job(&nowhere, at(1)).await,
        Err(StoreError::NoSuchDocument { .. })
    ));
    assert_sound(&store).await;
}

async fn a_lease_that_ran_out_goes_to_the_next_on(ground: &Ground) {
    let store = ground.open().await;
    let id = ask(&store, "x", 0).await.id;
    let first = claim(&store, "a", 0).await.unwrap();
    // Held to the last millisecond.
    assert_eq!(claim(&store, "b", 100).await, None);
    let second = claim(&store, "b", 101).await.unwrap();
    assert_eq!((second.id, second.attempt), (id, 2));
    // The first is not heard any more.
    assert_eq!(
        store
            .job_beat(&first, (1, 2), LEASE, at(102))
            .await
            .unwrap(),
        Beat::Lost
    );
    assert!(
        !store
            .end_job(&first, Ending::Done("late"), at(103))
            .await
            .unwrap()
    );
    assert!(
        !store
            .end_job(&first, Ending::GivenBack, at(103))
            .await
            .unwrap()
    );
    assert_eq!(state(&store, id).await, JobState::Running);
    assert!(
        store
            .end_job(&second, Ending::Done("right"), at(104))
            .await
            .unwrap()
    );
    assert_eq!(
        store.job_texts(id).await.unwrap().result.as_deref(),
        Some("right")
    );
    assert_eq!(store.job(id).await.unwrap().lost, 1);

    // What brings down every worker is given up.
    let id = ask(&store, "y", 200).await.id;
    for n in 0..LEASES {
        assert!(claim(&store, "c", 1_000 * i64::from(n + 1)).await.is_some());
    }
    assert_eq!(claim(&store, "c", 10_000).await, None);
    let failed = store.job(id).await.unwrap();
    assert_eq!((failed.state, failed.lost), (JobState::Failed, LEASES));
    assert!(failed.error.unwrap().contains("heard of no more"));
}

async fn what_is_cancelled_stops_and_can_be_asked_again_on(ground: &Ground) {
    let store = ground.open().await;
    let waiting = ask(&store, "x", 0).await.id;
    assert_eq!(
        store.cancel_job(waiting, at(1)).await.unwrap().state,
        JobState::Cancelled
    );
    assert_eq!(claim(&store, "a", 2).await, None);
    // Asking joins what was cancelled; it begins anew only where that is meant.
    assert_eq!(ask(&store, "x", 3).await.id, waiting);
    let again = store.ask_again(waiting, at(4)).await.unwrap();
    assert!(again.id != waiting && again.state == JobState::Waiting);
    let held = claim(&store, "a", 5).await.unwrap();
    assert_eq!((held.id, held.input.as_str()), (again.id, "x"));
    assert_eq!(store.ask_again(again.id, at(6)).await.unwrap().id, again.id);

    let wanted = store.cancel_job(again.id, at(7)).await.unwrap();
    assert!(wanted.cancel_wanted && wanted.state == JobState::Running);
    assert_eq!(
        store.job_beat(&held, (1, 2), LEASE, at(8)).await.unwrap(),
        Beat::Stop
    );
    assert!(
        store
            .end_job(&held, Ending::Cancelled, at(9))
            .await
            .unwrap()
    );
    assert_eq!(state(&store, again.id).await, JobState::Cancelled);
    // What has ended is not cancelled any more.
    let once = store.cancel_job(again.id, at(10)).await.unwrap();
    assert_eq!(once.ended_at, Some(at(9)));

    // Its worker died, and nobody has to begin it again.
    let dead = store.ask_again(again.id, at(11)).await.unwrap().id;
    claim(&store, "a", 12).await.unwrap();
    store.cancel_job(dead, at(13)).await.unwrap();
    assert_eq!(claim(&store, "b", 1_000).await, None);
    assert_eq!(state(&store, dead).await, JobState::Cancelled);
}

async fn what_is_given_back_is_taken_up_at_once_on(ground: &Ground) {
    let store = ground.open().await;
    let id = ask(&store, "x", 0).await.id;
    for n in 0..i64::from(2 * LEASES) {
        let held = claim(&store, "a", n).await.unwrap();
        assert!(
            store
                .end_job(&held, Ending::GivenBack, at(n))
                .await
                .unwrap()
        );
    }
    // That is no lease lost.
    let job = store.job(id).await.unwrap();
    assert_eq!(
        (job.state, job.lost, job.attempt),
        (JobState::Waiting, 0, 2 * LEASES)
    );
    let held = claim(&store, "a", 50).await.unwrap();
    store.cancel_job(id, at(51)).await.unwrap();
    assert!(
        store
            .end_job(&held, Ending::GivenBack, at(52))
            .await
            .unwrap()
    );
    let stopped = store.job(id).await.unwrap();
    assert_eq!(
        (stopped.state, stopped.ended_at),
        (JobState::Cancelled, Some(at(52)))
    );
}

async fn a_worker_takes_what_is_of_its_version_on(ground: &Ground) {
    let store = ground.open().await;
    let id = ask(&store, "x", 0).await.id;
    let newer = || store.claim_job("new", "2", LEASE, at(500));
    assert_eq!(newer().await.unwrap(), None);
    claim(&store, "old", 1).await.unwrap();
    // The old one died: its work waits for another of its kind.
    assert_eq!(newer().await.unwrap(), None);
    let job = store.job(id).await.unwrap();
    assert_eq!((job.state, job.lost), (JobState::Waiting, 1));
    assert!(claim(&store, "old", 600).await.is_some());
}

async fn old_jobs_are_cleared_on(ground: &Ground) {
    let store = ground.open().await;
    for input in ["done", "running", "waiting"] {
        ask(&store, input, 0).await;
    }
    let done = claim(&store, "a", 10).await.unwrap();
    store
        .end_job(&done, Ending::Done("{}"), at(20))
        .await
        .unwrap();
    let running = claim(&store, "a", 30).await.unwrap();
    assert_eq!(store.clear_jobs(at(0)).await.unwrap(), 0);
    assert_eq!(store.clear_jobs(at(20)).await.unwrap(), 1);
    assert_eq!(store.clear_jobs(at(21)).await.unwrap(), 1);
    assert_eq!(state(&store, running.id).await, JobState::Running);
    assert!(store.jobs(10).await.unwrap().len() == 1);
}

#[tokio::test]
async fn a_restored_store_has_no_jobs() {
    let ground = Ground::sqlite();
    let store = ground.open().await;
    plant(&store, Kind::Batch, "Stout").await;
    ask(&store, "x", 0).await;
    let held = claim(&store, "a", 1).await.unwrap();
    let copy = ground.path("copy.db");
    store.backup(&copy).await.unwrap();
    store.restore(&copy).await.unwrap();
    assert_eq!(store.jobs(10).await.unwrap(), []);
    assert_eq!(
        store.job_beat(&held, (1, 2), LEASE, at(2)).await.unwrap(),
        Beat::Lost
    );
}

/// Many workers on two stores, as two programs would have them, on a clock that ticks with
/// every step. Some die at their work, some speak up after their lease has run out, some
/// give back what they hold, some jobs are cancelled meanwhile.
async fn workers_that_die_lose_no_job_and_double_none_on(ground: &Ground) {
    const JOBS: usize = 40;
    let stores = [ground.open().await, ground.open().await];
    let mut ids = Vec::new();
    for n in 0..JOBS {
        ids.push(ask(&stores[n % 2], &format!("job {n}"), 0).await.id);
    }
    let clock = Arc::new(AtomicI64::new(1));
    let heard: Arc<Mutex<BTreeMap<JobId, Vec<String>>>> = Arc::default();
    let workers: Vec<_> = (0..6_u64)
        .map(|n| {
            let store = stores[usize::try_from(n).unwrap() % 2].clone();
            tokio::spawn(work(store, n, Arc::clone(&clock), Arc::clone(&heard)))
        })
        .collect();
    for id in ids.iter().step_by(7) {
        let ms = clock.fetch_add(1, Ordering::Relaxed);
        stores[0].cancel_job(*id, at(ms)).await.unwrap();
    }
    for worker in workers {
        worker.await.unwrap();
    }
    let heard = heard.lock().unwrap().clone();
    for (n, id) in ids.iter().enumerate() {
        let job = stores[0].job(*id).await.unwrap();
        let said = heard.get(id).map_or(&[][..], Vec::as_slice);
        let result = stores[1].job_texts(*id).await.unwrap().result;
        match job.state {
            JobState::Done => {
                assert_eq!(said.len(), 1, "job {n} was taken as done {said:?}");
                assert_eq!(result.as_ref(), said.first());
                assert!(said[0].starts_with(&format!("job {n} by ")));
            }
            JobState::Failed => {
                assert_eq!(job.lost, LEASES);
                assert_eq!((said.len(), result), (0, None));
            }
            JobState::Cancelled => {
                assert!(job.cancel_wanted);
                assert_eq!((said.len(), result), (0, None));
            }
            open => panic!("job {n} is {open} in the end"),
        }
    }
    assert_sound(&stores[0]).await;
}

async fn work(
    store: Store,
    n: u64,
    clock: Arc<AtomicI64>,
    heard: Arc<Mutex<BTreeMap<JobId, Vec<String>>>>,
) {
    let mut seed = 0x9E37_79B9_7F4A_7C15_u64.wrapping_mul(n + 1);
    let mut roll = |sides: u64| {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        seed % sides
    };
    let tick = |by| clock.fetch_add(by, Ordering::Relaxed) + by;
    let who = format!("worker {n}");
    loop {
        let Some(held) = store
            .claim_job(&who, "1", LEASE, at(tick(1)))
            .await
            .unwrap()
        else {
            let open = store.jobs(1_000).await.unwrap();
            if open.iter().all(|job| !job.state.is_open()) {
                return;
            }
            // Whoever holds the rest is dead or at it: time goes by.
            tick(40);
            continue;
        };
        let late = match roll(6) {
            // Dies at its work.
            0 => continue,
            // Sleeps too long, and then speaks up all the same.
            1 => 150,
            2 => {
                store
                    .end_job(&held, Ending::GivenBack, at(tick(1)))
                    .await
                    .unwrap();
                continue;
            }
            _ => 1,
        };
        let now = tick(late);
        let beat = store.job_beat(&held, (1, 2), LEASE, at(now)).await.unwrap();
        if beat == Beat::Stop {
            store
                .end_job(&held, Ending::Cancelled, at(tick(1)))
                .await
                .unwrap();
            continue;
        }
        // One that lost its lease may still try: nothing must come of it.
        let result = format!("{} by {who} as {}", held.input, held.attempt);
        if store
            .end_job(&held, Ending::Done(&result), at(tick(1)))
            .await
            .unwrap()
        {
            heard
                .lock()
                .unwrap()
                .entry(held.id)
                .or_default()
                .push(result);
        }
    }
}
