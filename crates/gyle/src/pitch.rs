//! `gyle pitch`: cells needed, cells at hand, and how to close the gap.

use std::path::PathBuf;

use batch::pitch::{
    Pitching, TypedPitch, TypedWish, comes_to_words, effect_words, oxygen_words, percent_words,
    rehydration_words, step_uses, step_words, way_words, when_words, whole_words,
};
use batch::wire::pitch::Pitch;
use ferment::{
    GrownStep, OXYGEN_AFTER_PITCHING, PitchCase, WayKind, known_effects, oxygen_classes,
};
use quantity::{Units, show, show_interval};

use crate::cli::UnitsChoice;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, reckoned, source, write_out};

/// A batch, or a wort and the yeast for it.
#[derive(Debug, clap::Args)]
pub struct Asked {
    /// The batch document; - reads standard input, store:NAME a batch of the
    /// store. Left out, the wort is given by --gravity and --volume.
    #[arg(conflicts_with_all = ["gravity", "volume"], required_unless_present_all = ["gravity", "volume"])]
    file: Option<PathBuf>,
    /// Original gravity.
    #[arg(long, requires = "volume")]
    gravity: Option<String>,
    /// Wort in the fermenter.
    #[arg(long, requires = "gravity")]
    volume: Option<String>,
    /// Temperature of the wort; left out, in the middle of what the yeast likes.
    #[arg(long, value_name = "TEMPERATURE", requires = "gravity")]
    at: Option<String>,
    /// Height above the sea; left out, 0 m.
    #[arg(long, requires = "gravity")]
    altitude: Option<String>,
    /// Class of yeast; an unknown one names them all.
    #[arg(long, requires = "gravity")]
    class: Option<String>,
    /// What the pitch is for: usual, clean, estery, phenolic, "very dry".
    #[arg(long, requires = "gravity", conflicts_with = "rate")]
    aim: Option<String>,
    /// Pitching rate, as in "1.0 million/mL/°P".
    #[arg(long, requires = "gravity")]
    rate: Option<String>,
    /// How the yeast comes: dry, liquid or slurry.
    #[arg(long, requires = "gravity")]
    form: Option<String>,
    /// Number of packets; left out, one.
    #[arg(long, requires = "gravity")]
    packets: Option<String>,
    /// Mass of a dry packet.
    #[arg(long, value_name = "MASS", requires = "gravity")]
    packet_mass: Option<String>,
    /// Living cells in a liquid packet when packed, as in "200 billion cells".
    #[arg(long, requires = "gravity")]
    cells: Option<String>,
    /// Volume of thick slurry.
    #[arg(long, value_name = "VOLUME", requires = "gravity")]
    slurry: Option<String>,
    /// Time since it was packed or harvested.
    #[arg(long, value_name = "TIME", requires = "gravity")]
    age: Option<String>,
    /// Temperature it was stored at; left out, 4 °C.
    #[arg(long, value_name = "TEMPERATURE", requires = "gravity")]
    stored_at: Option<String>,
    /// Gravity of starter wort; left out, 9 °P.
    #[arg(long, value_name = "GRAVITY")]
    starter_gravity: Option<String>,
    /// The most that the vessel of a starter holds.
    #[arg(long, value_name = "VOLUME")]
    vessel: Option<String>,
    /// Units of the answer.
    #[arg(long, value_enum, default_value_t = UnitsChoice::Metric)]
    units: UnitsChoice,
    /// The answer as JSON (schema: gyle schema pitch).
    #[arg(long)]
    json: bool,
}

impl Asked {
    fn wish(&self) -> TypedWish {
        TypedWish {
            gravity: self.starter_gravity.clone().unwrap_or_default(),
            vessel: self.vessel.clone().unwrap_or_default(),
        }
    }

    fn typed(&self) -> TypedPitch {
        let of = |text: &Option<String>| text.clone().unwrap_or_default();
        let yeast = [
            ("class", &self.class),
            ("aim", &self.aim),
            ("pitch_rate", &self.rate),
            ("form", &self.form),
            ("packets", &self.packets),
            ("packet_mass", &self.packet_mass),
            ("cells", &self.cells),
            ("slurry", &self.slurry),
            ("age", &self.age),
            ("stored_at", &self.stored_at),
        ];
        TypedPitch {
            gravity: of(&self.gravity),
            volume: of(&self.volume),
            temperature: of(&self.at),
            altitude: of(&self.altitude),
            yeast: yeast.map(|(key, text)| (key.to_owned(), of(text))).to_vec(),
            wish: self.wish(),
        }
    }
}

/// Says what to pitch.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned, or figures that cannot be.
pub fn say(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let told = |faults| Problem::Readings {
        faults,
        json: asked.json,
    };
    let (title, pitching) = match &asked.file {
        Some(file) => {
            let wish = asked.wish().read().map_err(told)?;
            let source = source(file, place)?;
            let r = reckoned(&source, asked.json)?;
            let pitching = r.pitching_with(wish).map_err(Problem::no_answer)?;
            (format!("{}: the pitch", r.document.batch.name), pitching)
        }
        None => (
            "The pitch".to_owned(),
            asked.typed().answer().map_err(told)?,
        ),
    };
    if asked.json {
        return print_json(&Pitch::from(&pitching));
    }
    write_out(sheet(&title, &pitching, asked.units.into()).as_bytes())
}

