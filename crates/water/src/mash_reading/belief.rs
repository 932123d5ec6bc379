//! What is believed of a mash: malts, model and meter together.

use quantity::{Buffering, Measured, Note, Ph, PhShift, TitratableAcidity};

use super::stage::{Stage, Stages};
use super::{Learned, Mash, Reading, cooled};
use crate::error::WaterError;
use crate::mash_ph::{AcidMalt, Balance, MaltAcidity, constants, model_sd};

/// Rounds of linearising at the most probable values; four or five suffice.
const ROUNDS: usize = 25;
const CLOSE_ENOUGH: f64 = 1e-10;
/// Standard deviations from which a reading is surprising.
const SURPRISING: f64 = 3.0;
/// Standard deviations from which it is the meter, not the mash (judgement).
const NOT_TO_BE_BELIEVED: f64 = 6.0;

/// The most probable values of all that is unknown, and their covariance.
///
/// In this order: each malt's distilled-water pH; each malt's ln of buffering over
/// its figure; the ln common to all buffering; each acidulated malt's acidity
/// \[mEq/kg\]; what the model misses \[pH\]; the meter's calibration \[its standard
/// deviation\]; the fall of mash pH with temperature \[1/K\].
pub(super) struct Belief<'a> {
    mash: &'a Mash,
    prior: Gaussian,
    posterior: Gaussian,
    /// How far each reading that counts lies off the prediction, in standard
    /// deviations, and by how much \[pH\].
    off: Vec<(f64, f64)>,
}

/// A normal distribution.
#[derive(Debug, Clone, PartialEq)]
struct Gaussian {
    mean: Vec<f64>,
    covariance: Vec<Vec<f64>>,
}

/// Where the values of one kind begin.
#[derive(Clone, Copy)]
struct Places {
    malts: usize,
    acid_malts: usize,
}

/// What a meter saw: the mash at that moment, linearly in the unknowns.
struct Seen<'a> {
    reading: &'a Reading,
    stage: &'a Stage,
}

impl<'a> Belief<'a> {
    pub(super) fn after(
        mash: &'a Mash,
        readings: &[Reading],
        counts: &[bool],
        stages: &Stages,
    ) -> Result<Self, WaterError> {
        let seen: Vec<Seen<'_>> = readings
            .iter()
            .zip(stages.at_reading())
            .zip(counts)
            .filter(|(_, counts)| **counts)
            .map(|((reading, stage), _)| Seen { reading, stage })
            .collect();
        let prior = prior(mash, stages.now());
        let mut belief = Self {
            mash,
            posterior: prior.clone(),
            prior,
            off: vec![],
        };
        for one in &seen {
            let (expected, gradient) = belief.expected(one)?;
            let variance = belief.prior.variance(&gradient) + cooled::own_sd(one.reading).powi(2);
            let off = cooled::at_temperature(one.reading) - expected;
            belief.off.push((off / variance.sqrt(), off));
        }
        for _ in 0..ROUNDS {
            if belief.round(&seen)? < CLOSE_ENOUGH {
                break;
            }
        }
        Ok(belief)
    }

