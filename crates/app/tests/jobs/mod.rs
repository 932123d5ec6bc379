//! Work that takes long: what is shown of it later is what would have been shown at once.

use std::time::Duration;

use app::{App, Asked, Working};
use batch::certainty;
use batch::comparing;
use batch::job::{Found, Outcome, Work};
use batch::log::{LogReading, What};
use batch::matching::{Destination, TypedMatch};
use batch::watch::Moments;
use batch::wire::result::{read, read_outcome, write, write_outcome};
use ferment::watch::Sampling;
use store::{JobState, Timestamp};

use super::{LANTERN, app, kept};

const LONG: Duration = Duration::from_secs(60);

/// One of each kind, small.
fn all_kinds() -> Vec<Work> {
    let text = LANTERN.to_owned();
    let typed = TypedMatch::from_iter([
        ("colour", "12 ± 1 EBC"),
        ("bitterness", "at most 30 IBU"),
        ("draws", "0"),
        ("only_best", "yes"),
        ("clove", "free"),
    ]);
    let to = Destination {
        volume: "40 L".to_owned(),
        ..Destination::default()
    };
    let reading = |day: i64, plato: f64| LogReading {
        instrument: "hydrometer".to_owned(),
        what: What::Gravity,
        at_ms: 1_767_225_600_000 + day * 86_400_000,
        value: plato,
        unit: "°P",
        canonical: plato,
        lapsed_sd: 0.0,
        raw: plato.to_string(),
    };
    let readings = [(0, 11.9), (1, 9.7), (2, 6.1), (3, 4.0), (5, 2.9), (7, 2.7)];
    vec![
        Work::Match {
            text: text.clone(),
            typed: typed.clone(),
            stores: None,
        },
        Work::Move {
            text: text.clone(),
            to,
            typed: TypedMatch::from_iter([("draws", "0"), ("only_best", "yes")]),
            stores: None,
        },
        Work::Certainty {
            text: text.clone(),
            question: certainty::Question {
                draws: 64,
                points: 4,
                seed: 1,
            },
        },
        Work::Compare {
            texts: vec![text.clone(), text.replace("3.55 kg", "4.15 kg")],
            question: comparing::Question {
                draws: 32,
                ..comparing::Question::default()
            },
        },
        Work::Posterior {
            text,
            readings: readings.map(|(day, plato)| reading(day, plato)).to_vec(),
            moments: Moments::default(),
            sampling: Sampling {
                chains: 2,
                warm_up: 10,
                draws: 8,
            },
        },
    ]
}

