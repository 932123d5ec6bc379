//! Every JSON form by the name that faces ask for it under: those of the batch and those
//! of what goes to and comes from other programs.

use batch::wire::{MakeSchema, SCHEMAS};
use interchange::wire::{recipe_written_schema, recipes_read_schema};

const OF_RECIPES: [(&str, MakeSchema); 2] = [
    ("recipe-written", recipe_written_schema),
    ("recipes-read", recipes_read_schema),
];

fn all() -> impl Iterator<Item = (&'static str, MakeSchema)> {
    SCHEMAS.into_iter().chain(OF_RECIPES)
}

/// The names of all forms.
#[must_use]
pub fn schema_names() -> Vec<&'static str> {
    all().map(|(name, _)| name).collect()
}

/// The JSON Schema of the form with a name.
#[must_use]
pub fn schema(name: &str) -> Option<serde_json::Value> {
    all()
        .find(|(known, _)| *known == name)
        .map(|(_, make)| make())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_schema_is_found_under_the_name_that_its_own_identifier_has() {
        for (name, make) in all() {
            let id = format!("urn:gylewright:schema:{name}:1");
            assert_eq!(make()["$id"], id.as_str());
        }
        assert!(schema("recipes-read").is_some() && schema("cellar").is_none());
        assert_eq!(schema_names().len(), SCHEMAS.len() + 2);
    }
}
