//! One operation as a task: its treatment zones and what they set.

use plan::{Dose, Operation, Part, Plan};

use super::designator::Designators;
use super::quantity::Quantity;
use super::xml::Element;
use crate::error::FormatError;

/// Codes of the treatment zones that every task has. Each is one of its own, so that a terminal that
/// changes one changes no other.
pub(super) const OUT_OF_FIELD: u8 = 0;
const POSITION_LOST: u8 = 1;
const DEFAULT: u8 = 2;
/// Of ground that is left alone; in a grid of doses of the zone that says what the numbers are.
const LEAVE_OR_TEMPLATE: u8 = 3;
/// The first zone's; the following ones count on, up to the standard's largest code.
const FIRST_ZONE: u8 = 4;
const LARGEST_CODE: usize = 254;

const LEAVE: &str = "Leave";
/// Names of the zones that are not the plan's.
const RESERVED: [&str; 4] = ["Outside the field", "Position lost", "Default", LEAVE];

/// A name for each part of a plan, the same one in every task.
pub(super) struct ZoneNames(Vec<String>);

impl ZoneNames {
    pub fn of(plan: &Plan) -> ZoneNames {
        let mut names = Designators::default();
        for name in RESERVED {
            names.next(name, name);
        }
        ZoneNames(plan.parts.iter().map(|part| names.next(&part.marked_id(), "Zone")).collect())
    }
}

/// An operation with its doses as they are stored.
pub(super) struct Task<'a> {
    plan: &'a Plan,
    operation: &'a Operation,
    quantity: Quantity,
    /// For each part; `None` where it is left alone.
    stored: Vec<Option<i32>>,
    out_of_field: i32,
    position_lost: i32,
    /// Number of the task, from 1.
    number: usize,
    product: Option<String>,
}

impl<'a> Task<'a> {
    /// The operation of an index in the plan.
    ///
    /// # Errors
    /// When a dose cannot be stored.
    pub fn new(plan: &'a Plan, index: usize, product: Option<String>) -> Result<Self, FormatError> {
        let operation = &plan.operations[index];
        let doses: Vec<Option<Dose>> = plan.parts.iter().map(|part| dose(part, index)).collect();
        let all: Vec<Dose> = doses
            .iter()
            .flatten()
            .copied()
            .chain([operation.out_of_field, operation.signal_lost])
            .collect();
        let quantity = Quantity::of(operation, &all, plan.units);
        let stored = |place: &str, dose: Dose| {
            quantity.stored(&operation.kind, dose).map_err(|problem| FormatError::Taskdata {
                problem: format!("{}, {place}: the dose {problem}", operation.name),
            })
        };
        let of_part = |(part, dose): (&Part, &Option<Dose>)| {
            dose.map(|dose| stored(&part.id, dose)).transpose()
        };
        Ok(Task {
            plan,
            operation,
            quantity,
            stored: plan.parts.iter().zip(&doses).map(of_part).collect::<Result<_, _>>()?,
            out_of_field: stored("outside the field", operation.out_of_field)?,
            position_lost: stored("with the signal lost", operation.signal_lost)?,
            number: index + 1,
            product,
        })
    }

    /// How the terminal shows the doses (VPN).
    pub fn presentation(&self) -> Element {
        self.quantity.presentation(&self.presentation_id())
    }

    fn presentation_id(&self) -> String {
        format!("VPN{}", self.number)
    }

    /// The code of the part's treatment zone: the same one in every task.
    pub fn code(&self, part: usize) -> u8 {
        match self.stored[part] {
            None => LEAVE_OR_TEMPLATE,
            Some(_) => FIRST_ZONE + zones_before(self.plan, part) as u8,
        }
    }

    /// The stored dose of a part, or outside of all.
    pub fn dose(&self, part: Option<usize>) -> i32 {
        part.map_or(self.out_of_field, |part| self.stored[part].unwrap_or(0))
    }

