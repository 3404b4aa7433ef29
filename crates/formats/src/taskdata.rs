//! ISO 11783-10 TASKDATA: plans as the task files of a tractor's terminal.
//!
//! ISO 11783-10:2015 is sold and was not read. Elements, attributes, their ranges and lengths are those of
//! the schemas 3.3 and 4.3 as two open libraries model them (Python's isoxml 0.0.4, npm's isoxml 1.11.2), the
//! order of a grid's cells and the meaning of its two types is theirs too: both read what is written here
//! (`cargo xtask readers`).
//!
//! A folder `TASKDATA` holds `TASKDATA.XML` and a file for each grid. Every operation is a task of the
//! same field. Its treatment zones say what to set: for ground outside the field, for a lost position, as
//! the default, for ground that is left alone, and for each zone of the plan.

mod archive;
mod attributes;
mod boundary;
mod described_grid;
mod described_task;
mod designator;
mod dictionary;
mod document;
mod elements;
mod ellipsoid;
mod extent;
mod grid;
mod gridded;
mod ground;
mod inspect;
mod outline;
mod quantity;
mod settings;
mod source;
mod tally;
mod task;
mod values;
mod xml;

use geo::MultiPolygon;
use plan::Plan;

use crate::error::FormatError;
use crate::write::Output;
use designator::{Designators, designator};
use gridded::{Gridded, extent};
use outline::{PolygonKind, polygons};
use quantity::product_content;
use task::{Task, ZoneNames, check_codes};
use xml::Element;

pub use archive::taskdata_zip;
pub use inspect::inspect_taskdata;
pub use settings::{TaskdataSettings, USUAL_CELL_M, Version, Zones};

/// A plan as a TASKDATA folder.
pub struct Taskdata {
    /// The folder's files: `TASKDATA/TASKDATA.XML` and the grids, `TASKDATA/GRD00001.bin` and so on.
    pub files: Vec<Output>,
    /// What the files cannot say as the plan does: ground that is lost between the cells, a field in
    /// several pieces.
    pub warnings: Vec<String>,
}

/// A plan as TASKDATA, made by so-and-so version of this program.
///
/// Names are cut to 32 characters, without control characters and with one blank for white space; one of
/// which nothing is left becomes a stated one; names of zones and tasks that are the same get a number.
/// Doses are stored as whole numbers of 1 mm, 1 mg/m² (0.01 kg/ha) or 0.01 mm³/m² (0.0001 L/ha), of 0.1
/// ml/m² (1 L/ha) where a volume is above 214 748 L/ha; halves are rounded away from zero.
///
/// # Errors
/// When the plan has no operation, no ground or ground on both sides of 180° of longitude, a dose below zero, not finite or too large, more zones
/// than codes, or an outline that cannot be written as a valid polygon; and for a cell size that makes no
/// grid.
pub fn taskdata(
    plan: &Plan,
    settings: &TaskdataSettings,
    version: &str,
) -> Result<Taskdata, FormatError> {
    check(plan)?;
    let field = boundary::union(&plan.parts);
    let mut warnings = Vec::new();
    if field.0.len() > 1 && settings.version == Version::V3 {
        warnings.push(format!(
            "the field is in {} pieces; version 3 describes one boundary, and a terminal may show only \
             the first",
            field.0.len()
        ));
    }
    let products = Products::of(plan);
    let tasks: Vec<Task> = (0..plan.operations.len())
        .map(|index| Task::new(plan, index, products.id(plan, index)))
        .collect::<Result<_, _>>()?;
    let mut names = Designators::default();
    let names: Vec<String> = tasks.iter().map(|task| names.next(task.name(), "Task")).collect();
    let (elements, grids) = match settings.zones {
        Zones::Polygons => (with_outlines(plan, settings, &tasks, names)?, Vec::new()),
        Zones::GridType1 | Zones::GridType2 => {
            let gridded = Gridded::new(plan, settings)?;
            warnings.extend(gridded.warnings(plan));
            gridded.tasks(plan, settings.zones, &tasks, names)?
        }
    };
    let root = root(settings.version, version)
        .holding(owners(plan))
        .holding([partfield(plan, settings.version, &field)?])
        .holding(products.elements())
        .holding(tasks.iter().map(Task::presentation))
        .holding(elements);
    let xml = root.document().into_bytes();
    let xml = Output { name: "TASKDATA/TASKDATA.XML".into(), bytes: xml };
    Ok(Taskdata { files: std::iter::once(xml).chain(grids).collect(), warnings })
}

