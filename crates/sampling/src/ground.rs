//! The ground that spots may stand on: inside the field, outside its holes, and off its edge.
//!
//! The lines of the outline are kept in level bands, each with all lines that come as near as the keep-off
//! distance, so that a question about one place meets the lines of one band only.

use geo::{Area, BoundingRect, Coord, LineString, MultiPolygon};
use survey::EastNorth;

use crate::distance::squared_m2;
use crate::error::SamplingError;

/// Bands of a field, at most.
const MOST_BANDS: usize = 4_096;

/// Places that are tried to find any ground at all.
const PLACES_TRIED: usize = 40_000;

/// The ground that spots may stand on.
#[derive(Debug, Clone)]
pub struct Ground {
    lines: Vec<Line>,
    /// The lines of each band, from the south.
    bands: Vec<Vec<u32>>,
    south_m: f64,
    band_m: f64,
    parts: Vec<Part>,
    from_edge_m: f64,
    plane_area_m2: f64,
    south_west_corner: EastNorth,
}

/// One line of the outline.
#[derive(Debug, Clone, Copy)]
struct Line {
    from: Coord,
    to: Coord,
    /// The part of the field it goes around, counted from 1.
    part: u32,
}

/// One part of the field.
#[derive(Debug, Clone)]
pub(crate) struct Part {
    /// Corners of its outer ring.
    pub corners: Vec<Coord>,
    pub west_m: f64,
    pub south_m: f64,
    pub east_m: f64,
    pub north_m: f64,
}

impl Ground {
    /// The ground inside polygons of the plane, so far from all their rings.
    ///
    /// # Errors
    /// [`SamplingError::NoGround`] when there is none.
    pub fn inside(polygons: &MultiPolygon, from_edge_m: f64) -> Result<Self, SamplingError> {
        let no_ground = || SamplingError::NoGround { from_edge_m };
        let frame = polygons.bounding_rect().ok_or_else(no_ground)?;
        let mut lines = Vec::new();
        let mut parts = Vec::new();
        for (index, polygon) in polygons.iter().enumerate() {
            let part = index as u32 + 1;
            let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
            rings.for_each(|ring| add_ring(&mut lines, ring, part));
            if let Some(bounds) = polygon.bounding_rect() {
                parts.push(Part {
                    corners: polygon.exterior().0.clone(),
                    west_m: bounds.min().x,
                    south_m: bounds.min().y,
                    east_m: bounds.max().x,
                    north_m: bounds.max().y,
                });
            }
        }
        let count = lines.len().clamp(1, MOST_BANDS);
        let mut ground = Ground {
            bands: vec![Vec::new(); count],
            south_m: frame.min().y,
            band_m: (frame.height() / count as f64).max(f64::MIN_POSITIVE),
            from_edge_m,
            plane_area_m2: polygons.unsigned_area(),
            south_west_corner: south_west_corner(&parts, frame.min()),
            parts,
            lines,
        };
        ground.fill_bands();
        match ground.lattice(PLACES_TRIED).is_empty() {
            true => Err(no_ground()),
            false => Ok(ground),
        }
    }

    fn fill_bands(&mut self) {
        for (index, line) in self.lines.iter().enumerate() {
            let low = line.from.y.min(line.to.y) - self.from_edge_m;
            let high = line.from.y.max(line.to.y) + self.from_edge_m;
            for band in self.band_of(low)..=self.band_of(high) {
                self.bands[band].push(index as u32);
            }
        }
    }

    fn band_of(&self, northing_m: f64) -> usize {
        (((northing_m - self.south_m) / self.band_m).max(0.0) as usize).min(self.bands.len() - 1)
    }

    /// How far spots stay from the edge, metres.
    pub fn from_edge_m(&self) -> f64 {
        self.from_edge_m
    }

    /// The corner of the field nearest to the south-western corner of the rectangle around it.
    pub fn south_west_corner(&self) -> EastNorth {
        self.south_west_corner
    }

    /// Whether a spot may stand at a place.
    pub fn holds(&self, place: EastNorth) -> bool {
        self.part_at(place).is_some()
    }

