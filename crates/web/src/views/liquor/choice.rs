//! Which water for which beer.
