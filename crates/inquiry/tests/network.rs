//! The inference against pgmpy, against enumeration, and its laws.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use inquiry::{Evidence, InquiryError, Knowledge, Network, Node, Posterior, Seen, Trace};
use proptest::prelude::*;

#[derive(serde::Deserialize)]
struct File {
    case: Vec<Case>,
}

#[derive(serde::Deserialize)]
struct Case {
    causes: Vec<String>,
    present: Vec<String>,
    absent: Vec<String>,
    chances: Vec<f64>,
}

fn effect(k: &Knowledge, key: &str) -> usize {
    k.finding(key)
        .unwrap_or_else(|_| k.findings.len() + k.test(key).unwrap())
}

/// pgmpy 1.x, variable elimination over causes, traces and findings
/// (tests/reference/sub_networks.py).
#[test]
fn parts_of_the_network_agree_with_pgmpy() {
    let k = Knowledge::built_in();
    let file: File = toml::from_str(include_str!("reference/sub_networks.toml")).unwrap();
    assert!(file.case.len() >= 20);
    let mut worst = 0.0_f64;
    for case in &file.case {
        let rows: Vec<usize> = case.causes.iter().map(|c| k.cause(c).unwrap()).collect();
        let mut net = k.network.clone();
        for (i, node) in net.causes.iter_mut().enumerate() {
            if !rows.contains(&i) {
                node.prior = 0.0;
            }
        }
        let effects = |keys: &[String]| keys.iter().map(|f| effect(k, f)).collect::<Vec<_>>();
        let evidence = Evidence::plain(&effects(&case.present), &effects(&case.absent));
        let found = net.posterior(&evidence).unwrap();
        for (row, stored) in rows.iter().zip(&case.chances) {
            worst = worst.max((found.causes[*row] - stored).abs());
        }
    }
    println!("largest difference from pgmpy: {worst:.2e}");
    assert!(worst < 1e-9, "{worst}");
}

/// A plain link: one trace for each, always made.
fn plain(prior: f64, links: &[(usize, f64)]) -> Node {
    let trace = |&(f, w): &(usize, f64)| Trace {
        made: 1.0,
        shows: vec![(f, w)],
    };
    Node {
        prior,
        traces: links.iter().map(trace).collect(),
    }
}

/// A two-layer network made for checking.
fn small_net() -> Network {
    Network {
        leaks: vec![0.01, 0.02, 0.05, 0.01],
        causes: vec![
            plain(0.02, &[(0, 0.9), (1, 0.6)]),
            plain(0.1, &[(1, 0.25), (2, 0.6)]),
            plain(0.05, &[(0, 0.05), (2, 0.9), (3, 0.25)]),
            plain(0.01, &[(3, 0.9)]),
        ],
    }
}

/// Present and absent findings, the chance of both, the posterior of each cause.
type Row<'r> = (&'r [usize], &'r [usize], f64, [f64; 4]);

/// Chances by pgmpy 1.1 and by enumeration.
#[test]
fn a_small_net_gives_its_stored_chances() {
    let net = small_net();
    let rows: [Row<'_>; 6] = [
        (&[0], &[], 0.030_250_45, [0.595_857, 0.1, 0.126_327, 0.01]),
        (
            &[0, 1],
            &[],
            0.011_679_85,
            [0.953_421, 0.136_692, 0.059_028, 0.01],
        ),
        (
            &[1, 2],
            &[],
            0.020_096_24,
            [0.095_274, 0.868_077, 0.129_900, 0.01],
        ),
        (
            &[0, 1],
            &[2],
            0.009_668_81,
            [0.973_019, 0.057_751, 0.005_941, 0.01],
        ),
        (
            &[0, 1, 2],
            &[3],
            0.001_818_00,
            [0.863_626, 0.541_913, 0.255_791, 0.001_009],
        ),
        (
            &[2, 3],
            &[0],
            0.012_978_87,
            [0.002_037, 0.173_853, 0.856_018, 0.098_599],
        ),
    ];
    for (present, absent, chance, causes) in rows {
        let found = net.posterior(&Evidence::plain(present, absent)).unwrap();
        assert!((found.evidence - chance).abs() < 5e-9, "{present:?}");
        for (a, b) in found.causes.iter().zip(causes) {
            assert!((a - b).abs() < 6e-7, "{present:?}: {a} {b}");
        }
    }
}

/// Russell & Norvig, AIMA (from memory): inhibitions 0.6, 0.2 and 0.1.
#[test]
fn noisy_or_gives_the_fever_of_the_textbook() {
    let certain = |on: [f64; 3]| Network {
        leaks: vec![0.0],
        causes: on
            .iter()
            .zip([0.4, 0.8, 0.9])
            .map(|(p, w)| plain(*p, &[(0, w)]))
            .collect(),
    };
    for (on, fever) in [
        ([0.0, 1.0, 0.0], 0.8),
        ([0.0, 1.0, 1.0], 0.98),
        ([1.0, 1.0, 1.0], 0.988),
    ] {
        let found = certain(on).posterior(&Evidence::plain(&[0], &[])).unwrap();
        assert!((found.evidence - fever).abs() < 1e-12);
    }
    let none = certain([0.0; 3]).posterior(&Evidence::plain(&[0], &[]));
    assert_eq!(none, Err(InquiryError::Impossible));
}

