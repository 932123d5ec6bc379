//! Steering of a batch, on the course model.

use quantity::{Duration, PitchRate, Temperature};
use wort::PitchingWort;

use super::figures::{End, Figures, Scores};
use super::search::{Found, Room, Slope, Valued, best_of, reaches};
use super::wish::{Aim, Figure, Goal, Limit, Wish};
use super::{CoursePoint, Effort, FermentPlan, starts};
use crate::error::{FermentError, within};
use crate::ferment::{VALIDITY, prepared, whole};
use crate::kinetics::{CourseModel, STATES, Setting};
use crate::solver::{Over, Real, Segment, System, Tolerances, segments, solve_along};

/// Temperatures of a course; the first is the one that the beer has.
const KNOTS: usize = 6;
/// Free numbers: the other temperatures \[°C\], ln of the pitch to the planned one, and
/// the end \[d\].
pub(super) const FREE: usize = KNOTS + 1;
const LN_PITCH: usize = KNOTS - 1;
const END: usize = KNOTS;
/// What a turn of 10 K between two knots costs beside the aims, and a pitch that is e
/// times the planned one: courses that differ by no more than this are alike, and the
/// plainer is taken (judgement).
const PLAIN: f64 = 2e-3;
/// Diacetyl \[mg/L\] and share left \[%\] that an aim is weighed by (judgement).
const BUTTER_SCALE: f64 = 0.1;
const LEFT_SCALE: f64 = 2.0;

/// Limits are drawn in by this share of themselves, and twice as much counts as kept: the
/// steps of the solver make the figures waver by less.
const MARGIN: f64 = 2e-4;

type Free = Slope<FREE>;

/// One batch of those that may come: factors on what was reckoned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Member {
    pub(super) speed: f64,
    pub(super) lag: f64,
    pub(super) butter: f64,
    pub(super) level: f64,
    pub(super) exponent: f64,
}

impl Member {
    pub(super) const AS_RECKONED: Self = Self {
        speed: 1.0,
        lag: 1.0,
        butter: 1.0,
        level: 1.0,
        exponent: 0.0,
    };
}

/// A course, a pitch, and what they come to.
#[derive(Debug, Clone, PartialEq)]
pub struct Steered {
    /// The temperatures, from the moment on at which the course is free.
    pub course: Vec<CoursePoint>,
    /// Its end.
    pub end: Duration,
    /// Pitch, as a factor on the planned one.
    pub pitch: f64,
    /// The pitch itself.
    pub pitch_rate: PitchRate,
    /// What it comes to.
    pub figures: Figures,
    /// The limits of the wish that it does not keep, by their place.
    pub unmet: Vec<usize>,
    pub(super) at: [f64; FREE],
}

/// What stands against a wish: without it, all the rest could be kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Block {
    /// A limit, by its place.
    Limit(usize),
    /// The latest end.
    Days,
    /// The coldest temperature that can be had.
    Coldest,
    /// The warmest.
    Warmest,
    /// The most that it may change in an hour.
    Steepest,
    /// The room for the pitch.
    Pitch,
}

/// The best course for a wish.
#[derive(Debug, Clone, PartialEq)]
pub struct Best {
    /// The course that keeps all limits and serves the aims best; where there is none,
    /// the one that comes nearest to keeping them.
    pub steered: Steered,
    /// Whether it keeps them.
    pub kept: bool,
    /// Where it does not: what stands against it.
    pub blocks: Vec<Block>,
    /// The model and where it holds.
    pub validity: &'static str,
}

/// A small change of a course, and what it comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Its word.
    pub key: &'static str,
    /// What is changed, in words.
    pub label: &'static str,
    /// What it comes to.
    pub figures: Figures,
}

/// A batch that is to be steered.
#[derive(Debug, Clone)]
pub struct Steering {
    pub(super) wish: Wish,
    pub(super) setting: Setting,
    pub(super) scores: Scores,
    planned_rate: PitchRate,
    /// What it starts from: when, how warm, and the states, if it is not at pitching.
    from_h: f64,
    from_c: f64,
    states: Option<[f64; STATES]>,
    planned: Figures,
}

