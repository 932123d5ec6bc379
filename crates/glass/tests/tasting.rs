//! Tastings against published tables and worked examples, and against scipy.

#![expect(clippy::unwrap_used, reason = "helpers of tests may fail the test")]

use glass::tasting::{
    ANotA, Protocol, Replicates, Scored, Standing, StopRule, a_not_a, a_not_a_power, attributes,
    cautious_critical, critical_number, difference, holm, power, power_of_discriminators,
    replicated, scores_power, similarity, similarity_critical, similarity_power,
    tasters_for_scores, tastings_for, tastings_for_both,
};

const MAIZE: &[f64] = &[
    49.0, -67.0, 8.0, 16.0, 6.0, 23.0, 28.0, 41.0, 14.0, 29.0, 56.0, 24.0, 75.0, 60.0, -48.0,
];
const SHOES: &[f64] = &[0.8, 0.6, 0.3, -0.1, 1.1, -0.2, 0.3, 0.5, 0.5, 0.3];
const TIES: &[f64] = &[1.0, 1.0, 2.0, -1.0, 0.0, 3.0, -2.0, 1.0, 0.0, 2.0, 1.0];

#[track_caller]
fn printed(ours: f64, text: &str) {
    let digits = text.split('.').nth(1).map_or(0, str::len) as i32;
    let value: f64 = text.parse().unwrap();
    assert!(
        (ours - value).abs() <= 0.5000001 * 10f64.powi(-digits),
        "{ours} is not {text}"
    );
}

/// Rows of tasting.csv (scipy 1.17.1, made by tasting.py) of one kind.
fn scipy(what: &str) -> Vec<(String, f64, f64, String)> {
    let rows: Vec<_> = include_str!("reference/tasting.csv")
        .lines()
        .filter_map(|line| line.split(',').collect::<Vec<_>>().try_into().ok())
        .filter(|row: &[&str; 5]| row[0] == what)
        .map(|[_, of, first, second, value]| {
            let number = |text: &str| text.parse().unwrap_or(0.0);
            (
                of.to_owned(),
                number(first),
                number(second),
                value.to_owned(),
            )
        })
        .collect();
    assert!(!rows.is_empty(), "no rows of {what}");
    rows
}

#[track_caller]
fn near(ours: f64, theirs: &str) {
    let theirs: f64 = theirs.parse().unwrap();
    assert!(
        (ours - theirs).abs() <= 1e-9 * theirs.abs().max(1e-3),
        "{ours} against {theirs}"
    );
}

fn protocol(word: &str) -> Protocol {
    Protocol::find(word).unwrap()
}

fn as_cell(critical: Option<u32>) -> String {
    critical.map_or_else(String::new, |c| c.to_string())
}

/// FAO document V7180E, Appendix A: the table of triangles, 5 to 36, four risks.
#[test]
fn the_printed_triangle_table_is_reproduced() {
    let mut cells = 0;
    for line in include_str!("reference/triangle_fao.txt").lines() {
        if line.starts_with('#') {
            continue;
        }
        let row: Vec<&str> = line.split(' ').collect();
        for (cell, alpha) in row[1..].iter().zip([0.10, 0.05, 0.01, 0.001]) {
            let ours = critical_number(Protocol::Triangle, row[0].parse().unwrap(), alpha).unwrap();
            assert_eq!(as_cell(ours), cell.replace('-', ""), "{line}");
            cells += 1;
        }
    }
    assert_eq!(cells, 128);
}

#[test]
fn critical_numbers_are_those_of_scipy() {
    for (of, n, alpha, value) in scipy("critical") {
        let ours = critical_number(protocol(&of), n as u32, alpha).unwrap();
        assert_eq!(as_cell(ours), value, "{of} {n} {alpha}");
    }
}

#[test]
fn psychometric_functions_are_those_of_scipy() {
    for (of, d, _, value) in scipy("right") {
        near(protocol(&of).right_at(d).unwrap(), &value);
    }
    for (of, share, _, value) in scipy("d") {
        near(protocol(&of).d_prime_at(share).unwrap().unwrap(), &value);
    }
}

/// Anchors of Ennis 1993, table 1 (from memory).
#[test]
fn a_difference_of_one_is_what_ennis_prints() {
    for (protocol, text) in [
        (Protocol::Triangle, "0.42"),
        (Protocol::DuoTrio, "0.58"),
        (Protocol::Paired, "0.76"),
        (Protocol::ThreeChoices, "0.63"),
    ] {
        printed(protocol.right_at(1.0).unwrap(), text);
    }
}

