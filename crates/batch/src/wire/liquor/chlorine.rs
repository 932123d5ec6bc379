//! Chlorine and chloramine, as JSON.
