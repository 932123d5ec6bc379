//! Malts, adjuncts, sugars and malt extracts: generic classes, overridden by the
//! figures of a data sheet.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use quantity::{
    Buffering, Colour, DiastaticPower, Duration, Fraction, HotWaterExtract, Mark, MassFraction,
    Measured, Ph, Quantity, Source, Spread, density, nearest,
};

use crate::error::{WortError, check};

const FILE: &str = "malts.toml";

/// What a fermentable is to the brewhouse.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Malted grain: mashed.
    Malt,
    /// Unmalted grain: mashed, lives on the enzymes of the malt.
    Adjunct,
    /// Sugar or syrup: into the kettle.
    Sugar,
    /// Dried or liquid malt extract: into the kettle.
    MaltExtract,
}

impl Kind {
    /// True for grain, which goes into the mash.
    #[must_use]
    pub const fn is_mashed(self) -> bool {
        matches!(self, Self::Malt | Self::Adjunct)
    }
}

/// How much ferulic acid a warm rest frees from a grain, in steps; no rate data
/// were at hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FerulicClass {
    /// Pale barley malts.
    High,
    /// Darker kilned malts, oats, rye.
    Mid,
    /// Wheat, whose ferulic acid is freed mostly in fermentation; crystal malts.
    Low,
    /// Roasted malts, starches, sugars.
    None,
}

impl FerulicClass {
    /// The class as a share of what pale barley malt frees (judgement).
    #[must_use]
    pub const fn relative(self) -> f64 {
        match self {
            Self::High => 1.0,
            Self::Mid => 0.6,
            Self::Low => 0.25,
            Self::None => 0.0,
        }
    }
}

/// A malt, adjunct, sugar or malt extract with its figures.
#[derive(Debug, Clone, PartialEq)]
pub struct Fermentable {
    /// Name.
    pub name: String,
    /// What it is to the brewhouse.
    pub kind: Kind,
    /// Extract of the dry matter in the laboratory mash, fine grind.
    pub extract: Measured<Fraction>,
    /// How much less the coarse grind gives, of the dry matter.
    pub fine_coarse_difference: Fraction,
    /// Water in it.
    pub moisture: Measured<Fraction>,
    /// Colour of its laboratory wort.
    pub colour: Measured<Colour>,
    /// Diastatic power.
    pub diastatic_power: Measured<DiastaticPower>,
    /// Mash pH in distilled water; none where it has no say in the mash.
    pub mash_ph: Option<Measured<Ph>>,
    /// Buffering; none where it has no say in the mash.
    pub buffering: Option<Measured<Buffering>>,
    /// S-methylmethionine, as the dimethyl sulfide it can become.
    pub smm: Measured<MassFraction>,
    /// Free amino nitrogen of the laboratory wort, of the dry matter; none: as malt
    /// usually has it.
    pub amino_nitrogen: Option<MassFraction>,
    /// Protein, of the dry matter.
    pub protein: Option<Fraction>,
    /// Kolbach index: soluble of total protein.
    pub kolbach: Option<Fraction>,
    /// Whether the fine–coarse difference is its own and not that of its class.
    pub difference_known: bool,
    /// How long ago it was malted, if known.
    pub malted: Option<Duration>,
    /// How long ago it was crushed, if known.
    pub crushed: Option<Duration>,
    /// Ferulic acid it frees in a warm rest.
    pub ferulic: FerulicClass,
    /// Usual upper share of the grist.
    pub max_share: Fraction,
    /// Share of its extract that brewing yeast takes, for what is not mashed.
    pub fermentable: Option<Measured<Fraction>>,
    /// Where the figures come from.
    pub source: Source,
}

/// The ways in which a data sheet states extract.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ExtractFigure {
    /// Fine grind, of the dry matter.
    FineDry(Fraction),
    /// Coarse grind, of the dry matter.
    CoarseDry(Fraction),
    /// Coarse grind, of the malt as it is.
    CoarseAsIs(Fraction),
    /// Hot water extract of the malt as it is.
    LitreDegrees(HotWaterExtract),
}

