//! What the glass may show that was not asked for, and what moves it.

use std::sync::LazyLock;

use package::PackedBeer;
use quantity::{MassConcentration, Source};

use crate::activity::{Bound, Notice, OdourActivity};
use crate::compound::Compound;
use crate::error::{GlassError, sound};
use crate::grade::Grade;
use crate::medicinal::{Medicinal, YIELDS_UNKNOWN};

/// A flavour that may be noticed. Whether it is wanted, the aim decides.
#[derive(Debug, Clone, PartialEq)]
pub struct Risk {
    /// The key that the inquiry uses.
    pub key: String,
    /// A heading.
    pub title: String,
    /// The compound behind it, by key.
    pub compound: String,
    /// Grade of what is expected.
    pub grade: Grade,
    /// Grade of the worst case.
    pub at_most: Grade,
    /// Why, in words with the numbers.
    pub reason: String,
    /// What moves it.
    pub moves: String,
    /// Where the advice comes from.
    pub source: Source,
}

/// Total SO₂ from which beer is labelled \[mg/L\]: EU Regulation 1169/2011,
/// Annex II (as quoted); in the US from 10 ppm.
pub const SULFITE_LABEL_MG_PER_L: f64 = 10.0;
/// SO₂ that yeast itself makes \[mg/L\]: from memory.
const YEAST_SO2_MG_PER_L: (f64, f64) = (1.0, 15.0);
/// 4-Vinylguaiacol of wheat beers \[mg/L\]: from memory.
const WHEAT_BEER_MG_PER_L: (f64, f64) = (1.0, 4.0);

/// All risks of a beer, the medicinal one first.
pub(crate) fn risks(beer: &PackedBeer, medicinal: &Medicinal) -> Result<Vec<Risk>, GlassError> {
    let mut all = vec![medicinal_risk(medicinal)];
    for row in ROWS.iter() {
        all.push(activity_risk(row, beer)?);
    }
    all.push(sulfite_risk(beer)?);
    Ok(all)
}

fn medicinal_risk(medicinal: &Medicinal) -> Risk {
    let by_bound = if medicinal.at_most > medicinal.expected {
        format!(
            "; {} as expected, {} at most",
            medicinal.expected.word(),
            medicinal.at_most.word()
        )
    } else {
        String::new()
    };
    Risk {
        key: "medicinal".to_owned(),
        title: "Medicinal".to_owned(),
        compound: "2-chlorophenol".to_owned(),
        grade: medicinal.expected,
        at_most: medicinal.at_most,
        reason: format!("{}{by_bound}; {YIELDS_UNKNOWN}", medicinal.sentence),
        moves: "take chlorine and chloramine out of all the water before it meets malt (sulfite, ascorbic acid or carbon) and prove it with a total-chlorine test; boiling helps against free chlorine, not against chloramine; rinse off chlorinated cleaner, and do not top up or rinse with tap water".to_owned(),
        source: Source {
            text: "stoichiometry; WHO Guidelines for drinking-water quality (threshold in water); cut points by judgement".to_owned(),
            mark: quantity::Mark::Judgement,
        },
    }
}

fn activity_risk(row: &Row, beer: &PackedBeer) -> Result<Risk, GlassError> {
    let (expected, most) = (row.held)(beer);
    let now = OdourActivity::new(row.compound, expected, Bound::Expected)?;
    let worst = OdourActivity::new(row.compound, most, Bound::AtMost)?;
    let mut reason = in_words(&now);
    if most > expected {
        reason.push_str(&format!(
            "; what is still to come could make it {most}, {:.1} times",
            worst.typical
        ));
    }
    if row.key == "clove" {
        reason.push_str(&against_wheat_beer(expected));
    }
    Ok(Risk {
        key: row.key.clone(),
        title: row.title.clone(),
        compound: row.compound.key.clone(),
        grade: grade_of(now.notice),
        at_most: grade_of(worst.notice),
        reason,
        moves: row.moves.clone(),
        source: row.source.clone(),
    })
}

fn in_words(activity: &OdourActivity) -> String {
    let compound = activity.compound;
    format!(
        "{} of {} is {:.1} times the threshold of {} ({}); sensitive tasters notice {}",
        activity.concentration,
        compound.name,
        activity.typical,
        compound.threshold.typical,
        activity.notice.words(),
        compound.threshold.low,
    )
}

fn against_wheat_beer(held: MassConcentration) -> String {
    let (low, high) = WHEAT_BEER_MG_PER_L;
    let place = match held.mg_per_l() {
        x if x < low => "below",
        x if x <= high => "within",
        _ => "above",
    };
    format!("; that is {place} the {low:.0} to {high:.0} mg/L of wheat beers (from memory)")
}

