//! A cone-index profile: how hard the ground is at each depth.

use crate::units::{Depth, Pressure};

/// Depths closer than this are one depth: a nanometre, far above what the arithmetic of inches and
/// centimetres loses, far below any mark.
pub(crate) const SAME_DEPTH_M: f64 = 1e-9;

/// Cone index at several depths of one insertion: at least one reading, depths increasing, finite,
/// not negative.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile(Vec<ConeIndex>);

/// The gauge's reading at one depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ConeIndex {
    /// How deep the cone was.
    pub depth: Depth,
    /// Force on the cone divided by its base area (ASABE S313.3, clause 1.1).
    pub pressure: Pressure,
}

impl Profile {
    /// Takes readings in order of depth.
    ///
    /// # Errors
    /// When there is none, depths do not increase, or a number is negative or not finite. The text
    /// says which.
    pub fn new(readings: Vec<ConeIndex>) -> Result<Self, String> {
        let sound = |number: f64| number >= 0.0 && number.is_finite();
        if readings.is_empty() {
            return Err("the profile has no reading".into());
        }
        if let Some(bad) = readings.iter().find(|r| !sound(r.depth.m()) || !sound(r.pressure.pa()))
        {
            return Err(format!(
                "the profile has {} kPa at {} cm; neither may be negative",
                bad.pressure.kpa(),
                bad.depth.cm()
            ));
        }
        if let Some(pair) = readings.windows(2).find(|pair| pair[0].depth >= pair[1].depth) {
            return Err(format!(
                "the profile's depths do not increase at {} cm",
                pair[1].depth.cm()
            ));
        }
        Ok(Profile(readings))
    }

    /// The readings, by increasing depth.
    pub fn readings(&self) -> &[ConeIndex] {
        &self.0
    }

    /// The greatest depth with a reading.
    pub fn probed_to(&self) -> Depth {
        self.0[self.0.len() - 1].depth
    }

    /// The greatest reading; the shallowest of several as great.
    pub fn peak(&self) -> ConeIndex {
        let greater = |best: ConeIndex, next: &ConeIndex| match next.pressure > best.pressure {
            true => *next,
            false => best,
        };
        self.0[1..].iter().fold(self.0[0], greater)
    }

    /// The pressure at a depth, linear between readings. `None` above the first and below the last:
    /// nothing was read there.
    pub fn pressure_at(&self, depth: Depth) -> Option<Pressure> {
        let near = |reading: &&ConeIndex| (reading.depth.m() - depth.m()).abs() <= SAME_DEPTH_M;
        if let Some(reading) = self.0.iter().find(near) {
            return Some(reading.pressure);
        }
        self.0
            .windows(2)
            .find(|pair| pair[0].depth < depth && depth < pair[1].depth)
            .map(|pair| between(pair[0], pair[1], depth))
    }

    /// Mean pressure of a layer, weighted by length: the area under the straight lines between
    /// readings over the length read.
    ///
    /// A log that begins at its first mark (readings at 1, 2, 3 in) still covers a layer from the
    /// surface: where the ground without a reading at the layer's top is no thicker than the step
    /// between the first two readings, the mean is that of the part with readings. `None` where
    /// more is missing at the top, where anything is missing at the foot, or where the layer has no
    /// thickness.
    pub fn mean_between(&self, from: Depth, to: Depth) -> Option<Pressure> {
        let [first, second] = self.0.first_chunk::<2>()?;
        let step_m = second.depth.m() - first.depth.m();
        let missing_m = first.depth.m() - from.m();
        if missing_m > step_m + SAME_DEPTH_M || to.m() > self.probed_to().m() + SAME_DEPTH_M {
            return None;
        }
        let top = if first.depth > from { first.depth } else { from };
        let foot = if self.probed_to() < to { self.probed_to() } else { to };
        let length_m = foot.m() - top.m();
        if length_m <= SAME_DEPTH_M {
            return None;
        }
        let inner = self.0.iter().filter(|r| top < r.depth && r.depth < foot);
        let ends = [top, foot].map(|depth| {
            let pressure = self.pressure_at(depth);
            ConeIndex { depth, pressure: pressure.expect("both ends lie within the readings") }
        });
        let path: Vec<ConeIndex> =
            [ends[0]].into_iter().chain(inner.copied()).chain([ends[1]]).collect();
        let trapezium = |pair: &[ConeIndex]| {
            let width_m = pair[1].depth.m() - pair[0].depth.m();
            width_m * (pair[0].pressure.pa() + pair[1].pressure.pa()) / 2.0
        };
        let area: f64 = path.windows(2).map(trapezium).sum();
        Some(Pressure::from_pa(area / length_m))
    }

    /// How many readings are at or above a pressure.
    pub fn count_at_or_above(&self, pressure: Pressure) -> usize {
        self.0.iter().filter(|r| r.pressure >= pressure).count()
    }
}

