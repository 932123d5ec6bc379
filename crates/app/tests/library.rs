//! The library over a store: kept, edited, sampled, taken into a batch.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::BTreeMap;

use app::{
    App, AppError, Contents, DatedAnalysis, Edit, Edited, EntryEdited, LibraryKind, OpenBatch,
    WaterPlace,
};
use store::{Day, DocumentId};

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");
const SUMMER: &str = include_str!("../../../examples/library/harrowmere-mains/2026-06-18.toml");

/// An empty library; the folder goes when the test ends.
async fn library() -> (App, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let app = App::open(folder.path().join("library.db").as_path())
        .await
        .unwrap();
    (app, folder)
}

fn day(text: &str) -> Day {
    text.parse().unwrap()
}

fn set(path: &str, written: &str) -> Edit {
    Edit::Set {
        path: path.to_owned(),
        written: written.to_owned(),
    }
}

fn saved(edited: Edited) -> OpenBatch {
    match edited {
        Edited::Saved { batch, .. } => *batch,
        Edited::Refused { faults, .. } => panic!("{faults:#?}"),
    }
}

/// The demo waters: the spring, then the mains.
async fn waters(app: &App) -> (DocumentId, DocumentId) {
    let ids = app.keep_demo_library(LibraryKind::Water).await.unwrap();
    (ids[0], ids[1])
}

#[tokio::test]
async fn each_kind_is_begun_listed_and_opened() {
    let (app, _folder) = library().await;
    for (kind, name) in LibraryKind::ALL
        .into_iter()
        .zip(["Mill \"pond\"", "Shed", "Cupboard"])
    {
        let begun = app.begin_entry(kind, &format!(" {name} ")).await.unwrap();
        assert_eq!((begun.name.as_str(), begun.faults()), (name, [].as_slice()));
        let page = app.library(kind, "", 0).await.unwrap();
        assert_eq!((page.total, page.rows[0].name.as_str()), (1, name));
        assert_eq!(app.entry(kind, begun.id).await.unwrap(), begun);
        // Nothing of one kind is shown as another, nor as a batch.
        for other in LibraryKind::ALL.into_iter().filter(|k| *k != kind) {
            assert!(app.entry(other, begun.id).await.is_err());
        }
        assert!(app.batch(begun.id).await.is_err());
        assert!(
            app.edit(begun.id, begun.revision, &[set("batch.name", "x")])
                .await
                .is_err()
        );
    }
}

#[tokio::test]
async fn the_demo_library_has_no_fault() {
    let (app, _folder) = library().await;
    for kind in LibraryKind::ALL {
        for id in app.keep_demo_library(kind).await.unwrap() {
            let entry = app.entry(kind, id).await.unwrap();
            assert_eq!(entry.faults(), []);
            assert!(matches!(
                (kind, &entry.contents.unwrap().0),
                (LibraryKind::Water, Contents::Water(_))
                    | (LibraryKind::Brewhouse, Contents::Brewhouse(_))
                    | (LibraryKind::Stores, Contents::Stores(_))
            ));
        }
    }
}

#[tokio::test]
async fn an_edit_is_a_revision_and_one_with_faults_is_refused() {
    let (app, _folder) = library().await;
    let kind = LibraryKind::Brewhouse;
    let shed = app.begin_entry(kind, "Shed").await.unwrap();
    let edits = [
        set("kit.altitude", "310 m"),
        set("brewhouse.name", "The shed"),
    ];
    let EntryEdited::Saved { entry, change } = app
        .edit_entry(kind, shed.id, shed.revision, &edits)
        .await
        .unwrap()
    else {
        panic!("refused")
    };
    assert_eq!((entry.name.as_str(), entry.revision.get()), ("The shed", 2));
    assert!(change.unwrap().contains("kit.altitude = 310 m"));

    let refused = app
        .edit_entry(kind, shed.id, entry.revision, &[set("kit.altitude", "310")])
        .await
        .unwrap();
    let EntryEdited::Refused { entry, faults } = refused else {
        panic!("saved")
    };
    assert_eq!(
        (faults[0].path.as_str(), entry.revision.get()),
        ("kit.altitude", 2)
    );

    let back = app
        .bring_back_entry(kind, shed.id, shed.revision, entry.revision)
        .await
        .unwrap();
    assert_eq!((back.name.as_str(), back.revision.get()), ("Shed", 3));
    let (revisions, _) = app.history(shed.id).await.unwrap();
    assert_eq!(revisions.len(), 3);
}

