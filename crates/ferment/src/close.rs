//! Ways to have enough yeast: what is at hand, and what would make up the rest.

use quantity::numeric::normal_below;
use quantity::{Caution, Cells, Duration, Fraction, Mass, Measured, Note, Units, Volume, show};

use crate::error::FermentError;
use crate::pitch::{PitchReport, packets_for};
use crate::starter::{StarterPlan, StarterWish, Stirring, plan_starter};
use crate::stock::{DRY_BILLIONS_PER_G, DRY_SPREAD, SLURRY_MILLIONS_PER_ML, SLURRY_SPREAD, Yeast};
use crate::storage::slurry_viability;

/// Share of the cells needed that counts as there (judgement: the rates of practice
/// are no closer).
const ENOUGH: f64 = 0.95;
/// Share below which the start is slow: what a way must surely pass.
const SLOW: f64 = 0.8;
/// More packets than these are no way: the yeast is all but dead.
const MOST_PACKETS: u32 = 100_000;
/// Slurry that another brewer gives, in days at a temperature \[°C\] (common practice:
/// use within 1 to 3 days).
const FRESH_SLURRY: (f64, f64) = (3.0, 4.0);
/// Dry yeast that practice gives to a litre \[g/L\]: 0.5 to 0.8 for ale, 0.8 to 1.2
/// for cold lager.
const DRY_DOSE: (f64, f64) = (0.5, 1.2);

/// What is done to have enough cells.
#[derive(Debug, Clone, PartialEq)]
pub enum WayKind {
    /// Pitch what is there.
    AsItIs,
    /// Packets of the same kind beside those that are there.
    Packets(u32),
    /// A starter of what is there.
    Starter(Box<StarterPlan>),
    /// Fresh thick slurry beside what is there, or instead of it.
    Slurry(Volume),
    /// Dry yeast beside what is there.
    Dry(Mass),
}

/// A way to have enough cells.
#[derive(Debug, Clone, PartialEq)]
pub struct WayToPitch {
    /// What is done.
    pub kind: WayKind,
    /// Living cells that are pitched then.
    pub cells: Measured<Cells>,
    /// Over the cells needed.
    pub ratio: f64,
    /// Chance that they are four fifths of those needed or more.
    pub surely: Fraction,
    /// How long before pitching it is begun, between two ends.
    pub ahead: (Duration, Duration),
    /// Remarks.
    pub notes: Vec<Note>,
    /// What can hurt.
    pub cautions: Vec<Caution>,
}

/// Ways to have enough cells, the better first, and what is better left.
#[derive(Debug, Clone, PartialEq)]
pub struct WaysToPitch {
    /// Those that can be gone.
    pub ways: Vec<WayToPitch>,
    /// What is better left, and why.
    pub unwise: Vec<Note>,
}

impl WayKind {
    /// Its word in data.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::AsItIs => "as_it_is",
            Self::Packets(_) => "packets",
            Self::Starter(_) => "starter",
            Self::Slurry(_) => "slurry",
            Self::Dry(_) => "dry",
        }
    }
}

impl WayToPitch {
    /// What is done, in words.
    #[must_use]
    pub fn words(&self, units: Units) -> String {
        match &self.kind {
            WayKind::AsItIs => "Pitch what is there".to_owned(),
            WayKind::Packets(1) => "Pitch one more packet".to_owned(),
            WayKind::Packets(n) => format!("Pitch {n} more packets"),
            WayKind::Starter(plan) => starter_words(plan, units),
            WayKind::Slurry(volume) => {
                format!("Add {} of fresh thick slurry", small_volume(*volume, units))
            }
            WayKind::Dry(mass) => format!("Add {} of dry yeast", show(*mass, units)),
        }
    }

    /// Whether it gives about as many cells as are needed.
    #[must_use]
    pub fn reaches(&self) -> bool {
        self.ratio >= ENOUGH
    }
}

/// A volume as a jug shows it: below a litre in millilitres, whatever the units.
#[must_use]
pub fn small_volume(volume: Volume, units: Units) -> String {
    if volume.l() < 1.0 {
        return format!("{:.0} mL", volume.l() * 1000.0);
    }
    show(volume, units)
}

fn starter_words(plan: &StarterPlan, units: Units) -> String {
    let steps = &plan.starter.steps;
    let stirring = steps.first().map_or("still", |s| s.stirring.word());
    let litres: Vec<String> = steps
        .iter()
        .map(|s| small_volume(s.volume, units))
        .collect();
    match litres.as_slice() {
        [one] => format!("Make a {stirring} starter of {one}"),
        many => format!(
            "Make a {stirring} starter in {} steps of {}",
            many.len(),
            many.join(", then ")
        ),
    }
}

