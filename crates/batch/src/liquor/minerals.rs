//! Salts and acids by search.
