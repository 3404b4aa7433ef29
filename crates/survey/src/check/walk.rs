//! The walk: times that go back, and steps no one can take.

use super::{Checking, Placed};
use crate::error::distance;

/// Faster than this no one walks from probe to probe, metres a second (common practice: a brisk
/// walk is 1.5 to 2).
const FASTEST_M_PER_S: f64 = 4.0;

/// Steps so short are within the error of a receiver, metres.
const WITHIN_ERROR_M: f64 = 15.0;

impl Checking<'_> {
    /// Doubts about records, in file order, whose time is before the one before, or that are too far
    /// from it for the time between. Only records with a date and a time of day take part.
    pub(super) fn doubt_walk(&mut self, placed: &[Placed]) {
        let timed: Vec<_> = placed
            .iter()
            .filter_map(|&(insertion, place)| {
                let at = insertion.date?.to_datetime(insertion.time?);
                Some((insertion, place, at))
            })
            .collect();
        for pair in timed.windows(2) {
            let [(_, from, before), (insertion, to, at)] = pair else { continue };
            let seconds = at.duration_since(*before).as_secs_f64();
            let step_m = from.distance_m(*to);
            if seconds < 0.0 {
                self.doubt(
                    insertion,
                    format!("its time, {at}, is before that of the record before"),
                );
            } else if step_m > WITHIN_ERROR_M && step_m > FASTEST_M_PER_S * seconds {
                self.doubt(
                    insertion,
                    format!(
                        "{} from the record before in {seconds:.0} s: no one walks so fast",
                        distance(step_m)
                    ),
                );
            }
        }
    }
}
