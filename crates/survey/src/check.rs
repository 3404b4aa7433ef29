//! From a survey as read to a checked survey in the field's plane.

use std::collections::BTreeMap;
use std::fmt;

use jiff::civil::Date;

use crate::boundary::{Boundary, Field};
use crate::checked::{CheckedSurvey, Moisture, NoReading, Reading, Spot};
use crate::crs::Utm;
use crate::error::{SurveyError, distance};
use crate::finding::{Finding, Subject};
use crate::insertion::{Insertion, Outcome, Survey};
use crate::position::{EastNorth, LonLat};
use crate::spacing::{fourth_nearest_m, spots, typical_spacing_m};
use crate::units::{Depth, Pressure, tidy};

/// The threshold of a survey that records none: about where roots begin to be hindered (Penn
/// State and Cornell extension publications on penetrometer use).
pub const DEFAULT_THRESHOLD_PSI: f64 = 200.0;

/// The fewest readings that a map is made from; fewer do not span any ground.
const FEWEST_READINGS: usize = 3;

/// Deeper than any hand rod reaches (common practice: rods of 60 to 90 cm): surely a wrong unit.
const DEEPEST_CM: f64 = 150.0;

/// Without a boundary, a reading whose fourth neighbour is farther than so many typical spacings is a
/// stray: no walk leaves such a gap.
const STRAY_SPACINGS: f64 = 10.0;

/// Positions are kept to so many metres. Finer digits are noise of the arithmetic, and would let
/// the machine's mathematical library show in the results.
const POSITION_STEP_M: f64 = 1e-4;

/// How a survey is checked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CheckSettings {
    /// Map readings of this threshold; `None` takes what the file says, 200 psi if it is silent.
    pub threshold: Option<Pressure>,
    /// Map readings of these days; `None` takes the file's only day.
    pub dates: Option<DateRange>,
    /// A reading so far outside the boundary still belongs to the field, metres: receivers and
    /// drawn boundaries are off by a few metres.
    pub edge_tolerance_m: f64,
    /// Insertions so close together are at one spot, metres.
    pub same_spot_m: f64,
}

impl Default for CheckSettings {
    fn default() -> Self {
        CheckSettings { threshold: None, dates: None, edge_tolerance_m: 5.0, same_spot_m: 0.5 }
    }
}

/// The days of one visit, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DateRange {
    first: Date,
    last: Date,
}

impl DateRange {
    /// From one day to another.
    ///
    /// # Errors
    /// When the first is after the last.
    pub fn new(first: Date, last: Date) -> Result<Self, String> {
        match first <= last {
            true => Ok(DateRange { first, last }),
            false => Err(format!("{first} is after {last}")),
        }
    }

    /// Whether a day is one of them.
    pub fn contains(self, date: Date) -> bool {
        (self.first..=self.last).contains(&date)
    }
}

/// `2025-04-14`, or `2025-04-14..2025-04-15`.
impl std::str::FromStr for DateRange {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let day = |text: &str| {
            text.trim()
                .parse::<Date>()
                .map_err(|_| format!("{text:?} is not a date like 2025-04-14"))
        };
        let (first, last) = text.split_once("..").unwrap_or((text, text));
        DateRange::new(day(first)?, day(last)?)
    }
}

impl fmt::Display for DateRange {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self.first == self.last {
            true => write!(f, "{}", self.first),
            false => write!(f, "{}..{}", self.first, self.last),
        }
    }
}

