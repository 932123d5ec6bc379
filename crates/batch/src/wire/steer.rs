//! A steered course as JSON.

use ferment::CourseMoment;
use ferment::steer::{Figure, Figures};
use quantity::{Told, Units};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::Value;

use crate::steer::{Choice, SteeredBatch, block_words, chance_words, figure_name, limit_words};
use crate::stream::Reckoning;
use crate::wire::NoteForm;
use crate::wire::reckoning::note;

/// The temperatures, the pitch and the days that serve a wish best, what the days are
/// traded for, and what small changes would do.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteeredCourse {
    /// The version of this form: "gylewright/steer/1".
    pub schema: &'static str,
    /// The wish, sentence by sentence.
    pub wish: Vec<String>,
    /// What was taken where nothing was wished.
    pub assumed: Vec<String>,
    /// Whether every limit of the wish can be kept.
    pub kept: bool,
    /// Where not: what stands against it.
    pub blocks: Vec<String>,
    /// What the plan comes to.
    pub planned: SteerFigures,
    /// The courses found: the best (or nearest) first, then the one for bad cases, then the
    /// trade-off by its days.
    pub choices: Vec<SteerChoice>,
    /// What the trade-off holds against the days.
    pub against: &'static str,
    /// What small changes of the best would come to.
    pub changes: Vec<SteerChange>,
    /// Where a running batch stands.
    pub standing: Option<SteerStanding>,
    /// The best course, moment by moment.
    pub best_course: Vec<SteerMoment>,
    /// Remarks.
    pub notes: Vec<NoteForm>,
    /// The model, what it was calibrated on, and where it holds.
    pub validity: &'static str,
    /// Where the spread of batches and the limits of a vessel come from.
    pub sources: Vec<SteerSource>,
}

/// Figures at the end of a course.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteerFigures {
    /// Days from pitching.
    pub days: f64,
    /// Diacetyl, there and to come.
    pub diacetyl_mg_per_l: f64,
    /// Isoamyl acetate.
    pub isoamyl_acetate_mg_per_l: f64,
    /// 4-Vinylguaiacol.
    pub vinylguaiacol_mg_per_l: f64,
    /// Ethyl acetate.
    pub ethyl_acetate_mg_per_l: f64,
    /// Isoamyl alcohol.
    pub isoamyl_alcohol_mg_per_l: f64,
    /// Acetaldehyde.
    pub acetaldehyde_mg_per_l: f64,
    /// Share of what can ferment that is left.
    pub left_percent: f64,
    /// Apparent extract.
    pub gravity_plato: f64,
}

/// A course that was found.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteerChoice {
    /// Its word: best, safe, or the number of a point of the trade-off.
    pub key: String,
    /// What it is.
    pub label: String,
    /// Whether it does best in bad cases.
    pub safest: bool,
    /// Its temperatures, in straight lines.
    pub course: Vec<SteerPoint>,
    /// Yeast, as a factor on what is at hand.
    pub pitch_factor: f64,
    /// The pitching rate that this is.
    pub pitch_millions_per_ml_plato: f64,
    /// What it comes to.
    pub figures: SteerFigures,
    /// One batch in ten has less of each figure.
    pub low: SteerFigures,
    /// One batch in ten has more.
    pub high: SteerFigures,
    /// How likely it keeps the whole wish at its end.
    pub keeps: f64,
    /// When nine batches in ten are ready; null where that takes a fortnight more.
    pub surely_ready_h: Option<f64>,
    /// The same in words.
    pub chances: String,
    /// Limits that it does not keep.
    pub unmet: Vec<String>,
}

/// A point of a course.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteerPoint {
    /// Time since pitching.
    pub at_h: f64,
    /// Temperature of the beer.
    pub temperature_c: f64,
}

/// A small change of the best course.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteerChange {
    /// Its word: cooler, warmer, more, less, longer, shorter.
    pub key: &'static str,
    /// What is changed.
    pub label: &'static str,
    /// What it comes to.
    pub figures: SteerFigures,
}

/// Where a running batch stands.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteerStanding {
    /// Time since pitching.
    pub now_h: f64,
    /// Gravity by the curve through the readings.
    pub gravity_plato: f64,
    /// Where it will end.
    pub end_plato: f64,
    /// Factor on the speed of its class.
    pub speed: f64,
    /// Readings that this rests on.
    pub readings: usize,
}

/// A moment of the best course.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteerMoment {
    /// Time since pitching.
    pub at_h: f64,
    /// Temperature of the beer.
    pub temperature_c: f64,
    /// Apparent extract.
    pub gravity_plato: f64,
    /// Diacetyl, there and to come.
    pub diacetyl_mg_per_l: f64,
    /// Isoamyl acetate.
    pub isoamyl_acetate_mg_per_l: f64,
    /// 4-Vinylguaiacol.
    pub vinylguaiacol_mg_per_l: f64,
    /// Isoamyl alcohol.
    pub isoamyl_alcohol_mg_per_l: f64,
}

/// Where a figure comes from.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SteerSource {
    /// The source.
    pub text: String,
    /// How it was obtained.
    pub mark: &'static str,
}

/// The JSON Schema of a [`SteeredCourse`].
#[must_use]
pub fn steer_schema() -> Value {
    super::named::<SteeredCourse>("urn:gylewright:schema:steer:1")
}

