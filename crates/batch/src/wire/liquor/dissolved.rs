//! What is dissolved as what, as JSON.
