//! Charts with any data, for the promises to hold for.

use crate::*;
use proptest::prelude::*;

/// Anything that a computation may hand over, and what people really draw.
fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -20.0..200.0_f64,
        2 => 0.0..1.0_f64,
        1 => any::<f64>(),
        1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 0.0, -0.0, 1e300, 1e-300, f64::MAX]),
    ]
}

fn words() -> impl Strategy<Value = String> {
    prop_oneof![3 => "[a-z]{1,9}( [a-z0-9%]{1,8}){0,3}", 1 => "\\PC{0,60}", 1 => Just(String::new())]
}

fn tone() -> impl Strategy<Value = Tone> {
    prop::sample::select(Tone::ALL.to_vec())
}

fn heading() -> impl Strategy<Value = Heading> {
    (words(), words(), words()).prop_map(|(id, title, summary)| Heading::new(&id, title, summary))
}

fn axis() -> impl Strategy<Value = Axis> {
    let end = || prop::option::weighted(0.2, value());
    (
        words(),
        words(),
        any::<bool>(),
        end(),
        end(),
        prop::option::of(0usize..6),
        prop::sample::select(vec![
            Names::Numbers,
            Names::Numbers,
            Names::Durations,
            Names::Year,
        ]),
    )
        .prop_map(|(label, unit, log, from, to, decimals, names)| {
            let scale = if log { Scale::Log } else { Scale::Linear };
            Axis {
                label,
                unit,
                scale,
                from,
                to,
                decimals,
                names,
            }
        })
}

fn line() -> impl Strategy<Value = Line> {
    let stroke = prop::sample::select(vec![
        Stroke::Solid,
        Stroke::Dashed,
        Stroke::Dotted,
        Stroke::DashDot,
    ]);
    (
        words(),
        prop::collection::vec((value(), value()), 0..12),
        tone(),
        stroke,
    )
        .prop_map(|(label, points, tone, stroke)| Line {
            label,
            points,
            tone,
            stroke,
        })
}

fn band() -> impl Strategy<Value = Band> {
    let point = (value(), value(), value()).prop_map(|(x, low, high)| BandPoint { x, low, high });
    let level = prop::sample::select(vec![Level::Outer, Level::Inner]);
    (words(), prop::collection::vec(point, 0..8), tone(), level).prop_map(
        |(label, points, tone, level)| Band {
            label,
            points,
            tone,
            level,
        },
    )
}

fn readings() -> impl Strategy<Value = Readings> {
    let point = (value(), value(), value(), value()).prop_map(|(x, y, low, high)| Reading {
        x,
        y,
        low,
        high,
    });
    (words(), prop::collection::vec(point, 0..6), tone(), shape()).prop_map(
        |(label, points, tone, shape)| Readings {
            label,
            points,
            tone,
            shape,
        },
    )
}

fn shape() -> impl Strategy<Value = Shape> {
    prop::sample::select(vec![
        Shape::Circle,
        Shape::Square,
        Shape::Diamond,
        Shape::Triangle,
    ])
}

fn panel() -> impl Strategy<Value = Panel> {
    let stretch =
        (value(), value(), words()).prop_map(|(low, high, label)| Stretch { low, high, label });
    let spot = (value(), value(), words(), shape()).prop_map(|(x, y, label, shape)| Spot {
        x,
        y,
        label,
        shape,
    });
    let more = (
        prop::collection::vec(stretch, 0..2),
        prop::collection::vec(spot, 0..3),
        any::<bool>(),
        prop::option::weighted(0.2, words()),
    );
    let reference = (value(), words()).prop_map(|(y, label)| Reference { y, label });
    (
        axis(),
        prop::collection::vec(line(), 0..4),
        prop::collection::vec(band(), 0..3),
        prop::collection::vec(readings(), 0..3),
        prop::collection::vec(reference, 0..3),
        more,
    )
        .prop_map(
            |(
                axis,
                lines,
                bands,
                readings,
                references,
                (stretches, spots, labels_inside, bands_mean),
            )| Panel {
                axis,
                lines,
                bands,
                readings,
                references,
                stretches,
                spots,
                labels_inside,
                bands_mean,
            },
        )
}

