//! The tight layers of many profiles: how deep the loose ground is, and top, bottom and thickness of
//! what lies below it.

use crate::censored::{Combined, combined};
use crate::checked::Reading;
use crate::profile::Profile;
use crate::tight_layer::TightLayer;
use crate::units::{Depth, Pressure};

/// Tight layers of some profiles at one threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TightLayers {
    /// The threshold.
    pub threshold: Pressure,
    /// Depth of the loose layer over all profiles, those that never reached the threshold as
    /// censored readings.
    pub loose: Combined,
    /// The layers of the profiles that have one; `None` where none has.
    pub layers: Option<LayersFound>,
}

/// Top, bottom and thickness of the tight layers that were found, over the profiles that have one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayersFound {
    /// Where they begin. Of the profiles with a layer only, so no deeper than the bottom.
    pub top: Combined,
    /// Where they end; still tight at the deepest reading counts as not reached.
    /// Rods that stop because the layer is hard break the estimator's assumption, and the median is
    /// then too shallow: show how many ended in the layer, `not_reached`, beside it.
    pub bottom: Combined,
    /// How thick they are; still tight at the deepest reading counts as not reached.
    pub thickness: Combined,
}

impl TightLayers {
    /// The layers of some profiles, by [`Profile::tight_layer`]; `None` without any profile.
    pub fn of(profiles: &[&Profile], threshold: Pressure, sustained: Depth) -> Option<Self> {
        let found: Vec<Option<TightLayer>> =
            profiles.iter().map(|profile| profile.tight_layer(threshold, sustained)).collect();
        let loose: Vec<Reading> = found
            .iter()
            .zip(profiles)
            .map(|(layer, profile)| match layer {
                Some(layer) => Reading::Reached(layer.top),
                None => Reading::NotReached { probed_to: profile.probed_to() },
            })
            .collect();
        let layers: Vec<TightLayer> = found.into_iter().flatten().collect();
        (!loose.is_empty()).then(|| TightLayers {
            threshold,
            loose: combined(&loose),
            layers: (!layers.is_empty()).then(|| LayersFound::of(&layers)),
        })
    }
}

impl LayersFound {
    fn of(layers: &[TightLayer]) -> Self {
        let all = |reading: fn(&TightLayer) -> Reading| {
            combined(&layers.iter().map(reading).collect::<Vec<_>>())
        };
        LayersFound {
            top: all(|layer| Reading::Reached(layer.top)),
            bottom: all(|layer| censored(layer.bottom, layer.probed_to)),
            thickness: all(|layer| censored(layer.thickness(), layer.at_least_thick())),
        }
    }
}

fn censored(depth: Option<Depth>, at_least: Depth) -> Reading {
    match depth {
        Some(depth) => Reading::Reached(depth),
        None => Reading::NotReached { probed_to: at_least },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::tests::us;

    fn inches(combined: Combined) -> (f64, bool) {
        let depth = combined.reading.at_least().inches();
        let rounded = (depth * 1e9).round() / 1e9;
        (rounded, combined.reading.is_not_reached())
    }

    #[test]
    fn layers_are_those_of_the_profiles_that_have_one() {
        let profiles = [
            us(&[(0.0, 100.0), (4.0, 300.0), (8.0, 300.0), (12.0, 100.0)]),
            us(&[(0.0, 0.0), (4.0, 400.0), (6.0, 400.0), (8.0, 0.0)]),
            us(&[(0.0, 100.0), (6.0, 100.0), (8.0, 300.0)]),
            us(&[(0.0, 100.0), (18.0, 100.0)]),
        ];
        let profiles: Vec<&Profile> = profiles.iter().collect();
        let threshold = Pressure::from_psi(200.0);
        let found = TightLayers::of(&profiles, threshold, Depth::from_m(0.0)).unwrap();
        // Tops 2, 2, 7 and 18+: the middle two are 2 and 7.
        assert_eq!(inches(found.loose), (4.5, false));
        assert_eq!((found.loose.count, found.loose.not_reached), (4, 1));
        let layers = found.layers.unwrap();
        assert_eq!(inches(layers.top), (2.0, false));
        // Bottoms 10, 7 and 8+: 2/3 deeper below 7, then none of the one left at 10.
        assert_eq!(inches(layers.bottom), (10.0, false));
        // Thicknesses 8, 5 and 1+: the last leaves before the first step; 5 and 8 remain.
        assert_eq!(inches(layers.thickness), (6.5, false));
        assert_eq!(layers.bottom.not_reached, 1);
    }

    #[test]
    fn loose_ground_has_no_layer() {
        let profile = us(&[(1.0, 100.0), (18.0, 100.0)]);
        let found = TightLayers::of(&[&profile], Pressure::from_psi(200.0), Depth::from_m(0.0));
        let found = found.unwrap();
        assert_eq!(found.layers, None);
        assert_eq!(inches(found.loose), (18.0, true));
        assert_eq!(TightLayers::of(&[], found.threshold, Depth::from_m(0.0)), None);
    }
}
