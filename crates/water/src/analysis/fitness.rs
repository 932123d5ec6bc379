//! Whether a water is fit to brew with.

use quantity::{Note, Weight, rounded};

use super::limits::{Cause, Item, Kind, Limit, limits, passed, ph_limits, refusal, tested_for};
use crate::error::WaterError;
use crate::state::{Germs, Ions, Notice, Origin, Smell, SourceWater};

/// What every remark about a health limit says.
const DO_NOT_BREW: &str = "do not brew with it";

/// Whether a water may be brewed with at all.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// Nothing speaks against it.
    Fit,
    /// It can be brewed with; these ask for a look.
    Look {
        /// Each reason, a sentence.
        reasons: Vec<String>,
    },
    /// It must not be brewed with, and no treatment is advised for it.
    DoNotUse {
        /// Each reason, a sentence.
        reasons: Vec<String>,
    },
}

impl Verdict {
    /// The verdict that notes on fitness come to: an act rules a water out.
    pub(super) fn of(notes: &[Note]) -> Self {
        let reasons = |weight: Weight| -> Vec<String> {
            let such = notes.iter().filter(|note| note.weight == weight);
            such.map(|note| note.text.clone()).collect()
        };
        match (reasons(Weight::Act), reasons(Weight::Look)) {
            (acts, _) if !acts.is_empty() => Self::DoNotUse { reasons: acts },
            (_, looks) if !looks.is_empty() => Self::Look { reasons: looks },
            _ => Self::Fit,
        }
    }

    /// Whether the water may be brewed with.
    #[must_use]
    pub const fn usable(&self) -> bool {
        !matches!(self, Self::DoNotUse { .. })
    }

    /// The reasons, each a sentence; none where all is fine.
    #[must_use]
    pub fn reasons(&self) -> &[String] {
        match self {
            Self::Fit => &[],
            Self::Look { reasons } | Self::DoNotUse { reasons } => reasons,
        }
    }

    /// Lets advice on a water pass only where it may be brewed with.
    ///
    /// # Errors
    /// [`WaterError::DoNotUse`] with the reasons.
    pub fn allow_advice(&self, water: &str) -> Result<(), WaterError> {
        match self {
            Self::DoNotUse { reasons } => Err(WaterError::DoNotUse {
                water: water.to_owned(),
                reasons: reasons.clone(),
            }),
            Self::Fit | Self::Look { .. } => Ok(()),
        }
    }
}

/// Whether a source water may be brewed with.
///
/// It must not where a health limit is passed, E. coli was found, a notice is in
/// force, it smells of what it must not, it comes from a private well or spring
/// without a recent test, or through a softener, a hot tank or a garden hose. Every
/// function that advises a treatment asks this first.
///
/// ```
/// use water::analysis::{Verdict, verdict};
/// use water::{Notice, SourceWater};
/// let tap = SourceWater { notice: Some(Notice::Boil), ..SourceWater::named("tap") };
/// assert!(matches!(verdict(&tap), Verdict::DoNotUse { .. }));
/// ```
#[must_use]
pub fn verdict(water: &SourceWater) -> Verdict {
    Verdict::of(&fitness(water))
}

/// Holds a source water to the limits: an act where it must not be brewed with, a
/// look above any other limit, and a word on what the analysis does not show.
#[must_use]
pub fn fitness(water: &SourceWater) -> Vec<Note> {
    let ruled_out = causes(water)
        .into_iter()
        .map(|cause| Note::act(refusal(cause).text.clone()));
    let above = Item::ALL
        .iter()
        .filter_map(|item| note_above(*item, item.of(water)?));
    ruled_out
        .chain(above)
        .chain(ph_note(water))
        .chain(not_shown(water))
        .collect()
}

/// Whether a source water could harm someone: one that must not be used for any
/// reason but a softener's.
#[must_use]
pub fn unfit(water: &SourceWater) -> bool {
    let passes = |item: &Item| {
        item.of(water)
            .is_some_and(|x| passed(*item, x).iter().any(|l| l.kind == Kind::Health))
    };
    causes(water).into_iter().any(|c| refusal(c).health) || Item::ALL.iter().any(passes)
}

