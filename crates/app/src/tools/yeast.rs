//! The tools of the yeast: a count in a chamber, a starter.

use batch::pitch::{DYES, SQUARES, WAYS, step_uses, step_words};
use ferment::{
    ChamberCount, Dye, FermentError, GrownStarter, Squares, Stain, Starter, StarterStep,
    StarterWish, count_cells, grow_starter, plan_starter,
};
use quantity::{
    Cells, Count, Fraction, Gravity, Measured, Note, Volume, show_interval, show_measured,
};

use super::reading::{Readings, exact, line};
use super::sums::{filled, maybe, one_of, usual, wanted};
use super::{Choice, Line, Measurement, Tool};

pub(super) const CELLS: Tool = Tool {
    key: "cells",
    title: "Count yeast",
    about: "Cells in an improved Neubauer chamber: how many in a millilitre, how many of them live, and how surely.",
    fields: &[
        wanted("cells", "Cells counted, dead and living", "210"),
        one_of("over", "Counted over", "groups", squares),
        wanted("squares", "How many of those", "5"),
        usual("dilution", "Diluted how many times", "1"),
        maybe("dead", "Cells that took up the dye", "8", "not looked at"),
        maybe("of", "Of so many looked at", "200", "not looked at"),
        one_of("dye", "Dye", "methylene blue", dyes),
        usual("pipetting", "Spread of the dilution", "4 %"),
    ],
    sum: cells,
};

pub(super) const STARTER: Tool = Tool {
    key: "starter",
    title: "Starter",
    about: "What grows in a starter, or the steps that bring yeast to a number of cells.",
    fields: &[
        wanted("cells", "Living cells to begin with", "80 billion cells"),
        maybe(
            "wanted",
            "Living cells wanted",
            "200 billion cells",
            "what grows in the volume below",
        ),
        maybe(
            "volume",
            "Starter wort",
            "1.5 L",
            "sought, for the cells wanted",
        ),
        usual("gravity", "Its gravity", "9 °P"),
        one_of("way", "Kept", "still", ways),
        maybe("vessel", "The vessel holds", "2 L", "whatever it takes"),
    ],
    sum: starter,
};

fn squares() -> Vec<Choice> {
    labelled(
        &SQUARES,
        ["large squares of 1 mm²", "groups of sixteen small squares"],
    )
}

fn dyes() -> Vec<Choice> {
    labelled(&DYES, DYES.map(|(word, _)| word))
}

fn ways() -> Vec<Choice> {
    labelled(
        &WAYS,
        [
            "standing, swirled now and then",
            "on a stirrer, loosely covered",
        ],
    )
}

