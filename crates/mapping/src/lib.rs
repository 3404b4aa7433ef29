//! From a checked survey to a map: surface, classes, zones.
//!
//! [`map_survey`] lays a grid over the field, fills it by inverse-distance weighting, gives each
//! cell the class of its depth and draws the zones. A cell belongs to the field as far as it lies
//! inside the boundary: zones are cut off exactly there, and with the unmapped ground they make up
//! the field without gap or overlap.
//!
//! Bulk values are centimetres (`depth_cm` and rasters), single ones [`survey::Depth`]; areas are
//! true areas on the ground. Nothing here knows of files or pictures.

mod classes;
mod cut;
mod error;
mod patches;
mod rings;
mod settings;
mod stream;
mod surface;
mod zones;
#[cfg(test)]
mod zoning_tests;

use geostat::Raster;
use survey::CheckedSurvey;

pub use classes::{DepthClasses, MOST_CLASSES};
pub use error::MappingError;
pub use settings::{
    CELLS_ACROSS, FEW_SPOTS, MANY_NEIGHBOURS, MapSettings, REACH_IN_SPACINGS, SMALLEST_ZONE_M2,
    SMALLEST_ZONE_SHARE, USUAL_POWER, candidate_powers,
};
pub use stream::DepthSurface;
pub use surface::{MOST_CELLS, MOST_RASTER_CELLS, Method};
pub use zones::{DepthSummary, Unmapped, Zone};

/// A map of one survey.
#[derive(Debug, Clone)]
pub struct DepthMap {
    /// Loose-layer depth in centimetres in each cell that lies in the field at least in part and within
    /// reach of a spot, NaN in the others. The value is that of the cell's middle.
    pub depth_cm: Raster,
    /// How the surface was made, with its cross-validation.
    pub method: Method,
    /// The depth classes.
    pub classes: DepthClasses,
    /// The zones, by class and falling area.
    pub zones: Vec<Zone>,
    /// Ground beyond reach of every spot.
    pub unmapped: Unmapped,
    /// True area of the field on the ground, square metres.
    pub field_area_m2: f64,
    /// Zones smaller than this joined a neighbour, square metres.
    pub smallest_zone_m2: f64,
}

impl DepthMap {
    /// True area on the ground of all zones of a class, square metres.
    pub fn class_area_m2(&self, class: usize) -> f64 {
        // From zero, since the sum of nothing is minus zero.
        let of_class = self.zones.iter().filter(|zone| zone.class == class);
        of_class.fold(0.0, |sum, zone| sum + zone.ground_area_m2)
    }

    /// An area as a share of the field.
    pub fn share(&self, area_m2: f64) -> f64 {
        area_m2 / self.field_area_m2
    }
}

/// Maps a survey.
///
/// # Errors
/// When a setting makes no map: a cell too small for memory, a power or reach that means nothing.
pub fn map_survey(
    survey: &CheckedSurvey,
    settings: &MapSettings,
) -> Result<DepthMap, MappingError> {
    let field_area_m2 = survey.field().ground_area_m2();
    let smallest_zone_m2 = settings::smallest_zone_m2(settings, field_area_m2);
    if smallest_zone_m2.is_nan() || smallest_zone_m2 < 0.0 {
        return Err(MappingError::SmallestZone { area_m2: smallest_zone_m2 });
    }
    let surface = DepthSurface::with_most(survey, settings, "map", MOST_CELLS)?;
    let grid = surface.grid();
    let mut values = Vec::with_capacity(grid.cells());
    surface.stream(|band| {
        values.extend(band);
        Ok::<(), MappingError>(())
    })?;
    let depth_cm = Raster { grid, values };
    let (zones, unmapped) =
        zones::zones(survey, surface.cut(), &depth_cm, &settings.classes, smallest_zone_m2);
    Ok(DepthMap {
        depth_cm,
        method: surface.method().clone(),
        classes: settings.classes.clone(),
        zones,
        unmapped,
        field_area_m2,
        smallest_zone_m2,
    })
}
