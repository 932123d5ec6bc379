//! What to do, in the order of the day.

use batch::liquor::reading::{action_words, dose_words};
use batch::mash::reached;
use batch::pitch::{ahead_words, step_words};
use batch::{Reckoning, Stage};
use quantity::{Mass, Volume};
use water::{Amount, Liquor};
use wort::{HopTime, RestStep};

use super::page::Page;

pub fn water(page: &mut Page, r: &Reckoning) {
    page.heading("1  Water");
    page.figure("draw", r.volumes.total_water);
    for source in &r.document.water.sources {
        if let Some(share) = source.share {
            let part = Volume::from_l(r.volumes.total_water.l() * share.value.ratio());
            page.row("  of it", &format!("{} {}", page.show(part), source.name));
        }
    }
    page.figure("for the mash", r.volumes.mash_liquor);
    if r.volumes.sparge_liquor.l() > 0.0 {
        page.figure("for the sparge", r.volumes.sparge_liquor);
    }
    for liquor in [Liquor::Mash, Liquor::Sparge] {
        weigh(page, r, liquor);
    }
    let chlorine = &r.water.mash.chlorine;
    page.measured(
        "total chlorine at the tap",
        &r.water.tap.water.total_chlorine,
    );
    page.row(
        "total chlorine at the mash",
        &format!(
            "{}, at most {}",
            page.show(chlorine.total()),
            page.show(chlorine.at_most)
        ),
    );
    page.figure(
        "SO2 that may stay, at most",
        r.water.mash.sulfur_dioxide_at_most,
    );
    page.figure("hardness at the tap", r.water.tap.hardness);
    page.figure(
        "residual alkalinity at the tap",
        r.water.tap.residual_alkalinity,
    );
    let ions = &r.water.mash.ions;
    page.row(
        "mash liquor holds",
        &format!(
            "calcium {}, magnesium {}, sodium {}, chloride {}, sulfate {}",
            page.show(ions.calcium),
            page.show(ions.magnesium),
            page.show(ions.sodium),
            page.show(ions.chloride),
            page.show(ions.sulfate)
        ),
    );
    notes(page, r, Stage::Water);
}

fn weigh(page: &mut Page, r: &Reckoning, liquor: Liquor) {
    let mut label = format!("into the {liquor} liquor");
    for line in r.water.weigh.iter().filter(|w| w.into == liquor) {
        let amount = match line.amount {
            Amount::Mass(mass) => page.show(mass),
            Amount::Volume(volume) => page.show(volume),
        };
        page.row(&label, &format!("{amount} {}", line.what));
        label = String::new();
    }
}

pub fn mash(page: &mut Page, r: &Reckoning) {
    page.heading("2  Mash");
    for item in r
        .wort_plan
        .grist
        .iter()
        .filter(|g| g.fermentable.kind.is_mashed())
    {
        page.row(&page.show(item.mass), &item.fermentable.name);
    }
    steps(page, r);
    if let Some(ph) = &r.mash_ph {
        page.row(
            "mash pH, cooled sample",
            &format!("{} (standard deviation)", page.show_measured(&ph.ph)),
        );
        read(page, r);
    }
    for (n, run) in r.volumes.run_offs.iter().enumerate() {
        page.row(
            &format!("run-off {}", n + 1),
            &format!(
                "{} at {}",
                page.show(run.volume),
                run.gravity.both(page.units())
            ),
        );
    }
    page.row(
        "kettle full",
        &format!(
            "{} at 20 °C ({} hot), {}",
            page.show(r.volumes.pre_boil.volume),
            page.show(r.boil.report.pre_boil_hot),
            r.volumes.pre_boil.gravity.both(page.units())
        ),
    );
    notes(page, r, Stage::Mash);
}

/// Strike water and rests.
pub fn steps(page: &mut Page, r: &Reckoning) {
    if let Some(heat) = &r.mash.heat {
        page.row(
            "strike water",
            &format!(
                "{} at {}",
                page.show(heat.strike_water),
                page.show(heat.strike_temperature)
            ),
        );
        rests(page, r, &heat.steps);
    }
}

