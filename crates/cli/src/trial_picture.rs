//! The picture of a trial.

use report::{
    Estimate, Notice, PairedSpot, ReportError, TrialPage, TrialStrip, VisitFacts, trial_png,
};
use season::{Pairs, Treatment, Trial, TrialProbe, Visit};
use survey::UnitSystem;

use crate::change_picture::paired_spot;
use crate::trial_table;

/// What the picture is made from.
pub struct TrialPicture<'a> {
    /// The field's name.
    pub field_name: &'a str,
    /// The two visits, the earlier first.
    pub visits: [&'a Visit; 2],
    /// The spots they have in common.
    pub pairs: &'a Pairs,
    /// What was done, in a word.
    pub treatment: &'a str,
    /// The trial.
    pub trial: &'a Trial,
    /// Units of the page.
    pub units: UnitSystem,
}

/// The page as a PNG.
pub fn png(picture: &TrialPicture) -> Result<Vec<u8>, ReportError> {
    let TrialPicture { visits: [earlier, later], trial, units, .. } = *picture;
    let facts = [earlier, later].map(|visit| VisitFacts::of(&visit.name, &visit.survey));
    let changes: Vec<Vec<f64>> = (0..trial.strips.len()).map(|k| changes_cm(trial, k)).collect();
    let strips: Vec<TrialStrip> = trial
        .strips
        .iter()
        .zip(&changes)
        .map(|(strip, changes_cm)| TrialStrip {
            name: &strip.name,
            is_check: strip.treatment == Treatment::Check,
            polygons: &strip.polygons,
            mean_change_cm: strip.change_cm,
            changes_cm,
            probes: strip.probes,
        })
        .collect();
    let pairs: Vec<PairedSpot> = picture.pairs.pairs.iter().map(paired_spot).collect();
    let stamps = trial.stamps();
    let matched = trial.moisture.texts().join(" ");
    let is_warning = !stamps.is_empty();
    let moisture = stamps.first().unwrap_or(&matched);
    trial_png(&TrialPage {
        title: picture.field_name,
        field: later.survey.field(),
        units,
        visits: [&facts[0], &facts[1]],
        moisture: Notice { words: moisture, is_warning },
        treatment: picture.treatment,
        strips: &strips,
        pairs: &pairs,
        effect: trial.change.spread.map(|spread| Estimate {
            mean_cm: trial.change.difference,
            interval_cm: spread.interval,
            confidence: trial.settings.confidence,
            count: trial.change.strips.iter().sum(),
        }),
        matters_cm: Some(trial.settings.matters_cm),
        verdict: &trial.sentence(units),
        to_settle: &trial.settle(units),
        notes: &trial_table::page_notes(trial, units),
    })
}

/// The changes of a strip's probes.
fn changes_cm(trial: &Trial, strip: usize) -> Vec<f64> {
    let own = trial.probes.iter().filter(|probe| probe.strip == strip);
    own.map(TrialProbe::change_cm).collect()
}