impl SteeredCourse {
    /// The form of what was found for a batch.
    #[must_use]
    pub fn of(found: &SteeredBatch, r: &Reckoning) -> Self {
        let limits = &found.limits;
        Self {
            schema: "gylewright/steer/1",
            wish: metric(&found.wish),
            assumed: metric(&found.assumed),
            kept: found.kept,
            blocks: found
                .blocks
                .iter()
                .map(|b| block_words(*b, limits, Units::Metric))
                .collect(),
            planned: figures(&found.planned),
            choices: found.choices.iter().map(|c| choice(c, found)).collect(),
            against: figure_name(found.against.0),
            changes: found
                .changes
                .iter()
                .map(|c| SteerChange {
                    key: c.key,
                    label: c.label,
                    figures: figures(&c.figures),
                })
                .collect(),
            standing: found.standing.map(|s| SteerStanding {
                now_h: s.now.h(),
                gravity_plato: s.gravity.plato(),
                end_plato: s.end.plato(),
                speed: s.speed,
                readings: s.readings,
            }),
            best_course: found.moments(r, found.best()).iter().map(moment).collect(),
            notes: found.notes.iter().map(note).collect(),
            validity: found.validity,
            sources: found
                .sources
                .iter()
                .map(|s| SteerSource {
                    text: s.text.clone(),
                    mark: s.mark.words(),
                })
                .collect(),
        }
    }
}

fn figures(of: &Figures) -> SteerFigures {
    SteerFigures {
        days: of.days,
        diacetyl_mg_per_l: of.diacetyl,
        isoamyl_acetate_mg_per_l: of.isoamyl_acetate,
        vinylguaiacol_mg_per_l: of.vinylguaiacol,
        ethyl_acetate_mg_per_l: of.ethyl_acetate,
        isoamyl_alcohol_mg_per_l: of.isoamyl_alcohol,
        acetaldehyde_mg_per_l: of.acetaldehyde,
        left_percent: of.left,
        gravity_plato: of.gravity_plato,
    }
}

fn choice(of: &Choice, found: &SteeredBatch) -> SteerChoice {
    let (steered, chances) = (&of.steered, &of.chances);
    let unmet = steered.unmet.iter().filter_map(|i| found.limits.get(*i));
    SteerChoice {
        key: of.key.clone(),
        label: of.label.clone(),
        safest: of.safest,
        course: steered
            .course
            .iter()
            .map(|p| SteerPoint {
                at_h: p.at.h(),
                temperature_c: p.temperature.c(),
            })
            .collect(),
        pitch_factor: steered.pitch,
        pitch_millions_per_ml_plato: steered.pitch_rate.millions_per_ml_plato(),
        figures: figures(&steered.figures),
        low: figures(&chances.low),
        high: figures(&chances.high),
        keeps: chances.keeps.ratio(),
        surely_ready_h: chances.surely_ready.map(quantity::Duration::h),
        chances: chance_words(chances, Units::Metric),
        unmet: unmet.map(|l| limit_words(l, Units::Metric)).collect(),
    }
}

fn moment(of: &CourseMoment) -> SteerMoment {
    let f = &of.flavour;
    SteerMoment {
        at_h: of.at.h(),
        temperature_c: of.temperature.c(),
        gravity_plato: of.gravity.plato(),
        diacetyl_mg_per_l: f.diacetyl.mg_per_l() + f.diacetyl_to_come.mg_per_l(),
        isoamyl_acetate_mg_per_l: f.isoamyl_acetate.mg_per_l(),
        vinylguaiacol_mg_per_l: f.vinylguaiacol.mg_per_l(),
        isoamyl_alcohol_mg_per_l: f.isoamyl_alcohol.mg_per_l(),
    }
}

/// The choices as a table of comma-separated values, a line each; the course of a choice
/// in its last columns.
#[must_use]
pub fn steer_csv(found: &SteeredBatch) -> String {
    const FIGURES: [(&str, Figure); 9] = [
        ("days", Figure::Days),
        ("diacetyl_mg_per_l", Figure::Diacetyl),
        ("isoamyl_acetate_mg_per_l", Figure::IsoamylAcetate),
        ("vinylguaiacol_mg_per_l", Figure::Vinylguaiacol),
        ("ethyl_acetate_mg_per_l", Figure::EthylAcetate),
        ("isoamyl_alcohol_mg_per_l", Figure::IsoamylAlcohol),
        ("acetaldehyde_mg_per_l", Figure::Acetaldehyde),
        ("left_percent", Figure::LeftToFerment),
        ("gravity_plato", Figure::Gravity),
    ];
    let points = found.choices.iter().map(|c| c.steered.course.len()).max();
    let points = points.unwrap_or(0);
    let mut head = vec![
        "key".to_owned(),
        "pitch_factor".to_owned(),
        "keeps".to_owned(),
    ];
    head.extend(FIGURES.map(|(name, _)| name.to_owned()));
    head.extend((1..=points).flat_map(|i| [format!("at_{i}_h"), format!("temperature_{i}_c")]));
    let mut lines = vec![head.join(",")];
    for c in &found.choices {
        let s = &c.steered;
        let mut cells = vec![
            c.key.clone(),
            format!("{:.4}", s.pitch),
            format!("{:.3}", c.chances.keeps.ratio()),
        ];
        cells.extend(FIGURES.map(|(_, figure)| format!("{:.4}", s.figures.of(figure))));
        let course = s.course.iter();
        cells.extend(course.flat_map(|p| {
            [
                format!("{:.2}", p.at.h()),
                format!("{:.2}", p.temperature.c()),
            ]
        }));
        lines.push(cells.join(","));
    }
    lines.join("\r\n") + "\r\n"
}

fn metric(told: &[Told]) -> Vec<String> {
    let texts = told.iter().map(|told| told.text(Units::Metric));
    texts.map(str::to_owned).collect()
}
