//! Whether two visits found the soil equally moist.
//!
//! Moisture moves cone index several times more than density does (Heege, Precision in Crop Farming,
//! citing Sun et al. 2003), so a loose layer that is thinner in drier soil is no evidence of compaction.

use survey::Moisture;

/// Mean moistures that differ by no more count as equal, percentage points: common practice, no published
/// limit is known to us.
pub const USUAL_MOISTURE_WITHIN_PCT: f64 = 3.0;

/// What the moistures of two visits, or of two groups of probes, say about a change between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MoistureMatch {
    /// Both are known, and their means differ by no more than the setting.
    Matched {
        /// Of the earlier visit.
        earlier: Moisture,
        /// Of the later visit.
        later: Moisture,
    },
    /// Both are known, and their means differ by more.
    Differs {
        /// Of the earlier visit.
        earlier: Moisture,
        /// Of the later visit.
        later: Moisture,
        /// The most that would count as equal, percentage points.
        within_pct: f64,
    },
    /// At least one is not known.
    Unknown {
        /// Of the earlier visit.
        earlier: Option<Moisture>,
        /// Of the later visit.
        later: Option<Moisture>,
    },
}

impl MoistureMatch {
    /// Compares two moistures; means that differ by `within_pct` percentage points or less match.
    pub fn of(earlier: Option<Moisture>, later: Option<Moisture>, within_pct: f64) -> Self {
        let (Some(first), Some(second)) = (earlier, later) else {
            return MoistureMatch::Unknown { earlier, later };
        };
        match (second.mean_pct - first.mean_pct).abs() <= within_pct {
            true => MoistureMatch::Matched { earlier: first, later: second },
            false => MoistureMatch::Differs { earlier: first, later: second, within_pct },
        }
    }

    /// Whether a change between the two may be evidence of looser or tighter soil.
    pub fn is_matched(&self) -> bool {
        matches!(self, MoistureMatch::Matched { .. })
    }

    /// The moistures, where they are known.
    pub fn moistures(&self) -> [Option<Moisture>; 2] {
        match *self {
            MoistureMatch::Matched { earlier, later }
            | MoistureMatch::Differs { earlier, later, .. } => [Some(earlier), Some(later)],
            MoistureMatch::Unknown { earlier, later } => [earlier, later],
        }
    }

    /// One sentence for the first line of whatever tells the change: that the change is no evidence of
    /// compaction and why, or that the moistures match.
    pub fn sentence(&self) -> String {
        match *self {
            MoistureMatch::Matched { earlier, later } => format!(
                "Moisture matches: {:.1} % earlier, {:.1} % later.",
                earlier.mean_pct, later.mean_pct
            ),
            MoistureMatch::Differs { earlier, later, within_pct } => format!(
                "The change is not evidence of compaction or loosening: the soil was {} later \
                 ({:.1} % against {:.1} %, more than {within_pct} percentage points apart), and \
                 moisture moves these readings more than density does.",
                if later.mean_pct < earlier.mean_pct { "drier" } else { "moister" },
                later.mean_pct,
                earlier.mean_pct,
            ),
            MoistureMatch::Unknown { earlier, later } => format!(
                "The change is not evidence of compaction or loosening: soil moisture is missing {}, \
                 and moisture moves these readings more than density does.",
                match (earlier, later) {
                    (None, None) => "on both dates",
                    (None, Some(_)) => "on the earlier date",
                    _ => "on the later date",
                }
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moisture(mean_pct: f64) -> Option<Moisture> {
        Some(Moisture { mean_pct, min_pct: mean_pct, max_pct: mean_pct, insertions: 9 })
    }

    #[test]
    fn the_limit_itself_matches() {
        assert!(MoistureMatch::of(moisture(30.0), moisture(27.0), 3.0).is_matched());
        assert!(!MoistureMatch::of(moisture(30.0), moisture(26.9), 3.0).is_matched());
        assert!(!MoistureMatch::of(moisture(30.0), moisture(33.1), 3.0).is_matched());
    }

    #[test]
    fn a_drier_later_visit_is_named() {
        let drier = MoistureMatch::of(moisture(34.0), moisture(16.0), 3.0);
        assert!(drier.sentence().contains("drier later (16.0 % against 34.0 %"));
        let moister = MoistureMatch::of(moisture(16.0), moisture(34.0), 3.0);
        assert!(moister.sentence().contains("moister later"));
    }

    #[test]
    fn what_is_missing_is_named() {
        let on = |earlier, later| MoistureMatch::of(earlier, later, 3.0).sentence();
        assert!(on(None, None).contains("missing on both dates"));
        assert!(on(None, moisture(20.0)).contains("missing on the earlier date"));
        assert!(on(moisture(20.0), None).contains("missing on the later date"));
    }
}
