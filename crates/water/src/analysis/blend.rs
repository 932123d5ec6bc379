//! Several waters in one.

use quantity::{Alkalinity, Chlorine, Duration, Measured, Note, Quantity, Spread};

use super::fitness;
use crate::check;
use crate::error::WaterError;
use crate::state::{Germs, Ions, SourceShare, SourceWater};

/// How far the shares may miss a whole.
const SHARES_MAY_MISS: f64 = 0.005;

/// One water out of all of them.
pub(super) fn blend(sources: &[SourceShare]) -> Result<SourceWater, WaterError> {
    let parts = checked(sources)?;
    if let [only] = sources {
        return Ok(only.water.clone());
    }
    let names: Vec<&str> = sources.iter().map(|s| s.water.name.as_str()).collect();
    let drawn = || sources.iter().filter(|s| s.share.ratio() > 0.0);
    Ok(SourceWater {
        ions: parts.iter().fold(Ions::default(), |sum, (part, water)| {
            sum.plus(water.ions.times(*part))
        }),
        alkalinity: mix(&parts, |w| Some(w.alkalinity)).unwrap_or(Alkalinity::default()),
        // pH does not mix linearly.
        total_chlorine: mix_measured(&parts, |w| Some(w.total_chlorine)),
        free_chlorine: sources
            .iter()
            .any(|s| s.water.free_chlorine.is_some())
            .then(|| mix_measured(&parts, |w| w.free_chlorine)),
        nitrite: mix(&parts, |w| w.nitrite),
        iron: mix(&parts, |w| w.iron),
        manganese: mix(&parts, |w| w.manganese),
        copper: mix(&parts, |w| w.copper),
        lead: mix(&parts, |w| w.lead),
        arsenic: mix(&parts, |w| w.arsenic),
        fluoride: mix(&parts, |w| w.fluoride),
        zinc: mix(&parts, |w| w.zinc),
        dissolved_solids: mix(&parts, |w| w.dissolved_solids),
        // What dilution does not mend is that of the worst source.
        e_coli: germs(drawn().map(|s| s.water.e_coli)),
        origin: drawn().map(|s| s.water.origin).max().unwrap_or_default(),
        notice: drawn().filter_map(|s| s.water.notice).max(),
        smell: drawn().filter_map(|s| s.water.smell).max(),
        test_age: oldest(drawn().map(|s| s.water.test_age)),
        ..SourceWater::named(names.join(" + "))
    })
}

/// Remarks about sources that are above a limit which the blend does not show.
pub(super) fn hidden_by_dilution(sources: &[SourceShare], blend: &SourceWater) -> Vec<Note> {
    sources
        .iter()
        .filter(|s| s.share.ratio() > 0.0)
        .flat_map(|s| fitness::hidden(&s.water, blend))
        .collect()
}

/// Each source with its part of the whole.
fn checked(sources: &[SourceShare]) -> Result<Vec<(f64, &SourceWater)>, WaterError> {
    if sources.is_empty() {
        return Err(WaterError::NoSource);
    }
    for source in sources {
        check::within(check::Of(source.water.name.as_str(), "share"), source.share)?;
        check::source(&source.water)?;
    }
    let sum: f64 = sources.iter().map(|s| s.share.ratio()).sum();
    if (sum - 1.0).abs() > SHARES_MAY_MISS {
        return Err(WaterError::Shares {
            sum_percent: 100.0 * sum,
        });
    }
    Ok(sources
        .iter()
        .map(|s| (s.share.ratio() / sum, &s.water))
        .collect())
}

/// The mean by parts; none where a source that takes part does not know it.
fn mix<Q: Quantity>(
    parts: &[(f64, &SourceWater)],
    get: impl Fn(&SourceWater) -> Option<Q>,
) -> Option<Q> {
    let present = parts.iter().filter(|(part, _)| *part > 0.0);
    let terms: Option<Vec<f64>> = present
        .map(|(part, water)| get(water).map(|q| part * q.canonical()))
        .collect();
    terms.map(|terms| Q::from_canonical(terms.iter().sum()))
}

