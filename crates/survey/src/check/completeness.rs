//! What a survey does not say, or says too little of.

use std::collections::BTreeMap;

use super::{Checking, list};
use crate::boundary::Field;
use crate::checked::{Moisture, Spot};
use crate::finding::Finding;
use crate::insertion::Insertion;
use crate::units::{M2_PER_HA, tidy};

/// Insertions at a spot that keep a map's deviation under 10 % (subsample study in Acta Scientiarum
/// Agronomy).
const ENOUGH_INSERTIONS: usize = 4;

/// Fewer readings give a cross-validation that is itself unsure (common practice).
const FEW_SPOTS: usize = 20;

/// Fewer readings than one on so much ground leave much of it unseen, hectares (common practice).
const HECTARES_PER_SPOT: f64 = 1.0;

/// Two cones count as one up to this difference in diameter: 3 % is a worn cone that should be
/// replaced (USDA Forest Service T&D 0524-2837-MTDC, Kees 2005).
const SAME_CONE: f64 = 0.03;

impl Checking<'_> {
    /// Notes what is missing or mixed. Returns the soil moisture, where it is recorded.
    pub(super) fn completeness(
        &mut self,
        insertions: &[&Insertion],
        spots: &[Spot],
        spacing_m: f64,
        field: &Field,
    ) -> Option<Moisture> {
        let moisture = moisture(insertions);
        self.note_moisture(moisture, insertions.len());
        self.note_units(insertions);
        self.note_accuracy(insertions, spacing_m);
        self.note_instruments(insertions);
        self.note_numbers(spots, field);
        moisture
    }

    fn note_moisture(&mut self, moisture: Option<Moisture>, all: usize) {
        let silent = all - moisture.map_or(0, |moisture| moisture.insertions);
        if silent > 0 {
            self.findings.push(Finding::note(
                format!("{silent} of {all} records have no soil moisture"),
                "without it a change between visits says nothing about compaction",
            ));
        }
    }

    fn note_units(&mut self, insertions: &[&Insertion]) {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for unit in insertions.iter().filter_map(|insertion| insertion.depth_unit) {
            *counts.entry(unit.name()).or_default() += 1;
        }
        if counts.len() > 1 {
            self.findings.push(Finding::note(
                format!("depths in mixed units ({})", list(&counts)),
                "each was converted from its own unit",
            ));
        }
    }

    /// Positions less sure than half the way to the next probe.
    fn note_accuracy(&mut self, insertions: &[&Insertion], spacing_m: f64) {
        let unsure = |insertion: &&&Insertion| {
            insertion.accuracy_m.is_some_and(|accuracy_m| accuracy_m > spacing_m / 2.0)
        };
        let count = insertions.iter().filter(unsure).count();
        if count > 0 {
            self.findings.push(Finding::doubt(
                format!(
                    "{count} of {} positions are less accurate than half the spacing of the probes, {} m",
                    insertions.len(),
                    tidy(spacing_m / 2.0, 1)
                ),
                "used; they may stand in their neighbours' place",
            ));
        }
    }

    /// The two standard cones read differently, and so do two instruments: never mixed silently.
    fn note_instruments(&mut self, insertions: &[&Insertion]) {
        let mut cones_mm: Vec<(f64, usize)> = Vec::new();
        for diameter_mm in insertions.iter().filter_map(|i| i.cone).map(|cone| cone.cm() * 10.0) {
            let same = |known: f64| (known - diameter_mm).abs() <= SAME_CONE * known;
            match cones_mm.iter_mut().find(|(known, _)| same(*known)) {
                Some((_, count)) => *count += 1,
                None => cones_mm.push((diameter_mm, 1)),
            }
        }
        if cones_mm.len() > 1 {
            let parts: Vec<String> = cones_mm
                .iter()
                .map(|(diameter, count)| format!("{count} with {} mm", tidy(*diameter, 1)))
                .collect();
            self.findings.push(Finding::doubt(
                format!("several cones in one survey ({})", parts.join(", ")),
                "used together; cones of different size read differently",
            ));
        }
        let mut instruments: BTreeMap<&str, usize> = BTreeMap::new();
        for instrument in insertions.iter().filter_map(|i| i.instrument.as_deref()) {
            *instruments.entry(instrument).or_default() += 1;
        }
        if instruments.len() > 1 {
            self.findings.push(Finding::doubt(
                format!("several instruments in one survey ({})", list(&instruments)),
                "used together; two instruments may read differently",
            ));
        }
    }

    fn note_numbers(&mut self, spots: &[Spot], field: &Field) {
        let fewer = spots.iter().filter(|s| s.combined.count < ENOUGH_INSERTIONS).count();
        if fewer > 0 {
            self.findings.push(Finding::note(
                format!(
                    "{fewer} of {} spots have fewer than {ENOUGH_INSERTIONS} insertions",
                    spots.len()
                ),
                "a single push tells of a hand's breadth of ground",
            ));
        }
        let hectares = field.ground_area_m2() / M2_PER_HA;
        if spots.len() < FEW_SPOTS || hectares / spots.len() as f64 > HECTARES_PER_SPOT {
            self.findings.push(Finding::note(
                format!("{} readings on {} ha are few", spots.len(), tidy(hectares, 1)),
                "take the map as a first look, and its errors as unsure",
            ));
        }
    }
}

fn moisture(insertions: &[&Insertion]) -> Option<Moisture> {
    let values: Vec<f64> =
        insertions.iter().filter_map(|insertion| insertion.moisture_pct).collect();
    (!values.is_empty()).then(|| Moisture {
        mean_pct: values.iter().sum::<f64>() / values.len() as f64,
        min_pct: values.iter().copied().fold(f64::INFINITY, f64::min),
        max_pct: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        insertions: values.len(),
    })
}
