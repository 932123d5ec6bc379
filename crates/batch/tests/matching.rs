//! Documents that meet an aim: aims made by the stream itself are met, what is locked
//! stays, limits and scales are kept, and what cannot be met is explained.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::print_stdout)]

use batch::edit::{set_value, written_values};
use batch::library::Stores;
use batch::matching::{
    AtHand, Block, Destination, MatchError, Matched, Moves, TypedMatch, aimed, matched, moved,
};
use batch::{Document, Reckoning};

const LANTERN: &str = include_str!("../../../examples/lantern-pale.toml");
const TOWPATH: &str = include_str!("../../../examples/towpath-amber.toml");
const STORES: &str = include_str!("../../../examples/library/quay-street-stores.toml");

fn typed(pairs: &[(&str, &str)]) -> TypedMatch {
    pairs.iter().copied().collect()
}

fn found(text: &str, pairs: &[(&str, &str)]) -> Matched {
    matched(text, &typed(pairs), None, &|_, _| true).unwrap()
}

fn reckoned(text: &str) -> Reckoning {
    let (document, assumptions) = Document::read(text).unwrap();
    Reckoning::of(document, assumptions).unwrap()
}

/// The text without its aim, so that only what is asked counts.
fn aimless(text: &str) -> String {
    text[..text.find("[aim]").unwrap()].to_owned()
}

/// Numbers between 0 and 1 that are the same on every machine (xorshift, Marsaglia 2003).
struct Random(u64);

impl Random {
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }
}

/// A recipe nobody asked for: the amounts, the rest, the gas and the salts of a document
/// put anywhere between ends.
fn another(text: &str, random: &mut Random) -> String {
    let written = written_values(text).unwrap();
    let mut made = text.to_owned();
    let mut set = |path: &str, value: String| made = set_value(&made, path, &value).unwrap();
    for (path, value) in &written {
        let kg = |factor: f64| {
            let mass: quantity::Mass = value.parse().unwrap();
            format!("{:.4} kg", mass.kg() * factor)
        };
        match path.as_str() {
            p if p.starts_with("grist[") && p.ends_with(".amount") => {
                set(p, kg(random.between(0.6, 1.4)));
            }
            p if p.starts_with("hop[") && p.ends_with(".amount") => {
                set(p, kg(random.between(0.3, 2.0)));
            }
            p if p.starts_with("water.salt[") && p.ends_with(".amount") => {
                set(p, kg(random.between(0.5, 1.8)));
            }
            "mash.rest[1].temperature" => {
                set(path, format!("{:.1} °C", random.between(62.5, 66.0)));
            }
            "package.carbon_dioxide" => set(path, format!("{:.2} g/L", random.between(4.2, 5.8))),
            _ => {}
        }
    }
    made
}

const FIGURES: [(&str, &str); 9] = [
    ("original_gravity", "°P"),
    ("final_gravity", "°P"),
    ("alcohol", "% vol"),
    ("colour", "EBC"),
    ("bitterness", "IBU"),
    ("carbon_dioxide", "g/L"),
    ("mash_ph", ""),
    ("calcium", "mg/L"),
    ("sulfate", "mg/L"),
];

/// What a recipe comes to, as aims without a tolerance: the usual ones are taken.
fn aims_of(text: &str) -> Vec<(String, String)> {
    let r = reckoned(text);
    let of = |(key, unit): &(&str, &str)| {
        let (beer, water) = (&r.glass, &r.water.mash.ions);
        let value = match *key {
            "original_gravity" => r.boil.wort.gravity.plato(),
            "final_gravity" => r.fermentation.final_gravity.value.plato(),
            "alcohol" => 100.0 * beer.alcohol.ratio(),
            "colour" => beer.colour.ebc(),
            "bitterness" => beer.bitterness.ibu(),
            "carbon_dioxide" => beer.carbon_dioxide.g_per_l(),
            "mash_ph" => r.mash.wort.ph.ph(),
            "calcium" => water.calcium.mg_per_l(),
            _ => water.sulfate.mg_per_l(),
        };
        ((*key).to_owned(), format!("{value:.4} {unit}"))
    };
    FIGURES.iter().map(of).collect()
}

