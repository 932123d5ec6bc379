//! Random whole plans, as the text of a batch document. What is drawn is
//! plausible, not always possible: some plans must be refused.

mod brew;
mod cellar;
mod tap;

use std::fmt::Write as _;

use proptest::prelude::*;

pub use tap::Source;

/// A plan whose waters and treatment can be changed before it is written out.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The waters; their shares make a whole.
    pub sources: Vec<Source>,
    /// The table `[water.treatment]`.
    pub treatment: String,
    /// Everything else.
    rest: String,
}

impl Plan {
    /// The document.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for source in &self.sources {
            text.push_str(&source.text(self.sources.len() > 1));
        }
        text.push_str(&self.treatment);
        text.push_str(&self.rest);
        text
    }

    /// The same plan with other treatment.
    pub fn treated(mut self, treatment: &str) -> Self {
        format!("[water.treatment]\n{treatment}\n").clone_into(&mut self.treatment);
        self
    }

    /// The same plan with this much more total chlorine in every source; the
    /// free chlorine stays.
    pub fn with_more_chlorine(mut self, mg_per_l: f64) -> Self {
        for source in &mut self.sources {
            source.total_chlorine += mg_per_l;
        }
        self
    }
}

/// How the parts of a plan hang together.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// Into the fermenter.
    pub litres: f64,
    /// Whether there is sparge liquor to dose into.
    pub sparged: bool,
    /// Which of the strains.
    pub strain: usize,
    /// Where in the strain's working range it is pitched, 0 to 1.
    pub warmth: f64,
}

/// Any plan.
pub fn plans() -> impl Strategy<Value = Plan> {
    let frame = (
        5.0..60.0f64,
        0..3usize,
        0..ferment::strains().len(),
        0.0..1.0f64,
    );
    frame.prop_flat_map(|(litres, sparge, strain, warmth)| {
        let frame = Frame {
            litres,
            sparged: sparge > 0,
            strain,
            warmth,
        };
        let parts = (
            tap::sources(),
            tap::treatment(litres),
            tap::additions(frame),
            brew::kit(litres),
            brew::grist(litres),
            brew::mash(sparge),
            brew::boil_and_hops(frame),
            cellar::yeast_and_course(frame),
            cellar::package(),
            aim(),
        );
        parts.prop_map(
            move |(sources, treatment, additions, kit, grist, mash, boil, yeast, package, aim)| {
                let head = format!("[batch]\nname = \"Any\"\nvolume = \"{litres:.2} L\"\n");
                Plan {
                    sources,
                    treatment,
                    rest: [head, additions, kit, grist, mash, boil, yeast, package, aim].concat(),
                }
            },
        )
    })
}

/// What is aimed at does not move the beer, only what is said of it.
fn aim() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        (1.035..1.08f64, 5.0..40.0f64, 0.1..3.0f64).prop_map(|(sg, ebc, clove)| {
            format!(
                "[aim]\noriginal_gravity = \"{sg:.3} ± 0.002\"\ncolour = \"{ebc:.0} EBC\"\nclove = \"{clove:.1} mg/L\"\n"
            )
        }),
    ]
}

/// A line of a table.
pub fn line(table: &mut String, key: &str, value: impl std::fmt::Display) {
    // Writing to a string cannot fail.
    let _ = writeln!(table, "{key} = \"{value}\"");
}

/// A line that may be left out.
pub fn some_line(table: &mut String, key: &str, value: Option<impl std::fmt::Display>) {
    if let Some(value) = value {
        line(table, key, value);
    }
}