    /// Linearises at the present values, starts from the prior, and takes in one
    /// reading after the other; says by how much the values moved.
    fn round(&mut self, seen: &[Seen<'_>]) -> Result<f64, WaterError> {
        let at = self.posterior.mean.clone();
        let mut next = self.prior.clone();
        for one in seen {
            let (expected, gradient) = self.expected(one)?;
            let moved: f64 = gradient
                .iter()
                .zip(next.mean.iter().zip(&at))
                .map(|(g, (now, at))| g * (now - at))
                .sum();
            let residual = cooled::at_temperature(one.reading) - expected - moved;
            next.take_in(&gradient, residual, cooled::own_sd(one.reading).powi(2));
        }
        let change = next.mean.iter().zip(&at).map(|(a, b)| (a - b).abs());
        let most = change.fold(0.0, f64::max);
        self.posterior = next;
        Ok(most)
    }

    /// What a meter is expected to show, the electrode's slope put right, and how
    /// that goes with the unknowns.
    fn expected(&self, seen: &Seen<'_>) -> Result<(f64, Vec<f64>), WaterError> {
        let places = self.places();
        let (ph, mut gradient) = self.state(seen.stage)?;
        let (k, sd) = (
            cooled::above_cooled(seen.reading),
            cooled::meter_sd(seen.reading),
        );
        let value = |at: usize| self.posterior.mean.get(at).copied().unwrap_or_default();
        put(&mut gradient, places.meter(), sd);
        put(&mut gradient, places.per_k(), -k);
        let shown = ph + sd * value(places.meter()) - k * value(places.per_k());
        Ok((shown, gradient))
    }

    /// The pH of a stage at the most probable values, and how it goes with each
    /// unknown: dpH/dx of the balance, by its implicit derivative.
    fn state(&self, stage: &Stage) -> Result<(f64, Vec<f64>), WaterError> {
        let places = self.places();
        let malts = self.malts();
        let balance = self.balance(stage)?;
        let ph = balance.solve()?;
        let slope = balance.slope(ph);
        let mut gradient = vec![0.0; places.all()];
        let mut common = 0.0;
        for (n, malt) in malts.iter().enumerate() {
            let meq_per_ph = malt.mass.kg() * malt.buffer.value.meq_per_kg_ph();
            let by_ln = -meq_per_ph * (ph - malt.ph_di.value.ph()) / slope;
            put(&mut gradient, n, meq_per_ph / slope);
            put(&mut gradient, places.ln_buffer(n), by_ln);
            common += by_ln;
        }
        put(&mut gradient, places.ln_common(), common);
        let known = stage.acid_malts.iter().take(places.acid_malts);
        for (n, malt) in known.enumerate() {
            put(&mut gradient, places.acidity(n), -malt.mass.kg() / slope);
        }
        put(&mut gradient, places.model(), 1.0);
        Ok((ph + self.missed(), gradient))
    }

    fn balance(&self, stage: &Stage) -> Result<Balance, WaterError> {
        let places = self.places();
        let acid_malts: Vec<AcidMalt> = stage
            .acid_malts
            .iter()
            .enumerate()
            .map(|(n, malt)| {
                let given = malt.acidity.value.meq_per_kg();
                let acidity = self.posterior.mean.get(places.acidity(n)).copied();
                // One that is only thought of has the acid that its sack says.
                let known = n < places.acid_malts;
                let acidity = acidity.filter(|_| known).unwrap_or(given).max(0.0);
                AcidMalt {
                    mass: malt.mass,
                    acidity: Measured::exactly(TitratableAcidity::from_meq_per_kg(acidity)),
                }
            })
            .collect();
        Balance::of(self.mash.tun, &self.malts(), &acid_malts, &stage.liquor)
    }

    /// The malts at the most probable values.
    fn malts(&self) -> Vec<MaltAcidity> {
        let places = self.places();
        let value = |at: usize| self.posterior.mean.get(at).copied().unwrap_or_default();
        let one = |(n, malt): (usize, &MaltAcidity)| {
            let ln = value(places.ln_buffer(n)) + value(places.ln_common());
            let buffer = malt.buffer.value.meq_per_kg_ph() * ln.exp();
            MaltAcidity {
                mass: malt.mass,
                ph_di: Measured::exactly(Ph::from_ph(value(n))),
                buffer: Measured::exactly(Buffering::from_meq_per_kg_ph(buffer)),
            }
        };
        self.mash.malts.iter().enumerate().map(one).collect()
    }

    /// Where a stage stands, a cooled sample of it.
    pub(super) fn ph(&self, stage: &Stage) -> Result<Measured<Ph>, WaterError> {
        let (ph, gradient) = self.state(stage)?;
        Ok(Measured::with_sd(
            Ph::from_ph(ph),
            self.posterior.variance(&gradient).max(0.0).sqrt(),
        ))
    }

    /// Base still wanted to bring a stage to a pH \[mEq\]; negative where acid is.
    pub(super) fn base_wanted(&self, stage: &Stage, ph: Ph) -> Result<f64, WaterError> {
        Ok(self.balance(stage)?.deficit(self.of_balance(ph).ph()))
    }

    /// The pH at which the balance stands when the mash stands at a pH: apart by what
    /// the model misses.
    pub(super) fn of_balance(&self, ph: Ph) -> Ph {
        Ph::from_ph(ph.ph() - self.missed())
    }

    /// dpH per mEq of base \[pH/mEq\] of a stage.
    pub(super) fn ph_per_meq(&self, stage: &Stage, ph: Ph) -> Result<f64, WaterError> {
        Ok(1.0 / self.balance(stage)?.slope(self.of_balance(ph).ph()))
    }

    /// The mash that it is about.
    pub(super) fn mash(&self) -> &Mash {
        self.mash
    }

    /// Whether a reading is so far from what was expected that nothing should rest on it.
    pub(super) fn is_not_to_be_believed(&self) -> bool {
        self.off
            .iter()
            .any(|(sds, _)| sds.abs() >= NOT_TO_BE_BELIEVED)
    }

    /// A remark on a reading that nobody would have expected.
    pub(super) fn surprise(&self) -> Option<Note> {
        let worst = self
            .off
            .iter()
            .max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))?;
        (worst.0.abs() > SURPRISING).then(|| {
            Note::look(format!(
                "A reading lies {:+.2} from what was expected, {:.1} standard deviations: check the \
                 meter in fresh buffer, stir and sample again, and look whether malt, water and \
                 additions are those of the plan.",
                worst.1,
                worst.0.abs()
            ))
        })
    }

    /// What the readings taught of the grist.
    pub(super) fn learned(&self) -> Learned {
        let places = self.places();
        let mut offset = vec![0.0; places.all()];
        let meq_per_ph = |malt: &MaltAcidity| malt.mass.kg() * malt.buffer.value.meq_per_kg_ph();
        let all: f64 = self.mash.malts.iter().map(meq_per_ph).sum();
        for (n, malt) in self.mash.malts.iter().enumerate() {
            put(&mut offset, n, meq_per_ph(malt) / all);
        }
        put(&mut offset, places.model(), 1.0);
        let moved = self.posterior.mean.iter().zip(&self.prior.mean);
        let value: f64 = offset
            .iter()
            .zip(moved)
            .map(|(w, (a, b))| w * (a - b))
            .sum();
        let sd = self.posterior.variance(&offset).max(0.0).sqrt();
        Learned {
            offset: Measured::with_sd(PhShift::from_ph(value), sd),
            buffering: self.buffering(&self.posterior, &self.malts()),
            buffering_before: self.buffering(&self.prior, &self.mash.malts),
            malts: self.learned_malts(),
        }
    }

    /// The buffering of the grist, malts as given.
    fn buffering(&self, belief: &Gaussian, malts: &[MaltAcidity]) -> Measured<Buffering> {
        let places = self.places();
        let kg: f64 = malts.iter().map(|m| m.mass.kg()).sum();
        let mut gradient = vec![0.0; places.all()];
        let mut value = 0.0;
        for (n, malt) in malts.iter().enumerate() {
            let part = malt.mass.kg() * malt.buffer.value.meq_per_kg_ph() / kg;
            put(&mut gradient, places.ln_buffer(n), part);
            value += part;
        }
        put(&mut gradient, places.ln_common(), value);
        Measured::with_sd(
            Buffering::from_meq_per_kg_ph(value),
            belief.variance(&gradient).max(0.0).sqrt(),
        )
    }

    fn learned_malts(&self) -> Vec<MaltAcidity> {
        let places = self.places();
        let sd_of = |at: &[usize]| {
            let mut gradient = vec![0.0; places.all()];
            at.iter().for_each(|at| put(&mut gradient, *at, 1.0));
            self.posterior.variance(&gradient).max(0.0).sqrt()
        };
        let malts = self.malts();
        let one = |(n, malt): (usize, &MaltAcidity)| {
            let buffer = malt.buffer.value;
            let ln_sd = sd_of(&[places.ln_buffer(n), places.ln_common()]);
            MaltAcidity {
                mass: malt.mass,
                ph_di: Measured::with_sd(malt.ph_di.value, sd_of(&[n])),
                buffer: Measured::with_sd(buffer, buffer.meq_per_kg_ph() * ln_sd),
            }
        };
        malts.iter().enumerate().map(one).collect()
    }

    fn missed(&self) -> f64 {
        let at = self.places().model();
        self.posterior.mean.get(at).copied().unwrap_or_default()
    }

    fn places(&self) -> Places {
        Places {
            malts: self.mash.malts.len(),
            acid_malts: self.prior.mean.len() - 2 * self.mash.malts.len() - 4,
        }
    }
}

