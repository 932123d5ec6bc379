//! Whether a container stands what the beer in it can come to.

use quantity::density::water_density;
use quantity::{
    CarbonDioxide, GaugePressure, Measured, PSI_BAR, Spread, Temperature, Told, Units, show,
};

use crate::container::{Container, ContainerKind};
use crate::pressure::Fill;

/// How safe a package is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Safety {
    /// The worst case stays within the limits.
    Safe,
    /// The worst case passes a limit but not the last one: look again.
    Look,
    /// Do not package like this.
    Stop,
}

impl Safety {
    /// The word on the page.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Safe => "safe",
            Self::Look => "look",
            Self::Stop => "stop",
        }
    }
}

/// The worst that a package can come to, if all goes against the brewer but
/// nothing is infected or badly mixed.
#[derive(Debug, Clone, PartialEq)]
pub struct WorstCase {
    /// All CO₂ per litre of beer: held at filling, all that the priming can
    /// give, and all the extract that may still ferment.
    pub carbon_dioxide: CarbonDioxide,
    /// The part of it from extract that still ferments.
    pub from_extract: CarbonDioxide,
    /// The warmest storage.
    pub at: Temperature,
    /// Gauge pressure then, if the law of solubility holds just so.
    pub pressure: GaugePressure,
    /// Gauge pressure in that store: what it likely comes to, from the least that sugar
    /// gives to the worst case, with what is not known of the law and of the gas that
    /// was there before (two standard deviations).
    pub interval: Measured<GaugePressure>,
    /// Gauge pressure that the container should never pass.
    pub service: GaugePressure,
    /// The verdict.
    pub safety: Safety,
    /// Why, one sentence for each line that was passed.
    pub reason: Told,
    /// What to do.
    pub remedy: String,
}

/// What a verdict is given on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Case {
    pub(crate) target: CarbonDioxide,
    pub(crate) carbon_dioxide: CarbonDioxide,
    pub(crate) from_extract: CarbonDioxide,
    pub(crate) filled_at: Temperature,
    pub(crate) at: Temperature,
    pub(crate) pressure: GaugePressure,
    pub(crate) interval: Measured<GaugePressure>,
    pub(crate) service: GaugePressure,
    pub(crate) diastatic: bool,
    pub(crate) below_forced: bool,
    pub(crate) fill: Option<Fill>,
}

/// Judges a case against its container; the worst of all findings stands.
pub(crate) fn judge(container: &Container, case: &Case) -> WorstCase {
    let mut findings = vec![by_pressure(case)];
    let unitless = [
        by_gas(container, case),
        case.fill.and_then(|fill| by_head_space(&fill, case)),
        by_yeast(case),
        by_proof(case),
    ];
    let unitless = unitless.into_iter().flatten();
    findings.extend(unitless.map(|(safety, text)| (safety, Told::from(text))));
    let safety = findings.iter().map(|f| f.0).max().unwrap_or(Safety::Safe);
    let reasons: Vec<Told> = findings
        .into_iter()
        .filter(|f| f.0 == safety)
        .map(|f| f.1)
        .collect();
    let reason = Told::of(|units| {
        let texts: Vec<&str> = reasons.iter().map(|told| told.text(units)).collect();
        texts.join("; ")
    });
    WorstCase {
        carbon_dioxide: case.carbon_dioxide,
        from_extract: case.from_extract,
        at: case.at,
        pressure: case.pressure,
        interval: case.interval,
        service: case.service,
        safety,
        reason,
        remedy: remedy(safety, container, case).to_owned(),
    }
}

type Finding = (Safety, String);

fn by_pressure(case: &Case) -> (Safety, Told) {
    let (p, limit) = (case.pressure.bar(), case.service.bar());
    let high = match case.interval.spread {
        Spread::Range { high, .. } => high,
        _ => p,
    };
    let safety = if p.max(high) > limit {
        Safety::Stop
    } else {
        Safety::Safe
    };
    let told = Told::of(|units| {
        let at = show(case.at, units);
        let (unit, factor) = match units {
            Units::Metric => ("bar", 1.0),
            Units::Us => ("psi", PSI_BAR.recip()),
        };
        let [p, high, limit] = [p, high, limit].map(|bar| bar * factor);
        if p > limit {
            let (p, limit) = apart(p, limit);
            format!(
                "at {at} the pressure can reach {p} {unit}, above the {limit} {unit} that the container should never pass"
            )
        } else if high > limit {
            let (high, limit) = apart(high, limit);
            format!(
                "at {at} the pressure can reach {p:.1} {unit}, and with what is not known of it {high} {unit}, above the {limit} {unit} that the container should never pass"
            )
        } else {
            format!(
                "at {at} the pressure can reach {p:.1} {unit}, {high:.1} {unit} with what is not known of it, of the {limit:.1} {unit} that the container may see"
            )
        }
    });
    (safety, told)
}

