//! What stands in a TASKDATA.XML, as far as a plan goes.

use std::collections::BTreeMap;
use std::path::Path;

use geo::Coord;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::designator::designator;
use crate::error::FormatError;

/// Deeper elements than this are no TASKDATA.
const MOST_DEPTH: usize = 32;
/// More attributes of one element than this are none.
const MOST_ATTRIBUTES: usize = 64;
/// More tasks than this are none: each may have a grid to be read.
const MOST_TASKS: usize = 1_000;
/// Faults beyond so many are only counted.
const MOST_FAULTS: usize = 10;

/// All elements of a plan, in the order of the file.
#[derive(Default)]
pub(super) struct Document {
    pub version: String,
    pub software: String,
    pub growers: Vec<String>,
    pub farms: Vec<String>,
    pub fields: Vec<Partfield>,
    /// Names by id.
    pub products: BTreeMap<String, String>,
    pub presentations: BTreeMap<String, Presentation>,
    pub tasks: Vec<Task>,
    /// Names of further files of elements (XFR).
    pub external: Vec<String>,
    /// Attributes and elements that only version 4 has.
    pub only_version_4: Vec<String>,
    /// What could not be read, and how many more of it there are.
    pub faults: Vec<String>,
    pub more_faults: usize,
}

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

/// Attributes that version 3 does not know, by element.
const ONLY_VERSION_4: [(&str, &[&str]); 5] = [
    ("PLN", &["E"]),
    ("LSG", &["F"]),
    ("PNT", &["G", "H", "I", "J", "K"]),
    ("PDT", &["F", "G", "H", "I", "J"]),
    ("PDV", &["F", "G"]),
];
const ONLY_VERSION_4_ELEMENTS: [&str; 8] = ["AFE", "BSN", "CAT", "GAN", "GGP", "GPN", "PRN", "TCC"];

impl Document {
    /// Adds the elements of a file. `root` is the name its root must have.
    ///
    /// # Errors
    /// When it is not XML, another root, or deeper than TASKDATA can be.
    pub fn read(&mut self, path: &Path, text: &str, root: &str) -> Result<(), FormatError> {
        let mut reader = Reader::from_str(text);
        let mut open: Vec<String> = Vec::new();
        // Depth of an element with a fault: what lies in it belongs to nothing that is known.
        let mut skipped: Option<usize> = None;
        let line = |at: u64| {
            let at = usize::try_from(at).unwrap_or(usize::MAX).min(text.len());
            text.as_bytes()[..at].iter().filter(|&&byte| byte == b'\n').count() + 1
        };
        let not_xml = |at: u64, problem: String| FormatError::NotXml {
            file: path.to_path_buf(),
            problem,
            line: line(at),
        };
        loop {
            let event = reader.read_event();
            let event =
                event.map_err(|error| not_xml(reader.error_position(), error.to_string()))?;
            match event {
                Event::Start(start) => {
                    let skip = skipped.is_some();
                    let (name, sound) = self.start(path, root, &open, &start, skip)?;
                    if !sound && !skip {
                        skipped = Some(open.len());
                    }
                    if open.len() >= MOST_DEPTH {
                        let problem = format!("elements lie more than {MOST_DEPTH} deep");
                        return Err(FormatError::NotTaskdata { file: path.into(), problem });
                    }
                    open.push(name);
                }
                Event::Empty(start) => {
                    self.start(path, root, &open, &start, skipped.is_some())?;
                }
                Event::End(_) => {
                    open.pop();
                    if skipped == Some(open.len()) {
                        skipped = None;
                    }
                }
                Event::Eof if open.is_empty() => return Ok(()),
                Event::Eof => {
                    let problem = "it ends within an element".to_owned();
                    return Err(not_xml(text.len() as u64, problem));
                }
                _ => {}
            }
        }
    }

