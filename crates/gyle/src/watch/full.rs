//! The whole posterior: how far it is stands on standard error, Ctrl-C breaks it off.

use std::io::{IsTerminal, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use batch::watch::Watched;
use ferment::watch::{Posterior, Sampling};
use quantity::Fraction;

use crate::kept::block_on;
use crate::problem::Problem;

/// Where it is told, out of a hundred: each of them on a terminal, else each tenth.
const STEP: usize = 10;

/// Samples until it is done or broken off.
///
/// # Errors
/// [`Problem::NoAnswer`] where it was broken off.
pub fn posterior(watched: &Watched) -> Result<Posterior, Problem> {
    let (told, stop) = (
        Arc::new(AtomicUsize::new(usize::MAX)),
        Arc::new(AtomicBool::new(false)),
    );
    let watched = watched.clone();
    let heard = Arc::clone(&stop);
    let found = block_on(async move {
        let sampled = tokio::task::spawn_blocking(move || {
            watched.posterior(Sampling::default(), &|share| {
                tell(share, &told);
                !heard.load(Ordering::Relaxed)
            })
        });
        tokio::pin!(sampled);
        let ended = tokio::select! {
            ended = &mut sampled => ended,
            _ = tokio::signal::ctrl_c() => {
                stop.store(true, Ordering::Relaxed);
                sampled.await
            }
        };
        ended.map_err(|e| Problem::Defect(e.to_string()))
    })?;
    let found = found.map_err(Problem::no_answer)?;
    eprintln!();
    found
        .ok_or_else(|| Problem::no_answer("stopped; without --full the quick answer takes no time"))
}

fn tell(share: Fraction, told: &AtomicUsize) {
    let percent = (100.0 * share.ratio()) as usize;
    let here = if std::io::stderr().is_terminal() {
        percent
    } else {
        percent / STEP * STEP
    };
    if told.swap(here, Ordering::Relaxed) != here {
        let mut out = std::io::stderr();
        // A terminal that is gone is no reason to stop.
        let _ = write!(out, "\rsampling the whole posterior: {here} %");
        let _ = out.flush();
    }
}
