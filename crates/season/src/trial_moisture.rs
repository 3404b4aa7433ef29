//! Whether the treated and the check ground were equally moist at both visits, and both visits.

use survey::units::signed;
use survey::{CheckedSurvey, Moisture};

use crate::moisture::MoistureMatch;

/// Moisture of a trial's probes, as far as they record it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialMoisture {
    /// The earlier against the later visit.
    pub visits: MoistureMatch,
    /// The check ground (as the earlier) against the treated (as the later): earlier, later visit.
    pub sides: [MoistureMatch; 2],
    /// Mean moistures, or their changes, that differ by no more count as equal, percentage points.
    pub within_pct: f64,
}

/// What the moistures of both grounds say of a difference of their changes. A difference at either visit
/// biases it, one at the earlier as much as one at the later, and so does unequal drying between them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum SidesMoisture {
    /// Alike at both visits, and changed alike.
    Matched,
    /// Apart at a visit, or changed unequally.
    Differs,
    /// Not known of a ground at a visit, and nothing known is apart.
    Unknown,
}

impl TrialMoisture {
    /// Whether visits and grounds match.
    pub fn is_matched(&self) -> bool {
        self.visits.is_matched() && self.of_sides() == SidesMoisture::Matched
    }

    /// How both grounds compare over both visits.
    pub(crate) fn of_sides(&self) -> SidesMoisture {
        let differs = |sides: &MoistureMatch| matches!(sides, MoistureMatch::Differs { .. });
        let is_unequal = self.drying_apart_pct().is_some_and(|pct| pct.abs() > self.within_pct);
        match () {
            () if self.sides.iter().any(differs) || is_unequal => SidesMoisture::Differs,
            () if self.sides.iter().all(MoistureMatch::is_matched) => SidesMoisture::Matched,
            () => SidesMoisture::Unknown,
        }
    }

    /// The same as a name for files: `matched`, `differs`, `unknown`.
    pub fn sides_name(&self) -> &'static str {
        match self.of_sides() {
            SidesMoisture::Matched => "matched",
            SidesMoisture::Differs => "differs",
            SidesMoisture::Unknown => "unknown",
        }
    }

    /// Later minus earlier of the check and of the treated ground, percentage points; `None` where a moisture
    /// is not known.
    pub fn changes_pct(&self) -> Option<[f64; 2]> {
        let [earlier, later] = self.sides.map(|sides| sides.moistures());
        let change = |side: usize| Some(later[side]?.mean_pct - earlier[side]?.mean_pct);
        Some([change(0)?, change(1)?])
    }

    /// The change of the treated ground less that of the check ground.
    fn drying_apart_pct(&self) -> Option<f64> {
        self.changes_pct().map(|[check, treated]| treated - check)
    }

    /// What stands above the result where moisture does not match; nothing where it does.
    pub fn stamps(&self) -> Vec<String> {
        let visits = (!self.visits.is_matched()).then(|| self.visits.sentence());
        visits.into_iter().chain(self.sides_stamp()).collect()
    }

    /// What is known of moisture, whether it matches or not.
    pub fn texts(&self) -> Vec<String> {
        let both = |[first, second]: [Option<Moisture>; 2], words: [&str; 2]| {
            let (first, second) = (first?, second?);
            Some(format!(
                "Moisture {} {:.1} %, {} {:.1} %.",
                words[0], first.mean_pct, words[1], second.mean_pct
            ))
        };
        let [earlier, later] = self.sides.map(|sides| sides.moistures());
        let visits = both(self.visits.moistures(), ["before", "after"]);
        let earlier = both(earlier, ["before: check", "treated"]);
        let later = both(later, ["after: check", "treated"]);
        [visits, earlier, later].into_iter().flatten().collect()
    }

    fn sides_stamp(&self) -> Option<String> {
        let what = match self.of_sides() {
            SidesMoisture::Matched => return None,
            SidesMoisture::Differs => self.apart(),
            SidesMoisture::Unknown => self.missing(),
        };
        Some(format!(
            "The difference is not evidence of a treatment effect: {what}, and moisture moves these readings \
             more than density does."
        ))
    }

    /// Where the grounds were apart, or that they changed unequally.
    fn apart(&self) -> String {
        let at = ["earlier", "later"].into_iter().zip(self.sides).filter_map(|(visit, sides)| {
            let MoistureMatch::Differs { earlier: check, later: treated, within_pct } = sides else {
                return None;
            };
            Some(format!(
                "at the {visit} visit the treated ground was {} ({:.1} % against {:.1} % in the check ground, \
                 more than {within_pct} percentage points apart)",
                if treated.mean_pct < check.mean_pct { "drier" } else { "moister" },
                treated.mean_pct,
                check.mean_pct,
            ))
        });
        let apart: Vec<String> = at.collect();
        match (apart.is_empty(), self.changes_pct()) {
            (true, Some([check, treated])) => format!(
                "the moisture of the treated ground changed by {} and that of the check ground by {} percentage \
                 points, more than {} apart",
                signed(treated, 1),
                signed(check, 1),
                self.within_pct
            ),
            _ => apart.join(" and "),
        }
    }

    /// Which ground's moisture is missing at which visit.
    fn missing(&self) -> String {
        let at = ["earlier", "later"].into_iter().zip(self.sides).filter_map(|(visit, sides)| {
            let [check, treated] = sides.moistures();
            let ground = match (treated, check) {
                (None, None) => "treated and the check",
                (None, Some(_)) => "treated",
                (Some(_), None) => "check",
                (Some(_), Some(_)) => return None,
            };
            Some(format!("of the {ground} ground is missing at the {visit} visit"))
        });
        format!("soil moisture {}", at.collect::<Vec<_>>().join(" and "))
    }
}