/// Worked examples: 15 of 20 duo-trios has p = 0.021 and the critical number 15
/// (Christensen 2020, read); the other figures by the R library sensR 1.5.
#[test]
fn worked_examples_of_differences() {
    for (of, right, n, p, d, error, low, high) in [
        (
            "duo-trio", 15, 20, "0.02069", "2.020", "0.612", "0.314", "3.438",
        ),
        (
            "3-afc", 10, 15, "0.008504", "1.116", "0.436", "0.174", "2.102",
        ),
        (
            "triangle", 20, 36, "0.004991", "1.751", "0.419", "0.736", "2.622",
        ),
    ] {
        let judged = difference(protocol(of), right, n, 0.05).unwrap();
        printed(judged.p, p);
        printed(judged.d_prime.value.unwrap(), d);
        printed(judged.d_prime_error.unwrap(), error);
        printed(judged.d_prime.low.unwrap(), low);
        printed(judged.d_prime.high.unwrap(), high);
        assert!(judged.shown());
    }
    let alike = similarity(Protocol::Triangle, 24, 60, 0.3, 0.05).unwrap();
    printed(alike.p, "0.02617");
    assert!(alike.shown());
}

/// The same 14 of 24 by three protocols (sensR 1.5).
#[test]
fn the_same_answers_mean_less_where_the_question_is_easier() {
    for (of, d) in [
        ("triangle", "1.891"),
        ("tetrad", "1.307"),
        ("3-afc", "0.829"),
    ] {
        let judged = difference(protocol(of), 14, 24, 0.05).unwrap();
        printed(judged.d_prime.value.unwrap(), d);
    }
}

/// The example of the manual of sensR: 10 of 20 hits, 3 of 20 false alarms.
#[test]
fn an_a_not_a_of_the_manual() {
    let answers = ANotA {
        hits: 10,
        batch_glasses: 20,
        false_alarms: 3,
        reference_glasses: 20,
    };
    let judged = a_not_a(answers, 0.05).unwrap();
    printed(judged.p, "0.02037");
    printed(judged.d_prime.value.unwrap(), "1.0364");
    printed(judged.d_prime_error.unwrap(), "0.4425");
    printed(judged.d_prime.low.unwrap(), "0.169");
    printed(judged.d_prime.high.unwrap(), "1.904");
}

#[test]
fn fisher_is_that_of_scipy() {
    for (of, _, _, value) in scipy("fisher") {
        let n: Vec<u32> = of.split(' ').map(|n| n.parse().unwrap()).collect();
        let answers = ANotA {
            hits: n[0],
            batch_glasses: n[1],
            false_alarms: n[2],
            reference_glasses: n[3],
        };
        near(a_not_a(answers, 0.05).unwrap().p, &value);
    }
}

/// All tables of so many glasses of each beer, through scipy's exact test of Fisher; the
/// psychometric function of a taster who leans to neither answer is Φ(d′/2).
#[test]
fn single_glasses_see_what_scipy_counts() {
    for (_, n, d, value) in scipy("one-glass-power") {
        near(a_not_a_power(n as u32, d, 0.05).unwrap(), &value);
        let planned = power(Protocol::OneGlass, 2 * n as u32, d, 0.05).unwrap();
        near(planned.power, &value);
        assert_eq!(planned.critical, None);
    }
    for (_, d, _, value) in scipy("one-glass-right") {
        near(Protocol::OneGlass.right_at(d).unwrap(), &value);
    }
    let needed = tastings_for(Protocol::OneGlass, 1.0, 0.05, 0.8)
        .unwrap()
        .unwrap();
    let stable = needed.stable.unwrap();
    assert!(
        needed.first <= stable && stable.is_multiple_of(2),
        "{needed:?}"
    );
    let seen = |n| power(Protocol::OneGlass, n, 1.0, 0.05).unwrap().power;
    assert!(seen(needed.first) >= 0.8 && seen(stable - 2) < 0.8);
    assert!((0..20).all(|k| seen(stable + 2 * k) >= 0.8));
    // One glass sees nothing, and so many are counted at most.
    assert!(seen(1) < 1e-12 && seen(3000) > 0.99);
}

#[test]
fn chances_and_intervals_are_those_of_scipy() {
    let judged = |x: f64, n: f64| difference(Protocol::Triangle, x as u32, n as u32, 0.05).unwrap();
    for (_, x, n, value) in scipy("p") {
        near(judged(x, n).p, &value);
    }
    for (_, x, n, value) in scipy("interval-low") {
        near(judged(x, n).share_right.low.unwrap(), &value);
    }
    for (_, x, n, value) in scipy("interval-high") {
        near(judged(x, n).share_right.high.unwrap(), &value);
    }
}

