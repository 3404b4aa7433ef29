//! What backs a zone's depth and class.
//!
//! **Mean depth with its 95 % interval.** Where the zone's ground is kriged and the survey is not too large,
//! by block kriging over the zone's cells: mean ± 1.96 √variance of the mean of the block (Isaaks and
//! Srivastava 1989, chapter 13). Else from the zone's own probes, mean ± t s/√n with t of n − 1 degrees of
//! freedom (Cochran 1977, Sampling Techniques, chapter 2, from memory), which takes them for a random
//! sample of the zone. "Not reached" enters as its lower bound, so a mean with such probes is one.
//!
//! **Confidence in the class.** The probability that the mean lies within the class's limits, by the same
//! normal or t distribution. The zones were drawn from the same readings, so it is rather too high than
//! too low.
//!
//! Probes that all read alike do not tell how much they differ between the marks: they give no
//! interval, and no confidence.

use geostat::Kriged;
use survey::{
    CheckedSurvey, Combined, Depth, Measured, Pressure, Profile, SharesAbove, TightLayers,
};

use crate::classes::DepthClasses;
use crate::cut::CutField;
use crate::interpolator::FromAll;
use crate::stream::DepthSurface;
use crate::thinned_cells::thinned;
use crate::zone_members::ZoneMembers;
use crate::zones::Zone;
use statistics::student;

/// Zones with fewer probes than this cannot be judged by them (common practice), and are marked wherever
/// they appear.
pub const FEW_PROBES: usize = 5;

/// About where roots stop (Penn State and Cornell extension publications on penetrometer use).
pub const STOPS_ROOTS_PSI: f64 = 300.0;

/// In a survey of more spots means are not kriged: solving for all of them at once would take longer
/// than the map.
pub const MOST_SPOTS_OF_ZONE_KRIGING: usize = 2_000;

/// Points that stand for a zone.
const MOST_POINTS: usize = 2_000;

/// 0.975 of the normal distribution lies below so many standard deviations above its mean.
const NORMAL_975: f64 = 1.959_963_984_540_054;

/// What backs a zone's depth and class.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ZoneEvidence {
    /// Mean of the zone's own probes, "not reached" as its lower bound; `None` without any.
    pub probe_mean: Option<Depth>,
    /// The mean depth with its interval; `None` with fewer than two probes that differ, unless it is kriged.
    pub mean: Option<MeanEstimate>,
    /// Probability that the mean lies in the zone's class, 0 to 1, where there is a mean.
    pub class_confidence: Option<f64>,
    /// What the profiles in the zone show; `None` without any.
    pub profiles: Option<ProfileEvidence>,
}

/// A mean depth with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanEstimate {
    /// The mean.
    pub mean: Depth,
    /// Lower end of the interval, not above ground.
    pub low: Depth,
    /// Upper end of the interval.
    pub high: Depth,
    /// Where it comes from.
    pub by: EstimatedBy,
    /// Whether a probe of the zone did not reach the threshold: the mean, and its interval, are then lower
    /// bounds.
    pub is_lower_bound: bool,
}

/// Where a mean comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EstimatedBy {
    /// Kriging of the zone as one block, from all spots of its stratum.
    BlockKriging,
    /// The zone's own probes.
    Probes,
}

impl EstimatedBy {
    /// `block kriging` or `probes`.
    pub fn name(self) -> &'static str {
        match self {
            EstimatedBy::BlockKriging => "block kriging",
            EstimatedBy::Probes => "probes",
        }
    }
}

/// What the profiles of some ground show.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfileEvidence {
    /// Measuring points and probes at or above [`STOPS_ROOTS_PSI`].
    pub above_300_psi: SharesAbove,
    /// Bottom of the tight layer at the survey's threshold, over the profiles that have one; `None` where
    /// none has. Still tight at the deepest reading counts as not reached.
    pub bottom: Option<Combined>,
}

/// What the evidence comes from.
pub(crate) struct Basis<'a> {
    pub survey: &'a CheckedSurvey,
    pub surface: &'a DepthSurface,
    pub classes: &'a DepthClasses,
    pub members: &'a ZoneMembers<'a>,
}

/// Counts the probes of each zone, and adds what backs it.
pub(crate) fn add(zones: &mut [Zone], basis: &Basis) {
    let depths_cm = count_probes(zones, basis);
    let profiles = profiles_of_zones(zones, basis);
    let kriging = Kriging::of_strata(basis);
    let cells = match kriging.0.iter().any(Option::is_some) {
        true => cells_of_zones(zones.len(), basis),
        false => vec![Vec::new(); zones.len()],
    };
    for (k, zone) in zones.iter_mut().enumerate() {
        let found =
            kriging.block(zone, &cells[k], basis).or_else(|| Found::of_probes(&depths_cm[k]));
        zone.evidence = ZoneEvidence {
            probe_mean: mean_cm(&depths_cm[k]).map(Depth::from_cm),
            mean: found.as_ref().map(|found| found.estimate(zone.not_reached > 0)),
            class_confidence: found.map(|found| found.confidence(zone.class, basis.classes)),
            profiles: of_profiles(&profiles[k], basis.survey),
        };
    }
}