/// Refuses a plan that makes no task.
fn check(plan: &Plan) -> Result<(), FormatError> {
    let refuse = |problem: &str| Err(FormatError::Taskdata { problem: problem.into() });
    if plan.operations.is_empty() {
        return refuse("the plan has no operation; give it one in its rates file");
    }
    if plan.parts.is_empty() {
        return refuse("the plan has no ground");
    }
    let [west, _, east, _] = extent(plan);
    if east - west > 180.0 {
        return refuse("the field crosses 180° of longitude; plan each side by itself");
    }
    match plan.parts.iter().all(|part| part.doses.len() == plan.operations.len()) {
        true => Ok(()),
        false => refuse("a part of the plan does not have one dose for each operation"),
    }
}

/// The tasks with the outlines of their zones.
fn with_outlines(
    plan: &Plan,
    settings: &TaskdataSettings,
    tasks: &[Task],
    names: Vec<String>,
) -> Result<Vec<Element>, FormatError> {
    check_codes(plan)?;
    let outlines = plan.parts.iter().map(|part| {
        let kind = PolygonKind::TreatmentZone;
        polygons(plan.utm, settings.version, kind, &part.id, &part.polygons)
    });
    let outlines: Vec<Vec<Element>> = outlines.collect::<Result<_, _>>()?;
    let ground = |parts: &[usize]| {
        let of_parts = || parts.iter().flat_map(|&part| outlines[part].clone()).collect();
        (!parts.is_empty()).then(of_parts)
    };
    let zone_names = ZoneNames::of(plan);
    let element = |(task, name): (&Task, String)| task.element(name, &zone_names, &ground, None);
    Ok(tasks.iter().zip(names).map(element).collect())
}

fn root(version: Version, software: &str) -> Element {
    let major = match version {
        Version::V3 => 3,
        Version::V4 => 4,
    };
    Element::new("ISO11783_TaskData")
        .with("VersionMajor", major)
        .with("VersionMinor", 3)
        .with("ManagementSoftwareManufacturer", "loosedepth")
        .with("ManagementSoftwareVersion", designator(software, "0"))
        // From the office, not from a machine.
        .with("DataTransferOrigin", 1)
}

/// The grower (CTR) and the farm (FRM), which some terminals need to find a task by.
fn owners(plan: &Plan) -> [Element; 2] {
    let name = |name: &Option<String>, otherwise: &str| {
        designator(name.as_deref().unwrap_or_default(), otherwise)
    };
    let grower = Element::new("CTR").with("A", "CTR1").with("B", name(&plan.grower, "Grower"));
    let farm = Element::new("FRM").with("A", "FRM1").with("B", name(&plan.farm, "Farm"));
    [grower, farm.with("I", "CTR1")]
}

/// The field with its boundary (PFD).
fn partfield(plan: &Plan, version: Version, field: &MultiPolygon) -> Result<Element, FormatError> {
    let outlines = polygons(plan.utm, version, PolygonKind::Boundary, "of the whole field", field)?;
    Ok(Element::new("PFD")
        .with("A", "PFD1")
        .with("C", designator(&plan.field_name, "Field"))
        .with("D", plan.utm.ground_area_m2(field).round())
        .with("E", "CTR1")
        .with("F", "FRM1")
        .holding(outlines))
}

/// The products of a plan, each once: its name and how it is measured.
struct Products(Vec<(String, u16)>);

impl Products {
    fn of(plan: &Plan) -> Products {
        let mut products = Vec::new();
        for product in plan.operations.iter().filter_map(|operation| Self::key(&operation.kind)) {
            if !products.contains(&product) {
                products.push(product);
            }
        }
        Products(products)
    }

    fn key(kind: &plan::OperationKind) -> Option<(String, u16)> {
        product_content(kind).map(|(name, content)| (designator(name, "Product"), content))
    }

    /// The id of an operation's product.
    fn id(&self, plan: &Plan, operation: usize) -> Option<String> {
        let product = Self::key(&plan.operations[operation].kind)?;
        let index = self.0.iter().position(|other| *other == product)?;
        Some(format!("PDT{}", index + 1))
    }

    fn elements(&self) -> impl Iterator<Item = Element> {
        self.0.iter().zip(1..).map(|((name, content), number)| {
            Element::new("PDT")
                .with("A", format_args!("PDT{number}"))
                .with("B", name)
                .with("E", format_args!("{content:04X}"))
        })
    }
}
