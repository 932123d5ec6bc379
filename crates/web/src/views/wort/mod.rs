//! Parts of the benches of mash and boil.

pub mod starch;