/// What is thought before any reading; `last` has all acidulated malt in it.
fn prior(mash: &Mash, last: &Stage) -> Gaussian {
    let c = constants();
    let ln_sd = |m: &MaltAcidity| {
        let b = m.buffer.value.meq_per_kg_ph();
        if b > 0.0 { m.buffer.sd() / b } else { 0.0 }
    };
    let malts = mash.malts.iter();
    let ph = malts.clone().map(|m| (m.ph_di.value.ph(), m.ph_di.sd()));
    let buffer = malts.map(|m| (0.0, ln_sd(m)));
    let acid = last
        .acid_malts
        .iter()
        .map(|m| (m.acidity.value.meq_per_kg(), m.acidity.sd()));
    let rest = [
        (0.0, model_sd(&mash.malts, &mash.acid_malts)),
        (0.0, 1.0),
        (c.ph_per_k.value, c.ph_per_k_sd.value),
    ];
    Gaussian::independent(
        ph.chain(buffer)
            .chain([(0.0, c.ln_buffering_sd.value)])
            .chain(acid)
            .chain(rest)
            .collect(),
    )
}

impl Places {
    const fn ln_buffer(self, n: usize) -> usize {
        self.malts + n
    }

    const fn ln_common(self) -> usize {
        2 * self.malts
    }

