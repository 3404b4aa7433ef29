//! Cuts check strips out of zones, so that the pieces share their corners.
//!
//! Where the edge of a strip crosses an edge of a zone, the crossing is worked out once, rounded to
//! 0.1 mm and made a corner of all zones it lies on, and of the strip; corners of zones next to the
//! strip's edge are taken instead of crossings beside them. The overlay of the crate `geo` then has
//! no crossing left to find, so neighbours get the same corners.

use geo::{
    Area, BooleanOps, Coord, Distance, Euclidean, Line, LineString, MultiPolygon, Orient, Point,
    Polygon, Validation, orient::Direction,
};

use crate::passes::Frame;

/// Places are whole tenths of a millimetre.
const PER_M: f64 = 1e4;
/// Corners of zones this near to a strip's edge are corners of the strip, metres: less than any
/// machine can steer, more than the rounding of zone files in degrees.
const NEAR_M: f64 = 0.01;
/// A corner this near to an edge lies on it: far less than the rounding of places, far more than that of
/// the overlay's own grid.
const ON_EDGE_M: f64 = 1e-5;
/// Strips end this far beyond the ground, metres.
const BEYOND_M: f64 = 10.0;

/// What is left of a zone, and its piece in each strip, empty where there is none.
#[derive(Debug, Clone)]
pub(crate) struct Pieces {
    pub rest: MultiPolygon,
    pub in_strips: Vec<MultiPolygon>,
}

/// Cuts strips, each between two distances across, out of zones that share their corners.
pub(crate) fn cut(
    zones: &[&MultiPolygon],
    frame: Frame,
    strips: &[(f64, f64)],
) -> Vec<Result<Pieces, String>> {
    let snapped: Vec<MultiPolygon> = zones.iter().map(|zone| snapped(zone)).collect();
    let mut lines: Vec<f64> = strips.iter().flat_map(|&(left, right)| [left, right]).collect();
    lines.sort_by(f64::total_cmp);
    lines.dedup();
    let mut nodes: Vec<Vec<Coord>> = vec![Vec::new(); lines.len()];
    let noded: Vec<MultiPolygon> =
        snapped.iter().map(|zone| with_nodes(zone, frame, &lines, &mut nodes)).collect();
    let edges: Vec<Vec<Coord>> =
        lines.iter().zip(nodes).map(|(&line, nodes)| edge(line, nodes, frame, &noded)).collect();
    let edge_of = |line: f64| {
        let index = lines.iter().position(|&other| other == line);
        &edges[index.expect("the lines are those of the strips")]
    };
    let shapes: Vec<Polygon> =
        strips.iter().map(|&(left, right)| shape(edge_of(left), edge_of(right))).collect();
    noded.iter().map(|zone| pieces(zone, frame, strips, &shapes)).collect()
}

fn pieces(
    zone: &MultiPolygon,
    frame: Frame,
    strips: &[(f64, f64)],
    shapes: &[Polygon],
) -> Result<Pieces, String> {
    let (west, east) = frame.ends(&[zone]);
    let corners = Corners::of(zone);
    let mut rest = zone.clone();
    let mut in_strips = Vec::new();
    for (&(left, right), shape) in strips.iter().zip(shapes) {
        if right + NEAR_M < west || left - NEAR_M > east {
            in_strips.push(MultiPolygon::new(Vec::new()));
            continue;
        }
        in_strips.push(tidied(&rest.intersection(shape), &corners)?);
        rest = tidied(&rest.difference(shape), &corners)?;
    }
    let sum = rest.unsigned_area() + in_strips.iter().map(Area::unsigned_area).sum::<f64>();
    let whole = zone.unsigned_area();
    match (sum - whole).abs() <= 1e-6 * whole {
        true => Ok(Pieces { rest, in_strips }),
        false => Err(format!("its pieces have {sum:.4} m² of {whole:.4} m²")),
    }
}

/// A place on the 0.1 mm lattice.
fn snap(place: Coord) -> Coord {
    Coord { x: (place.x * PER_M).round() / PER_M, y: (place.y * PER_M).round() / PER_M }
}

fn snapped(zone: &MultiPolygon) -> MultiPolygon {
    mapped_rings(zone, |ring| {
        let mut corners: Vec<Coord> = ring.coords().map(|&corner| snap(corner)).collect();
        corners.dedup();
        LineString::new(corners)
    })
}

/// Polygons with each ring replaced; rings that enclose nothing any more are left out.
fn mapped_rings(
    polygons: &MultiPolygon,
    mut map: impl FnMut(&LineString) -> LineString,
) -> MultiPolygon {
    let mut all = Vec::new();
    for polygon in polygons {
        let exterior = map(polygon.exterior());
        if is_ring(&exterior) {
            let holes = polygon.interiors().iter().map(&mut map).filter(is_ring).collect();
            all.push(Polygon::new(exterior, holes));
        }
    }
    MultiPolygon::new(all)
}

fn is_ring(ring: &LineString) -> bool {
    ring.0.len() >= 4 && Polygon::new(ring.clone(), Vec::new()).unsigned_area() > 0.0
}