fn grade_of(notice: Notice) -> Grade {
    match notice {
        Notice::NotNoticed => Grade::None,
        Notice::Hardly => Grade::Low,
        Notice::Secondary => Grade::Moderate,
        Notice::Primary => Grade::High,
    }
}

/// Sulfite against the label limit. The grade is that of the treatment alone;
/// the worst case allows for yeast, whose own share can pass the limit without
/// any treatment, so it is never below low (judgement).
fn sulfite_risk(beer: &PackedBeer) -> Result<Risk, GlassError> {
    let added = sound("sulfur dioxide", beer.sulfur_dioxide_at_most)?.mg_per_l();
    let (yeast_low, yeast_high) = YEAST_SO2_MG_PER_L;
    let limit = SULFITE_LABEL_MG_PER_L;
    let (grade, at_most) = match added {
        x if x >= limit => (Grade::High, Grade::High),
        x if x >= limit / 2.0 => (Grade::Moderate, Grade::High),
        x if x > 0.0 => (Grade::Low, Grade::Moderate),
        _ => (Grade::None, Grade::Low),
    };
    Ok(Risk {
        key: "sulfite".to_owned(),
        title: "Sulfite".to_owned(),
        compound: "sulfur-dioxide".to_owned(),
        grade,
        at_most,
        reason: format!(
            "treatment can have left {added:.1} mg/L of SO2 at most; yeast adds {yeast_low:.0} to {yeast_high:.0} mg/L of its own (from memory), so {:.1} to {:.1} mg/L against the {limit:.0} mg/L from which beer is labelled; only a measurement of the beer decides",
            yeast_low,
            added + yeast_high,
        ),
        moves: "dose sulfite to the chlorine that was measured, with little excess; the mash and a boil lower what is left; ascorbic acid or carbon leave none".to_owned(),
        source: Source {
            text: "EU Regulation 1169/2011, Annex II, as quoted by the Food Safety Authority of Ireland; 21 CFR 101.100(a)(4)".to_owned(),
            mark: quantity::Mark::Read,
        },
    })
}

/// What of a compound is there, and the most that there can be.
type Held = fn(&PackedBeer) -> (MassConcentration, MassConcentration);

/// A row of `data/risks.toml` with its compound.
struct Row {
    key: String,
    title: String,
    compound: &'static Compound,
    held: Held,
    moves: String,
    source: Source,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    risk: Vec<RowText>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct RowText {
    key: String,
    title: String,
    compound: String,
    moves: String,
    source: String,
    mark: String,
}

static ROWS: LazyLock<Vec<Row>> = LazyLock::new(|| {
    let file: File = quantity::data::builtin("risks.toml", include_str!("../data/risks.toml"));
    file.risk.into_iter().filter_map(row).collect()
});

/// A test holds every row to a compound that beer carries.
fn row(text: RowText) -> Option<Row> {
    Some(Row {
        compound: Compound::find(&text.compound)?,
        held: held(&text.compound)?,
        source: Source {
            text: text.source,
            mark: quantity::data::mark("risks.toml", &text.key, &text.mark),
        },
        key: text.key,
        title: text.title,
        moves: text.moves,
    })
}

fn held(compound: &str) -> Option<Held> {
    Some(match compound {
        "4-vinylguaiacol" => |b| twice(b.flavour.vinylguaiacol),
        "diacetyl" => |b| {
            let now = b.flavour.diacetyl;
            let most = now.mg_per_l() + b.flavour.diacetyl_to_come.mg_per_l();
            (now, MassConcentration::from_mg_per_l(most))
        },
        "isoamyl-acetate" => |b| twice(b.flavour.isoamyl_acetate),
        "ethyl-acetate" => |b| twice(b.flavour.ethyl_acetate),
        "isoamyl-alcohol" => |b| twice(b.flavour.isoamyl_alcohol),
        "acetaldehyde" => |b| twice(b.flavour.acetaldehyde),
        "dimethyl-sulfide" => |b| twice(b.flavour.dms),
        _ => return None,
    })
}

const fn twice(x: MassConcentration) -> (MassConcentration, MassConcentration) {
    (x, x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_of_the_file_is_used() {
        let keys: Vec<&str> = ROWS.iter().map(|row| row.key.as_str()).collect();
        assert_eq!(
            keys,
            [
                "clove",
                "butter",
                "banana",
                "solvent",
                "hot-alcohol",
                "green-apple",
                "cooked-corn"
            ]
        );
        assert!(
            ROWS.iter()
                .all(|row| !row.moves.is_empty() && !row.source.text.is_empty())
        );
    }
}
