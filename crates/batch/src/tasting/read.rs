//! The keys of a tasting.

use glass::tasting::{MOST_D_PRIME, Protocol, scorings};
use quantity::{Count, Fraction, Measured};

use super::{Answer, Pours, Score, Stop, Tasting, drawn};
use crate::reader::Reader;

/// None where a fault is recorded that keeps it from being drawn.
pub(super) fn tasting(r: &mut Reader<'_>) -> Option<Tasting> {
    let mut tasting = r.section("tasting", "what is tasted beside what, and how", head);
    let tasters = r.sections("taster", "somebody who tastes", |r| {
        r.name("what the taster is called").required()
    });
    let mut seen = Vec::new();
    let answers = r.sections("answer", "what a taster answered", |r| {
        answer(r, tasting.as_ref(), &mut seen)
    });
    let mut scored = Vec::new();
    let scores = r.sections(
        "score",
        "an attribute that a taster scored in both beers",
        |r| score(r, &tasters, &mut scored),
    );
    let found = tasting.as_mut()?;
    if tasters.is_empty() {
        r.fault(
            None,
            "nobody tastes",
            "write [[taster]] with a name for each; one alone will do",
        );
    }
    for (place, name) in tasters.iter().enumerate() {
        if tasters[..place].contains(name) {
            r.fault(
                Some("taster"),
                format!("two tasters are called {name:?}"),
                "give each a name of their own",
            );
        }
    }
    if !found.scored.is_empty() && !tasters.is_empty() {
        match scorings(&found.design, tasters.len() as u32) {
            Ok(drawn) => found.scorings = drawn,
            Err(error) => r.fault(
                Some("tasting.scored"),
                error.to_string(),
                "score in a tasting of its own",
            ),
        }
    }
    found.tasters = tasters;
    found.answers = answers.into_iter().flatten().collect();
    found.answers.sort_by_key(|answer| answer.tasting);
    found.scores = scores.into_iter().flatten().collect();
    tasting
}

/// Everything but tasters, answers and scores.
fn head(r: &mut Reader<'_>) -> Option<Tasting> {
    let name = r.name("what the tasting is called").required();
    let batch = r
        .text("batch", "the identifier of the batch in the store")
        .optional();
    let beer = r.text("beer", "what the batch is called").required();
    let reference = r.text("reference", "the beer beside it").required();
    let words = Protocol::OFFERED.map(|protocol| (protocol.word(), protocol));
    let protocol = r
        .choice("protocol", "how it is asked", &words)
        .assumed(Protocol::Triangle);
    let about = r
        .text(
            "about",
            "what is asked about, such as bitterness; for paired and 3-afc",
        )
        .optional();
    let tastings = whole(r, "tastings", "how many tastings are planned");
    let seed = seed(r);
    let stop = r
        .choice(
            "stop",
            "when it ends: after the planned number, or as soon as enough is known",
            &[("fixed", Stop::Fixed), ("early", Stop::Early)],
        )
        .assumed(Stop::Fixed);
    let all = [Pours::Helper, Pours::OwnHand, Pours::SealedKey];
    let pours = r
        .choice("pours", "who pours", &all.map(|p| (p.word(), p)))
        .assumed(Pours::Helper);
    let false_alarm = share(
        r.quantity(
            "false_alarm",
            "the risk of calling a difference that is none",
        )
        .assumed(),
    );
    let missed = share(
        r.quantity("missed", "the risk of missing the difference that matters")
            .assumed(),
    );
    let difference: Measured<Count> = r
        .quantity("difference", "the difference that matters, as d'")
        .assumed();
    let alike = r
        .quantity(
            "alike",
            "the share that may tell the beers apart if they are to count as alike",
        )
        .optional()
        .map(share);
    let difference = difference.canonical();
    within(r, "false_alarm", false_alarm, 0.001, 0.5);
    within(r, "missed", missed, 0.001, 0.5);
    within(r, "difference", difference, 0.2, MOST_D_PRIME);
    if let Some(alike) = alike {
        within(r, "alike", alike, 0.01, 0.95);
    }
    if protocol == Protocol::OneGlass {
        single(r, tastings, stop, alike.is_some());
    }
    let scored = attributes(r);
    let design = match drawn(protocol, tastings?, seed?) {
        Ok(design) => design,
        Err(message) => {
            r.fault(Some("tastings"), message, "split it into two tastings");
            return None;
        }
    };
    Some(Tasting {
        name,
        batch,
        beer,
        reference,
        protocol,
        about,
        tasters: Vec::new(),
        tastings: tastings?,
        seed: seed?,
        false_alarm,
        missed,
        difference,
        stop,
        pours,
        alike,
        answers: Vec::new(),
        scored,
        scores: Vec::new(),
        design,
        scorings: Vec::new(),
    })
}

/// What single glasses have no rule for.
fn single(r: &Reader<'_>, tastings: Option<u32>, stop: Stop, alike: bool) {
    if tastings == Some(1) {
        r.fault(
            Some("tastings"),
            "one glass alone tells nothing",
            "plan glasses of both beers, 20 or more",
        );
    }
    if stop == Stop::Early {
        r.fault(
            Some("stop"),
            "single glasses have no rule for stopping early",
            "write stop = \"fixed\", or ask in triangles",
        );
    }
    if alike {
        r.fault(
            Some("alike"),
            "likeness cannot be shown with single glasses",
            "leave it out, or ask in triangles",
        );
    }
}

