//! Readers fed with damaged files.
//!
//! A [`Target`] reads bytes as one kind of file. A [`Campaign`] damages the kept files of
//! `corpus/<target>/` at random and runs the target with each: it must not panic, must be done within
//! [`SLOWEST`], and may take [`MOST_MEMORY_KIB`] of memory. Inputs are at most
//! [`LONGEST_INPUT`] bytes. Whatever can be read must also be the same once it is written by our own
//! writers and read again.
//!
//! There is no coverage to steer by on stable Rust; what a reader says about an input, its numbers and
//! names taken out, stands in for it: an input with a new answer joins the corpus of the run.
//!
//! ```text
//! cargo run --package fuzz -- --seconds 30 --seed 1 [TARGET]
//! ```
//!
//! The same seed damages the same way; how far a run comes depends on the time. An input that fails is
//! kept in `target/fuzz-failures/`; moved into `corpus/<target>/`, it is run by `cargo test -p fuzz`.

mod campaign;
mod dictionary;
mod memory;
mod mutator;
mod parts;
mod random;
mod round_trip;
mod targets;

pub use campaign::{Campaign, Failure, LONGEST_INPUT, SLOWEST, Tally, corpus_of};
pub use memory::{MOST_MEMORY_KIB, peak_memory_kib};
pub use parts::Parts;
pub use targets::{TARGETS, Target};
