//! Every table of discrimination tests, cell by cell, as it is printed
//! (reference/printed.csv says where each comes from).

#![expect(clippy::unwrap_used, clippy::panic, reason = "helpers of tests may fail the test")]

use glass::tasting::{
    Protocol, StopRule, critical_number, difference, power, similarity_critical, tastings_for,
};

/// A cell: protocol, first and second place, what stands there.
type Cell = (Protocol, f64, f64, &'static str);

fn cells(of: &str, many: usize) -> Vec<Cell> {
    let cells: Vec<Cell> = include_str!("reference/printed.csv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| {
            let parts: Vec<&'static str> = line.split(',').collect();
            let [kind, protocol, first, second, value] = parts.as_slice() else {
                panic!("{line}")
            };
            let number = |text: &str| text.parse().unwrap_or(f64::NAN);
            let protocol = Protocol::ALL.into_iter().find(|p| p.word() == *protocol);
            (*kind == of).then(|| (protocol.unwrap(), number(first), number(second), *value))
        })
        .collect();
    assert_eq!(cells.len(), many, "cells of {of}");
    cells
}

#[track_caller]
fn printed(ours: f64, text: &str) {
    let digits = text.split('.').nth(1).map_or(0, str::len) as i32;
    let value: f64 = text.parse().unwrap();
    let off = (ours - value).abs();
    assert!(
        off <= 0.500_000_1 * 10f64.powi(-digits),
        "{ours} is not {text}"
    );
}

fn cell(number: Option<u32>) -> String {
    number.map_or_else(|| "-".to_owned(), |n| n.to_string())
}

#[test]
fn right_answers_by_the_difference() {
    for (protocol, d, _, value) in cells("right", 65) {
        printed(protocol.right_at(d).unwrap(), value);
    }
}

/// At or below guessing the tables print nought.
#[test]
fn the_difference_by_the_share_of_right_answers() {
    for (protocol, share, _, value) in cells("d", 65) {
        printed(protocol.d_prime_at(share).unwrap().unwrap_or(0.0), value);
    }
}

#[test]
fn critical_numbers() {
    for (protocol, n, alpha, value) in cells("critical", 560) {
        let ours = critical_number(protocol, n as u32, alpha).unwrap();
        assert_eq!(cell(ours), value, "{protocol:?} {n} {alpha}");
    }
}

#[test]
fn right_answers_that_still_show_likeness() {
    for limit in ["0.2", "0.3", "0.4"] {
        for (protocol, n, beta, value) in cells(&format!("alike-{limit}"), 64) {
            let at = limit.parse().unwrap();
            let ours = similarity_critical(protocol, n as u32, at, beta).unwrap();
            assert_eq!(cell(ours), value, "{protocol:?} {n} {limit} {beta}");
        }
    }
}

#[test]
fn power_by_number_and_difference() {
    for (protocol, n, _, value) in cells("needs", 24) {
        let ours = power(protocol, n as u32, 1.0, 0.05).unwrap();
        assert_eq!(cell(ours.critical), value, "{protocol:?} {n}");
    }
    for (protocol, n, _, value) in cells("size", 18) {
        printed(
            power(protocol, n as u32, 1.0, 0.05).unwrap().true_alpha,
            value,
        );
    }
    for (protocol, n, d, value) in cells("seen", 114) {
        printed(power(protocol, n as u32, d, 0.05).unwrap().power, value);
    }
}

/// The first number, and that from which every larger one is enough; a dash is beyond 3000.
#[test]
fn tastings_that_it_takes() {
    for (wanted, many) in [("0.80", 45), ("0.90", 15)] {
        for (protocol, d, _, value) in cells(&format!("takes-{wanted}"), many) {
            let (first, stable) = value.split_once(' ').unwrap();
            let ours = tastings_for(protocol, d, 0.05, wanted.parse().unwrap()).unwrap();
            match ours {
                None => assert_eq!(first, "-", "{protocol:?} {d}"),
                Some(needed) => {
                    assert_eq!(needed.first.to_string(), first, "{protocol:?} {d}");
                    assert_eq!(cell(needed.stable), stable, "{protocol:?} {d}");
                }
            }
        }
    }
}

/// Wald's plans: rise, lines, true risks and mean lengths (formulas of Wald 1947; risks by
/// recursion to 400 in numpy). The right answers of d' = 2 are those of the function above.
#[test]
fn sequential_plans() {
    let plans = [
        (
            Protocol::Triangle,
            Protocol::Triangle.right_at(2.0).unwrap(),
            (0.05, 0.10),
            [
                "0.46744", "2.01245", "2.58373", "0.0404", "0.0784", "15.23", "17.56",
            ],
        ),
        (
            Protocol::Triangle,
            2.0 / 3.0,
            (0.05, 0.05),
            [
                "0.50000", "2.12396", "2.12396", "0.0303", "0.0303", "14.09", "14.09",
            ],
        ),
        (
            Protocol::Triangle,
            Protocol::Triangle.right_at(1.5).unwrap(),
            (0.05, 0.20),
            [
                "0.41821", "2.16718", "3.85632", "0.0432", "0.1766", "24.47", "33.65",
            ],
        ),
        (
            Protocol::Paired,
            Protocol::Paired.right_at(1.0).unwrap(),
            (0.05, 0.10),
            [
                "0.63690", "1.95077", "2.50455", "0.0440", "0.0727", "14.87", "18.59",
            ],
        ),
        (
            Protocol::Tetrad,
            Protocol::Tetrad.right_at(1.5).unwrap(),
            (0.05, 0.10),
            [
                "0.48625", "1.76908", "2.27127", "0.0349", "0.0837", "11.59", "14.25",
            ],
        ),
    ];
    for (protocol, right, (alpha, beta), numbers) in plans {
        let rule = StopRule::new(protocol, right, alpha, beta, 400).unwrap();
        let risks = rule.risks();
        let ours = [
            rule.rise,
            rule.below,
            rule.above,
            risks.alpha,
            risks.beta,
            risks.tastings_if_none,
            risks.tastings_if_there,
        ];
        for (ours, text) in ours.into_iter().zip(numbers) {
            printed(ours, text);
        }
    }
}

/// A person alone: the same exact law (scipy).
#[test]
fn one_taster_alone() {
    for (right, n, p) in [
        (5, 6, "0.0178"),
        (6, 8, "0.0197"),
        (8, 12, "0.0188"),
        (4, 6, "0.1001"),
    ] {
        printed(difference(Protocol::Triangle, right, n, 0.05).unwrap().p, p);
    }
}
