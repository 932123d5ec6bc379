//! Charts of a reckoning, by name: pages show them, files are made of them.

use batch::{AimSection, Reckoning};
use chart::{
    ActivityChart, Aim, Axis, BalanceChart, Chart, Compound, Contribution, ContributionChart,
    CourseChart, FlowChart, Heading, Interval, Ion, Line, Panel, RangeChart, Station, Stroke, Tone,
    Water,
};
use glass::Bound;
use maud::{Markup, html};
use quantity::{Alkalinity, Measured, Ph, Units, show};
use store::DocumentId;
use water::Ions;

use super::wort::starch;

/// The chart of a name.
pub fn named(name: &str, r: &Reckoning, units: Units) -> Option<Box<dyn Chart>> {
    Some(match name {
        "ions" => Box::new(ions(r)),
        "mash" => Box::new(mash(r)?),
        "temperatures" => Box::new(starch::temperatures(r, units)?),
        "sugars" => Box::new(starch::sugars(r)?),
        "run-off" => Box::new(crate::views::brew_day::chart(&r.lautering().ok()?, units)),
        "volumes" => Box::new(volumes(r)),
        "boil" => Box::new(boil(r, units)),
        "bitterness" => Box::new(bitterness(r)),
        "course" => Box::new(course(r, units)),
        "flavour" => Box::new(flavour(r)),
        "glass" => Box::new(activities(r)),
        "cells" => Box::new(cells(r)),
        _ => return None,
    })
}

/// A chart with its table and its files.
pub fn shown(name: &'static str, r: &Reckoning, id: DocumentId, units: Units) -> Markup {
    html! {
        @if let Some(chart) = named(name, r, units) {
            section.card {
                (chart.markup())
                (chart.table())
                p.save.no-print {
                    a href=(format!("/batch/{id}/chart/{name}.svg")) { "save as SVG" }
                    a href=(format!("/batch/{id}/chart/{name}.csv")) { "save as CSV" }
                }
            }
        }
    }
}

pub fn liquid(label: &str, ions: &Ions, alkalinity: Alkalinity, aim: Option<&AimSection>) -> Water {
    let aimed = |pick: fn(&AimSection) -> Option<f64>| aim.and_then(pick);
    let cations = [
        (
            "Ca",
            ions.calcium.meq_per_l(),
            Tone::Water,
            aimed(|a| Some(a.calcium?.value.meq_per_l())),
        ),
        ("Mg", ions.magnesium.meq_per_l(), Tone::Mist, None),
        (
            "Na",
            ions.sodium.meq_per_l(),
            Tone::Sand,
            aimed(|a| Some(a.sodium?.value.meq_per_l())),
        ),
        ("K", ions.potassium.meq_per_l(), Tone::Stone, None),
        ("NH4", ions.ammonium.meq_per_l(), Tone::Plum, None),
    ];
    let anions = [
        ("HCO3", alkalinity.meq_per_l().max(0.0), Tone::Slate, None),
        (
            "SO4",
            ions.sulfate.meq_per_l(),
            Tone::Copper,
            aimed(|a| Some(a.sulfate?.value.meq_per_l())),
        ),
        (
            "Cl",
            ions.chloride.meq_per_l(),
            Tone::Amber,
            aimed(|a| Some(a.chloride?.value.meq_per_l())),
        ),
        ("NO3", ions.nitrate.meq_per_l(), Tone::Moss, None),
    ];
    Water::new(label, segments(&cations), segments(&anions))
}

/// What there is of each ion, and where it should end.
fn segments(list: &[(&str, f64, Tone, Option<f64>)]) -> Vec<Ion> {
    list.iter()
        .filter(|(_, amount, _, aim)| *amount > 0.0 || aim.is_some())
        .map(|(label, amount, tone, aim)| {
            let ion = Ion::new(*label, *amount, *tone);
            match aim {
                Some(aim) => ion.aiming(*aim),
                None => ion,
            }
        })
        .collect()
}