fn course() -> impl Strategy<Value = Box<dyn Chart>> {
    let marker = (value(), words()).prop_map(|(x, label)| Marker { x, label });
    (
        heading(),
        axis(),
        prop::collection::vec(panel(), 0..4),
        prop::collection::vec(marker, 0..6),
    )
        .prop_map(|(heading, x, panels, markers)| {
            Box::new(CourseChart {
                heading,
                x,
                panels,
                markers,
            }) as Box<dyn Chart>
        })
}

fn balance() -> impl Strategy<Value = Box<dyn Chart>> {
    let ion = || {
        (
            words(),
            value(),
            prop::option::of(value()),
            tone(),
            any::<bool>(),
        )
            .prop_map(
                |(label, amount_meq_per_l, aim_meq_per_l, tone, missing)| Ion {
                    label,
                    amount_meq_per_l,
                    aim_meq_per_l,
                    tone,
                    missing,
                },
            )
    };
    let ions = || prop::collection::vec(ion(), 0..6);
    let half = || prop::option::of(value());
    let water = (words(), ions(), ions(), half(), half(), words()).prop_map(
        |(label, cations, anions, cations_half, anions_half, gap)| Water {
            label,
            cations,
            anions,
            cations_half,
            anions_half,
            gap,
        },
    );
    (heading(), prop::collection::vec(water, 0..4))
        .prop_map(|(heading, waters)| Box::new(BalanceChart { heading, waters }) as Box<dyn Chart>)
}

fn activity() -> impl Strategy<Value = Box<dyn Chart>> {
    let known = (words(), value(), value(), value())
        .prop_map(|(label, low, value, high)| Compound::known(label, low, value, high));
    let graded = (words(), words()).prop_map(|(label, words)| Compound::graded(label, words));
    let zone = (value(), value(), words()).prop_map(|(from, to, label)| Zone { from, to, label });
    let zones = prop_oneof![Just(Zone::in_words()), prop::collection::vec(zone, 0..5)];
    (
        heading(),
        prop::collection::vec(prop_oneof![known, graded], 0..9),
        zones,
    )
        .prop_map(|(heading, rows, zones)| {
            Box::new(ActivityChart {
                heading,
                rows,
                zones,
            }) as Box<dyn Chart>
        })
}

fn flow() -> impl Strategy<Value = Box<dyn Chart>> {
    let branches = || {
        prop::collection::vec(
            (words(), value()).prop_map(|(label, v)| Branch::new(label, v)),
            0..4,
        )
    };
    let station =
        (words(), tone(), branches(), branches()).prop_map(|(label, tone, gains, losses)| {
            Station {
                label,
                tone,
                gains,
                losses,
            }
        });
    (
        heading(),
        words(),
        value(),
        prop::collection::vec(station, 0..6),
    )
        .prop_map(|(heading, unit, start, stations)| {
            Box::new(FlowChart {
                heading,
                unit,
                decimals: None,
                start,
                stations,
            }) as Box<dyn Chart>
        })
}

fn range() -> impl Strategy<Value = Box<dyn Chart>> {
    let row = (words(), value(), value(), value()).prop_map(|(label, low, value, high)| Interval {
        label,
        low,
        value,
        high,
    });
    let aim = (value(), value(), words()).prop_map(|(low, high, label)| Aim { low, high, label });
    (
        heading(),
        axis(),
        prop::collection::vec(row, 0..8),
        prop::option::of(aim),
    )
        .prop_map(|(heading, axis, rows, aim)| {
            Box::new(RangeChart {
                heading,
                axis,
                rows,
                aim,
            }) as Box<dyn Chart>
        })
}

fn contribution() -> impl Strategy<Value = Box<dyn Chart>> {
    let segment = (words(), value(), tone()).prop_map(|(label, amount, tone)| Segment {
        label,
        amount,
        tone,
    });
    let row = (
        words(),
        prop::collection::vec(segment, 0..5),
        prop::option::of((value(), words())),
    )
        .prop_map(|(label, segments, need)| Contribution {
            label,
            segments,
            need,
        });
    (heading(), axis(), prop::collection::vec(row, 0..6)).prop_map(|(heading, axis, rows)| {
        Box::new(ContributionChart {
            heading,
            axis,
            rows,
        }) as Box<dyn Chart>
    })
}

