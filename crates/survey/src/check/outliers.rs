//! Readings that stand out from their neighbours.

use std::collections::BTreeSet;

use super::Checking;
use crate::checked::Spot;
use crate::finding::{Finding, Severity};
use crate::insertion::{Insertion, Measured, Outcome};
use crate::position::EastNorth;
use crate::quartile::quartile;
use crate::spacing::nearest_others;
use crate::units::Depth;

/// Neighbours that a reading is held against.
const NEIGHBOURS: usize = 8;

/// Fewer spots show nothing.
const ENOUGH: usize = 15;

/// A reading off by more than so many robust standard deviations stands out.
const FAR: f64 = 4.0;

/// The scale is told by the deviation that nine in ten readings keep within, which is 1.6449 standard
/// deviations of normal errors (its 95 % quantile). The median would not do: readings at the marks
/// of a rod often agree to the inch, and then it is zero.
const KEPT: f64 = 0.9;
const SIGMAS: f64 = 1.6449;

/// The scale is never taken as less than this: half a step of a rod with marks every 3 inches.
const LEAST_SCALE_CM: f64 = 3.81;

impl Checking<'_> {
    /// Doubts about readings far from the median of their neighbours, measured by how far readings
    /// of this survey mostly are. Where the depth typed as inches would fit, that is said.
    pub(super) fn doubt_outliers(&mut self, spots: &[Spot], insertions: &[&Insertion]) {
        if spots.len() < ENOUGH {
            return;
        }
        let positions: Vec<EastNorth> = spots.iter().map(|spot| spot.position).collect();
        let depth_cm = |index: usize| spots[index].reading.at_least().cm();
        let medians: Vec<f64> = nearest_others(&positions, NEIGHBOURS)
            .into_iter()
            .map(|near| {
                let mut depths: Vec<f64> = near.into_iter().map(depth_cm).collect();
                depths.sort_by(f64::total_cmp);
                quartile(&depths, 2)
            })
            .collect();
        let off = |index: usize| (depth_cm(index) - medians[index]).abs();
        let mut offs: Vec<f64> = (0..spots.len()).map(off).collect();
        offs.sort_by(f64::total_cmp);
        let kept_cm = offs[(KEPT * (offs.len() - 1) as f64) as usize];
        let scale_cm = (kept_cm / SIGMAS).max(LEAST_SCALE_CM);
        let is_typed = |i: &&&Insertion| matches!(i.measured, Measured::Once(Outcome::Reached(_)));
        let typed: BTreeSet<usize> = insertions.iter().filter(is_typed).map(|i| i.number).collect();
        for (index, spot) in spots.iter().enumerate().filter(|(k, _)| off(*k) > FAR * scale_cm) {
            let (here, around) = (depth_cm(index), medians[index]);
            let fits = |depth_cm: f64| (depth_cm - around).abs() < scale_cm;
            let guess = match (typed.contains(&spot.number), fits(here * 2.54), fits(here / 2.54)) {
                (true, true, _) => " (inches typed as centimetres?)",
                (true, _, true) => " (centimetres typed as inches?)",
                _ => "",
            };
            let fault = Finding::fault(
                (self.survey.kind, spot.number),
                Some(&spot.id),
                format!(
                    "{} stands out from its {NEIGHBOURS} neighbours, whose median is {}{guess}",
                    Depth::from_cm(here).in_both_units(),
                    Depth::from_cm(around).in_both_units()
                ),
                "used as it is; look again",
            );
            self.findings.push(Finding { severity: Severity::Doubt, ..fault });
        }
    }
}
