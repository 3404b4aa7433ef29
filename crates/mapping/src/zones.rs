//! Zones: connected ground of one depth class, with what is known of it.

use geo::MultiPolygon;
use survey::Depth;

use crate::evidence::{FEW_PROBES, ZoneEvidence};

/// Connected ground of one depth class. Ground that meets only at a corner is not connected. The zone's
/// outline and area are those within its smoothed borders; its depths and probes are those of the cells
/// that it was traced along.
#[derive(Debug, Clone)]
pub struct Zone {
    /// `Z` and a number, one of a kind in the map: from `Z1` by class, the shallowest first, then by
    /// falling area; of equal areas the more northern comes first, then the more western. A text that no
    /// table program takes for a number or a date.
    pub id: String,
    /// The class, 0 the shallowest.
    pub class: usize,
    /// The stratum it lies in; `None` on the main ground. A zone lies in one stratum whole.
    pub stratum: Option<String>,
    /// Outline in the field's plane, metres. Zones share their borders: same corners, no gap and no
    /// overlap. Several polygons only where the field itself is parted within one cell.
    pub polygons: MultiPolygon,
    /// True area on the ground, square metres.
    pub ground_area_m2: f64,
    /// Depths of the surface in the zone, each cell weighed by its part in the field. Small patches
    /// that joined the zone can lie outside its class.
    pub depth: DepthSummary,
    /// How many spots with a reading lie in the zone. A spot just outside the boundary counts for
    /// the nearest zone.
    pub probes: usize,
    /// How many of them did not reach the threshold.
    pub not_reached: usize,
    /// What backs the zone's depth and class.
    pub evidence: ZoneEvidence,
}

impl Zone {
    /// Whether the zone has too few probes to be judged by them.
    pub fn has_few_probes(&self) -> bool {
        self.probes < FEW_PROBES
    }

    /// Share of the zone's probes that did not reach the threshold, 0 to 1; `None` without any.
    pub fn share_not_reached(&self) -> Option<f64> {
        (self.probes > 0).then(|| self.not_reached as f64 / self.probes as f64)
    }

    /// Whether at least half of the zone's probes did not reach the threshold: the loose layer is
    /// then likely deeper than the zone's depths say.
    pub fn is_lower_bound(&self) -> bool {
        self.not_reached > 0 && 2 * self.not_reached >= self.probes
    }
}

/// Mean and extremes of a surface over some ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthSummary {
    /// Mean.
    pub mean: Depth,
    /// Least.
    pub min: Depth,
    /// Greatest.
    pub max: Depth,
}

/// Ground of the field without a value.
#[derive(Debug, Clone)]
pub struct Unmapped {
    /// Outline in the field's plane, metres; empty where every part has a value.
    pub polygons: MultiPolygon,
    /// True area on the ground, square metres.
    pub ground_area_m2: f64,
}