#[tokio::test]
async fn two_who_change_the_same_value_are_both_kept() {
    let (app, _folder) = library().await;
    let kind = LibraryKind::Stores;
    let cupboard = app.begin_entry(kind, "Cupboard").await.unwrap();
    let edit = |path: &str, written: &str| [set(path, written)];
    app.edit_entry(
        kind,
        cupboard.id,
        cupboard.revision,
        &edit("stores.name", "Larder"),
    )
    .await
    .unwrap();
    let clash = app
        .edit_entry(
            kind,
            cupboard.id,
            cupboard.revision,
            &edit("stores.name", "Pantry"),
        )
        .await;
    let Err(AppError::Conflict { what, kept_as, .. }) = clash else {
        panic!("{clash:?}")
    };
    assert_eq!(what, "stores.name");
    let side = app.store().side_version(kept_as).await.unwrap();
    assert!(side.text.contains("Pantry"));
    // Another value goes ahead.
    let other = app
        .edit_entry(
            kind,
            cupboard.id,
            cupboard.revision,
            &edit("stores.notes", "cold"),
        )
        .await
        .unwrap();
    let EntryEdited::Saved { entry, .. } = other else {
        panic!("refused")
    };
    assert_eq!(entry.written["stores.name"], "Larder");
    assert_eq!(entry.written["stores.notes"], "cold");
}

#[tokio::test]
async fn analyses_stand_by_day_and_the_last_correction_counts() {
    let (app, _folder) = library().await;
    let water = app.begin_entry(LibraryKind::Water, "tap").await.unwrap();
    app.add_analysis(water.id, day("2026-06-18"), SUMMER)
        .await
        .unwrap();
    app.add_analysis(water.id, day("2026-01-05"), SUMMER)
        .await
        .unwrap();
    let corrected = SUMMER.replace("1.8 ± 0.3 mg/L", "1.9 ± 0.3 mg/L");
    let second = app
        .add_analysis(water.id, day("2026-06-18"), &corrected)
        .await
        .unwrap();
    assert_eq!(second.number.get(), 2);

    let all = app.analyses(&water).await.unwrap();
    let days: Vec<String> = all.iter().map(|a| a.taken_on.to_string()).collect();
    assert_eq!(days, ["2026-01-05", "2026-06-18"]);
    let (analysis, _) = all[1].reading.as_ref().unwrap();
    assert!((analysis.figures.total_chlorine.unwrap().canonical() - 1.9).abs() < 1e-12);
    assert_eq!(
        app.sampled(water.id).await.unwrap(),
        [day("2026-06-18"), day("2026-01-05")]
    );
}

#[tokio::test]
async fn an_analysis_that_cannot_be_is_not_kept() {
    let (app, _folder) = library().await;
    let water = app.begin_entry(LibraryKind::Water, "tap").await.unwrap();
    let unreadable = SUMMER.replace("61 mg/L", "61");
    let contradicts = SUMMER.replace("free_chlorine = \"0.1", "free_chlorine = \"9.1");
    for (text, path) in [(unreadable, "sulfate"), (contradicts, "")] {
        let refused = app.add_analysis(water.id, day("2026-06-18"), &text).await;
        let Err(AppError::Faulty { faults, .. }) = refused else {
            panic!("{refused:?}")
        };
        assert_eq!(faults[0].path, path, "{faults:?}");
    }
    assert!(app.analyses(&water).await.unwrap().is_empty());
    let shed = app
        .begin_entry(LibraryKind::Brewhouse, "Shed")
        .await
        .unwrap();
    assert!(
        app.add_analysis(shed.id, day("2026-06-18"), SUMMER)
            .await
            .is_err()
    );
}

#[test]
fn values_of_a_form_become_an_analysis() {
    let values: BTreeMap<String, String> = [
        ("calcium", "88 mg/L"),
        ("notes", "quoted \"so\""),
        ("sodium", "  "),
        ("taken_on", "2026-01-01"),
        ("on", "3"),
    ]
    .map(|(k, v)| (k.to_owned(), v.to_owned()))
    .into();
    let text = DatedAnalysis::text_of(&values).unwrap();
    assert_eq!(text, "calcium = \"88 mg/L\"\nnotes = 'quoted \"so\"'\n");
}

