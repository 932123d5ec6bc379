//! Devices and what they deliver.

use store::{Block, Kind, RemarkKind, StoreError};

use crate::ground::{Ground, assert_sound, at, on_both, plant, reading};

on_both!(
    a_token_opens_the_door_until_it_is_revoked,
    super::token_opens_until_revoked
);
on_both!(
    every_row_of_a_delivery_has_its_fate,
    super::every_row_has_its_fate
);
on_both!(
    a_thinned_channel_keeps_its_ends_and_its_steps,
    super::thinned_channel
);

async fn token_opens_until_revoked(ground: &Ground) {
    let store = ground.open().await;
    let batch = plant(&store, Kind::Batch, "Stout").await;
    let next = plant(&store, Kind::Batch, "Porter").await;
    let made = store.make_device("float", batch, at(1)).await.unwrap();
    let other = store.make_device("probe", batch, at(2)).await.unwrap();
    assert_ne!(made.token, other.token);
    let found = store.device_of_token(&made.token).await.unwrap().unwrap();
    assert_eq!(found, made.device);

    // Neither half of a token opens anything, nor the one half with the other.
    let (id, secret) = made.token.split_once('.').unwrap();
    let (_, other_secret) = other.token.split_once('.').unwrap();
    for wrong in [
        String::new(),
        id.to_owned(),
        format!("{id}."),
        format!("{id}.{other_secret}"),
        format!("{id}.{}", secret.to_uppercase()),
        format!("{batch}.{secret}"),
        "'; DROP TABLE device; --.x".to_owned(),
    ] {
        let found = store.device_of_token(&wrong).await.unwrap();
        assert_eq!(found, None, "{wrong}");
    }

    store.device_heard(made.device.id, at(50)).await.unwrap();
    store.device_heard(made.device.id, at(40)).await.unwrap();
    store.point_device(made.device.id, next).await.unwrap();
    let found = store.device_of_token(&made.token).await.unwrap().unwrap();
    assert_eq!((found.heard_at, found.batch), (Some(at(50)), next));

    store.revoke_device(made.device.id, at(60)).await.unwrap();
    store.revoke_device(made.device.id, at(70)).await.unwrap();
    assert_eq!(store.device_of_token(&made.token).await.unwrap(), None);
    let listed = store.devices().await.unwrap();
    assert_eq!(listed.len(), 2);
    assert_eq!(listed[0].revoked_at, Some(at(60)));

    let water = plant(&store, Kind::Water, "tap").await;
    let wrong = store.make_device("float", water, at(3)).await.unwrap_err();
    assert!(matches!(wrong, StoreError::WrongKind { .. }), "{wrong}");
    for name in ["", "a\nb", "a\u{1b}[2J"] {
        assert!(
            store.make_device(name, batch, at(3)).await.is_err(),
            "{name:?}"
        );
    }
    let nowhere = store::DeviceId::new(at(9));
    assert!(matches!(
        store.revoke_device(nowhere, at(9)).await,
        Err(StoreError::NoSuchDevice { .. })
    ));
    assert_sound(&store).await;
}

async fn every_row_has_its_fate(ground: &Ground) {
    let store = ground.open().await;
    let batch = plant(&store, Kind::Batch, "Stout").await;
    let id = store
        .begin_delivery(batch, "float.csv", at(5))
        .await
        .unwrap();
    // More than one statement's worth, and a rest.
    let readings: Vec<_> = (0..600)
        .map(|n| reading("float", "temperature", n, 19.0 + n as f64 * 1e-3))
        .collect();
    let block = Block {
        rows: 601,
        lines: (2..602).collect(),
        readings,
        remarks: vec![(
            602,
            RemarkKind::Refused,
            "temperature: \"x\" is no number".to_owned(),
            "t,x\0".to_owned(),
        )],
    };
    let kept = store.add_block(batch, id, &block).await.unwrap();
    assert_eq!((kept.added, kept.already), (600, 0));
    // The same again from elsewhere, but for one value.
    let second = store.begin_delivery(batch, "senml", at(6)).await.unwrap();
    let mut again = block.clone();
    again.remarks.clear();
    for reading in &mut again.readings {
        reading.source = "senml".to_owned();
    }
    again.readings[7].value = 30.0;
    let kept = store.add_block(batch, second, &again).await.unwrap();
    assert_eq!((kept.added, kept.already), (0, 599));
    assert_eq!(kept.contradicted.len(), 1);
    assert_eq!(kept.contradicted[0].0, 9);

    let deliveries = store.deliveries(batch, 10).await.unwrap();
    assert_eq!(deliveries.len(), 2);
    let first = &deliveries[1];
    assert_eq!((first.rows, first.added, first.refused), (601, 600, 1));
    assert_eq!(
        (deliveries[0].already, deliveries[0].contradicted),
        (599, 1)
    );
    let remarks = store.remarks(batch, 10).await.unwrap();
    assert_eq!(remarks.len(), 2);
    assert_eq!(
        (remarks[0].kind, remarks[0].line, remarks[0].raw.as_str()),
        (RemarkKind::Contradicted, 9, "19.007 °C")
    );
    assert!(remarks[0].why.contains("30"), "{}", remarks[0].why);
    assert_eq!(
        (remarks[1].kind, remarks[1].raw.as_str()),
        (RemarkKind::Refused, "t,x\u{2400}")
    );
    assert_sound(&store).await;
}

async fn thinned_channel(ground: &Ground) {
    let store = ground.open().await;
    let batch = plant(&store, Kind::Batch, "Stout").await;
    let readings: Vec<_> = (0..1000)
        .map(|n| reading("float", "temperature", n, n as f64))
        .collect();
    store.add_readings(batch, &readings).await.unwrap();
    let values = |of: Vec<store::Reading>| of.iter().map(|r| r.value).collect::<Vec<_>>();
    let thin = |most| store.thinned_readings(batch, "float", "temperature", most);
    let hundred = values(thin(100).await.unwrap());
    assert_eq!((hundred.len(), hundred[0], hundred[1]), (100, 0.0, 10.0));
    assert_eq!(thin(5000).await.unwrap().len(), 1000);
    let other = store
        .thinned_readings(batch, "float", "ph", 10)
        .await
        .unwrap();
    assert!(other.is_empty());
}
