//! What moisture does to the loose-layer depth in one field, from the visits of its own season.
//!
//! Spots differ from each other more than visits do, so each spot is compared with itself: depth = spot +
//! visit, fitted by least squares to all readings, gives an effect for each visit that does not depend on
//! which spots it missed. The effects are regressed on the visits' mean moistures. Moisture goes up and
//! down for the whole field at once, so the visits are the evidence, not the readings: the slope's error
//! comes from the scatter of the visits around the line, with two degrees of freedom fewer than visits.
//!
//! Depth itself is taken, not its logarithm: a depth of nothing has none, and in the demo season the line
//! explains 98 % of the visits' variance where that of log(depth + 1 in) explains 96 %.
//!
//! In one season moisture and time go together: what was packed meanwhile may look like drying. So the
//! adjustment may take real compaction for drying, and is never made unasked.

use survey::Date;

use crate::error::SeasonError;
use crate::falls::{SpotHistory, SpotSeries};
use crate::visit::Visit;

/// Fewer visits leave less than two degrees of freedom.
pub const LEAST_VISITS_FOR_MOISTURE: usize = 4;

/// Visits whose mean moistures all lie within so many percentage points do not tell what moisture does:
/// that is hardly more than the difference that counts as none (common practice).
pub const LEAST_MOISTURE_RANGE_PCT: f64 = 5.0;

/// What is said wherever an adjusted change stands.
pub const ADJUSTMENT_CAUTION: &str = "In one season moisture and time go together: the adjustment can take \
real compaction for drying, and loosening for wetting. It is no evidence that nothing was packed.";

/// The line of depth on moisture.
#[derive(Debug, Clone, PartialEq)]
pub struct MoistureFit {
    /// Centimetres of depth for each percentage point of moisture.
    pub slope_cm_per_pct: f64,
    /// Its standard error, from the scatter of the visits.
    pub standard_error: f64,
    /// Visits less two.
    pub degrees_of_freedom: f64,
    /// Share of the visits' variance that the line explains; `None` where all visits have the same effect.
    pub r_squared: Option<f64>,
    /// Standard deviation of the visits around the line, centimetres.
    pub scatter_cm: f64,
    /// The visits, by date as given.
    pub visits: Vec<MoistureVisit>,
    /// Spots probed on at least two visits.
    pub spots: usize,
    /// Readings at those spots.
    pub readings: usize,
    /// How many of them were not reached; they count with the depth probed, which makes the slope rather
    /// too small where they come with wet soil.
    pub not_reached: usize,
}

/// One visit in the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct MoistureVisit {
    /// Its name.
    pub name: String,
    /// Its first day.
    pub day: Option<Date>,
    /// Its mean moisture, percent.
    pub moisture_pct: f64,
    /// Depth against the mean of all visits at the same spots, centimetres.
    pub effect_cm: f64,
}

/// A change without the part that the line gives to moisture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AdjustedChange {
    /// The mean change at the paired spots as found, centimetres.
    pub change_cm: f64,
    /// Later minus earlier mean moisture, percentage points.
    pub moisture_change_pct: f64,
    /// What the line gives to that, centimetres.
    pub by_moisture_cm: f64,
    /// What is left, centimetres.
    pub adjusted_cm: f64,
    /// Interval of what is left, centimetres.
    pub interval_cm: [f64; 2],
    /// Its confidence.
    pub confidence: f64,
}

impl MoistureFit {
    /// Least and greatest mean moisture of the visits, percent.
    pub fn moisture_range_pct(&self) -> [f64; 2] {
        range(&self.visits)
    }

