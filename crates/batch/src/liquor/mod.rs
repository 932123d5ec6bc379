//! Questions about the water of a batch: from the document to the task of the
//! water stage, and back to edits of the document.

pub mod chlorine;
pub mod minerals;
pub mod report;