/// Counts the probes of each zone; returns their depths, "not reached" as the depth probed.
fn count_probes(zones: &mut [Zone], basis: &Basis) -> Vec<Vec<f64>> {
    let mut depths_cm = vec![Vec::new(); zones.len()];
    for spot in basis.survey.spots() {
        if let Some(k) = zone_of(spot.position, zones, basis) {
            zones[k].probes += 1;
            zones[k].not_reached += usize::from(spot.reading.is_not_reached());
            depths_cm[k].push(spot.reading.at_least().cm());
        }
    }
    depths_cm
}

fn zone_of(place: survey::EastNorth, zones: &[Zone], basis: &Basis) -> Option<usize> {
    basis.members.of_place(place, zones, basis.surface.strata())
}

fn profiles_of_zones<'a>(zones: &[Zone], basis: &Basis<'a>) -> Vec<Vec<&'a Profile>> {
    let mut profiles = vec![Vec::new(); zones.len()];
    let utm = basis.survey.field().utm();
    for insertion in basis.survey.kept() {
        let Measured::Profile(profile) = &insertion.measured else { continue };
        let place = utm.project(insertion.place).expect("kept insertions were projected before");
        if let Some(k) = zone_of(place, zones, basis) {
            profiles[k].push(profile);
        }
    }
    profiles
}

fn of_profiles(profiles: &[&Profile], survey: &CheckedSurvey) -> Option<ProfileEvidence> {
    let tight = TightLayers::of(profiles, survey.threshold().pressure(), survey.sustained())?;
    let stops_roots = Pressure::from_psi(STOPS_ROOTS_PSI);
    Some(ProfileEvidence {
        above_300_psi: SharesAbove::of(profiles.iter().copied(), stops_roots),
        bottom: tight.layers.map(|layers| layers.bottom),
    })
}

fn cells_of_zones(zones: usize, basis: &Basis) -> Vec<Vec<usize>> {
    let mut cells = vec![Vec::new(); zones];
    for cell in 0..basis.surface.grid().cells() {
        if let Some(zone) = basis.members.of_map_cell(cell) {
            cells[zone].push(cell);
        }
    }
    cells
}

/// Kriging from all spots of the main ground and of each stratum, where they are kriged and not too many.
struct Kriging<'a>(Vec<Option<FromAll<'a>>>);

impl<'a> Kriging<'a> {
    fn of_strata(basis: &Basis<'a>) -> Self {
        let strata = basis.surface.strata().names().len() as u8;
        let of_stratum = |stratum| {
            let layer = basis.surface.layer(stratum)?;
            layer.interpolator.global(MOST_SPOTS_OF_ZONE_KRIGING)
        };
        Kriging((0..=strata).map(of_stratum).collect())
    }

    /// The mean of a zone as one block.
    fn block(&self, zone: &Zone, cells: &[usize], basis: &Basis) -> Option<Found> {
        let names = basis.surface.strata().names();
        let stratum = match &zone.stratum {
            None => 0,
            Some(name) => names.iter().position(|known| known == name)? + 1,
        };
        let kriging = self.0[stratum].as_ref()?;
        let (grid, cut): (_, &CutField) = (basis.surface.grid(), basis.surface.cut());
        let columns = grid.columns();
        let (_, points) = thinned(cells, columns, MOST_POINTS);
        let place =
            |&cell: &usize| [grid.easting_m(cell % columns), grid.northing_m(cell / columns)];
        let places: Vec<[f64; 2]> = points.iter().map(place).collect();
        let weights: Vec<f64> = points.iter().map(|&cell| cut.share(cell)).collect();
        let Kriged { value, variance } = kriging.block(&places, Some(&weights)).ok()?;
        (value.is_finite() && variance > 0.0).then(|| Found {
            mean_cm: value,
            standard_error_cm: variance.sqrt(),
            degrees_of_freedom: None,
        })
    }
}

fn mean_cm(depths_cm: &[f64]) -> Option<f64> {
    let sum: f64 = depths_cm.iter().sum();
    (!depths_cm.is_empty()).then(|| sum / depths_cm.len() as f64)
}

/// A mean with its standard error, before it is told.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Found {
    mean_cm: f64,
    standard_error_cm: f64,
    /// Of the t distribution; `None` is the normal one.
    degrees_of_freedom: Option<f64>,
}

