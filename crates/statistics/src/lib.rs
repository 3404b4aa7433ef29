//! Tests, intervals and measures of agreement of plain numbers.
//!
//! Values have any unit, and results have the same. Nothing here knows of soil, fields or files. Results
//! are the same on any machine: only IEEE 754 operations and the crate `libm` are used, in a fixed order.

pub mod student;