/// Two pressures with as many decimals as show which is the higher.
fn apart(a: f64, b: f64) -> (String, String) {
    let shown = |decimals: usize| (format!("{a:.decimals$}"), format!("{b:.decimals$}"));
    let short = shown(1);
    if short.0 == short.1 { shown(2) } else { short }
}

fn by_gas(container: &Container, case: &Case) -> Option<Finding> {
    let gas = container.gas?;
    let (target, worst) = (case.target.volumes(), case.carbon_dioxide.volumes());
    let vol = |x: CarbonDioxide| x.volumes();
    // A hair's breadth, so that an aim written as the limit is the limit.
    let over = |x: f64, line: CarbonDioxide| x > vol(line) + 1e-9;
    if over(target, gas.limit) {
        let limit = vol(gas.limit);
        return Some((
            Safety::Stop,
            format!(
                "the aim of {target:.2} vol is above the {limit:.1} vol that this container takes"
            ),
        ));
    }
    if over(worst, gas.refuse) {
        let refuse = vol(gas.refuse);
        return Some((
            Safety::Stop,
            format!("the beer can come to {worst:.2} vol, more than {refuse:.1} vol"),
        ));
    }
    if over(worst, gas.limit) {
        let limit = vol(gas.limit);
        return Some((
            Safety::Look,
            format!("the beer can come to {worst:.2} vol, above the limit of {limit:.1} vol"),
        ));
    }
    over(target, gas.warn).then(|| {
        let limit = vol(gas.limit);
        (
            Safety::Look,
            format!("the aim of {target:.2} vol is close to the limit of {limit:.1} vol"),
        )
    })
}

/// Least head space as a part of the beer (judgement; about 7 mL in 330 mL).
const LEAST_HEAD_SPACE: f64 = 0.02;

fn by_head_space(fill: &Fill, case: &Case) -> Option<Finding> {
    let share = fill.head_space.l() / fill.beer.l();
    let growth = water_density(case.filled_at.c()) / water_density(case.at.c()) - 1.0;
    if share <= growth.max(0.0) {
        return Some((
            Safety::Stop,
            format!(
                "the head space is {:.1} % of the beer and the beer expands by {:.1} %: liquid alone can burst the bottle",
                100.0 * share,
                100.0 * growth
            ),
        ));
    }
    (share < LEAST_HEAD_SPACE).then(|| {
        (
            Safety::Look,
            format!("the head space is only {:.1} % of the beer", 100.0 * share),
        )
    })
}

fn by_yeast(case: &Case) -> Option<Finding> {
    case.diastatic.then(|| {
        (
            Safety::Look,
            "the yeast ferments dextrins, slowly and for weeks: two or three points that were not seen are already dangerous".to_owned(),
        )
    })
}

fn by_proof(case: &Case) -> Option<Finding> {
    case.below_forced.then(|| {
        (
            Safety::Stop,
            "the beer stands below where the forced sample ended: something in it ferments what the yeast of the sample does not".to_owned(),
        )
    })
}

fn remedy(safety: Safety, container: &Container, case: &Case) -> &'static str {
    let too_lively = container
        .gas
        .is_some_and(|gas| case.target.volumes() > gas.limit.volumes() + 1e-9);
    let extract_drives = case.from_extract.volumes() > 0.3 || case.below_forced;
    match (safety, container.kind, extract_drives) {
        (Safety::Safe, ContainerKind::Keg, _) => "check the relief valve and the stamp",
        (Safety::Safe, _, _) => {
            "bottle once the gravity has stood still for three days; keep the bottles boxed and cool"
        }
        (Safety::Look, _, true) => {
            "run a forced fermentation of a sample and package only within one point of where it ends"
        }
        (Safety::Look, _, false) => {
            "aim lower, take a stronger container, or keep it where it surely stays cooler; leave a head space of 3 to 5 %"
        }
        (Safety::Stop, _, true) if too_lively => {
            "do not package like this: aim lower or take a container that is rated for it, and prove with a forced fermentation of a sample that the beer has ended"
        }
        (Safety::Stop, _, true) => {
            "do not package: let it ferment out and prove it with a forced fermentation of a sample, then reckon again"
        }
        (Safety::Stop, _, false) => {
            "do not package like this: aim lower, take a container that is rated for it, leave head space, or store colder"
        }
    }
}