#[tokio::test]
async fn a_water_of_the_same_name_is_replaced_and_keeps_its_share() {
    let (app, _folder) = library().await;
    let (_, mains) = waters(&app).await;
    let batch = app.keep_batch(PALE, "kept").await.unwrap();
    let done = app
        .use_water(
            batch.id,
            batch.revision,
            mains,
            Some(day("2026-09-24")),
            WaterPlace::ByName,
        )
        .await
        .unwrap();
    let Edited::Saved {
        batch: after,
        change,
        moved,
    } = done
    else {
        panic!("refused")
    };
    assert_eq!(
        change.as_deref(),
        Some("Harrowmere town mains, analysis of 2026-09-24, taken as water.source[1]")
    );
    assert!(!moved.is_empty());
    let at = |key: &str| {
        after
            .written
            .get(&format!("water.source[1].{key}"))
            .map(String::as_str)
    };
    assert_eq!(at("share"), Some("60 %"));
    assert_eq!(at("total_chlorine"), Some("2.3 ± 0.3 mg/L"));
    assert_eq!((at("ph"), at("laboratory")), (Some("7.4"), None));
    assert!(
        after.text.contains("# the utility uses chloramine"),
        "comments stay"
    );
    let (revisions, _) = app.history(batch.id).await.unwrap();
    let newest = revisions.iter().max_by_key(|r| r.number).unwrap();
    assert_eq!((newest.number.get(), &newest.note), (2, &change));

    // The same again is no revision; the newest analysis is taken where none is named.
    let again = app
        .use_water(batch.id, after.revision, mains, None, WaterPlace::ByName)
        .await
        .unwrap();
    assert_eq!(saved(again).revision, after.revision);
}

#[tokio::test]
async fn a_water_is_added_without_a_share_or_put_in_place_of_another() {
    let (app, _folder) = library().await;
    let (spring, mains) = waters(&app).await;
    let start = PALE.find("[[water.source]]").unwrap();
    let end = PALE.find("[water.treatment]").unwrap();
    let lone = "[[water.source]]\nname = \"rain\"\ncalcium = \"1 mg/L\"\nmagnesium = \"0 mg/L\"\nnitrite = \"0.01 mg/L\"\nalkalinity = \"2 mg/L as CaCO3\"\nchloride = \"1 mg/L\"\nsulfate = \"1 mg/L\"\ntotal_chlorine = \"0 mg/L\"\n\n";
    let text = format!("{}{lone}{}", &PALE[..start], &PALE[end..]);
    let batch = app.keep_batch(&text, "kept").await.unwrap();
    assert_eq!(batch.outcome.faults(), []);

    let added = saved(
        app.use_water(batch.id, batch.revision, mains, None, WaterPlace::ByName)
            .await
            .unwrap(),
    );
    assert_eq!(added.outcome.faults(), []);
    assert_eq!(added.written["water.source[1].share"], "100 %");
    assert_eq!(added.written["water.source[2].share"], "0 %");
    assert_eq!(
        added.written["water.source[2].name"],
        "Harrowmere town mains"
    );

    let put = app
        .use_water(
            batch.id,
            added.revision,
            spring,
            None,
            WaterPlace::InsteadOf(1),
        )
        .await
        .unwrap();
    let put = saved(put);
    assert_eq!(
        put.written["water.source[1].name"],
        "Cold Fell spring, bottled"
    );
    assert_eq!(put.written["water.source[1].share"], "100 %");
    assert!(
        !put.written.contains_key("water.source[1].nitrite"),
        "no figure of the water before"
    );

    let nowhere = app
        .use_water(
            batch.id,
            put.revision,
            spring,
            None,
            WaterPlace::InsteadOf(9),
        )
        .await;
    assert!(matches!(nowhere, Err(AppError::Edit(_))), "{nowhere:?}");
}

#[tokio::test]
async fn a_water_without_an_analysis_says_so() {
    let (app, _folder) = library().await;
    let (spring, _) = waters(&app).await;
    let bare = app
        .begin_entry(LibraryKind::Water, "Mill pond")
        .await
        .unwrap();
    let batch = app.keep_batch(PALE, "kept").await.unwrap();
    for (water, wanted, says) in [
        (bare.id, None, "Mill pond has no analysis: "),
        (
            spring,
            Some(day("2020-01-01")),
            "bottled has no analysis of 2020-01-01: ",
        ),
    ] {
        let refused = app
            .use_water(batch.id, batch.revision, water, wanted, WaterPlace::ByName)
            .await;
        assert!(refused.unwrap_err().to_string().contains(says));
    }
    assert_eq!(app.batch(batch.id).await.unwrap().revision, batch.revision);
}

