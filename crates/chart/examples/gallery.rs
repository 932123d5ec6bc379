//! Writes a page with one of each chart to standard output. The figures are invented.
//!
//! `cargo run -p gylewright-chart --example gallery > gallery.html`
//!
//! With a name (`… --example gallery -- course`) it writes that chart as an SVG file.

use chart::{
    Activity, ActivityChart, Aim, Axis, BalanceChart, Band, BandPoint, Breakpoint, BreakpointPlace,
    CellBar, Chart, Compound, Contribution, ContributionChart, CourseChart, Decay, DecayWay,
    FlowChart, Glass, Heading, Interval, Ion, Left, Level, Line, Panel, RangeChart, Reading,
    Readings, SCRIPT, STYLE, SeasonPanel, Seasons, Segment, Shape, Shift, ShiftChart, Station,
    Step, StepsChart, Stroke, Titration, TitrationCurve, Tone, Water,
};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use std::io::Write;

fn main() -> std::io::Result<()> {
    let charts = charts();
    let text = match std::env::args().nth(1) {
        Some(name) => charts.iter().find(|c| c.heading().id == name).map_or_else(
            || format!("no chart is called {name}\n"),
            |c| c.standalone_svg(),
        ),
        None => page(&charts),
    };
    std::io::stdout().write_all(text.as_bytes())
}

fn page(charts: &[Box<dyn Chart>]) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width";
                title { "Charts" }
                style { (PreEscaped(STYLE)) "body{background:var(--chart-paper);color:var(--chart-ink);font-family:system-ui,sans-serif;margin:1rem}section{margin-bottom:1.6rem}" }
            }
            body {
                section { @for glass in glasses() { (glass.markup()) " " } }
                section { (cells_of_a_table()) }
                @for chart in charts { section { (chart.markup()) (chart.table()) } }
                script type="module" { (PreEscaped(SCRIPT)) }
            }
        }
    };
    page.into_string()
}

fn charts() -> Vec<Box<dyn Chart>> {
    vec![
        Box::new(course()),
        Box::new(balance()),
        Box::new(gap()),
        Box::new(moved()),
        Box::new(made_by()),
        Box::new(breakpoint().chart()),
        Box::new(left(true).chart()),
        Box::new(left(false).chart()),
        Box::new(titration().chart()),
        Box::new(seasons().chart()),
        Box::new(activity()),
        Box::new(flow()),
        Box::new(ranges()),
        Box::new(bitterness()),
        Box::new(cells()),
        Box::new(RangeChart {
            heading: Heading::new("nothing", "A chart without figures", ""),
            axis: Axis::new("time", "d"),
            rows: Vec::new(),
            aim: None,
        }),
    ]
}

fn glasses() -> [Glass; 3] {
    [
        Glass::new("pale", "straw, 7 EBC, with foam", (243, 201, 92)),
        Glass::new("amber", "amber, 22 EBC, with foam", (190, 98, 22)),
        Glass {
            foam: 0.0,
            ..Glass::new("dark", "black, 90 EBC, without foam", (42, 14, 8))
        },
    ]
}

fn days() -> impl Iterator<Item = f64> {
    (0..=72).map(|i| f64::from(i) / 6.0)
}

fn gravity(d: f64) -> f64 {
    1.011 + 0.041 / (1.0 + ((d - 2.6) * 1.5).exp())
}

fn gravity_band(label: &str, level: Level, width: f64) -> Band {
    let point = |d: f64| {
        let half = width * (0.15 + d / 10.0).min(0.5);
        BandPoint {
            x: d,
            low: gravity(d) - half,
            high: gravity(d) + half,
        }
    };
    Band {
        label: label.to_owned(),
        points: days().map(point).collect(),
        tone: Tone::Water,
        level,
    }
}

