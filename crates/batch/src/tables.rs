//! The built-in tables of malts and hops, each figure with how it is known and the key
//! by which a person's own sheet overrides it.

use quantity::{Fraction, Mark, Measured, Quantity, Source, Spread, Units, show, show_interval};
use wort::hops::{self, Hop};
use wort::malts::{self, Fermentable, FerulicClass, Kind};

/// One row of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub kind: &'static str,
    /// Its figures.
    pub figures: Vec<TableFigure>,
    /// Where most of them come from.
    pub source: &'static Source,
}

/// A figure of a row.
#[derive(Debug, Clone, PartialEq)]
pub struct TableFigure {
    /// What it is called.
    pub label: &'static str,
    /// Low and high, or what is said in words.
    pub text: String,
    /// Where it comes from.
    pub source: String,
    /// How it was obtained.
    pub mark: Mark,
    /// The key of a batch or of stores that overrides it; none where nothing does.
    pub own: Option<&'static str>,
}

/// Figures of a malt's sheet that no model here asks for.
pub const UNUSED: &str =
    "total and soluble protein, Kolbach index, friability, viscosity, β-glucan";

/// The rows whose name holds a text; all of them where it is empty.
#[must_use]
pub fn found(entries: Vec<Entry>, text: &str) -> Vec<Entry> {
    let wanted = text.trim().to_lowercase();
    let has = |e: &Entry| e.name.to_lowercase().contains(&wanted);
    entries.into_iter().filter(has).collect()
}

/// Malts, adjuncts, sugars and malt extracts.
#[must_use]
pub fn malts(units: Units) -> Vec<Entry> {
    malts::all()
        .iter()
        .map(|malt| malt_entry(malt, units))
        .collect()
}

fn malt_entry(malt: &'static Fermentable, units: Units) -> Entry {
    let mut row = Row {
        of: |key: &str| malts::source_of(malt, key),
        figures: Vec::new(),
        units,
    };
    row.range(
        "extract, fine grind, of dry matter",
        "extract",
        Some("extract"),
        &malt.extract,
    );
    if malt.kind.is_mashed() {
        row.one(
            "coarse grind gives less",
            "difference",
            Some("coarse_fine"),
            malt.fine_coarse_difference,
        );
    }
    row.range("moisture", "moisture", Some("moisture"), &malt.moisture);
    row.range("colour", "colour", Some("colour"), &malt.colour);
    if malt.kind == Kind::Malt {
        row.range(
            "diastatic power",
            "diastatic",
            Some("diastatic_power"),
            &malt.diastatic_power,
        );
    }
    if let Some(ph) = &malt.mash_ph {
        row.range("mash pH in distilled water", "ph", Some("distilled_ph"), ph);
    }
    if let Some(buffering) = &malt.buffering {
        row.range("buffering", "buffering", Some("buffering"), buffering);
    }
    row.range("SMM, as dimethyl sulfide", "smm", Some("smm"), &malt.smm);
    if malt.kind.is_mashed() {
        row.words(
            "ferulic acid, freed by a warm rest",
            "ferulic",
            ferulic(malt.ferulic),
        );
    }
    if let Some(share) = &malt.fermentable {
        row.range(
            "of its extract, what yeast takes",
            "fermentable",
            None,
            share,
        );
    }
    row.one(
        "usual share of a grist, at most",
        "max_share",
        None,
        malt.max_share,
    );
    Entry {
        name: &malt.name,
        kind: match malt.kind {
            Kind::Malt => "malt",
            Kind::Adjunct => "unmalted grain",
            Kind::Sugar => "sugar",
            Kind::MaltExtract => "malt extract",
        },
        figures: row.figures,
        source: &malt.source,
    }
}

fn ferulic(class: FerulicClass) -> &'static str {
    match class {
        FerulicClass::High => "much",
        FerulicClass::Mid => "some",
        FerulicClass::Low => "little",
        FerulicClass::None => "none",
    }
}

/// Hop cultivars.
#[must_use]
pub fn hops(units: Units) -> Vec<Entry> {
    hops::all()
        .iter()
        .map(|hop| hop_entry(hop, units))
        .collect()
}

fn hop_entry(hop: &'static Hop, units: Units) -> Entry {
    let mut row = Row {
        of: |_: &str| &hop.source,
        figures: Vec::new(),
        units,
    };
    row.range("alpha-acids", "alpha", Some("alpha"), &hop.alpha);
    row.range("beta-acids", "beta", None, &hop.beta);
    if let Some(kept) = &hop.kept {
        row.range(
            "alpha-acids left after six months at 20 °C",
            "kept",
            Some("kept"),
            kept,
        );
    }
    Entry {
        name: &hop.name,
        kind: "hop",
        figures: row.figures,
        source: &hop.source,
    }
}

/// The figures of a row as they are gathered.
struct Row<F> {
    of: F,
    figures: Vec<TableFigure>,
    units: Units,
}

impl<F: Fn(&str) -> &'static Source> Row<F> {
    fn range<Q: Quantity>(
        &mut self,
        label: &'static str,
        key: &str,
        own: Option<&'static str>,
        value: &Measured<Q>,
    ) {
        let text = match value.spread {
            Spread::Range { low, high } if low < high => {
                show_interval(Q::from_canonical(low), Q::from_canonical(high), self.units)
            }
            _ => show(value.value, self.units),
        };
        self.push(label, key, own, text);
    }

    fn one(&mut self, label: &'static str, key: &str, own: Option<&'static str>, value: Fraction) {
        self.push(label, key, own, show(value, self.units));
    }

    fn words(&mut self, label: &'static str, key: &str, words: &str) {
        self.push(label, key, None, words.to_owned());
    }

    fn push(&mut self, label: &'static str, key: &str, own: Option<&'static str>, text: String) {
        let source = (self.of)(key);
        self.figures.push(TableFigure {
            label,
            text,
            source: source.text.clone(),
            mark: source.mark,
            own,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_stands_there_with_a_mark_for_each_figure() {
        let rows = malts(Units::Metric);
        assert_eq!(rows.len(), malts::all().len());
        let pilsner = &found(rows, "PILSNER")[0];
        let figure = |label: &str| pilsner.figures.iter().find(|f| f.label == label).unwrap();
        assert_eq!(
            figure("extract, fine grind, of dry matter").text,
            "79.5–83.0 %"
        );
        assert_eq!(figure("buffering").mark, Mark::Judgement);
        assert_eq!(
            figure("usual share of a grist, at most").mark,
            Mark::CommonPractice
        );
        assert_eq!(figure("diastatic power").own, Some("diastatic_power"));
        assert_eq!(hops(Units::Metric).len(), hops::all().len());
        assert!(found(hops(Units::Us), "no such hop").is_empty());
    }

    /// Each key that is said to override a figure is a key of the grist or of a hop.
    #[test]
    fn the_keys_that_override_exist() {
        let keys: Vec<String> = crate::Document::fields()
            .into_iter()
            .map(|f| f.path)
            .collect();
        let tables = [
            ("grist", malts(Units::Metric)),
            ("hop", hops(Units::Metric)),
        ];
        for (list, entries) in tables {
            for own in entries
                .iter()
                .flat_map(|e| &e.figures)
                .filter_map(|f| f.own)
            {
                let key = format!("{list}[].{own}");
                assert!(keys.contains(&key), "{key}: {keys:?}");
            }
        }
    }
}
