//! A pH read in the mash, as JSON.
