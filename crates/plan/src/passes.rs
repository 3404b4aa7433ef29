//! Passes of the machine over the planned ground, and the draw of those left untreated.

use geo::{BoundingRect, Coord, MultiPolygon, Rect};

use crate::plan::CheckStrips;
use crate::random::Random;

/// Runs of passes above this many are refused.
pub(crate) const MOST_RUNS: usize = 10_000;
/// A run counts as crossing the treated ground where it has at least this share of the mean run's: a
/// strip that only clips a corner proves nothing (ours).
const LEAST_SHARE: f64 = 0.5;

/// Directions along and across the passes, from a corner of the ground.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    origin: Coord,
    sin: f64,
    cos: f64,
}

impl Frame {
    /// For a heading in degrees clockwise from north.
    pub fn new(polygons: &[&MultiPolygon], heading_deg: f64) -> Frame {
        let (sin, cos) = libm::sincos(heading_deg.to_radians());
        let corners = polygons.iter().filter_map(|polygons| polygons.bounding_rect());
        let origin = corners.map(Rect::min).fold(None, |least: Option<Coord>, corner| {
            let least = least.unwrap_or(corner);
            Some(Coord { x: least.x.min(corner.x), y: least.y.min(corner.y) })
        });
        Frame { origin: origin.unwrap_or_default(), sin, cos }
    }

    /// Metres to the right of the origin, looking along the heading.
    pub fn across_m(self, place: Coord) -> f64 {
        (place.x - self.origin.x) * self.cos - (place.y - self.origin.y) * self.sin
    }

    /// Metres along the heading.
    pub fn along_m(self, place: Coord) -> f64 {
        (place.x - self.origin.x) * self.sin + (place.y - self.origin.y) * self.cos
    }

    /// The place so far across and along.
    pub fn place(self, across_m: f64, along_m: f64) -> Coord {
        Coord {
            x: self.origin.x + across_m * self.cos + along_m * self.sin,
            y: self.origin.y - across_m * self.sin + along_m * self.cos,
        }
    }

    /// Left and right end of polygons, metres across.
    pub fn ends(self, polygons: &[&MultiPolygon]) -> (f64, f64) {
        let across = edges(polygons).map(|(start, _)| self.across_m(start));
        across.fold((f64::INFINITY, f64::NEG_INFINITY), |(left, right), m| {
            (left.min(m), right.max(m))
        })
    }
}

/// The edges of all rings.
fn edges<'a>(polygons: &'a [&MultiPolygon]) -> impl Iterator<Item = (Coord, Coord)> + 'a {
    polygons
        .iter()
        .flat_map(|polygons| polygons.iter())
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()))
        .flat_map(|ring| ring.lines().map(|line| (line.start, line.end)))
}

/// Runs of adjacent passes, side by side from the left edge of the planned ground.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Runs {
    pub frame: Frame,
    pub left_m: f64,
    pub width_m: f64,
    pub count: usize,
}

impl Runs {
    /// The runs over some ground; `None` where there are more than [`MOST_RUNS`].
    pub fn over(ground: &[&MultiPolygon], heading_deg: f64, width_m: f64) -> Option<Runs> {
        let frame = Frame::new(ground, heading_deg);
        let (left_m, right_m) = frame.ends(ground);
        // A width that goes into the ground without rest makes no further run of a rounding error.
        let count = ((right_m - left_m) / width_m - 1e-6).ceil().max(1.0);
        let count = if count <= MOST_RUNS as f64 { count as usize } else { return None };
        Some(Runs { frame, left_m, width_m, count })
    }

    /// The edge between runs: left of the run of this number, from 0.
    pub fn edge_m(&self, number: usize) -> f64 {
        self.left_m + self.width_m * number as f64
    }

    /// Ground of polygons in each run, square metres in the plane: −∫ along d(across) around each ring.
    /// Outer rings run counter-clockwise and holes clockwise.
    pub fn areas_m2(&self, polygons: &[&MultiPolygon]) -> Vec<f64> {
        let mut areas = vec![0.0; self.count];
        for (start, end) in edges(polygons) {
            let (from, to) = (self.frame.across_m(start), self.frame.across_m(end));
            let (low, high) = (from.min(to), from.max(to));
            if low == high {
                continue;
            }
            let slope = (self.frame.along_m(end) - self.frame.along_m(start)) / (to - from);
            let along = |across: f64| self.frame.along_m(start) + slope * (across - from);
            let run_of = |across: f64| ((across - self.left_m) / self.width_m).floor().max(0.0);
            let last = self.count - 1;
            let (first_run, last_run) = (run_of(low) as usize, run_of(high) as usize);
            let spanned = first_run.min(last)..=last_run.min(last);
            for (run, area) in
                areas.iter_mut().enumerate().take(spanned.end() + 1).skip(*spanned.start())
            {
                // The outermost runs take what rounding leaves beyond them.
                let left = if run == 0 { low } else { low.max(self.edge_m(run)) };
                let right = if run == last { high } else { high.min(self.edge_m(run + 1)) };
                if left < right {
                    let part = (right - left) * (along(left) + along(right)) / 2.0;
                    *area += if to > from { -part } else { part };
                }
            }
        }
        areas
    }