fn course() -> CourseChart {
    let forecast = Line::new(
        "forecast",
        days().map(|d| (d, gravity(d))).collect(),
        Tone::Water,
        Stroke::Solid,
    );
    let planned = days().map(|d| (d, gravity(d - 0.5) - 0.0005)).collect();
    let read = [0.1, 1.0, 1.9, 2.7, 3.6, 4.4];
    let readings = Readings {
        label: "hydrometer".to_owned(),
        points: read
            .iter()
            .map(|&d| Reading::new(d, gravity(d) + 0.0012 * (d * 7.0).sin(), 0.001))
            .collect(),
        tone: Tone::Copper,
        shape: Shape::Circle,
    };
    let top = Panel::new(Axis::new("gravity", "SG").decimals(4))
        .band(gravity_band("90 %", Level::Outer, 0.012))
        .band(gravity_band("50 %", Level::Inner, 0.005))
        .line(forecast)
        .line(Line::new("planned", planned, Tone::Slate, Stroke::Dashed))
        .readings(readings)
        .reference(1.010, "aim");
    let set = vec![
        (0.0, 18.0),
        (3.0, 18.0),
        (4.5, 21.0),
        (8.9, 21.0),
        (9.0, 21.0),
        (11.0, 3.0),
        (12.0, 3.0),
    ];
    let felt = days()
        .map(|d| {
            (
                d,
                18.0 + 1.4 * (-(d - 2.4).powi(2)).exp() + if d > 4.0 { 2.8 } else { 0.0 }
                    - (d - 9.0).max(0.0) * 6.0,
            )
        })
        .collect();
    let temperature = Panel::new(Axis::new("temperature", "°C").decimals(1))
        .line(Line::new("set", set, Tone::Slate, Stroke::Dashed))
        .line(Line::new("beer", felt, Tone::Copper, Stroke::Solid));
    let diacetyl = days()
        .map(|d| (d, 0.02 + 0.6 * (d / 2.0).powi(2) * (-d / 1.1).exp()))
        .collect();
    let vdk = Panel::new(Axis::new("diacetyl and its precursor", "mg/L").log())
        .line(Line::new("reckoned", diacetyl, Tone::Plum, Stroke::Solid))
        .reference(0.1, "threshold");
    CourseChart::new(
        Heading::new(
            "course",
            "Course of the fermentation",
            "Gravity falls from 1.052 to 1.011 by day nine, half a day later than planned.",
        ),
        Axis::new("time", "d"),
    )
    .panel(top)
    .panel(temperature)
    .panel(vdk)
    .marker(4.0, "rest begins")
    .marker(9.0, "ends")
}

fn water(label: &str, ca: f64, mg: f64, na: f64, hco3: f64, so4: f64, cl: f64) -> Water {
    Water::new(
        label,
        vec![
            Ion::new("Ca", ca, Tone::Water),
            Ion::new("Mg", mg, Tone::Mist),
            Ion::new("Na", na, Tone::Sand),
            Ion::new("K", 0.09, Tone::Plum),
        ],
        vec![
            Ion::new("HCO₃", hco3, Tone::Slate),
            Ion::new("SO₄", so4, Tone::Copper),
            Ion::new("Cl", cl, Tone::Amber),
            Ion::new("NO₃", 0.12, Tone::Moss),
        ],
    )
}

fn balance() -> BalanceChart {
    let mut treated = water("treated", 3.9, 0.6, 0.65, 1.6, 1.3, 2.2);
    let aims = [3.6, 0.6, 0.5];
    for (ion, aim) in treated.cations.iter_mut().zip(aims) {
        ion.aim_meq_per_l = Some(aim);
    }
    for (ion, aim) in treated.anions.iter_mut().zip([1.0, 1.5, 2.2]) {
        ion.aim_meq_per_l = Some(aim);
    }
    BalanceChart {
        heading: Heading::new(
            "balance",
            "Charge: tap, treated, aim",
            "The treatment takes out bicarbonate and adds chloride.",
        ),
        waters: vec![
            water("tap", 4.8, 0.9, 1.05, 4.75, 1.27, 1.07),
            treated,
            water("aim", 3.6, 0.6, 0.5, 1.0, 1.5, 2.2),
        ],
    }
}