    /// The number of the part of the field that a spot at a place would stand in.
    pub(crate) fn part_at(&self, place: EastNorth) -> Option<usize> {
        let (x, y) = (place.easting_m, place.northing_m);
        let nearest = self.from_edge_m * self.from_edge_m;
        // Lines to the east, by part: those of parts around the place are odd, of all others even, and two
        // equal numbers cancel. Parts do not overlap, so one number at most is left.
        let mut part = 0;
        for &index in &self.bands[self.band_of(y)] {
            let line = self.lines[index as usize];
            if nearest > 0.0 && line.squared_m2(place) < nearest {
                return None;
            }
            if (line.from.y > y) != (line.to.y > y) && line.easting_at(y) > x {
                part ^= line.part;
            }
        }
        (part > 0).then(|| part as usize - 1)
    }

    /// The parts of the field.
    pub(crate) fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Direction of the longest line of the outline, degrees clockwise from north, from 0 to less than 90: a square
    /// grid turned by 90° is the same.
    pub fn longest_side_deg(&self) -> f64 {
        let length = |line: &&Line| {
            let (dx, dy) = (line.to.x - line.from.x, line.to.y - line.from.y);
            dx * dx + dy * dy
        };
        let longest = self.lines.iter().max_by(|a, b| length(a).total_cmp(&length(b)));
        longest.map_or(0.0, |line| {
            let turn = libm::atan2(line.to.x - line.from.x, line.to.y - line.from.y);
            turn.to_degrees().rem_euclid(90.0)
        })
    }

    /// Distance from a place to the nearest line of the outline, metres.
    pub fn edge_m(&self, place: EastNorth) -> f64 {
        let squared = self.lines.iter().map(|line| line.squared_m2(place));
        squared.fold(f64::INFINITY, f64::min).sqrt()
    }

    /// Area inside the outline in the plane, square metres.
    pub fn plane_area_m2(&self) -> f64 {
        self.plane_area_m2
    }

    /// Places on an even lattice that spots may stand on, row by row from the south: about so many in the
    /// whole field, fewer where much of it lies at the edge.
    pub fn lattice(&self, about: usize) -> Vec<EastNorth> {
        let side_m = (self.plane_area_m2() / about.max(1) as f64).sqrt();
        let mut places = Vec::new();
        if !(side_m > 0.0 && side_m.is_finite()) {
            return places;
        }
        for part in &self.parts {
            let rows = ((part.north_m - part.south_m) / side_m).ceil() as usize;
            for row in 0..rows.max(1) {
                // The middle of each row; of a single row that of the part.
                let northing_m = match rows {
                    0 | 1 => f64::midpoint(part.south_m, part.north_m),
                    _ => part.south_m + (row as f64 + 0.5) * side_m,
                };
                self.add_row(northing_m, part, side_m, &mut places);
            }
        }
        places
    }

    fn add_row(&self, northing_m: f64, part: &Part, side_m: f64, places: &mut Vec<EastNorth>) {
        let crossed = self.bands[self.band_of(northing_m)].iter().filter_map(|&index| {
            let line = self.lines[index as usize];
            let crosses = (line.from.y > northing_m) != (line.to.y > northing_m);
            crosses.then(|| line.easting_at(northing_m))
        });
        let mut crossed: Vec<f64> = crossed.collect();
        crossed.sort_by(f64::total_cmp);
        for pair in crossed.chunks_exact(2) {
            let first = ((pair[0] - part.west_m) / side_m - 0.5).ceil().max(0.0) as usize;
            let easting = |column: usize| part.west_m + (column as f64 + 0.5) * side_m;
            let columns = (first..).map(easting).take_while(|&easting| easting < pair[1]);
            let before = places.len();
            for easting_m in columns.take_while(|&easting| easting <= part.east_m) {
                self.add_place(EastNorth { easting_m, northing_m }, part, places);
            }
            if places.len() == before {
                // A strip narrower than the lattice has its middle.
                let easting_m = f64::midpoint(pair[0], pair[1]);
                self.add_place(EastNorth { easting_m, northing_m }, part, places);
            }
        }
    }

    fn add_place(&self, place: EastNorth, part: &Part, places: &mut Vec<EastNorth>) {
        let is_own = |number: usize| std::ptr::eq(&self.parts[number], part);
        if self.part_at(place).is_some_and(is_own) {
            places.push(place);
        }
    }
}

fn add_ring(lines: &mut Vec<Line>, ring: &LineString, part: u32) {
    let pairs = ring.0.windows(2);
    lines.extend(pairs.map(|pair| Line { from: pair[0], to: pair[1], part }));
}