/// Ways to close the gap between the yeast at hand and the cells needed.
///
/// Ranked: those that reach it before those that do not, then the sooner, then the
/// surer. Chances take the cells as lognormal.
///
/// # Errors
/// As [`plan_starter`].
pub fn ways_to_pitch(
    report: &PitchReport,
    yeast: &Yeast,
    batch: Volume,
    wish: &StarterWish,
) -> Result<WaysToPitch, FermentError> {
    let needed = report.needed.billions();
    let before = yeast.living()?;
    let mut ways = vec![as_it_is(report)];
    if report.ratio < ENOUGH {
        ways.extend(packets(report, yeast, &before));
        if !matches!(yeast, Yeast::Dry { .. }) {
            ways.extend(starters(&before, report.needed, wish)?);
        }
        ways.extend(more_yeast(needed, &before, yeast, batch));
    }
    for way in &mut ways {
        way.ratio = way.cells.value.billions() / needed;
        way.surely = chance(&way.cells, SLOW * needed);
    }
    ways.sort_by(|a, b| {
        let late = |w: &WayToPitch| w.ahead.1.h();
        b.reaches()
            .cmp(&a.reaches())
            .then(late(a).total_cmp(&late(b)))
            .then(b.surely.ratio().total_cmp(&a.surely.ratio()))
            .then(b.ratio.total_cmp(&a.ratio))
    });
    Ok(WaysToPitch {
        ways,
        unwise: unwise(yeast),
    })
}

fn way(kind: WayKind, cells: Measured<Cells>) -> WayToPitch {
    WayToPitch {
        kind,
        cells,
        ratio: 0.0,
        surely: Fraction::from_ratio(0.0),
        ahead: (Duration::from_h(0.0), Duration::from_h(0.0)),
        notes: Vec::new(),
        cautions: Vec::new(),
    }
}

fn as_it_is(report: &PitchReport) -> WayToPitch {
    let mut way = way(WayKind::AsItIs, report.at_hand);
    if let Some(starter) = &report.starter {
        way.ahead = starter.ahead;
        way.cautions.clone_from(&starter.cautions);
    }
    way
}

fn packets(report: &PitchReport, yeast: &Yeast, before: &Measured<Cells>) -> Option<WayToPitch> {
    let had = match yeast {
        Yeast::Dry { packets, .. } | Yeast::Liquid { packets, .. } if *packets > 0.0 => *packets,
        _ => return None,
    };
    let each = before.value.billions() / had;
    let missing = report.needed.billions() - before.value.billions();
    let more = packets_for(missing, each);
    let times = (had + f64::from(more)) / had;
    let cells = scaled(before, times);
    (1..=MOST_PACKETS)
        .contains(&more)
        .then(|| way(WayKind::Packets(more), cells))
}

fn scaled(cells: &Measured<Cells>, times: f64) -> Measured<Cells> {
    let value = Cells::from_billions(cells.value.billions() * times);
    Measured::with_sd(value, cells.sd() * times)
}

fn starters(
    before: &Measured<Cells>,
    needed: Cells,
    wish: &StarterWish,
) -> Result<Vec<WayToPitch>, FermentError> {
    let mut found = Vec::new();
    for stirring in [Stirring::Stirred, Stirring::Still] {
        let wish = StarterWish { stirring, ..*wish };
        let Some(plan) = plan_starter(before, needed, &wish)? else {
            continue;
        };
        found.push(WayToPitch {
            ahead: plan.grown.ahead,
            notes: plan.grown.notes.clone(),
            cautions: plan.grown.cautions.clone(),
            ..way(WayKind::Starter(Box::new(plan.clone())), plan.grown.cells)
        });
    }
    Ok(found)
}

/// Slurry and dry yeast that make up the rest.
fn more_yeast(
    needed: f64,
    before: &Measured<Cells>,
    yeast: &Yeast,
    batch: Volume,
) -> Vec<WayToPitch> {
    let missing = needed - before.value.billions();
    let together = |spread: f64| {
        let sd = before.sd().hypot(missing * spread);
        Measured::with_sd(Cells::from_billions(needed), sd)
    };
    let alive = slurry_viability(FRESH_SLURRY.0, FRESH_SLURRY.1);
    let litres = missing / (SLURRY_MILLIONS_PER_ML * alive);
    let mut slurry = way(
        WayKind::Slurry(Volume::from_l(litres)),
        together(SLURRY_SPREAD),
    );
    slurry.notes.push(Note::fine(format!(
        "thick slurry of a clean beer of the same yeast, {:.0} days at {:.0} °C at most; count it if you can: its density varies by a third",
        FRESH_SLURRY.0, FRESH_SLURRY.1
    )));
    let mut all = vec![slurry];
    if !matches!(yeast, Yeast::Dry { .. }) {
        let grams = missing / DRY_BILLIONS_PER_G;
        let mut dry = way(WayKind::Dry(Mass::from_g(grams)), together(DRY_SPREAD));
        dry.notes.push(Note::fine(
            "another strain beside the first makes a mixture: take one of the same kind",
        ));
        all.push(dry.dosed(grams / batch.l()));
    }
    all
}

