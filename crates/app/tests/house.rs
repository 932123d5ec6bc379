//! What the other batches of a store say, and the story with the batch that came after.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

mod jobs;

use app::{App, Edited, HouseHistory, OpenBatch, TastingPlanned};
use batch::inquiry::Came;

const LANTERN: &str = include_str!("../../../examples/lantern-pale.toml");

async fn app() -> (tempfile::TempDir, App) {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path().join("store.db").as_path())
        .await
        .unwrap();
    (folder, app)
}

fn untreated() -> String {
    batch::edit::set_value(LANTERN, "water.treatment.way", "none").unwrap()
}

async fn kept(app: &App, text: &str) -> OpenBatch {
    app.keep_batch(text, "for a test").await.unwrap()
}

async fn found(app: &App, open: &OpenBatch, what: &str, there: &str) -> OpenBatch {
    let values = vec![
        ("what".to_owned(), what.to_owned()),
        ("there".to_owned(), there.to_owned()),
    ];
    let done = app
        .keep_found(open.id, open.revision, "finding", values)
        .await
        .unwrap();
    let Edited::Saved { .. } = done else {
        panic!("not kept")
    };
    app.batch(open.id).await.unwrap()
}

#[tokio::test]
async fn batches_with_something_to_say_speak_and_others_do_not() {
    let (_folder, app) = app().await;
    let here = kept(&app, LANTERN).await;
    let silent = kept(&app, LANTERN).await;
    assert!(app.house_of(&here).await.unwrap().spoke.is_empty());
    let faulty = found(&app, &silent, "medicinal", "yes").await;
    let history = app.house_of(&here).await.unwrap();
    assert_eq!(history.spoke.len(), 1);
    assert_eq!(history.spoke[0].id, faulty.id);
    let words = &history.spoke[0].words;
    assert!(
        words.contains("the same water, yeast and kit; found: medicinal"),
        "{words}"
    );
    assert!(words.contains("odds ×"), "{words}");
    // It does not speak of itself.
    assert!(app.house_of(&faulty).await.unwrap().spoke.is_empty());
    // A batch that was read once is read anew when it is saved.
    let more = found(&app, &faulty, "butter", "yes").await;
    let words = app.house_of(&here).await.unwrap().spoke[0].words.clone();
    assert!(words.contains("butter"), "{words}");
    app.forget_found(more.id, more.revision, "finding", 1)
        .await
        .unwrap();
    let words = app.house_of(&here).await.unwrap().spoke[0].words.clone();
    assert!(!words.contains("medicinal"), "{words}");
}

/// However long ago: the batch that speaks lies behind two hundred others.
#[tokio::test]
async fn the_house_looks_back_on_every_batch_that_is_kept() {
    let (_folder, app) = app().await;
    let oldest = kept(&app, LANTERN).await;
    let oldest = found(&app, &oldest, "medicinal", "yes").await;
    for n in 0..205 {
        kept(&app, &format!("[batch]\nname = \"Begun and left {n}\"\n")).await;
    }
    let here = kept(&app, LANTERN).await;
    let history = app.house_of(&here).await.unwrap();
    assert_eq!(history.looked_back_on, 206);
    assert_eq!(history.spoke.len(), 1);
    assert_eq!((history.spoke_in_all, history.unlisted()), (1, None));
    let more = HouseHistory {
        spoke_in_all: 250,
        ..history.clone()
    };
    assert!(
        more.unlisted()
            .unwrap()
            .starts_with("All 250 that spoke count")
    );
    assert_eq!(history.spoke[0].id, oldest.id);
}

#[tokio::test]
async fn nothing_is_shared_with_another_house() {
    let (_folder, app) = app().await;
    let here = kept(&app, LANTERN).await;
    let mut text = LANTERN.to_owned();
    for (path, value) in [
        ("yeast.name", "another packet"),
        ("water.source[1].name", "another town"),
        ("kit.kettle_loss", "9 L"),
    ] {
        text = batch::edit::set_value(&text, path, value).unwrap();
    }
    let far = kept(&app, &text).await;
    found(&app, &far, "medicinal", "yes").await;
    assert!(app.house_of(&here).await.unwrap().spoke.is_empty());
}

/// A tasting that showed likeness to the aim speaks as a sound batch does.
#[tokio::test]
async fn a_tasting_that_shows_likeness_speaks_for_a_sound_batch() {
    let (_folder, app) = app().await;
    let here = kept(&app, LANTERN).await;
    let before = kept(&app, LANTERN).await;
    let key = |k: &str, v: &str| (k.to_owned(), v.to_owned());
    let names: Vec<String> = (0..40).map(|n| format!("T{n}")).collect();
    let planned = TastingPlanned {
        keys: vec![
            key("name", "beside the aim"),
            key("batch", &before.id.to_string()),
            key("beer", "ours"),
            key("reference", "the aim"),
            key("tastings", "40"),
            key("alike", "40 %"),
        ],
        tasters: names.join("\n"),
    };
    let open = app.begin_tasting(&planned).await.unwrap();
    let drawn = open.contents.clone().unwrap().0;
    for (n, serving) in (1..).zip(&drawn.design.servings) {
        // A third is right, as by guessing.
        let right = |code: &&u16| serving.right(drawn.protocol, &[**code]) == Some(n % 3 == 0);
        let code = serving.codes.iter().find(right).unwrap();
        app.answer_tasting(open.id, n, &code.to_string())
            .await
            .unwrap();
    }
    let history = app.house_of(&here).await.unwrap();
    assert_eq!(history.spoke.len(), 1, "{:?}", history.spoke);
    assert!(history.spoke[0].words.contains("shown to be as its aim"));
}

#[tokio::test]
async fn the_story_follows_the_remedy_into_the_next_batch() {
    let (_folder, app) = app().await;
    let open = kept(&app, &untreated()).await;
    let open = found(&app, &open, "medicinal", "yes").await;
    let next = app
        .begin_next(open.id, "chloramine-in-water")
        .await
        .unwrap()
        .unwrap();
    let (story, _) = app.story_of(&open).await.unwrap().unwrap();
    let told = &story.unwrap().next[0];
    assert_eq!(told.id, next.id.to_string());
    assert_eq!(told.mends.unwrap().key, "chloramine-in-water");
    assert_eq!(told.came, Came::NotSaid);
    assert!(
        told.changed
            .iter()
            .any(|(path, ..)| path == "water.treatment.way")
    );
    app.keep_bearing(
        next.id,
        next.revision,
        vec![("sound".to_owned(), "yes".to_owned())],
    )
    .await
    .unwrap();
    let (story, _) = app.story_of(&open).await.unwrap().unwrap();
    let told = story.unwrap().next.remove(0);
    assert_eq!(told.came, Came::Gone);
    // The next batch of the next one forgets whose fault it mended.
    let again = found(&app, &app.batch(next.id).await.unwrap(), "butter", "yes").await;
    assert!(again.written.contains_key("inquiry.after"));
}
