//! `gyle water …`: what is dissolved as what, what boiling and lime do, pH against acid.
