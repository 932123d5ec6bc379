//! Cautions that travel with the numbers. Text and sources are rows of
//! `data/cautions.toml`; results carry the key.

use std::sync::LazyLock;

use crate::provenance::Mark;

macro_rules! cautions {
    ($($(#[$doc:meta])* $name:ident => $key:literal;)+) => {
        /// What can hurt someone, by key.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Caution {
            $($(#[$doc])* $name,)+
        }

        impl Caution {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$name),+];

            /// The key of the row in the data file, also used in JSON.
            #[must_use]
            pub const fn key(self) -> &'static str {
                match self { $(Self::$name => $key,)+ }
            }
        }
    };
}

cautions! {
    /// Metabisulfite and sulfite: asthma, gas with acid.
    Sulfite => "sulfite";
    /// Sulfite in the finished beer: allergen declaration.
    SulfiteLabel => "sulfite-label";
    /// Concentrated acids.
    Acid => "acid";
    /// Lime, caustic and other strong bases.
    StrongBase => "strong-base";
    /// Salts that heat up or irritate.
    CalciumChloride => "calcium-chloride";
    /// Chlorine with acid or ammonia.
    ChlorineMixtures => "chlorine-mixtures";
    /// Water without its disinfectant.
    TreatedWater => "treated-water";
    /// Water that is not fit to drink.
    UnfitWater => "unfit-water";
    /// Hot liquor and boiling wort.
    HotLiquor => "hot-liquor";
    /// Carbon dioxide in closed rooms.
    CarbonDioxide => "carbon-dioxide";
    /// Pressure in bottles.
    BottlePressure => "bottle-pressure";
    /// Pressure in kegs and from cylinders.
    KegPressure => "keg-pressure";
    /// Wort kept warm without yeast: botulism.
    StoredWort => "stored-wort";
    /// Boiling and keeping starter wort in glass: boiling over, breakage, pressure.
    Starter => "starter";
    /// Pure oxygen.
    Oxygen => "oxygen";
    /// Law on making and serving alcohol.
    AlcoholLaw => "alcohol-law";
    /// Distilling: law and fire.
    Distilling => "distilling";
}

/// A caution as it is shown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CautionText {
    /// The key.
    pub key: String,
    /// A few words for a heading.
    pub title: String,
    /// What to do and not to do.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// How it was obtained.
    pub mark: Mark,
}

impl Caution {
    /// The text of the caution.
    #[must_use]
    pub fn text(self) -> &'static CautionText {
        // The order of the file is the order of the enum; a test holds it so.
        &TEXTS[self as usize % TEXTS.len()]
    }
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    caution: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    title: String,
    text: String,
    source: String,
    mark: String,
}

static TEXTS: LazyLock<Vec<CautionText>> = LazyLock::new(|| {
    let file: File = crate::data::builtin("cautions.toml", include_str!("../data/cautions.toml"));
    file.caution
        .into_iter()
        .map(|row| CautionText {
            mark: crate::data::mark("cautions.toml", &row.key, &row.mark),
            key: row.key,
            title: row.title,
            text: row.text,
            source: row.source,
        })
        .collect()
});

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_caution_has_its_row_in_order() {
        assert_eq!(TEXTS.len(), Caution::ALL.len());
        for caution in Caution::ALL {
            assert_eq!(caution.text().key, caution.key());
            assert!(!caution.text().text.is_empty() && !caution.text().source.is_empty());
        }
    }
}
