//! How sure the figures of a batch are, at a glance, remembered from page to page.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex};

use batch::certainty::{Certainty, glance};
use store::{DocumentId, RevisionNumber};

use crate::{App, OpenBatch};

/// Batches that are remembered: some hundred kilobytes each.
const MOST: usize = 200;

/// What was found of the newest revision that was asked for, by document.
pub(crate) type Glances = Arc<Mutex<BTreeMap<DocumentId, (RevisionNumber, Arc<Certainty>)>>>;

impl App {
    /// The figures of a batch with their intervals, from few draws; none for a document that
    /// cannot be reckoned or drawn. Takes some hundredths of a second where it is not
    /// remembered: do it aside.
    #[must_use]
    pub fn glance_at_certainty(&self, open: &OpenBatch) -> Option<Arc<Certainty>> {
        let known = self.known.glances.lock().ok()?.get(&open.id).cloned();
        if let Some((revision, found)) = known
            && revision == open.revision
        {
            return Some(found);
        }
        let found = Arc::new(glance(&open.text)?);
        let mut glances = self.known.glances.lock().ok()?;
        if glances.len() >= MOST {
            glances.clear();
        }
        glances.insert(open.id, (open.revision, Arc::clone(&found)));
        Some(found)
    }
}
