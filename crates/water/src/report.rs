//! Reading what a utility or a laboratory wrote about a water.
