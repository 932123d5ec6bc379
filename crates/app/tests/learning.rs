//! What the batches of a store teach one: gathered, taken, taken out, left out.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use app::{App, Edited, Lessons, OpenBatch};
use batch::learning::{Constant, Forget};
use store::DocumentId;

const LANTERN: &str = include_str!("../../../examples/lantern-pale.toml");

async fn app() -> (tempfile::TempDir, App) {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path().join("store.db").as_path())
        .await
        .unwrap();
    (folder, app)
}

fn brewed(name: &str, end_of_boil_l: f64) -> String {
    let read = format!(
        "\n[[brew_day.reading]]\nat = \"kettle full\"\nvolume = \"27.6 ± 0.2 L\"\nvolume_at = \"90 °C\"\ngravity = \"1.0425 ± 0.001\"\n\
         \n[[brew_day.reading]]\nat = \"end of boil\"\nvolume = \"{end_of_boil_l} ± 0.2 L\"\nvolume_at = \"95 °C\"\n"
    );
    LANTERN.replacen(
        "\"Lantern Pale, second brewing\"",
        &format!("\"{name}\""),
        1,
    ) + &read
}

async fn kept(app: &App, text: &str) -> OpenBatch {
    app.keep_batch(text, "for a test").await.unwrap()
}

async fn lessons(app: &App, of: DocumentId) -> Lessons {
    let found = app.gather_lessons(of).await.unwrap().lessons(None);
    app.remember(&found).await;
    found
}

fn saved(done: Edited) -> OpenBatch {
    match done {
        Edited::Saved { batch, .. } => *batch,
        Edited::Refused { faults, .. } => panic!("{}", faults[0]),
    }
}

fn steam(lessons: &Lessons) -> (u32, f64) {
    let known = &lessons.known;
    let found = known.iter().find(|k| k.constant == Constant::Evaporation);
    found.map_or((0, 0.0), |k| (k.batches(), k.house.0))
}

#[tokio::test]
async fn a_plan_takes_what_the_others_taught_and_gives_it_back() {
    let (_folder, app) = app().await;
    for (name, litres) in [("one", 24.4), ("two", 24.6), ("three", 24.5)] {
        kept(&app, &brewed(name, litres)).await;
    }
    let plan = kept(&app, LANTERN).await;
    let found = lessons(&app, plan.id).await;
    assert_eq!(found.taught.len(), 3);
    assert_eq!(steam(&found).0, 3);
    // Asked again, from memory, it says the same.
    assert_eq!(steam(&lessons(&app, plan.id).await), steam(&found));
    let taken = saved(app.take_lessons(&found, plan.revision).await.unwrap());
    let r = taken.outcome.reckoning().unwrap();
    let told = r.assumptions.iter().find(|a| a.path == "kit.evaporation");
    assert_eq!(told.unwrap().source, "learned from 3 batches");
    // The comments of the text stay.
    assert!(LANTERN.contains('#') && taken.text.contains('#'));
    // Nothing is learned twice, and nothing is left to take.
    let again = lessons(&app, plan.id).await;
    assert!((steam(&again).1 - steam(&found).1).abs() < 1e-9);
    let same = app.take_lessons(&again, taken.revision).await.unwrap();
    assert!(matches!(same, Edited::Saved { change: None, .. }));
    let back = saved(app.drop_lessons(plan.id, taken.revision).await.unwrap());
    let document = |open: &OpenBatch| open.outcome.reckoning().unwrap().document.clone();
    assert_eq!(document(&back), document(&plan));
}

#[tokio::test]
async fn a_batch_does_not_teach_itself_and_can_be_left_out() {
    let (_folder, app) = app().await;
    let one = kept(&app, &brewed("one", 24.4)).await;
    let two = kept(&app, &brewed("two", 23.0)).await;
    assert_eq!(lessons(&app, one.id).await.taught.len(), 1);
    let plan = kept(&app, LANTERN).await;
    let both = lessons(&app, plan.id).await;
    let why = Some("the tap leaked");
    let out = saved(app.leave_out(two.id, two.revision, why).await.unwrap());
    let one_left = lessons(&app, plan.id).await;
    assert_eq!((steam(&one_left).0, one_left.taught.len()), (1, 2));
    assert!(steam(&one_left).1 < steam(&both).1);
    saved(app.leave_out(two.id, out.revision, None).await.unwrap());
    assert!((steam(&lessons(&app, plan.id).await).1 - steam(&both).1).abs() < 1e-12);
}

