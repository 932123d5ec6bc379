//! How to check that chlorine is gone, and what a test that shows nothing leaves
//! open. The table is `data/strips.toml`.

use std::sync::LazyLock;

use quantity::data::{builtin, mark, quantity};
use quantity::{Chlorine, Duration, Source};

use crate::state::ResidualChlorine;

const FILE: &str = "strips.toml";

/// A test for total chlorine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TestKind {
    /// A strip in steps of 0.5 mg/L.
    Strip,
    /// DPD by eye against a colour disc.
    DpdComparator,
    /// DPD in a photometer.
    DpdPhotometer,
    /// The nose.
    Smell,
}

/// What a test can do.
#[derive(Debug, Clone, PartialEq)]
pub struct TestData {
    /// What it is called.
    pub name: String,
    /// From here on it surely shows something.
    pub step: Chlorine,
    /// How long it takes.
    pub time: Duration,
    /// How it is done.
    pub how: String,
    /// Where this comes from.
    pub source: Source,
}

impl TestKind {
    /// All of them.
    pub const ALL: [Self; 4] = [
        Self::Strip,
        Self::DpdComparator,
        Self::DpdPhotometer,
        Self::Smell,
    ];

    /// What it can do.
    #[must_use]
    pub fn data(self) -> &'static TestData {
        // The order of the file is the order of the enum; a test holds it so.
        &ROWS[self as usize % ROWS.len()]
    }
}

/// What is known once a test has shown nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct AfterTest {
    /// The most that may be left by the test alone: one step.
    pub by_test_alone: Chlorine,
    /// The mean of what may be left, by the treatment and the test.
    pub expected: Chlorine,
    /// What is left is below this with 95 %, by the treatment and the test.
    pub at_most: Chlorine,
    /// What to make of it.
    pub says: String,
}

/// What remains open when a test for total chlorine shows nothing.
///
/// Before the test, what is left lies between nothing and `before.at_most` with a
/// mean of what is expected: the density that adds nothing else to these two is
/// exponential and cut off at the end (largest entropy); its mean is held between
/// a tenth and half of the end, so that no treatment is trusted blindly. A test
/// shows nothing below half its step, something from a whole step on, and in
/// between the more often the more there is (judgement). The bound is the 95 %
/// point of the product.
///
/// ```
/// use quantity::Chlorine;
/// use water::ResidualChlorine;
/// use water::disinfectant::{TestKind, reads_none};
///
/// // Untreated tap water of up to 2 mg/L, and a strip that stays white.
/// let before = ResidualChlorine {
///     free: Chlorine::from_mg_per_l(1.0),
///     combined: Chlorine::default(),
///     at_most: Chlorine::from_mg_per_l(2.0),
/// };
/// let after = reads_none(TestKind::Strip, &before);
/// assert!(after.at_most.mg_per_l() > 0.3 && after.at_most.mg_per_l() < 0.5);
/// ```
#[must_use]
pub fn reads_none(test: TestKind, before: &ResidualChlorine) -> AfterTest {
    let data = test.data();
    let step = data.step.mg_per_l();
    let end = before.at_most.mg_per_l();
    let (mean, bound) = if end.is_finite() && end > 0.0 {
        posterior(step, end, before.total().mg_per_l())
    } else {
        (0.0, 0.0)
    };
    AfterTest {
        by_test_alone: data.step,
        expected: Chlorine::from_mg_per_l(mean),
        at_most: Chlorine::from_mg_per_l(bound),
        says: says(data, bound),
    }
}

fn says(data: &TestData, bound: f64) -> String {
    let verdict = if bound <= crate::dechlorination::remarks::NOT_DETECTED_MG_PER_L {
        "that is as good as none."
    } else {
        "that is no proof that the chlorine is gone: a finer test can tell, and so can half as much \
         reagent again."
    };
    format!(
        "The {} shows nothing: by itself it leaves up to {:.2} mg/L open, and together with the \
         treatment {bound:.2} mg/L; {verdict}",
        data.name,
        data.step.mg_per_l()
    )
}

/// How finely the posterior is summed.
const SLICES: usize = 2000;