fn sheet(title: &str, p: &Pitching, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(title);
    need(&mut page, p);
    ways(&mut page, p);
    oxygen(&mut page, p);
    cases(&mut page, p);
    sources(&mut page, p);
    page.cautions(&p.cautions);
    page.finish()
}

fn need(page: &mut Page, p: &Pitching) {
    let (q, units) = (&p.question, page.units());
    page.row(
        "wort",
        &format!("{} of {}", page.show(q.volume), q.gravity.both(units)),
    );
    page.row("yeast", &q.strain.name);
    page.row(
        "pitching rate",
        &format!(
            "{} ({}): {}",
            page.show(q.target.rate),
            q.target.aim.word(),
            q.target.about
        ),
    );
    page.row(
        "cells needed",
        &format!(
            "{} ({} would do)",
            page.show(p.need.cells),
            show_interval(p.need.range.0, p.need.range.1, units)
        ),
    );
    page.measured("living cells at hand", &p.report.at_hand);
    page.row("of those needed", &percent_words(p.report.ratio));
    page.figure("alive, before a starter", p.report.viability);
    if let Some(starter) = &p.report.starter {
        steps(page, &starter.steps);
    }
    if let Some(whole) = &p.whole {
        page.row("the starter's liquid", &whole_words(whole, units));
    }
    if let Some(wet) = &p.rehydration {
        let how = rehydration_words(wet, units);
        page.row("wetting dry yeast", &format!("{how}; {}", wet.source.text));
    }
    page.notes(&p.report.notes);
}

fn steps(page: &mut Page, steps: &[GrownStep]) {
    for (n, step) in steps.iter().enumerate() {
        let units = page.units();
        page.row(
            &format!("starter, step {}", n + 1),
            &step_words(step, units),
        );
        page.row("", &step_uses(step, units));
    }
}

fn ways(page: &mut Page, p: &Pitching) {
    let units = page.units();
    page.heading("Ways to have enough, the better first");
    for way in &p.ways.ways {
        page.marked("  ·     ", &way_words(way, units));
        page.marked("        ", &comes_to_words(way, units));
        if let WayKind::Starter(plan) = &way.kind {
            for step in &plan.grown.steps {
                page.marked("        ", &step_words(step, units));
                page.marked("        ", &step_uses(step, units));
            }
        }
        for note in &way.notes {
            page.marked("        ", &note.text);
        }
    }
    page.notes(&p.ways.unwise);
}

fn oxygen(page: &mut Page, p: &Pitching) {
    let units = page.units();
    page.heading("Oxygen");
    page.row(
        "wanted",
        &show_interval(p.oxygen_wanted.0, p.oxygen_wanted.1, units),
    );
    for way in &p.oxygen {
        let label = format!("to {}: {}", show(p.oxygen_aim, units), way.key);
        page.row(&label, &oxygen_words(way, units));
    }
    let classes: Vec<String> = oxygen_classes()
        .iter()
        .map(|c| {
            let more = if c.more { "above " } else { "" };
            format!("{} ({more}{})", c.name, show(c.need, units))
        })
        .collect();
    page.row("kinds of yeast ask for", &classes.join(", "));
    page.paragraph(OXYGEN_AFTER_PITCHING);
}

fn cases(page: &mut Page, p: &Pitching) {
    if p.cases.is_empty() {
        return;
    }
    page.heading("What another start would do");
    for case in &p.cases {
        let (ratio, start) = (percent_words(case.ratio), page.show(case.start));
        page.marked("  ·     ", &format!("{} ({ratio}, {start})", case.label));
        page.marked("        ", &case_words(case, page.units()));
    }
    page.paragraph("Flavours are against the same batch with the cells needed, with one standard deviation to each side; from batch to batch they differ by a third besides (judgement).");
}

fn case_words(case: &PitchCase, units: Units) -> String {
    format!(
        "starts to work after {}, nine tenths after {}, diacetyl gone after {}, ends at {}; esters {}; fusel alcohols {}; clove {}",
        when_words(case.works_after, units),
        when_words(case.ninety_percent_at, units),
        when_words(case.clears_after, units),
        show(case.final_gravity.value, units),
        effect_words(&case.esters),
        effect_words(&case.fusels),
        effect_words(&case.phenolics)
    )
}

fn sources(page: &mut Page, p: &Pitching) {
    page.heading("What is known of it");
    for effect in known_effects() {
        let label = format!("{}: {}", effect.cause, effect.on);
        page.row(
            &label,
            &format!(
                "{} ({}: {})",
                effect.text, effect.source.mark, effect.source.text
            ),
        );
    }
    for source in &p.question.target.sources {
        page.row(
            "pitching rate",
            &format!("{} ({})", source.text, source.mark),
        );
    }
}