impl Steering {
    /// Of a plan, up to the moment at which it would be done as planned.
    ///
    /// # Errors
    /// As [`ferment`](crate::ferment), and [`FermentError::Impossible`] for limits,
    /// temperatures or times that cannot be.
    pub fn new(
        plan: &FermentPlan,
        wort: &PitchingWort,
        wish: Wish,
        planned_end: Duration,
    ) -> Result<Self, FermentError> {
        wish.check()?;
        let from_h = wish.from.map_or(0.0, quantity::Duration::h);
        within("planned end of the course", planned_end, 0.5, 5000.0)?;
        let wort = &whole(plan, wort)?;
        let ready = prepared(plan, wort)?;
        let planned_rate = ready.pitch.rate;
        let scores = Scores::new(plan, wort, planned_rate, ready.setting.sugars.total());
        let temperatures = plan.temperatures()?;
        let model = CourseModel::new(ready.setting.clone());
        let end_h = planned_end.h().max(from_h + 1.0);
        let times = [from_h, end_h];
        let along = segments(&temperatures, end_h);
        let solved = solve_along(&model, model.start(), &along, &times)?;
        let (now, end) = match solved.as_slice() {
            [now, end] => (*now, *end),
            _ => (model.start(), model.start()),
        };
        let planned = scores.figures(&End {
            state: &end,
            days: end_h / 24.0,
            ln_pitch: 0.0,
            level: 1.0,
            exponent: 0.0,
        });
        Ok(Self {
            planned: planned.ok_or_else(|| unsolved(from_h))?,
            setting: ready.setting,
            from_c: temperatures.temp_c(from_h),
            states: wish.from.map(|_| now),
            wish,
            scores,
            planned_rate,
            from_h,
        })
    }

    /// What the plan comes to.
    #[must_use]
    pub const fn planned(&self) -> &Figures {
        &self.planned
    }

    /// The wish.
    #[must_use]
    pub const fn wish(&self) -> &Wish {
        &self.wish
    }

    /// The course and the pitch that serve the wish best.
    ///
    /// # Errors
    /// [`FermentError::Solver`] if no course could be reckoned at all.
    pub fn best(&self, effort: Effort) -> Result<Best, FermentError> {
        let task = Task::of(&self.wish);
        let room = self.room(&task);
        let (best, ends) = self.search(&task, &room, &starts(&room, effort));
        if let Some(best) = best {
            return Ok(Best {
                steered: self.steered(&best.at)?,
                kept: true,
                blocks: Vec::new(),
                validity: VALIDITY,
            });
        }
        let nearest = ends.iter().min_by(|a, b| a.excess.total_cmp(&b.excess));
        let nearest = nearest.ok_or_else(|| unsolved(self.from_h))?;
        Ok(Best {
            steered: self.steered(&nearest.at)?,
            kept: false,
            blocks: self.blocks(&task, nearest.at),
            validity: VALIDITY,
        })
    }

    /// What a figure costs in days: for each of so many ends the course that makes it
    /// least or most, under all limits but those of that figure. Ends at which the limits
    /// cannot be kept are left out.
    #[must_use]
    pub fn curve(
        &self,
        against: (Figure, Goal),
        ends: usize,
        latest: Duration,
        effort: Effort,
    ) -> Vec<Steered> {
        let mut task = Task::of(&self.wish);
        task.limits.retain(|limit| limit.figure != against.0);
        task.end.1 = latest.h().max(self.wish.end.0.h() + 24.0);
        task.aims = vec![Aim {
            figure: Figure::Days,
            goal: Goal::Least,
            weight: 1.0,
        }];
        let room = self.room(&task);
        let few = Effort {
            starts: effort.starts.min(2),
            ..effort
        };
        let Some(soonest) = self.search(&task, &room, &starts(&room, few)).0 else {
            return Vec::new();
        };
        task.aims = vec![Aim {
            figure: against.0,
            goal: against.1,
            weight: 1.0,
        }];
        let (from, to) = (soonest.at[END] * 24.0 * 1.005, task.end.1);
        let mut near = soonest.at;
        let mut out = Vec::new();
        for i in 0..ends {
            let end_h = from + (to - from) * i as f64 / (ends.max(2) - 1) as f64;
            task.end = (end_h, end_h);
            let mut room = self.room(&task);
            near[END] = end_h / 24.0;
            room.low[END] = near[END];
            let found = self.search(&task, &room, &[near]).0;
            let found = found.or_else(|| self.search(&task, &room, &level(&room)).0);
            if let Some(found) = found {
                near = found.at;
                out.extend(self.steered(&found.at));
            }
        }
        out
    }