/// What a person's data sheet says; what it leaves out stays as the class has it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Datasheet {
    /// Extract.
    pub extract: Option<ExtractFigure>,
    /// Fine less coarse grind, of the dry matter.
    pub fine_coarse_difference: Option<Fraction>,
    /// Moisture.
    pub moisture: Option<Fraction>,
    /// Colour.
    pub colour: Option<Colour>,
    /// Diastatic power.
    pub diastatic_power: Option<DiastaticPower>,
    /// Mash pH in distilled water, with how well it was read.
    pub mash_ph: Option<Measured<Ph>>,
    /// Buffering, with how well it is known.
    pub buffering: Option<Measured<Buffering>>,
    /// S-methylmethionine as dimethyl sulfide.
    pub smm: Option<MassFraction>,
    /// Free amino nitrogen of the laboratory wort, of the dry matter.
    pub amino_nitrogen: Option<MassFraction>,
    /// Protein, of the dry matter.
    pub protein: Option<Fraction>,
    /// Kolbach index: soluble of total protein.
    pub kolbach: Option<Fraction>,
    /// How long ago it was malted.
    pub malted: Option<Duration>,
    /// How long ago it was crushed.
    pub crushed: Option<Duration>,
    /// Share of the extract that yeast takes, for what is not mashed.
    pub fermentable: Option<Fraction>,
}

/// All generic classes.
#[must_use]
pub fn all() -> &'static [Fermentable] {
    TABLE.rows.as_slice()
}

/// The generic class of a name, or of another name for it; case does not matter.
///
/// # Errors
/// [`WortError::UnknownFermentable`], with the nearest name.
pub fn find(name: &str) -> Result<Fermentable, WortError> {
    let names = || TABLE.names.iter();
    let wanted = name.trim().to_lowercase();
    // Mostly it is written as the table has it.
    let row = names()
        .find(|(n, _)| n == name)
        .or_else(|| names().find(|(n, _)| n.to_lowercase() == wanted));
    row.and_then(|(_, i)| TABLE.rows.get(*i))
        .cloned()
        .ok_or_else(|| WortError::UnknownFermentable {
            name: name.to_owned(),
            nearest: nearest(&wanted, TABLE.names.iter().map(|(n, _)| n.as_str())),
        })
}

/// Where a figure of a generic class comes from, by its key in the table.
#[must_use]
pub fn source_of<'m>(class: &'m Fermentable, key: &str) -> &'m Source {
    TABLE.sources.get(key).unwrap_or(&class.source)
}

impl Fermentable {
    /// Extract of the malt as it is, coarse grind \[–\]: (x − Δ)(1 − M), with x
    /// the fine-grind extract and Δ the fine–coarse difference of the dry matter,
    /// and M the moisture.
    #[must_use]
    pub fn extract_as_is(&self) -> Fraction {
        let coarse = self.extract.value.ratio() - self.fine_coarse_difference.ratio();
        Fraction::from_ratio(coarse.max(0.0) * (1.0 - self.moisture.value.ratio()))
    }

    /// Overrides the class by the figures of a data sheet.
    ///
    /// # Errors
    /// [`WortError::Impossible`] for figures outside what a solid can have.
    pub fn with(mut self, sheet: &Datasheet) -> Result<Self, WortError> {
        set(&mut self.moisture, sheet.moisture);
        set(&mut self.colour, sheet.colour);
        set(&mut self.diastatic_power, sheet.diastatic_power);
        set(&mut self.smm, sheet.smm);
        self.amino_nitrogen = sheet.amino_nitrogen.or(self.amino_nitrogen);
        self.protein = sheet.protein.or(self.protein);
        self.kolbach = sheet.kolbach.or(self.kolbach);
        self.difference_known |= sheet.fine_coarse_difference.is_some();
        self.malted = sheet.malted.or(self.malted);
        self.crushed = sheet.crushed.or(self.crushed);
        self.mash_ph = sheet.mash_ph.or(self.mash_ph);
        self.buffering = sheet.buffering.or(self.buffering);
        self.fermentable = sheet
            .fermentable
            .map(Measured::exactly)
            .or(self.fermentable);
        self.fine_coarse_difference = sheet
            .fine_coarse_difference
            .unwrap_or(self.fine_coarse_difference);
        if let Some(figure) = sheet.extract {
            self.extract = Measured::exactly(self.fine_dry(figure));
        }
        self.check()?;
        Ok(self)
    }

    fn fine_dry(&self, figure: ExtractFigure) -> Fraction {
        let difference = self.fine_coarse_difference.ratio();
        let dry = 1.0 - self.moisture.value.ratio();
        let of_dry = |as_is: Fraction| as_is.ratio() / dry + difference;
        Fraction::from_ratio(match figure {
            ExtractFigure::FineDry(x) => x.ratio(),
            ExtractFigure::CoarseDry(x) => x.ratio() + difference,
            ExtractFigure::CoarseAsIs(x) => of_dry(x),
            ExtractFigure::LitreDegrees(x) => of_dry(extract_of_litre_degrees(x)),
        })
    }