/// What rules a water out whatever its figures, the gravest first.
fn causes(water: &SourceWater) -> Vec<Cause> {
    let notice = water.notice.map(|notice| match notice {
        Notice::Boil => Cause::BoilNotice,
        Notice::DoNotDrink => Cause::DoNotDrink,
        Notice::ChemicalIncident => Cause::ChemicalIncident,
    });
    let smell = water.smell.map(|smell| match smell {
        Smell::Sewage => Cause::Sewage,
        Smell::Fuel => Cause::Fuel,
        Smell::Solvent => Cause::Solvent,
    });
    let origin = match water.origin {
        Origin::PrivateWell | Origin::Spring if !tested_of_late(water) => Some(Cause::Untested),
        Origin::HotTank => Some(Cause::HotTank),
        Origin::GardenHose => Some(Cause::GardenHose),
        Origin::Softened => Some(Cause::Softened),
        _ => None,
    };
    let germs = (water.e_coli == Some(Germs::Found)).then_some(Cause::Germs);
    [germs, notice, smell, origin]
        .into_iter()
        .flatten()
        .collect()
}

/// Whether germs were looked for within the time for which a test speaks.
fn tested_of_late(water: &SourceWater) -> bool {
    let recent = water
        .test_age
        .is_some_and(|age| age <= tested_for().at_most);
    recent && water.e_coli.is_some()
}

/// Holds a treated mash liquor to what brewing minds, below and above. Items that
/// the tap already passes are left out, as they have been told.
#[must_use]
pub fn brewing_notes(tap: &Ions, mash: &Ions) -> Vec<Note> {
    let note = |item: &Item| {
        let value = item.of_ions(mash)?;
        let told = !passed(*item, item.of_ions(tap)?).is_empty();
        let low = limits()
            .iter()
            .find(|l| l.low && l.item == *item && value < l.mg_per_l);
        match low {
            Some(limit) => Some(low_note(limit, value)),
            None if told => None,
            None => note_above(*item, value),
        }
    };
    Item::ALL.iter().filter_map(note).collect()
}

/// Remarks on health limits that a source passes by itself where the blend does
/// not show it: an act where the blend may pass them too.
pub(super) fn hidden(source: &SourceWater, blend: &SourceWater) -> Vec<Note> {
    let health = |item: Item, value| {
        let mut limits = passed(item, value);
        limits.retain(|l| l.kind == Kind::Health);
        limits
    };
    let note = |item: &Item| {
        let value = item.of(source)?;
        let limits = health(*item, value);
        if limits.is_empty() {
            return None;
        }
        let name = &source.name;
        let figures = figures(&limits);
        let (item_name, value_text) = (item.name(), number(value));
        match item.of(blend) {
            None => Some(Note::act(format!(
                "{name} by itself has {value_text} mg/L of {item_name}, above {figures}, and the \
                 other water was not tested for it: {DO_NOT_BREW} until it was."
            ))),
            Some(blended) if health(*item, blended).is_empty() => Some(Note::look(format!(
                "{name} by itself has {value_text} mg/L of {item_name}, above {figures}; only the \
                 other water brings the blend below."
            ))),
            Some(_) => None,
        }
    };
    Item::ALL.iter().filter_map(note).collect()
}

fn note_above(item: Item, mg_per_l: f64) -> Option<Note> {
    let limits = passed(item, mg_per_l);
    let kind = limits.first()?.kind;
    let figures = figures(&limits);
    let remark = limits.iter().find_map(|l| l.remark.as_deref());
    let head = format!(
        "{} {} mg/L is above {figures}",
        capital(item.name()),
        number(mg_per_l)
    );
    Some(match (kind, remark) {
        (Kind::Health, remark) => Note::act(format!(
            "{head}: {DO_NOT_BREW}. Boiling does not remove it, it only makes it a little stronger; \
             ask your health authority.{}",
            remark.map_or_else(String::new, |r| format!(" To know: {r}."))
        )),
        (_, Some(remark)) => Note::look(format!("{head}: {remark}.")),
        (_, None) => Note::look(format!("{head}.")),
    })
}

fn low_note(limit: &Limit, mg_per_l: f64) -> Note {
    let remark = limit
        .remark
        .as_deref()
        .unwrap_or("usual brewing liquor has more");
    Note::look(format!(
        "{} {} mg/L in the mash liquor is below {} mg/L: {remark}.",
        capital(limit.item.name()),
        number(mg_per_l),
        number(limit.mg_per_l)
    ))
}