fn gap() -> BalanceChart {
    let tap = Water::new(
        "tap",
        vec![
            Ion::new("Ca", 4.8, Tone::Water),
            Ion::new("Mg", 0.9, Tone::Mist),
            Ion::new("Na", 1.05, Tone::Sand),
            Ion::new("K", 0.09, Tone::Stone),
            Ion::new("NH₄", 0.03, Tone::Plum),
        ],
        vec![
            Ion::new("HCO₃", 4.15, Tone::Slate),
            Ion::new("SO₄", 1.27, Tone::Copper),
            Ion::new("Cl", 0.57, Tone::Amber),
            Ion::new("NO₃", 0.12, Tone::Moss),
            Ion::new("F", 0.01, Tone::Mist),
            Ion::missing("missing: 0.75", 0.75),
        ],
    );
    let even = Water::new(
        "second report",
        vec![
            Ion::new("Ca", 2.2, Tone::Water),
            Ion::new("Na", 0.4, Tone::Sand),
        ],
        vec![
            Ion::new("HCO₃", 2.0, Tone::Slate),
            Ion::new("Cl", 0.5, Tone::Amber),
        ],
    );
    BalanceChart {
        heading: Heading::new(
            "gap",
            "Does the analysis add up? Charge, mEq/L",
            "The first report lacks 0.75 mEq/L of anions; the second closes.",
        ),
        waters: vec![
            tap.give_or_take(0.22, 0.3)
                .with_gap("0.75 mEq/L of anions missing, more than errors explain"),
            even.give_or_take(0.15, 0.2)
                .with_gap("closes within its errors"),
        ],
    }
}

fn moved() -> ShiftChart {
    let mg = |name: &str| Axis::new(name, "mg/L").starting_at(0.0).decimals(0);
    ShiftChart {
        heading: Heading::new(
            "moved",
            "What the treatment moves",
            "Calcium and alkalinity land in their aims; sulfate stays short of its.",
        ),
        rows: vec![
            Shift::new(mg("calcium"), 96.0, 54.0).aiming(50.0, 60.0, "aim"),
            Shift::new(mg("magnesium"), 11.0, 6.6),
            Shift::new(mg("sodium"), 24.0, 26.0)
                .aiming(0.0, 30.0, "aim")
                .limited(200.0, "guide value 200"),
            Shift::new(mg("alkalinity as CaCO3"), 238.0, 61.0).aiming(40.0, 70.0, "aim"),
            Shift::new(mg("sulfate"), 61.0, 68.0)
                .aiming(90.0, 110.0, "aim")
                .limited(250.0, "guide value 250"),
            Shift::new(mg("chloride"), 38.0, 88.0).aiming(80.0, 80.0, "aim"),
            Shift::new(mg("nitrate"), 31.0, 19.0)
                .aiming(0.0, 25.0, "aim")
                .limited(50.0, "health limit 50"),
            Shift::new(Axis::new("pH", "").decimals(2), 7.62, 5.41).aiming(5.3, 5.5, "aim"),
        ],
    }
}

fn made_by() -> StepsChart {
    StepsChart {
        heading: Heading::new(
            "made-by",
            "What made the alcohol differ",
            "More malt, mostly; the warmer mash takes some of it away.",
        ),
        axis: Axis::new("alcohol", "% vol").decimals(1),
        from: ("first brewing".to_owned(), 5.2),
        steps: vec![
            Step::new("0.6 kg more pilsner malt", 1.1),
            Step::new("rests of the mash 2 °C warmer", -0.4),
            Step::new("boil time 15 min longer", 0.1),
        ],
        to: ("second brewing".to_owned(), 6.0),
    }
}

fn breakpoint() -> Breakpoint {
    let place = |i: i32| {
        let dose = f64::from(i) / 10.0;
        let mono = if dose < 2.5 {
            dose * 0.97
        } else {
            (2.42 - (dose - 2.5) * 1.62).max(0.0)
        };
        let di = 0.35 * (-((dose - 3.3) / 0.7).powi(2)).exp();
        let free = (dose - 4.0).max(0.0) * 0.97;
        BreakpointPlace {
            dose,
            free,
            mono,
            di,
            total: free + mono + di,
        }
    };
    Breakpoint {
        heading: Heading::new(
            "breakpoint",
            "Breakpoint: what added chlorine becomes",
            "Chloramine rises to 2.4 mg/L, falls, and from 4.0 mg/L on chlorine stays free.",
        ),
        places: (0..=70).map(place).collect(),
        breakpoint: Some(4.0),
        yours: Some(1.8),
    }
}

