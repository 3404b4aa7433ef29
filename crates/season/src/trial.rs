//! Whether a treatment worked: what changed in treated strips less what changed in check strips.
//!
//! The season itself changes the loose layer everywhere, mostly by drying, so the change of treated ground
//! alone says nothing; the difference of the differences does, if both grounds were equally moist. The strip
//! is the unit (`trial_contrast.rs`), the lot the best witness (`trial_randomisation.rs`), "not reached" a
//! bound (`trial_censoring.rs`), and what is said in the end stands in `trial_verdict.rs`.

use survey::CheckedSurvey;

use crate::error::SeasonError;
use crate::moisture::MoistureMatch;
use crate::pairs::{Pair, Pairs};
use crate::trial_censoring::{TrialCensoring, censoring};
use crate::trial_contrast::{Contrast, StripValue, Treatment, contrast};
use crate::trial_ground::{Assigned, Strip, TrialGround, assign, numbers};
use crate::trial_moisture::{TrialMoisture, moisture_of};
use crate::trial_power::strips_needed;
use crate::trial_randomisation::{Randomisation, randomisation_test};
use crate::trial_spatial::{TrialSpatial, give_effective_probes, spatial};
use crate::trial_strips::{TrialProbe, TrialStrip, strips_read, values};
use crate::trial_verdict::{Doubt, Verdict, of_interval, verdict};

/// How a trial is judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrialSettings {
    /// Confidence of the intervals, at least 0.5 and less than 1.
    pub confidence: f64,
    /// The smallest difference that matters in practice, centimetres, above 0.
    pub matters_cm: f64,
    /// Whether the strips to treat were drawn by lot.
    pub is_randomised: bool,
    /// Seed of the ways drawn where the lot could have fallen in too many, and of the orders that Moran's I is
    /// told against.
    pub seed: u64,
    /// Mean moistures that differ by no more count as equal, percentage points.
    pub moisture_within_pct: f64,
}

/// What a trial shows. A change is later minus earlier, a difference treated less check: above 0 the treated
/// ground gained depth of loose layer against the check ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// How it is judged.
    pub settings: TrialSettings,
    /// The strips that have probes, treated and check.
    pub strips: Vec<TrialStrip>,
    /// Their probes, strip by strip.
    pub probes: Vec<TrialProbe>,
    /// Probes of both visits that stand in no strip.
    pub outside: usize,
    /// The difference of the changes, centimetres.
    pub change: Contrast,
    /// The difference of the depths before, centimetres.
    pub before: Contrast,
    /// The test on the draw, where there was one of strips; none of a plan, whose treated ground is no strip
    /// that the lot could have swapped with a check strip.
    pub randomisation: Option<Randomisation>,
    /// What "not reached" can do.
    pub censoring: TrialCensoring,
    /// What the places of the probes say.
    pub spatial: TrialSpatial,
    /// Moisture of both visits and of both grounds.
    pub moisture: TrialMoisture,
    /// Strips a side (with blocks: blocks of two) that show what matters with 80 % power at the spread seen;
    /// `None` where no spread is seen, or it takes more than 1000.
    pub strips_needed: Option<usize>,
    /// What is said in the end.
    pub verdict: Verdict,
    /// Why nothing can be said, where that is so.
    pub doubt: Option<Doubt>,
    /// What is odd about probes and strips.
    pub notes: Vec<String>,
}

/// Judges a trial by the spots that two visits of one field have in common.
///
/// # Errors
/// When a setting is out of bounds, both visits are the same readings, an area lies elsewhere or a probe in
/// two, or one of the two sides has no strip with a probe.
pub fn trial(
    [earlier, later]: [&CheckedSurvey; 2],
    pairs: &Pairs,
    ground: &TrialGround,
    settings: &TrialSettings,
) -> Result<Trial, SeasonError> {
    check(settings)?;
    refuse_same_visit(earlier, later)?;
    let surveys = [earlier, later];
    let Read { own, treatments, probes, mut strips, notes } = read(surveys, &pairs.pairs, ground)?;
    let spatial = spatial(&probes, &strips, settings.confidence, settings.seed);
    if let Some(model) = &spatial.variogram {
        give_effective_probes(&probes, &mut strips, model);
    }
    let changes = values(&strips, |strip| strip.change_cm);
    let change = contrasted(&changes, settings)?;
    let before = contrasted(&values(&strips, |strip| strip.earlier_cm), settings)?;
    let moisture = moisture(surveys, &own, &treatments, settings);
    let said = |found: &Contrast| of_interval(found, settings.matters_cm);
    let censoring = censoring(&strips, &change, settings.confidence, settings.matters_cm, said);
    // Treated ground of a plan is what lies nearest to a check strip: no lot could have swapped the two.
    let is_drawn = settings.is_randomised && !matches!(ground, TrialGround::Plan(_));
    let randomisation = is_drawn.then(|| randomisation_test(&changes, settings.seed)).flatten();
    let (verdict, doubt) =
        verdict(&change, settings, &moisture, &censoring, randomisation.as_ref());
    Ok(Trial {
        settings: *settings,
        outside: pairs.pairs.len() - probes.len(),
        randomisation,
        strips_needed: needed(&change, settings),
        strips,
        probes,
        change,
        before,
        censoring,
        spatial,
        moisture,
        verdict,
        doubt,
        notes,
    })
}

