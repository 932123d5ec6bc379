//! The most likely brew day for its readings.

use quantity::{
    EvaporationRate, Fraction, Gravity, Mass, Measured, Note, Quantity, Spread, Temperature,
    Volume, VolumePerMass,
};

use super::day::{Cooled, Learned, Point, Reading, Told, Update};
use super::figures::FIGURES;
use super::model::{Course, Model, PARAMETERS};
use crate::error::{WortError, check};
use crate::instruments::{HydrometerReading, read_hydrometer};
use crate::mix::{Mix, density_kg_per_l};
use crate::plan::WortPlan;
use crate::volumes::{kettle_sugars, laboratory_extract_kg};

type Vector = [f64; PARAMETERS];
type Matrix = [Vector; PARAMETERS];

/// Where the day stands, by plan and readings together.
#[derive(Debug, Clone)]
pub(super) struct Estimate {
    pub(super) course: Course,
    at: Vector,
    covariance: Matrix,
}

/// One figure that was read: where, which, and how well.
struct Seen {
    at: Point,
    is_volume: bool,
    value: f64,
    sd: f64,
}

/// Brings a reading to 20 °C.
pub(super) fn cooled(reading: &Reading, notes: &mut Vec<Note>) -> Result<Cooled, WortError> {
    let gravity = reading
        .gravity
        .map(|g| {
            read_hydrometer(&HydrometerReading {
                reading: g,
                at: reading.gravity_at,
                calibrated_at: Temperature::from_c(20.0),
                original: None,
            })
        })
        .transpose()?;
    if let Some(read) = &gravity {
        keep(notes, &read.notes);
        check("gravity read", read.gravity.value.plato(), "°P", 0.0, 45.0)?;
    }
    let temp_c = reading.volume_at.c();
    check("temperature of the volume", temp_c, "°C", 0.0, 105.0)?;
    let plato = gravity.as_ref().map_or(12.0, |g| g.gravity.value.plato());
    let shrinks = density_kg_per_l(plato, temp_c) / density_kg_per_l(plato, 20.0);
    let volume = reading.volume.filter(|_| reading.at.has_volume());
    let volume = volume
        .map(|v| {
            let litres = check("volume read", v.value.l(), "L", 1e-2, 1e5)?;
            let sd = match v.spread {
                Spread::Unstated => {
                    let marked = &crate::instruments::figures::FIGURES.marked_volume;
                    keep(notes, &[Note::fine(format!(
                        "volume is taken as ± {:.1} %: {} ({}). Write ± behind the reading to say better.",
                        100.0 * marked.value, marked.what, marked.mark
                    ))]);
                    litres * marked.value
                }
                _ => v.sd().max(litres * 1e-4),
            };
            let cold = Volume::from_l(litres * shrinks);
            Ok::<_, WortError>(Measured::with_sd(cold, sd * shrinks))
        })
        .transpose()?;
    Ok(Cooled {
        at: reading.at,
        volume,
        gravity: gravity.map(|g| g.gravity),
    })
}

fn keep(notes: &mut Vec<Note>, more: &[Note]) {
    for note in more {
        if !notes.contains(note) {
            notes.push(note.clone());
        }
    }
}

impl Point {
    /// Whether its volume says how much wort there is.
    #[must_use]
    pub fn has_volume(self) -> bool {
        !matches!(self, Self::FirstWort | Self::LastRunnings)
    }
}

/// Standard deviations of the five numbers before anything was read.
fn prior_sds(evaporation: Option<f64>) -> Vector {
    let f = &*FIGURES;
    [
        f.conversion.value,
        f.left_in_tun.value,
        f.water.value,
        evaporation.unwrap_or(f.evaporation.value),
        f.losses.value,
    ]
}

impl Estimate {
    /// Least squares over plan and readings, each by its spread: Gauss and Newton's steps
    /// from the plan, halved where they make things worse; the covariance is the
    /// inverse of the normal matrix (first order, JCGM 100:2008).
    pub(super) fn of(model: &Model<'_>, read: &[Cooled], evaporation_sd: Option<f64>) -> Self {
        Self::with(model, read, prior_sds(evaporation_sd))
    }