fn south_west_corner(parts: &[Part], frame: Coord) -> EastNorth {
    let frame = EastNorth::from(frame);
    let corners = parts.iter().flat_map(|part| part.corners.iter().copied().map(EastNorth::from));
    let nearer =
        |a: &EastNorth, b: &EastNorth| squared_m2(*a, frame).total_cmp(&squared_m2(*b, frame));
    corners.min_by(nearer).unwrap_or(frame)
}

impl Line {
    /// Where the line, if it crosses a northing, does so.
    fn easting_at(&self, northing_m: f64) -> f64 {
        let share = (northing_m - self.from.y) / (self.to.y - self.from.y);
        self.from.x + share * (self.to.x - self.from.x)
    }

    /// Square of the distance from a place, square metres.
    fn squared_m2(&self, place: EastNorth) -> f64 {
        let (dx, dy) = (self.to.x - self.from.x, self.to.y - self.from.y);
        let (px, py) = (place.easting_m - self.from.x, place.northing_m - self.from.y);
        let length2 = dx * dx + dy * dy;
        let share = match length2 > 0.0 {
            true => ((px * dx + py * dy) / length2).clamp(0.0, 1.0),
            false => 0.0,
        };
        let (ex, ey) = (px - share * dx, py - share * dy);
        ex * ex + ey * ey
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    fn place(easting_m: f64, northing_m: f64) -> EastNorth {
        EastNorth { easting_m, northing_m }
    }

    fn holed() -> MultiPolygon {
        MultiPolygon(vec![
            polygon!(
                exterior: [(x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 60.0), (x: 0.0, y: 60.0)],
                interiors: [[(x: 40.0, y: 20.0), (x: 40.0, y: 40.0), (x: 60.0, y: 40.0), (x: 60.0, y: 20.0)]],
            ),
            polygon![(x: 200.0, y: 10.0), (x: 220.0, y: 10.0), (x: 220.0, y: 50.0), (x: 200.0, y: 50.0)],
        ])
    }

    #[test]
    fn holes_and_edges_are_kept_off() {
        let ground = Ground::inside(&holed(), 5.0).unwrap();
        assert!(ground.holds(place(20.0, 30.0)) && ground.holds(place(5.0, 5.0)));
        assert!(!ground.holds(place(4.9, 30.0)), "too near to the edge");
        assert!(!ground.holds(place(50.0, 30.0)), "in the hole");
        assert!(!ground.holds(place(36.0, 30.0)), "too near to the hole");
        assert!(!ground.holds(place(150.0, 30.0)), "between the parts");
        assert_eq!(ground.part_at(place(210.0, 30.0)), Some(1));
        assert_eq!(ground.edge_m(place(20.0, 30.0)), 20.0);
        assert_eq!(ground.plane_area_m2(), 6_000.0 - 400.0 + 800.0);
        assert_eq!(ground.south_west_corner(), place(0.0, 0.0));
    }

    #[test]
    fn a_lattice_is_even_and_within() {
        let ground = Ground::inside(&holed(), 0.0).unwrap();
        let places = ground.lattice(1_600);
        assert!(places.iter().all(|&place| ground.holds(place)));
        // Squares of 2 m; both parts and the hole are whole numbers of them.
        assert_eq!(places.len(), 1_600);
        let near = places.iter().filter(|place| place.easting_m > 150.0).count();
        assert_eq!(near, 200);
    }

    #[test]
    fn a_grid_can_follow_the_longest_side() {
        let turned = polygon![(x: 0.0, y: 0.0), (x: 300.0, y: 300.0), (x: 280.0, y: 320.0), (x: -20.0, y: 20.0)];
        let ground = Ground::inside(&MultiPolygon(vec![turned]), 1.0).unwrap();
        assert!((ground.longest_side_deg() - 45.0).abs() < 1e-9);
        let along = Ground::inside(&holed(), 1.0).unwrap().longest_side_deg();
        assert!(along.min(90.0 - along) < 1e-9);
    }

    #[test]
    fn a_strip_narrower_than_its_edges_has_no_ground() {
        let strip =
            polygon![(x: 0.0, y: 0.0), (x: 900.0, y: 0.0), (x: 900.0, y: 8.0), (x: 0.0, y: 8.0)];
        let strip = MultiPolygon(vec![strip]);
        assert_eq!(
            Ground::inside(&strip, 5.0).unwrap_err(),
            SamplingError::NoGround { from_edge_m: 5.0 }
        );
        let ground = Ground::inside(&strip, 3.9).unwrap();
        assert!(ground.holds(place(450.0, 4.0)) && !ground.holds(place(450.0, 4.2)));
    }
}