/// A remark on a pH that no tap should have.
fn ph_note(water: &SourceWater) -> Option<Note> {
    let ph = water.ph?;
    let off: Vec<String> = ph_limits()
        .iter()
        .filter(|l| !(l.low..=l.high).contains(&ph))
        .map(|l| format!("{} to {} ({})", l.low.ph(), l.high.ph(), l.who))
        .collect();
    (!off.is_empty()).then(|| {
        Note::look(format!(
            "pH {ph} is outside {}: it tells little about brewing, but such water can take up \
             metals from pipes, or was treated; ask your supplier.",
            off.join(", ")
        ))
    })
}

/// What has a health limit and was not measured.
fn not_shown(water: &SourceWater) -> Option<Note> {
    let missing: Vec<&str> = Item::ALL
        .iter()
        .filter(|item| {
            limits()
                .iter()
                .any(|l| l.item == **item && l.kind == Kind::Health)
        })
        .filter(|item| item.of(water).is_none())
        .map(|item| item.name())
        .chain(water.e_coli.is_none().then_some("germs"))
        .collect();
    if missing.is_empty() {
        return None;
    }
    let missing = format!(
        "Not in this analysis, so not checked: {}.",
        missing.join(", ")
    );
    match water.origin {
        Origin::Purified => None,
        Origin::Bottled => Some(Note::fine(format!(
            "{missing} Food law watches over them in bottled water."
        ))),
        Origin::Spring | Origin::PrivateWell => Some(Note::look(format!(
            "{missing} Nobody watches a private source for you: have each tested once, and again \
             when something changes nearby."
        ))),
        _ => Some(Note::fine(format!(
            "{missing} A supplier's water is watched for them; a private well needs a recent test \
             before anyone brews with it."
        ))),
    }
}

fn figures(limits: &[&Limit]) -> String {
    let each: Vec<String> = limits
        .iter()
        .map(|l| format!("{} mg/L ({})", number(l.mg_per_l), l.who))
        .collect();
    each.join(", ")
}