fn ions(r: &Reckoning) -> BalanceChart {
    let tap = &r.water.tap.water;
    let mash = &r.water.mash;
    let mut waters = vec![
        liquid("tap", &tap.ions, tap.alkalinity, None),
        liquid("mash", &mash.ions, mash.alkalinity, r.document.aim.as_ref()),
    ];
    if r.volumes.sparge_liquor.l() > 0.0 {
        waters.push(liquid(
            "sparge",
            &r.water.sparge.ions,
            r.water.sparge.alkalinity,
            None,
        ));
    }
    BalanceChart {
        heading: Heading::new(
            "ions",
            "Charge of the ions, mEq/L: tap, treated, aim",
            "Cations and anions of the blended tap water and of the liquors after treatment; marks show where the aim would have an ion of the mash liquor end. Anions of weak acids are not drawn.",
        ),
        waters,
    }
}

/// The pH of the mash: predicted, read, and both together, against the aim.
fn mash(r: &Reckoning) -> Option<RangeChart> {
    let predicted = r.mash_ph.as_ref()?;
    let row = |label: String, ph: &Measured<Ph>| {
        Interval::new(label, two_sd(ph, -1.0), ph.value.ph(), two_sd(ph, 1.0))
    };
    let mut rows = vec![row("predicted".to_owned(), &predicted.ph)];
    if let Some(advice) = &r.reading {
        for (n, cooled) in advice.cooled.iter().enumerate() {
            let early = if cooled.counts { "" } else { ", too early" };
            rows.push(row(format!("reading {}{early}", n + 1), &cooled.ph));
        }
        rows.push(row("together".to_owned(), &advice.ph));
    }
    let aim = r.mash_aim();
    Some(RangeChart {
        heading: Heading::new(
            "mash",
            "The pH of the mash, as a cooled sample",
            "Bars reach two standard deviations to either side; the band is the aim.",
        ),
        axis: Axis::new("pH", "").decimals(2),
        rows,
        aim: Some(Aim {
            low: aim.ph.ph() - aim.within.ph(),
            high: aim.ph.ph() + aim.within.ph(),
            label: "aim".to_owned(),
        }),
    })
}

fn two_sd(ph: &Measured<Ph>, side: f64) -> f64 {
    ph.value.ph() + side * 2.0 * ph.sd()
}

fn volumes(r: &Reckoning) -> FlowChart {
    let l = |volume: quantity::Volume| volume.l();
    let mut boil = Station::new("kettle", Tone::Sand);
    for (name, kg) in losses(r) {
        boil = boil.losing(name, kg);
    }
    let dissolved = (l(r.volumes.pre_boil.volume) + l(r.volumes.left_in_tun.volume)
        - l(r.volumes.total_water))
    .max(0.0);
    let beer = &r.packaging.beer;
    FlowChart {
        heading: Heading::new(
            "volumes",
            "Volumes through the kit, L at 20 °C",
            format!(
                "{} of water become {} of packed beer.",
                show(r.volumes.total_water, Units::Metric),
                show(beer.volume, Units::Metric)
            ),
        ),
        unit: "L".to_owned(),
        decimals: Some(1),
        start: l(r.volumes.total_water),
        stations: vec![
            Station::new("water", Tone::Water),
            Station::new("mash", Tone::Mist)
                .gaining("extract", dissolved)
                .losing("stays with the grain", l(r.volumes.left_in_tun.volume)),
            boil,
            Station::new("fermenter", Tone::Amber)
                .losing("yeast and dregs", l(r.document.package.loss.value)),
            Station::new("package", Tone::Copper),
        ],
    }
}

/// What the kettle loses between full and the fermenter, so that the flow closes:
/// steam, and the wort that stays behind.
fn losses(r: &Reckoning) -> Vec<(&'static str, f64)> {
    let full = r.volumes.pre_boil.volume.l();
    let after = r.boil.report.post_boil.volume.l();
    let fermenter = r.boil.wort.volume.l();
    vec![
        ("steam", full - after),
        ("break, hops, hoses", after - fermenter),
    ]
}

