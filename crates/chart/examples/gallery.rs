//! Writes a page with one of each chart to standard output. The figures are invented.
//!
//! `cargo run -p gylewright-chart --example gallery > gallery.html`
//!
//! With a name (`… --example gallery -- course`) it writes that chart as an SVG file.

use chart::{
    Activity, ActivityChart, Aim, Axis, BalanceChart, Band, BandPoint, Chart, Compound,
    Contribution, ContributionChart, CourseChart, FlowChart, Glass, Heading, Interval, Ion, Level,
    Line, Panel, RangeChart, Reading, Readings, SCRIPT, STYLE, Segment, Shape, Station, Stroke,
    Tone, Water,
};
use maud::{DOCTYPE, PreEscaped, html};
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
    Water {
        label: label.to_owned(),
        cations: vec![
            Ion::new("Ca", ca, Tone::Water),
            Ion::new("Mg", mg, Tone::Mist),
            Ion::new("Na", na, Tone::Sand),
            Ion::new("K", 0.09, Tone::Plum),
        ],
        anions: vec![
            Ion::new("HCO₃", hco3, Tone::Slate),
            Ion::new("SO₄", so4, Tone::Copper),
            Ion::new("Cl", cl, Tone::Amber),
            Ion::new("NO₃", 0.12, Tone::Moss),
        ],
    }
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