/// The aims are figures that the stream gives for some recipe: they can be met. What is
/// found is weighable, keeps its limits, and leaves what is locked.
#[test]
fn a_hundred_aims_that_can_be_met_are_met() {
    let mut random = Random(0x9E37_79B9_7F4A_7C15);
    let mut missed = Vec::new();
    for number in 0..100 {
        let text = aimless(if number % 2 == 0 { LANTERN } else { TOWPATH });
        let mut aims = aims_of(&another(&text, &mut random));
        aims.push(("draws".to_owned(), "0".to_owned()));
        // Other answers take longer; each tenth aim is asked for all of them.
        let only = if number % 10 == 0 { "" } else { "yes" };
        aims.push(("only_best".to_owned(), only.to_owned()));
        let typed: TypedMatch = aims.into_iter().collect();
        let found = matched(&text, &typed, None, &|_, _| true).unwrap();
        if !found.met() {
            missed.push((number, told(&found)));
        }
        for answer in &found.answers {
            on_the_scale(&found, answer);
            let there = reckoned(&answer.text);
            for (goal, reached) in found.goals.iter().zip(&answer.figures) {
                let read = there_of(&there, goal.figure.key);
                assert!((read - reached.value).abs() < 1e-9 * (1.0 + read.abs()));
            }
        }
    }
    assert!(missed.is_empty(), "{} missed: {missed:#?}", missed.len());
}

fn told(found: &Matched) -> Vec<String> {
    let each = found.goals.iter().zip(&found.best().figures);
    each.map(|(g, f)| {
        format!(
            "{} {:.4} of {:?}..{:?}",
            g.figure.key, f.value, g.low, g.high
        )
    })
    .collect()
}

fn there_of(r: &Reckoning, key: &str) -> f64 {
    let line = match key {
        "mash_ph" => r.mash.wort.ph.ph(),
        "calcium" => r.water.mash.ions.calcium.mg_per_l(),
        "sulfate" => r.water.mash.ions.sulfate.mg_per_l(),
        "original_gravity" => r.boil.wort.gravity.plato(),
        "final_gravity" => r.fermentation.final_gravity.value.plato(),
        "alcohol" => r.glass.alcohol.ratio(),
        "colour" => r.glass.colour.ebc(),
        "bitterness" => r.glass.bitterness.ibu(),
        _ => r.glass.carbon_dioxide.g_per_l(),
    };
    assert!(aimed(key).is_some());
    line
}

fn on_the_scale(found: &Matched, answer: &batch::matching::Answer) {
    for amount in &answer.amounts {
        let lever = &found.levers[amount.lever];
        let edge = 1e-6 * lever.scale;
        assert!(
            amount.value >= lever.least - edge && amount.value <= lever.most + edge,
            "{} {}",
            lever.path,
            amount.value
        );
        let steps = amount.value / lever.step;
        let at_rest = (amount.value - lever.now).abs() < edge;
        let at_end =
            (amount.value - lever.most).abs() < edge || (amount.value - lever.least).abs() < edge;
        assert!(
            at_rest || at_end || (steps - steps.round()).abs() < 1e-6,
            "{} {}",
            lever.path,
            amount.value
        );
    }
}

#[test]
fn what_is_locked_never_moves() {
    let found = found(
        LANTERN,
        &[
            ("original_gravity", "1.060 ± 0.002"),
            ("alcohol", "free"),
            ("final_gravity", "free"),
            ("lock", "wheat malt, hop[1], mash, package, water"),
            ("draws", "0"),
        ],
    );
    assert!(found.met(), "{:?}", told(&found));
    let before = written_values(LANTERN).unwrap();
    for answer in &found.answers {
        let after = written_values(&answer.text).unwrap();
        let stays = |key: &&String| {
            [
                "grist[2].",
                "hop[1].",
                "mash.",
                "package.",
                "water.",
                "aim.",
                "kit.",
            ]
            .iter()
            .any(|p| key.starts_with(p))
        };
        for key in before.keys().filter(stays) {
            assert_eq!(before.get(key), after.get(key), "{} {key}", answer.key);
        }
        assert_ne!(before["grist[1].amount"], after["grist[1].amount"]);
        // What a person wrote beside the figures is still there.
        assert!(answer.text.contains("# the utility uses chloramine"));
    }
    for answer in &found.answers {
        assert_eq!(
            reckoned(&answer.text).document.kit,
            reckoned(LANTERN).document.kit
        );
    }
}

