//! The stage itself: from pitching wort to green beer.

use quantity::{
    AlcoholByVolume, CarbonDioxide, Caution, CellDensity, Duration, Energy, Fraction, Gravity,
    MassConcentration, Measured, Note, Ph, PitchRate, SulfurDioxide, Temperature,
};
use wort::PitchingWort;
use wort::alcohol::{CO2_PER_ETHANOL, EXTRACT_PER_ETHANOL, YEAST_PER_ETHANOL};

use crate::alcohol::{Balance, BeerFigures};
use crate::attenuation::{Aim, aim, check_wort};
use crate::error::FermentError;
use crate::kinetics::{CourseModel, HEAT_KJ_PER_G, Lived, Setting, State, Vessel, common};
use crate::notes;
use crate::oxygen::{
    OxygenReport, air_saturation, oxygen_wanted, oxygenate, report as oxygen_report,
};
use crate::pitch::{PitchReport, pitch};
use crate::plan::FermentPlan;
use crate::solver::{segments, solve};
use crate::starter::with_starter;
use crate::state::{CourseMoment, Flavour, GreenBeer};
use crate::stock::Yeast;
use crate::temperature::{CoursePoint, TemperatureCourse};

/// Moments of a course, both ends counted.
const MOMENTS: usize = 121;
/// Share of the fermentable extract that is gone when fermentation has ended.
pub(crate) const ENDED: f64 = 0.99;
/// The fewest living cells in wort that are reckoned with \[10⁶/mL\]: a
/// thousand in a millilitre, from which no beer was ever made (judgement).
const LEAST_PITCHED: f64 = 1e-3;
/// Molar masses of 4-vinylguaiacol over ferulic acid, 150.17/194.18.
pub(crate) const VINYLGUAIACOL_PER_FERULIC: f64 = 0.7734;

/// Which model a fermentation was reckoned with, and where it holds.
pub const VALIDITY: &str = "Course model: sugar uptake in the form of Engasser et al. 1981 and Gee & Ramirez 1994, growth to a ceiling of sterols and nitrogen, lag after Baranyi & Roberts 1994, temperature after Rosso et al. 1993, alcohol and CO2 by Balling's proportions. The shape of the course and the speed of the neutral ale are fitted on 19 pilot batches at 17 and 22 °C and about 12.4 °P (E. Lwele 2025; a neutral dry ale yeast, a dry lager yeast and mixtures of the two), which it follows to 0.1 °P in the median once speed, lag and attenuation are the batch's own; the other classes are calibrated on the times that practice gives at their usual temperature. It is meant for wort of 7 to 20 °P at working temperatures; elsewhere take it as a direction. From batch to batch the speed varies by 30 % and the time to half attenuation by 17 %, with a yeast that is not known well by about twice that. Flavour levels are scores around typical levels of the class, right within a factor of about 1.5; the decay of acetolactate is a working assumption. Sulfite, pH and the effect of top pressure are rough scores. Not modelled: trub, oxygen taken up later, hydrogen sulfide, change of colour.";

/// A fermentation as reckoned.
#[derive(Debug, Clone, PartialEq)]
pub struct Fermentation {
    /// Yeast needed and at hand.
    pub pitch: PitchReport,
    /// Oxygen at pitching.
    pub oxygen: OxygenReport,
    /// The course, at even steps from pitching to the end of the plan; its end alone from
    /// [`ferment_to_end`].
    pub course: Vec<CourseMoment>,
    /// When 90 % of what can ferment is gone.
    pub ninety_percent_at: Option<Duration>,
    /// When 99 % of what can ferment is gone.
    pub ended_at: Option<Duration>,
    /// Gravity at the end of the plan.
    pub final_gravity: Measured<Gravity>,
    /// Gravity where this yeast would stop in this wort, given time and warmth.
    pub expected_gravity: Gravity,
    /// Apparent attenuation at the end.
    pub apparent_attenuation: Fraction,
    /// Real attenuation at the end, by real extract.
    pub real_attenuation: Fraction,
    /// Alcohol at the end.
    pub alcohol: AlcoholByVolume,
    /// CO₂ given off in all, in solution or gone.
    pub carbon_dioxide_made: MassConcentration,
    /// The beer.
    pub beer: GreenBeer,
    /// Remarks, those of pitch and oxygen included.
    pub notes: Vec<Note>,
    /// Cautions.
    pub cautions: Vec<Caution>,
    /// The model and where it holds.
    pub validity: &'static str,
    /// What the vessel did, where one was reckoned with.
    pub vessel: Option<VesselReport>,
}