#[test]
fn likeness_is_that_of_scipy() {
    for limit in [0.2, 0.3, 0.4] {
        for (of, n, beta, value) in scipy(&format!("alike-{limit}")) {
            let ours = similarity_critical(protocol(&of), n as u32, limit, beta).unwrap();
            assert_eq!(as_cell(ours), value, "{of} {n} {limit} {beta}");
        }
    }
}

/// Christensen 2020, section 3.2 (read): 100 tastings that guessing gets right
/// half the time, limit 1/3: cut 58; power 0.956 if nobody tells them apart, 0.377
/// if one in five does. Twenty duo-trios, half discriminators: power 0.617.
#[test]
fn power_of_likeness_and_of_discriminators_as_christensen_has_it() {
    let third = 1.0 / 3.0;
    let cut = similarity_critical(Protocol::DuoTrio, 100, third, 0.05).unwrap();
    assert_eq!(cut, Some(58));
    for (really, text) in [(0.0, "0.956"), (0.2, "0.377")] {
        let shown = similarity_power(Protocol::DuoTrio, 100, third, 0.05, really).unwrap();
        printed(shown, text);
    }
    printed(
        power_of_discriminators(Protocol::DuoTrio, 20, 0.5, 0.05).unwrap(),
        "0.617",
    );
}

/// Figures of ISO 4120 and ISO 10399, tables A.3 (from memory), and scipy's.
#[test]
fn panels_that_keep_both_risks() {
    for (of, beta, sizes) in [
        ("triangle", 0.05, [23, 40, 66, 147, 572]),
        ("triangle", 0.10, [20, 30, 53, 117, 447]),
        ("duo-trio", 0.05, [42, 67, 119, 268, 1092]),
    ] {
        for (share, size) in [0.5, 0.4, 0.3, 0.2, 0.1].into_iter().zip(sizes) {
            let ours = tastings_for_both(protocol(of), share, 0.05, beta).unwrap();
            assert_eq!(ours.unwrap().0, size, "{of} {share} {beta}");
        }
    }
    for share in [0.5, 0.4, 0.3, 0.2, 0.1] {
        for (of, alpha, beta, value) in scipy(&format!("both-n-{share}")) {
            let ours = tastings_for_both(protocol(&of), share, alpha, beta).unwrap();
            assert_eq!(
                ours.unwrap().0.to_string(),
                value,
                "{of} {share} {alpha} {beta}"
            );
        }
        for (of, alpha, beta, value) in scipy(&format!("both-cut-{share}")) {
            let ours = tastings_for_both(protocol(&of), share, alpha, beta).unwrap();
            assert_eq!(
                ours.unwrap().1.to_string(),
                value,
                "{of} {share} {alpha} {beta}"
            );
        }
    }
}

#[test]
fn power_is_that_of_scipy() {
    for (of, n, d, value) in scipy("power") {
        near(
            power(protocol(&of), n as u32, d, 0.05).unwrap().power,
            &value,
        );
    }
}

/// Christensen 2020, section 3.2.6 (read): d' = 0.9 by triangles with a power of
/// 0.80 takes 297 at first, 318 for good; 300 have only 0.774. The tetrad takes
/// about a third (Ennis & Jesionka 2011, abstract read).
#[test]
fn how_many_tastings_it_takes() {
    let needed = tastings_for(Protocol::Triangle, 0.9, 0.05, 0.80)
        .unwrap()
        .unwrap();
    assert_eq!((needed.first, needed.stable), (297, Some(318)));
    printed(
        power(Protocol::Triangle, 300, 0.9, 0.05).unwrap().power,
        "0.774",
    );
    let stable = |p| {
        tastings_for(p, 1.0, 0.05, 0.80)
            .unwrap()
            .unwrap()
            .stable
            .unwrap()
    };
    let (triangles, tetrads) = (stable(Protocol::Triangle), stable(Protocol::Tetrad));
    assert_eq!((triangles, tetrads), (220, 65));
    let far = tastings_for(Protocol::DuoTrio, 0.5, 0.05, 0.80).unwrap();
    assert_eq!(far, None);
}

/// Scans to 3000 by scipy.
#[test]
fn first_and_stable_numbers_are_those_of_scipy() {
    for wanted in [0.8, 0.9] {
        let needed = |of: &str, d| {
            tastings_for(protocol(of), d, 0.05, wanted)
                .unwrap()
                .unwrap()
        };
        for (of, d, _, value) in scipy(&format!("first-{wanted}")) {
            assert_eq!(needed(&of, d).first.to_string(), value, "{of} {d} {wanted}");
        }
        for (of, d, _, value) in scipy(&format!("stable-{wanted}")) {
            let ours = needed(&of, d).stable.unwrap();
            assert_eq!(ours.to_string(), value, "{of} {d} {wanted}");
        }
    }
}