fn left(log: bool) -> Decay {
    let times = || (0..=60).map(|i| 5.0 * 2016f64.powf(f64::from(i) / 60.0));
    let way = |label: &str, half: f64, slow: f64, floor: f64| DecayWay {
        label: label.to_owned(),
        places: times()
            .map(|min| Left {
                min,
                expected: floor + 1.8 * 0.5f64.powf(min / half),
                at_most: floor * 2.0 + 1.9 * 0.5f64.powf(min / half / slow),
            })
            .collect(),
    };
    let axis = Axis::new("total chlorine", "mg/L").decimals(2);
    Decay {
        heading: Heading::new(
            if log { "left" } else { "left-linear" },
            "Chlorine left over time, by way",
            "Ascorbic acid works at once, boiling within hours; standing takes days.",
        ),
        axis: if log {
            axis.log().between(0.01, 3.0)
        } else {
            axis.starting_at(0.0)
        },
        ways: vec![
            way("boil", 45.0, 1.8, 0.0),
            way("stand open", 2600.0, 2.4, 0.0),
            way("stand open, stirred", 700.0, 1.6, 0.0),
            way("sulfite", 1.5, 1.2, 0.012),
        ],
        threshold: Some((0.1, "not detectable, 0.1 mg/L".to_owned())),
    }
}

fn titration() -> Titration {
    let ph = |ml: f64, sharp: f64| 6.35 - ((ml + 0.3) / (6.4 - ml).max(0.02)).log10() * sharp;
    let curve = |label: &str, sharp: f64, shift: f64| TitrationCurve {
        label: label.to_owned(),
        points: (0..=60)
            .map(|i| f64::from(i) / 10.0)
            .map(|ml| (ml, ph(ml, sharp) + shift))
            .collect(),
    };
    Titration {
        heading: Heading::new(
            "titration",
            "pH of the mash water by acid",
            "5.6 mL of lactic acid bring it into the aim.",
        ),
        dose: Axis::new("lactic acid 80 %", "mL")
            .starting_at(0.0)
            .decimals(1),
        curves: vec![curve("closed", 1.0, 0.0), curve("open to air", 1.1, 0.55)],
        aim: Some(Aim {
            low: 5.3,
            high: 5.5,
            label: "aim 5.3 to 5.5".to_owned(),
        }),
        now: Some((0.0, ph(0.0, 1.0))),
        meets: Some((5.6, ph(5.6, 1.0))),
    }
}

fn seasons() -> Seasons {
    let usual = |day: f64, mid: f64, swing: f64| {
        mid + swing * ((day - 30.0) / 365.0 * std::f64::consts::TAU).cos()
    };
    let panel = |name: &str, unit: &str, mid: f64, swing: f64, level: (f64, &str)| SeasonPanel {
        axis: Axis::new(name, unit).decimals(0),
        readings: [14.0, 52.0, 101.0, 160.0, 205.0, 262.0, 318.0]
            .map(|day| {
                let off = swing * 0.25 * f64::sin(day * 1.7);
                Reading::new(day, usual(day, mid, swing) + off, swing * 0.15)
            })
            .to_vec(),
        spread: (0..=73)
            .map(|i| 1.0 + f64::from(i) * 5.0)
            .map(|x| BandPoint {
                x,
                low: usual(x, mid, swing) - swing * 0.4,
                high: usual(x, mid, swing) + swing * 0.4,
            })
            .collect(),
        levels: vec![(level.0, level.1.to_owned())],
    };
    Seasons {
        heading: Heading::new(
            "seasons",
            "The water through the year",
            "Hard and alkaline in winter, soft from May to October.",
        ),
        panels: vec![
            panel(
                "alkalinity",
                "mg/L as CaCO3",
                210.0,
                40.0,
                (200.0, "acid needed above"),
            ),
            panel("nitrate", "mg/L", 24.0, 9.0, (50.0, "health limit 50")),
        ],
        changes: vec![
            (115.0, "no acid from 25 Apr".to_owned()),
            (305.0, "acid again from 1 Nov".to_owned()),
        ],
    }
}

fn cells_of_a_table() -> Markup {
    let ways = [
        ("stand overnight", 1.5, 1.7, 1.8, "12 h", "nothing"),
        ("boil 30 min", 0.5, 0.9, 1.4, "1 h", "nothing"),
        ("slow carbon", 0.03, 0.09, 0.25, "3 h", "fines"),
        ("sulfite", 0.005, 0.01, 0.03, "5 min", "2.6 mg/L sulfate"),
        ("none", 2.2, 2.4, 2.6, "0", "chloramine"),
    ];
    html! {
        table {
            tr { th { "way" } th { "left, mg/L" } th { "" } th { "time" } th { "leaves" } }
            @for (way, low, value, high, time, leaves) in ways {
                @let bar = CellBar { low, value, high, most: 2.0, threshold: Some(0.1) };
                tr { td { (way) } td { (value) } td { (bar.markup()) } td { (time) } td { (leaves) } }
            }
        }
    }
}

