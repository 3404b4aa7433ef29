//! Places sorted into square bins, for searches in the hot loop.
//!
//! The bins cover the frame of the places, about two places each if these are spread evenly. Places are
//! kept bin by bin, row by row from the south; a place's number in that order is its *rank*, and the
//! places a search needs lie close together in memory. Bentley, Weide and Yao (1980), Optimal
//! expected-time algorithms for closest point problems, ACM TOMS 6:563–580 (from memory).

/// Places a bin has on average.
const PLACES_PER_BIN: f64 = 2.0;

/// Bins serve as long as a place shares its own with no more than so many others on average; beyond
/// that most places lie in few bins, and a tree is better.
const MOST_CROWDED: f64 = 24.0;

/// Which bin a place is in is rounded: distances to lines between bins are taken with this share of a
/// side to spare.
const SPARE_SIDE: f64 = 1e-6;

/// Places sorted into bins.
pub(crate) struct SpatialBins {
    west: f64,
    south: f64,
    /// Side of a bin.
    side: f64,
    columns: usize,
    rows: usize,
    /// Rank of the first place of each bin, and one more at the end.
    starts: Vec<u32>,
    /// The places by rank.
    places: Vec<[f64; 2]>,
    /// The place's number in the input, by rank.
    numbers: Vec<u32>,
}

/// Room for a search.
#[derive(Default)]
pub(crate) struct NearRoom {
    /// What was found: square of the distance, and rank.
    pub found: Vec<(f64, u32)>,
    squares: Vec<f64>,
}

impl SpatialBins {
    /// Sorts places, at least one, all finite.
    pub fn new(all: &[[f64; 2]]) -> Self {
        let fold = |axis: usize, of: fn(f64, f64) -> f64| {
            all.iter().map(|place| place[axis]).fold(all[0][axis], of)
        };
        let [west, east, south, north] =
            [fold(0, f64::min), fold(0, f64::max), fold(1, f64::min), fold(1, f64::max)];
        let (width, height) = (east - west, north - south);
        let bins = (all.len() as f64 / PLACES_PER_BIN).max(1.0);
        // In a line or a single place the other side is nothing.
        let longest = width.max(height);
        let even = (width * height / bins).sqrt();
        let side = match even.max(longest / bins) {
            side if side > 0.0 => side,
            _ => 1.0,
        };
        let along = |length: f64| (length / side) as usize + 1;
        let (columns, rows) = (along(width), along(height));
        let mut bins = SpatialBins {
            west,
            south,
            side,
            columns,
            rows,
            starts: vec![0; columns * rows + 1],
            places: vec![[0.0; 2]; all.len()],
            numbers: vec![0; all.len()],
        };
        let bin_of: Vec<u32> = all.iter().map(|&place| bins.bin(place) as u32).collect();
        for &bin in &bin_of {
            bins.starts[bin as usize + 1] += 1;
        }
        for bin in 1..bins.starts.len() {
            bins.starts[bin] += bins.starts[bin - 1];
        }
        let mut next = bins.starts.clone();
        for (number, (&place, &bin)) in all.iter().zip(&bin_of).enumerate() {
            let rank = next[bin as usize] as usize;
            next[bin as usize] += 1;
            bins.places[rank] = place;
            bins.numbers[rank] = number as u32;
        }
        bins
    }

    /// The places by rank.
    pub fn places(&self) -> &[[f64; 2]] {
        &self.places
    }

    /// The places' numbers in the input, by rank.
    pub fn numbers(&self) -> &[u32] {
        &self.numbers
    }

    /// Whether places lie so unevenly that most share few bins.
    pub fn is_crowded(&self) -> bool {
        let squares: f64 =
            self.starts.windows(2).map(|pair| f64::from(pair[1] - pair[0])).map(|n| n * n).sum();
        squares / self.places.len() as f64 > MOST_CROWDED
    }

    /// Ranks and squares of distances of at least the `count` nearest to a place, `count` being no more
    /// than there are: all places within some distance that holds as many, those equally far as the last
    /// among them, in no stated order. Gives the square of the distance of the `count`-th.
    pub fn nearest(&self, place: [f64; 2], count: usize, room: &mut NearRoom) -> f64 {
        let NearRoom { found, squares } = room;
        found.clear();
        let (column, row) = self.column_row(place);
        let mut ring = 0;
        let mut enough = count;
        loop {
            self.ring(column, row, ring, |bins, ranks| bins.measure(place, ranks, found));
            let is_all = found.len() == self.places.len();
            if found.len() >= enough || is_all {
                // Far from all places many rings follow, and it is not worth while to look after each.
                enough = found.len() + found.len() / 4;
                let edge_m2 = self.squared_edge(place, column, row, ring);
                squares.clear();
                squares.extend(found.iter().map(|near| near.0));
                let last = *squares.select_nth_unstable_by(count - 1, f64::total_cmp).1;
                // The rings hold everything nearer than their edge.
                if is_all || last < edge_m2 {
                    return last;
                }
            }
            ring += 1;
        }
    }

