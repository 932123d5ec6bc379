//! A watched fermentation as a sheet, and its forecast as a table of values.

use std::fmt::Write;

use batch::inquiry::percent;
use batch::watch::{HOLDS, MODEL, SECOND, TakenReading, Watched, date_words, fit_words, off_words};
use ferment::watch::{Likely, Posterior};
use quantity::{Caution, Gravity, Units};

use crate::sheet::Page;

/// Lines that the forecast is shown in, and readings that are shown one by one.
const LINES: usize = 12;
const READINGS: usize = 20;

/// The sheet, the verdict first.
pub fn sheet(name: &str, watched: &Watched, whole: Option<&Posterior>, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&format!("{name}: the fermentation"));
    for sentence in watched.verdict(units) {
        page.paragraph(&sentence);
    }
    figures(&mut page, watched);
    alarms(&mut page, watched);
    forecast(&mut page, watched);
    readings(&mut page, watched);
    trust(&mut page, watched, whole);
    tests(&mut page, watched);
    page.cautions(&[Caution::BottlePressure]);
    page.finish()
}

fn likely(page: &Page, l: &Likely<Gravity>) -> String {
    format!(
        "{} ({} to {})",
        page.show(l.middle),
        page.show(l.low),
        page.show(l.high)
    )
}

fn figures(page: &mut Page, watched: &Watched) {
    let c = &watched.course;
    if watched.pitching.dated {
        let said = if watched.pitching.said {
            ""
        } else {
            " (the first reading)"
        };
        let day = date_words(watched.pitching.at_ms);
        page.row("pitched", &format!("{day}{said}"));
    }
    let (now, end) = (likely(page, &c.gravity), likely(page, &c.end));
    page.row("gravity now", &now);
    page.row("gravity at the end", &end);
    page.measured("expected beforehand", &c.expected_end);
    page.figure("of the fall is done", c.progress.middle);
    page.row(
        "a point or less is left: chance",
        &percent(c.finish.little_left.ratio()),
    );
}

fn alarms(page: &mut Page, watched: &Watched) {
    for alarm in &watched.course.alarms {
        page.heading(&format!("{}: {}", alarm.weight.word(), alarm.what));
        for figure in &alarm.evidence {
            let told = figure.text(page.units()).to_owned();
            page.marked("  ·     ", &told);
        }
        for way in &alarm.advice {
            page.marked("  do    ", way);
        }
    }
}

fn forecast(page: &mut Page, watched: &Watched) {
    let c = &watched.course;
    page.heading("Forecast: nine times in ten, after pitching");
    let ahead: Vec<_> = c
        .forecast
        .iter()
        .filter(|f| f.at.h() >= c.now.h())
        .collect();
    for f in ahead.iter().step_by(ahead.len().div_ceil(LINES).max(1)) {
        let value = format!(
            "{} to {} at {}",
            page.show(f.gravity.low),
            page.show(f.gravity.high),
            page.show(f.temperature)
        );
        let label = page.show(f.at);
        page.row(&label, &value);
    }
}

/// How many there are, and those that a person should see.
fn readings(page: &mut Page, watched: &Watched) {
    if watched.readings.is_empty() {
        return;
    }
    page.heading("Readings");
    for i in &watched.course.instruments {
        let value = format!(
            "{}, {} used, {}",
            i.kind.word(),
            i.readings,
            off_words(i.bias_plato)
        );
        page.row(&i.name, &value);
    }
    let told: Vec<&TakenReading> = watched
        .readings
        .iter()
        .filter(|t| t.fate.why().is_some())
        .collect();
    for t in told.iter().take(READINGS) {
        let line = format!(
            "{} of {} after {}, {}: {}: {}",
            t.what.word(),
            t.instrument,
            page.show(t.at),
            t.what.show(t.canonical, page.units()),
            t.fate.word(),
            t.fate.why().unwrap_or_default()
        );
        page.marked("  look  ", &line);
    }
    if told.len() > READINGS {
        let more = format!("and {} more (all with --json)", told.len() - READINGS);
        page.marked("        ", &more);
    }
}

fn trust(page: &mut Page, watched: &Watched, whole: Option<&Posterior>) {
    page.heading("How far to trust it");
    page.notes(&watched.notes);
    if let Some(off) = fit_words(&watched.fit) {
        page.row("the curve is off the readings", &off);
    }
    if let Some(second) = &watched.second {
        let end = page.show(second.fit.end.value);
        let agrees = if second.agrees { "agrees" } else { "disagrees" };
        page.row("a plain curve would end at", &format!("{end}: it {agrees}"));
    }
    if let Some(p) = whole {
        let end = likely(page, &p.end);
        page.row("the whole posterior ends at", &end);
        page.row(
            "sampled",
            &format!(
                "{} divergences, R-hat {:.3} at most, worth {:.0} independent draws",
                p.divergences, p.r_hat, p.effective
            ),
        );
    }
    page.paragraph(MODEL);
    page.paragraph(HOLDS);
    if watched.second.is_some() {
        page.paragraph(SECOND);
    }
}

fn tests(page: &mut Page, watched: &Watched) {
    page.heading("Tests to run");
    for test in watched.tests(page.units()) {
        page.marked("  ·     ", test.name);
        match test.outcome {
            Some(outcome) => page.marked("        ", &outcome.words),
            None => {
                for step in test.how {
                    page.marked("        ", step);
                }
            }
        }
    }
}

/// Hours, gravity and temperature, one moment a line.
pub fn csv(watched: &Watched) -> String {
    let mut out =
        String::from("time (h),planned (°P),low (°P),middle (°P),high (°P),temperature (°C)\r\n");
    for f in &watched.course.forecast {
        let planned = watched.planned.iter().rev().find(|m| m.at.h() <= f.at.h());
        let within = watched.planned.last().is_some_and(|m| f.at.h() <= m.at.h());
        let planned = planned
            .filter(|_| within)
            .map_or(String::new(), |m| format!("{:.2}", m.gravity.plato()));
        let _ = write!(
            out,
            "{:.2},{planned},{:.2},{:.2},{:.2},{:.1}\r\n",
            f.at.h(),
            f.gravity.low.plato(),
            f.gravity.middle.plato(),
            f.gravity.high.plato(),
            f.temperature.c()
        );
    }
    out
}
