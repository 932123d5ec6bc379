//! Reading a report.
