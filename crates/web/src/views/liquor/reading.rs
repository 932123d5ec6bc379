//! A pH read in the mash.