    /// A mean change between two visits of these mean moistures without what the line gives to moisture. The
    /// interval holds the error of the slope, and the scatter that any two visits have beside moisture:
    /// t · √(2 scatter² + (moisture change · slope's error)²).
    pub fn adjusted(
        &self,
        change_cm: f64,
        [earlier_pct, later_pct]: [f64; 2],
        confidence: f64,
    ) -> AdjustedChange {
        let moisture_change_pct = later_pct - earlier_pct;
        let by_moisture_cm = self.slope_cm_per_pct * moisture_change_pct;
        let of_slope = moisture_change_pct * self.standard_error;
        let error_cm = (2.0 * self.scatter_cm * self.scatter_cm + of_slope * of_slope).sqrt();
        let t =
            statistics::student::quantile(f64::midpoint(1.0, confidence), self.degrees_of_freedom);
        let adjusted_cm = change_cm - by_moisture_cm;
        AdjustedChange {
            change_cm,
            moisture_change_pct,
            by_moisture_cm,
            adjusted_cm,
            interval_cm: [adjusted_cm - t * error_cm, adjusted_cm + t * error_cm],
            confidence,
        }
    }
}

/// Fits the line to the visits of a season that have a moisture and spots in common with others.
///
/// # Errors
/// When there are fewer than [`LEAST_VISITS_FOR_MOISTURE`] such visits, or their moistures lie within
/// [`LEAST_MOISTURE_RANGE_PCT`] of each other.
pub fn moisture_fit(
    visits: &[Visit],
    pair_within_m: Option<f64>,
) -> Result<MoistureFit, SeasonError> {
    let moist: Vec<(&Visit, f64)> = visits
        .iter()
        .filter_map(|visit| Some((visit, visit.survey.moisture()?.mean_pct)))
        .collect();
    let readings = linked(shared_readings(&moist, pair_within_m), moist.len());
    let mut in_fit: Vec<usize> = readings.iter().map(|reading| reading.visit).collect();
    in_fit.sort_unstable();
    in_fit.dedup();
    if in_fit.len() < LEAST_VISITS_FOR_MOISTURE {
        let least = LEAST_VISITS_FOR_MOISTURE;
        return Err(SeasonError::FewVisitsForMoisture { visits: in_fit.len(), least });
    }
    let effects = visit_effects(&readings, moist.len());
    let told = |&visit: &usize| MoistureVisit {
        name: moist[visit].0.name.clone(),
        day: moist[visit].0.day(),
        moisture_pct: moist[visit].1,
        effect_cm: effects[visit],
    };
    let visits: Vec<MoistureVisit> = in_fit.iter().map(told).collect();
    let [least_pct, greatest_pct] = range(&visits);
    if greatest_pct - least_pct < LEAST_MOISTURE_RANGE_PCT {
        return Err(SeasonError::LittleMoistureRange {
            range_pct: greatest_pct - least_pct,
            least_pct: LEAST_MOISTURE_RANGE_PCT,
        });
    }
    let mut spots: Vec<usize> = readings.iter().map(|reading| reading.spot).collect();
    spots.sort_unstable();
    spots.dedup();
    let not_reached = readings.iter().filter(|reading| reading.is_not_reached).count();
    Ok(MoistureFit { spots: spots.len(), readings: readings.len(), not_reached, ..line(visits) })
}

/// The line through visits of different moistures.
fn line(visits: Vec<MoistureVisit>) -> MoistureFit {
    let count = visits.len() as f64;
    let mean = |value: fn(&MoistureVisit) -> f64| visits.iter().map(value).sum::<f64>() / count;
    let (mean_pct, mean_cm) = (mean(|v| v.moisture_pct), mean(|v| v.effect_cm));
    let sum = |product: &dyn Fn(f64, f64) -> f64| -> f64 {
        visits.iter().map(|v| product(v.moisture_pct - mean_pct, v.effect_cm - mean_cm)).sum()
    };
    let (of_moisture, of_effects) = (sum(&|pct, _| pct * pct), sum(&|_, cm| cm * cm));
    let slope = sum(&|pct, cm| pct * cm) / of_moisture;
    let left = sum(&|pct, cm| (cm - slope * pct) * (cm - slope * pct));
    let degrees_of_freedom = count - 2.0;
    let variance = left / degrees_of_freedom;
    MoistureFit {
        slope_cm_per_pct: slope,
        standard_error: (variance / of_moisture).sqrt(),
        degrees_of_freedom,
        r_squared: (of_effects > 0.0).then(|| 1.0 - left / of_effects),
        scatter_cm: variance.sqrt(),
        visits,
        spots: 0,
        readings: 0,
        not_reached: 0,
    }
}

