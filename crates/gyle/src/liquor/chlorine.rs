//! `gyle water chlorine`: the ways to take chlorine out, side by side.

use batch::liquor::chlorine::{Answer, Question, Read};
use batch::wire::liquor::chlorine::WaysOut;
use batch::{Fault, Reckoning};
use water::disinfectant::{Compared, TabletStep, TestKind, WayOut};

use crate::of_batch::OfBatch;
use crate::problem::Problem;
use crate::sheet::Page;
use crate::{print_json, write_out};

/// For which water, in which time, with what.
#[derive(Debug, clap::Args)]
pub struct Asked {
    #[command(flatten)]
    batch: OfBatch,
    /// How long there is until the water is needed.
    #[arg(long, default_value = "12 h")]
    time: String,
    /// What is at hand: a reagent as powder, activated carbon, distilled water or
    /// air pump; left out, what the plan of the batch uses.
    #[arg(long, value_name = "WHAT")]
    have: Vec<String>,
    /// Purity of the powder.
    #[arg(long, value_name = "SHARE")]
    purity: Option<String>,
    /// The reagent of tablets at hand.
    #[arg(long, value_name = "REAGENT", requires = "tablet_mass")]
    tablet: Option<String>,
    /// Active salt in a tablet, by its label.
    #[arg(long, value_name = "MASS", requires = "tablet")]
    tablet_mass: Option<String>,
    /// The step of the scale: a dose that it cannot weigh becomes a stock solution.
    #[arg(long, value_name = "MASS")]
    scale: Option<String>,
    /// The heater of the kettle.
    #[arg(long, value_name = "POWER")]
    heater: Option<String>,
    /// Volume of the carbon; left out, that of the plan or of a household block.
    #[arg(long, value_name = "VOLUME")]
    carbon: Option<String>,
    /// Someone who brews or drinks is sensitive to sulfite.
    #[arg(long)]
    sulfite_sensitive: bool,
    /// A price in units of money, such as "an hour of work=10".
    #[arg(long, value_name = "WHAT=PRICE")]
    price: Vec<String>,
}

impl Asked {
    fn question(&self, r: &Reckoning) -> Question {
        let nothing_said = self.have.is_empty() && self.tablet.is_none();
        let mut fields = if nothing_said && self.purity.is_none() {
            Question::usual(r).fields().to_vec()
        } else {
            vec![]
        };
        let mut put = |key: &str, value: &str| fields.push((key.to_owned(), value.to_owned()));
        for word in &self.have {
            put("have", word);
        }
        put("time", &self.time);
        for (key, value) in [
            ("purity", &self.purity),
            ("tablet", &self.tablet),
            ("tablet_mass", &self.tablet_mass),
            ("scale", &self.scale),
            ("heater", &self.heater),
            ("carbon_volume", &self.carbon),
        ] {
            put(key, value.as_deref().unwrap_or_default());
        }
        if self.sulfite_sensitive {
            put("sensitive", "yes");
        }
        for price in &self.price {
            let (of, units) = price.rsplit_once('=').unwrap_or((price, ""));
            put(&format!("price.{}", of.trim()), units);
        }
        Question::of(fields)
    }
}

/// Compares the ways for the water of a batch.
///
/// # Errors
/// [`Problem`] for a document that cannot be reckoned or a question that cannot be
/// used.
pub fn compare(asked: &Asked, place: Option<&str>) -> Result<(), Problem> {
    let (source, reckoning) = asked.batch.reckoned(place)?;
    let read = asked
        .question(&reckoning)
        .read(&reckoning)
        .map_err(|wrong| Problem::unusable(&wrong))?;
    let answer = reckoning.ways_out(&read).map_err(|error| {
        let fault = Fault {
            span: 0..0,
            path: "water".to_owned(),
            message: error.to_string(),
            help: String::new(),
        };
        Problem::document(vec![fault], source.clone(), asked.batch.json)
    })?;
    if asked.batch.json {
        return print_json(&WaysOut::of(&reckoning, &answer));
    }
    let page = Page::new(asked.batch.units());
    write_out(sheet(page, &reckoning, &answer, &read).as_bytes())
}

