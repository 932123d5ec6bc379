//! What was agreed to for a study.

use store::{Kind, StoreError};

use crate::ground::{Ground, at, on_both, plant};

on_both!(the_last_word_on_a_batch_is_kept, super::last_word_is_kept);

async fn last_word_is_kept(ground: &Ground) {
    let store = ground.open().await;
    let batch = plant(&store, Kind::Batch, "Stout").await;
    let other = plant(&store, Kind::Batch, "Porter").await;
    assert_eq!(store.consents().await.unwrap().since(batch, None), None);

    store.say_consent(None, true, at(1)).await.unwrap();
    store.say_consent(Some(batch), false, at(2)).await.unwrap();
    let said = store.consents().await.unwrap();
    assert_eq!(
        (said.since(batch, None), said.since(other, None)),
        (None, Some(at(1)))
    );
    assert_eq!(said.of_everything(None).map(|word| word.agreed), Some(true));

    store.say_consent(None, false, at(3)).await.unwrap();
    store.say_consent(Some(other), true, at(4)).await.unwrap();
    let said = store.consents().await.unwrap();
    assert_eq!(
        (said.since(batch, None), said.since(other, None)),
        (None, Some(at(4)))
    );
    assert_eq!(said.0.len(), 4);

    let water = plant(&store, Kind::Water, "Well").await;
    let refused = store.say_consent(Some(water), true, at(5)).await;
    assert!(matches!(refused, Err(StoreError::WrongKind { .. })));
    store.close().await;
}

/// What was withdrawn after a backup was made stays withdrawn when it is restored.
#[tokio::test]
async fn a_backup_does_not_bring_back_what_was_withdrawn() {
    let ground = Ground::sqlite();
    let store = ground.open().await;
    let batch = plant(&store, Kind::Batch, "Stout").await;
    store.say_consent(Some(batch), true, at(1)).await.unwrap();
    let copy = ground.path("copy.db");
    store.backup(&copy).await.unwrap();
    store.say_consent(Some(batch), false, at(2)).await.unwrap();
    store.restore(&copy).await.unwrap();
    assert_eq!(store.document(batch).await.unwrap().title, "Stout");
    assert_eq!(store.consents().await.unwrap().since(batch, None), None);
}