/// Checks a survey and brings it into the field's plane.
///
/// Without a boundary the field is the convex hull of the readings, widened by half their typical
/// spacing. A fault in one record becomes a [`Finding`] and the record is left out; the findings
/// say so.
///
/// # Errors
/// When no map can be made: an unusable boundary, a survey elsewhere, several thresholds or dates
/// with none chosen, or fewer than three usable readings.
pub fn check(
    survey: &Survey,
    boundary: Option<&Boundary>,
    settings: &CheckSettings,
) -> Result<CheckedSurvey, SurveyError> {
    let mut checking = Checking { survey, findings: survey.findings.clone() };
    let believable = checking.believable();
    let of_visit = checking.of_visit(believable, settings.dates)?;
    let (of_threshold, threshold) = checking.of_threshold(of_visit, settings.threshold)?;
    let given = boundary.map(Field::inside).transpose();
    let given = given.map_err(|error| SurveyError::Boundary(Box::new(error)))?;
    let utm = match &given {
        Some(field) => field.utm(),
        None => Utm::for_place(middle(&of_threshold))?,
    };
    let projected = checking.projected(utm, of_threshold);
    let placed = match &given {
        Some(field) => checking.inside(field, projected, settings.edge_tolerance_m)?,
        None => checking.together(projected),
    };
    let (spots, without_reading) = checking.combined(&placed, settings.same_spot_m);
    if spots.len() < FEWEST_READINGS {
        return Err(checking.too_few(spots.len(), &without_reading));
    }
    let positions: Vec<EastNorth> = spots.iter().map(|spot| spot.position).collect();
    let spacing_m = typical_spacing_m(&positions);
    let field = match given {
        Some(field) => field,
        None => checking.hull(utm, &positions, spacing_m)?,
    };
    let insertions = || placed.iter().map(|(insertion, _)| *insertion);
    let moisture = moisture(insertions());
    checking.note_moisture(moisture, placed.len());
    checking.note_units(insertions());
    checking.findings.sort_by(|a, b| a.subject.cmp(&b.subject));
    Ok(CheckedSurvey {
        name: survey.name.clone(),
        field,
        spots,
        without_reading,
        spacing_m,
        threshold,
        dates: first_and_last(insertions()),
        moisture,
        features: survey.features,
        findings: checking.findings,
    })
}

/// An insertion and its place in the plane.
type Placed<'a> = (&'a Insertion, EastNorth);

/// Checks in progress: the survey and what was found so far.
struct Checking<'a> {
    survey: &'a Survey,
    findings: Vec<Finding>,
}

impl<'a> Checking<'a> {
    fn fault(&mut self, insertion: &Insertion, problem: String, done: &str) {
        self.findings.push(Finding::fault(
            insertion.number,
            insertion.id.as_deref(),
            problem,
            done,
        ));
    }

    fn leave_out(&mut self, insertion: &Insertion, problem: String) {
        self.fault(insertion, problem, "left out");
    }