/// Found in one is found in all; absent only where looked for in each.
fn germs(each: impl Iterator<Item = Option<Germs>> + Clone) -> Option<Germs> {
    if each.clone().any(|g| g == Some(Germs::Found)) {
        return Some(Germs::Found);
    }
    each.min().flatten()
}

/// The oldest test; none where one source was never tested.
fn oldest(mut each: impl Iterator<Item = Option<Duration>>) -> Option<Duration> {
    let first = each.next()??;
    each.try_fold(first, |oldest, age| {
        age.map(|age| if age > oldest { age } else { oldest })
    })
}

/// The mean by parts, what is not known counting as none; spreads in quadrature.
fn mix_measured(
    parts: &[(f64, &SourceWater)],
    get: impl Fn(&SourceWater) -> Option<Measured<Chlorine>>,
) -> Measured<Chlorine> {
    let known: Vec<(f64, Measured<Chlorine>)> = parts
        .iter()
        .filter_map(|(part, water)| get(water).map(|chlorine| (*part, chlorine)))
        .collect();
    let value = known.iter().map(|(part, c)| part * c.canonical()).sum();
    let variance: f64 = known.iter().map(|(part, c)| (part * c.sd()).powi(2)).sum();
    let unstated = known.iter().all(|(_, c)| c.spread == Spread::Unstated);
    Measured {
        value: Chlorine::from_mg_per_l(value),
        spread: if unstated {
            Spread::Unstated
        } else {
            Spread::Sd(variance.sqrt())
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Fraction, Iron};

    fn water(total: &str, free: Option<&str>) -> SourceWater {
        SourceWater {
            alkalinity: Alkalinity::from_meq_per_l(2.0),
            total_chlorine: total.parse().unwrap(),
            free_chlorine: free.map(|f| f.parse().unwrap()),
            iron: Some(Iron::from_mg_per_l(0.2)),
            ..SourceWater::named("w")
        }
    }

    fn share(share: f64, water: SourceWater) -> SourceShare {
        SourceShare {
            water,
            share: Fraction::from_ratio(share),
        }
    }

    #[test]
    fn spreads_add_in_quadrature_by_share() {
        let a = share(0.6, water("2.0 ± 0.5 mg/L", None));
        let b = share(0.4, water("1.0 ± 1.0 mg/L", None));
        let mixed = blend(&[a, b]).unwrap();
        assert!((mixed.total_chlorine.value.mg_per_l() - 1.6).abs() < 1e-12);
        assert!(
            (mixed.total_chlorine.sd() - 0.5).abs() < 1e-12,
            "0.3 and 0.4 make 0.5"
        );
        assert_eq!(mixed.free_chlorine, None);
    }

    #[test]
    fn a_source_without_a_free_reading_brings_none() {
        let a = share(0.5, water("2 mg/L", Some("1 mg/L")));
        let b = share(0.5, water("2 mg/L", None));
        let free = blend(&[a, b]).unwrap().free_chlorine.unwrap();
        assert!((free.value.mg_per_l() - 0.5).abs() < 1e-12);
    }

    #[test]
    fn shares_must_be_a_whole() {
        let two = |a, b| {
            blend(&[
                share(a, water("0 mg/L", None)),
                share(b, water("0 mg/L", None)),
            ])
        };
        assert!(two(0.5, 0.504).is_ok());
        let message = two(0.5, 0.4).unwrap_err().to_string();
        assert!(message.contains("90.0 %"), "{message}");
        assert_eq!(blend(&[]).unwrap_err(), WaterError::NoSource);
    }

    #[test]
    fn what_one_source_does_not_know_the_blend_does_not() {
        let mut other = water("0 mg/L", None);
        other.iron = None;
        let known = blend(&[
            share(0.5, water("0 mg/L", None)),
            share(0.5, water("0 mg/L", None)),
        ]);
        assert!((known.unwrap().iron.unwrap().mg_per_l() - 0.2).abs() < 1e-12);
        let half = blend(&[share(0.5, water("0 mg/L", None)), share(0.5, other)]);
        assert_eq!(half.unwrap().iron, None);
    }
}
