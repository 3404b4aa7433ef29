//! Readings of one threshold: depths read at different pressures are never mixed.

use super::{Checking, DEFAULT_THRESHOLD_PSI};
use crate::error::SurveyError;
use crate::finding::Finding;
use crate::insertion::{Insertion, Measured};
use crate::threshold::Threshold;
use crate::units::Pressure;

impl<'a> Checking<'a> {
    /// The readings of one threshold, and that threshold: the one asked for, or the only one the file
    /// names, or 200 psi. A profile can be read at any.
    pub(super) fn of_threshold(
        &mut self,
        insertions: Vec<&'a Insertion>,
        asked: Option<&Threshold>,
    ) -> Result<(Vec<&'a Insertion>, Threshold), SurveyError> {
        let is_single = |insertion: &&Insertion| matches!(insertion.measured, Measured::Once(_));
        let recorded = recorded(&insertions);
        let list = recorded
            .iter()
            .map(|(threshold, count)| format!("{count} at {}", Threshold::plain(*threshold)))
            .collect::<Vec<_>>()
            .join(", ");
        let singles = insertions.iter().copied().filter(|i| is_single(i)).count();
        let all_profiles = singles == 0;
        let threshold = match (asked, recorded.as_slice()) {
            (Some(asked), [_, ..])
                if all_single_elsewhere(&recorded, asked.pressure())
                    && singles == insertions.len() =>
            {
                return Err(SurveyError::NoSuchThreshold { asked: asked.to_string(), list });
            }
            (Some(asked), _) => asked.clone(),
            (None, [(only, _)]) => Threshold::plain(*only),
            (None, []) => Threshold::plain(Pressure::from_psi(DEFAULT_THRESHOLD_PSI)),
            (None, [..]) => return Err(SurveyError::MixedThresholds { list }),
        };
        let silent = insertions
            .iter()
            .filter(|insertion| is_single(insertion) && insertion.threshold.is_none())
            .count();
        if silent > 0 {
            self.findings.push(Finding::note(
                format!("{silent} of {} records do not say their threshold", insertions.len()),
                format!("taken as read at {threshold}"),
            ));
        }
        if all_profiles && asked.is_none() {
            self.findings.push(Finding::note(
                "profiles can be read at any threshold, and none was asked for",
                format!("read at {threshold}"),
            ));
        }
        let all = insertions.len();
        let is_other = |other: Pressure| !other.is_same_threshold(threshold.pressure());
        let mut kept = insertions;
        kept.retain(|insertion| {
            !is_single(insertion) || !insertion.threshold.is_some_and(is_other)
        });
        if kept.len() < all {
            self.findings.push(Finding::note(
                format!("{} of {all} records were read at other thresholds", all - kept.len()),
                "they are no part of this map",
            ));
        }
        Ok((kept, threshold))
    }
}

/// The thresholds that single depths were read at, increasing, with how many of each.
fn recorded(insertions: &[&Insertion]) -> Vec<(Pressure, usize)> {
    let mut recorded: Vec<(Pressure, usize)> = Vec::new();
    for threshold in insertions.iter().filter_map(|insertion| insertion.threshold) {
        match recorded.iter_mut().find(|(known, _)| known.is_same_threshold(threshold)) {
            Some((_, count)) => *count += 1,
            None => recorded.push((threshold, 1)),
        }
    }
    recorded.sort_by(|a, b| a.0.pa().total_cmp(&b.0.pa()));
    recorded
}

fn all_single_elsewhere(recorded: &[(Pressure, usize)], asked: Pressure) -> bool {
    recorded.iter().all(|(threshold, _)| !threshold.is_same_threshold(asked))
}
