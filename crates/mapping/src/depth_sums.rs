//! Mean and extremes of the surface in each patch.

use survey::Depth;

use crate::patches::Patches;
use crate::zone_frame::ZoneFrame;
use crate::zones::DepthSummary;

/// Depths of the map's cells in each patch, each weighed by its part in the field; of a patch without any,
/// those of its own cells. `None` for ground without a value.
pub(crate) fn depth_summaries(frame: &ZoneFrame, patches: &Patches) -> Vec<Option<DepthSummary>> {
    let mut sums: Vec<Sum> = vec![Sum::EMPTY; patches.ground.len()];
    let known = frame.map_cm.values.iter().enumerate().filter(|(_, depth_cm)| !depth_cm.is_nan());
    for (map_cell, &depth_cm) in known {
        if let Some(patch) = frame.cell_of_map(map_cell).and_then(|cell| patches.of_cell[cell]) {
            sums[patch as usize].add(depth_cm, frame.map_cut.share(map_cell));
        }
    }
    let is_empty: Vec<bool> = sums.iter().map(|sum| sum.weights == 0.0).collect();
    for (cell, &patch) in patches.of_cell.iter().enumerate() {
        if let Some(patch) = patch.map(|patch| patch as usize).filter(|&patch| is_empty[patch])
            && !frame.depth_cm[cell].is_nan()
        {
            sums[patch].add(frame.depth_cm[cell], frame.cut.share(cell));
        }
    }
    sums.iter().map(Sum::summary).collect()
}

/// Weighted sums over the cells of a patch.
#[derive(Clone)]
struct Sum {
    weights: f64,
    weighted_cm: f64,
    min_cm: f64,
    max_cm: f64,
}

impl Sum {
    const EMPTY: Sum =
        Sum { weights: 0.0, weighted_cm: 0.0, min_cm: f64::INFINITY, max_cm: f64::NEG_INFINITY };

    fn add(&mut self, depth_cm: f64, weight: f64) {
        self.weights += weight;
        self.weighted_cm += weight * depth_cm;
        self.min_cm = self.min_cm.min(depth_cm);
        self.max_cm = self.max_cm.max(depth_cm);
    }

    fn summary(&self) -> Option<DepthSummary> {
        if self.weights == 0.0 {
            return None;
        }
        // The mean of equal depths may miss them by a rounding: it never lies outside them.
        let mean_cm = (self.weighted_cm / self.weights).clamp(self.min_cm, self.max_cm);
        Some(DepthSummary {
            mean: Depth::from_cm(mean_cm),
            min: Depth::from_cm(self.min_cm),
            max: Depth::from_cm(self.max_cm),
        })
    }
}