/// Everything that is in it, to the last bit.
fn whole(outcome: &Outcome) -> String {
    format!("{outcome:?}")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_a_job_found_is_what_the_direct_call_finds() {
    let (_folder, app) = app().await;
    for work in all_kinds() {
        let kind = work.kind();
        assert_eq!(read::<Work>(&write(&work)).as_ref(), Some(&work));
        let direct = work.done(&|_, _| true).unwrap();
        assert!(direct.is_ok(), "{kind}: {direct:?}");
        let Asked::Answered(outcome) = app.ask_and_wait(&work, None, LONG).await.unwrap() else {
            panic!("{kind} is not done")
        };
        assert_eq!(whole(&outcome), whole(&direct), "{kind}");
        // Asked again, it is there.
        let job = app.ask(&work, None).await.unwrap();
        assert_eq!((job.state, job.attempt), (JobState::Done, 1), "{kind}");
        let (asked, answered) = app.job_answer(job.id).await.unwrap();
        assert_eq!(asked, work);
        assert_eq!(whole(&answered.unwrap()), whole(&direct), "{kind}");
    }
    assert_eq!(app.jobs(10).await.unwrap().len(), 5);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_question_that_cannot_be_answered_is_told_as_it_is_at_once() {
    let (_folder, app) = app().await;
    let broken = |work: Work| match work {
        Work::Match { text, stores, .. } => Work::Match {
            text,
            typed: TypedMatch::from_iter([("colour", "dark")]),
            stores,
        },
        Work::Move { text, typed, .. } => Work::Move {
            text,
            typed,
            to: Destination {
                volume: "much".to_owned(),
                ..Destination::default()
            },
            stores: Some("[[grist]]".to_owned()),
        },
        Work::Certainty { text, .. } => Work::Certainty {
            text,
            question: certainty::Question {
                draws: 1,
                points: 0,
                seed: 1,
            },
        },
        Work::Compare { texts, question } => Work::Compare {
            texts: vec![texts[0].clone(), "no = document".to_owned()],
            question,
        },
        Work::Posterior {
            readings,
            moments,
            sampling,
            ..
        } => Work::Posterior {
            text: "[batch]".to_owned(),
            readings,
            moments,
            sampling,
        },
    };
    for work in all_kinds().into_iter().map(broken) {
        let direct = work.done(&|_, _| true).unwrap();
        assert!(direct.is_err(), "{}", work.kind());
        assert_eq!(
            read_outcome(&work, &write_outcome(&direct)).map(|o| whole(&o)),
            Some(whole(&direct))
        );
        let Asked::Answered(outcome) = app.ask_and_wait(&work, None, LONG).await.unwrap() else {
            panic!("{} is not answered", work.kind())
        };
        assert_eq!(whole(&outcome), whole(&direct));
    }
}

fn long_work(seed: u32) -> Work {
    Work::Certainty {
        text: LANTERN.to_owned(),
        question: certainty::Question {
            draws: 65_536,
            points: 65_536,
            seed,
        },
    }
}

async fn until(app: &App, id: store::JobId, wanted: JobState) {
    while app.job(id).await.unwrap().state != wanted {
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_cancelled_job_stops_its_worker_and_begins_again_where_asked() {
    let (_folder, app) = app().await;
    let open = kept(&app, LANTERN).await;
    let job = app.ask(&long_work(1), Some(open.id)).await.unwrap();
    assert_eq!(job.document, Some(open.id));
    until(&app, job.id, JobState::Running).await;
    app.cancel_job(job.id).await.unwrap();
    until(&app, job.id, JobState::Cancelled).await;
    let Asked::Not(found) = app
        .ask_and_wait(&long_work(1), Some(open.id), LONG)
        .await
        .unwrap()
    else {
        panic!("answered")
    };
    assert_eq!(found.state, JobState::Cancelled);
    let again = app.ask_again(job.id).await.unwrap();
    assert_ne!(again.id, job.id);
    until(&app, again.id, JobState::Running).await;
    // A process that goes lets go at once.
    app.rest().await;
    let left = app.job(again.id).await.unwrap();
    assert_eq!((left.state, left.lost), (JobState::Waiting, 0));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn where_a_process_has_no_worker_another_does_the_work() {
    let (_folder, app) = app().await;
    let asking = app.clone().without_worker();
    let mut jobs = Vec::new();
    for work in all_kinds() {
        jobs.push(asking.ask(&work, None).await.unwrap());
    }
    let waits = asking
        .wait_for_job(jobs[0].id, Duration::from_millis(50))
        .await
        .unwrap();
    assert_eq!(waits.state, JobState::Waiting);
    let how = Working {
        threads: 2,
        lease: Duration::from_secs(5),
        until_empty: true,
    };
    assert_eq!(app.clone().work(how, std::future::pending()).await, 5);
    for job in jobs {
        assert_eq!(asking.job(job.id).await.unwrap().state, JobState::Done);
    }
    // What is told to stop lets go of what it holds.
    let job = asking.ask(&long_work(2), None).await.unwrap();
    let how = Working {
        until_empty: false,
        ..how
    };
    let (watching, id) = (asking.clone(), job.id);
    let running = async move { until(&watching, id, JobState::Running).await };
    app.work(how, running).await;
    assert_eq!(asking.job(job.id).await.unwrap().state, JobState::Waiting);
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn what_cannot_be_read_fails_and_says_so() {
    let (_folder, app) = app().await;
    let new = store::NewJob {
        kind: "match",
        version: app::CODE_VERSION,
        document: None,
        input: "{\"kind\":\"match\"}",
    };
    let job = app.store().ask_job(&new, Timestamp::MIN).await.unwrap();
    assert!(app.work_once("a worker").await.unwrap());
    let failed = app.job(job.id).await.unwrap();
    assert_eq!(failed.state, JobState::Failed);
    assert!(failed.error.unwrap().contains("cannot be read"));
    assert!(!app.work_once("a worker").await.unwrap());
}

#[test]
fn work_that_is_stopped_finds_nothing() {
    for work in all_kinds() {
        let mut kinds = batch::job::KINDS.iter();
        assert!(kinds.any(|(word, _)| *word == work.kind()));
        assert!(work.done(&|_, _| false).is_none(), "{}", work.kind());
    }
    assert!(matches!(
        all_kinds()[2].done(&|_, _| true),
        Some(Ok(Found::Certainty(_)))
    ));
}
