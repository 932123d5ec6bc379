//! The life of documents, the same on either engine.

use sqlx::{AssertSqlSafe, Connection as _, PgConnection, SqliteConnection};
use store::{
    Change, Draft, Kind, ListRequest, NewDocument, ReadingRequest, Shelf, Store, StoreError,
};

use crate::ground::{Ground, assert_sound, at, day, number, on_both, plant, reading};

on_both!(
    every_statement_is_understood,
    super::every_statement_is_understood_on
);
on_both!(
    a_document_keeps_all_its_revisions,
    super::a_document_keeps_all_its_revisions_on
);
on_both!(
    a_refused_text_is_kept_and_can_be_brought_back,
    super::a_refused_text_is_kept_on
);
on_both!(
    lists_show_what_is_asked_for,
    super::lists_show_what_is_asked_for_on
);
on_both!(
    a_failure_among_analyses_leaves_nothing,
    super::a_failure_among_analyses_leaves_nothing_on
);
on_both!(
    analyses_and_readings_are_kept_once,
    super::analyses_and_readings_are_kept_once_on
);
on_both!(
    analyses_come_all_or_none,
    super::analyses_come_all_or_none_on
);
on_both!(
    what_cannot_be_kept_is_refused,
    super::what_cannot_be_kept_is_refused_on
);

async fn every_statement_is_understood_on(ground: &Ground) {
    let prepared = ground.open().await.prepare_every_statement().await.unwrap();
    assert!(prepared > 30, "{prepared}");
}

