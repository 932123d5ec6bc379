//! Why a water stands where it stands, in sentences.

use quantity::{Units, show};
use water::choice::{Ahead, Dated, Ranked};
use water::design::Line;

use super::Chosen;

impl Chosen {
    /// Why the water at a place of the ranking, counted from nought, stands there: what
    /// it meets and misses, what it takes, and what puts it before the next.
    #[must_use]
    pub fn reasons(&self, place: usize, units: Units) -> Vec<String> {
        let Some(ranked) = self.choice.ranked.get(place) else {
            return vec![];
        };
        let mut reasons = vec![aims(ranked, units), takes(ranked)];
        if ranked.bought.l() > 0.0 {
            reasons.push(format!("{} to carry home", show(ranked.bought, units)));
        }
        if self.priced {
            reasons.push(format!("costs {:.2} at most", ranked.cost.amount()));
        }
        reasons.extend(by_season(ranked));
        let next = self.choice.ranked.get(place + 1);
        if let (Some(ahead), Some(next)) = (self.choice.ahead(place), next) {
            reasons.push(format!("before {}: {}", next.name, words(ahead)));
        }
        reasons
    }

    /// When this mash needs acid; none without malt.
    #[must_use]
    pub fn needs_acid(&self, units: Units) -> Option<String> {
        let above = self.acid_above?;
        Some(if above.meq_per_l() > 0.0 {
            format!(
                "This mash needs acid where the residual alkalinity is above {}.",
                show(above, units)
            )
        } else {
            "The malt alone lands above the aim: with any of these waters this mash needs acid, \
             or calcium, to come down to it."
                .to_owned()
        })
    }
}

fn words(ahead: Ahead) -> &'static str {
    match ahead {
        Ahead::Aims => "it misses fewer aims",
        Ahead::Misfit => "it comes nearer to the aims",
        Ahead::Cost => "as near, and it costs less",
        Ahead::Additions => "as near, with fewer additions",
        Ahead::Bought => "as near, with less water to carry home",
        Ahead::Waters => "as near, without a second water",
        Ahead::Trifle => "nearer by a trifle that nobody would taste",
    }
}

fn aims(ranked: &Ranked, units: Units) -> String {
    let worst = ranked.worst();
    let missed: Vec<&Line> = worst
        .iter()
        .flat_map(|dated| &dated.design.lines)
        .filter(|line| !line.met())
        .collect();
    let seasons = if ranked.seasons.len() > 1 {
        " in every season"
    } else {
        ""
    };
    if missed.is_empty() {
        return format!("meets every aim{seasons}");
    }
    let each: Vec<String> = missed.iter().map(|line| misses(line, units)).collect();
    let from = worst.map(|dated| dated.from.as_str()).unwrap_or_default();
    let when = match from {
        "" => String::new(),
        from => format!(" with the water from {from}"),
    };
    format!("misses{when} {}", each.join("; "))
}

fn misses(line: &Line, units: Units) -> String {
    let liquor = line.liquor.map(|l| format!(" of the {l} water"));
    let held = line.held_by.as_ref().map(|by| format!(", held by {by}"));
    format!(
        "{}{}: {} for {}{}",
        line.figure,
        liquor.unwrap_or_default(),
        line.reached.show(units),
        line.target.show(units),
        held.unwrap_or_default()
    )
}

fn takes(ranked: &Ranked) -> String {
    match ranked.additions {
        0 => "nothing to add".to_owned(),
        1 => "one addition".to_owned(),
        n => format!("{n} additions at most, mash and sparge counted apart"),
    }
}

fn by_season(ranked: &Ranked) -> Option<String> {
    if ranked.seasons.len() < 2 {
        return None;
    }
    if ranked.changes.is_empty() {
        return Some("the same all year".to_owned());
    }
    let (best, worst) = (ranked.best()?, ranked.worst()?);
    let differ = |a: &Dated, b: &Dated| a.unmet() != b.unmet();
    Some(if differ(best, worst) {
        format!("best with the water from {}", best.from)
    } else {
        "the doses change with the season".to_owned()
    })
}