/// The kettle from the first heat to the end of the chiller; a night in the kettle is
/// drawn in hours.
fn boil(r: &Reckoning, units: Units) -> CourseChart {
    let report = &r.boil.report;
    let series = |f: &dyn Fn(&wort::BoilMoment) -> f64| -> Vec<(f64, f64)> {
        let points = report.timeline.iter();
        points.map(|m| (m.time.min(), f(m))).collect()
    };
    let line = |label: &str, tone, stroke, f: &dyn Fn(&wort::BoilMoment) -> f64| {
        Line::new(label, series(f), tone, stroke)
    };
    let (unit, temperature): (&str, fn(f64) -> f64) = match units {
        Units::Metric => ("°C", |c| c),
        Units::Us => ("°F", |c| c * 1.8 + 32.0),
    };
    let tones = [
        Tone::Copper,
        Tone::Moss,
        Tone::Amber,
        Tone::Slate,
        Tone::Plum,
        Tone::Sand,
    ];
    let mut iso = Panel::new(
        Axis::new("iso-alpha-acids", "mg/L")
            .starting_at(0.0)
            .decimals(1),
    );
    for ((n, hop), tone) in report.hops.iter().enumerate().zip(tones.iter().cycle()) {
        if hop.iso_alpha.mg_per_l() > 0.0 {
            let label = format!("{}, {}", n + 1, hop.name);
            iso = iso.line(line(&label, *tone, Stroke::Solid, &|m| {
                m.iso_alpha.get(n).map_or(0.0, |c| c.mg_per_l())
            }));
        }
    }
    CourseChart::new(
        Heading::new(
            "boil",
            "The boil: temperature, bitterness, dimethyl sulfide",
            "From the start of the boil to the end of the chiller, and before it where the power of the kettle is known. Iso-alpha-acids of each hop as they form, in the kettle, before any loss.",
        ),
        Axis::new("time", "min"),
    )
    .panel(
        Panel::new(Axis::new("temperature", unit).decimals(1)).line(line(
            "temperature",
            Tone::Copper,
            Stroke::Solid,
            &|m| temperature(m.temperature.c()),
        )),
    )
    .panel(iso)
    .panel(
        Panel::new(Axis::new("as dimethyl sulfide", "µg/L").starting_at(0.0).decimals(0))
            .line(line("precursor", Tone::Slate, Stroke::Solid, &|m| {
                m.smm.mg_per_l() * 1000.0
            }))
            .line(line("dimethyl sulfide", Tone::Water, Stroke::Solid, &|m| {
                m.dms.mg_per_l() * 1000.0
            })),
    )
    .marker(r.wort_plan.boil.duration.min(), "boil ends")
}

fn bitterness(r: &Reckoning) -> ContributionChart {
    let tones = [
        Tone::Copper,
        Tone::Moss,
        Tone::Amber,
        Tone::Slate,
        Tone::Plum,
        Tone::Sand,
    ];
    let rows = r
        .boil
        .report
        .hops
        .iter()
        .zip(tones.iter().cycle())
        .map(|(hop, tone)| Contribution::simple(hop.name.clone(), hop.bitterness.ibu(), *tone));
    ContributionChart {
        heading: Heading::new(
            "bitterness",
            "Bitterness by hop, IBU",
            "What each addition gives to the beer.",
        ),
        axis: Axis::new("bitterness", "IBU").starting_at(0.0).decimals(0),
        rows: rows.collect(),
    }
}

fn cells(r: &Reckoning) -> ContributionChart {
    let pitch = &r.fermentation.pitch;
    ContributionChart {
        heading: Heading::new(
            "cells",
            "Yeast cells, billions",
            "Living cells at hand against the cells that this wort needs.",
        ),
        axis: Axis::new("cells", "billion").starting_at(0.0).decimals(0),
        rows: vec![
            Contribution::simple("at hand", pitch.at_hand.value.billions(), Tone::Water)
                .needing(pitch.needed.billions(), "needed"),
        ],
    }
}