#[test]
fn any_number_of_threads_finds_the_same() {
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        let pairs = [
            ("colour", "8 ± 1 EBC"),
            ("bitterness", "35 ± 2 IBU"),
            ("draws", "32"),
        ];
        let found = pool.install(|| found(LANTERN, &pairs));
        let of = |a: &batch::matching::Answer| (a.key, a.text.clone(), a.chance);
        found.answers.iter().map(of).collect::<Vec<_>>()
    };
    assert_eq!(with(1), with(4));
}

#[test]
fn a_colour_out_of_reach_names_the_limit_and_what_would_do() {
    let text = TOWPATH.replace(
        "class = \"crystal malt 100 to 160 EBC\"\namount = \"9 oz\"",
        "class = \"roast barley\"\namount = \"50 g\"",
    );
    assert!(text.contains("roast barley"));
    let found = found(
        &text,
        &[
            ("colour", "60 ± 3 EBC"),
            (
                "limits",
                "roast barley at most 100 g; Munich malt, light at most 2 kg",
            ),
            ("mash_ph", "free"),
            ("draws", "0"),
        ],
    );
    assert!(!found.met());
    let roast = found
        .levers
        .iter()
        .position(|l| l.name == "roast barley")
        .unwrap();
    let block = found.blocks.iter().find_map(|b| match b {
        Block::Limit {
            lever,
            ends,
            would,
            enough,
            ..
        } if *lever == roast => Some((*ends, *would, *enough)),
        _ => None,
    });
    let (ends, would, enough) = block.unwrap_or_else(|| panic!("{:?}", found.blocks));
    assert!(
        (ends - 0.1).abs() < 1e-9 && enough && would > 0.12,
        "{would}"
    );
    // What is told is true: with the limit there, the aim is met.
    let most = format!("roast barley at most {:.0} g", 1000.0 * would + 20.0);
    let eased = self::found(
        &text,
        &[
            ("colour", "60 ± 3 EBC"),
            ("limits", &most),
            ("mash_ph", "free"),
            ("draws", "0"),
        ],
    );
    assert!(eased.met(), "{:?}", told(&eased));
}

/// Alpha-acids dissolve only so far: beyond that more hops of one addition bring nothing.
#[test]
fn a_figure_that_nothing_takes_any_further_is_told() {
    let found = found(LANTERN, &[("bitterness", "150 ± 3 IBU"), ("draws", "0")]);
    assert!(!found.met());
    let flat = found.blocks.iter().find_map(|b| match b {
        Block::Flat { key, at } => Some((*key, *at)),
        _ => None,
    });
    let (key, at) = flat.unwrap_or_else(|| panic!("{:?}", found.blocks));
    assert!(
        key == "bitterness" && (60.0..120.0).contains(&at),
        "{key} {at}"
    );
}

#[test]
fn aims_that_do_not_agree_are_told() {
    let found = found(
        LANTERN,
        &[
            ("original_gravity", "1.050 ± 0.001"),
            ("final_gravity", "1.009 ± 0.001"),
            ("alcohol", "8.0 ± 0.2 %"),
            ("draws", "0"),
        ],
    );
    assert!(!found.met());
    let gone: Vec<&str> = found
        .blocks
        .iter()
        .filter_map(|b| match b {
            Block::Goal { key, .. } => Some(*key),
            _ => None,
        })
        .collect();
    assert!(gone.contains(&"alcohol"), "{:?}", found.blocks);
    assert!(!gone.contains(&"bitterness"));
}

#[test]
fn what_stands_still_is_told_where_it_would_help() {
    let text = aimless(LANTERN);
    let before = reckoned(&text)
        .packaging
        .beer
        .flavour
        .isoamyl_acetate
        .mg_per_l();
    let wish = format!("at least {:.3} mg/L", 1.2 * before);
    let found = found(
        &text,
        &[
            ("banana", &wish),
            ("original_gravity", "1.050 ± 0.002"),
            ("draws", "0"),
        ],
    );
    assert!(!found.met());
    let groups = found.blocks.iter().find_map(|b| match b {
        Block::Group { groups } => Some(groups.clone()),
        _ => None,
    });
    let groups = groups
        .unwrap_or_else(|| panic!("{:?}", found.blocks))
        .join(", ");
    let moved = format!("malts, hops, mash, gas, {groups}");
    let eased = self::found(
        &text,
        &[
            ("banana", &wish),
            ("original_gravity", "1.050 ± 0.002"),
            ("move", &moved),
            ("draws", "0"),
        ],
    );
    assert!(eased.met(), "{groups} {:?}", told(&eased));
}

