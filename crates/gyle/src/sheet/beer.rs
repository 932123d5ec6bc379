//! What the beer will be, what is at risk, what was assumed.

use batch::certainty::Certainty;
use batch::certainty::words::of_ten;
use batch::{AimLine, Reckoning, Stage};
use glass::{Bound, Grade, Notice};
use quantity::Weight;

use super::page::Page;

/// The whole in a few lines, with the stages that need attention.
pub fn summary(page: &mut Page, r: &Reckoning) {
    let wort = &r.boil.wort;
    page.paragraph(&format!(
        "{} of {} → {}, {}, {}, {}. Draw {} of water.",
        page.show(wort.volume),
        wort.gravity.both(page.units()),
        page.show(r.fermentation.final_gravity.value),
        page.show(r.glass.alcohol),
        page.show(r.glass.bitterness),
        page.show(r.glass.colour),
        page.show(r.volumes.total_water)
    ));
    for stage in Stage::ALL {
        let Some(sign) = r.sign(stage) else { continue };
        let reason = sign.reason().unwrap_or("");
        let colon = if reason.is_empty() { "" } else { ": " };
        page.row(
            stage.word(),
            &format!("{}{colon}{reason}", word(sign.weight)),
        );
    }
}

fn word(weight: Weight) -> &'static str {
    match weight {
        Weight::Act => "ACT",
        other => other.word(),
    }
}

pub fn aim(page: &mut Page, r: &Reckoning, sure: Option<&Certainty>) {
    if r.aim.is_empty() {
        return;
    }
    page.heading(match sure {
        Some(_) => "The beer against the aim, and how many of ten batches meet it",
        None => "The beer against the aim",
    });
    for line in &r.aim {
        let chance = sure.and_then(|sure| sure.chance_of(line));
        let often = chance.map_or(String::new(), |chance| format!(", {}", of_ten(chance)));
        page.row(line.name, &format!("{}{often}", against(page, line)));
    }
    if let Some(flavour) = r.document.aim.as_ref().and_then(|a| a.flavour.as_deref()) {
        page.row("aim in words", flavour);
    }
}

fn against(page: &Page, line: &AimLine) -> String {
    let (reckoned, aim) = (
        line.reckoned.text(page.units()),
        line.aim.text(page.units()),
    );
    match (line.met, line.spreads_off) {
        (Some(true), _) => format!("{reckoned}   within {aim}"),
        (Some(false), Some(off)) => {
            let side = if off > 0.0 { "above" } else { "below" };
            format!(
                "{reckoned}   {side} {aim}, by {:.1} times what would do",
                off.abs()
            )
        }
        (Some(false), None) => format!("{reckoned}   {} {aim}", line.side()),
        _ => format!("{reckoned}   aim {aim}"),
    }
}

pub fn glass(page: &mut Page, r: &Reckoning) {
    page.heading("6  What the glass should hold");
    for activity in r
        .glass
        .activities
        .iter()
        .filter(|a| a.notice >= Notice::Hardly)
    {
        let bound = match activity.bound {
            Bound::Expected => String::new(),
            other => format!("{} ", other.words()),
        };
        page.row(
            &activity.compound.name,
            &format!(
                "{bound}{}, {:.1} times its threshold ({:.1} to {:.1}): {}, {}",
                page.show(activity.concentration),
                activity.typical,
                activity.low,
                activity.high,
                activity.notice.words(),
                activity.compound.words.join(", ")
            ),
        );
    }
}

/// The figures of the stream, each as nine of ten batches of this plan would have it.
pub fn how_sure(page: &mut Page, r: &Reckoning, sure: &Certainty) {
    page.heading("How sure: nine of ten batches of this plan");
    for figure in r.figures().iter().filter(|figure| figure.shown) {
        if let Some(sure) = sure.figure(figure.key) {
            let interval = sure.interval(page.units());
            let reckoned = figure.text.text(page.units());
            page.row(figure.label, &format!("{interval}   reckoned {reckoned}"));
        }
    }
    page.paragraph("`gyle certainty` says what each is unsure of, and what to measure better.");
}

pub fn risks(page: &mut Page, r: &Reckoning) {
    page.heading("Risks");
    for risk in &r.glass.risks {
        let grade = if risk.at_most > risk.grade {
            format!("{}, at most {}", risk.grade.word(), risk.at_most.word())
        } else {
            risk.grade.word().to_owned()
        };
        if risk.at_most == Grade::None && risk.key != "medicinal" {
            page.row(&risk.title, &grade);
            continue;
        }
        page.row(&risk.title, &format!("{grade}: {}", risk.reason));
        if risk.grade >= Grade::Moderate || risk.at_most >= Grade::Moderate {
            page.row("  what moves it", &risk.moves);
        }
    }
    if let Some(sign) = r.sign(Stage::Glass) {
        page.notes(sign.notes.iter().filter(|n| n.weight == Weight::Act));
    }
}

pub fn cautions(page: &mut Page, r: &Reckoning) {
    page.cautions(&r.cautions());
}

pub fn assumptions(page: &mut Page, r: &Reckoning) {
    page.heading("Assumptions");
    if r.assumptions.is_empty() {
        page.paragraph("None: the document says everything.");
    }
    for a in &r.assumptions {
        page.row(&a.path, &format!("{} ({}: {})", a.value, a.mark, a.source));
    }
}
