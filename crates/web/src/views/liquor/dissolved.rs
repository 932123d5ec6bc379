//! What is dissolved as what.
