//! Spots on a square grid, turned as asked and shifted so that most of them lie inside.

use geo::Coord;
use survey::EastNorth;

use crate::MOST_SPOTS;
use crate::distance::{distance_m, squared_m2};
use crate::error::SamplingError;
use crate::ground::Ground;

/// Shifts that are tried along each side of a square.
const SHIFTS: usize = 12;

/// Squares that a grid may have around the field, over the most spots: what is far beyond is refused
/// before it is counted.
const MOST_SQUARES: f64 = 4.0 * MOST_SPOTS as f64;

/// A plane turned so that north is along a heading.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Turned {
    sin: f64,
    cos: f64,
    origin: EastNorth,
}

impl Turned {
    /// Turned around a place to a heading, degrees clockwise from north.
    pub fn new(heading_deg: f64, origin: EastNorth) -> Self {
        let (sin, cos) = libm::sincos(heading_deg.to_radians());
        Turned { sin, cos, origin }
    }

    /// Across and along the heading, metres from the origin.
    pub fn across_along(&self, place: EastNorth) -> (f64, f64) {
        let (east, north) =
            (place.easting_m - self.origin.easting_m, place.northing_m - self.origin.northing_m);
        (east * self.cos - north * self.sin, east * self.sin + north * self.cos)
    }

    /// The place so far across and along.
    pub fn place(&self, across_m: f64, along_m: f64) -> EastNorth {
        EastNorth {
            easting_m: self.origin.easting_m + across_m * self.cos + along_m * self.sin,
            northing_m: self.origin.northing_m - across_m * self.sin + along_m * self.cos,
        }
    }
}

/// Least and most of some numbers across and along a heading.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Extent {
    pub across: (f64, f64),
    pub along: (f64, f64),
}

impl Extent {
    /// Of some corners.
    pub fn of<'c>(corners: impl IntoIterator<Item = &'c Coord>, turned: &Turned) -> Self {
        let none = (f64::INFINITY, f64::NEG_INFINITY);
        let wider = |ends: (f64, f64), at: f64| (ends.0.min(at), ends.1.max(at));
        corners.into_iter().fold(Extent { across: none, along: none }, |extent, &corner| {
            let (across, along) = turned.across_along(corner.into());
            Extent { across: wider(extent.across, across), along: wider(extent.along, along) }
        })
    }
}

/// Spots on a square grid with rows along a heading (degrees clockwise from north), row by row. Of 144
/// shifts the one with the most spots inside is taken, of equals the one whose spots lie best around
/// the middle of the ground. A grid too wide for the field has one spot near its middle.
///
/// # Errors
/// When the spacing is not above zero, or there would be too many.
pub fn square_grid(
    ground: &Ground,
    spacing_m: f64,
    heading_deg: f64,
) -> Result<Vec<EastNorth>, SamplingError> {
    if !(spacing_m > 0.0 && spacing_m.is_finite()) {
        return Err(SamplingError::NoSpacing { length_m: spacing_m });
    }
    let about = ground.plane_area_m2() / (spacing_m * spacing_m);
    if about > MOST_SQUARES {
        return Err(SamplingError::TooMany { about: about as usize });
    }
    let turned = Turned::new(heading_deg, ground.south_west_corner());
    let extents: Vec<Extent> =
        ground.parts().iter().map(|part| Extent::of(&part.corners, &turned)).collect();
    let lattice = ground.lattice(2_000);
    let middle = middle_of(&lattice);
    let mut best: Option<(usize, f64, Vec<EastNorth>)> = None;
    for step in 0..SHIFTS * SHIFTS {
        let shift = |k: usize| (k as f64 + 0.5) / SHIFTS as f64 * spacing_m;
        let shifts = (shift(step % SHIFTS), shift(step / SHIFTS));
        let spots = shifted(ground, &turned, &extents, spacing_m, shifts);
        if spots.is_empty() {
            continue;
        }
        let off = distance_m(middle_of(&spots), middle);
        let is_better = best.as_ref().is_none_or(|(count, best_off, _)| {
            spots.len() > *count || spots.len() == *count && off < *best_off
        });
        if is_better {
            best = Some((spots.len(), off, spots));
        }
    }
    match best {
        None => Ok(nearest_to(middle, &lattice).into_iter().collect()),
        Some((count, _, _)) if count > MOST_SPOTS => Err(SamplingError::TooMany { about: count }),
        Some((_, _, spots)) => Ok(spots),
    }
}

