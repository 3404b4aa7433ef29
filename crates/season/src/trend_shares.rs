//! How much of a visit's probes are shallower than a mark.

use survey::{Depth, KaplanMeier, Reading};

/// The share of probes whose loose layer is thinner than a mark; a reading of just the mark is not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShareShallower {
    /// The mark.
    pub mark: Depth,
    /// Probes that reached the threshold above it.
    pub shallower: usize,
    /// Probes that came so deep without.
    pub deeper: usize,
    /// Probes of which it is not known: the rod stopped above the mark, and the threshold was not reached.
    pub unknown: usize,
    /// The share, 0 to 1: counted where it is known of every probe, else by Kaplan and Meier.
    pub share: f64,
}

impl ShareShallower {
    /// The share of some readings, at least one, with their function.
    pub fn of(readings: &[Reading], curve: &KaplanMeier, mark: Depth) -> Self {
        // As classes of a map are told apart.
        let is_above = |reading: &&Reading| reading.at_least().cm() < mark.cm();
        let above = readings.iter().filter(is_above);
        let (unknown, shallower): (Vec<&Reading>, Vec<&Reading>) =
            above.partition(|reading| reading.is_not_reached());
        let (unknown, shallower) = (unknown.len(), shallower.len());
        let last_above = curve.steps().iter().rev().find(|step| step.depth.cm() < mark.cm());
        ShareShallower {
            mark,
            shallower,
            deeper: readings.len() - shallower - unknown,
            unknown,
            share: match unknown {
                0 => shallower as f64 / readings.len() as f64,
                _ => last_above.map_or(0.0, |step| 1.0 - step.deeper),
            },
        }
    }

    /// The least and the greatest that the share of these probes can be: the same where it is known of all.
    pub fn bounds(&self) -> [f64; 2] {
        let all = (self.shallower + self.deeper + self.unknown) as f64;
        [self.shallower, self.shallower + self.unknown].map(|count| count as f64 / all)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn share(depths_in: &[f64], mark_in: f64) -> ShareShallower {
        // Negative: not reached.
        let reading = |&inches: &f64| match Depth::from_in(inches.abs()) {
            probed_to if inches < 0.0 => Reading::NotReached { probed_to },
            depth => Reading::Reached(depth),
        };
        let readings: Vec<Reading> = depths_in.iter().map(reading).collect();
        let curve = KaplanMeier::of(&readings).unwrap();
        ShareShallower::of(&readings, &curve, Depth::from_in(mark_in))
    }

    #[test]
    fn a_reading_of_just_the_mark_is_not_shallower() {
        let found = share(&[3.0, 6.0, 6.0, 9.0, -18.0], 6.0);
        assert_eq!((found.shallower, found.deeper, found.unknown), (1, 4, 0));
        assert_eq!((found.share, found.bounds()), (0.2, [0.2, 0.2]));
        assert_eq!(share(&[3.0, 6.0], 3.0).share, 0.0);
        assert_eq!(share(&[3.0, 6.0], 24.0).share, 1.0);
    }

    #[test]
    fn a_rod_that_went_to_the_mark_without_is_not_shallower() {
        let found = share(&[3.0, -6.0], 6.0);
        assert_eq!((found.share, found.bounds()), (0.5, [0.5, 0.5]));
    }

    #[test]
    fn short_rods_leave_bounds_around_the_estimate() {
        // 3, 4+, 5, 9 against 6 in: after 3, 3/4 are deeper; after 5, of two left, 3/8.
        let found = share(&[3.0, -4.0, 5.0, 9.0], 6.0);
        assert_eq!((found.shallower, found.deeper, found.unknown), (2, 1, 1));
        assert!((found.share - 0.625).abs() < 1e-12);
        assert_eq!(found.bounds(), [0.5, 0.75]);
        // Nothing was reached above 6 in.
        let found = share(&[-4.0, -5.0, 9.0], 6.0);
        assert_eq!((found.share, found.bounds()), (0.0, [0.0, 2.0 / 3.0]));
    }
}