    /// Takes an element unless it is to be skipped; gives its name and whether it is sound.
    fn start(
        &mut self,
        path: &Path,
        root: &str,
        open: &[String],
        start: &BytesStart,
        skip: bool,
    ) -> Result<(String, bool), FormatError> {
        let name = String::from_utf8_lossy(start.local_name().as_ref()).into_owned();
        let attributes = Attributes::of(start);
        if open.is_empty() {
            if name != root {
                let problem = format!("its root is {}, not {root}", shown(&name));
                return Err(FormatError::NotTaskdata { file: path.to_path_buf(), problem });
            }
            if root == "ISO11783_TaskData" {
                self.head(&attributes);
            }
            return Ok((name, true));
        }
        if skip {
            return Ok((name, false));
        }
        self.note_version_4(&name, &attributes);
        let parent = open.last().map_or("", String::as_str);
        let of_task = open.iter().any(|element| element == "TSK");
        let taken = self.element(&name, parent, of_task, &attributes);
        let sound = taken.is_ok();
        if let Err(fault) = taken {
            self.fault(fault);
        }
        Ok((name, sound))
    }

    fn head(&mut self, attributes: &Attributes) {
        let text = |name| attributes.text(name).unwrap_or_default();
        self.version = format!("{}.{}", text("VersionMajor"), text("VersionMinor"));
        let (maker, version) =
            (text("ManagementSoftwareManufacturer"), text("ManagementSoftwareVersion"));
        self.software = format!("{maker} {version}").trim().to_owned();
    }

    fn note_version_4(&mut self, name: &str, attributes: &Attributes) {
        let known = ONLY_VERSION_4.iter().find(|(element, _)| *element == name);
        let found = known.and_then(|(_, letters)| {
            letters.iter().find(|letter| attributes.text(letter).is_some())
        });
        let what = match found {
            Some(letter) => format!("attribute {letter} of {name}"),
            None if ONLY_VERSION_4_ELEMENTS.contains(&name) => format!("element {name}"),
            None => return,
        };
        if !self.only_version_4.contains(&what) {
            self.only_version_4.push(what);
        }
    }

    fn fault(&mut self, fault: String) {
        match self.faults.len() < MOST_FAULTS {
            true => self.faults.push(fault),
            false => self.more_faults += 1,
        }
    }

    /// Takes an element below the root, or says what is wrong with it.
    fn element(
        &mut self,
        name: &str,
        parent: &str,
        of_task: bool,
        attributes: &Attributes,
    ) -> Result<(), String> {
        let text = |letter| attributes.text(letter).unwrap_or_default();
        match (name, parent) {
            ("CTR", _) => self.growers.push(text("B")),
            ("FRM", _) => self.farms.push(text("B")),
            ("XFR", _) => self.external.push(text("A")),
            ("PFD", _) => self.fields.push(Partfield {
                id: attributes.needed("PFD", "A")?,
                name: text("C"),
                polygons: Vec::new(),
            }),
            ("PDT", _) => {
                self.products.insert(attributes.needed("PDT", "A")?, text("B"));
            }
            ("VPN", _) => {
                let id = attributes.needed("VPN", "A")?;
                self.presentations.insert(id, presentation(attributes)?);
            }
            ("TSK", _) if self.tasks.len() == MOST_TASKS => {
                return Err(format!("more than {MOST_TASKS} tasks"));
            }
            ("TSK", _) => self.tasks.push(task(attributes)?),
            ("TZN", "TSK") => {
                let zone = TreatmentZone {
                    code: attributes.number("TZN", "A")?,
                    name: text("B"),
                    ..TreatmentZone::default()
                };
                self.task()?.zones.push(zone);
            }
            // One within another belongs to a device's many outputs: its values stand there.
            ("PDV", "TZN" | "PDV") => {
                let variable = variable(attributes)?;
                self.zone()?.variables.push(variable);
            }
            ("GRD", "TSK") => {
                let grid = grid(attributes)?;
                self.task()?.grids.push(grid);
            }
            ("PLN", "PFD") => self.field()?.polygons.push(Outline::default()),
            ("PLN", "TZN") => self.zone()?.polygons.push(Outline::default()),
            ("LSG", "PLN") => {
                let ring = Ring { is_hole: text("A") == "2", corners: Vec::new() };
                self.outlines(of_task)?.last_mut().ok_or("LSG without PLN")?.rings.push(ring);
            }
            ("PNT", "LSG") => {
                let corner = corner(attributes)?;
                // Lines that are no outlines have points as well.
                let outline = self.outlines(of_task).ok().and_then(|outlines| outlines.last_mut());
                if let Some(ring) = outline.and_then(|outline| outline.rings.last_mut()) {
                    ring.corners.push(corner);
                }
            }
            _ => {}
        }
        Ok(())
    }