    /// The course that keeps the limits in a slow, buttery batch and in a fast one of
    /// high levels as well, if there is one.
    #[must_use]
    pub fn guarded(&self, near: &Steered) -> Option<Steered> {
        let mut task = Task::of(&self.wish);
        task.members = super::chance::bad_cases(self.wish.from.is_some());
        let room = self.room(&task);
        let from = [&[near.at], level(&room).as_slice()].concat();
        let found = self.search(&task, &room, &from).0?;
        self.steered(&found.at).ok()
    }

    /// What a little cooler, a little warmer, more and less yeast, and a day more and less
    /// would do to a course.
    #[must_use]
    pub fn changes(&self, of: &Steered) -> Vec<Change> {
        let warmer = |by_k: f64| {
            let mut course = of.course.clone();
            for point in course.iter_mut().skip(1) {
                let c = (point.temperature.c() + by_k).clamp(-1.0, 45.0);
                point.temperature = Temperature::from_c(c);
            }
            course
        };
        let end = of.end.h();
        let as_it_is = of.course.clone();
        let mut rows = vec![
            ("cooler", "1 K cooler", warmer(-1.0), of.pitch, end),
            ("warmer", "1 K warmer", warmer(1.0), of.pitch, end),
        ];
        if self.wish.from.is_none() {
            let more = (
                "more",
                "a quarter more yeast",
                as_it_is.clone(),
                1.25 * of.pitch,
                end,
            );
            let less = (
                "less",
                "a quarter less yeast",
                as_it_is.clone(),
                0.75 * of.pitch,
                end,
            );
            rows.extend([more, less]);
        }
        rows.push((
            "longer",
            "a day longer",
            as_it_is.clone(),
            of.pitch,
            end + 24.0,
        ));
        if end - self.from_h > 36.0 {
            rows.push(("shorter", "a day less", as_it_is, of.pitch, end - 24.0));
        }
        rows.into_iter()
            .filter_map(|(key, label, course, pitch, end_h)| {
                let figures = self.figures(&course, pitch, end_h)?;
                Some(Change {
                    key,
                    label,
                    figures,
                })
            })
            .collect()
    }

    /// What a course comes to.
    pub(super) fn figures(
        &self,
        course: &[CoursePoint],
        pitch: f64,
        end_h: f64,
    ) -> Option<Figures> {
        let ends = self.follow(course, pitch, &Member::AS_RECKONED, &[end_h])?;
        self.scores.figures(&End {
            state: ends.first()?,
            days: end_h / 24.0,
            ln_pitch: pitch.ln(),
            level: 1.0,
            exponent: 0.0,
        })
    }

    /// The states of a batch at times along a course, which is held after its end.
    pub(super) fn follow(
        &self,
        course: &[CoursePoint],
        pitch: f64,
        member: &Member,
        times_h: &[f64],
    ) -> Option<Vec<[f64; STATES]>> {
        let model = CourseModel::new(set::<f64>(&self.setting, member, pitch));
        let start = self.states.unwrap_or_else(|| model.start());
        let until_h = times_h.last().copied()?;
        solve_along(
            &Paced::on_the_clock(&model),
            start,
            &along(course, until_h),
            times_h,
        )
        .ok()
    }

    fn search(
        &self,
        task: &Task,
        room: &Room<FREE>,
        starts: &[[f64; FREE]],
    ) -> (Option<Found<FREE>>, Vec<Found<FREE>>) {
        best_of(|u| self.value(task, u), room, starts, 2.0 * MARGIN)
    }