impl WayToPitch {
    fn dosed(mut self, g_per_l: f64) -> Self {
        if g_per_l > DRY_DOSE.1 {
            self.notes.push(Note::fine(format!(
                "{g_per_l:.1} g/L of dry yeast; {:.1} to {:.1} g/L is usual",
                DRY_DOSE.0, DRY_DOSE.1
            )));
        }
        self
    }
}

fn unwise(yeast: &Yeast) -> Vec<Note> {
    match yeast {
        Yeast::Dry { .. } => vec![Note::fine(
            "no starter for dry yeast: it spends the reserves that the maker dried in, and a packet costs less than the extract",
        )],
        _ => Vec::new(),
    }
}

/// Chance that cells known to a lognormal spread are so many or more.
fn chance(cells: &Measured<Cells>, least: f64) -> Fraction {
    let (mean, sd) = (cells.canonical(), cells.sd());
    if mean <= 0.0 || least <= 0.0 {
        return Fraction::from_ratio(if mean > 0.0 { 1.0 } else { 0.0 });
    }
    let spread = (sd / mean).max(1e-9);
    let z = (mean / least).ln() / spread;
    Fraction::from_ratio(normal_below(z))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pitch::pitch;
    use quantity::{Gravity, PitchRate, Temperature};

    fn wish() -> StarterWish {
        StarterWish {
            stirring: Stirring::Still,
            gravity: Gravity::from_plato(9.0),
            vessel: None,
            whole: false,
        }
    }

    fn liquid(age_d: f64) -> Yeast {
        Yeast::Liquid {
            packets: 1.0,
            cells: Cells::from_billions(100.0),
            age: Duration::from_h(24.0 * age_d),
            storage: Temperature::from_c(4.0),
        }
    }

    fn found(yeast: &Yeast) -> WaysToPitch {
        let volume = Volume::from_l(20.0);
        let rate = PitchRate::from_millions_per_ml_plato(0.75);
        let report = pitch(yeast, None, rate, Gravity::from_plato(12.0), volume).unwrap();
        ways_to_pitch(&report, yeast, volume, &wish()).unwrap()
    }

    #[test]
    fn an_old_packet_has_several_ways_and_the_soonest_first() {
        let all = found(&liquid(60.0));
        let kinds: Vec<&WayKind> = all.ways.iter().map(|w| &w.kind).collect();
        assert!(matches!(
            kinds[0],
            WayKind::Packets(_) | WayKind::Slurry(_) | WayKind::Dry(_)
        ));
        assert!(kinds.iter().any(|k| matches!(k, WayKind::Starter(_))));
        assert!(matches!(kinds.last().unwrap(), WayKind::AsItIs));
        assert!(all.unwise.is_empty());
        for way in all
            .ways
            .iter()
            .filter(|w| !matches!(w.kind, WayKind::AsItIs))
        {
            assert!(way.reaches(), "{}", way.words(Units::Metric));
            assert!(way.surely.ratio() > 0.5);
        }
        let ranks: Vec<bool> = all.ways.iter().map(WayToPitch::reaches).collect();
        assert!(ranks.windows(2).all(|w| w[0] >= w[1]));
    }

    #[test]
    fn packets_that_are_all_but_dead_are_not_bought() {
        let all = found(&liquid(2500.0));
        let packets = |w: &WayToPitch| matches!(w.kind, WayKind::Packets(_));
        assert!(!all.ways.iter().any(packets), "{:?}", all.ways);
        assert!(all.ways[0].reaches());
    }

    #[test]
    fn enough_yeast_needs_no_way() {
        let fresh = liquid(0.0).times(2.0);
        let all = found(&fresh);
        assert_eq!(all.ways.len(), 1);
        assert!(
            all.ways[0].reaches() && all.ways[0].words(Units::Metric).contains("what is there")
        );
    }

    #[test]
    fn dry_yeast_is_bought_not_grown() {
        let dry = Yeast::Dry {
            packets: 1.0,
            packet: Mass::from_g(11.5),
            cells: None,
            age: Duration::from_h(0.0),
            storage: Temperature::from_c(4.0),
        };
        let all = found(&dry);
        assert!(
            !all.ways
                .iter()
                .any(|w| matches!(w.kind, WayKind::Starter(_)))
        );
        assert!(
            all.unwise
                .iter()
                .any(|n| n.text.contains("no starter for dry yeast"))
        );
        assert_eq!(all.ways[0].words(Units::Metric), "Pitch one more packet");
        // 230 of 180 billion, known to a quarter: z = ln(230/144)/0.25 = 1.873.
        assert!((all.ways[0].surely.ratio() - 0.9695).abs() < 1e-3);
    }
}
