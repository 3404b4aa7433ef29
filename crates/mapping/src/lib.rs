//! From a checked survey to a map: surface, classes, zones.
//!
//! [`map_survey`] lays a grid over the field, fills it by inverse-distance weighting, kriging or the
//! field mean, within each stratum from its own readings, gives each cell the class of its depth and draws
//! the zones, each with what backs it: ground too narrow or too small for a machine goes to its
//! neighbours, and borders are smoothed. A cell belongs to the field as far as it lies inside the
//! boundary: zones are cut off exactly there, and with the unmapped ground they make up the field without
//! gap or overlap.
//!
//! Bulk values are centimetres (`depth_cm` and rasters), single ones [`survey::Depth`]; areas are
//! true areas on the ground. Nothing here knows of files or pictures.

mod areas;
mod border_arcs;
mod border_index;
mod border_moved;
#[cfg(test)]
mod border_tests;
mod borders;
mod choose;
mod class_intervals;
mod classes;
mod corner_cuts;
mod cut;
mod depth_sums;
mod error;
mod evidence;
mod filled_surface;
mod fitted_variogram;
mod grid_labels;
mod interpolator;
mod layer;
mod links;
mod make_room;
mod method;
mod method_words;
mod most_zones;
mod narrow;
#[cfg(test)]
mod narrow_tests;
mod opening;
mod patches;
mod probability;
mod rings;
mod settings;
mod strata;
mod strata_words;
mod stream;
mod surface;
mod thinned_cells;
mod zone_borders;
mod zone_frame;
mod zone_ids;
mod zone_members;
mod zone_settings;
mod zones;
mod zones_made;
mod zoning;
#[cfg(test)]
mod zoning_tests;

use cut::CutField;
use geostat::Raster;
use survey::{CheckedSurvey, Field};

pub use border_moved::BorderMoved;
pub use class_intervals::{
    AreaInterval, ClassIntervals, MOST_SIMULATED_CELLS, MOST_SIMULATED_SPOTS,
};
pub use classes::{DepthClasses, MOST_CLASSES};
pub use error::MappingError;
pub use evidence::{
    EstimatedBy, FEW_PROBES, MOST_SPOTS_OF_ZONE_KRIGING, MeanEstimate, ProfileEvidence,
    STOPS_ROOTS_PSI, ZoneEvidence,
};
pub use filled_surface::FilledSurface;
pub use fitted_variogram::{FittedVariogram, SHAPES};
pub use method::{BlockCheck, Errors, Estimator, Method, MethodKind, Neighbourhood, Tried};
pub use method_words::error_text;
pub use probability::{
    PROBABILITY_LIMITS, Probability, ProbabilityCheck, ProbabilityMethod, Reliability,
    probability_class,
};
pub use settings::{
    BLOCK_IN_SPACINGS, CELLS_ACROSS, FEW_SPOTS, FEW_SPOTS_OF_KRIGING, LEAST_REALISATIONS,
    LEAST_SPOTS_OF_KRIGING, MANY_NEIGHBOURS, MANY_NEIGHBOURS_OF_KRIGING, MOST_REALISATIONS,
    MOST_SPOTS_OF_BLOCKS, MapSettings, MethodChoice, ProbabilityChoice, REACH_IN_SPACINGS,
    SPOTS_FOR_A_GOOD_VARIOGRAM, USUAL_POWER, USUAL_REALISATIONS, candidate_powers,
};
pub use strata::{MOST_STRATA, Probed, StratumMap, StratumPart};
pub use stream::DepthSurface;
pub use surface::{MOST_CELLS, MOST_RASTER_CELLS};
pub use zone_ids::{EarlierZone, KeptIds, MOST_EARLIER_ZONES};
pub use zone_settings::{
    GOOD_ZONES, MOST_BORDER_TOLERANCE_CELLS, PASSES_OF_NARROWEST, SMALLEST_ZONE_M2,
    SMALLEST_ZONE_SHARE, ZoneSettings,
};
pub use zones::{DepthSummary, Unmapped, Zone};
pub use zones_made::{MUCH_OF_OTHER_CLASS, ZoneJoin, ZonesMade};

/// A map of one survey.
#[derive(Debug, Clone)]
pub struct DepthMap {
    /// Loose-layer depth in centimetres in each cell that lies in the field at least in part and within
    /// reach of a spot, NaN in the others. The value is that of the cell's middle.
    pub depth_cm: Raster,
    /// Standard error of the depth in centimetres, of a kriged map, where there is a depth: that of what
    /// one probe would read there. NaN also in a stratum that is not kriged, and where rounding made a
    /// variance negative.
    pub standard_error_cm: Option<Raster>,
    /// Cells with a variance below 0 that rounding does not explain.
    pub negative_variances: usize,
    /// Cells in which kriging went below 0; they are 0 in the raster.
    pub below_ground: usize,
    /// How much ground each class may have, of a kriged map.
    pub class_intervals: Option<ClassIntervals>,
    /// How likely the loose layer is thinner than a depth, where one was given.
    pub probability: Option<Probability>,
    /// How the surface was made, with its cross-validation; where there are strata, that of the main ground.
    pub method: Method,
    /// The spots the method rests on: all of them, or those of the main ground where there are strata.
    pub probed: Probed,
    /// Ground that is judged apart, in the order of the file; empty where none was given.
    pub strata: Vec<StratumMap>,
    /// What is odd about the strata.
    pub notes: Vec<String>,
    /// The depth classes.
    pub classes: DepthClasses,
    /// The zones, by class and falling area.
    pub zones: Vec<Zone>,
    /// What became of the ids of an earlier visit, where one was given.
    pub kept_ids: Option<KeptIds>,
    /// Ground beyond reach of every spot.
    pub unmapped: Unmapped,
    /// The borders of the zones with each other and with ground without a value, by the zones' order, and
    /// how much ground their smoothing moved.
    pub borders: Vec<BorderMoved>,
    /// How far at most a border is from the edges of the cells it was traced along, metres; 0 where it
    /// was not smoothed.
    pub border_tolerance_m: f64,
    /// True area of the field on the ground, square metres.
    pub field_area_m2: f64,
    /// Zones smaller than this joined a neighbour, square metres.
    pub smallest_zone_m2: f64,
    /// How the zones came about.
    pub zones_made: ZonesMade,
    /// The settings it was made with, as given.
    pub settings: MapSettings,
    field: Field,
    cut: CutField,
}

impl DepthMap {
    /// True area on the ground of each of so many classes of another raster of the map's grid, square
    /// metres; the ground of cells without a value is in none.
    ///
    /// # Panics
    /// When a class is not among so many.
    pub fn areas_m2(
        &self,
        raster: &Raster,
        classes: usize,
        class_of: impl Fn(f64) -> usize,
    ) -> Vec<f64> {
        areas::areas_m2(&self.cut, &self.field, raster, classes, class_of)
    }

    /// Mean of another raster of the map's grid, each cell weighed by its part in the field; `None` where no
    /// cell with a value lies in the field.
    pub fn mean_over_ground(&self, raster: &Raster) -> Option<f64> {
        let (mut weights, mut sum) = (0.0, 0.0);
        for (cell, &value) in raster.values.iter().enumerate().filter(|(_, v)| !v.is_nan()) {
            let weight = self.cut.share(cell);
            weights += weight;
            sum += weight * value;
        }
        (weights > 0.0).then(|| sum / weights)
    }

    /// The field it is of.
    pub fn field(&self) -> &Field {
        &self.field
    }

    /// True area on the ground of all zones of a class, square metres: within their smoothed borders.
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
    FilledSurface::new(survey, settings)?.map(survey, settings)
}