/// As many digits as a limit is printed with, without trailing zeros.
fn number(x: f64) -> String {
    let text = if x >= 10.0 {
        format!("{x:.0}")
    } else if x >= 1.0 {
        format!("{x:.2}")
    } else {
        rounded(x)
    };
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_remark_names_all_limits_passed() {
        let note = note_above(Item::Iron, 0.25).unwrap();
        assert_eq!(note.weight, quantity::Weight::Look);
        assert!(
            note.text
                .contains("0.2 mg/L (EU indicator), 0.1 mg/L (brewing)"),
            "{}",
            note.text
        );
        assert_eq!(
            note_above(Item::Iron, 0.1),
            None,
            "at the limit is not above it"
        );
    }

    #[test]
    fn a_poor_mash_liquor_is_told_what_the_tap_did_not_say() {
        let poor = Ions::default();
        let rich = Ions {
            calcium: quantity::Calcium::from_mg_per_l(100.0),
            ..poor
        };
        assert!(
            brewing_notes(&poor, &poor)[0]
                .text
                .contains("below 50 mg/L")
        );
        assert!(brewing_notes(&poor, &rich).is_empty());
        let salty = Ions {
            chloride: quantity::Chloride::from_mg_per_l(200.0),
            ..rich
        };
        assert_eq!(brewing_notes(&poor, &salty).len(), 1);
        assert!(brewing_notes(&salty, &salty).is_empty());
    }

    fn named() -> SourceWater {
        SourceWater::named("tap")
    }

    /// Each way in which a water is ruled out, by itself, and what the reason says.
    #[test]
    fn every_case_is_refused_with_its_reason() {
        let year = |x: f64| Some(quantity::Duration::from_h(8766.0 * x));
        let mut nitrate = named();
        nitrate.ions.nitrate = quantity::Nitrate::from_mg_per_l(51.0);
        let well = SourceWater {
            origin: Origin::PrivateWell,
            e_coli: Some(Germs::Absent),
            test_age: year(0.5),
            ..named()
        };
        assert!(verdict(&well).usable());
        let cases: Vec<(SourceWater, &str)> = vec![
            (nitrate, "nitrate"),
            (
                SourceWater {
                    nitrite: Some(quantity::Nitrite::from_mg_per_l(0.6)),
                    ..named()
                },
                "nitrite",
            ),
            (
                SourceWater {
                    lead: Some(quantity::Lead::from_mg_per_l(0.011)),
                    ..named()
                },
                "lead",
            ),
            (
                SourceWater {
                    arsenic: Some(quantity::Arsenic::from_mg_per_l(0.02)),
                    ..named()
                },
                "arsenic",
            ),
            (
                SourceWater {
                    fluoride: Some(quantity::Fluoride::from_mg_per_l(1.6)),
                    ..named()
                },
                "fluoride",
            ),
            (
                SourceWater {
                    copper: Some(quantity::Copper::from_mg_per_l(1.4)),
                    ..named()
                },
                "copper",
            ),
            (
                SourceWater {
                    e_coli: Some(Germs::Found),
                    ..named()
                },
                "e. coli",
            ),
            (
                SourceWater {
                    notice: Some(Notice::Boil),
                    ..named()
                },
                "boil it",
            ),
            (
                SourceWater {
                    notice: Some(Notice::DoNotDrink),
                    ..named()
                },
                "not to drink",
            ),
            (
                SourceWater {
                    notice: Some(Notice::ChemicalIncident),
                    ..named()
                },
                "chemical",
            ),
            (
                SourceWater {
                    smell: Some(Smell::Sewage),
                    ..named()
                },
                "sewage",
            ),
            (
                SourceWater {
                    smell: Some(Smell::Fuel),
                    ..named()
                },
                "fuel",
            ),
            (
                SourceWater {
                    smell: Some(Smell::Solvent),
                    ..named()
                },
                "solvent",
            ),
            (
                SourceWater {
                    test_age: year(1.1),
                    ..well.clone()
                },
                "private well",
            ),
            (
                SourceWater {
                    test_age: None,
                    ..well.clone()
                },
                "private well",
            ),
            (
                SourceWater {
                    e_coli: None,
                    ..well.clone()
                },
                "private well",
            ),
            (
                SourceWater {
                    origin: Origin::Spring,
                    ..named()
                },
                "spring",
            ),
            (
                SourceWater {
                    origin: Origin::Softened,
                    ..named()
                },
                "softener",
            ),
            (
                SourceWater {
                    origin: Origin::HotTank,
                    ..named()
                },
                "hot tap",
            ),
            (
                SourceWater {
                    origin: Origin::GardenHose,
                    ..named()
                },
                "hose",
            ),
        ];
        for (water, word) in cases {
            let Verdict::DoNotUse { reasons } = verdict(&water) else {
                panic!("{word}: {:?}", verdict(&water))
            };
            assert_eq!(reasons.len(), 1, "{reasons:?}");
            assert!(reasons[0].to_lowercase().contains(word), "{reasons:?}");
            assert_eq!(unfit(&water), word != "softener", "{word}");
            let refused = verdict(&water).allow_advice("tap").unwrap_err().to_string();
            assert!(refused.contains(&reasons[0]) && refused.contains("tap must not be used"));
        }
    }

    #[test]
    fn what_is_said_to_be_boiled_off_is_not() {
        let salty = SourceWater {
            lead: Some(quantity::Lead::from_mg_per_l(0.02)),
            ..named()
        };
        let notes = fitness(&salty);
        assert!(
            notes[0].text.contains("0.02 mg/L is above 0.01 mg/L (WHO)"),
            "{}",
            notes[0].text
        );
        assert!(notes[0].text.contains("Boiling does not remove it"));
    }

    #[test]
    fn plain_mains_are_fit_and_a_strange_ph_asks_for_a_look() {
        let mains = SourceWater {
            origin: Origin::Mains,
            ..named()
        };
        assert_eq!(verdict(&mains), Verdict::Fit);
        let sharp = SourceWater {
            ph: Some(quantity::Ph::from_ph(9.0)),
            ..mains
        };
        let Verdict::Look { reasons } = verdict(&sharp) else {
            panic!("{:?}", verdict(&sharp))
        };
        assert!(reasons[0].contains("6.5 to 8.5 (US secondary)") && !reasons[0].contains("EU"));
        assert!(verdict(&sharp).allow_advice("tap").is_ok());
    }

    #[test]
    fn what_is_not_measured_is_named_once_and_by_source() {
        let told = |origin| fitness(&SourceWater { origin, ..named() });
        assert!(told(Origin::Purified).is_empty());
        assert!(
            told(Origin::Mains)[0]
                .text
                .contains("lead, arsenic, fluoride, copper, manganese, germs")
        );
        let well = told(Origin::PrivateWell);
        assert_eq!(well[1].weight, Weight::Look);
    }
}
