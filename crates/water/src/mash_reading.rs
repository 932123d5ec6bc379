//! What to do with a pH read in the mash.