/// What the readings come to, or what to add for one that may come.
fn read(page: &mut Page, r: &Reckoning) {
    if let Some(advice) = &r.reading {
        page.measured("with what was read", &advice.ph);
        page.row("what to do", &action_words(&advice.action));
        return;
    }
    for line in r.if_it_reads().unwrap_or_default() {
        if line.dose.is_some() {
            let label = format!("  if it reads {} after 15 min", page.show(line.reads));
            page.row(&label, &dose_words(&line, page.units()));
        }
    }
}

/// The first rest is reached by the strike water, each later one by a step.
fn rests(page: &mut Page, r: &Reckoning, steps: &[RestStep]) {
    let steps_to = std::iter::once(None).chain(steps.iter().map(Some));
    for (rest, step) in r.wort_plan.mash.rests.iter().zip(steps_to) {
        let by = step.map_or(String::new(), |s| {
            format!(", reached {}", reached(s, page.units()))
        });
        page.row(
            &format!("rest at {}", page.show(rest.temperature)),
            &format!("{}{by}", page.show(rest.duration)),
        );
    }
}

pub fn boil(page: &mut Page, r: &Reckoning) {
    let report = &r.boil.report;
    page.heading("3  Boil");
    page.row(
        "boil",
        &format!(
            "{} at {}; {} go off as steam",
            page.show(r.wort_plan.boil.duration),
            page.show(report.boiling_point),
            page.show(report.evaporated)
        ),
    );
    for item in r
        .wort_plan
        .grist
        .iter()
        .filter(|g| !g.fermentable.kind.is_mashed())
    {
        page.row(
            &page.show(item.mass),
            &format!("{}, stirred in off the heat", item.fermentable.name),
        );
    }
    for (hop, share) in r.wort_plan.hops.iter().zip(&report.hops) {
        page.row(
            &format!("{} {}", page.show(hop.mass), hop.name),
            &format!(
                "{} alpha, {}: {}",
                page.show(hop.alpha),
                when(page, hop.when),
                page.show(share.bitterness)
            ),
        );
    }
    page.row(
        "after the boil",
        &format!(
            "{} at 20 °C, {} hot",
            page.show(report.post_boil.volume),
            page.show(report.post_boil_hot)
        ),
    );
    page.row(
        "into the fermenter",
        &format!(
            "{} at {}, {}",
            page.show(r.boil.wort.volume),
            page.show(r.boil.wort.temperature),
            r.boil.wort.gravity.both(page.units())
        ),
    );
    notes(page, r, Stage::Boil);
}

fn when(page: &Page, when: HopTime) -> String {
    match when {
        HopTime::Mash => "into the mash".to_owned(),
        HopTime::FirstWort => "as the kettle fills".to_owned(),
        HopTime::Boil(time) => format!("{} before the end", page.show(time)),
        HopTime::Whirlpool(time) => format!("{} before chilling", page.show(time)),
        HopTime::Stand {
            duration,
            temperature,
        } => {
            format!("{} at {}", page.show(duration), page.show(temperature))
        }
        HopTime::DryHop => "into the fermenter".to_owned(),
    }
}

pub fn ferment(page: &mut Page, r: &Reckoning) {
    let f = &r.fermentation;
    page.heading("4  Ferment");
    page.row(
        "yeast",
        r.document
            .yeast
            .name
            .as_deref()
            .unwrap_or(&r.document.yeast.class),
    );
    page.figure("cells needed", f.pitch.needed);
    page.measured("living cells at hand", &f.pitch.at_hand);
    if let Some(starter) = &f.pitch.starter {
        for (n, step) in starter.steps.iter().enumerate() {
            let text = step_words(step, page.units());
            page.row(&format!("starter, step {}", n + 1), &text);
        }
        page.row("starter", &ahead_words(starter.ahead, page.units()));
    }
    if let Some(packets) = f.pitch.packets_to_buy.filter(|n| *n > 0) {
        page.row("packets short", &packets.to_string());
    }
    page.row(
        "oxygen at pitching",
        &format!(
            "{} (wanted {})",
            page.show(f.oxygen.dissolved),
            quantity::show_interval(f.oxygen.wanted_from, f.oxygen.wanted_to, page.units())
        ),
    );
    for point in &r.document.fermentation.course {
        page.row(
            &format!("after {}", page.show(point.at.value)),
            &page.show(point.temperature.value),
        );
    }
    milestones(page, r);
    page.row(
        "final gravity",
        &format!(
            "{} ({})",
            page.show_measured(&f.final_gravity),
            plato(f.final_gravity.value.plato())
        ),
    );
    page.row(
        "attenuation",
        &format!(
            "{} apparent, {} real",
            page.show(f.apparent_attenuation),
            page.show(f.real_attenuation)
        ),
    );
    course(page, r);
    notes(page, r, Stage::Ferment);
}