    /// The same by a plan that is five times as unsure.
    pub(super) fn open(model: &Model<'_>, read: &[Cooled], evaporation_sd: Option<f64>) -> Self {
        const UNSURE: f64 = 5.0;
        Self::with(model, read, prior_sds(evaporation_sd).map(|sd| UNSURE * sd))
    }

    fn with(model: &Model<'_>, read: &[Cooled], sds: Vector) -> Self {
        let seen = seen(model, read);
        let cost =
            |x: &Vector| -> f64 { residuals(model, &sds, &seen, x).iter().map(|r| r * r).sum() };
        let mut x = [1.0; PARAMETERS];
        let mut covariance = normal(model, &sds, &seen, &x).1;
        for _ in 0..20 {
            let (gradient, inverse) = normal(model, &sds, &seen, &x);
            covariance = inverse;
            let step = times(&covariance, &gradient);
            let mut part = 1.0;
            let before = cost(&x);
            let mut next = moved(&x, &step, part);
            while cost(&next) > before && part > 1e-3 {
                part /= 2.0;
                next = moved(&x, &step, part);
            }
            let size = step.iter().fold(0.0f64, |most, s| most.max(s.abs()));
            if cost(&next) > before {
                break;
            }
            x = next;
            if size < 1e-9 {
                break;
            }
        }
        Self {
            course: Course::of(x),
            at: x,
            covariance,
        }
    }

    /// A figure of the day with its spread.
    pub(super) fn figure<Q: Quantity>(
        &self,
        make: impl Fn(f64) -> Q,
        f: impl Fn(&Course) -> f64,
    ) -> Measured<Q> {
        let slope = gradient(&self.at, |x| f(&Course::of(*x)));
        let along = times(&self.covariance, &slope);
        let variance: f64 = slope.iter().zip(&along).map(|(a, b)| a * b).sum();
        Measured::with_sd(make(f(&self.course)), variance.max(0.0).sqrt())
    }

    pub(super) fn learned(&self, plan: &WortPlan, model: &Model<'_>) -> Learned {
        let laboratory = laboratory_extract_kg(plan);
        let kit = &plan.kit;
        Learned {
            conversion: self.figure(Fraction::from_ratio, |x| {
                kit.mash_conversion.ratio() * x.conversion
            }),
            into_kettle: self.figure(Fraction::from_ratio, |x| {
                model.kettle_full(x).extract_kg / laboratory
            }),
            evaporation: self.figure(EvaporationRate::from_kg_per_h, |x| {
                kit.evaporation.kg_per_h() * x.evaporation
            }),
        }
    }
}

/// Figures before and after the readings.
pub(super) struct Updates {
    pub(super) planned: Estimate,
    pub(super) open: Estimate,
    pub(super) found: Estimate,
}

impl Updates {
    fn of<Q: Quantity>(
        &self,
        make: impl Fn(f64) -> Q + Copy,
        f: impl Fn(&Course) -> f64 + Copy,
    ) -> Update<Q> {
        Update {
            planned: self.planned.figure(make, f),
            open: self.open.figure(make, f),
            found: self.found.figure(make, f),
        }
    }

    pub(super) fn told(&self, plan: &WortPlan, model: &Model<'_>) -> Told {
        let laboratory = laboratory_extract_kg(plan);
        let (kit, grain_kg) = (&plan.kit, plan.grain_kg().max(1e-9));
        let planned = Course::of([1.0; PARAMETERS]);
        let water_l = |x: &Course| model.kettle_full(x).water_kg / density_kg_per_l(0.0, 20.0);
        let planned_l = water_l(&planned);
        Told {
            conversion: self.of(Fraction::from_ratio, |x| {
                kit.mash_conversion.ratio() * x.conversion
            }),
            into_kettle: self.of(Fraction::from_ratio, |x| {
                model.kettle_full(x).extract_kg / laboratory
            }),
            absorption: self.of(VolumePerMass::from_l_per_kg, |x| {
                kit.absorption.l_per_kg() + (planned_l - water_l(x)) / grain_kg
            }),
            evaporation: self.of(EvaporationRate::from_kg_per_h, |x| {
                kit.evaporation.kg_per_h() * x.evaporation
            }),
            losses: self.of(Volume::from_l, |x| model.losses_l(x)),
            kettle_full: self.of(Volume::from_l, |x| model.kettle_full(x).volume_l()),
            volume: self.of(Volume::from_l, |x| model.fermenter(x, true).volume_l()),
            original_gravity: self.of(Gravity::from_plato, |x| model.fermenter(x, true).plato()),
            grain: Mass::from_kg(plan.grain_kg()),
            kettle_hops: Mass::from_kg(plan.kettle_hop_kg()),
        }
    }
}