    fn steered(&self, at: &[f64; FREE]) -> Result<Steered, FermentError> {
        let end_h = at[END] * 24.0;
        let between_h = (end_h - self.from_h) / (KNOTS - 1) as f64;
        let temps = std::iter::once(self.from_c).chain(at[..KNOTS - 1].iter().copied());
        let course: Vec<CoursePoint> = temps
            .enumerate()
            .map(|(i, c)| CoursePoint {
                at: Duration::from_h(self.from_h + i as f64 * between_h),
                temperature: Temperature::from_c(c),
            })
            .collect();
        let pitch = match self.wish.from {
            Some(_) => 1.0,
            None => at[LN_PITCH]
                .exp()
                .clamp(self.wish.pitch.0, self.wish.pitch.1),
        };
        let figures = self.figures(&course, pitch, end_h);
        let figures = figures.ok_or_else(|| unsolved(self.from_h))?;
        let limits = self.wish.limits.iter().enumerate();
        let unmet = limits.filter(|(_, limit)| !kept(limit, &figures));
        Ok(Steered {
            unmet: unmet.map(|(i, _)| i).collect(),
            end: Duration::from_h(end_h),
            pitch,
            pitch_rate: PitchRate::from_millions_per_ml_plato(
                self.planned_rate.millions_per_ml_plato() * pitch,
            ),
            course,
            figures,
            at: *at,
        })
    }

    /// The free numbers of the wish: aims and limits, with their slopes.
    fn value(&self, task: &Task, u: &[Free; FREE]) -> Option<Valued<FREE>> {
        let (ln_pitch, days) = (u[LN_PITCH], u[END]);
        let pace = (days * 24.0 - self.from_h) / (KNOTS - 1) as f64;
        let knots: Vec<Free> = std::iter::once(Free::of(self.from_c))
            .chain(u[..KNOTS - 1].iter().copied())
            .collect();
        let pairs = knots.iter().zip(knots.iter().skip(1)).enumerate();
        let stretches: Vec<Segment<Free>> = pairs
            .map(|(i, (a, b))| Segment::between((i as f64, *a), (i as f64 + 1.0, *b)))
            .collect();
        let mut aim = ln_pitch * ln_pitch * PLAIN;
        for (a, b) in knots.iter().zip(knots.iter().skip(1)) {
            let turn = (*b - *a) / 10.0;
            aim = aim + turn * turn * PLAIN;
        }
        let mut limits = Vec::new();
        let share = 1.0 / task.members.len() as f64;
        for member in &task.members {
            let setting = set(&self.setting, member, ln_pitch.exp());
            let model = CourseModel::new(setting);
            let start = self
                .states
                .map_or_else(|| model.start(), |x| x.map(Free::of));
            let paced = Paced {
                model: &model,
                pace,
            };
            let ends = solve_along(&paced, start, &stretches, &[(KNOTS - 1) as f64]).ok()?;
            let end = End {
                state: ends.first()?,
                days,
                ln_pitch,
                level: member.level,
                exponent: member.exponent,
            };
            for one in &task.aims {
                let figure = self.scores.figure(one.figure, &end)? / self.scale(one.figure);
                let sign = if one.goal == Goal::Most { -1.0 } else { 1.0 };
                aim = aim + figure * (sign * one.weight * share);
            }
            for limit in &task.limits {
                let bound = self.bound(limit);
                let off = self.scores.figure(limit.figure, &end)? - bound;
                let off = off / bound.abs().max(1e-6);
                let off = if limit.most { off } else { -off };
                limits.push(off + MARGIN);
            }
        }
        aim.is_finite().then_some(Valued { aim, limits })
    }

    /// A limit in the unit that is solved for.
    fn bound(&self, limit: &Limit) -> f64 {
        match limit.figure {
            Figure::Gravity => self.scores.left_at(limit.value),
            _ => limit.value,
        }
    }

    /// What an aim is weighed by.
    pub(super) fn scale(&self, figure: Figure) -> f64 {
        match figure {
            Figure::Diacetyl => BUTTER_SCALE,
            Figure::LeftToFerment | Figure::Gravity => LEFT_SCALE,
            other => self.planned.of(other).max(1e-3),
        }
    }