fn plato(x: f64) -> String {
    format!("{x:.1} °P")
}

fn milestones(page: &mut Page, r: &Reckoning) {
    let f = &r.fermentation;
    let told = |page: &Page, at: Option<quantity::Duration>| match at {
        Some(at) => format!("after {:.1} d", at.h() / 24.0),
        None => format!(
            "not within {}",
            page.show(
                r.document
                    .fermentation
                    .course
                    .last()
                    .map_or_else(quantity::Duration::default, |p| p.at.value)
            )
        ),
    };
    page.row("nine tenths fermented", &told(page, f.ninety_percent_at));
    page.row("ended", &told(page, f.ended_at));
}

/// A dozen moments of the course.
fn course(page: &mut Page, r: &Reckoning) {
    let moments = &r.fermentation.course;
    let step = (moments.len() / 12).max(1);
    page.table_line("day   temperature   gravity   alcohol   diacetyl      clove");
    for moment in moments.iter().step_by(step) {
        page.table_line(&format!(
            "{:>4.1}  {:>11}  {:>8.4}  {:>7.1} %  {:>4.2} mg/L  {:>4.2} mg/L",
            moment.at.h() / 24.0,
            page.show(moment.temperature),
            moment.gravity.sg(),
            moment.alcohol.percent(),
            moment.flavour.diacetyl.mg_per_l(),
            moment.flavour.vinylguaiacol.mg_per_l(),
        ));
    }
}

pub fn package(page: &mut Page, r: &Reckoning) {
    let p = &r.packaging;
    page.heading("5  Package");
    page.figure("beer to package", p.beer.volume);
    page.measured("CO2 left in it", &p.residual);
    if let Some(priming) = &p.priming {
        let each = priming.per_bottle.map_or(String::new(), |m: Mass| {
            format!(", {} a bottle", page.show(m))
        });
        page.row(
            "priming",
            &format!("{} {}{each}", page.show(priming.mass), priming.sugar.name),
        );
    }
    if let Some(bottles) = p.bottles {
        page.row(
            "bottles",
            &format!(
                "{} full, {} left over",
                bottles.full,
                page.show(bottles.left_over)
            ),
        );
    }
    if let Some(keg) = &p.keg {
        page.row(
            "keg pressure",
            &format!(
                "{} at {}",
                page.show_measured(&keg.pressure),
                page.show(r.document.package.serving_temperature.value)
            ),
        );
    }
    page.row(
        "CO2 in the beer",
        &format!(
            "{:.2} vol ({})",
            p.beer.carbon_dioxide.volumes(),
            page.show(p.beer.carbon_dioxide)
        ),
    );
    page.row(
        "highest pressure it could see",
        &format!(
            "{} at {}; it should never pass {}: {}",
            page.show(p.worst.interval.upper()),
            page.show(p.worst.at),
            page.show(p.worst.service),
            p.worst.safety.word()
        ),
    );
    if p.worst.safety != package::Safety::Safe {
        page.paragraph(p.worst.reason.text(page.units()));
        page.paragraph(&p.worst.remedy);
    }
    notes(page, r, Stage::Package);
}

fn notes(page: &mut Page, r: &Reckoning, stage: Stage) {
    if let Some(sign) = r.sign(stage) {
        page.notes(&sign.notes);
    }
}
