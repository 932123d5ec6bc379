//! The words of a document that name a row in some table of a stage.
//!
//! Each pair gives the names for the schema and for "known: …", and finds the
//! row of a word, giving back its plain name.

use ferment::strains;
use inquiry::Knowledge;
use package::cleaning::Agent;
use package::{Container, Sugar};
use water::acids::AcidProduct;
use water::dechlorination::Reagent;
use water::salts::Salt;

pub(crate) fn reagents() -> Vec<String> {
    Reagent::ALL.iter().map(ToString::to_string).collect()
}

pub(crate) fn reagent(word: &str) -> Result<String, String> {
    plain(Reagent::named(word).map(|r| r.to_string()))
}

pub(crate) fn salts() -> Vec<String> {
    water::salts::salts()
        .iter()
        .map(|s| s.name.clone())
        .collect()
}

pub(crate) fn salt(word: &str) -> Result<String, String> {
    plain(Salt::named(word).map(|s| s.name.clone()))
}

pub(crate) fn acids() -> Vec<String> {
    water::acids::products()
        .iter()
        .map(|a| a.name.clone())
        .collect()
}

pub(crate) fn acid(word: &str) -> Result<String, String> {
    plain(AcidProduct::named(word).map(|a| a.name.clone()))
}

/// What moves the pH of a mash.
pub(crate) fn remedies() -> Vec<String> {
    let mut all = acids();
    all.push(ACID_MALT.to_owned());
    all.extend(salts());
    all
}

pub(crate) fn remedy(word: &str) -> Result<String, String> {
    if word.trim().eq_ignore_ascii_case(ACID_MALT) {
        return Ok(ACID_MALT.to_owned());
    }
    let told =
        |name: String| format!("{name:?} is no acid, no salt and no acidulated malt of the tables");
    acid(word)
        .or_else(|_| salt(word))
        .map_err(|_| told(word.to_owned()))
}

/// Whether a remedy has a density, so that it can be measured by volume.
pub(crate) fn is_liquid(word: &str) -> bool {
    AcidProduct::named(word).is_ok_and(|product| product.density_g_per_ml.is_some())
}

/// The malt whose acid is what it is mashed for.
pub(crate) const ACID_MALT: &str = "acidulated malt";

pub(crate) fn malts() -> Vec<String> {
    wort::malts::all().iter().map(|m| m.name.clone()).collect()
}

pub(crate) fn malt(word: &str) -> Result<String, String> {
    plain(wort::malts::find(word).map(|m| m.name))
}

pub(crate) fn hop(word: &str) -> Result<String, String> {
    plain(wort::hops::find(word).map(|h| h.name))
}

pub(crate) fn strain_names() -> Vec<String> {
    strains().iter().map(|s| s.name.clone()).collect()
}

pub(crate) fn strain(word: &str) -> Result<String, String> {
    plain(ferment::strain(word).map(|s| s.name.clone()))
}

/// Containers that may be filled; those never to be put under pressure are known
/// to the stage, which says why they are refused.
pub(crate) fn bottles() -> Vec<String> {
    Container::all().iter().map(|c| c.key.clone()).collect()
}

pub(crate) fn bottle(word: &str) -> Result<String, String> {
    plain(Container::find(word).map(|c| c.key.clone()))
}

pub(crate) fn agents() -> Vec<String> {
    Agent::all().iter().map(|a| a.key.clone()).collect()
}

pub(crate) fn agent(word: &str) -> Result<String, String> {
    plain(Agent::find(word).map(|a| a.key.clone()))
}

pub(crate) fn causes() -> Vec<String> {
    let all = Knowledge::built_in().causes.iter();
    all.map(|c| c.key.clone()).collect()
}

pub(crate) fn cause(word: &str) -> Result<String, String> {
    let k = Knowledge::built_in();
    plain(k.cause(word).map(|at| k.causes[at].key.clone()))
}

pub(crate) fn findings() -> Vec<String> {
    let all = Knowledge::built_in().findings.iter();
    all.map(|f| f.key.clone()).collect()
}

pub(crate) fn finding(word: &str) -> Result<String, String> {
    let k = Knowledge::built_in();
    plain(k.finding(word).map(|at| k.findings[at].key.clone()))
}

pub(crate) fn tests() -> Vec<String> {
    let all = Knowledge::built_in().tests.iter();
    all.map(|t| t.key.clone()).collect()
}

pub(crate) fn test(word: &str) -> Result<String, String> {
    let k = Knowledge::built_in();
    plain(k.test(word).map(|at| k.tests[at].key.clone()))
}

pub(crate) fn sugars() -> Vec<String> {
    Sugar::all().iter().map(|s| s.key.clone()).collect()
}

pub(crate) fn sugar(word: &str) -> Result<String, String> {
    plain(Sugar::find(word).map(|s| s.key.clone()))
}

fn plain<E: std::fmt::Display>(found: Result<String, E>) -> Result<String, String> {
    found.map_err(|e| e.to_string())
}
