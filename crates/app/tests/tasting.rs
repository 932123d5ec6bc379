//! Tastings in the store: answers one by one, from several places at once.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail the test")]

use app::{App, AppError, OpenTasting, TastingPlanned};
use batch::tasting::Tasting;

async fn app() -> (tempfile::TempDir, App) {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path().join("store.db").as_path())
        .await
        .unwrap();
    (folder, app)
}

fn planned(tastings: &str) -> TastingPlanned {
    let key = |k: &str, v: &str| (k.to_owned(), v.to_owned());
    TastingPlanned {
        keys: vec![
            key("name", "beside the aim"),
            key("beer", "the batch"),
            key("reference", "the aim"),
            key("tastings", tastings),
            key("alike", ""),
        ],
        tasters: "Ann, Ben\nCid,\nDee\nEve".to_owned(),
    }
}

fn tasting(open: &OpenTasting) -> Tasting {
    open.contents.clone().unwrap().0
}

#[tokio::test(flavor = "multi_thread")]
async fn five_answer_at_once_and_none_is_lost() {
    let (_folder, app) = app().await;
    let open = app.begin_tasting(&planned("20")).await.unwrap();
    let drawn = tasting(&open);
    let phones: Vec<_> = (1..=20)
        .map(|n| {
            let (app, id) = (app.clone(), open.id);
            let code = drawn.design.servings[n as usize - 1].codes[0].to_string();
            tokio::spawn(async move { app.answer_tasting(id, n, &code).await.map(|_| ()) })
        })
        .collect();
    for phone in phones {
        phone.await.unwrap().unwrap();
    }
    let now = app.tasting(open.id).await.unwrap();
    assert_eq!(tasting(&now).answers.len(), 20);
    assert_eq!(now.revision.get(), 21);
    assert!(now.contents.unwrap().1.over);
}

#[tokio::test]
async fn what_was_answered_stays() {
    let (_folder, app) = app().await;
    let open = app.begin_tasting(&planned("6")).await.unwrap();
    let codes = &tasting(&open).design.servings[0].codes;
    app.answer_tasting(open.id, 1, &codes[0].to_string())
        .await
        .unwrap();
    let again = app.answer_tasting(open.id, 1, &codes[1].to_string()).await;
    let Err(AppError::Faulty { faults, .. }) = again else {
        panic!("taken twice")
    };
    assert!(faults[0].message.contains("answered twice"));
    let now = tasting(&app.tasting(open.id).await.unwrap());
    assert_eq!(now.answers[0].glasses, [codes[0]]);
}

#[tokio::test]
async fn a_plan_that_cannot_be_read_is_not_kept() {
    let (_folder, app) = app().await;
    let Err(AppError::Faulty { faults, .. }) = app.begin_tasting(&planned("none")).await else {
        panic!("kept")
    };
    assert!(faults[0].help.contains("whole number"));
    assert_eq!(app.tastings("", 0).await.unwrap().total, 0);
}