/// The pressure at a depth on the straight line through two readings.
fn between(upper: ConeIndex, lower: ConeIndex, depth: Depth) -> Pressure {
    let part = (depth.m() - upper.depth.m()) / (lower.depth.m() - upper.depth.m());
    let (above, below) = (upper.pressure.pa(), lower.pressure.pa());
    Pressure::from_pa(above + part * (below - above))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::insertion::Outcome;

    /// A profile of inches and psi.
    pub(crate) fn us(readings: &[(f64, f64)]) -> Profile {
        let reading = |&(inches, psi): &(f64, f64)| ConeIndex {
            depth: Depth::from_in(inches),
            pressure: Pressure::from_psi(psi),
        };
        Profile::new(readings.iter().map(reading).collect()).unwrap()
    }

    fn mean_psi(profile: &Profile, from_in: f64, to_in: f64) -> Option<f64> {
        profile.mean_between(Depth::from_in(from_in), Depth::from_in(to_in)).map(Pressure::psi)
    }

    fn is_close(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-9
    }

    /// Marsden Farm, Iowa, 2018 (open data, MIT licence): the depths and kPa of one insertion.
    const MARSDEN: [(f64, f64); 11] = [
        (2.54, 861.845),
        (5.08, 930.793),
        (7.62, 448.159),
        (10.16, 620.528),
        (12.7, 689.476),
        (15.24, 758.424),
        (17.78, 792.897),
        (20.32, 792.897),
        (22.86, 758.424),
        (25.4, 620.528),
        (45.72, 758.424),
    ];

    #[test]
    fn published_profile_never_reaches_the_threshold() {
        let readings = MARSDEN.iter().map(|&(cm, kpa)| ConeIndex {
            depth: Depth::from_cm(cm),
            pressure: Pressure::from_kpa(kpa),
        });
        let profile = Profile::new(readings.collect()).unwrap();
        let outcome = profile.outcome(Pressure::from_psi(200.0), Depth::from_m(0.0));
        let Outcome::NotReached { probed_to } = outcome else {
            panic!("{outcome:?}");
        };
        assert!(is_close(probed_to.cm(), 45.72));
        assert!(is_close(profile.peak().pressure.kpa(), 930.793));
        assert!(is_close(profile.peak().depth.cm(), 5.08));
        // 930.793 kPa is 135 psi: two of eleven points are above 120 psi (827.371 kPa).
        assert_eq!(profile.count_at_or_above(Pressure::from_psi(120.0)), 2);
    }

    #[test]
    fn peak_is_the_shallowest_of_equals() {
        let profile = us(&[(1.0, 50.0), (2.0, 300.0), (3.0, 200.0), (4.0, 300.0)]);
        assert!(is_close(profile.peak().depth.inches(), 2.0));
    }

    #[test]
    fn pressure_is_linear_between_readings_and_unknown_outside() {
        let profile = us(&[(3.0, 100.0), (6.0, 250.0)]);
        let psi = |inches| profile.pressure_at(Depth::from_in(inches)).map(Pressure::psi);
        assert!(is_close(psi(4.0).unwrap(), 150.0));
        assert!(is_close(psi(6.0).unwrap(), 250.0));
        assert_eq!((psi(2.9), psi(6.1)), (None, None));
    }

    #[test]
    fn mean_is_weighted_by_length_not_by_readings() {
        let profile = us(&[(0.0, 100.0), (2.0, 100.0), (2.5, 200.0), (6.0, 200.0)]);
        let mean = mean_psi(&profile, 0.0, 6.0).unwrap();
        // (2 × 100 + 0.5 × 150 + 3.5 × 200) / 6; the plain mean of the readings is 150.
        assert!(is_close(mean, 162.5), "{mean}");
        // Within one straight piece: the middle of the piece.
        let profile = us(&[(0.0, 0.0), (10.0, 100.0)]);
        assert!(is_close(mean_psi(&profile, 2.0, 6.0).unwrap(), 40.0));
    }

    #[test]
    fn one_mark_may_be_missing_at_the_top_and_nothing_at_the_foot() {
        let profile = us(&[(1.0, 100.0), (2.0, 200.0), (3.0, 300.0)]);
        assert!(is_close(mean_psi(&profile, 0.0, 3.0).unwrap(), 200.0));
        assert_eq!(mean_psi(&profile, 0.0, 3.5), None);
        let late = us(&[(2.0, 200.0), (3.0, 300.0)]);
        assert_eq!(mean_psi(&late, 0.0, 3.0), None);
        assert_eq!(mean_psi(&us(&[(2.0, 200.0)]), 0.0, 2.0), None);
        assert_eq!(mean_psi(&profile, 2.0, 2.0), None);
    }

    #[test]
    fn faulty_profiles_are_refused() {
        let reading =
            |m, pa| ConeIndex { depth: Depth::from_m(m), pressure: Pressure::from_pa(pa) };
        let error = |readings| Profile::new(readings).unwrap_err();
        assert!(error(vec![]).contains("no reading"));
        assert!(error(vec![reading(0.2, 1.0), reading(0.2, 1.0)]).contains("do not increase"));
        assert!(error(vec![reading(0.2, -1.0)]).contains("negative"));
        assert!(error(vec![reading(f64::NAN, 1.0)]).contains("NaN"));
    }
}
