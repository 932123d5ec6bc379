//! Chlorine and chloramine.
