//! What stands on the label of a package: name, strength, and what can make someone ill.

use quantity::{AlcoholByVolume, CarbonDioxide, SulfurDioxide, Volume};
use wort::malts::Kind;

use crate::document::{self, Document};
use crate::stream::Reckoning;

/// Total SO₂ from which it is declared \[mg/L\]: above 10 mg/L by EU Regulation
/// 1169/2011, Annex II (read); from 10 ppm in the United States, 21 CFR 101.100 (from
/// memory). The stricter of the two.
const DECLARED_FROM: SulfurDioxide = SulfurDioxide::from_mg_per_l(10.0);

/// A label.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// The beer.
    pub name: String,
    /// The day, as the document has it.
    pub brewed: Option<String>,
    /// Alcohol.
    pub alcohol: AlcoholByVolume,
    /// CO₂.
    pub carbon_dioxide: CarbonDioxide,
    /// What a package holds; none for a keg.
    pub holds: Option<Volume>,
    /// Allergens that are in it, in the words of a label.
    pub contains: Vec<&'static str>,
    /// What can be in it and only a measurement decides.
    pub may_contain: Vec<&'static str>,
}

impl Reckoning {
    /// The label of the package.
    #[must_use]
    pub fn label(&self) -> Label {
        let beer = &self.packaging.beer;
        let sulfite = beer.sulfur_dioxide_at_most.mg_per_l() >= DECLARED_FROM.mg_per_l() - 1e-9;
        let mut contains = cereals(&self.document);
        if self.document.grist.iter().any(|g| g.class == "lactose") {
            contains.push("milk (lactose)");
        }
        if sulfite {
            contains.push("sulfites");
        }
        Label {
            name: self.document.batch.name.clone(),
            brewed: self.document.batch.brewed.clone(),
            alcohol: beer.alcohol,
            carbon_dioxide: beer.carbon_dioxide,
            holds: match self.document.package.vessel {
                document::Vessel::Bottles => Some(self.document.package.bottle_volume.value),
                document::Vessel::Keg => None,
            },
            contains,
            // Yeast makes 1 to 15 mg/L of it by itself (from memory).
            may_contain: if sulfite {
                vec![]
            } else {
                vec!["sulfites that yeast makes"]
            },
        }
    }
}

/// The cereals with gluten of a grist, each once.
fn cereals(document: &Document) -> Vec<&'static str> {
    let mut found = Vec::new();
    for entry in &document.grist {
        let Ok(malt) = wort::malts::find(&entry.class) else {
            continue;
        };
        let name = malt.name.to_lowercase();
        let cereal = match () {
            () if name.contains("wheat") => Some("wheat"),
            () if name.contains("rye") => Some("rye"),
            () if name.contains("oat") => Some("oats"),
            () if name.contains("maize") || name.contains("rice") => None,
            () if malt.kind == Kind::Sugar => None,
            // Malt of which nothing else is said is of barley.
            () => Some("barley"),
        };
        if let Some(cereal) = cereal.filter(|c| !found.contains(c)) {
            found.push(cereal);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use crate::{Document, Reckoning};

    const PALE: &str = include_str!("../../../examples/lantern-pale.toml");

    fn reckoned(text: &str) -> Reckoning {
        let (document, assumptions) = Document::read(text).unwrap();
        Reckoning::of(document, assumptions).unwrap()
    }

    fn with_grist(class: &str) -> Reckoning {
        reckoned(&format!(
            "{PALE}\n[[grist]]\nclass = \"{class}\"\namount = \"0.3 kg\"\n"
        ))
    }

    #[test]
    fn cereals_and_milk_are_named() {
        let plain = reckoned(PALE).label();
        assert!(plain.contains.contains(&"barley") && plain.name.contains("Lantern"));
        for (class, cereal) in [
            ("flaked rye", "rye"),
            ("flaked oats", "oats"),
            ("wheat malt", "wheat"),
            ("lactose", "milk (lactose)"),
        ] {
            assert!(
                with_grist(class).label().contains.contains(&cereal),
                "{class}"
            );
        }
        let maize = with_grist("flaked maize").label().contains;
        assert_eq!(maize, plain.contains, "no gluten in maize");
    }

    #[test]
    fn sulfite_is_declared_from_ten() {
        let mut r = reckoned(PALE);
        let mut at = |mg: f64| {
            r.packaging.beer.sulfur_dioxide_at_most = quantity::SulfurDioxide::from_mg_per_l(mg);
            r.label()
        };
        assert!(!at(9.9).contains.contains(&"sulfites"));
        assert_eq!(at(9.9).may_contain, ["sulfites that yeast makes"]);
        assert!(at(10.0).contains.contains(&"sulfites"));
        assert!(at(10.0).may_contain.is_empty());
    }
}
