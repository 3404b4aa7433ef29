//! A plan as rows: each part with its outline in degrees and a number for each operation, checked once
//! for all formats. Ground that an operation leaves alone has the number 0: a machine that reads nothing
//! may do as it did before.

use std::collections::BTreeSet;

use geo::{Area, CoordsIter, InteriorPoint, MultiPolygon};
use plan::{Dose, Operation, OperationKind, Part, Plan};
use survey::units::{KG_PER_LB, L_PER_US_GAL, M_PER_IN, M2_PER_AC, M2_PER_HA};
use survey::{EastNorth, LonLat, UnitSystem};

use crate::degrees::{DECIMALS, degrees, rounded};
use crate::error::FormatError;

/// The largest rate that is written, kg/ha or L/ha: 1000 t/ha, ten times what a field ever gets.
const MOST_PER_HA: f64 = 1e6;
/// The deepest tillage that is written, cm.
const MOST_CM: f64 = 1_000.0;

/// A plan's parts as rows.
pub(crate) struct Rows<'p> {
    pub plan: &'p Plan,
    /// What each operation's numbers are, in their order.
    pub measures: Vec<Measure>,
    pub rows: Vec<Row<'p>>,
}

/// One part.
pub(crate) struct Row<'p> {
    pub part: &'p Part,
    /// Outline in degrees, outer rings counter-clockwise.
    pub degrees: MultiPolygon,
    /// A place inside its largest polygon.
    pub centre: LonLat,
    /// One for each operation, in the unit of [`Measure::si`].
    pub amounts: Vec<f64>,
}

/// What an operation's numbers are: two units, a metric one and a US one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Measure {
    Depth,
    Mass,
    Volume,
}

impl Measure {
    fn of(kind: &OperationKind) -> Measure {
        match kind {
            OperationKind::Loosen => Measure::Depth,
            OperationKind::AmendMass { .. } => Measure::Mass,
            OperationKind::AmendVolume { .. } => Measure::Volume,
        }
    }

    /// Unit of people: `cm`, `lb/ac`. US gallons.
    pub fn unit(self, units: UnitSystem) -> &'static str {
        match (self, units) {
            (Measure::Depth, UnitSystem::Si) => "cm",
            (Measure::Depth, UnitSystem::Us) => "in",
            (Measure::Mass, UnitSystem::Si) => "kg/ha",
            (Measure::Mass, UnitSystem::Us) => "lb/ac",
            (Measure::Volume, UnitSystem::Si) => "L/ha",
            (Measure::Volume, UnitSystem::Us) => "gal/ac",
        }
    }

    /// The unit at the end of a name: `kg_ha`.
    pub fn suffix(self, units: UnitSystem) -> String {
        self.unit(units).to_lowercase().replace('/', "_")
    }

    /// A number of the metric unit as one of another, with three decimals.
    pub fn number(self, si: f64, units: UnitSystem) -> f64 {
        let per_si = match (self, units) {
            (_, UnitSystem::Si) => 1.0,
            (Measure::Depth, UnitSystem::Us) => 0.01 / M_PER_IN,
            (Measure::Mass, UnitSystem::Us) => M2_PER_AC / M2_PER_HA / KG_PER_LB,
            (Measure::Volume, UnitSystem::Us) => M2_PER_AC / M2_PER_HA / L_PER_US_GAL,
        };
        rounded(si * per_si, 3)
    }

    /// A dose in the metric unit.
    fn amount(self, dose: Dose) -> Result<f64, &'static str> {
        let (amount, most) = match (self, dose) {
            (Measure::Depth, Dose::Depth(depth)) => (depth.cm(), MOST_CM),
            (Measure::Mass, Dose::Mass(rate)) => (rate.kg_per_ha(), MOST_PER_HA),
            (Measure::Volume, Dose::Volume(rate)) => (rate.l_per_ha(), MOST_PER_HA),
            _ => return Err("is of another kind than the operation"),
        };
        match (0.0..=most).contains(&amount) {
            true => Ok(amount),
            false => Err("is not a number, below zero, or larger than any field takes"),
        }
    }
}

