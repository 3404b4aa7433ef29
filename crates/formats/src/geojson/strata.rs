//! Strata from GeoJSON: polygons with a `name`.

use std::path::Path;

use mapping::StratumPart;

use super::named_areas::{NamedArea, Wanted, read_named_areas};
use crate::error::FormatError;
use crate::input::InputFile;

/// The most polygons of a strata file, and their corners together.
const MOST_PARTS: usize = 1_000;
const MOST_CORNERS: usize = 20_000;

/// Reads the strata of a field: a FeatureCollection of polygons of either kind, each with a property
/// `name`. Features of one name make one stratum.
///
/// # Errors
/// When the file is something else, or a feature is no sound polygon with a name.
pub fn read_strata(path: &Path) -> Result<(InputFile, Vec<StratumPart>), FormatError> {
    let wanted = Wanted {
        what: "stratum",
        property: "name",
        other_property: None,
        most_features: MOST_PARTS,
        most_corners: MOST_CORNERS,
        must_be_valid: true,
    };
    let (input, areas) = read_named_areas(path, &wanted)?;
    let part = |NamedArea { name, polygons, .. }| StratumPart { name, polygons };
    Ok((input, areas.into_iter().map(part).collect()))
}
