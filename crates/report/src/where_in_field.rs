//! Where in a field some ground lies, in words that need no map: `along the west side`.

use geo::{BoundingRect, Coord, LineString, MultiPolygon};

/// Pieces that the field's extent is cut into each way: halves and thirds are whole numbers of them.
const PIECES: usize = 6;
/// Lines across each piece on which ground is measured.
const LINES: usize = 10;

/// Ground with more of the field than this is most of it, or nearly all.
const MOST: f64 = 0.6;
const NEARLY_ALL: f64 = 0.95;
/// From this share of some ground on it is said to lie in one of nine parts of the field.
const IN_ONE: f64 = 0.7;
/// The same of a side, a quarter or a half.
const IN_SOME: f64 = 0.8;
/// Ground that runs along a side has at least this share in each of its thirds.
const IN_EACH: f64 = 0.12;

/// Where in a field some ground lies: `in the north-east`, `along the west side`, `over most of the field`. Parts are
/// thirds and halves of the field's extent, north up.
///
/// # Panics
/// When the field has no ground.
pub fn where_in_field(ground: &MultiPolygon, field: &MultiPolygon) -> &'static str {
    let shares = Shares::of(ground, field);
    match shares.of_field {
        share if share >= NEARLY_ALL => return "over the whole field",
        share if share >= MOST => return "over most of the field",
        _ => {}
    }
    shares
        .one_part()
        .or_else(|| shares.side())
        .or_else(|| shares.half())
        .unwrap_or("here and there")
}

/// How ground is spread over the field's extent.
struct Shares {
    /// Share of the ground in each piece, the most northern row first, the most western piece first.
    pieces: [[f64; PIECES]; PIECES],
    /// Share of the field that the ground is.
    of_field: f64,
}

impl Shares {
    fn of(ground: &MultiPolygon, field: &MultiPolygon) -> Self {
        let bounds = field.bounding_rect().expect("a field has ground");
        let width_m = bounds.width() / PIECES as f64;
        let height_m = bounds.height() / (PIECES * LINES) as f64;
        let mut pieces = [[0.0; PIECES]; PIECES];
        let mut of_field_m = 0.0;
        for line in 0..PIECES * LINES {
            let northing_m = bounds.max().y - (line as f64 + 0.5) * height_m;
            for [from, to] in within(field, northing_m) {
                of_field_m += to - from;
            }
            for [from, to] in within(ground, northing_m) {
                for (column, piece) in pieces[line / LINES].iter_mut().enumerate() {
                    let west = bounds.min().x + column as f64 * width_m;
                    *piece += (to.min(west + width_m) - from.max(west)).max(0.0);
                }
            }
        }
        let all_m: f64 = pieces.iter().flatten().sum();
        let share = |piece: f64| if all_m > 0.0 { piece / all_m } else { 0.0 };
        Shares { pieces: pieces.map(|row| row.map(share)), of_field: all_m / of_field_m.max(1e-9) }
    }

    /// Share in some rows and columns of pieces.
    fn within(&self, rows: std::ops::Range<usize>, columns: std::ops::Range<usize>) -> f64 {
        self.pieces[rows].iter().flat_map(|row| &row[columns.clone()]).sum()
    }

    /// Share in a third of a third.
    fn part(&self, row: usize, column: usize) -> f64 {
        self.within(2 * row..2 * row + 2, 2 * column..2 * column + 2)
    }

    /// Most of the ground lies in one of nine parts.
    fn one_part(&self) -> Option<&'static str> {
        const NAMES: [[&str; 3]; 3] = [
            [
                "in the north-west corner",
                "in the middle of the north side",
                "in the north-east corner",
            ],
            ["in the middle of the west side", "in the middle", "in the middle of the east side"],
            [
                "in the south-west corner",
                "in the middle of the south side",
                "in the south-east corner",
            ],
        ];
        let parts = (0..9).map(|k| (k / 3, k % 3));
        parts.into_iter().find_map(|(row, column)| {
            (self.part(row, column) >= IN_ONE).then_some(NAMES[row][column])
        })
    }

    /// It runs along a side or through the middle, or lies in one quarter.
    fn side(&self) -> Option<&'static str> {
        const COLUMNS: [&str; 3] = [
            "along the west side",
            "through the middle from north to south",
            "along the east side",
        ];
        const ROWS: [&str; 3] = [
            "along the north side",
            "through the middle from west to east",
            "along the south side",
        ];
        let column = (0..3).find(|&k| self.within(0..6, 2 * k..2 * k + 2) >= IN_SOME);
        let row = (0..3).find(|&k| self.within(2 * k..2 * k + 2, 0..6) >= IN_SOME);
        let runs_down =
            column.filter(|&column| (0..3).all(|row| self.part(row, column) >= IN_EACH));
        let runs_across = row.filter(|&row| (0..3).all(|column| self.part(row, column) >= IN_EACH));
        runs_down
            .map(|column| COLUMNS[column])
            .or(runs_across.map(|row| ROWS[row]))
            .or_else(|| self.quarter())
            .or(column.map(|column| COLUMNS[column]))
            .or(row.map(|row| ROWS[row]))
    }

    fn quarter(&self) -> Option<&'static str> {
        let [north, south] = [self.within(0..3, 0..6), self.within(3..6, 0..6)];
        let [west, east] = [self.within(0..6, 0..3), self.within(0..6, 3..6)];
        match () {
            () if north >= IN_SOME && west >= IN_SOME => Some("in the north-west"),
            () if north >= IN_SOME && east >= IN_SOME => Some("in the north-east"),
            () if south >= IN_SOME && west >= IN_SOME => Some("in the south-west"),
            () if south >= IN_SOME && east >= IN_SOME => Some("in the south-east"),
            () => None,
        }
    }

    fn half(&self) -> Option<&'static str> {
        let halves = [
            (self.within(0..3, 0..6), "in the northern half"),
            (self.within(3..6, 0..6), "in the southern half"),
            (self.within(0..6, 0..3), "in the western half"),
            (self.within(0..6, 3..6), "in the eastern half"),
        ];
        halves.into_iter().find(|(share, _)| *share >= IN_SOME).map(|(_, name)| name)
    }
}

