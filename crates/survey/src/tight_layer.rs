//! The tight layer of a profile: where the pressure first reaches a threshold and stays there, and
//! where it falls below it again. Pressure is linear between readings.
//!
//! Its top is the depth of the loose layer. Its bottom is another number, which a shank depth needs
//! (NRCS Conservation Practice Standard 324; USDA Forest Service 0834-2828-MTDC); the one says
//! nothing about the other.

use crate::insertion::Outcome;
use crate::profile::{ConeIndex, Profile, SAME_DEPTH_M};
use crate::units::{Depth, Pressure};

/// A stretch of ground at or above a threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TightLayer {
    /// Where the pressure first reaches the threshold; the first reading where that one already
    /// does.
    pub top: Depth,
    /// Where it falls below the threshold again; `None` where it was still tight at the deepest
    /// reading: the bottom was not reached.
    pub bottom: Option<Depth>,
    /// The deepest reading of the profile.
    pub probed_to: Depth,
}

impl TightLayer {
    /// From top to bottom; `None` where the bottom was not reached.
    pub fn thickness(&self) -> Option<Depth> {
        let bottom = self.bottom?;
        Some(Depth::from_m(bottom.m() - self.top.m()))
    }

    /// The thickness that is certain: down to the bottom, or to the deepest reading.
    pub fn at_least_thick(&self) -> Depth {
        let foot = self.bottom.unwrap_or(self.probed_to);
        Depth::from_m(foot.m() - self.top.m())
    }

    /// Whether the layer counts where this much is asked for. A layer that is still tight at the
    /// deepest reading does, however little of it was seen.
    fn is_sustained(&self, sustained: Depth) -> bool {
        self.thickness().is_none_or(|thickness| thickness.m() >= sustained.m() - SAME_DEPTH_M)
    }
}

impl Profile {
    /// How the insertion ended at a threshold: the depth where the pressure first reaches it and
    /// stays at or above it for a length of `sustained`; zero takes the first crossing.
    ///
    /// - A first reading at or above the threshold: reached at the depth of that reading, since
    ///   nothing was read above it. The true depth may be less.
    /// - Still at or above the threshold at the deepest reading, for less than `sustained`:
    ///   reached. A stone that the rod passed shows by the pressure falling again; here it was not
    ///   seen to fall, and ground too hard to push on is the commonest reason to stop. "Not
    ///   reached" would take the hardest spots for loose ones.
    /// - Otherwise not reached, down to the deepest reading.
    pub fn outcome(&self, threshold: Pressure, sustained: Depth) -> Outcome {
        match self.tight_layer(threshold, sustained) {
            Some(layer) => Outcome::Reached(layer.top),
            None => Outcome::NotReached { probed_to: self.probed_to() },
        }
    }

    /// The uppermost layer that counts as tight by the rule of [`Profile::outcome`]; `None` where
    /// the threshold was not reached. A deeper second layer is not looked at.
    pub fn tight_layer(&self, threshold: Pressure, sustained: Depth) -> Option<TightLayer> {
        layers(self, threshold).into_iter().find(|layer| layer.is_sustained(sustained))
    }
}

/// Every stretch at or above a threshold, from the surface down; only the last can be without a
/// bottom.
fn layers(profile: &Profile, threshold: Pressure) -> Vec<TightLayer> {
    let readings = profile.readings();
    let is_tight = |reading: &ConeIndex| reading.pressure >= threshold;
    let mut layers = Vec::new();
    let mut top = is_tight(&readings[0]).then_some(readings[0].depth);
    for pair in readings.windows(2) {
        match (top, is_tight(&pair[1])) {
            (None, true) => top = Some(crossing(pair[0], pair[1], threshold)),
            (Some(begun), false) => {
                layers.push(TightLayer {
                    top: begun,
                    bottom: Some(crossing(pair[0], pair[1], threshold)),
                    probed_to: profile.probed_to(),
                });
                top = None;
            }
            (None, false) | (Some(_), true) => {}
        }
    }
    layers.extend(top.map(|top| TightLayer { top, bottom: None, probed_to: profile.probed_to() }));
    layers
}

