//! What stands in a TASKDATA.XML, as far as a plan goes.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::attributes::{Attributes, shown};
use super::elements::{
    Outline, Partfield, Presentation, Ring, Task, TreatmentZone, corner, grid, presentation, task,
    variable,
};
use crate::error::FormatError;

/// Deeper elements than this are no TASKDATA.
const MOST_DEPTH: usize = 32;
/// More tasks than this are none: each may have a grid to be read.
const MOST_TASKS: usize = 1_000;
/// More elements than this, points aside, are not kept in memory.
const MOST_ELEMENTS: usize = 1_000_000;
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
    pub field_ids: BTreeSet<String>,
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
    /// Elements so far, points aside.
    elements: usize,
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
        let mut has_root = false;
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
            has_root |= matches!(event, Event::Start(_) | Event::Empty(_));
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
                Event::Eof if !has_root => {
                    let problem = "it is not XML: there is no element in it".to_owned();
                    return Err(FormatError::NotTaskdata { file: path.into(), problem });
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
        self.elements += usize::from(name != "PNT");
        if self.elements > MOST_ELEMENTS {
            let problem = format!("more than {MOST_ELEMENTS} elements; split it");
            return Err(FormatError::NotTaskdata { file: path.to_path_buf(), problem });
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
            ("PFD", _) => {
                let id = attributes.needed("PFD", "A")?;
                self.field_ids.insert(id.clone());
                self.fields.push(Partfield { id, name: text("C"), polygons: Vec::new() });
            }
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