/// The lawn of K. Murphy's tutorial (1998): wet grass by sprinkler and rain, both by the
/// clouds. With the clouds given the two are independent causes of a noisy-or, so that the
/// clouds are summed over here. The tutorial prints P(W) = 0.6471, P(S|W) = 0.2781/0.6471,
/// P(R|W) = 0.4581/0.6471 and P(S|W,R) = 0.1945, where the rain explains the grass away;
/// pgmpy 1.1 gives 0.429764, 0.707928 and 0.194499.
#[test]
fn rain_explains_the_sprinkler_away() {
    let under = |sprinkler: f64, rain: f64| {
        let links = [(0, 0.9)];
        let net = Network {
            leaks: vec![0.0],
            causes: vec![plain(sprinkler, &links), plain(rain, &links)],
        };
        net.posterior(&Evidence::plain(&[0], &[])).unwrap()
    };
    let (cloudy, clear) = (under(0.1, 0.8), under(0.5, 0.2));
    let wet = 0.5 * (cloudy.evidence + clear.evidence);
    let both =
        |of: usize| 0.5 * (cloudy.evidence * cloudy.causes[of] + clear.evidence * clear.causes[of]);
    assert!((wet - 0.6471).abs() < 1e-9, "{wet}");
    assert!((both(0) / wet - 0.2781 / 0.6471).abs() < 1e-9);
    assert!((both(1) / wet - 0.4581 / 0.6471).abs() < 1e-9);
    // Rain for certain: its prior goes into the chance of the evidence.
    let (cloudy, clear) = (under(0.1, 1.0), under(0.5, 1.0));
    let (c, n) = (0.5 * 0.8 * cloudy.evidence, 0.5 * 0.2 * clear.evidence);
    let sprinkler = (c * cloudy.causes[0] + n * clear.causes[0]) / (c + n);
    assert!((sprinkler - 0.0891 / 0.4581).abs() < 1e-9, "{sprinkler}");
    assert!((sprinkler - 0.194_499).abs() < 5e-7);
}

/// What a next finding would tell, summed cause by cause: the network above after its
/// second finding, by pgmpy 1.1 (chances) and the sum of binary entropies.
#[test]
fn what_the_next_finding_would_tell() {
    let net = small_net();
    let at = |present: &[usize], absent: &[usize]| {
        let found = net.posterior(&Evidence::plain(present, absent)).unwrap();
        let bits = |p: f64| -p * p.log2() - (1.0 - p) * (1.0 - p).log2();
        (
            found.evidence,
            found.causes.iter().map(|p| bits(*p)).sum::<f64>(),
        )
    };
    let (now, doubt) = at(&[1], &[]);
    assert!((doubt - 2.128_44).abs() < 6e-6, "{doubt}");
    for (next, chance, gain) in [
        (0, 0.208_70, 0.664_98),
        (2, 0.359_08, 0.348_97),
        (3, 0.031_17, 0.072_68),
    ] {
        let ((with, left), (without, right)) = (at(&[1, next], &[]), at(&[1], &[next]));
        assert!((with / now - chance).abs() < 6e-6, "{}", with / now);
        let told = doubt - (with * left + without * right) / now;
        assert!((told - gain).abs() < 6e-6, "{next}: {told}");
    }
}

