//! From acid for the sparge back to changes of the document.

use water::acids::AcidAmount;

use super::{Dissolved, Which};
use crate::document::Into;
use crate::liquor::minerals::Change;
use crate::stream::Reckoning;

impl Dissolved {
    /// What puts the acid into the plan of the sparge liquor, in place of what it has;
    /// none where the question was about another water, or has no acid.
    #[must_use]
    pub fn changes(&self, r: &Reckoning) -> Option<Vec<Change>> {
        if self.of != Which::Sparge {
            return None;
        }
        let acid = self.acid.as_ref()?;
        let entries = r.document.water.acids.iter().enumerate();
        let mut changes: Vec<Change> = entries
            .filter(|(_, entry)| entry.into == Into::Sparge)
            .map(|(n, _)| Change::Remove {
                path: format!("water.acid[{}]", n + 1),
            })
            .collect();
        // From the last on, no place shifts under another.
        changes.reverse();
        let (key, amount) = match acid.closed.amount_for(r.volumes.sparge_liquor) {
            AcidAmount::Volume(volume) => ("volume", format!("{:.1} mL", 1000.0 * volume.l())),
            AcidAmount::Mass(mass) => ("mass", format!("{:.1} g", mass.g())),
        };
        changes.push(Change::Add {
            list: "water.acid".to_owned(),
            values: vec![
                ("acid".to_owned(), acid.product.name.clone()),
                (key.to_owned(), amount),
                ("into".to_owned(), "sparge".to_owned()),
            ],
        });
        Some(changes)
    }
}
