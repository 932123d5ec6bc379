//! Editing a batch: what is saved, what is refused, what happens to two at once.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use app::{App, AppError, Beer, Beginning, Demo, Edit, Edited, OpenBatch, Tap};
use quantity::Volume;

struct House {
    app: App,
    _folder: tempfile::TempDir,
}

async fn house() -> House {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path().join("store.db")).await.unwrap();
    House {
        app,
        _folder: folder,
    }
}

async fn pale(house: &House) -> OpenBatch {
    house
        .app
        .keep_demo(Demo::find("lantern-pale-first").unwrap())
        .await
        .unwrap()
}

fn set(path: &str, written: &str) -> Edit {
    Edit::Set {
        path: path.to_owned(),
        written: written.to_owned(),
    }
}

const CHLORINE: &str = "water.source[1].total_chlorine";

#[tokio::test]
async fn an_edit_is_a_revision_and_says_what_it_moved() {
    let house = house().await;
    let batch = pale(&house).await;
    let edited = house
        .app
        .edit(
            batch.id,
            batch.revision,
            &[
                set(CHLORINE, "0 mg/L"),
                set("water.source[1].free_chlorine", ""),
            ],
        )
        .await
        .unwrap();
    let Edited::Saved {
        batch: after,
        change,
        moved,
    } = edited
    else {
        panic!("{edited:?}")
    };
    assert_eq!(after.revision.get(), 2);
    assert!(change.unwrap().contains("total_chlorine = 0 mg/L"));
    let medicinal = moved.iter().find(|m| m.after.key == "medicinal").unwrap();
    assert_eq!(
        (
            medicinal.before.text.metric.as_str(),
            medicinal.after.text.metric.as_str()
        ),
        ("high", "none")
    );
    // What chlorine has nothing to do with did not move.
    assert!(
        !moved
            .iter()
            .any(|m| matches!(m.after.key, "original_gravity" | "bitterness" | "alcohol"))
    );
    let (history, _) = house.app.history(batch.id).await.unwrap();
    assert_eq!(history.len(), 2);
}

#[tokio::test]
async fn an_edit_that_changes_nothing_is_no_revision() {
    let house = house().await;
    let batch = pale(&house).await;
    let edited = house
        .app
        .edit(batch.id, batch.revision, &[set(CHLORINE, "1.8 ± 0.3 mg/L")])
        .await
        .unwrap();
    let Edited::Saved {
        batch: after,
        change,
        moved,
    } = edited
    else {
        panic!("{edited:?}")
    };
    assert_eq!(
        (after.revision, change, moved.len()),
        (batch.revision, None, 0)
    );
}

#[tokio::test]
async fn what_cannot_be_read_is_refused_and_the_batch_stays() {
    let house = house().await;
    let batch = pale(&house).await;
    let edited = house
        .app
        .edit(batch.id, batch.revision, &[set(CHLORINE, "1.8 galz")])
        .await
        .unwrap();
    let Edited::Refused {
        batch: after,
        faults,
    } = edited
    else {
        panic!("{edited:?}")
    };
    assert_eq!(after.revision, batch.revision);
    assert_eq!(
        faults.iter().map(|f| f.path.as_str()).collect::<Vec<_>>(),
        [CHLORINE]
    );
    assert_eq!(house.app.batch(batch.id).await.unwrap().text, batch.text);
}

#[tokio::test]
async fn two_who_change_different_things_are_both_kept() {
    let house = house().await;
    let batch = pale(&house).await;
    house
        .app
        .edit(batch.id, batch.revision, &[set(CHLORINE, "0.5 mg/L")])
        .await
        .unwrap();
    // The second still looks at revision 1.
    house
        .app
        .edit(batch.id, batch.revision, &[set("hop[1].amount", "20 g")])
        .await
        .unwrap();
    let now = house.app.batch(batch.id).await.unwrap();
    assert_eq!(now.revision.get(), 3);
    assert_eq!(
        (
            now.written[CHLORINE].as_str(),
            now.written["hop[1].amount"].as_str()
        ),
        ("0.5 mg/L", "20 g")
    );
}