/// What a vessel and its controller did in the course of a fermentation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VesselReport {
    /// Heat that the fermentation gave off.
    pub heat: Energy,
    /// The warmest that the beer was.
    pub warmest: Temperature,
    /// The coldest.
    pub coldest: Temperature,
    /// Time that the cooling ran.
    pub cooling_time: Duration,
    /// Time that the heating ran.
    pub heating_time: Duration,
    /// Times that the controller switched.
    pub switches: usize,
}

/// Ferments a wort.
///
/// The temperature course drives a system of differential equations for yeast,
/// sugars and flavour; the final gravity is where the strain's attenuation and
/// the wort's limit put it, unless cold, alcohol or time stop it before. See
/// [`VALIDITY`] for sources and range.
///
/// ```
/// use ferment::{Aeration, CoursePoint, FermentPlan, Habits, Yeast, ferment, strain};
/// use quantity::{Altitude, Duration, Mass, Temperature};
/// # use quantity::{Bitterness, Colour, Fraction, Gravity, MassConcentration, Ph, Volume};
/// # let grams = |x: f64| MassConcentration::from_mg_per_l(1000.0 * x);
/// # let wort = wort::PitchingWort {
/// #     volume: Volume::from_l(20.0),
/// #     gravity: Gravity::from_plato(12.0),
/// #     temperature: Temperature::from_c(18.0),
/// #     ph: Ph::from_ph(5.3),
/// #     colour: Colour::from_ebc(12.0),
/// #     bitterness: Bitterness::from_ibu(30.0),
/// #     attenuation_limit: Fraction::from_ratio(0.815),
/// #     carbohydrates: wort::Carbohydrates {
/// #         simple: grams(13.0), maltose: grams(51.0), maltotriose: grams(18.0), dextrin: grams(30.0),
/// #     },
/// #     ions: water::Ions::default(),
/// #     traces: wort::Traces { fan: MassConcentration::from_mg_per_l(180.0), ..Default::default() },
/// # };
/// let plan = FermentPlan {
///     strain: strain("neutral ale")?.clone(),
///     yeast: Yeast::Dry {
///         packets: 2.0,
///         packet: Mass::from_g(11.5),
///         cells: None,
///         age: Duration::from_h(2000.0),
///         storage: Temperature::from_c(5.0),
///     },
///     starter: None,
///     pitch_rate: None,
///     pitch_temperature: Temperature::from_c(18.0),
///     pitched_after: Duration::from_h(0.5),
///     course: vec![CoursePoint { at: Duration::from_h(24.0), temperature: Temperature::from_c(20.0) }],
///     aeration: Aeration::Shaking,
///     altitude: Altitude::from_m(0.0),
///     length: Duration::from_h(10.0 * 24.0),
///     habits: Habits::default(),
/// };
/// let fermented = ferment(&plan, &wort)?;
/// assert!((fermented.alcohol.percent() - 5.0).abs() < 0.3);
/// assert!(fermented.ended_at.is_some());
/// # Ok::<(), ferment::FermentError>(())
/// ```
///
/// # Errors
/// [`FermentError`] for wort or plans that cannot be, and if the solver gives up.
pub fn ferment(plan: &FermentPlan, wort: &PitchingWort) -> Result<Fermentation, FermentError> {
    fermented(plan, wort, 0)
}

/// As [`ferment`], for those who want to know where it ends and not how it gets there:
/// the course holds its last moment alone.
///
/// # Errors
/// As [`ferment`].
pub fn ferment_to_end(
    plan: &FermentPlan,
    wort: &PitchingWort,
) -> Result<Fermentation, FermentError> {
    fermented(plan, wort, MOMENTS - 1)
}

/// The course from a moment on.
fn fermented(
    plan: &FermentPlan,
    wort: &PitchingWort,
    from: usize,
) -> Result<Fermentation, FermentError> {
    let wort = &whole(plan, wort)?;
    let ready = prepared(plan, wort)?;
    let temperatures = plan.temperatures()?;
    let model = CourseModel::new(ready.setting.clone());
    let times_h = moments_h(plan.length.h());
    let states = solve(&model, model.start(), &temperatures, &times_h)?;
    let states = states.iter().map(|x| model.read(x)).collect();
    Ok(Batch::new(plan, wort, ready, temperatures, states).result(from))
}