fn seen(model: &Model<'_>, read: &[Cooled]) -> Vec<Seen> {
    let mut seen = Vec::new();
    for one in read {
        if let Some(volume) = one.volume {
            seen.push(Seen {
                at: one.at,
                is_volume: true,
                value: volume.value.l(),
                sd: volume.sd().max(1e-6),
            });
        }
        if let Some(gravity) = one.gravity {
            let plato = gravity.value.plato();
            let model_sd = match one.at {
                Point::LastRunnings if model.mixed => FIGURES.last_runnings_model.value * plato,
                // The outlet of an uneven bed says nothing of what is left in it.
                Point::LastRunnings => continue,
                _ => 0.0,
            };
            seen.push(Seen {
                at: one.at,
                is_volume: false,
                value: plato,
                sd: gravity.sd().hypot(model_sd).max(1e-6),
            });
        }
    }
    seen
}

fn reckoned(model: &Model<'_>, seen: &Seen, x: &Course) -> f64 {
    if seen.is_volume {
        model.wort_at(x, seen.at).map_or(0.0, Mix::volume_l)
    } else {
        model.plato_at(x, seen.at)
    }
}

fn residuals(model: &Model<'_>, sds: &Vector, seen: &[Seen], x: &Vector) -> Vec<f64> {
    let course = Course::of(*x);
    let prior = x.iter().zip(sds).map(|(x, sd)| (1.0 - x) / sd);
    let read = seen
        .iter()
        .map(|s| (s.value - reckoned(model, s, &course)) / s.sd);
    prior.chain(read).collect()
}

/// Jᵀr and (JᵀJ)⁻¹.
fn normal(model: &Model<'_>, sds: &Vector, seen: &[Seen], x: &Vector) -> (Vector, Matrix) {
    let mut matrix = [[0.0; PARAMETERS]; PARAMETERS];
    let mut right = [0.0; PARAMETERS];
    for (i, ((row, right), (x, sd))) in matrix
        .iter_mut()
        .zip(&mut right)
        .zip(x.iter().zip(sds))
        .enumerate()
    {
        if let Some(entry) = row.get_mut(i) {
            *entry = 1.0 / (sd * sd);
        }
        *right = (1.0 - x) / (sd * sd);
    }
    for s in seen {
        let slope = gradient(x, |x| reckoned(model, s, &Course::of(*x)) / s.sd);
        let off = (s.value - reckoned(model, s, &Course::of(*x))) / s.sd;
        for ((row, right), a) in matrix.iter_mut().zip(&mut right).zip(&slope) {
            *right += a * off;
            for (entry, b) in row.iter_mut().zip(&slope) {
                *entry += a * b;
            }
        }
    }
    (right, inverse(matrix))
}

fn gradient(x: &Vector, f: impl Fn(&Vector) -> f64) -> Vector {
    const STEP: f64 = 1e-5;
    let mut slope = [0.0; PARAMETERS];
    for (i, slope) in slope.iter_mut().enumerate() {
        let shifted = |by: f64| {
            let mut point = *x;
            if let Some(x) = point.get_mut(i) {
                *x += by;
            }
            f(&point)
        };
        *slope = (shifted(STEP) - shifted(-STEP)) / (2.0 * STEP);
    }
    slope
}

/// Relative numbers stay between a hundredth and ten times the plan.
fn moved(x: &Vector, step: &Vector, part: f64) -> Vector {
    let mut next = *x;
    for (x, step) in next.iter_mut().zip(step) {
        *x = (*x + part * step).clamp(0.01, 10.0);
    }
    next
}

fn times(matrix: &Matrix, vector: &Vector) -> Vector {
    let mut out = [0.0; PARAMETERS];
    for (out, row) in out.iter_mut().zip(matrix) {
        *out = row.iter().zip(vector).map(|(a, b)| a * b).sum();
    }
    out
}