#[tokio::test]
async fn two_who_change_the_same_thing_are_told_and_both_versions_are_kept() {
    let house = house().await;
    let batch = pale(&house).await;
    house
        .app
        .edit(batch.id, batch.revision, &[set(CHLORINE, "0.5 mg/L")])
        .await
        .unwrap();
    let clash = house
        .app
        .edit(batch.id, batch.revision, &[set(CHLORINE, "0.9 mg/L")])
        .await
        .unwrap_err();
    let AppError::Conflict { kept_as, what, .. } = clash else {
        panic!("{clash:?}")
    };
    assert_eq!(what, CHLORINE);
    let now = house.app.batch(batch.id).await.unwrap();
    assert_eq!(now.written[CHLORINE], "0.5 mg/L");
    // It belongs to this batch and to no other.
    let other = pale(&house).await;
    assert!(
        house
            .app
            .bring_back_side(other.id, kept_as, other.revision)
            .await
            .is_err()
    );
    let brought = house
        .app
        .bring_back_side(batch.id, kept_as, now.revision)
        .await
        .unwrap();
    assert_eq!(brought.written[CHLORINE], "0.9 mg/L");
}

#[tokio::test]
async fn the_same_change_made_twice_is_no_conflict() {
    let house = house().await;
    let batch = pale(&house).await;
    for _ in 0..2 {
        house
            .app
            .edit(batch.id, batch.revision, &[set(CHLORINE, "0.5 mg/L")])
            .await
            .unwrap();
    }
    assert_eq!(house.app.batch(batch.id).await.unwrap().revision.get(), 2);
}

#[tokio::test]
async fn undo_goes_back_step_by_step_and_loses_nothing() {
    let house = house().await;
    let batch = pale(&house).await;
    let mut texts = vec![batch.text.clone()];
    let mut on = batch.revision;
    for amount in ["21 g", "22 g"] {
        let Edited::Saved { batch: after, .. } = house
            .app
            .edit(batch.id, on, &[set("hop[1].amount", amount)])
            .await
            .unwrap()
        else {
            panic!()
        };
        texts.push(after.text.clone());
        on = after.revision;
    }
    for expected in [&texts[1], &texts[0], &texts[0]] {
        let now = house.app.undo(batch.id, on).await.unwrap();
        assert_eq!(&now.text, expected);
        on = now.revision;
    }
    let (history, _) = house.app.history(batch.id).await.unwrap();
    assert_eq!(
        history.len(),
        5,
        "three written and two taken back; at the start there is nothing more"
    );
}

#[tokio::test]
async fn a_document_with_faults_is_kept_and_can_be_mended_bit_by_bit() {
    let house = house().await;
    let text = Demo::find("towpath-amber")
        .unwrap()
        .text
        .replace("\"90 min\"", "\"90 miles\"")
        .replace("\"63 °C\"", "\"63 °X\"");
    let batch = house.app.keep_batch(&text, "pasted").await.unwrap();
    assert_eq!(batch.outcome.faults().len(), 2);
    let Edited::Saved { batch: half, .. } = house
        .app
        .edit(batch.id, batch.revision, &[set("boil.time", "90 min")])
        .await
        .unwrap()
    else {
        panic!()
    };
    assert_eq!(half.outcome.faults().len(), 1);
    let Edited::Saved { batch: whole, .. } = house
        .app
        .edit(
            batch.id,
            half.revision,
            &[set("mash.rest[1].temperature", "63 °C")],
        )
        .await
        .unwrap()
    else {
        panic!()
    };
    assert!(whole.outcome.reckoning().is_some());
}

#[tokio::test]
async fn every_beginning_is_a_batch_that_can_be_brewed() {
    let house = house().await;
    for (tap, ..) in Tap::ALL {
        for (beer, _, words) in Beer::ALL {
            for litres in [10.0, 20.0, 200.0] {
                let beginning = Beginning {
                    name: format!("{words} \"quoted\" \\ at {litres}"),
                    tap,
                    beer,
                    volume: Volume::from_l(litres),
                };
                let batch = house.app.begin(&beginning).await.unwrap();
                assert_eq!(batch.name, beginning.name);
                let reckoning = batch
                    .outcome
                    .reckoning()
                    .unwrap_or_else(|| panic!("{words}: {:?}", batch.outcome.faults()));
                assert!((reckoning.boil.wort.volume.l() - litres).abs() < 1e-6);
                // A beginning is sound: the water is treated and nothing in it asks for action.
                let acts: Vec<_> = reckoning
                    .signs
                    .iter()
                    .flat_map(|s| &s.notes)
                    .filter(|n| n.weight == quantity::Weight::Act)
                    .collect();
                assert!(acts.is_empty(), "{words}, {litres} L: {acts:?}");
            }
        }
    }
}

#[tokio::test]
async fn the_list_finds_by_name() {
    let house = house().await;
    for demo in app::demos() {
        house.app.keep_demo(demo).await.unwrap();
    }
    let found = house.app.batches("towpath", 0).await.unwrap();
    assert_eq!((found.total, found.rows.len()), (1, 1));
    assert_eq!(house.app.batches("", 0).await.unwrap().total, 3);
}