    fn task(&mut self) -> Result<&mut Task, String> {
        self.tasks.last_mut().ok_or_else(|| "an element of a task without TSK".into())
    }

    fn zone(&mut self) -> Result<&mut TreatmentZone, String> {
        self.task()?.zones.last_mut().ok_or_else(|| "an element of a zone without TZN".into())
    }

    fn field(&mut self) -> Result<&mut Partfield, String> {
        self.fields.last_mut().ok_or_else(|| "an element of a field without PFD".into())
    }

    fn outlines(&mut self, of_task: bool) -> Result<&mut Vec<Outline>, String> {
        match of_task {
            true => Ok(&mut self.zone()?.polygons),
            false => Ok(&mut self.field()?.polygons),
        }
    }
}

fn presentation(attributes: &Attributes) -> Result<Presentation, String> {
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

fn task(attributes: &Attributes) -> Result<Task, String> {
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

fn variable(attributes: &Attributes) -> Result<Variable, String> {
    let ddi = attributes.needed("PDV", "A")?;
    Ok(Variable {
        ddi: u16::from_str_radix(&ddi, 16)
            .map_err(|_| format!("{} of a PDV is no number of the dictionary", shown(&ddi)))?,
        stored: attributes.number("PDV", "B")?,
        product: attributes.text("C"),
        presentation: attributes.text("E"),
    })
}

fn grid(attributes: &Attributes) -> Result<GridElement, String> {
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

fn corner(attributes: &Attributes) -> Result<Coord, String> {
    let (north, east): (f64, f64) =
        (attributes.number("PNT", "C")?, attributes.number("PNT", "D")?);
    match north.abs() <= 90.0 && east.abs() <= 180.0 {
        true => Ok(Coord { x: east, y: north }),
        false => Err(format!("the point at {north} north and {east} east is not on Earth")),
    }
}

/// The attributes of an element.
struct Attributes(Vec<(String, String)>);

impl Attributes {
    fn of(start: &BytesStart) -> Attributes {
        let mut attributes = start.attributes();
        let attributes = attributes.with_checks(false).take(MOST_ATTRIBUTES).flatten();
        let text = attributes.filter_map(|attribute| {
            let name = String::from_utf8_lossy(attribute.key.local_name().as_ref()).into_owned();
            Some((name, attribute.unescape_value().ok()?.into_owned()))
        });
        Attributes(text.collect())
    }

    fn text(&self, name: &str) -> Option<String> {
        self.0.iter().find(|(key, _)| key == name).map(|(_, text)| text.clone())
    }

    fn needed(&self, element: &str, name: &str) -> Result<String, String> {
        self.text(name).ok_or_else(|| format!("a {element} has no attribute {name}"))
    }

    fn number<T: std::str::FromStr>(&self, element: &str, name: &str) -> Result<T, String> {
        let text = self.needed(element, name)?;
        text.trim().parse().map_err(|_| {
            format!("attribute {name} of a {element} is {}, not a number it may be", shown(&text))
        })
    }
}

/// A text of a stranger, short and plain, in quotes.
pub(super) fn shown(text: &str) -> String {
    format!("{:?}", designator(text, ""))
}
