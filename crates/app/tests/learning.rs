//! What the batches of a store teach one: gathered, taken, taken out, left out.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail the test")]

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
    let found = app.gather_lessons(of).await.unwrap().lessons(Forget::Never);
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
