//! `gyle water …`: which water for this beer.