fn range(visits: &[MoistureVisit]) -> [f64; 2] {
    let moistures = || visits.iter().map(|visit| visit.moisture_pct);
    [moistures().fold(f64::INFINITY, f64::min), moistures().fold(f64::NEG_INFINITY, f64::max)]
}

/// A reading at a spot that several visits have in common.
struct SharedReading {
    spot: usize,
    visit: usize,
    depth_cm: f64,
    is_not_reached: bool,
}

/// The readings at spots probed on at least two of the visits.
fn shared_readings(moist: &[(&Visit, f64)], pair_within_m: Option<f64>) -> Vec<SharedReading> {
    let visits: Vec<&Visit> = moist.iter().map(|(visit, _)| *visit).collect();
    let spots = SpotHistory::through(&visits, pair_within_m).spots;
    let of_spot = |(spot, series): (usize, SpotSeries)| {
        let here = series.readings.into_iter().enumerate();
        let here = here.filter_map(|(visit, reading)| Some((visit, reading?)));
        let here: Vec<SharedReading> = here
            .map(|(visit, reading)| SharedReading {
                spot,
                visit,
                depth_cm: reading.at_least().cm(),
                is_not_reached: reading.is_not_reached(),
            })
            .collect();
        if here.len() >= 2 { here } else { Vec::new() }
    };
    spots.into_iter().enumerate().flat_map(of_spot).collect()
}

/// The readings of the largest group of visits that are linked by spots, of equally large ones the first:
/// between groups without a spot in common nothing can be compared.
fn linked(mut readings: Vec<SharedReading>, visits: usize) -> Vec<SharedReading> {
    let mut group: Vec<usize> = (0..visits).collect();
    let mut visit_of_spot = std::collections::BTreeMap::new();
    for reading in &readings {
        let first = *visit_of_spot.entry(reading.spot).or_insert(reading.visit);
        let (kept, gone) = (group[first], group[reading.visit]);
        group.iter_mut().filter(|of| **of == gone).for_each(|of| *of = kept);
    }
    let size = |of: usize| group.iter().filter(|&&other| other == of).count();
    let largest = group.iter().copied().rev().max_by_key(|&of| size(of));
    readings.retain(|reading| Some(group[reading.visit]) == largest);
    readings
}

/// Effects of the visits in depth = spot + visit by least squares, their mean over the readings 0; of a
/// visit without a reading 0. The visits with readings are linked by spots.
///
/// For given effects of the visits each spot's is the mean of what they leave of its readings. Put into the
/// normal equations of the visits that gives `L e = d`: d is the sum of a visit's readings less the means
/// of their spots, and two visits with a spot of n readings in common have −1/n of it in L (the reduced
/// equations of two-way data with gaps, as of a block design; from memory). One visit of those linked is held
/// at 0, and a matrix of visits, not of spots, is left to solve.
fn visit_effects(readings: &[SharedReading], visits: usize) -> Vec<f64> {
    let mut of_spot: std::collections::BTreeMap<usize, Vec<&SharedReading>> = Default::default();
    readings.iter().for_each(|reading| of_spot.entry(reading.spot).or_default().push(reading));
    let mut links = vec![vec![0.0; visits]; visits];
    let mut sums = vec![0.0; visits];
    for here in of_spot.values() {
        let count = here.len() as f64;
        let mean = here.iter().map(|reading| reading.depth_cm).sum::<f64>() / count;
        for reading in here {
            sums[reading.visit] += reading.depth_cm - mean;
            links[reading.visit][reading.visit] += 1.0;
            here.iter().for_each(|other| links[reading.visit][other.visit] -= 1.0 / count);
        }
    }
    let mut in_fit: Vec<usize> = readings.iter().map(|reading| reading.visit).collect();
    in_fit.sort_unstable();
    in_fit.dedup();
    let free = in_fit.get(1..).unwrap_or_default();
    let row = |&at: &usize| free.iter().map(|&of| links[at][of]).chain([sums[at]]).collect();
    let mut effects = vec![0.0; visits];
    let solved = solved(free.iter().map(row).collect());
    free.iter().zip(solved).for_each(|(&visit, effect)| effects[visit] = effect);
    let mean = readings.iter().map(|r| effects[r.visit]).sum::<f64>() / readings.len() as f64;
    in_fit.iter().for_each(|&visit| effects[visit] -= mean);
    effects
}