    pub(crate) fn check(&self) -> Result<(), WortError> {
        check(
            "extract",
            self.extract.value.ratio() * 100.0,
            "%",
            1.0,
            100.0,
        )?;
        check(
            "moisture",
            self.moisture.value.ratio() * 100.0,
            "%",
            0.0,
            60.0,
        )?;
        check("colour", self.colour.value.ebc(), "EBC", 0.0, 5000.0)?;
        check("SMM", self.smm.value.mg_per_kg(), "mg/kg", 0.0, 100.0)?;
        let difference = self.fine_coarse_difference.ratio() * 100.0;
        check("fine–coarse difference", difference, "%", 0.0, 15.0)?;
        let lintner = self.diastatic_power.value.lintner();
        check("diastatic power", lintner, "°Lintner", 0.0, 1000.0)?;
        if let Some(fan) = self.amino_nitrogen {
            check(
                "amino nitrogen of malt",
                fan.mg_per_kg(),
                "mg/kg",
                0.0,
                5000.0,
            )?;
        }
        for (what, share, least, most) in [
            ("protein of malt", self.protein, 5.0, 25.0),
            ("Kolbach index", self.kolbach, 15.0, 70.0),
        ] {
            if let Some(share) = share {
                check(what, share.ratio() * 100.0, "%", least, most)?;
            }
        }
        Ok(())
    }
}

/// Extract as a share of the malt as it is \[–\] from its hot water extract.
///
/// The laboratory wort of the Institute of Brewing holds 50 g of malt in 515 mL
/// (from memory), 10.3 L/kg; its gravity follows from the litre-degrees, and its
/// extract from the sucrose table.
#[must_use]
pub fn extract_of_litre_degrees(hot_water_extract: HotWaterExtract) -> Fraction {
    const LITRES_PER_KG: f64 = 10.3;
    let points = hot_water_extract.litre_degrees_per_kg() / LITRES_PER_KG;
    let plato = density::plato_from_specific_gravity(1.0 + points / 1000.0);
    let kg_per_l = crate::mix::density_kg_per_l(plato, 20.0) * plato / 100.0;
    Fraction::from_ratio(kg_per_l * LITRES_PER_KG)
}

fn set<Q: Quantity>(figure: &mut Measured<Q>, sheet: Option<Q>) {
    if let Some(value) = sheet {
        *figure = Measured::exactly(value);
    }
}

struct Table {
    /// Of the figures that have another source than their row.
    sources: BTreeMap<String, Source>,
    rows: Vec<Fermentable>,
    names: Vec<(String, usize)>,
}

static TABLE: LazyLock<Table> = LazyLock::new(|| {
    let file: File = quantity::data::builtin(FILE, include_str!("../data/malts.toml"));
    let source = |(key, row): (String, SourceRow)| {
        let mark = quantity::data::mark(FILE, &key, &row.mark);
        let text = row.source;
        (key, Source { text, mark })
    };
    let mut table = Table {
        sources: file.figures.into_iter().map(source).collect(),
        rows: Vec::new(),
        names: Vec::new(),
    };
    for row in file.fermentable {
        let index = table.rows.len();
        let names = std::iter::once(&row.name).chain(&row.also);
        table.names.extend(names.map(|n| (n.clone(), index)));
        table.rows.push(row.read());
    }
    table
});

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    figures: BTreeMap<String, SourceRow>,
    fermentable: Vec<Row>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct SourceRow {
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    name: String,
    #[serde(default)]
    also: Vec<String>,
    kind: KindWord,
    extract: [f64; 2],
    #[serde(default)]
    difference: f64,
    moisture: [f64; 2],
    colour: [f64; 2],
    #[serde(default)]
    diastatic: [f64; 2],
    ph: Option<[f64; 2]>,
    buffering: Option<[f64; 2]>,
    #[serde(default)]
    smm: [f64; 2],
    ferulic: FerulicWord,
    max_share: f64,
    fermentable: Option<[f64; 2]>,
    source: String,
    mark: String,
}

#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum KindWord {
    Malt,
    Adjunct,
    Sugar,
    #[serde(rename = "malt extract")]
    MaltExtract,
}

