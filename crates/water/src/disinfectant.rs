//! What disinfectant a water holds, every way to take it out, and which to choose.
