//! Many profiles by depth: median and quartiles of the cone index at each of some depths.
//!
//! A profile that ends above a depth says nothing there, so the count falls with depth. Rods stop
//! where the ground is hard: what goes on deeper is the softer part, and the median below the first
//! stop is too low. Whoever shows the median shows the count beside it.

use crate::profile::Profile;
use crate::quartile::quartile;
use crate::units::{Depth, Pressure};

/// Cone index of some profiles at one depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthSummary {
    /// The depth.
    pub depth: Depth,
    /// How many profiles have readings at or on both sides of it; at least one.
    pub count: usize,
    /// A quarter of them are at or below this.
    pub lower_quartile: Pressure,
    /// The middle value, the mean of the two middle ones for an even count.
    pub median: Pressure,
    /// Three quarters of them are at or below this.
    pub upper_quartile: Pressure,
}

/// Summaries at each of some depths, linear between the readings of a profile; a depth that no
/// profile has is left out. Quartiles by definition 2 of Hyndman & Fan (1996, The American
/// Statistician 50:361–365), the same as for depths.
pub fn summary_by_depth(profiles: &[&Profile], depths: &[Depth]) -> Vec<DepthSummary> {
    let summary = |&depth: &Depth| {
        let mut pa: Vec<f64> = profiles
            .iter()
            .filter_map(|profile| profile.pressure_at(depth))
            .map(Pressure::pa)
            .collect();
        pa.sort_by(f64::total_cmp);
        (!pa.is_empty()).then(|| DepthSummary {
            depth,
            count: pa.len(),
            lower_quartile: Pressure::from_pa(quartile(&pa, 1)),
            median: Pressure::from_pa(quartile(&pa, 2)),
            upper_quartile: Pressure::from_pa(quartile(&pa, 3)),
        })
    };
    depths.iter().filter_map(summary).collect()
}

/// The surface and every whole step below it, down to the deepest reading of the profiles.
///
/// # Panics
/// When the step is not greater than zero.
pub fn depth_marks(profiles: &[&Profile], step: Depth) -> Vec<Depth> {
    assert!(step.m() > 0.0, "marks need a step");
    let deepest_m = profiles.iter().map(|profile| profile.probed_to().m()).fold(0.0, f64::max);
    let marks = (deepest_m / step.m() + 1e-9).floor() as usize;
    (0..=marks).map(|k| Depth::from_m(k as f64 * step.m())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::tests::us;

    #[test]
    fn count_falls_where_profiles_end() {
        let profiles = [
            us(&[(1.0, 100.0), (3.0, 300.0)]),
            us(&[(1.0, 120.0), (2.0, 140.0)]),
            us(&[(1.0, 160.0), (3.0, 160.0)]),
        ];
        let profiles: Vec<&Profile> = profiles.iter().collect();
        let marks = depth_marks(&profiles, Depth::from_in(1.0));
        assert_eq!(marks.len(), 4);
        let found: Vec<(f64, usize, f64)> = summary_by_depth(&profiles, &marks)
            .iter()
            .map(|s| (s.depth.inches().round(), s.count, s.median.psi().round()))
            .collect();
        // At 2 in the first profile is 200 psi, half way; at 3 in the second has ended.
        assert_eq!(found, [(1.0, 3, 120.0), (2.0, 3, 160.0), (3.0, 2, 230.0)]);
    }
}