/// Inverse of a symmetric positive matrix by Gauss and Jordan; its prior keeps the
/// diagonal away from nought, so no pivot is sought.
fn inverse(mut matrix: Matrix) -> Matrix {
    let mut out = [[0.0; PARAMETERS]; PARAMETERS];
    for (i, row) in out.iter_mut().enumerate() {
        if let Some(entry) = row.get_mut(i) {
            *entry = 1.0;
        }
    }
    for i in 0..PARAMETERS {
        let (Some(pivot_row), Some(out_row)) = (matrix.get(i).copied(), out.get(i).copied()) else {
            continue;
        };
        let pivot = pivot_row.get(i).copied().unwrap_or(1.0);
        for (k, (row, out_k)) in matrix.iter_mut().zip(&mut out).enumerate() {
            let at = row.get(i).copied().unwrap_or(0.0);
            let factor = if k == i {
                1.0 - 1.0 / pivot
            } else {
                at / pivot
            };
            for (entry, p) in row.iter_mut().zip(&pivot_row) {
                *entry -= factor * p;
            }
            for (entry, p) in out_k.iter_mut().zip(&out_row) {
                *entry -= factor * p;
            }
        }
    }
    out
}

/// Where readings cannot be together with what went in, or with each other.
pub(super) fn disagreements(plan: &WortPlan, model: &Model<'_>, read: &[Cooled]) -> Vec<Note> {
    let mut notes = Vec::new();
    let most_kg = laboratory_extract_kg(plan);
    let mut before: Option<(&Cooled, f64, f64)> = None;
    for one in read.iter().filter(|one| one.at != Point::Fermenter) {
        let (Some(v), Some(g)) = (one.volume, one.gravity) else {
            continue;
        };
        let holds = |l: f64, p: f64| Mix::from_volume(l, p).extract_kg;
        let (l, p) = (v.value.l(), g.value.plato());
        let added = model.added_before(one.at.order(model.boil_min)).extract_kg;
        let kg = holds(l, p);
        let sd = (holds(l + v.sd(), p) - kg).hypot(holds(l, p + g.sd()) - kg);
        let at = one.at.name();
        if kg - 2.0 * sd > most_kg + added {
            notes.push(Note::act(format!(
                "volume and gravity at {at} together hold {kg:.2} kg of extract, and what went in holds {:.2} kg at most: stir, cool the sample, and read both again",
                most_kg + added
            )));
        }
        let own = kg - added;
        if let Some((earlier, kg_before, sd_before)) = before
            && (own - kg_before).abs() > 2.0 * sd.hypot(sd_before)
        {
            notes.push(Note::look(format!(
                "the readings at {} and at {at} do not agree: {kg_before:.2} kg of extract then, {own:.2} kg now, and a boil neither gives nor takes any; one of them is off",
                earlier.at.name()
            )));
        }
        before = Some((one, own, sd));
    }
    if kettle_sugars(plan).extract_kg <= 0.0
        && let Some(first) = read.iter().find(|one| one.at == Point::FirstWort)
        && let Some(gravity) = first.gravity
    {
        let best = Course::of([1.0 / plan.kit.mash_conversion.ratio(), 1.0, 1.0, 1.0, 1.0]);
        let most = model.plato_at(&best, Point::FirstWort);
        if gravity.value.plato() - 2.0 * gravity.sd() > most * 1.03 {
            notes.push(Note::look(format!(
                "first wort of {} is stronger than the grist can give with so much liquor ({}): was less water drawn, or was the top of the tun sampled?",
                gravity.value,
                Gravity::from_plato(most)
            )));
        }
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_inverse_times_the_matrix_is_one() {
        let mut m = [[0.3; PARAMETERS]; PARAMETERS];
        for (i, row) in m.iter_mut().enumerate() {
            row[i] = 2.0 + i as f64;
        }
        let inverse = inverse(m);
        for i in 0..PARAMETERS {
            let mut unit = [0.0; PARAMETERS];
            unit[i] = 1.0;
            let back = times(&m, &times(&inverse, &unit));
            for (j, x) in back.iter().enumerate() {
                assert!((x - unit[j]).abs() < 1e-12, "{i} {j} {x}");
            }
        }
    }
}
