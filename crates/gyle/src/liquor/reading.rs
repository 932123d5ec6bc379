//! `gyle water …`: what to do with a pH read in the mash.