    /// The task's element (TSK) with its grid or, in each zone, with the outlines of its ground. Zones
    /// without cells and outlines do not appear.
    pub fn element(
        &self,
        name: String,
        zone_names: &ZoneNames,
        ground: &dyn Fn(&[usize]) -> Option<Vec<Element>>,
        grid: Option<Element>,
    ) -> Element {
        let mut zones = self.zones_of_every_task();
        let parts = 0..self.stored.len();
        let left: Vec<usize> = parts.clone().filter(|&part| self.stored[part].is_none()).collect();
        if let Some(outlines) = ground(&left) {
            zones.push(self.zone(LEAVE_OR_TEMPLATE, LEAVE, 0).holding(outlines));
        }
        for part in parts {
            if let Some(stored) = self.stored[part]
                && let Some(outlines) = ground(&[part])
            {
                let zone = self.zone(self.code(part), &zone_names.0[part], stored);
                zones.push(zone.holding(outlines));
            }
        }
        self.with_zones(name, zones).holding(grid)
    }

    /// The task's element with a grid of doses.
    pub fn element_of_doses(&self, name: String, grid: Element) -> Element {
        let mut zones = self.zones_of_every_task();
        zones.push(self.zone(LEAVE_OR_TEMPLATE, "Dose of each cell", 0));
        self.with_zones(name, zones).holding([grid.with("J", LEAVE_OR_TEMPLATE)])
    }

    fn zones_of_every_task(&self) -> Vec<Element> {
        let [outside, lost, default, _] = RESERVED;
        vec![
            self.zone(OUT_OF_FIELD, outside, self.out_of_field),
            self.zone(POSITION_LOST, lost, self.position_lost),
            self.zone(DEFAULT, default, self.position_lost),
        ]
    }

    /// A treatment zone without its ground (TZN).
    fn zone(&self, code: u8, name: &str, stored: i32) -> Element {
        Element::new("TZN").with("A", code).with("B", name).holding([self.variable(stored)])
    }

    fn with_zones(&self, name: String, zones: Vec<Element>) -> Element {
        Element::new("TSK")
            .with("A", format_args!("TSK{}", self.number))
            .with("B", name)
            .with("C", "CTR1")
            .with("D", "FRM1")
            .with("E", "PFD1")
            // Planned.
            .with("G", 1)
            .with("H", DEFAULT)
            .with("I", POSITION_LOST)
            .with("J", OUT_OF_FIELD)
            .holding(zones)
    }

    /// What is set (PDV).
    fn variable(&self, stored: i32) -> Element {
        let variable = Element::new("PDV")
            .with("A", format_args!("{:04X}", self.quantity.ddi))
            .with("B", stored);
        let variable = match &self.product {
            Some(product) => variable.with("C", product),
            None => variable,
        };
        variable.with("E", self.presentation_id())
    }

    /// The operation's name.
    pub fn name(&self) -> &str {
        &self.operation.name
    }
}

/// Refuses more zones than there are codes.
pub(super) fn check_codes(plan: &Plan) -> Result<(), FormatError> {
    let zones = zones_before(plan, plan.parts.len());
    let most = LARGEST_CODE + 1 - usize::from(FIRST_ZONE);
    match zones <= most {
        true => Ok(()),
        false => Err(FormatError::Taskdata {
            problem: format!(
                "the plan has {zones} zones, and the standard has codes for {most}; draw fewer and \
                 larger zones, or write a grid of type 2"
            ),
        }),
    }
}

/// Parts that are no check strips before one.
fn zones_before(plan: &Plan, part: usize) -> usize {
    plan.parts[..part].iter().filter(|part| part.check_strip.is_none()).count()
}

/// The dose of a part; check strips have none.
fn dose(part: &Part, operation: usize) -> Option<Dose> {
    match part.check_strip {
        Some(_) => None,
        None => part.doses[operation],
    }
}