/// The words of a document with what they mean.
fn labelled<T, const N: usize>(
    words: &[(&'static str, T); N],
    labels: [&'static str; N],
) -> Vec<Choice> {
    let both = words.iter().zip(labels);
    both.map(|((word, _), label)| Choice { word, label })
        .collect()
}

fn cells(r: &mut Readings<'_>) -> Option<Measurement> {
    let counted = whole(r, "cells");
    let (large, squares) = (r.pick("over", &SQUARES), r.value::<Count>("squares"));
    let dilution = r.value::<Count>("dilution");
    let dead = filled(r, "dead", whole);
    let of = filled(r, "of", whole);
    let (dye, pipetting) = (r.pick("dye", &DYES), r.value::<Fraction>("pipetting"));
    let squares = squares?.number();
    let stain = stain(r, dead?, of?, dye?)?;
    let count = ChamberCount {
        cells: counted?,
        squares: if large? {
            Squares::Large(squares)
        } else {
            Squares::Groups(squares)
        },
        dilution: dilution?.number(),
        stain,
        pipetting: Some(pipetting?),
    };
    let got = r.told(count_cells(&count), place_of)?;
    let units = r.units;
    let mut lines = vec![line("living", "living cells", &got.living, units).main()];
    lines[0].text = format!(
        "{} (95 %: {})",
        show_measured(&got.living, units),
        show_interval(got.living_between.0, got.living_between.1, units)
    );
    let mut all = line("all", "all cells", &got.all, units);
    all.text = format!(
        "{} (95 % by the count alone: {})",
        show_measured(&got.all, units),
        show_interval(got.by_count.0, got.by_count.1, units)
    );
    lines.push(all.remark("exact Poisson interval of the cells counted"));
    if let Some(viability) = &got.viability {
        lines.extend(share(viability, units));
    }
    Some(Measurement {
        lines,
        notes: got.notes,
        cautions: Vec::new(),
    })
}

fn share(viability: &ferment::Viability, units: quantity::Units) -> [Line; 2] {
    let between = |(low, high)| show_interval(low, high, units);
    let mut shown = exact("viability", "viability", viability.share, units);
    shown.text = format!("{} (95 %: {})", shown.text, between(viability.wilson));
    let mut strict = exact(
        "viability_exact",
        "viability, strict",
        viability.share,
        units,
    );
    strict.text = between(viability.exact);
    [
        shown.remark("interval by Wilson"),
        strict.remark("interval by Clopper and Pearson: it holds at least as often as it says"),
    ]
}

/// Both figures of a stain, or neither.
fn stain(
    r: &mut Readings<'_>,
    dead: Option<u32>,
    of: Option<u32>,
    dye: Dye,
) -> Option<Option<Stain>> {
    match (dead, of) {
        (None, None) => Some(None),
        (Some(dead), Some(of)) => Some(Some(Stain { dead, of, dye })),
        (None, Some(_)) => {
            r.refuse(
                &"how many of them were dead is missing; give 0 where none was",
                "dead",
            );
            None
        }
        (Some(_), None) => {
            r.refuse(
                &"how many were looked at is missing; write it as in 200",
                "of",
            );
            None
        }
    }
}

/// A number of cells.
fn whole(r: &mut Readings<'_>, name: &'static str) -> Option<u32> {
    let given = r.value::<Count>(name)?.number();
    let rounded = given.round();
    if (given - rounded).abs() > 1e-9 {
        r.refuse(
            &"cells are counted one by one; a whole number would work",
            name,
        );
        return None;
    }
    Some(rounded as u32)
}

fn starter(r: &mut Readings<'_>) -> Option<Measurement> {
    let from = r.measured::<Cells>("cells");
    let wanted = filled(r, "wanted", Readings::value::<Cells>);
    let volume = filled(r, "volume", Readings::value::<Volume>);
    let (gravity, way) = (r.value::<Gravity>("gravity"), r.pick("way", &WAYS));
    let vessel = filled(r, "vessel", Readings::value::<Volume>);
    let wish = StarterWish {
        stirring: way?,
        gravity: gravity?,
        vessel: vessel?,
        whole: false,
    };
    let (from, wanted, volume) = (from?, wanted?, volume?);
    let grown = match (wanted, volume) {
        (_, Some(volume)) => {
            let step = StarterStep {
                volume,
                gravity: wish.gravity,
                stirring: wish.stirring,
            };
            r.told(grow_starter(&from, &Starter::of(step)), place_of)?
        }
        (Some(wanted), None) => match r.told(plan_starter(&from, wanted, &wish), place_of)? {
            Some(plan) => plan.grown,
            None => return Some(enough(&from, r.units)),
        },
        (None, None) => {
            r.refuse(
                &"what is asked for is missing; give the cells wanted or the volume of the starter",
                "wanted",
            );
            return None;
        }
    };
    Some(shown(&grown, r.units))
}

fn enough(from: &Measured<Cells>, units: quantity::Units) -> Measurement {
    Measurement {
        lines: vec![line("cells", "living cells to pitch", from, units).main()],
        notes: vec![Note::fine("they are enough already: no starter is needed")],
        cautions: Vec::new(),
    }
}

/// The names of the steps, in data and in words.
const STEPS: [(&str, &str, &str); ferment::MOST_STEPS] = [
    ("step_1", "extract_1", "step 1"),
    ("step_2", "extract_2", "step 2"),
    ("step_3", "extract_3", "step 3"),
];

fn shown(grown: &GrownStarter, units: quantity::Units) -> Measurement {
    let mut lines = vec![line("cells", "living cells to pitch", &grown.cells, units).main()];
    for (step, (key, extract, label)) in grown.steps.iter().zip(STEPS) {
        let mut wort = exact(key, label, step.step.volume, units);
        wort.text = format!("{}. {}", step_words(step, units), step_uses(step, units));
        lines.push(wort);
        lines.push(exact(
            extract,
            "dried malt extract to weigh",
            step.dried_extract,
            units,
        ));
    }
    let mut begin = exact("ahead", "begin before pitching", grown.ahead.1, units);
    begin.text = show_interval(grown.ahead.0, grown.ahead.1, units);
    lines.push(begin.remark("18 to 36 h a step at 20 to 25 °C, one to two days in the cold before the wort is poured off"));
    Measurement {
        lines,
        notes: grown.notes.clone(),
        cautions: grown.cautions.clone(),
    }
}

fn place_of(error: &FermentError) -> &'static str {
    let FermentError::Impossible { what, .. } = error else {
        return "cells";
    };
    match *what {
        "dilution" => "dilution",
        "large squares counted" | "groups counted" => "squares",
        "dead cells" => "dead",
        "cells looked at for the dye" => "of",
        "spread of the dilution" => "pipetting",
        "starter volume" => "volume",
        "starter gravity" => "gravity",
        "starter vessel" => "vessel",
        "cells wanted" => "wanted",
        _ => "cells",
    }
}
