//! What must hold of every tasting, and what bad figures are told.

use glass::tasting::{
    ANotA, MOST_D_PRIME, Protocol, Replicates, Scored, StopRule, a_not_a, a_not_a_power,
    attributes, critical_number, difference, holm, power, replicated, scores_power, similarity,
    tastings_for,
};
use proptest::prelude::*;

fn any_protocol() -> impl Strategy<Value = Protocol> {
    prop::sample::select(Protocol::ALL.to_vec())
}

/// One-sided ones: with two sides a number cannot show a difference below guessing.
fn one_sided() -> impl Strategy<Value = Protocol> {
    prop::sample::select(
        Protocol::ALL
            .into_iter()
            .filter(|p| !p.two_sided())
            .collect::<Vec<_>>(),
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn more_difference_is_seen_no_less(p in any_protocol(), n in 1u32..150, d in 0.0..5.0f64, more in 0.0..2.0f64) {
        let seen = |d| power(p, n, d, 0.05).unwrap().power;
        prop_assert!(seen(d + more) >= seen(d) - 1e-12);
        let right = |d| p.right_at(d).unwrap();
        prop_assert!(right(d + more) >= right(d) - 1e-14 && right(d) <= 1.0 && right(d) >= p.guess());
    }

    #[test]
    fn a_false_alarm_is_no_likelier_than_was_set(p in any_protocol(), n in 1u32..400, alpha in 0.001..0.4f64) {
        let planned = power(p, n, 0.0, alpha).unwrap();
        prop_assert!(planned.true_alpha <= alpha * (1.0 + 1e-9));
        prop_assert!((planned.power - planned.true_alpha).abs() < 1e-12);
    }

    #[test]
    fn a_difference_is_found_again_in_its_share(p in any_protocol(), d in 0.05..7.0f64) {
        let again = p.d_prime_at(p.right_at(d).unwrap()).unwrap().unwrap();
        // Where all is right the share hardly moves with the difference.
        prop_assert!((again - d).abs() < 1e-6, "{} {}", again, d);
    }

    #[test]
    fn the_critical_number_parts_what_is_shown(p in one_sided(), n in 1u32..40) {
        let critical = critical_number(p, n, 0.05).unwrap();
        for right in 0..=n {
            let judged = difference(p, right, n, 0.05).unwrap();
            prop_assert_eq!(judged.shown(), critical.is_some_and(|c| right >= c));
        }
    }

    #[test]
    fn alike_is_shown_up_to_its_critical_number(p in one_sided(), n in 1u32..60, limit in 0.1..0.6f64) {
        for right in 0..=n {
            let judged = similarity(p, right, n, limit, 0.05).unwrap();
            prop_assert_eq!(judged.shown(), judged.critical.is_some_and(|c| right <= c));
        }
    }

    #[test]
    fn every_figure_is_finite(p in any_protocol(), n in 1u32..60, part in 0.0..=1.0f64) {
        let right = (f64::from(n) * part) as u32;
        let j = difference(p, right, n, 0.05).unwrap();
        for e in [j.share_right, j.discriminators, j.d_prime] {
            for x in [e.value, e.low, e.high].into_iter().flatten() {
                prop_assert!((0.0..=MOST_D_PRIME).contains(&x));
            }
            if let (Some(low), Some(value)) = (e.low, e.value) { prop_assert!(low <= value + 1e-9); }
            if let (Some(value), Some(high)) = (e.value, e.high) { prop_assert!(value <= high + 1e-9); }
        }
        prop_assert!(j.d_prime_error.is_none_or(f64::is_finite));
    }

    #[test]
    fn a_stopping_rule_keeps_its_risks(p in one_sided(), d in 0.8..3.0f64, most in 5u32..80) {
        let rule = StopRule::for_d_prime(p, d, 0.05, 0.10, most).unwrap();
        let risks = rule.risks();
        // Wald: the sum of both errors is no more than that of those set.
        prop_assert!(risks.alpha <= 0.05 / 0.90 + 1e-9 && risks.beta <= 0.10 / 0.95 + 1e-9);
        prop_assert!(risks.tastings_if_none <= f64::from(most) + 1e-9);
        prop_assert!(risks.tastings_if_there >= 1.0);
        prop_assert!(risks.alpha + risks.undecided_if_none <= 1.0 + 1e-9);
    }

    #[test]
    fn an_a_not_a_is_finite(hits in 0u32..30, more in 0u32..30, alarms in 0u32..30, others in 0u32..30) {
        let answers = ANotA { hits, batch_glasses: hits + more.max(1), false_alarms: alarms, reference_glasses: alarms + others.max(1) };
        let judged = a_not_a(answers, 0.05).unwrap();
        prop_assert!(judged.p.is_finite() && judged.p > 0.0 && judged.p <= 1.0 + 1e-12);
        for x in [judged.d_prime.value, judged.d_prime.low, judged.d_prime.high, judged.d_prime_error].into_iter().flatten() {
            prop_assert!(x.is_finite());
        }
    }

    #[test]
    fn scores_turn_with_their_sign(d in prop::collection::vec(-5i32..=5, 1..12)) {
        let judge = |sign: f64| {
            let differences = d.iter().map(|&x| sign * f64::from(x) / 2.0).collect();
            attributes(&[Scored { attribute: String::new(), differences }]).unwrap().remove(0)
        };
        let (plus, minus) = (judge(1.0), judge(-1.0));
        prop_assert!((plus.wilcoxon_p - minus.wilcoxon_p).abs() < 1e-12);
        prop_assert!((plus.sign_p - minus.sign_p).abs() < 1e-12);
        prop_assert!(plus.wilcoxon_p > 0.0 && plus.wilcoxon_p <= 1.0);
        prop_assert!((plus.mean.value.unwrap() + minus.mean.value.unwrap()).abs() < 1e-12);
        prop_assert!(plus.t_p.is_none_or(|p| (0.0..=1.0).contains(&p)));
        prop_assert!(plus.seen_at_80.is_none_or(|s| s.is_finite() && s > 0.0));
    }

    #[test]
    fn holm_keeps_the_order(chances in prop::collection::vec(0.0..=1.0f64, 0..12)) {
        let raised = holm(&chances);
        for (i, a) in chances.iter().enumerate() {
            prop_assert!(raised[i] >= *a && raised[i] <= 1.0);
            for (j, b) in chances.iter().enumerate() {
                prop_assert!(a > b || raised[i] <= raised[j] + 1e-12 || i == j);
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn a_fit_is_no_worse_than_tasters_alike(right in prop::collection::vec(0u32..=8, 2..8)) {
        let panel: Vec<Replicates> = right.iter().map(|&right| Replicates { right, tastings: 8 }).collect();
        let fit = replicated(Protocol::Triangle, &panel).unwrap();
        for x in [fit.plain.mean, fit.plain.gamma, fit.corrected.mean, fit.corrected.gamma, fit.spread_p, fit.any_p] {
            prop_assert!((0.0..=1.0).contains(&x), "{:?}", fit);
        }
        prop_assert!(fit.any_ratio + 1e-6 >= fit.spread_ratio && fit.worth <= 8.0 * right.len() as f64 + 1e-9);
    }
}

/// Where nobody errs any spread would fit as well: none is said, and the answers
/// count in full.
#[test]
fn no_spread_is_said_where_none_can_be_seen() {
    for right in [0, 2] {
        let panel = vec![Replicates { right, tastings: 2 }; 5];
        let fit = replicated(Protocol::Triangle, &panel).unwrap();
        assert_eq!(fit.plain.gamma.to_bits(), 0.0_f64.to_bits(), "{fit:?}");
        assert!(
            (fit.worth - 10.0).abs() < 1e-12 && fit.spread_p > 0.99,
            "{fit:?}"
        );
    }
}

/// Coverage, by the exact law and not by draws: the 95 % interval of d' holds the
/// true d' with a chance of at least 0.95, whatever it is.
#[test]
fn the_interval_covers() {
    for protocol in Protocol::ALL.into_iter().filter(|p| !p.two_sided()) {
        for n in [6_u32, 24, 60] {
            for d in [0.3, 1.0, 2.0, 3.0] {
                let chance = protocol.right_at(d).unwrap();
                let covered: f64 = (0..=n)
                    .filter(|&right| {
                        let e = difference(protocol, right, n, 0.05).unwrap().d_prime;
                        e.low.is_some_and(|low| low <= d) && e.high.is_none_or(|high| d <= high)
                    })
                    .map(|right| mass(n, right, chance))
                    .sum();
                assert!(covered >= 0.95, "{protocol:?} {n} {d}: {covered}");
            }
        }
    }
}

/// Power by drawing: a multiplicative generator, 20000 panels of 24 triangles.
#[test]
fn power_is_how_often_it_is_seen() {
    let mut state = 1_u64;
    let mut uniform = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let planned = power(Protocol::Triangle, 24, 1.5, 0.05).unwrap();
    let mut normal =
        move || (-2.0 * (1.0 - uniform()).ln()).sqrt() * (std::f64::consts::TAU * uniform()).cos();
    let panels = 20_000;
    let seen = (0..panels)
        .filter(|_| {
            // A taster takes the glass farthest from the other two.
            let right = (0..24)
                .filter(|_| {
                    let (a, b, odd) = (normal(), normal(), normal() + 1.5);
                    (a - b).abs() < (a - odd).abs().min((b - odd).abs())
                })
                .count();
            right as u32 >= planned.critical.unwrap()
        })
        .count();
    let share = f64::from(seen as u32) / f64::from(panels);
    // Four standard errors.
    assert!(
        (share - planned.power).abs() < 4.0 * (0.25 / f64::from(panels)).sqrt(),
        "{share}"
    );
}

#[test]
fn a_not_a_sees_more_with_more_glasses() {
    let seen = |n, d| a_not_a_power(n, d, 0.05).unwrap();
    assert!(seen(10, 1.0) < seen(20, 1.0) && seen(20, 1.0) < seen(20, 2.0));
    assert!(seen(20, 0.0) <= 0.05);
    assert!(scores_power(20.0, 0.5, 0.05).unwrap() > scores_power(10.0, 0.5, 0.05).unwrap());
}

#[test]
fn bad_figures_are_told_what_would_work() {
    let said = |e: glass::tasting::TastingError| e.to_string();
    assert_eq!(
        said(difference(Protocol::Triangle, 7, 6, 0.05).unwrap_err()),
        "7 right of 6 triangles; there cannot be more right than were tasted"
    );
    assert_eq!(
        said(difference(Protocol::Tetrad, 0, 0, 0.05).unwrap_err()),
        "0 tetrads; from 1 to 3000 can be reckoned"
    );
    assert_eq!(
        said(power(Protocol::Triangle, 6, f64::NAN, 0.05).unwrap_err()),
        "the difference d' is NaN; it must lie between 0 and 12"
    );
    assert_eq!(
        said(power(Protocol::Triangle, 6, 1.0, 0.9).unwrap_err()),
        "the risk of a false alarm is 0.9; it must lie between 0.000001 and 0.5"
    );
    assert_eq!(
        said(tastings_for(Protocol::Triangle, 1.0, 0.05, 1.0).unwrap_err()),
        "the wanted chance of seeing it is 1; it must lie between 0.05 and 0.999"
    );
    let one = [Replicates {
        right: 1,
        tastings: 6,
    }];
    assert_eq!(
        said(replicated(Protocol::Triangle, &one).unwrap_err()),
        "1 tasters with more than one tasting; from 2 to 3000 can be reckoned"
    );
    let nan = Scored {
        attribute: "bitter".to_owned(),
        differences: vec![1.0, f64::NAN],
    };
    assert_eq!(
        said(attributes(&[nan]).unwrap_err()),
        "a score is NaN; every score must be a number below a million"
    );
}

fn mass(n: u32, k: u32, chance: f64) -> f64 {
    let choose: f64 = (0..k)
        .map(|i| f64::from(n - i) / f64::from(i + 1))
        .product();
    choose * chance.powi(k as i32) * (1.0 - chance).powi((n - k) as i32)
}