#[test]
fn stores_bring_their_own_figures_and_their_limits() {
    let (stores, _) = Stores::read(STORES).unwrap();
    let at_hand = AtHand {
        stores: &stores,
        text: STORES,
    };
    let pairs = [
        ("bitterness", "40 ± 2 IBU"),
        ("colour", "free"),
        ("draws", "0"),
    ];
    let found = matched(TOWPATH, &typed(&pairs), Some(&at_hand), &|_, _| true).unwrap();
    // Three malts of the recipe and three of the stores; Perle, Hersbrucker, and Saaz at
    // both times.
    let malts = found
        .levers
        .iter()
        .filter(|l| matches!(l.moves, Moves::Malt(_)));
    assert_eq!(malts.count(), 6);
    assert_eq!(
        found
            .levers
            .iter()
            .filter(|l| matches!(l.moves, Moves::Hop(_)))
            .count(),
        4
    );
    let pilsner = found
        .levers
        .iter()
        .find(|l| l.name == "pilsner, floor-malted")
        .unwrap();
    assert!((pilsner.now).abs() < 1e-12 && pilsner.most <= 12.5);
    for answer in &found.answers {
        let document = Document::read(&answer.text).unwrap().0;
        for hop in ["Perle", "Saaz"] {
            let of = document.hops.iter().filter(|h| h.hop == hop);
            let kg: f64 = of.map(|h| h.amount.value.kg()).sum();
            let kept = stores
                .hops
                .iter()
                .find(|h| h.hop == hop)
                .unwrap()
                .amount
                .value
                .kg();
            assert!(kg <= kept + 1e-9, "{hop} {kg}");
        }
        let malt = document.grist.iter().find(|g| g.class == "pilsner malt");
        assert!(malt.is_none_or(|m| m.sheet.extract.is_some()));
    }
}

/// What the stores say that a kilogram costs counts without being asked, and gives way to
/// what is asked.
#[test]
fn the_stores_know_what_things_cost() {
    let priced = STORES.replacen(
        "[[malt]]\nclass = \"wheat malt\"",
        "[[malt]]\nprice = \"1.90\"\nclass = \"wheat malt\"",
        1,
    );
    let priced = priced.replacen(
        "[[hop]]\nhop = \"Perle\"",
        "[[hop]]\nprice = \"42\"\nhop = \"Perle\"",
        1,
    );
    let (stores, _) = Stores::read(&priced).unwrap();
    let at_hand = AtHand {
        stores: &stores,
        text: &priced,
    };
    let asked = |prices: &str| {
        let pairs = [
            ("colour", "free"),
            ("prices", prices),
            ("draws", "0"),
            ("only_best", "yes"),
        ];
        matched(TOWPATH, &typed(&pairs), Some(&at_hand), &|_, _| true).unwrap()
    };
    let price = |found: &batch::matching::Matched, name: &str| {
        let lever = found.levers.iter().find(|l| l.name.starts_with(name));
        lever.unwrap_or_else(|| panic!("no {name}")).price
    };
    let found = asked("");
    assert_eq!(price(&found, "wheat malt"), Some(1.9));
    assert_eq!(price(&found, "Perle"), Some(42.0));
    assert_eq!(price(&found, "Saaz"), None);
    assert!(found.best().cost.is_some());
    assert_eq!(price(&asked("Perle 30"), "Perle"), Some(30.0));
    // A price is no figure of a sack: it goes into no recipe.
    assert!(!found.best().text.contains("price"));
}