    fn room(&self, task: &Task) -> Room<FREE> {
        let range = &task.range;
        let (coldest, warmest) = (range.0, range.1);
        let soonest_h = task.end.0.max(self.from_h + 1.0);
        let latest_h = task.end.1.max(soonest_h);
        let mut room = Room {
            low: [coldest; FREE],
            high: [warmest; FREE],
            rows: Vec::new(),
        };
        (room.low[LN_PITCH], room.high[LN_PITCH]) = match self.wish.from {
            Some(_) => (0.0, 0.0),
            None => (task.pitch.0.ln(), task.pitch.1.ln()),
        };
        (room.low[END], room.high[END]) = (soonest_h / 24.0, latest_h / 24.0);
        let Some(steepest) = task.steepest_k_per_h else {
            return room;
        };
        let soonest_step = (soonest_h - self.from_h) / (KNOTS - 1) as f64;
        for knot in 0..KNOTS - 1 {
            // Beer that is warmer or colder than what can be had comes there in its time.
            let reach = steepest * soonest_step * (knot + 1) as f64;
            room.high[knot] = room.high[knot].max(self.from_c - reach);
            room.low[knot] = room.low[knot].min(self.from_c + reach);
            for sign in [1.0, -1.0] {
                // ±(T after − T before) ≤ steepest × (end − start)/5, where the end is free.
                let mut row = [0.0; FREE];
                row[knot] = sign;
                let mut bound = -steepest * self.from_h / (KNOTS - 1) as f64;
                match knot.checked_sub(1) {
                    Some(before) => row[before] = -sign,
                    None => bound += sign * self.from_c,
                }
                row[END] = -steepest * 24.0 / (KNOTS - 1) as f64;
                room.rows.push((row, bound));
            }
        }
        room
    }

    /// What stands against the limits: each that, given up, lets all the others be kept.
    fn blocks(&self, task: &Task, near: [f64; FREE]) -> Vec<Block> {
        let fits = |task: &Task| {
            let room = self.room(task);
            let from = [&[near], level(&room).as_slice()].concat();
            let any = Task {
                aims: Vec::new(),
                ..task.clone()
            };
            reaches(|u| self.value(&any, u), &room, &from, 2.0 * MARGIN)
        };
        let mut out = Vec::new();
        for i in 0..task.limits.len() {
            let mut without = task.clone();
            without.limits.remove(i);
            if fits(&without) {
                out.push(Block::Limit(i));
            }
        }
        let mut loosened = Vec::new();
        let mut later = task.clone();
        later.end.1 = (2.0 * task.end.1).min(5000.0);
        loosened.push((Block::Days, later));
        let mut colder = task.clone();
        colder.range.0 = (task.range.0 - 5.0).max(-1.0);
        loosened.push((Block::Coldest, colder));
        let mut warmer = task.clone();
        warmer.range.1 = (task.range.1 + 5.0).min(45.0);
        loosened.push((Block::Warmest, warmer));
        if task.steepest_k_per_h.is_some() {
            let mut steeper = task.clone();
            steeper.steepest_k_per_h = None;
            loosened.push((Block::Steepest, steeper));
        }
        if self.wish.from.is_none() {
            let mut free = task.clone();
            free.pitch = (0.5 * task.pitch.0, 2.0 * task.pitch.1);
            loosened.push((Block::Pitch, free));
        }
        out.extend(loosened.iter().filter(|(_, t)| fits(t)).map(|(b, _)| *b));
        out
    }
}

/// Whether figures keep a limit, to a thousandth.
pub(super) fn kept(limit: &Limit, figures: &Figures) -> bool {
    let (x, slack) = (figures.of(limit.figure), 1e-3 * limit.value.abs().max(0.1));
    if limit.most {
        x <= limit.value + slack
    } else {
        x >= limit.value - slack
    }
}

/// What a search is to do: the wish, or the wish but for something.
#[derive(Debug, Clone)]
struct Task {
    aims: Vec<Aim>,
    limits: Vec<Limit>,
    members: Vec<Member>,
    /// \[h\]
    end: (f64, f64),
    /// \[°C\]
    range: (f64, f64),
    steepest_k_per_h: Option<f64>,
    pitch: (f64, f64),
}