/// As [`ferment`], in a vessel that warms itself: the plan's temperatures are the
/// set points of its controller. The course gives the temperatures as they come
/// out at its moments; between them the controller may swing by its dead band.
///
/// # Errors
/// As [`ferment`]; [`FermentError::Impossible`] for a vessel that cannot be,
/// [`FermentError::Solver`] if its controller switches without end.
pub fn ferment_in(
    plan: &FermentPlan,
    wort: &PitchingWort,
    vessel: &Vessel,
) -> Result<Fermentation, FermentError> {
    vessel.check()?;
    let wort = &whole(plan, wort)?;
    let ready = prepared(plan, wort)?;
    let model = CourseModel::new(ready.setting.clone());
    let times_h = moments_h(plan.length.h());
    let (plato, litres) = (wort.gravity.plato(), wort.volume.l());
    let lived = vessel.live(
        &model,
        &segments(&plan.temperatures()?, plan.length.h()),
        plan.pitch_temperature.c(),
        &times_h,
        (litres, heat_capacity_kj_per_l_k(plato)),
    )?;
    let states = lived.states.iter().map(|x| model.read(x)).collect();
    let points = times_h
        .iter()
        .zip(&lived.temps_c)
        .map(|(h, c)| CoursePoint {
            at: Duration::from_h(*h),
            temperature: Temperature::from_c(*c),
        });
    let temperatures = TemperatureCourse::new(&points.collect::<Vec<_>>())?;
    let mut batch = Batch::new(plan, wort, ready, temperatures, states);
    batch.top_pressure_bar = vessel.top_pressure.bar();
    batch.vessel = Some(batch.vessel_report(&lived));
    Ok(batch.result(0))
}

/// Heat capacity of wort \[kJ/(L K)\]: 4.19 kJ/(kg K) of water, 0.02 less for each
/// degree (from memory; 3.95 at 12 °P).
fn heat_capacity_kj_per_l_k(plato: f64) -> f64 {
    let density = quantity::density::specific_gravity_from_plato(plato)
        * quantity::density::sucrose_density(0.0, 20.0)
        / 1000.0;
    (4.19 - 0.02 * plato) * density
}

/// What is known of a batch before its course is solved.
pub(crate) struct Prepared {
    pub(crate) pitch: PitchReport,
    pub(crate) oxygen: OxygenReport,
    pub(crate) aim: Aim,
    pub(crate) setting: Setting,
}

/// The wort that ferments, once plan and wort are seen to be possible: a starter
/// that goes in whole is part of it.
pub(crate) fn whole(plan: &FermentPlan, wort: &PitchingWort) -> Result<PitchingWort, FermentError> {
    plan.check()?;
    check_wort(wort)?;
    Ok(with_starter(wort, plan.starter.as_ref()))
}

/// What the course of a [`whole`] wort starts from.
pub(crate) fn prepared(plan: &FermentPlan, wort: &PitchingWort) -> Result<Prepared, FermentError> {
    let rate = plan.pitch_rate.unwrap_or(plan.strain.usual_pitch);
    let pitch = pitch(
        &plan.yeast,
        plan.starter.as_ref(),
        rate,
        wort.gravity,
        wort.volume,
    )?;
    let oxygen = oxygen(plan, wort)?;
    let aim = aim(&plan.strain, wort);
    let setting = setting(plan, wort, &pitch, &oxygen, &aim)?;
    Ok(Prepared {
        pitch,
        oxygen,
        aim,
        setting,
    })
}

/// Everything known once the course is solved.
pub(crate) struct Batch<'a> {
    pub(crate) plan: &'a FermentPlan,
    pub(crate) wort: &'a PitchingWort,
    pub(crate) aim: Aim,
    pub(crate) temperatures: TemperatureCourse,
    pub(crate) pitch: PitchReport,
    pub(crate) oxygen: OxygenReport,
    pub(crate) times_h: Vec<f64>,
    pub(crate) states: Vec<State>,
    pub(crate) top_pressure_bar: f64,
    /// Factors on esters and on fusel alcohols, by pitch and strength.
    levels: (f64, f64),
    vessel: Option<VesselReport>,
}

