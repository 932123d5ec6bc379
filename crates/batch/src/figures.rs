//! The figures that tell a batch in few words: two or three a stage for the
//! stream, more for what an edit moved. Each says how it is reckoned.

use quantity::{Measured, Quantity, Units, show};

use crate::aim::Figure;
use crate::sign::Stage;
use crate::stream::Reckoning;

/// A figure of a stage.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyFigure {
    /// The stage it belongs to.
    pub stage: Stage,
    /// A key, stable between reckonings.
    pub key: &'static str,
    /// What it is, in a word or two.
    pub label: &'static str,
    /// The figure, printed.
    pub text: Figure,
    /// Whether the stream shows it; the others only speak when they move.
    pub shown: bool,
    /// How it is reckoned, with the source.
    pub how: &'static str,
}

/// A figure that an edit moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// The figure before.
    pub before: KeyFigure,
    /// The same after.
    pub after: KeyFigure,
}

impl Reckoning {
    /// The figures, from tap to glass.
    #[must_use]
    pub fn figures(&self) -> Vec<KeyFigure> {
        let mut figures = Vec::new();
        water(self, &mut figures);
        mash(self, &mut figures);
        boil(self, &mut figures);
        ferment(self, &mut figures);
        package(self, &mut figures);
        glass(self, &mut figures);
        figures
    }

    /// What differs from an earlier reckoning, as it is printed.
    #[must_use]
    pub fn moved_from(&self, earlier: &Self) -> Vec<Moved> {
        let before = earlier.figures();
        self.figures()
            .into_iter()
            .filter_map(|after| {
                let before = before.iter().find(|b| b.key == after.key)?;
                (before.text.metric != after.text.metric).then(|| Moved {
                    before: before.clone(),
                    after,
                })
            })
            .collect()
    }
}

struct At<'f> {
    stage: Stage,
    figures: &'f mut Vec<KeyFigure>,
}

impl At<'_> {
    fn put(
        &mut self,
        key: &'static str,
        label: &'static str,
        text: Figure,
        shown: bool,
        how: &'static str,
    ) {
        self.figures.push(KeyFigure {
            stage: self.stage,
            key,
            label,
            text,
            shown,
            how,
        });
    }
}

fn plain<Q: Quantity>(value: Q) -> Figure {
    Figure::of(&Measured::exactly(value))
}

fn measured<Q: Quantity>(value: &Measured<Q>) -> Figure {
    Figure::of(value)
}

fn words(text: &str, value: f64) -> Figure {
    Figure {
        value,
        sd: 0.0,
        metric: text.to_owned(),
        us: text.to_owned(),
    }
}

fn water(r: &Reckoning, figures: &mut Vec<KeyFigure>) {
    let mut at = At {
        stage: Stage::Water,
        figures,
    };
    at.put(
        "draw",
        "draw",
        plain(r.volumes.total_water),
        true,
        "Water and extract balanced by mass from the fermenter back through every loss, at 20 °C.",
    );
    let left = &r.water.mash.chlorine;
    at.put("chlorine_left", "chlorine left", plain(left.total()), true,
        "Total chlorine of the blended tap less what the dose can reduce (stoichiometry), or what stays after standing or boiling.");
    let dose = r
        .water
        .dechlorination
        .dose
        // None is advised for a water that must not be used.
        .filter(|_| r.water.tap.verdict.usable())
        .map_or_else(|| words("none", 0.0), |d| plain(d.total));
    at.put(
        "dechlorination_dose",
        "dose against chlorine",
        dose,
        false,
        "Volume × total chlorine × stoichiometric ratio × (1 + excess) / purity.",
    );
    at.put(
        "sulfur_dioxide",
        "SO2 left, at most",
        plain(r.water.mash.sulfur_dioxide_at_most),
        false,
        "The part of the dose that even the least plausible chlorine leaves over, as SO2.",
    );
    at.put(
        "residual_alkalinity",
        "residual alkalinity at the tap",
        plain(r.water.tap.residual_alkalinity),
        false,
        "Alkalinity − calcium/3.5 − magnesium/7 in mEq/L (Kolbach 1953, from memory).",
    );
    at.put(
        "mash_calcium",
        "calcium in the mash liquor",
        plain(r.water.mash.ions.calcium),
        false,
        "Blend of the sources and the salts given.",
    );
}

fn mash(r: &Reckoning, figures: &mut Vec<KeyFigure>) {
    let mut at = At {
        stage: Stage::Mash,
        figures,
    };
    if let Some(read) = &r.reading {
        at.put("mash_ph", "pH, read", measured(&read.ph), true,
            "Prediction and readings together (Bayes, all linear): ± is one standard deviation. Reads as a cooled sample.");
    } else if let Some(ph) = &r.mash_ph {
        at.put("mash_ph", "pH", measured(&ph.ph), true,
            "Proton balance of malt, water and acid; ± is one standard deviation from malt data, buffering and model. Reads as a cooled sample.");
    }
    if let Some(heat) = &r.mash.heat {
        at.put("strike", "strike water", plain(heat.strike_temperature), true,
            "Heat balance of grain, water and tun (heat capacity of grist by Pauls & Whites Brewing Room Book, read as quoted).");
    }
    at.put(
        "kettle",
        "kettle full",
        plain(r.volumes.pre_boil.volume),
        true,
        "Washing model of the grain bed by mass, run by run.",
    );
    at.put(
        "kettle_gravity",
        "gravity in the kettle",
        plain(r.volumes.pre_boil.gravity),
        false,
        "Extract of the grist × conversion, less what stays with the grain.",
    );
    if let Some(limit) = &r.mash.attenuation_limit {
        at.put("attenuation_limit", "limit of attenuation", plain(limit.value), false,
            "Starch, enzymes and sugars followed along the temperatures of the mash; the rates are fitted to measured limits at 65, 70, 75 and 80 °C (J. Chandrasekhar, read as quoted).");
    }
}