impl Task {
    fn of(wish: &Wish) -> Self {
        let days = Aim {
            figure: Figure::Days,
            goal: Goal::Least,
            weight: 1.0,
        };
        let aims = if wish.aims.is_empty() {
            vec![days]
        } else {
            wish.aims.clone()
        };
        Self {
            aims,
            limits: wish.limits.clone(),
            members: vec![Member::AS_RECKONED],
            end: (wish.end.0.h(), wish.end.1.h()),
            range: (wish.range.coldest.c(), wish.range.warmest.c()),
            steepest_k_per_h: wish.range.steepest.map(quantity::TemperatureDifference::k),
            pitch: wish.pitch,
        }
    }
}

/// The level course in the middle of the room.
fn level(room: &Room<FREE>) -> Vec<[f64; FREE]> {
    starts(room, Effort { starts: 1, seed: 1 })
}

fn unsolved(from_h: f64) -> FermentError {
    FermentError::Solver {
        after: Duration::from_h(from_h),
        reason: "no course of those temperatures could be reckoned".to_owned(),
    }
}

/// Straight lines through the points of a course; the last temperature is held.
fn along(course: &[CoursePoint], until_h: f64) -> Vec<Segment> {
    let place = |p: &CoursePoint| (p.at.h(), p.temperature.c());
    let mut out: Vec<Segment> = Vec::new();
    for (a, b) in course.iter().zip(course.iter().skip(1)) {
        let (a, b) = (place(a), place(b));
        if b.0 - a.0 < 1e-6 || a.0 >= until_h {
            continue;
        }
        let whole = Segment::between(a, b);
        out.push(Segment {
            to_h: b.0.min(until_h),
            ..whole
        });
    }
    let last = course.last().map(place).filter(|last| last.0 < until_h);
    out.extend(last.map(|(h, c)| Segment::between((h, c), (until_h, c))));
    out
}

/// What a batch is to the model, as a member of those that may come, with more or less
/// yeast.
fn set<T: Real>(setting: &Setting, member: &Member, pitch: T) -> Setting<T> {
    let mut class = setting.class.clone();
    class.diacetyl *= member.butter;
    Setting {
        class,
        sugars: setting.sugars,
        pitched: pitch * setting.pitched,
        dry_yeast: setting.dry_yeast,
        oxygen_mg_per_l: T::of(setting.oxygen_mg_per_l),
        fan_mg_per_l: setting.fan_mg_per_l,
        tolerance_g_per_l: setting.tolerance_g_per_l,
        lag_h: T::of(setting.lag_h * member.lag),
        rate: T::of(setting.rate * member.speed),
        wort_ph: setting.wort_ph,
        beer_ph: setting.beer_ph,
        working_low_c: setting.working_low_c,
    }
}

/// The course model on a clock of its own: so many hours for each unit of its time, so
/// that the end of a course can carry slopes. It is solved to a few parts in
/// a hundred thousand, which is far closer than the model is to any beer.
struct Paced<'m, T> {
    model: &'m CourseModel<T>,
    pace: T,
}

impl<'m> Paced<'m, f64> {
    fn on_the_clock(model: &'m CourseModel) -> Self {
        Self { model, pace: 1.0 }
    }
}

impl<T: Over<T>> System<STATES, T> for Paced<'_, T> {
    type Warmth = <CourseModel<T> as System<STATES, T>>::Warmth;

    fn warmth(&self, temp_c: T) -> Self::Warmth {
        self.model.warmth(temp_c)
    }

    fn rates<D: Over<T>>(&self, t: f64, warmth: &Self::Warmth, x: &[D; STATES]) -> [D; STATES] {
        self.model.rates(t, warmth, x).map(|rate| rate * self.pace)
    }

    fn tolerances(&self) -> Tolerances<STATES> {
        let close = self.model.tolerances();
        Tolerances {
            absolute: close.absolute.map(|x| 10.0 * x),
            relative: 3e-5,
        }
    }
}