fn shift() -> impl Strategy<Value = Box<dyn Chart>> {
    let aim = (value(), value(), words()).prop_map(|(low, high, label)| Aim { low, high, label });
    let row = (
        axis(),
        value(),
        value(),
        prop::option::of(aim),
        prop::collection::vec((value(), words()), 0..3),
    )
        .prop_map(|(axis, before, after, aim, limits)| Shift {
            axis,
            before,
            after,
            aim,
            limits,
        });
    (heading(), prop::collection::vec(row, 0..7))
        .prop_map(|(heading, rows)| Box::new(ShiftChart { heading, rows }) as Box<dyn Chart>)
}

fn steps() -> impl Strategy<Value = Box<dyn Chart>> {
    let step = (words(), value()).prop_map(|(label, by)| Step { label, by });
    let end = || (words(), value());
    (
        heading(),
        axis(),
        end(),
        prop::collection::vec(step, 0..7),
        end(),
    )
        .prop_map(|(heading, axis, from, steps, to)| {
            Box::new(StepsChart {
                heading,
                axis,
                from,
                steps,
                to,
            }) as Box<dyn Chart>
        })
}

fn breakpoint() -> impl Strategy<Value = Box<dyn Chart>> {
    let place =
        (value(), value(), value(), value(), value()).prop_map(|(dose, free, mono, di, total)| {
            BreakpointPlace {
                dose,
                free,
                mono,
                di,
                total,
            }
        });
    let mark = || prop::option::of(value());
    (
        heading(),
        prop::collection::vec(place, 0..9),
        mark(),
        mark(),
    )
        .prop_map(|(heading, places, breakpoint, yours)| {
            let of = Breakpoint {
                heading,
                places,
                breakpoint,
                yours,
            };
            Box::new(of.chart()) as Box<dyn Chart>
        })
}

fn decay() -> impl Strategy<Value = Box<dyn Chart>> {
    let left = (0.0..2e4_f64, value(), value()).prop_map(|(min, expected, at_most)| Left {
        min,
        expected,
        at_most,
    });
    let way = (words(), prop::collection::vec(left, 0..9))
        .prop_map(|(label, places)| DecayWay { label, places });
    let threshold = prop::option::of((value(), words()));
    (
        heading(),
        axis(),
        prop::collection::vec(way, 0..8),
        threshold,
    )
        .prop_map(|(heading, axis, ways, threshold)| {
            let of = Decay {
                heading,
                axis,
                ways,
                threshold,
            };
            Box::new(of.chart()) as Box<dyn Chart>
        })
}

fn titration() -> impl Strategy<Value = Box<dyn Chart>> {
    let curve = (words(), prop::collection::vec((value(), value()), 0..9))
        .prop_map(|(label, points)| TitrationCurve { label, points });
    let spot = || prop::option::of((value(), value()));
    let aim = (value(), value(), words()).prop_map(|(low, high, label)| Aim { low, high, label });
    (
        heading(),
        axis(),
        prop::collection::vec(curve, 0..4),
        prop::option::of(aim),
        spot(),
        spot(),
    )
        .prop_map(|(heading, dose, curves, aim, now, meets)| {
            let of = Titration {
                heading,
                dose,
                curves,
                aim,
                now,
                meets,
            };
            Box::new(of.chart()) as Box<dyn Chart>
        })
}

fn seasons() -> impl Strategy<Value = Box<dyn Chart>> {
    let level = || prop::collection::vec((value(), words()), 0..3);
    let panel = (axis(), readings(), band(), level()).prop_map(|(axis, readings, band, levels)| {
        SeasonPanel {
            axis,
            readings: readings.points,
            spread: band.points,
            levels,
        }
    });
    (heading(), prop::collection::vec(panel, 0..3), level()).prop_map(
        |(heading, panels, changes)| {
            let of = Seasons {
                heading,
                panels,
                changes,
            };
            Box::new(of.chart()) as Box<dyn Chart>
        },
    )
}

/// A chart of any kind with any data.
pub(super) fn any_chart() -> impl Strategy<Value = Box<dyn Chart>> {
    prop_oneof![
        course(),
        balance(),
        activity(),
        flow(),
        range(),
        shift(),
        steps(),
        breakpoint(),
        decay(),
        titration(),
        seasons(),
        contribution()
    ]
}
