//! Tests, intervals and measures of agreement of plain numbers.
//!
//! Values have any unit, and results have the same. Nothing here knows of soil, fields or files. Results
//! are the same on any machine: only IEEE 754 operations and the crate `libm` are used, in a fixed order.
//! What cannot be computed, as from too few values, is `None`. Probabilities are of both sides. Where
//! there is a first and a second, a difference is the second minus the first.
//!
//! ```
//! use statistics::{Zeros, paired_t, pseudomedian, signed_rank};
//!
//! // Six spots, in inches: the later visit less the earlier.
//! let changes = [-6.0, -3.0, -4.5, 0.5, -2.0, -7.5];
//! let test = paired_t(&changes, 0.95).expect("there are two values or more, not all alike");
//! assert_eq!(test.mean, -3.75);
//! assert!(test.p < 0.05 && test.interval[1] < 0.0);
//! let middle = pseudomedian(&changes, 0.95).expect("there are two values or more");
//! assert_eq!(middle.estimate, -3.75);
//! let ranks = signed_rank(&changes, Zeros::Pratt).expect("not all values are 0");
//! // Of the 64 choices of signs four are as far off: those with V of 0, 1, 20 and 21.
//! assert_eq!(ranks.p_exact, Some(4.0 / 64.0));
//! ```

mod agreement;
mod autocorrelation;
mod bowker;
pub mod chi_squared;
mod class_table;
mod correlation;
mod distance;
mod effective_size;
mod evened;
pub mod fisher_f;
mod incomplete_beta;
mod linear_model;
mod log_rank;
mod modified_t_test;
mod moments;
pub mod normal;
mod order;
mod paired_t;
mod pseudomedian;
pub mod random;
mod rank_sum;
mod ranks;
mod sign_choices;
mod sign_test;
mod signed_rank;
mod spatial_weights;
pub mod student;
mod two_measurements;
mod two_samples;
mod walsh;

pub use agreement::{Agreement, KappaError};
pub use autocorrelation::{Autocorrelation, Departure, gearys_c, morans_i};
pub use bowker::Bowker;
pub use class_table::ClassTable;
pub use correlation::{correlation, kendalls_tau, rank_correlation};
pub use effective_size::effective_size_of_mean;
pub use evened::evened;
pub use linear_model::{Slope, Term, TermEffect, VarianceTable, analysis_of_variance};
pub use log_rank::{Lifetime, LogRank, log_rank};
pub use modified_t_test::{DistanceClass, ModifiedT, modified_t_test, sturges_classes};
pub use order::{median, quantile};
pub use paired_t::{MeanTest, paired_t};
pub use pseudomedian::{Pseudomedian, pseudomedian};
pub use random::Random;
pub use rank_sum::{RankSum, rank_sum};
pub use sign_test::{SignTest, sign_test};
pub use signed_rank::{SignedRank, Zeros, signed_rank};
pub use spatial_weights::SpatialWeights;
pub use two_measurements::{Concordance, LimitsOfAgreement, concordance, limits_of_agreement};
pub use two_samples::{DifferenceTest, pooled_t, welch};