fn oxygen(plan: &FermentPlan, wort: &PitchingWort) -> Result<OxygenReport, FermentError> {
    let at = plan.pitch_temperature;
    let air = air_saturation(at, wort.gravity, plan.altitude)?;
    let dissolved = oxygenate(plan.aeration, at, wort.gravity, plan.altitude)?;
    let bottom = plan.strain.is_bottom_fermenting();
    let wanted = oxygen_wanted(wort.gravity, bottom, is_dry(plan));
    Ok(oxygen_report(dissolved, air, wanted, plan.aeration))
}

fn is_dry(plan: &FermentPlan) -> bool {
    matches!(plan.yeast, Yeast::Dry { .. }) && plan.starter.is_none()
}

fn setting(
    plan: &FermentPlan,
    wort: &PitchingWort,
    pitch: &PitchReport,
    oxygen: &OxygenReport,
    aim: &Aim,
) -> Result<Setting, FermentError> {
    let strain = &plan.strain;
    // 10⁹ cells in a litre are 10⁶ in a millilitre.
    let pitched = pitch.at_hand.value.billions() / wort.volume.l();
    if pitched < LEAST_PITCHED {
        return Err(FermentError::HardlyAlive {
            least: LEAST_PITCHED * 1e6,
        });
    }
    let pitched = crate::error::within(
        "cells pitched in the wort",
        CellDensity::from_millions_per_ml(pitched),
        LEAST_PITCHED,
        2e3,
    )?;
    // Yeast that has suffered starts later: twice as late with half of it dead
    // (judgement).
    let suffered = 1.0 + 2.0 * (1.0 - pitch.viability.ratio());
    let suffered = if plan.starter.is_some() {
        1.0
    } else {
        suffered
    };
    let lag_h = plan
        .habits
        .lag
        .map_or(strain.kinetics.lag_h * suffered, Duration::h);
    Ok(Setting {
        class: strain.kinetics.clone(),
        sugars: aim.sugars,
        pitched: pitched.millions_per_ml(),
        dry_yeast: is_dry(plan),
        oxygen_mg_per_l: oxygen.dissolved.mg_per_l(),
        fan_mg_per_l: wort.traces.fan.mg_per_l(),
        tolerance_g_per_l: aim.ethanol_at(strain.tolerance.ratio()),
        lag_h,
        rate: plan.habits.speed,
        wort_ph: wort.ph.ph(),
        beer_ph: beer_ph(wort),
        working_low_c: strain.working.low.c(),
    })
}

/// pH at the end of fermentation.
pub(crate) fn beer_ph(wort: &PitchingWort) -> f64 {
    common().beer_ph + common().beer_ph_slope * (wort.ph.ph() - 5.3)
}

fn moments_h(length_h: f64) -> Vec<f64> {
    let last = MOMENTS - 1;
    (0..=last)
        .map(|i| length_h * i as f64 / last as f64)
        .collect()
}

/// What the pitching rate and the gravity make of esters and of fusel alcohols, as
/// factors on the levels of the class.
pub(crate) fn by_pitch_and_strength(
    plan: &FermentPlan,
    wort: &PitchingWort,
    rate: PitchRate,
) -> (f64, f64) {
    let c = common();
    let usual = plan.strain.usual_pitch.millions_per_ml_plato();
    let crowd = (rate.millions_per_ml_plato() / usual).powf(c.pitch_exponent);
    let strength = wort.gravity.plato() / 12.0;
    (
        crowd * strength.powf(c.ester_gravity_exponent),
        crowd * strength.powf(c.fusel_gravity_exponent),
    )
}

/// Sugar cannot come back; between its steps the solver's interpolation may
/// waver by less than its tolerance, which is levelled here.
fn falling(mut states: Vec<State>, aim: &Aim) -> Vec<State> {
    let total = aim.sugars.total();
    let mut least = total;
    for state in &mut states {
        least = least.min(state.left);
        state.left = least;
        state.progress = 1.0 - least / total;
    }
    states
}

impl<'a> Batch<'a> {
    fn new(
        plan: &'a FermentPlan,
        wort: &'a PitchingWort,
        ready: Prepared,
        temperatures: TemperatureCourse,
        states: Vec<State>,
    ) -> Self {
        Self {
            plan,
            wort,
            states: falling(states, &ready.aim),
            aim: ready.aim,
            temperatures,
            levels: by_pitch_and_strength(plan, wort, ready.pitch.rate),
            pitch: ready.pitch,
            oxygen: ready.oxygen,
            times_h: moments_h(plan.length.h()),
            top_pressure_bar: 0.0,
            vessel: None,
        }
    }