/// A zone with a corner wherever a strip's edge crosses it; those corners are also kept by line.
fn with_nodes(
    zone: &MultiPolygon,
    frame: Frame,
    lines: &[f64],
    nodes: &mut [Vec<Coord>],
) -> MultiPolygon {
    mapped_rings(zone, |ring| {
        let mut corners: Vec<Coord> = Vec::new();
        for edge in ring.lines() {
            corners.push(edge.start);
            corners.extend(crossings(edge, frame, lines, nodes));
        }
        corners.dedup();
        closed(corners)
    })
}

/// The corners that lines make on an edge, in its direction, without its ends. Neighbouring zones have
/// the edge in opposite directions, so it is always worked out in the same one.
fn crossings(edge: Line, frame: Frame, lines: &[f64], nodes: &mut [Vec<Coord>]) -> Vec<Coord> {
    let is_turned = (edge.start.x, edge.start.y) > (edge.end.x, edge.end.y);
    let (start, end) = if is_turned { (edge.end, edge.start) } else { (edge.start, edge.end) };
    let (from, to) = (frame.across_m(start), frame.across_m(end));
    let reach = |m: f64| lines.partition_point(|&line| line < m);
    let near = reach(from.min(to) - NEAR_M)..reach(from.max(to) + NEAR_M);
    let mut found: Vec<(f64, Coord)> = Vec::new();
    for index in near {
        let (off_start, off_end) = (from - lines[index], to - lines[index]);
        let (at_start, at_end) = (off_start.abs() <= NEAR_M, off_end.abs() <= NEAR_M);
        if at_start {
            nodes[index].push(start);
        }
        if at_end {
            nodes[index].push(end);
        }
        if !at_start && !at_end && (off_start < 0.0) != (off_end < 0.0) {
            let part = off_start / (off_start - off_end);
            let place = snap(start + (end - start) * part);
            nodes[index].push(place);
            found.push((part, place));
        }
    }
    found.sort_by(|one, other| one.0.total_cmp(&other.0));
    let places = found.into_iter().map(|(_, place)| place);
    if is_turned { places.rev().collect() } else { places.collect() }
}

fn closed(corners: Vec<Coord>) -> LineString {
    let mut ring = LineString::new(corners);
    ring.close();
    ring
}

/// The edge of a strip through its corners, along the heading, from beyond the ground to beyond it.
fn edge(line: f64, mut nodes: Vec<Coord>, frame: Frame, zones: &[MultiPolygon]) -> Vec<Coord> {
    nodes.sort_by(|one, other| {
        let along = frame.along_m(*one).total_cmp(&frame.along_m(*other));
        along.then(one.x.total_cmp(&other.x)).then(one.y.total_cmp(&other.y))
    });
    nodes.dedup();
    let corners = zones.iter().flat_map(MultiPolygon::iter).flat_map(|p| p.exterior().coords());
    let along = corners.map(|&corner| frame.along_m(corner));
    let (near, far) =
        along.fold((f64::INFINITY, f64::NEG_INFINITY), |(near, far), m| (near.min(m), far.max(m)));
    let end = |along_m: f64| snap(frame.place(line, along_m));
    [end(near - BEYOND_M)].into_iter().chain(nodes).chain([end(far + BEYOND_M)]).collect()
}

fn shape(left: &[Coord], right: &[Coord]) -> Polygon {
    let ring: Vec<Coord> = right.iter().chain(left.iter().rev()).copied().collect();
    Polygon::new(LineString::new(ring), Vec::new())
}

/// The corners of a zone by easting.
struct Corners(Vec<Coord>);

impl Corners {
    fn of(zone: &MultiPolygon) -> Corners {
        let rings = zone.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        let mut corners: Vec<Coord> = rings.flat_map(|ring| ring.coords().copied()).collect();
        corners.sort_by(|one, other| one.x.total_cmp(&other.x).then(one.y.total_cmp(&other.y)));
        corners.dedup();
        Corners(corners)
    }

    /// Those on an edge, in its direction, without its ends.
    fn on(&self, edge: Line) -> Vec<Coord> {
        let (west, east) = (edge.start.x.min(edge.end.x), edge.start.x.max(edge.end.x));
        let first = self.0.partition_point(|corner| corner.x < west - ON_EDGE_M);
        let beside = self.0[first..].iter().take_while(|corner| corner.x <= east + ON_EDGE_M);
        let is_on = |corner: &&Coord| {
            **corner != edge.start
                && **corner != edge.end
                && Euclidean.distance(&Point::from(**corner), &edge) <= ON_EDGE_M
        };
        let direction = edge.end - edge.start;
        let part = |corner: &Coord| {
            let off = *corner - edge.start;
            off.x * direction.x + off.y * direction.y
        };
        let mut on: Vec<Coord> = beside.filter(is_on).copied().collect();
        on.sort_by(|one, other| part(one).total_cmp(&part(other)));
        on
    }
}

/// What the overlay made, back on the lattice and with the corners that it left out because they lie on
/// a straight line: a neighbour may have them.
fn tidied(made: &MultiPolygon, corners: &Corners) -> Result<MultiPolygon, String> {
    let whole = mapped_rings(&snapped(made), |ring| {
        let mut all = Vec::new();
        for edge in ring.lines() {
            all.push(edge.start);
            all.extend(corners.on(edge));
        }
        closed(all)
    });
    let whole = whole.orient(Direction::Default);
    whole.check_validation().map_err(|invalid| invalid.to_string())?;
    Ok(whole)
}