fn activity() -> ActivityChart {
    ActivityChart::new(
        Heading::new(
            "activity",
            "What the glass holds against what can be noticed",
            "Banana is clear, clove at the edge; the medicinal risk is high.",
        ),
        vec![
            Compound::known("isoamyl acetate (banana)", 1.1, 2.6, 5.8),
            Compound::known("4-vinylguaiacol (clove)", 0.3, 0.8, 1.9),
            Compound::known("diacetyl (butter)", 0.03, 0.12, 0.4),
            Compound::known("dimethyl sulfide (cooked corn)", 0.6, 0.9, 1.3),
            Compound::known("acetic acid", 0.0001, 0.002, 0.006),
            Compound::known("hop bitterness", 40.0, 160.0, 400.0),
            Compound {
                label: "chlorophenols (medicinal)".to_owned(),
                activity: Activity::Graded(
                    "risk high: a yield of 0.006 % reaches the threshold".to_owned(),
                ),
            },
        ],
    )
}

fn flow() -> FlowChart {
    FlowChart {
        heading: Heading::new(
            "flow",
            "Where the water goes",
            "Of 34.2 L drawn, 20.1 L reach the bottles; the grain keeps most of the rest.",
        ),
        unit: "L".to_owned(),
        decimals: Some(1),
        start: 18.0,
        stations: vec![
            Station::new("mash water", Tone::Mist)
                .gaining("sparge water", 16.2)
                .losing("grain keeps", 5.1)
                .losing("mash tun dead space", 1.0),
            Station::new("into the kettle", Tone::Sand)
                .losing("steam", 3.6)
                .losing("hops and trub", 1.4)
                .losing("shrinks cooling", 0.9),
            Station::new("into the fermenter", Tone::Amber)
                .losing("yeast", 1.2)
                .losing("samples", 0.3),
            Station::new("into bottles", Tone::Copper),
        ],
    }
}

fn ranges() -> RangeChart {
    RangeChart {
        heading: Heading::new(
            "ways",
            "Total chlorine left, by way",
            "Only sulfite and slow carbon come below the aim.",
        ),
        axis: Axis::new("total chlorine", "mg/L").log(),
        rows: vec![
            Interval::new("stand overnight", 1.5, 1.7, 1.8),
            Interval::new("boil 30 min", 0.5, 0.9, 1.4),
            Interval::new("carbon, 1 L/min", 0.7, 1.0, 1.3),
            Interval::new("carbon, 0.1 L/min", 0.03, 0.09, 0.25),
            Interval::new("sulfite", 0.005, 0.01, 0.03),
        ],
        aim: Some(Aim {
            low: 0.004,
            high: 0.05,
            label: "aim".to_owned(),
        }),
    }
}

fn bitterness() -> ContributionChart {
    ContributionChart {
        heading: Heading::new(
            "bitterness",
            "Bitterness by addition",
            "Most comes from the first addition.",
        ),
        axis: Axis::new("iso-alpha-acids", "mg/L").decimals(1),
        rows: vec![
            Contribution::simple("bittering hop, 60 min", 19.4, Tone::Moss),
            Contribution::simple("aroma hop, 15 min", 6.1, Tone::Moss),
            Contribution::simple("aroma hop, after the boil at 80 °C", 2.2, Tone::Moss),
            Contribution::stacked(
                "in the glass",
                vec![
                    Segment::new("60 min", 14.9, Tone::Moss),
                    Segment::new("15 min", 4.7, Tone::Sand),
                    Segment::new("after", 1.7, Tone::Amber),
                ],
            )
            .needing(24.0, "aim"),
        ],
    }
}

fn cells() -> ContributionChart {
    ContributionChart {
        heading: Heading::new(
            "cells",
            "Yeast at hand and needed",
            "One packet and a starter fall short by 20 billion cells.",
        ),
        axis: Axis::new("living cells", "10⁹").decimals(0),
        rows: vec![
            Contribution::stacked(
                "pitch",
                vec![
                    Segment::new("packet", 72.0, Tone::Water),
                    Segment::new("starter grows", 98.0, Tone::Mist),
                ],
            )
            .needing(190.0, "needed"),
        ],
    }
}