    fn vessel_report(&self, lived: &Lived) -> VesselReport {
        let (end, length_h) = (self.end_state(), self.plan.length.h());
        let heat_kj = self.fermented(&end) * HEAT_KJ_PER_G * self.wort.volume.l();
        VesselReport {
            heat: Energy::from_kwh(heat_kj / 3600.0),
            warmest: Temperature::from_c(self.temperatures.warmest_c(0.0, length_h)),
            coldest: Temperature::from_c(self.temperatures.coldest_c(0.0, length_h)),
            cooling_time: Duration::from_h(lived.cooling_h),
            heating_time: Duration::from_h(lived.heating_h),
            switches: lived.switches,
        }
    }

    /// All that is told, the course from a moment on.
    fn result(self, from: usize) -> Fermentation {
        let balance = Balance::new(self.wort.gravity.plato());
        let ended_h = self.reached(ENDED);
        let course: Vec<CourseMoment> = self
            .times_h
            .iter()
            .zip(&self.states)
            .skip(from)
            .map(|(t, s)| self.moment(*t, s, &balance, ended_h))
            .collect();
        let end = self.end_state();
        let figures = balance.beer_after(self.fermented(&end));
        let beer = self.beer(&end, &figures, ended_h);
        let mut notes = self.pitch.notes.clone();
        notes.extend(self.oxygen.notes.iter().cloned());
        notes.extend(notes::all(&self, &end, &beer, ended_h));
        let original = self.wort.gravity.plato();
        Fermentation {
            ninety_percent_at: self.reached(0.90).map(Duration::from_h),
            ended_at: ended_h.map(Duration::from_h),
            final_gravity: Measured::with_sd(beer.gravity, self.gravity_sd(&figures)),
            expected_gravity: Gravity::from_plato(self.aim.expected_plato),
            apparent_attenuation: Fraction::from_ratio(1.0 - figures.apparent_plato / original),
            real_attenuation: Fraction::from_ratio(1.0 - figures.real_plato / original),
            alcohol: beer.alcohol,
            carbon_dioxide_made: MassConcentration::from_mg_per_l(self.co2_g_per_l(&end) * 1000.0),
            cautions: self.cautions(),
            course,
            beer,
            notes,
            validity: VALIDITY,
            vessel: self.vessel,
            pitch: self.pitch,
            oxygen: self.oxygen,
        }
    }

    /// The state at the end of the plan.
    fn end_state(&self) -> State {
        // The course always has its moments; the other arm cannot be reached.
        self.states.last().copied().unwrap_or(State {
            active: 0.0,
            left: self.aim.sugars.total(),
            progress: 0.0,
            esters: 0.0,
            fusels: 0.0,
            acetolactate: 0.0,
            diacetyl: 0.0,
            acetaldehyde: 0.0,
        })
    }

    /// Extract that has fermented \[g per L of wort\].
    pub(crate) fn fermented(&self, state: &State) -> f64 {
        self.aim.sugars.total() - state.left
    }

    /// CO₂ made \[g per L of wort\].
    pub(crate) fn co2_g_per_l(&self, state: &State) -> f64 {
        self.fermented(state) / EXTRACT_PER_ETHANOL * CO2_PER_ETHANOL
    }

    /// Yeast grown, dry \[g per L of wort\].
    pub(crate) fn yeast_g_per_l(&self, state: &State) -> f64 {
        self.fermented(state) / EXTRACT_PER_ETHANOL * YEAST_PER_ETHANOL
    }

    /// When a share of what can ferment is gone \[h\], by straight lines between
    /// moments: right to about a tenth of their step.
    pub(crate) fn reached(&self, share: f64) -> Option<f64> {
        let points = || self.times_h.iter().zip(&self.states);
        points()
            .zip(points().skip(1))
            .find_map(|((t0, a), (t1, b))| {
                if a.progress >= share || b.progress < share {
                    return None;
                }
                Some(t0 + (t1 - t0) * (share - a.progress) / (b.progress - a.progress))
            })
    }

