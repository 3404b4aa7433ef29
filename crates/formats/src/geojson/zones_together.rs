//! Whether zones that are each sound make up one field together.

use geo::{Area, BoundingRect, LinesIter, MultiPolygon};
use plan::MappedZone;
use survey::units::M2_PER_HA;

use crate::overlap::{Overlap, overlaps};
use crate::values::shown;

/// The widest field, metres, as for a boundary.
const MAX_SPAN_M: f64 = 100_000.0;

/// The most lines that a straight way across all zones meets on average: every row of a raster of the plan
/// meets as many. Zones of ten cells in a field of a thousand cells make some hundred.
const MOST_LINES_ACROSS: f64 = 2_000.0;

/// Part of the smaller of two zones that both may hold: borders that a GIS has drawn anew never fit quite.
const MOST_SHARED: f64 = 0.01;

/// Refuses zones, valid in the plane, that span too much ground, have too many lines, or lie over each
/// other.
pub(super) fn refuse_unfit(zones: &[MappedZone]) -> Result<(), String> {
    let all = MultiPolygon::new(zones.iter().flat_map(|zone| zone.polygons.0.clone()).collect());
    let span_m = all.bounding_rect().map_or(0.0, |frame| frame.width().max(frame.height()));
    if span_m > MAX_SPAN_M {
        return Err(format!("the zones span {:.0} km; they must be of one field", span_m / 1e3));
    }
    let across = lines_across(&all);
    if across > MOST_LINES_ACROSS {
        return Err(format!(
            "a straight way across the zones meets {across:.0} lines on average, more than \
             {MOST_LINES_ACROSS:.0}; draw fewer or plainer zones"
        ));
    }
    refuse_overlaps(zones)
}

/// Refuses zones that share ground: it would be treated for both of them.
fn refuse_overlaps(zones: &[MappedZone]) -> Result<(), String> {
    let outlines: Vec<Option<&MultiPolygon>> =
        zones.iter().map(|zone| Some(&zone.polygons)).collect();
    let shared = overlaps(&outlines, Area::unsigned_area).found;
    let is_much = |overlap: &&Overlap| {
        let [first, second] = [overlap.first, overlap.second].map(|k| zones[k].ground_area_m2);
        overlap.area_m2 > MOST_SHARED * first.min(second)
    };
    match shared.iter().find(is_much) {
        None => Ok(()),
        Some(Overlap { first, second, area_m2 }) => Err(format!(
            "features {} ({}) and {} ({}) lie over each other on {:.4} ha; give that ground to one of them",
            first + 1,
            shown(&zones[*first].id),
            second + 1,
            shown(&zones[*second].id),
            area_m2 / M2_PER_HA
        )),
    }
}

/// How many lines a straight way across polygons meets on average, northwards or eastwards, whichever
/// is more.
fn lines_across(polygons: &MultiPolygon) -> f64 {
    let Some(frame) = polygons.bounding_rect() else { return 0.0 };
    let (east_m, north_m) = polygons.lines_iter().fold((0.0, 0.0), |(east_m, north_m), line| {
        (east_m + line.dx().abs(), north_m + line.dy().abs())
    });
    (east_m / frame.width()).max(north_m / frame.height())
}
