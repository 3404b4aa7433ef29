//! The page to record readings of planned spots on a phone.

use formats::SpotsFile;
use report::{RecordPage, RecordSpot, ReportError, record_page};
use survey::spacing::typical_spacing_m;
use survey::{Boundary, Depth, LonLat, Threshold};

/// The page with the spots inside, in the order of the walk. What is not known of the rod and the threshold is as
/// usual in these units, and can be changed on the page.
///
/// # Errors
/// When the rod has too few or too many marks for a page.
pub fn recording_page(
    of: &SpotsFile,
    boundary: &Boundary,
    rod: Option<Depth>,
) -> Result<String, ReportError> {
    let usual = RecordPage::new(of.units);
    let places: Vec<_> = of.spots.iter().map(|spot| spot.place).collect();
    let spot = |planned: &sampling::PlannedSpot| RecordSpot {
        id: planned.id.clone(),
        place: of.place(planned),
    };
    record_page(&RecordPage {
        field: Some(of.field_name.to_owned()),
        threshold: of.threshold.map_or(usual.threshold, Threshold::pressure),
        rod: rod.unwrap_or(usual.rod),
        insertions: u32::try_from(of.insertions).unwrap_or(usual.insertions),
        outline: outline(boundary),
        spots: of.spots.iter().map(spot).collect(),
        spacing_m: (places.len() > 1).then(|| typical_spacing_m(&places)),
        ..usual
    })
}

/// The rings of a boundary.
fn outline(boundary: &Boundary) -> Vec<Vec<LonLat>> {
    let rings = boundary
        .polygons
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let place = |at: &geo::Coord| LonLat { lon_deg: at.x, lat_deg: at.y };
    rings.map(|ring| ring.0.iter().map(place).collect()).collect()
}
