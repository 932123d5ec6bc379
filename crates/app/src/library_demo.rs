//! The library of the demo, built into the binary. The town, its waters, its
//! brewhouse and its stores are invented.

use store::{Day, DocumentId};

use crate::{App, AppError, LibraryKind};

struct Demo {
    kind: LibraryKind,
    text: &'static str,
    /// Days and analyses.
    analyses: &'static [(&'static str, &'static str)],
}

const DEMOS: [Demo; 4] = [
    Demo {
        kind: LibraryKind::Water,
        text: include_str!("../../../examples/library/cold-fell-spring.toml"),
        analyses: &[(
            "2026-03-02",
            include_str!("../../../examples/library/cold-fell-spring/2026-03-02.toml"),
        )],
    },
    Demo {
        kind: LibraryKind::Water,
        text: include_str!("../../../examples/library/harrowmere-mains.toml"),
        analyses: &[
            (
                "2026-02-10",
                include_str!("../../../examples/library/harrowmere-mains/2026-02-10.toml"),
            ),
            (
                "2026-06-18",
                include_str!("../../../examples/library/harrowmere-mains/2026-06-18.toml"),
            ),
            (
                "2026-09-24",
                include_str!("../../../examples/library/harrowmere-mains/2026-09-24.toml"),
            ),
        ],
    },
    Demo {
        kind: LibraryKind::Brewhouse,
        text: include_str!("../../../examples/library/quay-street-brewhouse.toml"),
        analyses: &[],
    },
    Demo {
        kind: LibraryKind::Stores,
        text: include_str!("../../../examples/library/quay-street-stores.toml"),
        analyses: &[],
    },
];

impl App {
    /// Puts the invented documents of a kind into the library, as copies of one's
    /// own, and says which they are.
    ///
    /// # Errors
    /// [`AppError::Store`].
    pub async fn keep_demo_library(&self, kind: LibraryKind) -> Result<Vec<DocumentId>, AppError> {
        let mut kept = Vec::new();
        for demo in DEMOS.iter().filter(|d| d.kind == kind) {
            let entry = self.keep_entry(kind, demo.text, "from the demo").await?;
            for (day, text) in demo.analyses {
                self.add_analysis(entry.id, day.parse::<Day>()?, text)
                    .await?;
            }
            kept.push(entry.id);
        }
        Ok(kept)
    }
}
