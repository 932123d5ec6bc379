//! How long the pages take over a store of many batches, as a row of a table.
//!
//!     cargo bench -p gylewright-app --bench many -- PLACE 10000
//!
//! PLACE is a new file or an empty database of PostgreSQL. One batch in ten has something
//! found in it, as the history of a house looks for; all share one water and one yeast.

#![allow(clippy::print_stdout, reason = "it prints a table")]

use std::error::Error;
use std::time::Instant;

use app::App;
use store::{Draft, Kind, NewDocument, Timestamp};

const PALE: &str = include_str!("../../../examples/lantern-pale.toml");
/// Documents saved in one transaction.
const AT_ONCE: usize = 500;
/// Each time is the middle of so many.
const TIMES: usize = 5;

#[tokio::main]
async fn main() -> Result<(), Box<dyn Error>> {
    let mut asked = std::env::args().skip(1).filter(|arg| arg != "--bench");
    let (Some(place), Some(batches)) = (asked.next(), asked.next()) else {
        println!("nothing is timed without a place and a number of batches");
        return Ok(());
    };
    let batches: usize = batches.parse()?;
    let app = App::open(place.as_str()).await?;
    let at = Instant::now();
    fill(&app, batches).await?;
    let filled = at.elapsed();
    let rows = app.batches("", 0).await?.rows;
    let open = app.batch(rows.first().ok_or("no batch")?.id).await?;
    // No history is gathered for a batch that cannot be reckoned.
    open.outcome
        .reckoning()
        .ok_or("the batch cannot be reckoned")?;

    let mut list = Vec::new();
    let mut deep = Vec::new();
    let mut find = Vec::new();
    let mut opened = Vec::new();
    let last = u32::try_from(batches / 50)?.saturating_sub(1);
    for _ in 0..TIMES {
        list.push(timed(app.batches("", 0)).await?);
        deep.push(timed(app.batches("", last)).await?);
        find.push(timed(app.batches("7777", 0)).await?);
        opened.push(timed(app.batch(open.id)).await?);
    }
    println!(
        "| batches | filled [s] | list [ms] | last page [ms] | find [ms] | open [ms] | house, first [s] | house, again [s] |"
    );
    print!(
        "| {batches} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} |",
        filled.as_secs_f64(),
        middle(list),
        middle(deep),
        middle(find),
        middle(opened),
    );
    let first = timed(app.house_of(&open)).await?;
    let again = timed(app.house_of(&open)).await?;
    println!(" {:.2} | {:.2} |", first / 1e3, again / 1e3);
    Ok(())
}

async fn fill(app: &App, batches: usize) -> Result<(), Box<dyn Error>> {
    let mut made = 0;
    while made < batches {
        let some: Vec<(String, String)> = (made..batches.min(made + AT_ONCE)).map(text).collect();
        let new: Vec<NewDocument<'_>> = some
            .iter()
            .map(|(title, text)| NewDocument {
                kind: Kind::Batch,
                draft: Draft::new(title, text),
                samples: &[],
            })
            .collect();
        let at = Timestamp::from_ms(1_700_000_000_000 + made as i64 * 1_000)?;
        app.store().create_all(&new, at).await?;
        made += new.len();
    }
    Ok(())
}

fn text(n: usize) -> (String, String) {
    let title = format!("Lantern Pale {n}");
    let mut text = PALE.replacen("Lantern Pale, second brewing", &title, 1);
    if n.is_multiple_of(10) {
        text.push_str("\n[[finding]]\nwhat = \"butter\"\nthere = \"yes\"\n");
    }
    (title, text)
}

/// \[ms\]
async fn timed<T, E: Error + 'static>(
    work: impl Future<Output = Result<T, E>>,
) -> Result<f64, Box<dyn Error>> {
    let at = Instant::now();
    work.await?;
    Ok(at.elapsed().as_secs_f64() * 1e3)
}

fn middle(mut all: Vec<f64>) -> f64 {
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or_default()
}
