//! What is dissolved as what: pH, ion pairs, saturation, what falls out.
