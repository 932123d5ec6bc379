//! The part of the aim that salts and acid make: it is handed to the search for those.

use super::goal::Goal;
use super::levers::AtHand;
use crate::document::{AimSection, Document};
use crate::liquor::minerals::{self, Change, Found, Question};
use crate::stream::Reckoning;
use quantity::{Caution, Note};

/// Salts and acid for a recipe.
#[derive(Debug, Clone, Default)]
pub(super) struct Treated {
    pub(super) changes: Vec<Change>,
    pub(super) notes: Vec<Note>,
    pub(super) cautions: Vec<Caution>,
}

/// Searches for salts and acid for the goals that they make; where there is no answer, the
/// water stays as it is and a note says why.
pub(super) fn treated(document: Document, goals: &[Goal], at_hand: Option<&AtHand<'_>>) -> Treated {
    let told = |why: String| Treated {
        notes: vec![Note::look(format!(
            "Salts and acid stay as they are: {why}."
        ))],
        ..Treated::default()
    };
    let mut aim = AimSection::default();
    for goal in goals.iter().filter(|g| g.figure.of_water) {
        goal.put(&mut aim);
    }
    let document = Document {
        aim: Some(aim),
        ..document
    };
    let r = match Reckoning::of(document, vec![]) {
        Ok(r) => r,
        Err(fault) => return told(fault.message),
    };
    let mut question = Question::usual(&r);
    if let Some(at_hand) = at_hand {
        let stored = Question::of_stores(at_hand.stores);
        if !stored.have.is_empty() {
            question = stored;
        }
    }
    // Acidulated malt would move the grist under the search for malts.
    question.have.retain(|have| have.what != minerals::MALT);
    let at_hand = match minerals::AtHand::of(&question) {
        Ok(at_hand) => at_hand,
        Err(wrong) => {
            return told(wrong.first().map_or_else(String::new, ToString::to_string));
        }
    };
    match minerals::found(&r, &at_hand) {
        Ok(found) => Treated {
            changes: minerals::changes(&r, &found),
            notes: of(&found),
            cautions: found.cautions(),
        },
        Err(error) => told(error.to_string()),
    }
}

fn of(found: &Found) -> Vec<Note> {
    found.notes().cloned().collect()
}