    fn moment(
        &self,
        t_h: f64,
        state: &State,
        balance: &Balance,
        ended_h: Option<f64>,
    ) -> CourseMoment {
        let figures = balance.beer_after(self.fermented(state));
        let at = Duration::from_h(t_h);
        // Gas that has left does not come back when the beer is chilled.
        let gas_left_at = match ended_h.filter(|ended_h| *ended_h < t_h) {
            Some(ended_h) => Temperature::from_c(self.temperatures.warmest_c(ended_h, t_h)),
            None => self.temperatures.at(at),
        };
        CourseMoment {
            at,
            temperature: self.temperatures.at(at),
            gravity: Gravity::from_plato(figures.apparent_plato),
            alcohol: AlcoholByVolume::from_ratio(figures.ethanol_volume_fraction),
            active_cells: CellDensity::from_millions_per_ml(state.active),
            ph: Ph::from_ph(self.ph(state)),
            sulfur_dioxide: SulfurDioxide::from_mg_per_l(self.sulfite(state)),
            carbon_dioxide: CarbonDioxide::from_g_per_l(self.co2_held(state, gas_left_at)),
            flavour: self.flavour(state),
        }
    }

    /// Sulfite from the yeast \[mg/L as SO₂\]: a score around the class's level,
    /// most of it from the first half of the attenuation.
    fn sulfite(&self, state: &State) -> f64 {
        let level = self.plan.strain.kinetics.sulfite_mg_per_l;
        level * self.wort.gravity.plato() / 12.0 * (1.0 - (1.0 - state.progress).powi(2))
    }

    pub(crate) fn flavour(&self, state: &State) -> Flavour {
        let (typical, traces) = (&self.plan.strain.typical, &self.wort.traces);
        let c = common();
        let mg = MassConcentration::from_mg_per_l;
        let pressed = (-c.pressure_slope_per_bar * self.top_pressure_bar).exp();
        let (esters, fusels) = (
            state.esters * self.levels.0 * pressed,
            state.fusels * self.levels.1 * pressed,
        );
        let swept = (-self.co2_g_per_l(state) / c.dms_half_co2_g_per_l).exp2();
        Flavour {
            ethyl_acetate: mg(typical.ethyl_acetate.mg_per_l() * esters),
            isoamyl_acetate: mg(typical.isoamyl_acetate.mg_per_l() * esters),
            isoamyl_alcohol: mg(typical.isoamyl_alcohol.mg_per_l() * fusels),
            acetaldehyde: mg(state.acetaldehyde),
            diacetyl: mg(state.diacetyl),
            diacetyl_to_come: mg(state.acetolactate),
            vinylguaiacol: mg(self.vinylguaiacol(state)),
            dms: mg(traces.dms.mg_per_l() * swept),
            iso_alpha: traces.iso_alpha,
        }
    }

    /// 4-Vinylguaiacol \[mg/L\]: what heat made, and what phenolic yeast makes of
    /// free ferulic acid, most of it early.
    fn vinylguaiacol(&self, state: &State) -> f64 {
        let ferulic = self.wort.traces.ferulic_acid.mg_per_l();
        let thermal = common().thermal_vinylguaiacol * ferulic;
        if !self.plan.strain.phenolic {
            return thermal;
        }
        let converted = self.plan.strain.typical.ferulic_conversion.ratio();
        let so_far = 1.0 - (1.0 - state.progress).powi(2);
        thermal + VINYLGUAIACOL_PER_FERULIC * converted * ferulic * so_far
    }

    /// Spread of the final gravity \[°P\]: the strain's attenuation, and half of
    /// what is still missing where the end was not reached (judgement).
    fn gravity_sd(&self, figures: &BeerFigures) -> f64 {
        let missing = (figures.apparent_plato - self.aim.expected_plato).max(0.0);
        self.aim.sd_plato.hypot(0.5 * missing)
    }

    fn cautions(&self) -> Vec<Caution> {
        let mut out = vec![Caution::CarbonDioxide];
        out.extend(self.pitch.cautions.iter().copied());
        out.extend(self.oxygen.cautions.iter().copied());
        if self.top_pressure_bar > 0.0 {
            out.push(Caution::KegPressure);
        }
        if self.plan.pitched_after.h() > notes::LATE_PITCH_H {
            out.push(Caution::StoredWort);
        }
        out.push(Caution::AlcoholLaw);
        out.sort_unstable();
        out.dedup();
        out
    }
}
