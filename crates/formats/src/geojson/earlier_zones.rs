//! The zones of an earlier visit, for their ids: a zone file of this program.

use std::collections::BTreeSet;
use std::path::Path;

use mapping::{EarlierZone, MOST_EARLIER_ZONES};

use super::named_areas::{NamedArea, Wanted, read_named_areas};
use crate::error::FormatError;
use crate::input::InputFile;

/// Corners of the zones together: some ten times those of a large field's.
const MOST_CORNERS: usize = 500_000;

/// Reads outlines and ids of zones: a FeatureCollection of polygons of either kind, each with a
/// property `zone_id` of its own.
///
/// # Errors
/// When the file is something else, a feature is no sound polygon with an id, or an id stands twice.
pub fn read_earlier_zones(path: &Path) -> Result<(InputFile, Vec<EarlierZone>), FormatError> {
    let wanted = Wanted {
        what: "zone",
        property: "zone_id",
        other_property: None,
        most_features: MOST_EARLIER_ZONES,
        most_corners: MOST_CORNERS,
        must_be_valid: false,
    };
    let (input, areas) = read_named_areas(path, &wanted)?;
    let mut known = BTreeSet::new();
    if let Some(twice) = areas.iter().find(|area| !known.insert(area.name.as_str())) {
        return Err(FormatError::ZoneIdTwice { file: path.to_path_buf(), id: twice.name.clone() });
    }
    let zone = |NamedArea { name, polygons, .. }| EarlierZone { id: name, polygons };
    Ok((input, areas.into_iter().map(zone).collect()))
}