/// The spots of one shift, by row along the heading, then across. Rows of all parts are those of one grid.
fn shifted(
    ground: &Ground,
    turned: &Turned,
    extents: &[Extent],
    spacing_m: f64,
    shift: (f64, f64),
) -> Vec<EastNorth> {
    let numbers = |ends: (f64, f64), shift: f64| {
        let first = ((ends.0 - shift) / spacing_m).ceil() as i64;
        first..=((ends.1 - shift) / spacing_m).floor() as i64
    };
    let mut found: Vec<((i64, i64), EastNorth)> = Vec::new();
    for (part, extent) in extents.iter().enumerate() {
        for row in numbers(extent.along, shift.1) {
            for column in numbers(extent.across, shift.0) {
                let across = shift.0 + column as f64 * spacing_m;
                let place = turned.place(across, shift.1 + row as f64 * spacing_m);
                if ground.part_at(place) == Some(part) {
                    found.push(((row, column), place));
                }
            }
        }
    }
    found.sort_by_key(|&(number, _)| number);
    found.into_iter().map(|(_, place)| place).collect()
}

/// Of some places the one nearest to another.
fn nearest_to(middle: EastNorth, places: &[EastNorth]) -> Option<EastNorth> {
    let nearer =
        |a: &EastNorth, b: &EastNorth| squared_m2(*a, middle).total_cmp(&squared_m2(*b, middle));
    places.iter().copied().min_by(nearer)
}

/// The mean of some places.
pub(crate) fn middle_of(places: &[EastNorth]) -> EastNorth {
    let count = places.len().max(1) as f64;
    let mean = |of: fn(&EastNorth) -> f64| places.iter().map(of).sum::<f64>() / count;
    EastNorth { easting_m: mean(|p| p.easting_m), northing_m: mean(|p| p.northing_m) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{MultiPolygon, polygon};

    fn rectangle(width_m: f64, height_m: f64) -> Ground {
        let ring = polygon![
            (x: 0.0, y: 0.0), (x: width_m, y: 0.0), (x: width_m, y: height_m), (x: 0.0, y: height_m)
        ];
        Ground::inside(&MultiPolygon(vec![ring]), 5.0).unwrap()
    }

    #[test]
    fn a_grid_has_as_many_spots_as_fit_and_lies_in_the_middle() {
        // 190 m by 90 m are left within the edges: 5 columns of 40 m and 3 rows.
        let spots = square_grid(&rectangle(200.0, 100.0), 40.0, 0.0).unwrap();
        assert_eq!(spots.len(), 15);
        let middle = middle_of(&spots);
        assert!(distance_m(middle, EastNorth { easting_m: 100.0, northing_m: 50.0 }) < 5.0);
        assert_eq!(spots[0].northing_m, spots[4].northing_m, "row by row");
    }

    #[test]
    fn rows_run_along_the_heading() {
        let spots = square_grid(&rectangle(300.0, 300.0), 50.0, 30.0).unwrap();
        // North-north-east: sin 30° is a half.
        let along =
            |a: EastNorth, b: EastNorth| (b.easting_m - a.easting_m, b.northing_m - a.northing_m);
        let is_step = |b: EastNorth| {
            let (east, north) = along(spots[0], b);
            (east.abs() - 25.0).abs() < 1e-9 && (north.abs() - 50.0 * 0.75_f64.sqrt()).abs() < 1e-9
        };
        assert!(spots.iter().any(|&b| is_step(b)), "{spots:?}");
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let ground = rectangle(200.0, 100.0);
        assert!(matches!(square_grid(&ground, 0.0, 0.0), Err(SamplingError::NoSpacing { .. })));
        assert!(matches!(square_grid(&ground, 1.0, 0.0), Err(SamplingError::TooMany { .. })));
        assert_eq!(square_grid(&ground, 4_000.0, 0.0).map(|spots| spots.len()), Ok(1));
    }
}
