//! Two who save at once: one wins each revision, and both texts are kept.

use std::collections::BTreeSet;

use store::{Draft, Kind, Store, StoreError};

use crate::ground::{Ground, assert_sound, at, day, number, on_both, plant, reading};

on_both!(
    one_saver_wins_each_revision,
    super::one_saver_wins_each_revision_on
);
on_both!(
    adders_of_one_day_get_a_number_each,
    super::adders_of_one_day_get_a_number_each_on
);
on_both!(
    a_new_store_can_be_opened_by_several_at_once,
    super::opened_by_several_at_once_on
);

const ROUNDS: u32 = 25;

async fn one_saver_wins_each_revision_on(ground: &Ground) {
    // Two stores as two programs would have, and two tasks on each.
    let (one, other) = (ground.open().await, ground.open().await);
    let id = plant(&one, Kind::Batch, "Race").await;
    let savers = [("a", &one), ("b", &one), ("c", &other), ("d", &other)];
    for round in 1..=ROUNDS {
        let mut racing = Vec::new();
        for (who, store) in savers {
            let (who, store): (&str, Store) = (who, store.clone());
            racing.push(tokio::spawn(async move {
                let text = format!("{who} {round}");
                store
                    .save(
                        id,
                        number(round),
                        &Draft::new(who, &text),
                        at(i64::from(round)),
                    )
                    .await
            }));
        }
        let mut won = 0;
        for saver in racing {
            match saver.await.unwrap() {
                Ok(saved) => {
                    won += 1;
                    assert_eq!(saved.revision, number(round + 1));
                }
                Err(StoreError::Stale {
                    current, expected, ..
                }) => {
                    assert_eq!((expected, current), (number(round), number(round + 1)));
                }
                Err(other) => panic!("{other}"),
            }
        }
        assert_eq!(won, 1, "round {round}");
    }
    let mut texts = BTreeSet::new();
    for revision in &one.history(id).await.unwrap()[1..] {
        texts.insert(one.revision(id, revision.number).await.unwrap().text);
    }
    for side in one.side_versions(id).await.unwrap() {
        texts.insert(one.side_version(side.id).await.unwrap().text);
    }
    let tried: BTreeSet<String> = (1..=ROUNDS)
        .flat_map(|round| savers.map(|(who, _)| format!("{who} {round}")))
        .collect();
    assert_eq!(texts, tried);
    assert_sound(&one).await;
}

async fn adders_of_one_day_get_a_number_each_on(ground: &Ground) {
    let (one, other) = (ground.open().await, ground.open().await);
    let (water, batch) = (
        plant(&one, Kind::Water, "Well").await,
        plant(&one, Kind::Batch, "Stout").await,
    );
    let mut racing = Vec::new();
    for i in 0..12 {
        let store = if i % 2 == 0 {
            one.clone()
        } else {
            other.clone()
        };
        racing.push(tokio::spawn(async move {
            store
                .add_analysis(water, day("2026-04-01"), &format!("ca = {i}\n"), at(i))
                .await
                .unwrap();
            // All send the same hundred readings of two instruments, in turn.
            let mut readings: Vec<_> = (0..100)
                .map(|ms| reading(if ms % 2 == 0 { "x" } else { "y" }, "ph", ms, 5.0))
                .collect();
            if i % 3 == 0 {
                readings.reverse();
            }
            store.add_readings(batch, &readings).await.unwrap().added
        }));
    }
    let mut added = 0;
    for adder in racing {
        added += adder.await.unwrap();
    }
    assert_eq!(added, 100);
    let numbers: Vec<u32> = one
        .analyses(water)
        .await
        .unwrap()
        .iter()
        .map(|a| a.number.get())
        .collect();
    assert_eq!(numbers, (1..=12).collect::<Vec<u32>>());
    assert_sound(&one).await;
}

async fn opened_by_several_at_once_on(ground: &Ground) {
    let openers: Vec<_> = (0..6)
        .map(|_| {
            let place = ground.place.clone();
            tokio::spawn(async move { Store::open(place).await })
        })
        .collect();
    for opener in openers {
        let store = opener.await.unwrap().unwrap();
        plant(&store, Kind::Batch, "Stout").await;
    }
    assert_eq!(ground.open().await.check().await.unwrap().documents, 6);
}