/// All states of causes and traces, one by one.
fn enumerated(net: &Network, evidence: &Evidence) -> Posterior {
    let traces: Vec<(usize, &Trace)> = net
        .causes
        .iter()
        .enumerate()
        .flat_map(|(i, c)| c.traces.iter().map(move |t| (i, t)))
        .collect();
    let (n, m) = (net.causes.len(), traces.len());
    let (mut all, mut none) = (0.0, 0.0);
    let (mut there, mut made) = (vec![0.0; n], vec![0.0; n]);
    for state in 0_usize..1 << (n + m) {
        let on = |bit: usize| state >> bit & 1 == 1;
        let mut p = 1.0;
        for (i, cause) in net.causes.iter().enumerate() {
            p *= if on(i) {
                cause.prior
            } else {
                1.0 - cause.prior
            };
        }
        for (j, (i, trace)) in traces.iter().enumerate() {
            let made = if on(*i) { trace.made } else { 0.0 };
            p *= if on(n + j) { made } else { 1.0 - made };
        }
        // Chance that the active traces of some causes leave an effect alone.
        let alone = |seen: &Seen, of: &dyn Fn(usize) -> bool| -> f64 {
            let active = traces.iter().enumerate();
            let active = active.filter(|(j, (i, _))| on(n + j) && of(*i));
            let shows = active.flat_map(|(_, (_, t))| t.shows.iter());
            let shows = shows.filter(|s| s.0 == seen.effect);
            shows.map(|s| 1.0 - s.1 * seen.keen).product()
        };
        let chance = |seen: &Seen| {
            let quiet = (1.0 - net.leaks[seen.effect]) * alone(seen, &|_| true);
            if seen.present { 1.0 - quiet } else { quiet }
        };
        // The same with a cause that fires no fault that is present.
        let blameless = |seen: &Seen, cause: usize| {
            if !seen.present || !seen.asks {
                return chance(seen);
            }
            let others = (1.0 - net.leaks[seen.effect]) * alone(seen, &|i| i != cause);
            alone(seen, &|i| i == cause) * (1.0 - others)
        };
        let seen = || evidence.seen.iter();
        let whole = p * seen().map(chance).product::<f64>();
        all += whole;
        if (0..n).all(|i| !on(i)) {
            none += whole;
        }
        for i in (0..n).filter(|i| on(*i)) {
            there[i] += whole;
            made[i] += whole - p * seen().map(|s| blameless(s, i)).product::<f64>();
        }
    }
    let given = |sums: Vec<f64>| sums.iter().map(|p| p / all).collect();
    Posterior {
        causes: given(there),
        made: given(made),
        evidence: all,
        none: none / all,
    }
}

fn any_network() -> impl Strategy<Value = Network> {
    let shows = prop::collection::btree_map(0..5_usize, 0.01..0.99, 1..4);
    let trace = (0.05..1.0, shows).prop_map(|(made, shows)| Trace {
        made,
        shows: shows.into_iter().collect(),
    });
    let node = (0.01..0.6, prop::collection::vec(trace, 1..3))
        .prop_map(|(prior, traces)| Node { prior, traces });
    (
        prop::collection::vec(node, 1..5),
        prop::collection::vec(0.001..0.3, 5),
    )
        .prop_map(|(causes, leaks)| Network { causes, leaks })
}

fn any_evidence() -> impl Strategy<Value = Evidence> {
    prop::collection::vec((0..3_u8, 0.0..1.0, any::<bool>()), 5).prop_map(|states| {
        let mut evidence = Evidence::default();
        for (effect, (state, keen, asks)) in states.into_iter().enumerate() {
            if state < 2 {
                evidence.seen.push(Seen {
                    keen,
                    asks,
                    ..Seen::plain(effect, state == 1)
                });
            }
        }
        evidence
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn inference_is_enumeration(net in any_network(), evidence in any_evidence()) {
        let found = net.posterior(&evidence).unwrap();
        let listed = enumerated(&net, &evidence);
        prop_assert!((found.evidence / listed.evidence - 1.0).abs() < 1e-10);
        prop_assert!((found.none - listed.none).abs() < 1e-10);
        let chances = found.causes.iter().chain(&found.made);
        for (a, b) in chances.zip(listed.causes.iter().chain(&listed.made)) {
            prop_assert!((a - b).abs() < 1e-10, "{a} {b}");
        }
    }

    /// A finding that a cause makes never speaks against it when nothing else is seen.
    #[test]
    fn a_sign_alone_speaks_for_its_cause(net in any_network(), effect in 0..5_usize) {
        let there = net.posterior(&Evidence::plain(&[effect], &[])).unwrap();
        let not = net.posterior(&Evidence::plain(&[], &[effect])).unwrap();
        for (i, node) in net.causes.iter().enumerate() {
            prop_assert!(there.causes[i] >= node.prior - 1e-12);
            prop_assert!(not.causes[i] <= node.prior + 1e-12);
        }
    }
}

#[test]
fn nonsense_is_refused_by_name() {
    let net = Network {
        leaks: vec![0.1],
        causes: vec![plain(1.5, &[])],
    };
    let error = net.posterior(&Evidence::default()).unwrap_err();
    assert_eq!(error.to_string(), "a prior is 1.5; 0 to 1 would work");
    let all: Vec<(usize, f64)> = (0..17).map(|f| (f, 0.5)).collect();
    let net = Network {
        leaks: vec![0.1; 17],
        causes: vec![plain(0.1, &all), plain(0.2, &all)],
    };
    let many = Evidence::plain(&(0..17).collect::<Vec<_>>(), &[]);
    let error = net.posterior(&many).unwrap_err();
    assert_eq!(
        error.to_string(),
        "17 findings are present, and too many of them have causes in common; up to 16 can always be weighed at once"
    );
    let error = net.posterior(&Evidence::plain(&[3], &[3])).unwrap_err();
    assert!(matches!(error, InquiryError::Twice { .. }));
    assert!(net.posterior(&Evidence::plain(&[40], &[])).is_err());
}