#[derive(serde::Deserialize)]
#[serde(rename_all = "lowercase")]
enum FerulicWord {
    High,
    Mid,
    Low,
    None,
}

impl Row {
    fn read(self) -> Fermentable {
        let mark: Mark = quantity::data::mark(FILE, &self.name, &self.mark);
        Fermentable {
            kind: match self.kind {
                KindWord::Malt => Kind::Malt,
                KindWord::Adjunct => Kind::Adjunct,
                KindWord::Sugar => Kind::Sugar,
                KindWord::MaltExtract => Kind::MaltExtract,
            },
            extract: range(self.extract, 0.01),
            fine_coarse_difference: Fraction::from_ratio(self.difference / 100.0),
            moisture: range(self.moisture, 0.01),
            colour: range(self.colour, 1.0),
            diastatic_power: range(self.diastatic, 1.0),
            mash_ph: self.ph.map(|r| range(r, 1.0)),
            buffering: self.buffering.map(|r| range(r, 1.0)),
            smm: range(self.smm, 1.0),
            amino_nitrogen: None,
            protein: None,
            kolbach: None,
            difference_known: false,
            malted: None,
            crushed: None,
            ferulic: match self.ferulic {
                FerulicWord::High => FerulicClass::High,
                FerulicWord::Mid => FerulicClass::Mid,
                FerulicWord::Low => FerulicClass::Low,
                FerulicWord::None => FerulicClass::None,
            },
            max_share: Fraction::from_ratio(self.max_share / 100.0),
            fermentable: self.fermentable.map(|r| range(r, 0.01)),
            source: Source {
                text: self.source,
                mark,
            },
            name: self.name,
        }
    }
}

/// The middle of a pair of the table with its ends kept.
pub(crate) fn range<Q: Quantity>([low, high]: [f64; 2], factor: f64) -> Measured<Q> {
    let (low, high) = (low * factor, high * factor);
    Measured {
        value: Q::from_canonical(f64::midpoint(low, high)),
        spread: Spread::Range { low, high },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_sound() {
        let rows = all();
        assert!(rows.len() >= 34);
        for row in rows {
            row.check().unwrap();
            assert!(row.moisture.value.ratio() < 0.3, "{}", row.name);
            assert!(!row.source.text.is_empty());
            assert_eq!(
                row.kind.is_mashed(),
                row.fermentable.is_none(),
                "{}",
                row.name
            );
            for spread in [row.extract.spread, row.moisture.spread, row.colour.spread] {
                assert!(matches!(spread, Spread::Range { low, high } if low <= high));
            }
        }
        let mut names: Vec<String> = TABLE.names.iter().map(|(n, _)| n.to_lowercase()).collect();
        names.sort();
        let count = names.len();
        names.dedup();
        assert_eq!(names.len(), count, "a name stands twice");
    }

    #[test]
    fn names_are_found_and_slips_are_pointed_at() {
        assert_eq!(find("Lager Malt").unwrap().name, "pilsner malt");
        let error = find("pilsnar malt").unwrap_err();
        assert!(error.to_string().contains("\"pilsner malt\""), "{error}");
        assert!(
            find("gravel")
                .unwrap_err()
                .to_string()
                .contains("table of names")
        );
    }

    #[test]
    fn a_data_sheet_overrides_only_what_it_states() {
        let class = find("pale ale malt").unwrap();
        let sheet = Datasheet {
            extract: Some(ExtractFigure::CoarseAsIs(Fraction::from_ratio(0.76))),
            moisture: Some(Fraction::from_ratio(0.035)),
            ..Datasheet::default()
        };
        let malt = class.clone().with(&sheet).unwrap();
        assert!((malt.extract_as_is().ratio() - 0.76).abs() < 1e-12);
        assert_eq!(malt.colour, class.colour);
        let wrong = Datasheet {
            moisture: Some(Fraction::from_ratio(0.9)),
            ..sheet
        };
        assert!(matches!(
            class.with(&wrong),
            Err(WortError::Impossible {
                what: "extract" | "moisture",
                ..
            })
        ));
    }

    /// 80 % by mass is 308.5 L°/kg: teaching material of the Institute of Brewing
    /// and Distilling on extract recovery, as quoted on study cards (read).
    #[test]
    fn litre_degrees_agree_with_the_institutes_teaching() {
        let x = extract_of_litre_degrees(HotWaterExtract::from_litre_degrees_per_kg(308.5));
        assert!((x.ratio() - 0.80).abs() < 0.000_6, "{}", x.ratio());
    }
}