fn course(r: &Reckoning, units: Units) -> CourseChart {
    let moments = &r.fermentation.course;
    let series = |f: &dyn Fn(&ferment::CourseMoment) -> f64| -> Vec<(f64, f64)> {
        moments.iter().map(|m| (m.at.h() / 24.0, f(m))).collect()
    };
    let (unit, temperature): (&str, Box<dyn Fn(f64) -> f64>) = match units {
        Units::Metric => ("°C", Box::new(|c| c)),
        Units::Us => ("°F", Box::new(|c| c * 1.8 + 32.0)),
    };
    let mut gravity = Panel::new(Axis::new("gravity", "SG").decimals(3)).line(Line::new(
        "gravity",
        series(&|m| m.gravity.sg()),
        Tone::Water,
        Stroke::Solid,
    ));
    if let Some(aim) = r.document.aim.as_ref().and_then(|a| a.final_gravity) {
        gravity = gravity.reference(aim.value.sg(), "aim");
    }
    let mut chart = CourseChart::new(
        Heading::new(
            "course",
            "The course: gravity and temperature",
            r.fermentation.validity,
        ),
        Axis::new("time", "d").starting_at(0.0),
    )
    .panel(gravity)
    .panel(
        Panel::new(Axis::new("temperature", unit).decimals(1)).line(Line::new(
            "temperature",
            series(&|m| temperature(m.temperature.c())),
            Tone::Copper,
            Stroke::Solid,
        )),
    )
    .panel(
        Panel::new(
            Axis::new("yeast in suspension", "million/mL")
                .starting_at(0.0)
                .decimals(0),
        )
        .line(Line::new(
            "active cells",
            series(&|m| m.active_cells.millions_per_ml()),
            Tone::Moss,
            Stroke::Solid,
        )),
    );
    if let Some(end) = r.fermentation.ended_at {
        chart = chart.marker(end.h() / 24.0, "ends");
    }
    chart
}

fn flavour(r: &Reckoning) -> CourseChart {
    let moments = &r.fermentation.course;
    let line = |label: &str, tone, stroke, f: &dyn Fn(&ferment::Flavour) -> f64| {
        let points = moments
            .iter()
            .map(|m| (m.at.h() / 24.0, f(&m.flavour)))
            .collect();
        Line::new(label, points, tone, stroke)
    };
    CourseChart::new(
        Heading::new(
            "flavour",
            "Flavour compounds over the course, mg/L",
            "On a logarithmic scale; levels are scores about typical levels of the class of yeast.",
        ),
        Axis::new("time", "d").starting_at(0.0),
    )
    .panel(
        Panel::new(
            Axis::new("concentration", "mg/L")
                .log()
                .between(0.005, 200.0),
        )
        .line(line("isoamyl alcohol", Tone::Slate, Stroke::Dashed, &|f| {
            f.isoamyl_alcohol.mg_per_l()
        }))
        .line(line("ethyl acetate", Tone::Amber, Stroke::Solid, &|f| {
            f.ethyl_acetate.mg_per_l()
        }))
        .line(line("acetaldehyde", Tone::Moss, Stroke::DashDot, &|f| {
            f.acetaldehyde.mg_per_l()
        }))
        .line(line("isoamyl acetate", Tone::Copper, Stroke::Solid, &|f| {
            f.isoamyl_acetate.mg_per_l()
        }))
        .line(line("4-vinylguaiacol", Tone::Plum, Stroke::Dashed, &|f| {
            f.vinylguaiacol.mg_per_l()
        }))
        .line(line("diacetyl", Tone::Water, Stroke::Dotted, &|f| {
            f.diacetyl.mg_per_l()
        })),
    )
}

/// Compounds a hundred times below the keenest threshold say nothing; the table
/// of risks still has them.
const LEAST_DRAWN: f64 = 0.01;

fn activities(r: &Reckoning) -> ActivityChart {
    let medicinal = Compound::graded(
        "chlorophenols",
        format!("risk {}", r.glass.medicinal.expected.word()),
    );
    let drawn = r.glass.activities.iter().filter(|a| a.high >= LEAST_DRAWN);
    let known = drawn.map(|a| {
        let label = match a.bound {
            Bound::Expected => a.compound.name.clone(),
            other => format!("{}, {}", a.compound.name, other.words()),
        };
        Compound::known(label, a.low, a.typical, a.high)
    });
    ActivityChart::new(
        Heading::new(
            "glass",
            "What the glass should hold, against thresholds",
            "Concentration divided by its threshold; bars from the highest to the lowest threshold in print. Chlorophenols are a graded risk, since their yield in wort is not known.",
        ),
        std::iter::once(medicinal).chain(known).collect(),
    )
}