    /// Calls `each` with the ranks in every row of bins that a circle touches, until it says that it has
    /// enough: before, no place in the circle is missed; others are among them.
    pub fn around(
        &self,
        place: [f64; 2],
        radius: f64,
        mut each: impl FnMut(std::ops::Range<usize>) -> bool,
    ) {
        // A little more, for the rounding of the bins.
        let spare = self.side * SPARE_SIDE;
        let radius = radius + spare;
        let clamp = |value: f64, count: usize| (value.max(0.0) as usize).min(count - 1);
        let column = |easting: f64| clamp((easting - self.west) / self.side, self.columns);
        let row = |northing: f64| clamp((northing - self.south) / self.side, self.rows);
        for row in row(place[1] - radius)..=row(place[1] + radius) {
            // The circle is widest where the row comes nearest to its middle.
            let south = self.south + row as f64 * self.side;
            let away = (south - place[1]).max(place[1] - (south + self.side)) - spare;
            let half = match away > 0.0 {
                true => (radius * radius - away * away).max(0.0).sqrt(),
                false => radius,
            };
            let (first, last) = (column(place[0] - half), column(place[0] + half));
            let start = row * self.columns;
            let ranks = self.starts[start + first] as usize..self.starts[start + last + 1] as usize;
            if each(ranks) {
                return;
            }
        }
    }

    fn measure(&self, place: [f64; 2], ranks: std::ops::Range<usize>, found: &mut Vec<(f64, u32)>) {
        let first = ranks.start;
        found.extend(
            self.places[ranks]
                .iter()
                .enumerate()
                .map(|(k, &other)| (squared(place, other), (first + k) as u32)),
        );
    }

    fn bin(&self, place: [f64; 2]) -> usize {
        let (column, row) = self.column_row(place);
        row * self.columns + column
    }

    /// The bin that holds a place, or the nearest to a place outside.
    fn column_row(&self, place: [f64; 2]) -> (usize, usize) {
        let along =
            |value: f64, count: usize| ((value / self.side).max(0.0) as usize).min(count - 1);
        (along(place[0] - self.west, self.columns), along(place[1] - self.south, self.rows))
    }

    /// The ranks of the bins so many steps from a bin, row by row.
    fn ring(
        &self,
        column: usize,
        row: usize,
        ring: usize,
        mut each: impl FnMut(&Self, std::ops::Range<usize>),
    ) {
        let (first, last) = (column.saturating_sub(ring), (column + ring).min(self.columns - 1));
        let (low, high) = (row.saturating_sub(ring), (row + ring).min(self.rows - 1));
        let mut part = |row: usize, first: usize, last: usize| {
            let start = row * self.columns;
            each(self, self.starts[start + first] as usize..self.starts[start + last + 1] as usize);
        };
        for at in low..=high {
            if at.abs_diff(row) == ring {
                part(at, first, last);
                continue;
            }
            if column >= ring {
                part(at, first, first);
            }
            if ring > 0 && column + ring < self.columns {
                part(at, last, last);
            }
        }
    }

    /// Square of how far from a place every other is among the rings up to one, at least.
    fn squared_edge(&self, [east, north]: [f64; 2], column: usize, row: usize, ring: usize) -> f64 {
        let line = |origin: f64, number: usize| origin + number as f64 * self.side;
        // A little less, for the rounding of the bins.
        let squared = |distance: f64| {
            let distance = (distance - self.side * SPARE_SIDE).max(0.0);
            distance * distance
        };
        // A place outside is at least so far from every bin.
        let outside = |at: f64, origin: f64, count: usize| {
            squared((origin - at).max(at - line(origin, count)))
        };
        let to_columns = outside(east, self.west, self.columns);
        let to_rows = outside(north, self.south, self.rows);
        // A side beyond which there is no bin hides nothing.
        let mut edge = f64::INFINITY;
        if column > ring {
            edge = edge.min(squared(east - line(self.west, column - ring)) + to_rows);
        }
        if row > ring {
            edge = edge.min(squared(north - line(self.south, row - ring)) + to_columns);
        }
        if column + ring + 1 < self.columns {
            edge = edge.min(squared(line(self.west, column + ring + 1) - east) + to_rows);
        }
        if row + ring + 1 < self.rows {
            edge = edge.min(squared(line(self.south, row + ring + 1) - north) + to_columns);
        }
        edge
    }
}

/// Square of the distance of two places.
#[inline(always)]
pub(crate) fn squared(a: [f64; 2], b: [f64; 2]) -> f64 {
    let (east, north) = (a[0] - b[0], a[1] - b[1]);
    east * east + north * north
}