    const fn acidity(self, n: usize) -> usize {
        2 * self.malts + 1 + n
    }

    const fn model(self) -> usize {
        2 * self.malts + 1 + self.acid_malts
    }

    const fn meter(self) -> usize {
        self.model() + 1
    }

    const fn per_k(self) -> usize {
        self.model() + 2
    }

    const fn all(self) -> usize {
        self.model() + 3
    }
}

impl Gaussian {
    fn independent(values: Vec<(f64, f64)>) -> Self {
        let n = values.len();
        let mut covariance = vec![vec![0.0; n]; n];
        for (at, (_, sd)) in values.iter().enumerate() {
            if let Some(row) = covariance.get_mut(at) {
                put(row, at, sd * sd);
            }
        }
        Self {
            mean: values.into_iter().map(|(mean, _)| mean).collect(),
            covariance,
        }
    }

    /// The covariance with each unknown of a sum with these weights.
    fn times(&self, weights: &[f64]) -> Vec<f64> {
        let dot = |row: &Vec<f64>| row.iter().zip(weights).map(|(a, b)| a * b).sum();
        self.covariance.iter().map(dot).collect()
    }

    fn variance(&self, weights: &[f64]) -> f64 {
        let by = self.times(weights);
        by.iter().zip(weights).map(|(a, b)| a * b).sum()
    }

    /// Takes in a reading whose gradient is known, by the rule of Bayes for normal
    /// distributions.
    fn take_in(&mut self, gradient: &[f64], residual: f64, noise: f64) {
        let by = self.times(gradient);
        let total: f64 = by.iter().zip(gradient).map(|(a, b)| a * b).sum::<f64>() + noise;
        for (mean, by) in self.mean.iter_mut().zip(&by) {
            *mean += by * residual / total;
        }
        for (row, a) in self.covariance.iter_mut().zip(&by) {
            for (cell, b) in row.iter_mut().zip(&by) {
                *cell -= a * b / total;
            }
        }
    }
}

fn put(values: &mut [f64], at: usize, value: f64) {
    if let Some(cell) = values.get_mut(at) {
        *cell = value;
    }
}