    /// Insertions whose place is on Earth and whose depth is one a rod can have.
    fn believable(&mut self) -> Vec<&'a Insertion> {
        let mut kept = Vec::new();
        for insertion in &self.survey.insertions {
            match implausible(insertion) {
                None => kept.push(insertion),
                Some(problem) => self.leave_out(insertion, problem),
            }
        }
        kept
    }

    fn of_visit(
        &mut self,
        insertions: Vec<&'a Insertion>,
        asked: Option<DateRange>,
    ) -> Result<Vec<&'a Insertion>, SurveyError> {
        let mut counts: BTreeMap<Date, usize> = BTreeMap::new();
        for date in insertions.iter().filter_map(|insertion| insertion.date) {
            *counts.entry(date).or_default() += 1;
        }
        let undated = insertions.iter().filter(|insertion| insertion.date.is_none()).count();
        let Some(asked) = asked else {
            let mut dates = counts.keys();
            if let (Some(first), Some(second)) = (dates.next(), dates.next()) {
                return Err(SurveyError::MixedDates {
                    count: counts.len(),
                    list: list(&counts),
                    first: first.to_string(),
                    second: second.to_string(),
                });
            }
            match (counts.keys().next(), undated) {
                (Some(date), 1..) => self.findings.push(Finding::note(
                    format!("{undated} of {} records have no date", insertions.len()),
                    format!("taken as of {date}, like the others"),
                )),
                (None, 1..) => self.findings.push(Finding::note(
                    "no record has a date (property `date`)",
                    "the map cannot say of which visit it is",
                )),
                _ => {}
            }
            return Ok(insertions);
        };
        if !counts.keys().any(|&date| asked.contains(date)) {
            return Err(SurveyError::NoSuchDate {
                asked: asked.to_string(),
                list: if counts.is_empty() { "no dates".into() } else { list(&counts) },
            });
        }
        let all = insertions.len();
        let mut kept = Vec::new();
        for insertion in insertions {
            match insertion.date {
                Some(date) if asked.contains(date) => kept.push(insertion),
                Some(_) => {}
                None => {
                    self.leave_out(insertion, format!("has no date, and {asked} was asked for"));
                }
            }
        }
        let other_days = all - kept.len() - undated;
        if other_days > 0 {
            self.findings.push(Finding::note(
                format!("{other_days} of {all} records are not of {asked}"),
                "they are no part of this map",
            ));
        }
        Ok(kept)
    }

    fn of_threshold(
        &mut self,
        insertions: Vec<&'a Insertion>,
        asked: Option<Pressure>,
    ) -> Result<(Vec<&'a Insertion>, Pressure), SurveyError> {
        let mut recorded: Vec<(Pressure, usize)> = Vec::new();
        for threshold in insertions.iter().filter_map(|insertion| insertion.threshold) {
            match recorded.iter_mut().find(|(known, _)| known.is_same_threshold(threshold)) {
                Some((_, count)) => *count += 1,
                None => recorded.push((threshold, 1)),
            }
        }
        recorded.sort_by(|a, b| a.0.pa().total_cmp(&b.0.pa()));
        let text = |pressure: Pressure| format!("{} psi", tidy(pressure.psi(), 1));
        let list = recorded
            .iter()
            .map(|(threshold, count)| format!("{count} at {}", text(*threshold)))
            .collect::<Vec<_>>()
            .join(", ");
        let threshold = match (asked, recorded.as_slice()) {
            (Some(asked), []) => asked,
            (Some(asked), [..]) if recorded.iter().all(|(t, _)| !t.is_same_threshold(asked)) => {
                return Err(SurveyError::NoSuchThreshold { asked: text(asked), list });
            }
            (Some(asked), [..]) => asked,
            (None, [(only, _)]) => *only,
            (None, []) => Pressure::from_psi(DEFAULT_THRESHOLD_PSI),
            (None, [..]) => return Err(SurveyError::MixedThresholds { list }),
        };
        let silent = insertions.iter().filter(|i| i.threshold.is_none()).count();
        if silent > 0 && asked.is_none() {
            self.findings.push(Finding::note(
                format!("{silent} of {} records do not say their threshold", insertions.len()),
                format!("taken as read at {}", text(threshold)),
            ));
        }
        let all = insertions.len();
        let is_other = |other: Pressure| !other.is_same_threshold(threshold);
        let mut kept = insertions;
        kept.retain(|insertion| !insertion.threshold.is_some_and(is_other));
        if kept.len() < all {
            self.findings.push(Finding::note(
                format!("{} of {all} records were read at other thresholds", all - kept.len()),
                "they are no part of this map",
            ));
        }
        Ok((kept, threshold))
    }

    /// Insertions in the plane, without those that are too far away to be.
    fn projected(&mut self, utm: Utm, insertions: Vec<&'a Insertion>) -> Vec<Placed<'a>> {
        let mut kept = Vec::new();
        for insertion in insertions {
            match utm.project(insertion.place) {
                Ok(position) => kept.push((insertion, rounded(position))),
                Err(_) => self.leave_out(insertion, "hundreds of kilometres from the field".into()),
            }
        }
        kept
    }

    /// Insertions inside a boundary or at most `tolerance_m` outside.
    fn inside(
        &mut self,
        field: &Field,
        placed: Vec<Placed<'a>>,
        tolerance_m: f64,
    ) -> Result<Vec<Placed<'a>>, SurveyError> {
        let distances: Vec<f64> =
            placed.iter().map(|(_, place)| field.distance_m(*place)).collect();
        let fits_swapped = |insertion: &Insertion| {
            let swapped = field.utm().project(insertion.place.swapped());
            swapped.is_ok_and(|place| field.distance_m(place) <= tolerance_m)
        };
        if distances.iter().all(|distance_m| *distance_m > tolerance_m) {
            let nearest_m = distances.iter().copied().fold(f64::INFINITY, f64::min);
            let all = &self.survey.insertions;
            let swapped_fits = all.iter().all(fits_swapped);
            return Err(match nearest_m.is_finite() {
                true => SurveyError::FarFromBoundary { distance_m: nearest_m, swapped_fits },
                false => SurveyError::SurveyElsewhere { swapped_fits },
            });
        }
        let mut kept = Vec::new();
        for ((insertion, position), distance_m) in placed.into_iter().zip(distances) {
            if distance_m <= tolerance_m {
                kept.push((insertion, position));
            } else if fits_swapped(insertion) {
                let problem =
                    "outside the field; with longitude and latitude swapped it would lie inside";
                self.leave_out(insertion, problem.into());
            } else {
                self.leave_out(insertion, format!("{} outside the boundary", distance(distance_m)));
            }
        }
        Ok(kept)
    }

    /// Insertions without strays, where no boundary says what belongs to the field.
    fn together(&mut self, placed: Vec<Placed<'a>>) -> Vec<Placed<'a>> {
        let positions: Vec<EastNorth> = placed.iter().map(|(_, position)| *position).collect();
        let far_m = STRAY_SPACINGS * typical_spacing_m(&positions);
        let mut kept = Vec::new();
        for (placed, apart_m) in placed.into_iter().zip(fourth_nearest_m(&positions)) {
            match apart_m <= far_m {
                true => kept.push(placed),
                false => self.leave_out(
                    placed.0,
                    format!(
                        "{} from the other readings, and no boundary was given",
                        distance(apart_m)
                    ),
                ),
            }
        }
        kept
    }

    /// One reading per spot, and the places without any.
    fn combined(
        &mut self,
        placed: &[Placed<'a>],
        same_spot_m: f64,
    ) -> (Vec<Spot>, Vec<(EastNorth, NoReading)>) {
        let mut without_reading = Vec::new();
        let mut with_reading: Vec<(Placed, Reading)> = Vec::new();
        for &(insertion, position) in placed {
            match insertion.outcome {
                Outcome::Reached(depth) => {
                    with_reading.push(((insertion, position), Reading::Reached(depth)));
                }
                Outcome::NotReached { probed_to } => {
                    with_reading.push(((insertion, position), Reading::NotReached { probed_to }));
                }
                Outcome::Refused => without_reading.push((position, NoReading::Refused)),
                Outcome::Skipped => without_reading.push((position, NoReading::Skipped)),
            }
        }
        let positions: Vec<EastNorth> = with_reading.iter().map(|((_, p), _)| *p).collect();
        let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (index, spot) in spots(&positions, same_spot_m).into_iter().enumerate() {
            members.entry(spot).or_default().push(index);
        }
        let mut result = Vec::new();
        for group in members.values() {
            let (first, position) = with_reading[group[0]].0;
            let readings: Vec<Reading> = group.iter().map(|&i| with_reading[i].1).collect();
            for &other in &group[1..] {
                self.fault(
                    with_reading[other].0.0,
                    format!("within {} m of {}", tidy(same_spot_m, 2), name(first)),
                    &format!("the {} readings there are one spot with their median", group.len()),
                );
            }
            result.push(Spot {
                id: first.id.clone().unwrap_or_else(|| first.number.to_string()),
                position,
                reading: median(readings),
                insertions: group.len(),
            });
        }
        (result, without_reading)
    }

    fn hull(
        &mut self,
        utm: Utm,
        positions: &[EastNorth],
        spacing_m: f64,
    ) -> Result<Field, SurveyError> {
        let field = Field::around(utm, positions, spacing_m)?;
        self.findings.push(Finding {
            subject: Subject::Boundary,
            severity: crate::Severity::Note,
            problem: "none was given".into(),
            done: format!(
                "the field is taken as the convex hull of the readings widened by {} m, half \
                 their typical spacing",
                tidy(spacing_m / 2.0, 1)
            ),
        });
        Ok(field)
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

    fn note_units<'b>(&mut self, insertions: impl Iterator<Item = &'b Insertion>) {
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        for unit in insertions.filter_map(|insertion| insertion.depth_unit) {
            *counts.entry(unit.name()).or_default() += 1;
        }
        if counts.len() > 1 {
            self.findings.push(Finding::note(
                format!("depths in mixed units ({})", list(&counts)),
                "each was converted from its own unit",
            ));
        }
    }

    fn too_few(&self, usable: usize, without: &[(EastNorth, NoReading)]) -> SurveyError {
        let count = |why| without.iter().filter(|(_, reason)| *reason == why).count();
        let faults: Vec<&Finding> =
            self.findings.iter().filter(|f| f.severity == crate::Severity::Fault).collect();
        SurveyError::TooFewReadings {
            usable,
            features: self.survey.features,
            refused: count(NoReading::Refused),
            skipped: count(NoReading::Skipped),
            left_out: faults.len(),
            first_finding: faults.first().map(ToString::to_string),
        }
    }
}

/// What cannot be true of an insertion, if anything.
fn implausible(insertion: &Insertion) -> Option<String> {
    let LonLat { lon_deg, lat_deg } = insertion.place;
    if !insertion.place.is_on_earth() {
        let guess = match (insertion.place.swapped().is_on_earth(), lon_deg.abs() > 1_000.0) {
            (true, _) => " (swapped?)",
            (_, true) => " (metres? degrees are needed)",
            _ => "",
        };
        return Some(format!("longitude {lon_deg}, latitude {lat_deg} is not on Earth{guess}"));
    }
    if lon_deg == 0.0 && lat_deg == 0.0 {
        return Some("longitude 0, latitude 0: the receiver had no position".into());
    }
    let depth = match insertion.outcome {
        Outcome::Reached(depth) | Outcome::NotReached { probed_to: depth } => depth,
        Outcome::Refused | Outcome::Skipped => return None,
    };
    let typed = |depth: Depth| match insertion.depth_unit {
        Some(unit) => format!("{} {}", tidy(depth.m() / unit.depth(1.0).m(), 3), unit.name()),
        None => format!("{} cm", tidy(depth.cm(), 1)),
    };
    if depth.m() < 0.0 {
        return Some(format!("depth {} is negative; depths are positive downwards", typed(depth)));
    }
    (depth.cm() > DEEPEST_CM).then(|| {
        format!("depth {} is deeper than any hand rod reaches; is the unit right?", typed(depth))
    })
}

/// Middle of the places of some insertions: the medians, which strays do not move. Nowhere
/// special for none.
fn middle(insertions: &[&Insertion]) -> LonLat {
    let median = |of: fn(LonLat) -> f64| {
        let mut sorted: Vec<f64> = insertions.iter().map(|insertion| of(insertion.place)).collect();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
    };
    LonLat { lon_deg: median(|place| place.lon_deg), lat_deg: median(|place| place.lat_deg) }
}

fn rounded(position: EastNorth) -> EastNorth {
    let round = |m: f64| (m / POSITION_STEP_M).round() * POSITION_STEP_M;
    EastNorth { easting_m: round(position.easting_m), northing_m: round(position.northing_m) }
}

/// The median of readings at one spot. "Not reached" counts from its lower bound and after a
/// reading of the same depth; where a middle reading is one, so is the median.
fn median(mut readings: Vec<Reading>) -> Reading {
    readings.sort_by(|a, b| {
        let key = |r: &Reading| (r.at_least().m(), r.is_not_reached());
        key(a).partial_cmp(&key(b)).expect("checked depths are finite")
    });
    let low = readings[(readings.len() - 1) / 2];
    let high = readings[readings.len() / 2];
    if low == high {
        return low;
    }
    let depth = Depth::from_m((low.at_least().m() + high.at_least().m()) / 2.0);
    match low.is_not_reached() || high.is_not_reached() {
        true => Reading::NotReached { probed_to: depth },
        false => Reading::Reached(depth),
    }
}

fn moisture<'a>(insertions: impl Iterator<Item = &'a Insertion>) -> Option<Moisture> {
    let values: Vec<f64> = insertions.filter_map(|insertion| insertion.moisture_pct).collect();
    (!values.is_empty()).then(|| Moisture {
        mean_pct: values.iter().sum::<f64>() / values.len() as f64,
        min_pct: values.iter().copied().fold(f64::INFINITY, f64::min),
        max_pct: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        insertions: values.len(),
    })
}

fn first_and_last<'a>(insertions: impl Iterator<Item = &'a Insertion>) -> Option<(Date, Date)> {
    let dates: Vec<Date> = insertions.filter_map(|insertion| insertion.date).collect();
    Some((*dates.iter().min()?, *dates.iter().max()?))
}

fn name(insertion: &Insertion) -> String {
    match &insertion.id {
        Some(id) => format!("point {id}"),
        None => format!("feature {}", insertion.number),
    }
}

fn list<T: fmt::Display>(counts: &BTreeMap<T, usize>) -> String {
    const SHOWN: usize = 6;
    let mut parts: Vec<String> =
        counts.iter().take(SHOWN).map(|(what, count)| format!("{count} of {what}")).collect();
    if counts.len() > SHOWN {
        parts.push(format!("and {} more", counts.len() - SHOWN));
    }
    parts.join(", ")
}
