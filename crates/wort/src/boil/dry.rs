//! What dry hops do to bitterness: they bring oxidised alpha-acids and strip some of the
//! iso-alpha-acids.

use quantity::{Bitterness, Fraction, MassConcentration, Measured, Note, Source, Spread};

use crate::plan::{HopTime, WortPlan};

use super::figures::{FIGURES, Known};

/// Below this a beer loses very little of its iso-alpha-acids to dry hops \[mg/L\] (notes
/// of a hop merchant in Brauwelt International, 2017, read).
const HARDLY_STRIPPED_MG_PER_L: f64 = 20.0;
/// The most that was tried: 6 lb a barrel \[g/L\] (the same).
const TRIED_G_PER_L: f64 = 23.2;

/// What dry hops do to the bitterness that was reckoned.
#[derive(Debug, Clone, PartialEq)]
pub struct DryHopped {
    /// Dry hops to a litre.
    pub dose: MassConcentration,
    /// Humulinones, the oxidised alpha-acids that they bring.
    pub humulinones: Measured<MassConcentration>,
    /// Alpha-acids that they bring.
    pub alpha: Measured<MassConcentration>,
    /// Share of the iso-alpha-acids that goes with the spent hops.
    pub stripped: Measured<Fraction>,
    /// Bitterness that a laboratory would read.
    pub measured: Measured<Bitterness>,
    /// Bitterness as it tastes, in units of iso-alpha-acids.
    pub tasted: Measured<Bitterness>,
}

/// A low, a middle and a high figure.
type Three = [f64; 3];

impl DryHopped {
    /// None without dry hops.
    pub(super) fn of(plan: &WortPlan, litres: f64, bitterness_ibu: f64) -> Option<Self> {
        let dry = plan.hops.iter().filter(|h| h.when == HopTime::DryHop);
        let (mass_mg, alpha_mg) = dry.fold((0.0, 0.0), |(mass, alpha), hop| {
            let mg = hop.mass.g() * 1000.0;
            (mass + mg, alpha + mg * hop.alpha.ratio())
        });
        if mass_mg <= 0.0 {
            return None;
        }
        let figures = &*FIGURES;
        let dose = mass_mg / litres;
        let humulinones = product(
            three(&figures.humulinones_in_hops),
            three(&figures.humulinones_dissolve),
        )
        .map(|share| share * dose);
        let alpha = three(&figures.alpha_dissolves).map(|share| share * alpha_mg / litres);
        let stripped = stripped(dose / 1000.0, bitterness_ibu);
        let kept = |[low, middle, high]: Three| {
            [1.0 - high, 1.0 - middle, 1.0 - low].map(|share| share * bitterness_ibu)
        };
        let with = |humulinones_count: &Known, alpha_counts: &Known| {
            let from_humulinones = product(humulinones, three(humulinones_count));
            let from_alpha = product(alpha, three(alpha_counts));
            sum(kept(stripped), sum(from_humulinones, from_alpha))
        };
        Some(Self {
            dose: MassConcentration::from_mg_per_l(dose),
            humulinones: ranged(humulinones, MassConcentration::from_mg_per_l),
            alpha: ranged(alpha, MassConcentration::from_mg_per_l),
            stripped: ranged(stripped, Fraction::from_ratio),
            measured: ranged(
                with(&figures.humulinones_count, &figures.alpha_counts),
                Bitterness::from_ibu,
            ),
            tasted: ranged(
                with(&figures.humulinones_taste, &figures.alpha_tastes),
                Bitterness::from_ibu,
            ),
        })
    }

    /// Where the figures come from.
    #[must_use]
    pub fn sources() -> Vec<Source> {
        let figures = &*FIGURES;
        [
            &figures.humulinones_in_hops,
            &figures.humulinones_dissolve,
            &figures.alpha_dissolves,
            &figures.iso_alpha_stripped,
            &figures.stripping_dose,
            &figures.humulinones_count,
            &figures.alpha_counts,
            &figures.humulinones_taste,
            &figures.alpha_tastes,
        ]
        .map(Known::source)
        .into()
    }

    pub(super) fn note(&self) -> Note {
        let dose = self.dose.mg_per_l() / 1000.0;
        let beyond = if dose > TRIED_G_PER_L {
            "; it is more than was tried in the measurements behind this"
        } else {
            ""
        };
        let (low, high) = (self.measured.lower().ibu(), self.measured.upper().ibu());
        let strips = if self.stripped.upper().ratio() > 0.0 {
            ", and strip some of these"
        } else {
            ""
        };
        Note::fine(format!(
            "{dose:.1} g/L of dry hops change the bitterness that a laboratory reads: {low:.0} to {high:.0} IBU is likely. They bring humulinones, two thirds as bitter as iso-alpha-acids{strips} (Maye et al., as quoted in 2017; Parkin & Shellhammer 2017){beyond}"
        ))
    }
}

/// Share of the iso-alpha-acids stripped: s·(1 − e^(−dose/d)), s from none to its most; it
/// grows from none at the bitterness at which hardly any is lost to the whole at twice
/// that (judgement).
fn stripped(dose_g_per_l: f64, bitterness_ibu: f64) -> Three {
    if bitterness_ibu <= HARDLY_STRIPPED_MG_PER_L {
        return [0.0; 3];
    }
    let reach = -(-dose_g_per_l / FIGURES.stripping_dose.value).exp_m1();
    let above = 2.0 * (1.0 - HARDLY_STRIPPED_MG_PER_L / bitterness_ibu);
    three(&FIGURES.iso_alpha_stripped).map(|share| share * reach * above.min(1.0))
}

fn three(known: &Known) -> Three {
    [known.low, known.value, known.high]
}

fn product(a: Three, b: Three) -> Three {
    let [a0, a1, a2] = a;
    let [b0, b1, b2] = b;
    [a0 * b0, a1 * b1, a2 * b2]
}

fn sum(a: Three, b: Three) -> Three {
    let [a0, a1, a2] = a;
    let [b0, b1, b2] = b;
    [a0 + b0, a1 + b1, a2 + b2]
}

fn ranged<Q>([low, value, high]: Three, make: impl Fn(f64) -> Q) -> Measured<Q> {
    Measured {
        value: make(value),
        spread: Spread::Range { low, high },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Notes of a hop merchant in Brauwelt International, 2017 (read): much dry hop
    /// strips a bitter beer and hardly one of 20 mg/L; the most of it with the first two
    /// pounds a barrel.
    #[test]
    fn dry_hops_strip_bitter_beers() {
        let pound = 3.865;
        let most = |pounds: f64, ibu: f64| stripped(pounds * pound, ibu)[2];
        assert!(most(2.0, 20.0).abs() < 1e-12);
        assert!(most(2.0, 48.0) > 0.8 * most(6.0, 48.0));
        assert!(most(6.0, 48.0) <= 0.38 + 1e-12);
        assert!(most(1.0, 30.0) < most(1.0, 45.0));
    }
}