/// Moisture of some records of a survey; `None` where none records it.
pub(crate) fn moisture_of(survey: &CheckedSurvey, numbers: &[usize]) -> Option<Moisture> {
    let mut sorted = numbers.to_vec();
    sorted.sort_unstable();
    let kept = survey.kept().iter();
    let pct: Vec<f64> = kept
        .filter(|insertion| sorted.binary_search(&insertion.number).is_ok())
        .filter_map(|insertion| insertion.moisture_pct)
        .collect();
    (!pct.is_empty()).then(|| Moisture {
        mean_pct: pct.iter().sum::<f64>() / pct.len() as f64,
        min_pct: pct.iter().copied().fold(f64::INFINITY, f64::min),
        max_pct: pct.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        insertions: pct.len(),
    })
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    fn moisture(mean_pct: f64) -> Option<Moisture> {
        Some(Moisture { mean_pct, min_pct: mean_pct, max_pct: mean_pct, insertions: 9 })
    }

    /// Check and treated ground at the earlier and at the later visit; NaN is not known.
    pub(crate) fn moist(earlier: [f64; 2], later: [f64; 2]) -> TrialMoisture {
        let known = |pct: f64| moisture(pct).filter(|_| !pct.is_nan());
        let sides =
            |[check, treated]: [f64; 2]| MoistureMatch::of(known(check), known(treated), 3.0);
        let visits = MoistureMatch::of(moisture(20.0), moisture(20.0), 3.0);
        TrialMoisture { visits, sides: [sides(earlier), sides(later)], within_pct: 3.0 }
    }

    #[test]
    fn grounds_that_differ_at_either_visit_do_not_match() {
        let of = |earlier, later| moist(earlier, later).of_sides();
        assert_eq!(of([20.0, 23.0], [20.0, 23.0]), SidesMoisture::Matched);
        assert_eq!(of([20.0, 20.0], [20.0, 23.1]), SidesMoisture::Differs);
        // The check ground dried by 11 points and the treated by 5, and both are at 20 % in the end.
        let dried = moist([31.0, 25.0], [20.0, 20.0]);
        assert_eq!(dried.of_sides(), SidesMoisture::Differs);
        let stamps = dried.stamps();
        let expected = "at the earlier visit the treated ground was drier (25.0 % against 31.0 %";
        assert!(stamps.len() == 1 && stamps[0].contains(expected), "{stamps:?}");
        // One difference known is enough, whatever is not known.
        assert_eq!(of([f64::NAN, 25.0], [20.0, 25.0]), SidesMoisture::Differs);
    }

    /// Alike to 3 points at both visits, and 5 points apart in what they lost: −12.5 against −7.5.
    #[test]
    fn grounds_that_dried_unequally_do_not_match() {
        let dried = moist([32.5, 30.0], [20.0, 22.5]);
        assert!(dried.sides.iter().all(MoistureMatch::is_matched));
        assert_eq!(dried.changes_pct(), Some([-12.5, -7.5]));
        assert_eq!(dried.of_sides(), SidesMoisture::Differs);
        let expected = "treated ground changed by −7.5 and that of the check ground by −12.5 percentage points";
        assert!(dried.stamps()[0].contains(expected), "{:?}", dried.stamps());
    }

    #[test]
    fn missing_moisture_is_named_with_its_visit() {
        let missing = moist([20.0, f64::NAN], [20.0, 20.0]);
        assert_eq!(missing.of_sides(), SidesMoisture::Unknown);
        let expected = "soil moisture of the treated ground is missing at the earlier visit, and";
        assert!(missing.stamps()[0].contains(expected), "{:?}", missing.stamps());
        assert_eq!(missing.texts().len(), 2);
    }
}