/// Summed by hand from the document that is found: a kilogram of malt, hops and salts, a
/// litre of acid, a packet of yeast. What has no price counts for nothing.
#[test]
fn yeast_salts_and_acid_have_their_price_too() {
    let priced = STORES
        .replacen(
            "stored_at = \"5 °C\"",
            "stored_at = \"5 °C\"\nprice = \"4.50\"",
            1,
        )
        .replacen(
            "amount = \"220 g\"",
            "amount = \"220 g\"\nprice = \"12\"",
            1,
        )
        .replacen(
            "volume = \"150 mL\"",
            "volume = \"150 mL\"\nprice = \"30\"",
            1,
        );
    let (stores, _) = Stores::read(&priced).unwrap();
    let at_hand = AtHand {
        stores: &stores,
        text: &priced,
    };
    let pairs = [
        ("prices", "wheat malt 2; phenolic ale 5"),
        ("draws", "0"),
        ("only_best", "yes"),
    ];
    let found = matched(LANTERN, &typed(&pairs), Some(&at_hand), &|_, _| true).unwrap();
    let (document, _) = Document::read(&found.best().text).unwrap();
    let wheat = document.grist.iter().filter(|g| g.class == "wheat malt");
    let wheat: f64 = wheat.map(|g| 2.0 * g.amount.value.kg()).sum();
    let water = &document.water;
    let chloride = water.salts.iter();
    let chloride = chloride.filter(|s| s.salt == "calcium chloride dihydrate");
    let chloride: f64 = chloride.map(|s| 12.0 * s.amount.value.kg()).sum();
    let acid = water.acids.iter().filter_map(|a| a.volume);
    let acid: f64 = acid.map(|v| 30.0 * v.value.l()).sum();
    assert!(wheat > 0.0 && chloride > 0.0 && acid > 0.0);
    // What is asked goes before what the stores say.
    let by_hand = wheat + chloride + acid + 5.0 * document.yeast.packets;
    let cost = found.best().cost.unwrap();
    assert!((cost - by_hand).abs() < 1e-9, "{cost} {by_hand}");
}

#[test]
fn fewer_cheaper_and_nearer_answers_are_that() {
    let (stores, _) = Stores::read(STORES).unwrap();
    let at_hand = AtHand {
        stores: &stores,
        text: STORES,
    };
    let pairs = [
        ("original_gravity", "1.050 ± 0.002"),
        ("bitterness", "25 ± 3 IBU"),
        ("colour", "18 ± 3 EBC"),
        ("final_gravity", "free"),
        ("alcohol", "free"),
        (
            "prices",
            "Vienna malt 2.10; Munich malt, light 2.40; crystal malt 100 to 160 EBC 3.20; pilsner malt 1.60; wheat malt 1.90; sucrose 1.20; Perle 40; Hersbrucker 52; Saaz 48",
        ),
        ("draws", "0"),
    ];
    let found = matched(TOWPATH, &typed(&pairs), Some(&at_hand), &|_, _| true).unwrap();
    assert!(found.met(), "{:?}", told(&found));
    let best = found.best();
    assert!(found.answers.iter().all(batch::matching::Answer::met));
    let keys: Vec<&str> = found.answers.iter().map(|a| a.key).collect();
    assert!(
        keys.contains(&"few") && keys.contains(&"cheap") && keys.contains(&"least-change"),
        "{keys:?}"
    );
    assert!(found.answer("few").ingredients < best.ingredients);
    let cheap = found.answer("cheap").cost.unwrap();
    assert!(
        found
            .answers
            .iter()
            .all(|a| cheap <= a.cost.unwrap() + 0.02),
        "{cheap}"
    );
    assert!(found.answer("least-change").change <= best.change + 1e-9);
}

#[test]
fn the_likeliest_is_likelier() {
    // A narrow aim whose middle the recipe misses: bitterness spreads, so that the middle
    // of what would do is best.
    let pairs = [
        ("bitterness", "at most 34 IBU"),
        ("original_gravity", "at least 1.050"),
        ("colour", "free"),
        ("alcohol", "free"),
        ("final_gravity", "free"),
        ("mash_ph", "free"),
        ("clove", "free"),
        ("banana", "free"),
        ("calcium", "free"),
        ("chloride", "free"),
        ("sulfate", "free"),
        ("carbon_dioxide", "free"),
    ];
    let found = found(LANTERN, &pairs);
    let best = found.best();
    let chance = best.chance.unwrap();
    assert!((0.0..=1.0).contains(&chance));
    for reached in &best.figures {
        let (low, high) = reached.between.unwrap();
        assert!(low <= high && reached.chance.unwrap() >= chance - 1e-12);
    }
    let likely = found.answer("likely");
    assert!(
        likely.key == "likely" && likely.chance.unwrap() > chance,
        "{chance}"
    );
}

