//! How much ground a smoothed border moved from one zone to the other.

use crate::border_index::squared_length;
use crate::cut::Node;

/// The border of two zones, or of a zone and the ground without a value.
#[derive(Debug, Clone, PartialEq)]
pub struct BorderMoved {
    /// Id of a zone.
    pub first: String,
    /// Id of a zone that comes later; `None` is ground without a value.
    pub second: Option<String>,
    /// Length as it is now, metres on the ground.
    pub length_m: f64,
    /// Ground that was the second's along the edges of cells and is now the first's, square metres. Where
    /// a border came back to where it was, ground on both sides adds up.
    pub to_first_m2: f64,
    /// Ground that was the first's and is now the second's, square metres.
    pub to_second_m2: f64,
}

impl BorderMoved {
    /// Ground that changed sides, both ways together, square metres.
    pub fn moved_m2(&self) -> f64 {
        self.to_first_m2 + self.to_second_m2
    }
}

/// Sums over a border in the plane.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Moved {
    pub length_um: f64,
    pub to_left_um2: f64,
    pub to_right_um2: f64,
}

impl Moved {
    /// What the edges of a border moved, each given by the old places that it stands for between its
    /// ends.
    pub fn of_edges(edges: &[Vec<Node>]) -> Self {
        edges.iter().fold(Moved::default(), |sum, old| sum.and(Moved::of_edge(old)))
    }

    /// Both together.
    pub fn and(self, other: Moved) -> Moved {
        Moved {
            length_um: self.length_um + other.length_um,
            to_left_um2: self.to_left_um2 + other.to_left_um2,
            to_right_um2: self.to_right_um2 + other.to_right_um2,
        }
    }

    /// Seen from the other side.
    pub fn turned(self) -> Moved {
        Moved { to_left_um2: self.to_right_um2, to_right_um2: self.to_left_um2, ..self }
    }

    /// The old border there and the new edge back enclose the ground that changed sides: clockwise where
    /// the old border lay on the left of the new, and the ground, on its right, is now on the new one's
    /// left. It is measured in upright slabs between places in which no two lines meet.
    fn of_edge(old: &[Node]) -> Self {
        let length_um = (squared_length(old[0], old[old.len() - 1]) as f64).sqrt();
        if old.len() == 2 {
            return Moved { length_um, ..Moved::default() };
        }
        let mut lines = Lines::new(old);
        let slabs = lines.slabs();
        let (mut clockwise, mut counter_clockwise) = (0.0, 0.0);
        for ends in slabs.windows(2).filter(|ends| ends[0] < ends[1]) {
            let (width, middle) = (ends[1] - ends[0], (ends[0] + ends[1]) / 2.0);
            let mut winding = 0;
            for pair in lines.across(middle).windows(2) {
                let ((north, turn), (next, _)) = (pair[0], pair[1]);
                winding += turn;
                match winding {
                    ..0 => clockwise += width * (next - north),
                    0 => {}
                    1.. => counter_clockwise += width * (next - north),
                }
            }
        }
        Moved { length_um, to_left_um2: clockwise, to_right_um2: counter_clockwise }
    }
}

/// A line between two places, in micrometres from the way's first.
type Line = [(f64, f64); 2];

/// The lines of a closed way, looked through from west to east.
struct Lines {
    /// Where the way goes.
    all: Vec<Line>,
    /// Those not met yet, the most western last.
    ahead: Vec<Line>,
    /// Those met and not left behind yet.
    here: Vec<Line>,
}

impl Lines {
    fn new(places: &[Node]) -> Self {
        let first = places[0];
        let place =
            |node: Node| ((node.east - first.east) as f64, (node.north - first.north) as f64);
        let next = places.iter().cycle().skip(1);
        let all: Vec<Line> = places.iter().zip(next).map(|(&a, &b)| [place(a), place(b)]).collect();
        let mut ahead = all.clone();
        ahead.sort_by(|a, b| west(b).total_cmp(&west(a)));
        Lines { all, ahead, here: Vec::new() }
    }

    /// Where slabs end, from west to east: at each place, and where the last line crosses another.
    fn slabs(&self) -> Vec<f64> {
        let [last_from, last_to] = self.all[self.all.len() - 1];
        let (run, rise) = (last_to.0 - last_from.0, last_to.1 - last_from.1);
        let left =
            |place: (f64, f64)| run * (place.1 - last_from.1) - rise * (place.0 - last_from.0);
        let crossing = |[from, to]: Line| {
            let (a, b) = (left(from), left(to));
            (a * b < 0.0).then(|| from.0 + (to.0 - from.0) * a / (a - b))
        };
        let crossings = self.all.iter().filter_map(|&line| crossing(line));
        let mut ends: Vec<f64> = self.all.iter().map(|line| line[0].0).chain(crossings).collect();
        ends.sort_by(f64::total_cmp);
        ends
    }

    /// Where lines cross an upright one, farther east each time, from south to north, with 1 for a line
    /// to the east and -1 for one to the west.
    fn across(&mut self, east: f64) -> Vec<(f64, i32)> {
        while let Some(line) = self.ahead.pop_if(|line| west(line) < east) {
            self.here.push(line);
        }
        self.here.retain(|[a, b]| a.0.max(b.0) > east);
        let cross = |&[(a, from), (b, to)]: &Line| {
            (from + (to - from) * (east - a) / (b - a), if a < b { 1 } else { -1 })
        };
        let mut across: Vec<(f64, i32)> = self.here.iter().map(cross).collect();
        across.sort_by(|a, b| a.0.total_cmp(&b.0));
        across
    }
}

fn west([a, b]: &Line) -> f64 {
    a.0.min(b.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(places: &[(i64, i64)]) -> (f64, f64) {
        let nodes: Vec<Node> = places.iter().map(|&(east, north)| Node { east, north }).collect();
        let Moved { to_left_um2, to_right_um2, .. } = Moved::of_edge(&nodes);
        (to_left_um2, to_right_um2)
    }

    #[test]
    fn ground_between_old_and_new_changes_sides() {
        // A roof of 4 by 1 over the new edge: all of it was right of the old border.
        assert_eq!(moved(&[(0, 0), (0, 1), (4, 1), (4, 0)]), (4.0, 0.0));
        assert_eq!(moved(&[(4, 0), (4, 1), (0, 1), (0, 0)]), (0.0, 4.0));
        // Two triangles of 2 by 2, one on each side.
        let (left, right) = moved(&[(0, 0), (0, 2), (4, 2), (4, 4)]);
        assert!((left - 2.0).abs() < 1e-12 && (right - 2.0).abs() < 1e-12, "{left} {right}");
        // A fold: from 6 back to 2 at half the height. What lies under the fold did not change sides.
        let fold = [(0, 0), (0, 4), (6, 4), (6, 3), (2, 3), (2, 2), (6, 2), (6, 0)];
        assert_eq!(moved(&fold), (24.0 - 4.0, 0.0));
        // A hook that comes round the new edge's end: 1 by 1 beyond it, and 3 by 1 on the other side.
        let hook =
            [(0, 0), (0, 1), (5, 1), (5, -1), (1, -1), (1, -2), (6, -2), (6, 2), (4, 2), (4, 0)];
        let (left, right) = moved(&hook);
        assert!(left >= 0.0 && right >= 0.0, "{left} {right}");
    }
}