#[tokio::test]
async fn a_brewhouse_gives_the_whole_kit() {
    let (app, _folder) = library().await;
    let brewhouse = app.keep_demo_library(LibraryKind::Brewhouse).await.unwrap()[0];
    let text = PALE.replace(
        "altitude = \"240 m\"",
        "altitude = \"10 m\"\nlauter_stages = \"5\"",
    );
    let batch = app.keep_batch(&text, "kept").await.unwrap();
    let done = app
        .use_brewhouse(batch.id, batch.revision, brewhouse)
        .await
        .unwrap();
    let Edited::Saved {
        batch: after,
        change,
        ..
    } = done
    else {
        panic!("refused")
    };
    assert_eq!(
        change.as_deref(),
        Some("the kit of Quay Street back kitchen taken")
    );
    let kept = app.entry(LibraryKind::Brewhouse, brewhouse).await.unwrap();
    let kit = |written: &BTreeMap<String, String>| -> Vec<(String, String)> {
        written
            .iter()
            .filter(|(k, _)| k.starts_with("kit."))
            .map(|(k, v)| (k.clone(), v.clone()))
            .collect()
    };
    assert_eq!(kit(&after.written), kit(&kept.written));

    // A batch that changed the same value meanwhile keeps both.
    let mine = saved(
        app.edit(batch.id, after.revision, &[set("kit.room", "15 °C")])
            .await
            .unwrap(),
    );
    let clash = app.use_brewhouse(batch.id, batch.revision, brewhouse).await;
    assert!(matches!(clash, Err(AppError::Conflict { .. })), "{clash:?}");
    assert_eq!(app.batch(batch.id).await.unwrap().revision, mine.revision);
}

#[tokio::test]
async fn waters_that_are_chosen_come_into_the_batch_with_their_shares() {
    use batch::liquor::choice::{Question, Wanted, Which, chosen};
    let (app, _folder) = library().await;
    waters(&app).await;
    let kept = app.kept_waters().await.unwrap();
    assert_eq!(kept.len(), 2);
    let mains = kept.iter().find(|k| k.analyses.len() == 3).unwrap();
    assert_eq!(mains.analyses[1].from, "2026-06-18");
    let open = app.keep_batch(PALE, "kept").await.unwrap();
    let reckoning = open.outcome.reckoning().unwrap();
    let mut question = Question::usual(reckoning, &[]);
    question.waters = ["source 2", &mains.key]
        .map(|key| Wanted {
            water: key.to_owned(),
            ..Wanted::default()
        })
        .to_vec();
    let found = chosen(reckoning, &kept, &question).unwrap();
    let blend = found.choice.ranked.iter().find(|r| r.waters.len() == 2);
    let blend = blend.unwrap();
    let picks = found.picks(blend, &blend.seasons[2]);
    let taken = saved(
        app.take_waters(open.id, open.revision, &picks)
            .await
            .unwrap(),
    );
    let after = taken.outcome.reckoning().unwrap();
    let sources = &after.document.water.sources;
    let share = |name: &str| {
        let of_it = sources.iter().filter(|s| s.name == name);
        of_it.map(|s| s.share.unwrap().value.ratio()).sum::<f64>()
    };
    // The mains of the library have the name of the first source, and its place.
    assert_eq!(
        (sources.len(), mains.name.as_str()),
        (2, sources[0].name.as_str())
    );
    assert!(sources[0].alkalinity.value.meq_per_l() > 5.3);
    for pick in &picks {
        let name = match &pick.water {
            Which::Kept { name, .. } => name.clone(),
            Which::Source(at) => sources[*at].name.clone(),
            Which::Distilled => unreachable!(),
        };
        assert!((share(&name) - pick.share.ratio()).abs() < 1e-9, "{name}");
    }
    // One water alone: nothing is drawn from the other, which stays.
    let alone = found
        .choice
        .ranked
        .iter()
        .find(|r| r.waters == [0])
        .unwrap();
    let picks = found.picks(alone, &alone.seasons[0]);
    let taken = saved(
        app.take_waters(open.id, taken.revision, &picks)
            .await
            .unwrap(),
    );
    let sources = &taken.outcome.reckoning().unwrap().document.water.sources;
    let shares: Vec<f64> = sources
        .iter()
        .map(|s| s.share.unwrap().value.ratio())
        .collect();
    assert_eq!(shares, [0.0, 1.0]);
}
