//! How much of a survey is tight, counted in the two ways that the trade uses: by measuring points
//! and by probes. They rate one field differently (28 % of the points and 72 % of the probes above
//! 300 psi in one set of real profiles), so whoever prints one says which.

use crate::profile::Profile;
use crate::units::Pressure;

/// How many measuring points, and how many probes with any such point, are at or above a pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharesAbove {
    /// The pressure.
    pub pressure: Pressure,
    /// Readings of all profiles together.
    pub points: usize,
    /// Readings at or above the pressure.
    pub points_above: usize,
    /// Profiles.
    pub probes: usize,
    /// Profiles with at least one reading at or above the pressure.
    pub probes_above: usize,
}

impl SharesAbove {
    /// Counts readings and profiles. A rod that stopped early has fewer points: stopping at hard
    /// ground lowers the share of points, not that of probes.
    pub fn of<'a>(profiles: impl IntoIterator<Item = &'a Profile>, pressure: Pressure) -> Self {
        let mut shares =
            SharesAbove { pressure, points: 0, points_above: 0, probes: 0, probes_above: 0 };
        for profile in profiles {
            let above = profile.count_at_or_above(pressure);
            shares.points += profile.readings().len();
            shares.points_above += above;
            shares.probes += 1;
            shares.probes_above += usize::from(above > 0);
        }
        shares
    }

    /// Share of measuring points, 0 to 1; `None` without any profile.
    pub fn of_points(&self) -> Option<f64> {
        share(self.points_above, self.points)
    }

    /// Share of probes, 0 to 1; `None` without any profile.
    pub fn of_probes(&self) -> Option<f64> {
        share(self.probes_above, self.probes)
    }
}

fn share(part: usize, whole: usize) -> Option<f64> {
    (whole > 0).then(|| part as f64 / whole as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::tests::us;

    #[test]
    fn points_and_probes_are_counted_apart() {
        let profiles = [
            us(&[(1.0, 100.0), (2.0, 300.0), (3.0, 200.0), (4.0, 100.0)]),
            us(&[(1.0, 310.0), (2.0, 400.0)]),
            us(&[(1.0, 100.0), (2.0, 299.0), (3.0, 100.0), (4.0, 100.0)]),
        ];
        let shares = SharesAbove::of(&profiles, Pressure::from_psi(300.0));
        assert_eq!((shares.points_above, shares.points), (3, 10));
        assert_eq!((shares.probes_above, shares.probes), (2, 3));
        assert!((shares.of_points().unwrap() - 0.3).abs() < 1e-12);
        assert!((shares.of_probes().unwrap() - 2.0 / 3.0).abs() < 1e-12);
    }

    #[test]
    fn nothing_has_no_share() {
        let shares = SharesAbove::of([], Pressure::from_psi(300.0));
        assert_eq!((shares.of_points(), shares.of_probes()), (None, None));
    }
}