/// Christensen, the same source: no later number falls below, as a scan to the
/// end shows; `tastings_for` stops looking earlier.
#[test]
fn the_stable_number_is_stable() {
    for protocol in Protocol::ALL {
        for d in [0.6, 1.0, 1.7, 3.0] {
            for wanted in [0.5, 0.8, 0.95] {
                let Some(needed) = tastings_for(protocol, d, 0.05, wanted).unwrap() else {
                    continue;
                };
                let Some(stable) = needed.stable else {
                    continue;
                };
                let seen = |n| power(protocol, n, d, 0.05).unwrap().power;
                assert!(seen(needed.first) >= wanted && seen(stable) >= wanted);
                assert!(stable == needed.first || seen(stable - 1) < wanted);
                let all = (stable..400.max(stable + 50)).all(|n| seen(n) >= wanted);
                assert!(all, "{protocol:?} {d} {wanted}");
            }
        }
    }
}

/// Wald's plan for triangles, p1 = 0.6: lines and boundaries from his formulas;
/// true risks and mean lengths by recursion to 400 in numpy.
#[test]
fn a_sequential_plan_has_its_lines_and_its_risks() {
    let rule = StopRule::new(Protocol::Triangle, 0.6, 0.05, 0.10, 400).unwrap();
    printed(rule.rise, "0.46497");
    printed(rule.below, "2.04921");
    printed(rule.above, "2.63093");
    let risks = rule.risks();
    printed(risks.alpha, "0.0399");
    printed(risks.beta, "0.0797");
    printed(risks.tastings_if_none, "15.71");
    printed(risks.tastings_if_there, "18.23");
    for (n, low, high) in [
        (5, 0, 5),
        (6, 0, 6),
        (8, 1, 7),
        (10, 2, 8),
        (12, 3, 9),
        (15, 4, 10),
        (18, 6, 12),
        (20, 7, 12),
        (24, 9, 14),
        (30, 11, 17),
    ] {
        assert_eq!(rule.lines(n), (Some(low), high), "{n}");
    }
    for (of, d, beta, numbers) in [
        (
            "paired",
            1.0,
            0.10,
            ["0.63690", "1.95077", "2.50455", "0.0440", "0.0727"],
        ),
        (
            "tetrad",
            1.5,
            0.10,
            ["0.48625", "1.76908", "2.27127", "0.0349", "0.0837"],
        ),
        (
            "triangle",
            1.5,
            0.20,
            ["0.41821", "2.16718", "3.85632", "0.0432", "0.1766"],
        ),
    ] {
        let rule = StopRule::for_d_prime(protocol(of), d, 0.05, beta, 400).unwrap();
        let risks = rule.risks();
        let ours = [rule.rise, rule.below, rule.above, risks.alpha, risks.beta];
        for (ours, text) in ours.into_iter().zip(numbers) {
            printed(ours, text);
        }
    }
}

#[test]
fn a_plan_that_is_cut_off_ends() {
    let rule = StopRule::for_d_prime(Protocol::Triangle, 2.0, 0.05, 0.10, 30).unwrap();
    let risks = rule.risks();
    assert!(risks.alpha + risks.undecided_if_none < 1.0 && risks.tastings_if_none < 30.0);
    assert!(risks.undecided_if_none > 0.0);
    assert_eq!(rule.standing(0, 0).unwrap(), Standing::Open);
    assert_eq!(rule.standing(5, 5).unwrap(), Standing::Different);
    assert_eq!(rule.standing(0, 9).unwrap(), Standing::SmallerThanNamed);
    assert_eq!(rule.standing(14, 30).unwrap(), Standing::Undecided);
    assert!(rule.standing(6, 5).is_err());
}

