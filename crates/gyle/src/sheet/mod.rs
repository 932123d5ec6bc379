//! A reckoning for reading: what to do in the order of the day, then what the
//! beer will be, then risks and cautions, then what was assumed.

mod beer;
mod day;
mod page;

use batch::Reckoning;
use batch::certainty::Certainty;
use quantity::Units;

pub use day::steps as mash_steps;
pub use page::Page;

/// The whole plan as text.
pub fn plan(r: &Reckoning, sure: Option<&Certainty>, units: Units) -> String {
    let mut page = Page::new(units);
    page.title(&r.document.batch.name);
    beer::summary(&mut page, r);
    day::water(&mut page, r);
    day::mash(&mut page, r);
    day::boil(&mut page, r);
    day::ferment(&mut page, r);
    day::package(&mut page, r);
    beer::aim(&mut page, r, sure);
    beer::glass(&mut page, r);
    if let Some(sure) = sure {
        beer::how_sure(&mut page, r, sure);
    }
    beer::risks(&mut page, r);
    beer::cautions(&mut page, r);
    beer::assumptions(&mut page, r);
    page.finish()
}
