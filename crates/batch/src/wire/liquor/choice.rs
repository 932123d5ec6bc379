//! Which water for which beer, as JSON.
