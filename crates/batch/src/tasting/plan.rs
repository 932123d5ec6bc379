//! Before pouring: what a number of tastings can show, said in words, with a
//! stronger way beside it.

use glass::tasting::{MOST_TASTINGS, Needed, Power, Protocol, TastingError, power, tastings_for};

/// What is asked about a plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanQuestion {
    /// How it is asked.
    pub protocol: Protocol,
    /// How many tastings.
    pub tastings: u32,
    /// The difference that matters \[d′\].
    pub difference: f64,
    /// The risk of a false alarm \[–\].
    pub false_alarm: f64,
    /// The risk of missing the difference \[–\].
    pub missed: f64,
}

/// Why a plan cannot be reckoned.
pub type PlanError = TastingError;

/// What a plan can show.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// What was asked.
    pub question: PlanQuestion,
    /// What it can show.
    pub power: Power,
    /// How many tastings it takes; none within what is reckoned.
    pub needed: Option<Needed>,
    /// The other ways of asking, the strongest first.
    pub beside: Vec<Beside>,
    /// What it can show, in words.
    pub says: Vec<String>,
}

/// Another way of asking, with as many tastings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// Which.
    pub protocol: Protocol,
    /// The chance that the difference is seen \[–\].
    pub power: f64,
    /// How many tastings it takes.
    pub needed: Option<Needed>,
}

impl Plan {
    /// Reckons a plan.
    ///
    /// # Errors
    /// [`PlanError`] for a number that cannot be.
    pub fn of(question: PlanQuestion) -> Result<Self, PlanError> {
        let q = question;
        let power_of = |protocol| power(protocol, q.tastings, q.difference, q.false_alarm);
        let needed_of =
            |protocol| tastings_for(protocol, q.difference, q.false_alarm, 1.0 - q.missed);
        let mut beside = Vec::new();
        for protocol in Protocol::OFFERED {
            if protocol != q.protocol {
                beside.push(Beside {
                    protocol,
                    power: power_of(protocol)?.power,
                    needed: needed_of(protocol)?,
                });
            }
        }
        beside.sort_by(|a, b| b.power.total_cmp(&a.power));
        let power = power_of(q.protocol)?;
        let needed = needed_of(q.protocol)?;
        Ok(Self {
            says: says(&q, &power, needed, &beside),
            question,
            power,
            needed,
            beside,
        })
    }
}

fn says(q: &PlanQuestion, power: &Power, needed: Option<Needed>, beside: &[Beside]) -> Vec<String> {
    let mut lines = vec![seen_sentence(power)];
    if q.protocol == Protocol::OneGlass {
        lines.push(format!(
            "A difference is shown if glasses of the batch are called another beer clearly oftener than those of the reference; where there is none, that happens in {} of such tastings.",
            percent(power.true_alpha)
        ));
    } else if let Some(critical) = power.critical {
        lines.push(format!(
            "{critical} right of {} show a difference; by guessing alone that happens in {} of such tastings.",
            q.tastings,
            percent(power.true_alpha)
        ));
    } else {
        lines.push(format!(
            "Not even {0} right of {0} would show a difference: pour more.",
            q.tastings
        ));
    }
    lines.push(enough(q, needed));
    let stronger = beside
        .iter()
        .find(|b| matches!(b.protocol, Protocol::Tetrad) && b.power > power.power + 0.02);
    if let Some(b) = stronger {
        lines.push(format!(
            "As many {} see it in {} of cases, for one more glass each: still no need to know what differs.",
            b.protocol.nouns().1,
            percent(b.power)
        ));
    }
    let named = beside.iter().find(|b| b.protocol == Protocol::Paired);
    if let Some(b) = named.filter(|b| b.power > power.power + 0.02) {
        lines.push(format!(
            "If you can name beforehand what differs, and which beer has more of it, as many {} see it in {} of cases.",
            b.protocol.nouns().1,
            percent(b.power)
        ));
    }
    if power.power < 1.0 - q.missed {
        lines.push(
            "If nothing is shown then, that is no proof that the beers are alike: this tasting is too small to tell."
                .to_owned(),
        );
    }
    lines
}

/// What a tasting sees, in words, before it is poured.
#[must_use]
pub fn seen_sentence(power: &Power) -> String {
    let (one, many) = power.protocol.nouns();
    let what = if power.tastings == 1 {
        format!("One {one} sees")
    } else {
        format!("{} {many} see", power.tastings)
    };
    format!(
        "{what} a difference of d' = {} in {} of cases.",
        plain(power.d_prime),
        percent(power.power)
    )
}

fn enough(q: &PlanQuestion, needed: Option<Needed>) -> String {
    let many = q.protocol.nouns().1;
    let wanted = percent(1.0 - q.missed);
    match needed.and_then(|n| n.stable) {
        Some(stable) if stable <= q.tastings => {
            format!("That is enough: {stable} {many} see it in {wanted} of cases.")
        }
        Some(stable) => format!("To see it in {wanted} of cases takes {stable} {many}."),
        None => format!("To see it in {wanted} of cases takes more than {MOST_TASTINGS} {many}."),
    }
}

/// A share in words: "13 %", "2.4 %", "less than 0.1 %".
#[must_use]
pub fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent > 0.0 && percent < 0.1 {
        "less than 0.1 %".to_owned()
    } else if percent < 10.0 {
        format!("{percent:.1} %")
    } else if percent > 99.9 && percent < 100.0 {
        "more than 99.9 %".to_owned()
    } else {
        format!("{percent:.0} %")
    }
}

/// A number without noughts behind it.
#[must_use]
pub fn plain(number: f64) -> String {
    let text = format!("{number:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