/// Strips that have probes, and their probes.
struct Read<'a> {
    /// Pairs in strips, each with its strip among the treatments.
    own: Vec<(&'a Pair, usize)>,
    treatments: Vec<Treatment>,
    probes: Vec<TrialProbe>,
    strips: Vec<TrialStrip>,
    notes: Vec<String>,
}

/// Gives pairs their strips and strips their means.
fn read<'a>(
    surveys: [&CheckedSurvey; 2],
    pairs: &'a [Pair],
    ground: &TrialGround,
) -> Result<Read<'a>, SeasonError> {
    let Assigned { strips: named, of_pair, mut notes } = assign(ground, surveys, pairs)?;
    let in_strip = |(pair, strip): (&'a Pair, Option<usize>)| Some((pair, strip?));
    let own: Vec<(&Pair, usize)> = pairs.iter().zip(of_pair).filter_map(in_strip).collect();
    let probe = |&(pair, strip): &(&Pair, usize)| TrialProbe::of(pair, strip);
    let mut probes: Vec<TrialProbe> = own.iter().map(probe).collect();
    let strips = strips_read(&named, &mut probes);
    let treatments: Vec<Treatment> = named.iter().map(|strip| strip.treatment).collect();
    refuse_missing_side(&strips, &treatments)?;
    notes.extend(without_probes(&named, &strips));
    notes.extend(blocks_left_out(&strips)?);
    Ok(Read { own, treatments, probes, strips, notes })
}

/// Strips that would show what matters at the spread seen.
fn needed(change: &Contrast, settings: &TrialSettings) -> Option<usize> {
    let strip_sd = change.spread?.strip_sd;
    strips_needed(strip_sd, settings.matters_cm, settings.confidence, change.blocks.is_some())
}

fn check(settings: &TrialSettings) -> Result<(), SeasonError> {
    let TrialSettings { confidence, matters_cm, moisture_within_pct: within_pct, .. } = *settings;
    if !(0.5..1.0).contains(&confidence) {
        return Err(SeasonError::Confidence { confidence });
    }
    if !(matters_cm > 0.0 && matters_cm.is_finite()) {
        return Err(SeasonError::Matters { matters_cm });
    }
    match within_pct >= 0.0 {
        true => Ok(()),
        false => Err(SeasonError::MoistureWithin { within_pct }),
    }
}

/// Two visits of one day may be before and after a pass of the machine; the same readings may not.
fn refuse_same_visit(earlier: &CheckedSurvey, later: &CheckedSurvey) -> Result<(), SeasonError> {
    match earlier.dates() == later.dates() && earlier.spots() == later.spots() {
        true => Err(SeasonError::SameVisit),
        false => Ok(()),
    }
}

fn refuse_missing_side(strips: &[TrialStrip], named: &[Treatment]) -> Result<(), SeasonError> {
    for (side, other) in
        [(Treatment::Check, Treatment::Treated), (Treatment::Treated, Treatment::Check)]
    {
        if !named.contains(&side) {
            return Err(SeasonError::OneSide { missing: side.name(), only: other.name() });
        }
        if !strips.iter().any(|strip| strip.treatment == side) {
            return Err(SeasonError::NoProbeInStrips { side: side.name() });
        }
    }
    Ok(())
}

/// Blocks that lack a side play no part in the difference.
fn blocks_left_out(strips: &[TrialStrip]) -> Result<Vec<String>, SeasonError> {
    if !strips.iter().any(|strip| strip.block.is_some()) {
        return Ok(Vec::new());
    }
    if let Some(strip) = strips.iter().find(|strip| strip.block.is_none()) {
        return Err(SeasonError::StripWithoutBlock { strip: strip.name.clone() });
    }
    let has = |block: &str, side: Treatment| {
        strips.iter().any(|s| s.block.as_deref() == Some(block) && s.treatment == side)
    };
    let blocks: std::collections::BTreeSet<&str> =
        strips.iter().filter_map(|strip| strip.block.as_deref()).collect();
    let left_out = blocks.into_iter().filter_map(|block| {
        let missing = [Treatment::Treated, Treatment::Check].map(|side| !has(block, side));
        let missing = match missing {
            [true, _] => "treated",
            [_, true] => "check",
            _ => return None,
        };
        Some(format!("block {block:?} has no {missing} strip with a probe: left out"))
    });
    Ok(left_out.collect())
}

