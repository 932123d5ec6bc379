//! Salts and acids by search, as JSON.
