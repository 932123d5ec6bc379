//! What the other batches of a house say of its causes.

use inquiry::{Common, House, InquiryError, Knowledge, Question, State};

use super::{facts, finding_words, wanted};
use crate::Reckoning;
use crate::document::{Document, KitSection};

/// What a batch says of the house that brewed it.
#[derive(Debug, Clone, PartialEq)]
pub struct Heard {
    /// Chance that it had each cause, the odds of its own facts taken out \[–\].
    pub had: Vec<(&'static str, f64)>,
    /// What speaks, in words: what was found, or that it was sound.
    pub words: String,
}

/// What a batch says of its house; none where nothing was found, tested or called sound.
///
/// `alike` says that a blind tasting showed it to be as the beer that was its aim: that
/// counts as sound.
///
/// # Errors
/// [`InquiryError`] for a question that cannot be weighed.
pub fn heard(r: &Reckoning, alike: bool) -> Result<Option<Heard>, InquiryError> {
    let question = r.question();
    let there: Vec<String> = question
        .findings
        .iter()
        .filter(|f| f.state == State::Present && !question.wanted.contains(&f.key))
        .map(finding_words)
        .collect();
    let sound = alike || r.document.inquiry.sound == Some(true);
    let (question, words) = if !there.is_empty() {
        (question, format!("found: {}", there.join("; ")))
    } else if sound {
        let words = if alike {
            "tasted blind, and shown to be as its aim"
        } else {
            "sound"
        };
        (Question::sound(wanted(r)), words.to_owned())
    } else if question.findings.is_empty() && question.results.is_empty() {
        return Ok(None);
    } else {
        (question, "nothing found of what was looked for".to_owned())
    };
    let mut had = inquiry::heard(&facts(r), &question)?;
    let said = &r.document.inquiry;
    if let (Some(tried), Some(gone)) = (&said.tried, said.gone) {
        for (_, chance) in had.iter_mut().filter(|(cause, _)| cause == tried) {
            *chance = inquiry::after_remedy(*chance, gone)?;
        }
    }
    Ok(Some(Heard { had, words }))
}

impl Heard {
    /// Adds it to a house, as far as it speaks of what the two batches share.
    pub fn tell(&self, house: &mut House, name: &str, common: Common) {
        let causes = &Knowledge::built_in().causes;
        let speaks = |key: &str| {
            let cause = causes.iter().find(|c| c.key == key);
            cause.is_some_and(|c| common.speaks_of(&c.stage))
        };
        let had = self.had.iter().copied().filter(|(key, _)| speaks(key));
        house.learn(name, had);
    }
}

/// What two batches have in common.
///
/// The water: sources of the same names. The yeast: the same name on the packet, or the
/// same class where none has a name. The kit: tun and kettle of the same size, or, where
/// that is not said, losses and evaporation within a quarter of each other (judgement).
#[must_use]
pub fn common(a: &Document, b: &Document) -> Common {
    let same = |a: &str, b: &str| a.trim().to_lowercase() == b.trim().to_lowercase();
    let yeast = match (&a.yeast.name, &b.yeast.name) {
        (Some(a), Some(b)) => same(a, b),
        (None, None) => a.yeast.class == b.yeast.class,
        _ => false,
    };
    Common {
        water: waters(a) == waters(b),
        yeast,
        kit: same_kit(&a.kit, &b.kit),
    }
}

/// Names of the waters that were drawn.
fn waters(d: &Document) -> Vec<String> {
    let drawn = d.water.sources.iter();
    let drawn = drawn.filter(|s| s.share.is_none_or(|share| share.value.ratio() > 0.0));
    let mut names: Vec<String> = drawn.map(|s| s.name.trim().to_lowercase()).collect();
    names.sort_unstable();
    names
}

fn same_kit(a: &KitSection, b: &KitSection) -> bool {
    /// Constants of one kit move so far as they are learned, as a share of the larger.
    const NEAR: f64 = 0.25;
    let near = |a: f64, b: f64| (a - b).abs() <= NEAR * a.abs().max(b.abs());
    let sizes = [
        (a.tun_capacity, b.tun_capacity),
        (a.kettle_capacity, b.kettle_capacity),
    ];
    let known: Vec<bool> = sizes
        .iter()
        .filter_map(|(a, b)| Some(near(a.as_ref()?.value.l(), b.as_ref()?.value.l())))
        .collect();
    if !known.is_empty() {
        return known.iter().all(|same| *same);
    }
    near(a.tun_dead_space.value.l(), b.tun_dead_space.value.l())
        && near(a.kettle_loss.value.l(), b.kettle_loss.value.l())
        && near(
            a.evaporation.value.kg_per_h(),
            b.evaporation.value.kg_per_h(),
        )
}

/// What one batch of a history did, such as "Chloramine in the brewing water: odds × 1.3".
#[must_use]
pub fn moved_words(moved: &[inquiry::Moved]) -> Vec<String> {
    /// The first few are told.
    const TOLD: usize = 3;
    let words = moved.iter().take(TOLD).map(|m| {
        let (sign, factor) = if m.odds < 1.0 {
            ("÷", 1.0 / m.odds)
        } else {
            ("×", m.odds)
        };
        let name = super::cause_name(m.cause).to_lowercase();
        format!("{name}: odds {sign} {factor:.2}")
    });
    words.collect()
}

/// A batch that spoke, in one line.
#[must_use]
pub fn house_words(name: &str, common: Common, heard: &Heard, moved: &[String]) -> String {
    let common = common.words().unwrap_or_default();
    let moved = if moved.is_empty() {
        "it hardly moves anything".to_owned()
    } else {
        moved.join("; ")
    };
    format!("{name} ({common}; {}): {moved}", heard.words)
}