#[tokio::test]
async fn a_plan_takes_the_water_of_its_day_from_the_analyses_of_the_library() {
    let (_folder, app) = app().await;
    app.keep_demo_library(app::LibraryKind::Water)
        .await
        .unwrap();
    let text = batch::edit::set_value(LANTERN, "batch.brewed", "2027-06-20").unwrap();
    let plan = kept(&app, &text).await;
    let found = lessons(&app, plan.id).await;
    let mains = found.waters.iter().find(|w| w.days.len() == 3).unwrap();
    let key = format!("water.source[{}].alkalinity", mains.source);
    assert!(found.values.iter().any(|v| v.key == key && v.batches == 3));
    // One analysis alone is no season.
    let spring = found.waters.iter().find(|w| w.days.len() == 1);
    let of_spring = spring.map(|w| format!("water.source[{}].", w.source));
    assert!(of_spring.is_none_or(|of| found.values.iter().all(|v| !v.key.starts_with(&of))));
    let taken = saved(app.take_lessons(&found, plan.revision).await.unwrap());
    let r = taken.outcome.reckoning().unwrap();
    let told = r.assumptions.iter().find(|a| a.path == key).unwrap();
    assert_eq!(told.source, "learned from 3 analyses, for 2027-06-20");
}

#[tokio::test]
async fn a_half_life_stays_with_its_batch() {
    let (_folder, app) = app().await;
    for (name, litres) in [("one", 24.4), ("two", 24.6)] {
        kept(&app, &brewed(name, litres)).await;
    }
    let plan = kept(&app, LANTERN).await;
    let half = Forget::Batches(2.0);
    saved(
        app.keep_half_life(plan.id, plan.revision, half)
            .await
            .unwrap(),
    );
    let found = lessons(&app, plan.id).await;
    assert_eq!(found.forget, half);
    let taken = saved(
        app.take_lessons(&found, found.batch.revision)
            .await
            .unwrap(),
    );
    let r = taken.outcome.reckoning().unwrap();
    let told = r.assumptions.iter().find(|a| a.path == "kit.evaporation");
    let source = &told.unwrap().source;
    assert_eq!(
        source,
        "learned from 2 batches, of which one counts half after 2 batches"
    );
    // What is asked goes before what is kept.
    let asked = app.gather_lessons(plan.id).await.unwrap();
    assert_eq!(asked.lessons(Some(Forget::Never)).forget, Forget::Never);
}

/// A finding that names its taster counts by what that taster noticed before.
#[tokio::test]
async fn what_a_taster_notices_weighs_what_the_taster_finds() {
    let (_folder, app) = app().await;
    let found = |by: &str| {
        format!("{LANTERN}\n[[finding]]\nwhat = \"clove\"\nthere = \"no\"\nby = \"{by}\"\n")
    };
    let of = kept(&app, &found("Ada")).await;
    let plain = app.house_of(&of).await.unwrap();
    // Her own finding is all that is known of her, and does not weigh itself.
    assert!(plain.weighed.is_empty());
    for _ in 0..4 {
        kept(&app, &found("Ada")).await;
    }
    let known = app.tasters().await.unwrap();
    assert_eq!((known.len(), known[0].tasted.len()), (1, 5));
    let history = app.house_of(&of).await.unwrap();
    assert!(history.weighed[0].keen < 1.0);
    let r = of.outcome.reckoning().unwrap();
    let keen = history.weigh(r).document.findings[0].keen;
    assert!((keen - history.weighed[0].keen).abs() < 1e-12);
    assert!(r.document.findings[0].keen > keen);
}