impl Found {
    /// The mean of probes and its standard error s/√n; `None` where they do not tell how they differ.
    fn of_probes(depths_cm: &[f64]) -> Option<Found> {
        let count = depths_cm.len() as f64;
        let mean_cm = mean_cm(depths_cm)?;
        let squares: f64 = depths_cm.iter().map(|cm| (cm - mean_cm) * (cm - mean_cm)).sum();
        let are_alike = depths_cm.windows(2).all(|pair| pair[0] == pair[1]);
        (depths_cm.len() > 1 && !are_alike).then(|| Found {
            mean_cm,
            standard_error_cm: (squares / (count - 1.0) / count).sqrt(),
            degrees_of_freedom: Some(count - 1.0),
        })
    }

    fn estimate(&self, is_lower_bound: bool) -> MeanEstimate {
        let times = self.degrees_of_freedom.map_or(NORMAL_975, |df| student::quantile(0.975, df));
        let half_cm = times * self.standard_error_cm;
        let above_ground = |cm: f64| Depth::from_cm(cm.max(0.0));
        MeanEstimate {
            mean: above_ground(self.mean_cm),
            low: above_ground(self.mean_cm - half_cm),
            high: above_ground(self.mean_cm + half_cm),
            by: match self.degrees_of_freedom {
                None => EstimatedBy::BlockKriging,
                Some(_) => EstimatedBy::Probes,
            },
            is_lower_bound,
        }
    }

    /// Probability that the mean lies in a class. What the distribution has above the surface counts for the
    /// first class, and the last has no end.
    fn confidence(&self, class: usize, classes: &DepthClasses) -> f64 {
        let below = |depth: Depth| {
            let off = (depth.cm() - self.mean_cm) / self.standard_error_cm;
            match self.degrees_of_freedom {
                Some(df) => student::probability_below(off, df),
                None => geostat::probability_below(Kriged { value: 0.0, variance: 1.0 }, off),
            }
        };
        let to = classes.below(class).map_or(1.0, below);
        let from = if class == 0 { 0.0 } else { below(classes.from(class)) };
        (to - from).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::UnitSystem;

    /// Depths 10, 20, 30 cm: mean 20, s = 10, standard error 10/√3 = 5.7735, t(2) = 4.3027.
    #[test]
    fn mean_and_interval_of_probes_by_hand() {
        let found = Found::of_probes(&[10.0, 20.0, 30.0]).unwrap();
        let told = found.estimate(true);
        let cm = |depth: Depth| (depth.cm() * 1e4).round() / 1e4;
        assert_eq!(cm(told.mean), 20.0);
        // 20 ± 4.302653 × 5.773503.
        assert_eq!(cm(told.high), 44.8414);
        assert_eq!(cm(told.low), 0.0, "not above ground");
        assert_eq!((told.by, told.is_lower_bound), (EstimatedBy::Probes, true));
        let low = Found::of_probes(&[110.0, 120.0, 130.0]).unwrap().estimate(false).low;
        assert_eq!(cm(low), 95.1586);
    }

    /// Mean 20, limits 10, 20, 30: by symmetry a half lies below 20. With two degrees of freedom
    /// P(T ≤ t) = 1/2 + t/(2√(2 + t²)); t = 10/5.7735 = √3 gives 1/2 + √3/(2√5) = 0.887298.
    #[test]
    fn confidence_of_probes_by_hand() {
        let classes = DepthClasses::new(&[10.0, 20.0, 30.0], UnitSystem::Si).unwrap();
        let found = Found::of_probes(&[10.0, 20.0, 30.0]).unwrap();
        let confidences: Vec<f64> = (0..4).map(|class| found.confidence(class, &classes)).collect();
        for (confidence, expected) in confidences.iter().zip([0.112_702, 0.387_298, 0.387_298]) {
            assert!((confidence - expected).abs() < 1e-6, "{confidences:?}");
        }
        assert!((confidences.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    /// Mean 15 and standard error 5: 68.27 % lie within one of them, 15.87 % on each side.
    #[test]
    fn confidence_of_kriging_by_hand() {
        let classes = DepthClasses::new(&[10.0, 20.0], UnitSystem::Si).unwrap();
        let found = Found { mean_cm: 15.0, standard_error_cm: 5.0, degrees_of_freedom: None };
        for (class, expected) in [0.158_655, 0.682_689, 0.158_655].into_iter().enumerate() {
            assert!((found.confidence(class, &classes) - expected).abs() < 1e-6, "{class}");
        }
        let told = found.estimate(false);
        assert!((told.low.cm() - (15.0 - 9.799_82)).abs() < 1e-5);
        assert_eq!(told.by.name(), "block kriging");
    }

    #[test]
    fn one_probe_or_equal_ones_tell_no_spread() {
        assert_eq!(Found::of_probes(&[]), None);
        assert_eq!(Found::of_probes(&[15.24]), None);
        assert_eq!(Found::of_probes(&[15.24, 15.24, 15.24]), None);
        assert!(Found::of_probes(&[15.24, 15.25]).is_some());
    }
}