async fn a_document_keeps_all_its_revisions_on(ground: &Ground) {
    let store = ground.open().await;
    let first = Draft {
        author: Some("Ann"),
        ..Draft::new("Stout", "og = \"1.050\"\nibu = 30\n")
    };
    let made = store.create(Kind::Batch, &first, at(0)).await.unwrap();
    assert_eq!(made.revision, number(1));

    let second = Draft::new("Dry stout", "og = \"1.042\"\nibu = 30\n");
    let saved = store
        .save(made.id, number(1), &second, at(1_000))
        .await
        .unwrap();
    assert_eq!(saved.revision, number(2));

    let back = store
        .bring_back(made.id, number(1), number(2), Some("Bob"), at(2_000))
        .await
        .unwrap();
    assert_eq!((back.revision, &back.sha256), (number(3), &made.sha256));

    // Closed and opened again, it is all there.
    store.close().await;
    let store = ground.open().await;
    let history = store.history(made.id).await.unwrap();
    let told: Vec<_> = history
        .iter()
        .map(|r| {
            (
                r.number.get(),
                r.title.as_str(),
                r.saved_at,
                r.author.as_deref(),
                r.note.as_deref(),
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            (1, "Stout", at(0), Some("Ann"), None),
            (2, "Dry stout", at(1_000), None, None),
            (
                3,
                "Stout",
                at(2_000),
                Some("Bob"),
                Some("brought back from revision 1")
            ),
        ]
    );
    assert_eq!(
        store.revision(made.id, number(2)).await.unwrap().text,
        second.text
    );
    assert_eq!(store.current(made.id).await.unwrap().text, first.text);

    let difference = store
        .difference(made.id, number(1), number(2))
        .await
        .unwrap();
    let changed: Vec<_> = difference
        .lines
        .iter()
        .map(|line| (line.change, line.text.as_str()))
        .collect();
    assert_eq!(
        changed,
        [
            (Change::Removed, "og = \"1.050\"\n"),
            (Change::Added, "og = \"1.042\"\n"),
            (Change::Same, "ibu = 30\n")
        ]
    );
    assert!(
        store
            .difference(made.id, number(1), number(3))
            .await
            .unwrap()
            .is_empty()
    );

    let missing = store.revision(made.id, number(4)).await.unwrap_err();
    assert!(
        matches!(missing, StoreError::NoSuchRevision { current, .. } if current == number(3)),
        "{missing}"
    );
    assert_sound(&store).await;
}

async fn a_refused_text_is_kept_on(ground: &Ground) {
    let store = ground.open().await;
    let id = plant(&store, Kind::Inquiry, "Butter").await;
    store
        .save(id, number(1), &Draft::new("Butter", "hers"), at(1))
        .await
        .unwrap();

    let his = Draft {
        author: Some("Bob"),
        note: Some("at the pub"),
        ..Draft::new("Butter?", "his")
    };
    let refused = store.save(id, number(1), &his, at(2)).await.unwrap_err();
    let StoreError::Stale {
        current,
        expected,
        yours_kept_as,
        ..
    } = refused
    else {
        panic!("{refused}")
    };
    assert_eq!((expected, current), (number(1), number(2)));

    // Both texts are there.
    assert_eq!(store.current(id).await.unwrap().text, "hers");
    let kept = store.side_version(yours_kept_as).await.unwrap();
    assert_eq!(kept.text, "his");
    assert_eq!(
        (kept.info.based_on, kept.info.met, kept.info.taken_up_as),
        (number(1), number(2), None)
    );
    assert_eq!(
        (kept.info.author.as_deref(), kept.info.note.as_deref()),
        (Some("Bob"), Some("at the pub"))
    );
    assert_eq!(
        store.side_versions(id).await.unwrap(),
        std::slice::from_ref(&kept.info)
    );

    // Bringing it back on an old revision is refused too, and keeps no second copy.
    let again = store
        .bring_back_side(yours_kept_as, number(1), None, at(3))
        .await
        .unwrap_err();
    assert!(
        matches!(again, StoreError::Stale { yours_kept_as: same, .. } if same == yours_kept_as),
        "{again}"
    );
    assert_eq!(store.side_versions(id).await.unwrap().len(), 1);

    let taken = store
        .bring_back_side(yours_kept_as, number(2), None, at(4))
        .await
        .unwrap();
    assert_eq!(taken.revision, number(3));
    let newest = store.current(id).await.unwrap();
    assert_eq!(
        (newest.text.as_str(), newest.info.title.as_str()),
        ("his", "Butter?")
    );
    assert_eq!(newest.info.author.as_deref(), Some("Bob"));
    let listed = store.side_versions(id).await.unwrap();
    assert_eq!(listed.len(), 1);
    assert_eq!(listed[0].taken_up_as, Some(number(3)));
    assert_sound(&store).await;
}

async fn lists_show_what_is_asked_for_on(ground: &Ground) {
    let store = ground.open().await;
    let titles = ["Märzen", "100 % Brett_1", "Kölsch!", "marzen", "Stout"];
    for (i, title) in titles.iter().enumerate() {
        store
            .create(
                Kind::Batch,
                &Draft::new(title, ""),
                at(i64::try_from(i).unwrap()),
            )
            .await
            .unwrap();
    }
    let water = plant(&store, Kind::Water, "Märzen well").await;

    let all = shown(&store, &ListRequest::of(Kind::Batch)).await;
    assert_eq!(
        all,
        ["Stout", "marzen", "Kölsch!", "100 % Brett_1", "Märzen"]
    );
    for (filter, wanted) in [
        ("MÄRZEN", vec!["Märzen"]),
        ("  arz ", vec!["marzen"]),
        ("%", vec!["100 % Brett_1"]),
        ("_", vec!["100 % Brett_1"]),
        ("!", vec!["Kölsch!"]),
        ("\\", vec![]),
        ("' OR 1=1 --", vec![]),
    ] {
        let request = ListRequest {
            filter,
            ..ListRequest::of(Kind::Batch)
        };
        assert_eq!(shown(&store, &request).await, wanted, "{filter}");
    }
    let page = ListRequest {
        page: 1,
        per_page: 2,
        ..ListRequest::of(Kind::Batch)
    };
    let listing = store.list(&page).await.unwrap();
    assert_eq!(listing.total, 5);
    let far = ListRequest {
        page: u32::MAX,
        per_page: u32::MAX,
        ..page
    };
    assert!(shown(&store, &far).await.is_empty());
    assert_eq!(shown(&store, &page).await, ["Kölsch!", "100 % Brett_1"]);

    // Archiving hides, and hides nothing else.
    store.archive(water, at(9)).await.unwrap();
    store.archive(water, at(10)).await.unwrap();
    assert!(
        shown(&store, &ListRequest::of(Kind::Water))
            .await
            .is_empty()
    );
    let hidden = ListRequest {
        shelf: Shelf::Archived,
        ..ListRequest::of(Kind::Water)
    };
    assert_eq!(shown(&store, &hidden).await, ["Märzen well"]);
    assert_eq!(
        store.document(water).await.unwrap().archived_at,
        Some(at(9))
    );
    assert!(store.current(water).await.is_ok());
    store.unarchive(water).await.unwrap();
    assert_eq!(
        shown(&store, &ListRequest::of(Kind::Water)).await,
        ["Märzen well"]
    );
}

async fn shown(store: &Store, request: &ListRequest<'_>) -> Vec<String> {
    store
        .list(request)
        .await
        .unwrap()
        .documents
        .into_iter()
        .map(|document| document.title)
        .collect()
}

async fn analyses_come_all_or_none_on(ground: &Ground) {
    let store = ground.open().await;
    let (one, two) = (
        (day("2026-04-01"), "ca = 80\n"),
        (day("2026-06-01"), "ca = 95\n"),
    );
    let broken = (day("2026-08-01"), "ca = \0\n");
    let draft = Draft::new("Well", "[water]\n");
    let saved = store
        .create_water(&draft, &[one, two], at(0))
        .await
        .unwrap();
    let kept = store.analyses(saved.id).await.unwrap();
    assert_eq!(
        kept.iter().map(|a| a.taken_on).collect::<Vec<_>>(),
        [one.0, two.0]
    );

    let before = shown(&store, &ListRequest::of(Kind::Water)).await;
    let refused = store.create_water(&draft, &[one, broken], at(1)).await;
    assert!(
        matches!(refused, Err(StoreError::Impossible { .. })),
        "{refused:?}"
    );
    assert_eq!(shown(&store, &ListRequest::of(Kind::Water)).await, before);

    let three = (day("2026-07-01"), "ca = 90\n");
    assert!(
        store
            .add_analyses(saved.id, &[three, broken], at(2))
            .await
            .is_err()
    );
    assert_eq!(store.analyses(saved.id).await.unwrap(), kept);
    // The second of one day sees the first.
    let corrected = (three.0, "ca = 91\n");
    let added = store
        .add_analyses(saved.id, &[three, corrected, three], at(3))
        .await
        .unwrap();
    assert_eq!(added[1].number, number(2));
    assert_eq!(added[2], added[0]);
    assert_sound(&store).await;
}

/// The engine itself refuses the second of three, when the first is written already.
async fn a_failure_among_analyses_leaves_nothing_on(ground: &Ground) {
    let store = ground.open().await;
    let well = plant(&store, Kind::Water, "Well").await;
    refuse_analyses_of(ground, "2026-06-01").await;
    let samples = ["2026-04-01", "2026-06-01", "2026-08-01"].map(|taken| (day(taken), "ca = 80\n"));

    let failed = store.add_analyses(well, &samples, at(1)).await;
    assert!(failed.is_err(), "{failed:?}");
    assert_eq!(store.analyses(well).await.unwrap(), []);

    let before = shown(&store, &ListRequest::of(Kind::Water)).await;
    let draft = Draft::new("Spring", "[water]\n");
    let failed = store.create_water(&draft, &samples, at(2)).await;
    assert!(failed.is_err(), "{failed:?}");
    assert_eq!(shown(&store, &ListRequest::of(Kind::Water)).await, before);

    // Documents of several kinds: the batch before the water that fails goes with it.
    let of = |kind, draft, samples| NewDocument {
        kind,
        draft,
        samples,
    };
    let pale = Draft::new("Pale", "[batch]\n");
    let (none, broken) = (&[][..], of(Kind::Water, draft, &samples));
    let failed = store
        .create_all(&[of(Kind::Batch, pale, none), broken], at(2))
        .await;
    assert!(failed.is_err(), "{failed:?}");
    let batches = shown(&store, &ListRequest::of(Kind::Batch)).await;
    assert_eq!(batches, Vec::<String>::new());
    let fine = [
        of(Kind::Batch, pale, none),
        of(Kind::Water, draft, &samples[..1]),
    ];
    let made = store.create_all(&fine, at(2)).await.unwrap();
    assert_eq!(store.analyses(made[1].id).await.unwrap().len(), 1);

    // Nothing stays locked, and the days on either side are taken.
    let two = [samples[0], samples[2]];
    assert_eq!(
        store.add_analyses(well, &two, at(3)).await.unwrap().len(),
        2
    );
    assert_sound(&store).await;
}

/// From now on the engine refuses every analysis of a day.
async fn refuse_analyses_of(ground: &Ground, taken_on: &str) {
    let statement = match ground.postgres {
        Some(_) => {
            format!("ALTER TABLE analysis ADD CONSTRAINT refused CHECK (taken_on <> '{taken_on}')")
        }
        None => format!(
            "CREATE TRIGGER refused BEFORE INSERT ON analysis WHEN new.taken_on = '{taken_on}' \
             BEGIN SELECT RAISE(ABORT, 'refused'); END"
        ),
    };
    let statement = sqlx::raw_sql(AssertSqlSafe(statement));
    if ground.postgres.is_some() {
        let mut connection = PgConnection::connect(&ground.place).await.unwrap();
        statement.execute(&mut connection).await.unwrap();
        connection.close().await.unwrap();
    } else {
        let mut connection = SqliteConnection::connect(&ground.place).await.unwrap();
        statement.execute(&mut connection).await.unwrap();
        connection.close().await.unwrap();
    }
}

async fn analyses_and_readings_are_kept_once_on(ground: &Ground) {
    let store = ground.open().await;
    let (water, batch) = (
        plant(&store, Kind::Water, "Well").await,
        plant(&store, Kind::Batch, "Stout").await,
    );

    let spring = store
        .add_analysis(water, day("2026-04-01"), "ca = 80\n", at(0))
        .await
        .unwrap();
    let same = store
        .add_analysis(water, day("2026-04-01"), "ca = 80\n", at(5))
        .await
        .unwrap();
    assert_eq!(same, spring);
    let corrected = store
        .add_analysis(water, day("2026-04-01"), "ca = 85\n", at(6))
        .await
        .unwrap();
    assert_eq!(corrected.number, number(2));
    let winter = store
        .add_analysis(water, day("2026-01-15"), "ca = 60\n", at(7))
        .await
        .unwrap();
    assert_eq!(
        store.analyses(water).await.unwrap(),
        [winter, spring, corrected]
    );

    let readings = vec![
        reading("probe", "temperature", 0, 20.25),
        reading("floating sensor", "gravity", 0, 1.048),
        reading(
            "probe",
            "temperature",
            60_000,
            f64::from_bits(0x3FB9_9999_9999_999A),
        ),
        reading("probe", "temperature", 120_000, 20.0),
    ];
    let added = store.add_readings(batch, &readings).await.unwrap();
    assert_eq!((added.added, added.already, added.refused.len()), (4, 0, 0));

    // The same again, one that contradicts, one that is new.
    let mut more = readings.clone();
    more.push(reading("probe", "temperature", 60_000, 99.0));
    more.push(reading("probe", "temperature", 180_000, 19.5));
    let added = store.add_readings(batch, &more).await.unwrap();
    assert_eq!((added.added, added.already), (1, 4));
    assert_eq!(
        added.refused,
        [reading("probe", "temperature", 60_000, 99.0)]
    );

    let in_order = [
        &readings[1],
        &readings[0],
        &readings[2],
        &readings[3],
        &more[5],
    ]
    .map(Clone::clone);
    assert_eq!(
        store
            .readings(batch, &ReadingRequest::default())
            .await
            .unwrap(),
        in_order
    );
    let request = ReadingRequest {
        instrument: Some("probe"),
        quantity: Some("temperature"),
        during: Some(at(60_000)..at(180_000)),
    };
    assert_eq!(
        store.readings(batch, &request).await.unwrap(),
        readings[2..]
    );
    let channels = store.channels(batch).await.unwrap();
    let told: Vec<_> = channels
        .iter()
        .map(|c| {
            (
                c.instrument.as_str(),
                c.quantity.as_str(),
                c.readings,
                c.first,
                c.last,
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            ("floating sensor", "gravity", 1, at(0), at(0)),
            ("probe", "temperature", 4, at(0), at(180_000))
        ]
    );

    // Each belongs to its own kind of document.
    let wrong = store.add_readings(water, &readings).await.unwrap_err();
    assert!(
        matches!(
            wrong,
            StoreError::WrongKind {
                wanted: Kind::Batch,
                ..
            }
        ),
        "{wrong}"
    );
    let wrong = store
        .add_analysis(batch, day("2026-04-01"), "", at(0))
        .await
        .unwrap_err();
    assert!(
        matches!(
            wrong,
            StoreError::WrongKind {
                wanted: Kind::Water,
                ..
            }
        ),
        "{wrong}"
    );
    assert_sound(&store).await;
}

async fn what_cannot_be_kept_is_refused_on(ground: &Ground) {
    let store = ground.open().await;
    let id = plant(&store, Kind::Batch, "Stout").await;
    let long = "x".repeat(store::MAX_LINE_BYTES + 1);
    for draft in [
        Draft::new("a\0b", ""),
        Draft::new("", "a\0b"),
        Draft::new(&long, ""),
        Draft {
            author: Some(""),
            ..Draft::new("", "")
        },
        Draft {
            note: Some(&long),
            ..Draft::new("", "")
        },
    ] {
        let refused = store.save(id, number(1), &draft, at(0)).await.unwrap_err();
        assert!(
            matches!(refused, StoreError::Impossible { .. }),
            "{refused}"
        );
    }
    for value in [f64::NAN, f64::INFINITY] {
        let one_bad = [
            reading("probe", "ph", 0, 5.2),
            reading("probe", "ph", 1, value),
        ];
        assert!(matches!(
            store.add_readings(id, &one_bad).await,
            Err(StoreError::Impossible { .. })
        ));
    }
    assert!(
        store
            .readings(id, &ReadingRequest::default())
            .await
            .unwrap()
            .is_empty()
    );
    assert_eq!(store.history(id).await.unwrap().len(), 1);

    let nobody = store::DocumentId::new(at(0));
    let missing = store
        .save(nobody, number(1), &Draft::new("", ""), at(0))
        .await
        .unwrap_err();
    assert!(
        matches!(missing, StoreError::NoSuchDocument { id } if id == nobody),
        "{missing}"
    );
    assert!(matches!(
        store.archive(nobody, at(0)).await,
        Err(StoreError::NoSuchDocument { .. })
    ));
    assert!(matches!(
        store.side_version(store::SideId::new(at(0))).await,
        Err(StoreError::NoSuchSideVersion { .. })
    ));
    // None of it left a side version behind.
    assert!(store.side_versions(id).await.unwrap().is_empty());
}
