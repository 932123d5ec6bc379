//! Reading a report, as JSON.