impl<'p> Rows<'p> {
    /// The rows of a plan.
    ///
    /// # Errors
    /// [`FormatError::Plan`] where its parts and operations do not fit each other, and
    /// [`FormatError::InvalidZone`] where an outline cannot be written.
    pub fn of(plan: &'p Plan) -> Result<Rows<'p>, FormatError> {
        let wrong = |problem: String| FormatError::Plan { problem };
        if plan.parts.is_empty() || plan.operations.is_empty() {
            return Err(wrong("it has no parts or no operations".into()));
        }
        check_slugs(&plan.operations).map_err(wrong)?;
        let outlines = plan.parts.iter().map(|part| (part.id.as_str(), &part.polygons));
        let degrees = degrees(plan.utm, outlines)?;
        let rows = plan.parts.iter().zip(degrees).map(|(part, degrees)| {
            let here = |problem: &str| wrong(format!("part {}: {problem}", part.id));
            Ok(Row {
                part,
                centre: centre(plan, part).ok_or_else(|| here("it has no ground"))?,
                amounts: amounts(plan, part).map_err(|problem| here(&problem))?,
                degrees,
            })
        });
        let measures = plan.operations.iter().map(|operation| Measure::of(&operation.kind));
        Ok(Rows { plan, measures: measures.collect(), rows: rows.collect::<Result<_, _>>()? })
    }

    /// Each operation with what its numbers are.
    pub fn operations(&self) -> impl Iterator<Item = (&'p Operation, Measure)> {
        self.plan.operations.iter().zip(self.measures.iter().copied())
    }

    /// Names of the dose columns with their unit, both ways: `loosen_cm`, `loosen_in`.
    pub fn dose_names(&self) -> Vec<String> {
        let both = [UnitSystem::Si, UnitSystem::Us];
        let names = |(operation, measure): (&Operation, Measure)| {
            both.map(|units| format!("{}_{}", operation.slug, measure.suffix(units)))
        };
        self.operations().flat_map(names).collect()
    }

    /// The numbers of the dose columns for one row.
    pub fn dose_numbers(&self, row: &Row) -> Vec<f64> {
        let both = [UnitSystem::Si, UnitSystem::Us];
        let numbers =
            |(measure, &si): (&Measure, &f64)| both.map(|units| measure.number(si, units));
        self.measures.iter().zip(&row.amounts).flat_map(numbers).collect()
    }
}

/// Slugs become names of files and columns.
fn check_slugs(operations: &[Operation]) -> Result<(), String> {
    let mut taken = BTreeSet::new();
    for Operation { slug, .. } in operations {
        let is_plain =
            slug.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
        if !is_plain || !(1..=20).contains(&slug.len()) || !taken.insert(slug) {
            return Err(format!("{slug:?} cannot name an operation's files"));
        }
    }
    Ok(())
}

fn amounts(plan: &Plan, part: &Part) -> Result<Vec<f64>, String> {
    if part.doses.len() != plan.operations.len() {
        return Err("it does not have a dose for each operation".into());
    }
    let amount = |(operation, dose): (&Operation, &Option<Dose>)| {
        let amount = dose.map_or(Ok(0.0), |dose| Measure::of(&operation.kind).amount(dose));
        amount.map_err(|problem| format!("its dose of {} {problem}", operation.slug))
    };
    plan.operations.iter().zip(&part.doses).map(amount).collect()
}

/// A place inside the largest polygon of a part.
fn centre(plan: &Plan, part: &Part) -> Option<LonLat> {
    let largest = part
        .polygons
        .iter()
        .filter(|polygon| polygon.coords_count() > 3)
        .max_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()))?;
    let inside = largest.interior_point()?;
    let exact = plan.utm.unproject(EastNorth { easting_m: inside.x(), northing_m: inside.y() });
    Some(LonLat {
        lon_deg: rounded(exact.lon_deg, DECIMALS),
        lat_deg: rounded(exact.lat_deg, DECIMALS),
    })
}
