//! Whether the treated and the check ground were equally moist, and both visits.

use survey::{CheckedSurvey, Moisture};

use crate::moisture::MoistureMatch;

/// Moisture of a trial's probes, as far as they record it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialMoisture {
    /// The earlier against the later visit.
    pub visits: MoistureMatch,
    /// At the later visit the check ground (as the earlier) against the treated (as the later).
    pub sides: MoistureMatch,
}

impl TrialMoisture {
    /// Whether both match.
    pub fn is_matched(&self) -> bool {
        self.visits.is_matched() && self.sides.is_matched()
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
        let visits = both(self.visits.moistures(), ["before", "after"]);
        let sides = both(self.sides.moistures(), ["after: check", "treated"]);
        visits.into_iter().chain(sides).collect()
    }

    fn sides_stamp(&self) -> Option<String> {
        match self.sides {
            MoistureMatch::Matched { .. } => None,
            MoistureMatch::Differs { earlier: check, later: treated, within_pct } => Some(format!(
                "The difference is not evidence of a treatment effect: at the later visit the treated \
                 ground was {} ({:.1} % against {:.1} % in the check ground, more than {within_pct} \
                 percentage points apart), and moisture moves these readings more than density does.",
                if treated.mean_pct < check.mean_pct { "drier" } else { "moister" },
                treated.mean_pct,
                check.mean_pct,
            )),
            MoistureMatch::Unknown { earlier: check, later: treated } => Some(format!(
                "The difference is not evidence of a treatment effect: soil moisture of the {} ground is \
                 missing at the later visit, and moisture moves these readings more than density does.",
                match (treated, check) {
                    (None, None) => "treated and the check",
                    (None, Some(_)) => "treated",
                    _ => "check",
                }
            )),
        }
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