/// Hunter's data in Brockhoff 2003: 24 tasters, 12 triangles each. Targets as the
/// tests of sensR have them (read).
#[test]
fn hunters_triangles_are_overdispersed() {
    let right = [
        0, 2, 3, 3, 3, 3, 3, 4, 4, 4, 4, 4, 5, 5, 5, 6, 6, 6, 7, 7, 7, 8, 9, 9,
    ];
    let panel: Vec<Replicates> = right
        .iter()
        .map(|&right| Replicates {
            right,
            tastings: 12,
        })
        .collect();
    let fit = replicated(Protocol::Triangle, &panel).unwrap();
    // The search ends within 1e-5 of the peak, where the likelihood is flat.
    assert!((fit.corrected.mean - 0.117_501_5).abs() < 2e-5, "{fit:?}");
    assert!((fit.corrected.gamma - 0.214_656_6).abs() < 2e-5, "{fit:?}");
    printed(fit.corrected.ln_likelihood, "-53.3124");
    printed(fit.d_prime.unwrap(), "0.9585");
    printed(fit.spread_ratio, "3.031");
    printed(fit.spread_p, "0.0817");
    printed(fit.any_ratio, "9.708");
    printed(fit.any_p, "0.0078");
    printed(fit.plain.mean, "0.40605");
    printed(fit.plain.gamma, "0.0600");
    printed(fit.plain.ln_likelihood, "-52.7838");
}

/// Exact sums of beta-binomial laws (numpy convolution).
#[test]
fn cautious_numbers_rise_with_the_spread() {
    for (tasters, each, numbers) in [
        (6, 4, [13, 13, 14]),
        (4, 6, [13, 14, 15]),
        (1, 12, [9, 9, 10]),
    ] {
        for (gamma, number) in [0.05, 0.10, 0.20].into_iter().zip(numbers) {
            let ours = cautious_critical(Protocol::Triangle, tasters, each, gamma, 0.05).unwrap();
            assert_eq!(ours, Some(number), "{tasters} {each} {gamma}");
        }
    }
}

fn scored(name: &str) -> Scored {
    let differences = match name {
        "maize" => MAIZE,
        "shoes" => SHOES,
        _ => TIES,
    };
    Scored {
        attribute: name.to_owned(),
        differences: differences.to_vec(),
    }
}

/// Darwin's maize (Fisher 1935, ch. 3) and boys' shoes (Box, Hunter & Hunter
/// 1978, ch. 4).
#[test]
fn scores_of_the_textbooks() {
    let judged = attributes(&[scored("maize")]).unwrap().remove(0);
    printed(judged.mean.value.unwrap(), "20.933");
    printed(judged.t.unwrap(), "2.1480");
    printed(judged.t_p.unwrap(), "0.04970");
    printed(judged.ranks_above, "96");
    printed(judged.wilcoxon_p, "0.04126");
    printed(judged.sign_p, "0.007385");
    let shoes = attributes(&[scored("shoes")]).unwrap().remove(0);
    printed(shoes.mean.value.unwrap(), "0.41");
    printed(shoes.t.unwrap(), "3.3489");
    printed(shoes.t_p.unwrap(), "0.008539");
}

#[test]
fn scores_are_those_of_scipy() {
    let judged = |name: &str| attributes(&[scored(name)]).unwrap().remove(0);
    for (name, _, _, value) in scipy("t") {
        near(judged(&name).t.unwrap(), &value);
    }
    for (name, _, _, value) in scipy("t-p") {
        near(judged(&name).t_p.unwrap(), &value);
    }
    for (name, _, _, value) in scipy("t-low") {
        near(judged(&name).mean.low.unwrap(), &value);
    }
    for (name, _, _, value) in scipy("t-high") {
        near(judged(&name).mean.high.unwrap(), &value);
    }
    for (name, _, _, value) in scipy("wilcoxon-p") {
        near(judged(&name).wilcoxon_p, &value);
    }
    for (_, n, effect, value) in scipy("t-power") {
        near(scores_power(n, effect, 0.05).unwrap(), &value);
    }
}

/// Pairs for a power of 0.80 (statsmodels, TTestPower).
#[test]
fn how_many_tasters_scores_take() {
    for (effect, tasters) in [
        (0.4, "51.0"),
        (0.5, "33.4"),
        (0.6, "23.8"),
        (0.8, "14.3"),
        (1.0, "9.9"),
        (1.2, "7.6"),
    ] {
        printed(tasters_for_scores(effect, 0.05, 0.80).unwrap(), tasters);
    }
}

/// The rule of Holm 1979 worked by hand.
#[test]
fn several_attributes_pay_for_their_number() {
    let raised = holm(&[0.01, 0.04, 0.03, 0.005]);
    for (ours, by_hand) in raised.iter().zip([0.03, 0.06, 0.06, 0.02]) {
        assert!((ours - by_hand).abs() < 1e-12);
    }
    let three = attributes(&[scored("maize"), scored("shoes"), scored("ties")]).unwrap();
    assert!(three.iter().all(|one| one.adjusted_p >= one.wilcoxon_p));
    assert!(
        three[0].adjusted_p > 0.05,
        "one of three is no finding at 0.04"
    );
}