fn contrasted(strips: &[StripValue], settings: &TrialSettings) -> Result<Contrast, SeasonError> {
    contrast(strips, settings.confidence).ok_or(SeasonError::NoCompleteBlock)
}

/// Strips without a probe play no part.
fn without_probes(named: &[Strip], strips: &[TrialStrip]) -> Vec<String> {
    let has_none = |strip: &&Strip| !strips.iter().any(|read| read.name == strip.name);
    let note = |strip: &Strip| {
        let kind = strip.treatment.name();
        format!("no probe of both visits stands in {kind} strip {:?}", strip.name)
    };
    named.iter().filter(has_none).map(note).collect()
}

fn moisture(
    surveys: [&CheckedSurvey; 2],
    own: &[(&Pair, usize)],
    treatments: &[Treatment],
    settings: &TrialSettings,
) -> TrialMoisture {
    let of = |visit: usize, side: Option<Treatment>| {
        let records: Vec<usize> = own
            .iter()
            .filter(|(_, strip)| side.is_none_or(|side| treatments[*strip] == side))
            .map(|(pair, _)| numbers(surveys, pair)[visit])
            .collect();
        moisture_of(surveys[visit], &records)
    };
    let within_pct = settings.moisture_within_pct;
    TrialMoisture {
        visits: MoistureMatch::of(of(0, None), of(1, None), within_pct),
        sides: [0, 1].map(|visit| {
            let of = |side| of(visit, Some(side));
            MoistureMatch::of(of(Treatment::Check), of(Treatment::Treated), within_pct)
        }),
        within_pct,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pairs::{PairsWithin, pair_spots};
    use crate::trial_ground::TrialGroups;
    use survey::{CheckSettings, Depth, Insertion, LonLat, Measured, Outcome, Survey};

    /// Six named probes in two rows: three ripped, two left, one of neither; each with its moisture.
    fn visit(day: i8, moistures_pct: [f64; 6]) -> CheckedSurvey {
        let words = ["ripped", "ripped", "ripped", "left", "left", "road"];
        let insertion = |(k, (word, moisture_pct)): (usize, (&str, f64))| {
            let (column, row) = ((k % 3) as f64, (k / 3) as f64);
            let place = LonLat { lon_deg: -95.62 + 5e-4 * column, lat_deg: 41.93 + 4e-4 * row };
            Insertion {
                id: Some(format!("P{k}")),
                date: Some(survey::Date::constant(2025, 4, day)),
                group: Some(word.into()),
                moisture_pct: Some(moisture_pct),
                ..Insertion::at(
                    k + 1,
                    place,
                    Measured::Once(Outcome::Reached(Depth::from_cm(20.0 + k as f64))),
                )
            }
        };
        let insertions = words.into_iter().zip(moistures_pct).enumerate().map(insertion).collect();
        let survey = Survey { features: 6, insertions, ..Survey::default() };
        survey::check(&survey, None, &CheckSettings::default()).unwrap()
    }

    fn found(moistures_pct: [[f64; 6]; 2]) -> Trial {
        let [earlier, later] = [visit(14, moistures_pct[0]), visit(24, moistures_pct[1])];
        let pairs = pair_spots(&earlier, &later, PairsWithin::all_m(5.0));
        let ground = TrialGround::Groups(TrialGroups {
            treated: "ripped".into(),
            check: "left".into(),
            strips: Vec::new(),
        });
        let settings = TrialSettings {
            confidence: 0.95,
            matters_cm: 4.0,
            is_randomised: false,
            seed: 1,
            moisture_within_pct: 3.0,
        };
        trial([&earlier, &later], &pairs, &ground, &settings).unwrap()
    }

    /// Before 24 25 26 in treated and 30 32 in check ground, after 19 20 21 and 22 24; 90 elsewhere.
    #[test]
    fn each_ground_has_its_own_moisture_of_each_visit() {
        let found =
            found([[24.0, 25.0, 26.0, 30.0, 32.0, 90.0], [19.0, 20.0, 21.0, 22.0, 24.0, 90.0]]);
        let means = |of: MoistureMatch| of.moistures().map(|known| known.unwrap().mean_pct);
        assert_eq!(means(found.moisture.sides[0]), [31.0, 25.0]);
        assert_eq!(means(found.moisture.sides[1]), [23.0, 20.0]);
        assert_eq!(means(found.moisture.visits), [137.0 / 5.0, 106.0 / 5.0]);
        assert_eq!(found.moisture.changes_pct(), Some([-8.0, -5.0]));
    }

    #[test]
    fn probes_in_no_strip_are_counted() {
        let found = found([[20.0; 6]; 2]);
        assert_eq!((found.probes.len(), found.outside), (5, 1));
        assert_eq!(found.strips.iter().map(|strip| strip.probes).collect::<Vec<_>>(), [3, 2]);
    }
}