/// What is scored: names between commas.
fn attributes(r: &mut Reader<'_>) -> Vec<String> {
    /// More tire the palate before they tell anything (judgement).
    const MOST: usize = 12;
    let written = r
        .text(
            "scored",
            "what each taster scores in both beers, such as: bitterness, clove, body",
        )
        .optional()
        .unwrap_or_default();
    let mut names: Vec<String> = Vec::new();
    for name in written.split(',').map(str::trim).filter(|n| !n.is_empty()) {
        if names.iter().any(|known| known == name) {
            r.fault(
                Some("scored"),
                format!("{name:?} is scored twice"),
                "name each attribute once",
            );
        } else {
            names.push(name.to_owned());
        }
    }
    if names.len() > MOST {
        r.fault(
            Some("scored"),
            format!("{} attributes are scored", names.len()),
            format!("score {MOST} at most; more tire the palate"),
        );
    }
    names
}

fn share(written: Measured<Fraction>) -> f64 {
    written.canonical()
}

fn within(r: &Reader<'_>, key: &str, given: f64, least: f64, most: f64) {
    if r.has(key) && !(least..=most).contains(&given) {
        r.fault(
            Some(key),
            format!("{key} is {given}"),
            format!("it must lie between {least} and {most}"),
        );
    }
}

fn whole(r: &mut Reader<'_>, key: &'static str, doc: &'static str) -> Option<u32> {
    let written = r.text(key, doc).required();
    let number = written
        .trim()
        .parse()
        .ok()
        .filter(|n| (1..=600).contains(n));
    if number.is_none() && r.has(key) {
        r.fault(
            Some(key),
            format!("{key} is {written:?}"),
            "write a whole number from 1 to 600",
        );
    }
    number
}

fn seed(r: &mut Reader<'_>) -> Option<u64> {
    let written = r
        .text("seed", "the number that orders and codes are drawn from")
        .required();
    let seed = written.trim().parse().ok();
    if seed.is_none() && r.has("seed") {
        r.fault(
            Some("seed"),
            format!("seed is {written:?}"),
            "write a whole number from 0; any will do",
        );
    }
    seed
}

fn answer(r: &mut Reader<'_>, tasting: Option<&Tasting>, seen: &mut Vec<u32>) -> Option<Answer> {
    let number = whole(r, "tasting", "which tasting, from 1");
    let written = r
        .text(
            "glass",
            "the code of the glass that was named; two for a tetrad; for a single glass: same or other",
        )
        .required();
    let (number, tasting) = (number?, tasting?);
    let Some(serving) = tasting.design.servings.get(number as usize - 1) else {
        r.fault(
            Some("tasting"),
            format!("there is no tasting {number}"),
            format!("{} are planned", tasting.tastings),
        );
        return None;
    };
    if seen.contains(&number) {
        r.fault(
            Some("tasting"),
            format!("tasting {number} is answered twice"),
            "the first answer counts; take the second out",
        );
        return None;
    }
    seen.push(number);
    let glasses = match tasting.protocol {
        Protocol::OneGlass => called(&written, &serving.codes),
        _ => codes(&written),
    };
    let right = glasses
        .as_ref()
        .and_then(|glasses| serving.right(tasting.protocol, glasses));
    let (Some(glasses), Some(right)) = (glasses, right) else {
        if tasting.protocol == Protocol::OneGlass {
            r.fault(
                Some("glass"),
                format!("{written:?} does not say what glass {number} is called"),
                "write same, or other",
            );
            return None;
        }
        let list: Vec<String> = serving.codes.iter().map(ToString::to_string).collect();
        let many = if tasting.protocol == Protocol::Tetrad {
            "name two of"
        } else {
            "name one of"
        };
        r.fault(
            Some("glass"),
            format!("{written:?} names no glass of tasting {number}"),
            format!("{many} {}", list.join(", ")),
        );
        return None;
    };
    Some(Answer {
        tasting: number,
        glasses,
        right,
    })
}

/// What a single glass is called: it is named where it is called another beer.
fn called(written: &str, codes: &[u16]) -> Option<Vec<u16>> {
    match written.trim().to_lowercase().as_str() {
        "same" => Some(Vec::new()),
        "other" => Some(codes.to_vec()),
        _ => None,
    }
}

fn codes(written: &str) -> Option<Vec<u16>> {
    written
        .split([' ', ','])
        .filter(|part| !part.is_empty())
        .map(|part| part.parse().ok())
        .collect()
}

fn score(
    r: &mut Reader<'_>,
    tasters: &[String],
    seen: &mut Vec<(String, String)>,
) -> Option<Score> {
    let attribute = r
        .text("attribute", "what is scored, such as bitterness")
        .required();
    let taster = r.text("taster", "who scored it").required();
    let batch = points(r, "batch", "points of the batch");
    let reference = points(r, "reference", "points of the reference");
    if r.has("taster") && !tasters.contains(&taster) {
        r.fault(
            Some("taster"),
            format!("{taster:?} is no taster of this tasting"),
            format!("name one of {}", tasters.join(", ")),
        );
        return None;
    }
    let pair = (taster.clone(), attribute.clone());
    if seen.contains(&pair) {
        r.fault(
            Some("attribute"),
            format!("{taster} scored {attribute} twice"),
            "the first points count; take the second out",
        );
        return None;
    }
    seen.push(pair);
    Some(Score {
        attribute,
        taster,
        batch: batch?,
        reference: reference?,
    })
}

fn points(r: &mut Reader<'_>, key: &'static str, doc: &'static str) -> Option<f64> {
    let written = r.text(key, doc).required();
    let points = written
        .trim()
        .parse()
        .ok()
        .filter(|points: &f64| (0.0..=100.0).contains(points));
    if points.is_none() && r.has(key) {
        r.fault(
            Some(key),
            format!("{key} is {written:?}"),
            "write points from 0 to 100, such as 6 or 6.5",
        );
    }
    points
}
