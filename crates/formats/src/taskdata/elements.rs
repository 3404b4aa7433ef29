//! Elements of a plan in TASKDATA, and what each must have.

use geo::Coord;

use super::attributes::{Attributes, shown};

/// A field (PFD).
#[derive(Default)]
pub(super) struct Partfield {
    pub id: String,
    pub name: String,
    pub polygons: Vec<Outline>,
}

/// A polygon (PLN): its rings, holes or not.
#[derive(Default)]
pub(super) struct Outline {
    pub rings: Vec<Ring>,
}

/// A ring (LSG).
#[derive(Default)]
pub(super) struct Ring {
    pub is_hole: bool,
    /// Longitude and latitude, degrees.
    pub corners: Vec<Coord>,
}

/// How numbers are shown (VPN): `(stored + offset) · scale`, so many decimals, unit.
#[derive(Clone)]
pub(super) struct Presentation {
    pub offset: f64,
    pub scale: f64,
    pub decimals: usize,
    pub unit: String,
}

/// A task (TSK).
#[derive(Default)]
pub(super) struct Task {
    pub id: String,
    pub name: String,
    pub field: Option<String>,
    pub has_owner: bool,
    pub status: String,
    pub default: Option<u8>,
    pub position_lost: Option<u8>,
    pub out_of_field: Option<u8>,
    pub zones: Vec<TreatmentZone>,
    pub grids: Vec<GridElement>,
}

/// A treatment zone (TZN).
#[derive(Default)]
pub(super) struct TreatmentZone {
    pub code: u8,
    pub name: String,
    pub polygons: Vec<Outline>,
    pub variables: Vec<Variable>,
}

/// What is set (PDV).
#[derive(Clone)]
pub(super) struct Variable {
    pub ddi: u16,
    pub stored: i32,
    pub product: Option<String>,
    pub presentation: Option<String>,
}

/// A grid (GRD).
#[derive(Clone)]
pub(super) struct GridElement {
    pub south_deg: f64,
    pub west_deg: f64,
    pub cell_north_deg: f64,
    pub cell_east_deg: f64,
    pub columns: u32,
    pub rows: u32,
    pub file: String,
    pub kind: String,
    pub template: Option<u8>,
}

pub(super) fn presentation(attributes: &Attributes) -> Result<Presentation, String> {
    let scale: f64 = attributes.number("VPN", "C")?;
    if !(scale.is_finite() && scale > 0.0) {
        return Err(format!("scale {scale} of a VPN is not above zero"));
    }
    Ok(Presentation {
        offset: attributes.number::<i32>("VPN", "B")?.into(),
        scale,
        decimals: attributes.number::<u8>("VPN", "D")?.min(7).into(),
        unit: attributes.text("E").unwrap_or_default(),
    })
}

pub(super) fn task(attributes: &Attributes) -> Result<Task, String> {
    let code = |letter| match attributes.text(letter) {
        Some(_) => attributes.number::<u8>("TSK", letter).map(Some),
        None => Ok(None),
    };
    Ok(Task {
        id: attributes.needed("TSK", "A")?,
        name: attributes.text("B").unwrap_or_default(),
        field: attributes.text("E"),
        has_owner: attributes.text("C").is_some() && attributes.text("D").is_some(),
        status: attributes.text("G").unwrap_or_default(),
        default: code("H")?,
        position_lost: code("I")?,
        out_of_field: code("J")?,
        zones: Vec::new(),
        grids: Vec::new(),
    })
}

pub(super) fn variable(attributes: &Attributes) -> Result<Variable, String> {
    let ddi = attributes.needed("PDV", "A")?;
    // Four digits, as the schema has it: of fewer, a terminal may make something else.
    let is_whole = ddi.len() == 4 && ddi.bytes().all(|byte| byte.is_ascii_hexdigit());
    let number = u16::from_str_radix(&ddi, 16).ok().filter(|_| is_whole);
    Ok(Variable {
        ddi: number.ok_or_else(|| {
            format!("{} of a PDV is no number of the dictionary in four digits", shown(&ddi))
        })?,
        stored: attributes.number("PDV", "B")?,
        product: attributes.text("C"),
        presentation: attributes.text("E"),
    })
}

pub(super) fn grid(attributes: &Attributes) -> Result<GridElement, String> {
    let degrees = |letter, most: f64| {
        let degrees: f64 = attributes.number("GRD", letter)?;
        match degrees.abs() <= most {
            true => Ok(degrees),
            false => {
                Err(format!("attribute {letter} of a GRD is {degrees}, beyond {most} degrees"))
            }
        }
    };
    let (cell_north_deg, cell_east_deg) = (degrees("C", 1.0)?, degrees("D", 1.0)?);
    if cell_north_deg <= 0.0 || cell_east_deg <= 0.0 {
        return Err("the cells of a GRD have no size".into());
    }
    let template = match attributes.text("J") {
        Some(_) => Some(attributes.number("GRD", "J")?),
        None => None,
    };
    Ok(GridElement {
        south_deg: degrees("A", 90.0)?,
        west_deg: degrees("B", 180.0)?,
        cell_north_deg,
        cell_east_deg,
        columns: attributes.number("GRD", "E")?,
        rows: attributes.number("GRD", "F")?,
        file: attributes.needed("GRD", "G")?,
        kind: attributes.needed("GRD", "I")?,
        template,
    })
}

pub(super) fn corner(attributes: &Attributes) -> Result<Coord, String> {
    let (north, east): (f64, f64) =
        (attributes.number("PNT", "C")?, attributes.number("PNT", "D")?);
    match north.abs() <= 90.0 && east.abs() <= 180.0 {
        true => Ok(Coord { x: east, y: north }),
        false => Err(format!("the point at {north} north and {east} east is not on Earth")),
    }
}