fn boil(r: &Reckoning, figures: &mut Vec<KeyFigure>) {
    let wort = &r.boil.wort;
    let mut at = At {
        stage: Stage::Boil,
        figures,
    };
    at.put("original_gravity", "original gravity", plain(wort.gravity), true,
        "Extract kept through the boil, water less steam; specific gravity by the ICUMSA sucrose table.");
    at.put("bitterness", "bitterness", plain(wort.bitterness), true,
        "Isomerisation and loss by Malowicki & Shellhammer 2005 over the whole temperature history, then losses in kettle and cellar.");
    at.put(
        "colour",
        "colour",
        measured(&r.boil.report.colour.wort),
        true,
        "Morey 1995 from the colours of the grist, right within about a quarter. The fit was made to beers: it holds an hour's boil and what the fermentation takes; a longer or shorter boil changes it.",
    );
    at.put("dms", "dimethyl sulfide", plain(wort.traces.dms), false,
        "First-order decay of its precursor and stripping with the steam (Wilson & Booer 1979; Dickenson 1979).");
}

fn ferment(r: &Reckoning, figures: &mut Vec<KeyFigure>) {
    let f = &r.fermentation;
    let mut at = At {
        stage: Stage::Ferment,
        figures,
    };
    let cells = format!(
        "{:.0} of {:.0} bn",
        f.pitch.at_hand.value.billions(),
        f.pitch.needed.billions()
    );
    at.put(
        "cells",
        "cells",
        words(&cells, f.pitch.ratio),
        true,
        "Living cells at hand against pitching rate × gravity × volume.",
    );
    let ends = f.ended_at.map_or_else(
        || words("not in time", f64::MAX),
        |t| words(&format!("day {:.0}", t.h() / 24.0), t.h()),
    );
    at.put("ends", "ends", ends, true, f.validity);
    at.put(
        "final_gravity",
        "final gravity",
        measured(&f.final_gravity),
        true,
        f.validity,
    );
    at.put(
        "oxygen",
        "oxygen at pitching",
        plain(f.oxygen.dissolved),
        false,
        "Air saturation by Benson & Krause 1984, lowered by the extract.",
    );
}

fn package(r: &Reckoning, figures: &mut Vec<KeyFigure>) {
    let p = &r.packaging;
    let mut at = At {
        stage: Stage::Package,
        figures,
    };
    if let Some(priming) = &p.priming {
        at.put(
            "priming",
            "priming",
            plain(priming.mass),
            true,
            "CO2 aimed at less CO2 left after the warmest time, over the sugar's yield.",
        );
    }
    if let Some(keg) = &p.keg {
        at.put(
            "keg_pressure",
            "keg pressure",
            measured(&keg.pressure),
            true,
            "Solubility of CO2 in beer in the form of Henry's law (Kaiser 2008).",
        );
    }
    let highest = p.worst.interval.upper();
    let pressure = Figure {
        value: highest.bar(),
        sd: 0.0,
        metric: format!(
            "{} at {}",
            show(highest, Units::Metric),
            show(p.worst.at, Units::Metric)
        ),
        us: format!(
            "{} at {}",
            show(highest, Units::Us),
            show(p.worst.at, Units::Us)
        ),
    };
    at.put("worst_pressure", "at most", pressure, true,
        "Gas balance of beer and head space with all priming sugar and what may still ferment, in the warmest store, and two standard deviations of what is not known of it.");
    at.put(
        "safety",
        "bottle or keg",
        words(p.worst.safety.word(), f64::from(p.worst.safety as u8)),
        false,
        "The pressure against the rating of the container.",
    );
}

fn glass(r: &Reckoning, figures: &mut Vec<KeyFigure>) {
    let g = &r.glass;
    let mut at = At {
        stage: Stage::Glass,
        figures,
    };
    at.put(
        "alcohol",
        "alcohol",
        plain(g.alcohol),
        true,
        "Balling's proportions; by volume with the ethanol density of OIML R 22.",
    );
    for (key, label, shown) in [
        ("medicinal", "medicinal", true),
        ("clove", "clove", true),
        ("butter", "butter", false),
        ("banana", "banana", false),
        ("solvent", "solvent", false),
        ("cooked-corn", "cooked corn", false),
    ] {
        if let Some(risk) = g.risk(key) {
            at.put(key, label, words(risk.grade.word(), f64::from(risk.grade as u8)), shown,
                "Concentration against the threshold; medicinal is a graded bound, since the yield of chlorophenol in wort is not known.");
        }
    }
}