fn sheet(mut page: Page, r: &Reckoning, answer: &Answer, read: &Read) -> String {
    let compared = &answer.compared;
    page.title(&format!(
        "Chlorine in the water of {}",
        r.document.batch.name
    ));
    page.measured("total at the tap", &r.water.tap.water.total_chlorine);
    supplies(&mut page, r);
    match &compared.recommendation {
        Some(taken) => {
            let get = if taken.to_get {
                ", to be got first"
            } else {
                ""
            };
            page.row("take", &format!("{}{get}", taken.way));
            page.paragraph(&taken.reasons.join(" "));
        }
        None => page.row("take", "none of these: no way is both safe and sure"),
    }
    page.notes(&compared.notes);
    if let (Some(_), Some(first)) = (&compared.recommendation, compared.ways.first()) {
        doing(&mut page, &first.out);
    }
    page.heading("The ways, the better first");
    page.row("as planned", &figures(&page, &answer.planned, true));
    for way in &compared.ways {
        line(&mut page, way);
    }
    page.heading("How to check it");
    for test in TestKind::ALL {
        let left = answer.planned.reads_none(test).at_most;
        page.row(
            &test.data().name,
            &format!(
                "shows from {}; showing nothing after the plan, up to {} is open",
                page.show(test.data().step),
                page.show(left)
            ),
        );
    }
    carbon(&mut page, r, read);
    if !compared.cautions.is_empty() {
        page.heading("Take care");
    }
    for caution in &compared.cautions {
        page.paragraph(&caution.text().text);
    }
    page.finish()
}

/// What the supplies keep; a share that was judged says so.
fn supplies(page: &mut Page, r: &Reckoning) {
    for supply in r.supplies() {
        let how = if supply.measured() {
            "free chlorine was measured"
        } else if !supply.total_measured {
            "total and free chlorine are judged"
        } else {
            "free chlorine is judged"
        };
        page.row(
            &supply.name,
            &format!(
                "{}; {how}: {}",
                supply.words(),
                page.show_measured(&supply.judgement.free)
            ),
        );
    }
}

fn doing(page: &mut Page, out: &WayOut) {
    if out.steps.is_empty() {
        return;
    }
    page.heading(&format!("How {} is done", out.way));
    for step in &out.steps {
        page.marked("  - ", step);
    }
    for plan in out.dose.iter().flat_map(|dose| &dose.tablets) {
        let pieces = match plan.step {
            TabletStep::Whole => "in whole tablets",
            TabletStep::Half => "in halves",
            TabletStep::Quarter => "in quarters",
        };
        page.row(
            pieces,
            &format!(
                "{} tablets, SO2 left at most {}",
                quantity::rounded(plan.count.number()),
                page.show(plan.sulfur_dioxide_at_most)
            ),
        );
    }
}

fn carbon(page: &mut Page, r: &Reckoning, read: &Read) {
    let run = r.carbon(read);
    page.heading("Activated carbon");
    page.figure("volume of the carbon", run.bed.volume);
    page.figure("flow that suits this water", run.suitable);
    page.row(
        "contact",
        &format!("{} at {}", page.show(run.contact), page.show(run.flow)),
    );
    page.row(
        "good for",
        &run.left
            .map_or("no claim, so nobody knows".to_owned(), |left| {
                format!("{} more of this water", page.show(left))
            }),
    );
}

fn line(page: &mut Page, way: &Compared) {
    let text = figures(page, &way.out, way.in_time);
    page.row(&way.out.way.to_string(), &text);
    if let Some(why) = &way.why_not {
        page.row("", why);
    }
}

fn figures(page: &Page, out: &WayOut, in_time: bool) -> String {
    let late = if in_time { "" } else { ", too long" };
    format!(
        "leaves {}, at most {}; takes {}{late}; costs {}; sure: {}",
        page.show(out.residual.total()),
        page.show(out.residual.at_most),
        page.show(out.time),
        page.show(out.cost),
        out.reliability.word()
    )
}
