//! `gyle water …`: read a report of a utility or laboratory.
