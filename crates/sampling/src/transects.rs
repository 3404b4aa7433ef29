//! Transects across traffic: lines at right angles to the passes, with spots along them.
//!
//! Wheels run at the same places of every pass. Spots on a line whose spacing fits into the pass a whole number
//! of times (or the pass into it) meet the same few places of the pass again and again, and can miss every wheel
//! lane, or every bed. Steps of the golden section of a pass never fall into such a pattern: any number of them
//! leaves gaps of three lengths at most (Steinhaus's three-gap theorem; Sós 1958, from memory), and no other
//! step spreads more evenly.

use survey::EastNorth;

use crate::error::SamplingError;
use crate::grid::{Extent, Turned};
use crate::ground::Ground;
use crate::{APART_M, MOST_SPOTS};

/// The golden section: (√5 − 1) / 2.
pub const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Lines across traffic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Transects {
    /// Heading of the passes, degrees clockwise from north; lines are at right angles to it.
    pub heading_deg: f64,
    /// From line to line, metres.
    pub between_m: f64,
    /// From spot to spot on a line, metres.
    pub along_m: f64,
}

impl Transects {
    /// The spots, each with the number of its line, counted from 1 along the heading. Lines lie evenly within the
    /// ground; on each the first spot is shifted by another part of the spacing, so that lines do not meet the
    /// passes at the same places.
    ///
    /// # Errors
    /// When a distance is not above zero, spots would stand nearer than two metres, or there would be too many
    /// or none.
    pub fn spots(&self, ground: &Ground) -> Result<Vec<(EastNorth, usize)>, SamplingError> {
        for length_m in [self.between_m, self.along_m] {
            if !(length_m > 0.0 && length_m.is_finite()) {
                return Err(SamplingError::NoSpacing { length_m });
            }
        }
        let about = ground.plane_area_m2() / (self.between_m * self.along_m);
        if about > 4.0 * MOST_SPOTS as f64 || self.along_m < APART_M {
            return Err(SamplingError::TooMany { about: about as usize });
        }
        let turned = Turned::new(self.heading_deg, ground.south_west_corner());
        let corners = ground.parts().iter().flat_map(|part| &part.corners);
        let extent = Extent::of(corners, &turned);
        let from_edge_m = ground.from_edge_m();
        let along = (extent.along.0 + from_edge_m, extent.along.1 - from_edge_m);
        let across = (extent.across.0 + from_edge_m, extent.across.1 - from_edge_m);
        let lines = ((along.1 - along.0) / self.between_m).floor().max(0.0) as usize + 1;
        let first_m = f64::midpoint(along.0, along.1) - (lines - 1) as f64 * self.between_m / 2.0;
        let mut spots = Vec::new();
        let mut line = 0;
        for k in 0..lines {
            let along_m = first_m + k as f64 * self.between_m;
            let shift = (GOLDEN * (k + 1) as f64).fract() * self.along_m;
            let steps = ((across.1 - across.0 - shift) / self.along_m).floor();
            let places = (0..=steps.max(-1.0) as i64)
                .map(|step| turned.place(across.0 + shift + step as f64 * self.along_m, along_m));
            let found: Vec<EastNorth> = places.filter(|&place| ground.holds(place)).collect();
            if found.is_empty() {
                continue;
            }
            line += 1;
            spots.extend(found.into_iter().map(|place| (place, line)));
        }
        match spots.len() {
            0 => Err(SamplingError::NoneInside {
                what: "transect with spots",
                spacing_m: self.along_m,
            }),
            count if count > MOST_SPOTS => Err(SamplingError::TooMany { about: count }),
            _ => Ok(spots),
        }
    }
}

/// The widest part of a pass that so many spots on one line leave out, 0 to 1 of its width: spots in steps of
/// `along_m` across passes of `swath_m`, each at its place within its pass.
pub fn widest_phase_gap(along_m: f64, swath_m: f64, spots: usize) -> f64 {
    let mut phases: Vec<f64> = (0..spots).map(|k| (k as f64 * along_m / swath_m).fract()).collect();
    phases.sort_by(f64::total_cmp);
    let Some((&first, &last)) = phases.first().zip(phases.last()) else { return 1.0 };
    let within = phases.windows(2).map(|pair| pair[1] - pair[0]);
    within.fold(1.0 - last + first, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::distance::distance_m;
    use geo::{MultiPolygon, polygon};

    fn ground() -> Ground {
        let ring = polygon![
            (x: 0.0, y: 0.0), (x: 400.0, y: 0.0), (x: 400.0, y: 200.0), (x: 0.0, y: 200.0)
        ];
        Ground::inside(&MultiPolygon(vec![ring]), 5.0).unwrap()
    }

    #[test]
    fn lines_stand_at_right_angles_to_the_passes() {
        let transects = Transects { heading_deg: 90.0, between_m: 100.0, along_m: 6.0 };
        let spots = transects.spots(&ground()).unwrap();
        let lines: Vec<usize> = {
            let mut lines: Vec<usize> = spots.iter().map(|(_, line)| *line).collect();
            lines.dedup();
            lines
        };
        assert_eq!(lines, [1, 2, 3, 4], "100 m apart within 390 m, from west to east");
        let of = |line: usize| -> Vec<EastNorth> {
            spots.iter().filter(|(_, of)| *of == line).map(|(place, _)| *place).collect()
        };
        for line in 1..=4 {
            let places = of(line);
            let easting_m = 50.0 + 100.0 * (line - 1) as f64;
            assert!(places.iter().all(|place| (place.easting_m - easting_m).abs() < 1e-6));
            assert!(places.windows(2).all(|p| (distance_m(p[0], p[1]) - 6.0).abs() < 1e-9));
            assert!((31..=32).contains(&places.len()), "190 m in steps of 6 m");
        }
        assert!((of(1)[0].northing_m - of(2)[0].northing_m).abs() > 1.0, "lines are shifted");
    }

    #[test]
    fn steps_that_fit_the_pass_leave_most_of_it_out() {
        assert_eq!(widest_phase_gap(9.0, 9.0, 30), 1.0, "every spot at one place of the pass");
        assert_eq!(widest_phase_gap(4.5, 9.0, 30), 0.5);
        assert!((widest_phase_gap(3.0, 9.0, 30) - 1.0 / 3.0).abs() < 1e-9);
        assert!(
            widest_phase_gap(GOLDEN * 9.0, 9.0, 30) < 0.06,
            "no step does better than about 1/21"
        );
    }

    #[test]
    fn spots_nearer_than_two_metres_are_refused() {
        let transects = Transects { heading_deg: 0.0, between_m: 100.0, along_m: 1.0 };
        assert!(matches!(transects.spots(&ground()), Err(SamplingError::TooMany { .. })));
    }
}
