//! The field's outline.

use geo::BoundingRect;
use rusqlite::{Result, params};
use survey::units::{M2_PER_AC, M2_PER_HA};
use survey::{Boundary, Field};

use super::layout::FIELD;
use super::shown_text;
use crate::degrees::rounded;
use crate::geopackage::{Contents, multi_polygon};

/// Decimals of an area: a square centimetre.
const DECIMALS: u32 = 8;

/// Writes the layer of the field. An outline that encloses no ground has no area.
pub(super) fn write(contents: &Contents, field_name: &str, boundary: &Boundary) -> Result<()> {
    FIELD.create(contents.db)?;
    let area_m2 = Field::inside(boundary).ok().map(|field| field.ground_area_m2());
    let area = |m2: f64| area_m2.map(|area_m2| rounded(area_m2 / m2, DECIMALS));
    let row = params![
        multi_polygon(&boundary.polygons),
        shown_text(field_name),
        area(M2_PER_HA),
        area(M2_PER_AC)
    ];
    contents.db.execute(&FIELD.insertion(), row)?;
    let bounds = boundary.polygons.bounding_rect().map_or([None; 4], |frame| {
        [frame.min().x, frame.min().y, frame.max().x, frame.max().y].map(Some)
    });
    contents.features(FIELD.name, "MULTIPOLYGON", FIELD.what, bounds)
}