/// Mean and 95 % point of what is left \[mg/L\].
fn posterior(step: f64, end: f64, expected: f64) -> (f64, f64) {
    let rate = exponential_rate((expected / end).clamp(0.1, 0.5));
    let shown_above = |c: f64| ((c / step - 0.5) * 2.0).clamp(0.0, 1.0);
    let slices: Vec<(f64, f64)> = (0..SLICES)
        .map(|i| {
            let part = (i as f64 + 0.5) / SLICES as f64;
            let c = part * end;
            (c, (-rate * part).exp() * (1.0 - shown_above(c)))
        })
        .collect();
    let whole: f64 = slices.iter().map(|(_, weight)| weight).sum();
    if whole <= 0.0 {
        // The step is so fine that not even the first slice is below it.
        return (step / 2.0, step.min(end));
    }
    let mean = slices.iter().map(|(c, weight)| c * weight).sum::<f64>() / whole;
    let mut sum = 0.0;
    let bound = slices.iter().find(|(_, weight)| {
        sum += weight;
        sum >= 0.95 * whole
    });
    (
        mean,
        bound.map_or(end, |(c, _)| c + 0.5 * end / SLICES as f64),
    )
}

/// The rate r of a density exp(−r x) on 0 to 1 whose mean is given, at most 1/2:
/// mean = 1/r − 1/(eʳ − 1), by halving.
fn exponential_rate(mean: f64) -> f64 {
    let mean_of = |r: f64| {
        if r < 1e-6 {
            0.5
        } else {
            1.0 / r - 1.0 / r.exp_m1()
        }
    };
    let (mut low, mut high) = (0.0, 100.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if mean_of(middle) > mean {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    test: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    step: String,
    minutes: f64,
    says: String,
    source: String,
    mark: String,
}

static ROWS: LazyLock<Vec<TestData>> = LazyLock::new(|| {
    let file: File = builtin(FILE, include_str!("../../data/strips.toml"));
    file.test
        .into_iter()
        .map(|row| TestData {
            step: quantity(FILE, &row.key, &row.step),
            time: Duration::from_min(row.minutes),
            how: row.says,
            source: Source {
                mark: mark(FILE, &row.key, &row.mark),
                text: row.source,
            },
            name: row.key,
        })
        .collect()
});

#[cfg(test)]
mod tests {
    use super::*;

    fn before(expected: f64, at_most: f64) -> ResidualChlorine {
        ResidualChlorine {
            free: Chlorine::default(),
            combined: Chlorine::from_mg_per_l(expected),
            at_most: Chlorine::from_mg_per_l(at_most),
        }
    }

    #[test]
    fn rows_stand_in_the_order_of_the_enum() {
        assert_eq!(ROWS.len(), TestKind::ALL.len());
        for test in TestKind::ALL {
            let name = test.data().name.replace(' ', "");
            assert_eq!(name, format!("{test:?}").to_lowercase());
            assert!(!test.data().source.text.is_empty());
        }
    }

    /// Where nothing is known but a wide range, the density is flat and the answer
    /// is that of a trapezium: flat to half a step, falling to nothing at one. Its
    /// area is 3/4 of a step, and 5 % of it lies above 1 − √(0.05·3/4) steps.
    #[test]
    fn a_flat_prior_gives_the_trapezium() {
        let after = reads_none(TestKind::Strip, &before(2.0, 4.0));
        let exact = 0.5 * (1.0 - (0.05f64 * 0.75).sqrt());
        assert!((after.at_most.mg_per_l() - exact).abs() < 3e-3, "{after:?}");
        // Mean of the trapezium: (1/8 + 1/6) / (3/4) of a step.
        let mean = 0.5 * (0.125 + 1.0 / 6.0) / 0.75;
        assert!((after.expected.mg_per_l() - mean).abs() < 3e-3, "{after:?}");
    }

    #[test]
    fn a_finer_test_and_a_surer_treatment_leave_less_open() {
        let poor = before(0.5, 2.0);
        let bound = |test| reads_none(test, &poor).at_most;
        assert!(bound(TestKind::DpdPhotometer) < bound(TestKind::DpdComparator));
        assert!(bound(TestKind::DpdComparator) < bound(TestKind::Strip));
        let sure = reads_none(TestKind::Strip, &before(0.0, 0.2));
        assert!(sure.at_most.mg_per_l() < 0.1, "{sure:?}");
        assert!(sure.says.contains("as good as none"));
    }

    #[test]
    fn where_nothing_can_be_left_nothing_is() {
        let none = reads_none(TestKind::Smell, &before(0.0, 0.0));
        assert!(none.at_most.mg_per_l() < 1e-12);
        for at_most in [f64::NAN, f64::INFINITY, 1e300, 1e-300] {
            let after = reads_none(TestKind::Strip, &before(1.0, at_most));
            assert!(after.at_most.mg_per_l().is_finite());
        }
    }
}
