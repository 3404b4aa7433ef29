//! Places: into the plane, inside the field, and no strays.

use super::{Checking, Placed};
use crate::boundary::Field;
use crate::crs::Utm;
use crate::error::{SurveyError, distance};
use crate::finding::{Finding, Severity, Subject};
use crate::insertion::Insertion;
use crate::position::{EastNorth, LonLat};
use crate::spacing::{fourth_nearest_m, typical_spacing_m};
use crate::units::tidy;

/// Without a boundary, a reading whose fourth neighbour is farther than so many typical spacings is a
/// stray: no walk leaves such a gap.
const STRAY_SPACINGS: f64 = 10.0;

/// Positions are kept to so many metres. Finer digits are noise of the arithmetic, and would let
/// the machine's mathematical library show in the results.
const POSITION_STEP_M: f64 = 1e-4;

impl<'a> Checking<'a> {
    /// Insertions in the plane, without those that are too far away to be.
    pub(super) fn projected(
        &mut self,
        utm: Utm,
        insertions: Vec<&'a Insertion>,
    ) -> Vec<Placed<'a>> {
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
    pub(super) fn inside(
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
    pub(super) fn together(&mut self, placed: Vec<Placed<'a>>) -> Vec<Placed<'a>> {
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

    /// The field around readings without a boundary.
    pub(super) fn hull(
        &mut self,
        utm: Utm,
        positions: &[EastNorth],
        spacing_m: f64,
    ) -> Result<Field, SurveyError> {
        let field = Field::around(utm, positions, spacing_m)?;
        self.findings.push(Finding {
            subject: Subject::Boundary,
            severity: Severity::Note,
            problem: "none was given".into(),
            done: format!(
                "the field is taken as the convex hull of the readings widened by {} m, half \
                 their typical spacing",
                tidy(spacing_m / 2.0, 1)
            ),
        });
        Ok(field)
    }
}

/// Middle of the places of some insertions: the medians, which strays do not move. Nowhere
/// special for none.
pub(super) fn middle(insertions: &[&Insertion]) -> LonLat {
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