/// The stretches of a line of one northing that lie in polygons, from west to east: even-odd, so that holes are left out.
fn within(polygons: &MultiPolygon, northing_m: f64) -> Vec<[f64; 2]> {
    let rings = polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let mut crossings: Vec<f64> = rings.flat_map(|ring| crossings(ring, northing_m)).collect();
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
}

/// Where a ring crosses a line of one northing: each edge holds its lower end and not its upper one.
fn crossings(ring: &LineString, northing_m: f64) -> impl Iterator<Item = f64> {
    ring.lines().filter_map(move |edge| {
        let (Coord { x, y }, end) = (edge.start, edge.end);
        let crosses = (y <= northing_m) != (end.y <= northing_m);
        crosses.then(|| x + (northing_m - y) / (end.y - y) * (end.x - x))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Polygon, polygon};

    fn rectangle(west: f64, south: f64, east: f64, north: f64) -> Polygon {
        polygon![(x: west, y: south), (x: east, y: south), (x: east, y: north), (x: west, y: north)]
    }

    /// Ground in a field of 600 m by 300 m.
    fn told(west: f64, south: f64, east: f64, north: f64) -> &'static str {
        let field = MultiPolygon(vec![rectangle(0.0, 0.0, 600.0, 300.0)]);
        where_in_field(&MultiPolygon(vec![rectangle(west, south, east, north)]), &field)
    }

    #[test]
    fn a_corner_a_side_and_the_middle_have_their_names() {
        assert_eq!(told(420.0, 210.0, 590.0, 290.0), "in the north-east corner");
        assert_eq!(told(0.0, 0.0, 60.0, 300.0), "along the west side");
        assert_eq!(told(30.0, 2.0, 580.0, 40.0), "along the south side");
        assert_eq!(told(250.0, 120.0, 350.0, 180.0), "in the middle");
        assert_eq!(told(280.0, 10.0, 330.0, 290.0), "through the middle from north to south");
        assert_eq!(told(10.0, 130.0, 80.0, 170.0), "in the middle of the west side");
    }

    #[test]
    fn larger_ground_is_told_by_quarters_and_halves() {
        assert_eq!(told(20.0, 160.0, 290.0, 290.0), "in the north-west");
        assert_eq!(told(310.0, 10.0, 600.0, 290.0), "in the eastern half");
        assert_eq!(told(0.0, 0.0, 600.0, 200.0), "over most of the field");
        assert_eq!(told(0.0, 0.0, 600.0, 300.0), "over the whole field");
    }

    #[test]
    fn parts_far_from_each_other_are_here_and_there() {
        let field = MultiPolygon(vec![rectangle(0.0, 0.0, 600.0, 300.0)]);
        let corners = MultiPolygon(vec![
            rectangle(0.0, 0.0, 60.0, 60.0),
            rectangle(540.0, 240.0, 600.0, 300.0),
        ]);
        assert_eq!(where_in_field(&corners, &field), "here and there");
    }

    /// A ring of ground around the middle has its hole left out.
    #[test]
    fn holes_are_not_ground() {
        let (outer, inner) =
            (rectangle(10.0, 10.0, 590.0, 290.0), rectangle(60.0, 60.0, 540.0, 240.0));
        let ring = Polygon::new(outer.exterior().clone(), vec![inner.exterior().clone()]);
        let shares = Shares::of(
            &MultiPolygon(vec![ring]),
            &MultiPolygon(vec![rectangle(0.0, 0.0, 600.0, 300.0)]),
        );
        let expected = (580.0 * 280.0 - 480.0 * 180.0) / (600.0 * 300.0);
        assert!((shares.of_field - expected).abs() < 0.01, "{}", shares.of_field);
        assert!(shares.part(1, 1) < 1e-9);
    }
}
