//! What a brewer waits for after an edit: read, apply, reckon, save, compare.
//!
//! | workload | stands for |
//! |---|---|
//! | `one_figure_of_the_water` | an edit in the page, all but the drawing of it (goal: under 50 ms) |
//! | `open_a_batch` | opening a batch from the list |

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use app::{App, Demo, Edit, OpenBatch};
use divan::Bencher;
use tokio::runtime::Runtime;

fn main() {
    divan::main();
}

struct House {
    runtime: Runtime,
    app: App,
    batch: OpenBatch,
    _folder: tempfile::TempDir,
}

fn house() -> House {
    let runtime = Runtime::new().expect("a runtime");
    let folder = tempfile::tempdir().expect("a folder");
    let (app, batch) = runtime.block_on(async {
        let app = App::open(folder.path().join("store.db"))
            .await
            .expect("a store");
        let demo = Demo::find("lantern-pale").expect("a demo");
        let batch = app.keep_demo(demo).await.expect("a batch");
        (app, batch)
    });
    House {
        runtime,
        app,
        batch,
        _folder: folder,
    }
}

#[divan::bench]
fn one_figure_of_the_water(bencher: Bencher) {
    let house = house();
    let mut on = house.batch.revision;
    let mut n = 0u32;
    bencher.bench_local(|| {
        n += 1;
        let edit = Edit::Set {
            path: "water.source[1].total_chlorine".to_owned(),
            written: format!("1.{:03} mg/L", n % 1000),
        };
        let edited = house
            .runtime
            .block_on(house.app.edit(house.batch.id, on, &[edit]));
        if let Ok(app::Edited::Saved { batch, .. }) = &edited {
            on = batch.revision;
        }
        edited
    });
}

#[divan::bench]
fn open_a_batch(bencher: Bencher) {
    let house = house();
    bencher.bench_local(|| house.runtime.block_on(house.app.batch(house.batch.id)));
}