/// Solves equations by Gauss's elimination, each row its coefficients and then its right side. The matrix
/// is symmetric and positive definite, so no rows need be exchanged.
fn solved(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let count = rows.len();
    for at in 0..count {
        let (above, below) = rows.split_at_mut(at + 1);
        let pivot = &above[at];
        for row in below {
            let factor = row[at] / pivot[at];
            row[at..].iter_mut().zip(&pivot[at..]).for_each(|(value, of)| *value -= factor * of);
        }
    }
    let mut values = vec![0.0; count];
    for at in (0..count).rev() {
        let known: f64 = (at + 1..count).map(|k| rows[at][k] * values[k]).sum();
        values[at] = (rows[at][count] - known) / rows[at][at];
    }
    values
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::made_up::{Probe, not_reached, reached, settings, square, visit};

    const SIDE_M: f64 = 150.0;

    /// A visit of so much moisture whose depths are those of the spots and 0.5 cm for each point of
    /// moisture, and something more; some spots were missed.
    fn visited(day: &str, pct: Option<f64>, more_cm: f64, missed: &[usize]) -> Visit {
        let places = square(5, 30.0).into_iter().enumerate();
        let depth_cm = |k: usize| 10.0 + (k * 7 % 11) as f64 + 0.5 * pct.unwrap_or(20.0) + more_cm;
        let probes: Vec<Probe> = places
            .filter(|(k, _)| !missed.contains(k))
            .map(|(k, (id, place))| (id, place, reached(depth_cm(k))))
            .collect();
        visit(day, pct, SIDE_M, &probes, &settings(10.0))
    }

    fn dry_season() -> Vec<Visit> {
        vec![
            visited("2025-04-14", Some(34.0), 0.0, &[]),
            // The shallowest spots were missed, which would lift the visit's plain mean.
            visited("2025-05-14", Some(30.0), 0.0, &[0, 8, 11, 19, 22]),
            visited("2025-06-14", Some(24.0), 0.0, &[3]),
            visited("2025-07-14", None, 9.0, &[]),
            visited("2025-08-14", Some(18.0), 0.0, &[4, 7]),
        ]
    }

    #[test]
    fn the_line_is_found_whatever_spots_a_visit_missed() {
        let fit = moisture_fit(&dry_season(), None).unwrap();
        assert!((fit.slope_cm_per_pct - 0.5).abs() < 1e-6, "{fit:?}");
        assert!(fit.standard_error < 1e-6 && fit.r_squared.unwrap() > 1.0 - 1e-9);
        assert_eq!((fit.visits.len(), fit.spots, fit.readings), (4, 25, 92));
        assert_eq!(fit.degrees_of_freedom, 2.0);
        assert_eq!(fit.moisture_range_pct(), [18.0, 34.0]);
        let adjusted = fit.adjusted(-11.0, [34.0, 18.0], 0.95);
        assert_eq!(adjusted.moisture_change_pct, -16.0);
        assert!((adjusted.adjusted_cm + 3.0).abs() < 1e-5, "{adjusted:?}");
    }

    /// By hand: effects 1, −1, −1, 1 at moistures 10, 20, 30, 40 have no slope; residual sum of squares 4
    /// with 2 degrees of freedom, scatter √2, sum of squares of moistures 500: error √(2/500) = 0.063246.
    /// For 20 points, t of 0.975 with 2 degrees 4.303 (NIST e-Handbook, 1.3.6.7.2):
    /// 4.303 · √(2 · 2 + (20 · 0.063246)²) = 4.303 · √5.6 = 10.1828.
    #[test]
    fn errors_are_by_hand() {
        let at = |moisture_pct: f64, effect_cm: f64| MoistureVisit {
            name: String::new(),
            day: None,
            moisture_pct,
            effect_cm,
        };
        let fit = line(vec![at(10.0, 1.0), at(20.0, -1.0), at(30.0, -1.0), at(40.0, 1.0)]);
        assert_eq!((fit.slope_cm_per_pct, fit.r_squared), (0.0, Some(0.0)));
        assert!((fit.standard_error - 0.063_246).abs() < 1e-6);
        let adjusted = fit.adjusted(-5.0, [40.0, 20.0], 0.95);
        assert_eq!(adjusted.adjusted_cm, -5.0);
        assert!((adjusted.interval_cm[1] + 5.0 - 10.1828).abs() < 1e-3, "{adjusted:?}");
        assert!((adjusted.interval_cm[0] + 5.0 + 10.1828).abs() < 1e-3);
    }

    #[test]
    fn visits_of_one_effect_have_no_share_that_moisture_explains() {
        let at = |moisture_pct: f64| MoistureVisit {
            name: String::new(),
            day: None,
            moisture_pct,
            effect_cm: 0.0,
        };
        let fit = line([10.0, 20.0, 30.0, 40.0].map(at).into());
        assert_eq!((fit.slope_cm_per_pct, fit.r_squared), (0.0, None));
    }

    /// Two visits to the one half of the spots and two to the other, one spot in both: whatever their
    /// number, the effects are those the readings were made from, −5, −4, 5 and 6 cm less their mean 0.5.
    #[test]
    fn visits_that_one_spot_links_have_their_whole_effects() {
        let made_cm = [-5.0, -4.0, 5.0, 6.0];
        for spots in [1, 10, 300_usize] {
            let reading = |visit: usize, spot: usize| SharedReading {
                spot,
                visit,
                depth_cm: 20.0 + (spot * 7 % 11) as f64 + made_cm[visit],
                is_not_reached: false,
            };
            let of_visit = |visit: usize| {
                let first = if visit < 2 { 0 } else { spots };
                (first..=first + spots).map(move |spot| reading(visit, spot))
            };
            let readings: Vec<SharedReading> = (0..4).flat_map(of_visit).collect();
            let effects = visit_effects(&readings, 4);
            for (effect, made) in effects.iter().zip(made_cm) {
                assert!((effect - (made - 0.5)).abs() < 1e-9, "{spots}: {effects:?}");
            }
        }
    }

    #[test]
    fn few_visits_or_hardly_other_moistures_are_refused() {
        let mut season = dry_season();
        season.remove(0);
        let refused = moisture_fit(&season, None).unwrap_err();
        assert!(matches!(refused, SeasonError::FewVisitsForMoisture { visits: 3, least: 4 }));
        let alike: Vec<Visit> = (1..=5)
            .map(|month| {
                visited(&format!("2025-0{month}-14"), Some(30.0 + f64::from(month)), 0.0, &[])
            })
            .collect();
        let refused = moisture_fit(&alike, None).unwrap_err();
        assert!(matches!(refused, SeasonError::LittleMoistureRange { .. }), "{refused}");
    }

    /// Two visits to other spots tell nothing beside those of the season.
    #[test]
    fn visits_without_a_spot_in_common_stay_apart() {
        let mut season = dry_season();
        let elsewhere = |day: &str, pct: f64| {
            let moved = |(id, [east, north]): (String, [f64; 2])| {
                (format!("{id}x"), [east - 14.0, north - 14.0], reached(40.0 + pct))
            };
            let probes: Vec<Probe> = square(5, 30.0).into_iter().map(moved).collect();
            visit(day, Some(pct), SIDE_M, &probes, &settings(10.0))
        };
        season.insert(0, elsewhere("2025-03-01", 38.0));
        season.push(elsewhere("2025-10-01", 12.0));
        let fit = moisture_fit(&season, None).unwrap();
        assert_eq!((fit.visits.len(), fit.readings), (4, 92));
        assert!((fit.slope_cm_per_pct - 0.5).abs() < 1e-6, "{fit:?}");
    }

    #[test]
    fn what_was_not_reached_is_counted() {
        let mut season = dry_season();
        let probes: Vec<Probe> =
            square(5, 30.0).into_iter().map(|(id, place)| (id, place, not_reached(45.0))).collect();
        season.push(visit("2025-09-01", Some(40.0), SIDE_M, &probes, &settings(10.0)));
        assert_eq!(moisture_fit(&season, None).unwrap().not_reached, 25);
    }
}
