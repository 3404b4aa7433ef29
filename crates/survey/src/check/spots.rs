//! One reading per spot, from one or several insertions.

use std::collections::BTreeMap;

use super::{CheckSettings, Checking, Placed, name};
use crate::censored::combined;
use crate::checked::{NoReading, Reading, Spot};
use crate::finding::{Finding, Severity};
use crate::insertion::{Insertion, Outcome};
use crate::position::EastNorth;
use crate::spacing::spots;
use crate::units::{Pressure, tidy};

/// Up to so many spots with several insertions are named one by one.
const NAMED: usize = 12;

impl<'a> Checking<'a> {
    /// Spots with their readings, and the places without any.
    pub(super) fn spots(
        &mut self,
        placed: &[Placed<'a>],
        threshold: Pressure,
        settings: &CheckSettings,
    ) -> (Vec<Spot>, Vec<(EastNorth, NoReading)>) {
        let mut without_reading = Vec::new();
        let mut with_reading: Vec<(Placed, Reading)> = Vec::new();
        for &(insertion, position) in placed {
            let reading = match insertion.outcome(threshold, settings.sustained) {
                Outcome::Reached(depth) => Reading::Reached(depth),
                Outcome::NotReached { probed_to } => Reading::NotReached { probed_to },
                Outcome::Refused => {
                    without_reading.push((position, NoReading::Refused));
                    continue;
                }
                Outcome::Skipped => {
                    without_reading.push((position, NoReading::Skipped));
                    continue;
                }
            };
            with_reading.push(((insertion, position), reading));
        }
        let positions: Vec<EastNorth> = with_reading.iter().map(|((_, p), _)| *p).collect();
        let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (index, spot) in spots(&positions, settings.same_spot_m).into_iter().enumerate() {
            members.entry(spot).or_default().push(index);
        }
        let groups: Vec<Vec<(Placed, Reading)>> = members
            .into_values()
            .map(|group| group.into_iter().map(|index| with_reading[index]).collect())
            .collect();
        self.say_combined(&groups, settings.same_spot_m);
        (groups.iter().map(|group| spot(group)).collect(), without_reading)
    }

    /// Says which spots have several insertions: one by one where they are few.
    fn say_combined(&mut self, groups: &[Vec<(Placed, Reading)>], same_spot_m: f64) {
        let several: Vec<_> = groups.iter().filter(|group| group.len() > 1).collect();
        if several.len() > NAMED {
            let insertions: usize = several.iter().map(|group| group.len()).sum();
            self.findings.push(Finding::note(
                format!(
                    "{} spots have several insertions, {insertions} in all, within {} m",
                    several.len(),
                    tidy(same_spot_m, 2)
                ),
                "each spot is one reading, their median (Kaplan-Meier)",
            ));
            return;
        }
        for group in several {
            let first = group[0].0.0;
            let others: Vec<String> =
                group[1..].iter().map(|((i, _), _)| name(self.survey.kind, i)).collect();
            self.about(
                Severity::Note,
                first,
                format!("{} within {} m of it", others.join(", "), tidy(same_spot_m, 2)),
                format!("the {} insertions are one spot with their median", group.len()),
            );
        }
    }
}

fn spot(group: &[(Placed, Reading)]) -> Spot {
    let (first, position): (&Insertion, EastNorth) = group[0].0;
    let readings: Vec<Reading> = group.iter().map(|(_, reading)| *reading).collect();
    let combined = combined(&readings);
    Spot {
        id: first.id.clone().unwrap_or_else(|| first.number.to_string()),
        number: first.number,
        position,
        reading: combined.reading,
        combined,
    }
}
