//! `gyle water …`: the ways to take chlorine out, side by side.