    /// Draws runs, one in each of as many blocks of equal treated ground, in their order; `Err` with how
    /// many runs cross enough treated ground where a block has none.
    pub fn draw(&self, treated_m2: &[f64], strips: CheckStrips) -> Result<Vec<usize>, usize> {
        let total: f64 = treated_m2.iter().sum();
        let crossing = treated_m2.iter().filter(|&&area| area > 0.0).count();
        let least = LEAST_SHARE * total / crossing.max(1) as f64;
        let enough = treated_m2.iter().filter(|&&area| area > 0.0 && area >= least).count();
        if strips.count > enough / 2 {
            return Err(enough);
        }
        let mut blocks = vec![Vec::new(); strips.count];
        let mut before = 0.0;
        for (run, &area) in treated_m2.iter().enumerate() {
            let middle = (before + area / 2.0) / total;
            if area > 0.0 && area >= least {
                let block = (middle * strips.count as f64) as usize;
                blocks[block.min(strips.count - 1)].push(run);
            }
            before += area;
        }
        let mut random = Random::from_seed(strips.seed);
        let mut drawn: Vec<usize> = Vec::new();
        for block in &blocks {
            // Two strips side by side would have no treated neighbour between them.
            let is_free = |run: &&usize| drawn.last().is_none_or(|&last| **run > last + 1);
            let free: Vec<usize> = block.iter().filter(is_free).copied().collect();
            let among = if free.is_empty() { block } else { &free };
            match among.is_empty() {
                true => return Err(enough),
                false => drawn.push(among[random.below(among.len())]),
            }
        }
        Ok(drawn)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, polygon};

    fn strips(count: usize, seed: u64) -> CheckStrips {
        CheckStrips { count, passes: 1, seed }
    }

    fn field() -> MultiPolygon {
        let field = polygon!(
            exterior: [(x: 0.0, y: 0.0), (x: 100.0, y: 0.0), (x: 100.0, y: 40.0), (x: 0.0, y: 80.0)],
            interiors: [[(x: 20.0, y: 10.0), (x: 20.0, y: 20.0), (x: 30.0, y: 20.0), (x: 30.0, y: 10.0)]],
        );
        MultiPolygon::from(field)
    }

    #[test]
    fn runs_have_the_ground_that_lies_in_them() {
        let field = field();
        // North: across is east. The field is 80 − 0.4 x high, less the hole of 100 m² in the third run.
        let runs = Runs::over(&[&field], 0.0, 10.0).unwrap();
        let areas = runs.areas_m2(&[&field]);
        assert_eq!(runs.count, 10);
        let expected = [780.0, 740.0, 600.0, 660.0, 620.0, 580.0, 540.0, 500.0, 460.0, 420.0];
        for (area, expected) in areas.iter().zip(expected) {
            assert!((area - expected).abs() < 1e-9, "{areas:?}");
        }
    }

    #[test]
    fn the_runs_of_any_heading_have_all_the_ground() {
        let field = field();
        for heading in [0.0, 17.0, 90.0, 135.5, 180.0, 271.0, 360.0] {
            let runs = Runs::over(&[&field], heading, 7.3).unwrap();
            let sum: f64 = runs.areas_m2(&[&field]).iter().sum();
            assert!((sum - field.unsigned_area()).abs() < 1e-8, "{heading}: {sum}");
        }
    }

    #[test]
    fn heading_east_puts_the_first_pass_in_the_north() {
        let field = field();
        let frame = Frame::new(&[&field], 90.0);
        let (south, north) = (Coord { x: 50.0, y: 0.0 }, Coord { x: 50.0, y: 60.0 });
        assert!(frame.across_m(north) < frame.across_m(south));
        let back = frame.place(frame.across_m(north), frame.along_m(north));
        assert!((back.x - 50.0).abs() < 1e-9 && (back.y - 60.0).abs() < 1e-9);
    }

    #[test]
    fn one_pass_is_drawn_in_each_block_of_equal_ground() {
        let square =
            polygon![(x: 0.0, y: 0.0), (x: 120.0, y: 0.0), (x: 120.0, y: 9.0), (x: 0.0, y: 9.0)];
        let square = MultiPolygon::from(square);
        let runs = Runs::over(&[&square], 0.0, 10.0).unwrap();
        let areas = runs.areas_m2(&[&square]);
        let mut seen = [false; 12];
        for seed in 0..200 {
            let drawn = runs.draw(&areas, strips(3, seed)).unwrap();
            assert_eq!(drawn.iter().map(|run| run / 4).collect::<Vec<_>>(), [0, 1, 2]);
            assert!(drawn.windows(2).all(|pair| pair[1] > pair[0] + 1), "{drawn:?}");
            assert_eq!(runs.draw(&areas, strips(3, seed)), Ok(drawn.clone()));
            drawn.iter().for_each(|&run| seen[run] = true);
        }
        assert!(seen.iter().all(|&seen| seen), "every pass may be drawn: {seen:?}");
    }

    #[test]
    fn only_ground_that_is_treated_gets_strips() {
        let runs = Runs { frame: Frame::new(&[], 0.0), left_m: 0.0, width_m: 1.0, count: 8 };
        let areas = [0.0, 0.0, 0.0, 0.1, 50.0, 50.0, 50.0, 50.0];
        for seed in 0..50 {
            let drawn = runs.draw(&areas, strips(2, seed)).unwrap();
            assert!(drawn.iter().all(|&run| run >= 4), "{drawn:?}");
        }
        assert_eq!(runs.draw(&areas, strips(3, 1)), Err(4));
        assert_eq!(runs.draw(&[0.0; 8], strips(1, 1)), Err(0));
    }
}