/// Where the straight line through two readings, one at or above and one below a threshold, meets
/// it.
fn crossing(upper: ConeIndex, lower: ConeIndex, threshold: Pressure) -> Depth {
    let (above, below) = (upper.pressure.pa(), lower.pressure.pa());
    let part = (threshold.pa() - above) / (below - above);
    Depth::from_m(upper.depth.m() + part * (lower.depth.m() - upper.depth.m()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::tests::us;

    /// Top, bottom and thickness in inches, of the layer above 200 psi.
    fn layer(readings: &[(f64, f64)], sustained_in: f64) -> Option<(f64, Option<f64>)> {
        let sustained = Depth::from_in(sustained_in);
        let layer = us(readings).tight_layer(Pressure::from_psi(200.0), sustained)?;
        let round = |depth: Depth| (depth.inches() * 1e9).round() / 1e9;
        Some((round(layer.top), layer.bottom.map(round)))
    }

    /// Rises to 200 psi half way from 3 to 4 in, falls below it a quarter of the way from 7 to 8.
    const PLAIN: [(f64, f64); 5] =
        [(3.0, 150.0), (4.0, 250.0), (7.0, 220.0), (8.0, 140.0), (9.0, 100.0)];

    #[test]
    fn crossings_lie_on_the_line_between_readings() {
        assert_eq!(layer(&PLAIN, 0.0), Some((3.5, Some(7.25))));
        let found = us(&PLAIN).tight_layer(Pressure::from_psi(200.0), Depth::from_in(0.0));
        let thickness = found.unwrap().thickness().unwrap();
        assert!((thickness.inches() - 3.75).abs() < 1e-9);
    }

    #[test]
    fn a_reading_on_the_threshold_reaches_it() {
        let on_it = [(1.0, 100.0), (2.0, 200.0), (3.0, 100.0)];
        assert_eq!(layer(&on_it, 0.0), Some((2.0, Some(2.0))));
        assert_eq!(layer(&on_it, 0.1), None);
    }

    #[test]
    fn one_stone_does_not_count_where_a_length_is_asked_for() {
        let stone = [
            (1.0, 100.0),
            (2.0, 100.0),
            (3.0, 300.0),
            (4.0, 100.0),
            (7.0, 100.0),
            (8.0, 300.0),
            (11.0, 300.0),
            (12.0, 100.0),
        ];
        assert_eq!(layer(&stone, 0.0), Some((2.5, Some(3.5))));
        assert_eq!(layer(&stone, 2.0), Some((7.5, Some(11.5))));
        // The stone's stretch is exactly 1 in, the deeper layer's exactly 4 in.
        assert_eq!(layer(&stone, 1.0), Some((2.5, Some(3.5))));
        assert_eq!(layer(&stone, 4.0), Some((7.5, Some(11.5))));
        assert_eq!(layer(&stone, 4.1), None);
    }

    #[test]
    fn a_layer_still_tight_at_the_deepest_reading_counts_and_has_no_bottom() {
        let stopped = [(6.0, 100.0), (7.0, 300.0), (7.5, 600.0)];
        assert_eq!(layer(&stopped, 3.0), Some((6.5, None)));
        let outcome = us(&stopped).outcome(Pressure::from_psi(200.0), Depth::from_in(3.0));
        assert!(matches!(outcome, Outcome::Reached(_)), "{outcome:?}");
        let layer = us(&stopped).tight_layer(Pressure::from_psi(200.0), Depth::from_in(3.0));
        assert!((layer.unwrap().at_least_thick().inches() - 1.0).abs() < 1e-9);
        assert_eq!(layer.unwrap().thickness(), None);
    }

    #[test]
    fn tight_from_the_first_reading_is_reached_at_that_reading() {
        assert_eq!(layer(&[(2.0, 250.0), (3.0, 250.0)], 0.0), Some((2.0, None)));
        assert_eq!(layer(&[(0.0, 250.0), (4.0, 150.0)], 0.0), Some((0.0, Some(2.0))));
    }

    #[test]
    fn never_reached_is_not_a_depth() {
        let outcome = us(&PLAIN).outcome(Pressure::from_psi(300.0), Depth::from_in(0.0));
        let expected = Outcome::NotReached { probed_to: Depth::from_in(9.0) };
        assert_eq!(outcome, expected);
    }

    #[test]
    fn asking_for_more_length_never_finds_shallower_ground() {
        let saw: Vec<(f64, f64)> =
            (0..40).map(|k| (f64::from(k), 100.0 + f64::from(k * 37 % 23) * 10.0)).collect();
        let profile = us(&saw);
        let depth = |sustained_in: f64| {
            let sustained = Depth::from_in(sustained_in);
            match profile.outcome(Pressure::from_psi(200.0), sustained) {
                Outcome::Reached(depth) => depth.inches(),
                _ => f64::INFINITY,
            }
        };
        let depths: Vec<f64> = (0..20).map(|k| depth(f64::from(k) / 4.0)).collect();
        assert!(depths.windows(2).all(|pair| pair[0] <= pair[1]), "{depths:?}");
    }
}
