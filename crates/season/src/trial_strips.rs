//! The probes of a trial and what each strip read.

use geo::MultiPolygon;
use survey::Reading;

use crate::pairs::Pair;
use crate::trial_contrast::{StripValue, Treatment, mean, squares};
use crate::trial_ground::Strip;

/// One probe of a strip at both visits.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialProbe {
    /// Its name.
    pub id: String,
    /// The strip's place in [`Trial::strips`](crate::Trial::strips).
    pub strip: usize,
    /// Where it was found at the later visit, metres east and north.
    pub place: [f64; 2],
    /// What was read earlier.
    pub earlier: Reading,
    /// What was read later.
    pub later: Reading,
}

impl TrialProbe {
    pub(crate) fn of(pair: &Pair, strip: usize) -> Self {
        TrialProbe {
            id: pair.id.clone(),
            strip,
            place: [pair.later_place.easting_m, pair.later_place.northing_m],
            earlier: pair.earlier,
            later: pair.later,
        }
    }

    /// Later minus earlier, "not reached" at the depth probed, centimetres.
    pub fn change_cm(&self) -> f64 {
        self.later.at_least().cm() - self.earlier.at_least().cm()
    }
}

/// What one strip read.
#[derive(Debug, Clone, PartialEq)]
pub struct TrialStrip {
    /// Its name.
    pub name: String,
    /// What was done to it.
    pub treatment: Treatment,
    /// The block it lies in, where strips lie in blocks.
    pub block: Option<String>,
    /// Its outline in the field's plane; empty where it has none of its own: a group of probes, the treated
    /// ground of a plan.
    pub polygons: MultiPolygon,
    /// Probes that both visits have.
    pub probes: usize,
    /// How many of them did not reach the threshold: earlier, later.
    pub not_reached: [usize; 2],
    /// Mean depth at the earlier visit, "not reached" at the depth probed, centimetres.
    pub earlier_cm: f64,
    /// The same at the later visit.
    pub later_cm: f64,
    /// Mean change, later minus earlier, centimetres.
    pub change_cm: f64,
    /// Standard deviation of the changes between its probes, centimetres; `None` of one probe.
    pub change_sd_cm: Option<f64>,
    /// So many independent probes would tell its mean change as well: fewer than its probes where near
    /// ones are alike; `None` where the probes are too few to tell how alike.
    pub effective_probes: Option<f64>,
}

/// What each strip with probes read, in the order of the strips; probes get their strip's new place.
pub(crate) fn strips_read(strips: &[Strip], probes: &mut [TrialProbe]) -> Vec<TrialStrip> {
    probes.sort_by_key(|probe| probe.strip);
    let mut read: Vec<TrialStrip> = Vec::new();
    for own in probes.chunk_by_mut(|a, b| a.strip == b.strip) {
        let strip = &strips[own[0].strip];
        own.iter_mut().for_each(|probe| probe.strip = read.len());
        read.push(strip_read(strip, own));
    }
    read
}

fn strip_read(strip: &Strip, probes: &[TrialProbe]) -> TrialStrip {
    let mean_of =
        |of: &dyn Fn(&TrialProbe) -> f64| mean(&probes.iter().map(of).collect::<Vec<_>>());
    let count = |of: fn(&TrialProbe) -> Reading| {
        probes.iter().filter(|probe| of(probe).is_not_reached()).count()
    };
    let changes: Vec<f64> = probes.iter().map(TrialProbe::change_cm).collect();
    let degrees = (changes.len() - 1) as f64;
    TrialStrip {
        name: strip.name.clone(),
        treatment: strip.treatment,
        block: strip.block.clone(),
        polygons: strip.polygons.clone(),
        probes: probes.len(),
        not_reached: [count(|probe| probe.earlier), count(|probe| probe.later)],
        earlier_cm: mean_of(&|probe| probe.earlier.at_least().cm()),
        later_cm: mean_of(&|probe| probe.later.at_least().cm()),
        change_cm: mean(&changes),
        change_sd_cm: (degrees > 0.0).then(|| (squares(&changes) / degrees).sqrt()),
        effective_probes: None,
    }
}

/// One value of each strip, to compare treated with check.
pub(crate) fn values(strips: &[TrialStrip], of: impl Fn(&TrialStrip) -> f64) -> Vec<StripValue> {
    let value = |strip: &TrialStrip| StripValue {
        treatment: strip.treatment,
        block: strip.block.clone(),
        value: of(strip),
    };
    strips.iter().map(value).collect()
}