#[test]
fn a_search_can_be_stopped_and_questions_that_cannot_be_used_are_told() {
    let stopped = matched(LANTERN, &typed(&[]), None, &|_, _| false);
    assert!(matches!(stopped, Err(MatchError::Stopped)), "{stopped:?}");
    let none = matched(&aimless(LANTERN), &typed(&[]), None, &|_, _| true);
    assert!(matches!(none, Err(MatchError::Question(_))));
    let odd = [("limits", "oats at most 1 kg")];
    let told = matched(LANTERN, &typed(&odd), None, &|_, _| true).unwrap_err();
    assert!(
        told.to_string().contains("limit one of pilsner malt"),
        "{told}"
    );
    let locked = [("lock", "malts, hops, mash, gas, water")];
    let told = matched(LANTERN, &typed(&locked), None, &|_, _| true).unwrap_err();
    assert!(told.to_string().contains("everything is locked"), "{told}");
    let broken = matched("[batch", &typed(&[]), None, &|_, _| true);
    assert!(matches!(broken, Err(MatchError::Document(_))));
}

/// Two and a half times the volume, higher up: what multiplying gives is off, what is found is not.
#[test]
fn a_batch_that_moves_is_matched_anew() {
    let to = Destination {
        volume: "50 L".to_owned(),
        altitude: "500 m".to_owned(),
        ..Destination::default()
    };
    let quick = typed(&[("draws", "0"), ("only_best", "yes")]);
    let moved = moved(LANTERN, &to, &quick, None, &|_, _| true).unwrap();
    assert!((moved.factor - 2.5).abs() < 1e-12);
    let multiplied = moved.matched.goals.iter().zip(&moved.matched.before);
    let off: Vec<&str> = multiplied
        .filter(|(goal, value)| !goal.met(**value))
        .map(|(goal, _)| goal.figure.key)
        .collect();
    assert!(!off.is_empty(), "multiplying alone would do");
    assert!(moved.matched.met(), "{off:?} {:?}", told(&moved.matched));
    let there = Document::read(&moved.matched.best().text).unwrap().0;
    assert!((there.batch.volume.value.l() - 50.0).abs() < 1e-9);
    assert!((there.kit.altitude.value.m() - 500.0).abs() < 1e-9);
    let (before, after) = (reckoned(LANTERN), reckoned(&moved.matched.best().text));
    let off = before.boil.wort.gravity.plato() - after.boil.wort.gravity.plato();
    assert!(off.abs() < 0.5, "{off}");
}

#[test]
fn another_kit_and_another_water_take_the_place_of_those_of_the_batch() {
    let water = include_str!("../../../examples/library/cold-fell-spring/2026-03-02.toml");
    let kit = include_str!("../../../examples/library/quay-street-brewhouse.toml");
    let to = Destination {
        brewhouse: Some(kit.to_owned()),
        water: Some(("Cold Fell spring".to_owned(), water.to_owned())),
        ..Destination::default()
    };
    let quick = typed(&[("draws", "0"), ("only_best", "yes")]);
    let moved = moved(LANTERN, &to, &quick, None, &|_, _| true).unwrap();
    let best = Document::read(&moved.matched.best().text).unwrap().0;
    assert_eq!(best.water.sources.len(), 1);
    assert_eq!(best.water.sources[0].name, "Cold Fell spring");
    let (brewhouse, _) = batch::library::Brewhouse::read(kit).unwrap();
    assert_eq!(best.kit, brewhouse.kit);
    assert!(
        moved
            .matched
            .goals
            .iter()
            .any(|g| g.figure.key == "chloride")
    );
    let off: Vec<f64> = moved
        .matched
        .best()
        .figures
        .iter()
        .map(|f| f.beyond)
        .collect();
    assert!(
        moved.matched.best().worst < 0.5,
        "{off:?} {:?}",
        told(&moved.matched)
    );
}

#[test]
fn a_destination_that_cannot_be_read_is_told_at_its_field() {
    for (volume, altitude, path) in [
        ("many", "", "volume"),
        ("", "high", "altitude"),
        ("0 L", "", "volume"),
    ] {
        let to = Destination {
            volume: volume.to_owned(),
            altitude: altitude.to_owned(),
            ..Destination::default()
        };
        let error = moved(LANTERN, &to, &typed(&[]), None, &|_, _| true).unwrap_err();
        let MatchError::Question(faults) = error else {
            panic!("{error}");
        };
        assert!(
            faults.iter().any(|f| f.path == path && !f.help.is_empty()),
            "{faults:?}"
        );
    }
}
