//! TASKDATA in plain words: what a terminal will see.

use std::path::Path;

use super::attributes::shown;
use super::described_task::layer;
use super::designator::designator;
use super::document::Document;
use super::extent::Extent;
use super::source::Source;
use crate::error::FormatError;
use crate::input::text;
use crate::inspected::Inspected;

/// More files of elements than this are not read.
const MOST_EXTERNAL: usize = 100;

/// Reads TASKDATA of version 3 or 4: a folder `TASKDATA`, a folder that holds one, its `TASKDATA.XML`, or a
/// zip archive of it. A file without what a plan needs is still described, with notes on what is missing.
///
/// # Errors
/// When there is no TASKDATA.XML, it is not XML of this kind, or larger than what is read.
pub fn inspect_taskdata(path: &Path) -> Result<Inspected, FormatError> {
    let mut source = Source::open(path)?;
    let main = source.main()?;
    let mut notes = Vec::new();
    if main.name != "TASKDATA.XML" {
        notes.push(format!(
            "the main file is called {}; terminals look for TASKDATA.XML",
            shown(&main.name)
        ));
    }
    let mut document = Document::default();
    document.read(path, text(path, &main.bytes)?, "ISO11783_TaskData")?;
    read_external(path, &mut source, &mut document, &mut notes)?;
    let mut extent = Extent::default();
    let mut layers = Vec::new();
    for task in &document.tasks {
        layers.push(layer(&document, task, &mut source, &mut extent, &mut notes)?);
    }
    let of_fields = document.fields.iter().flat_map(|field| &field.polygons);
    of_fields.flat_map(|outline| &outline.rings).for_each(|ring| {
        ring.corners.iter().for_each(|&corner| extent.add(corner));
    });
    notes.splice(0..0, head(&document));
    Ok(Inspected {
        format: format!(
            "ISO 11783-10 TASKDATA, version {}",
            designator(&document.version, "not said")
        ),
        field: field_name(&document),
        extent_deg: extent.0,
        layers,
        notes,
    })
}

/// Adds the elements of further files (XFR).
fn read_external(
    path: &Path,
    source: &mut Source,
    document: &mut Document,
    notes: &mut Vec<String>,
) -> Result<(), FormatError> {
    let names = std::mem::take(&mut document.external);
    if names.len() > MOST_EXTERNAL {
        notes.push(format!("more than {MOST_EXTERNAL} further files; the others were not read"));
    }
    for name in names.iter().take(MOST_EXTERNAL) {
        let is_name = name.len() == 8 && name.bytes().all(|byte| byte.is_ascii_alphanumeric());
        let file = match is_name {
            true => source.file(&format!("{name}.XML"))?,
            false => None,
        };
        match file {
            Some(file) => document.read(path, text(path, &file.bytes)?, "XFC")?,
            None => notes.push(format!("the further file {} is missing", shown(name))),
        }
    }
    Ok(())
}

/// The field of the first task, or the first of all.
fn field_name(document: &Document) -> Option<String> {
    let wanted = document.tasks.first().and_then(|task| task.field.as_ref());
    let field = document.fields.iter().find(|field| Some(&field.id) == wanted);
    field.or(document.fields.first()).map(|field| designator(&field.name, "without a name"))
}

/// Notes on the file as a whole.
fn head(document: &Document) -> Vec<String> {
    let mut notes = Vec::new();
    let mut say = |note: String| notes.push(note);
    if !document.software.is_empty() {
        say(format!("made by {}", shown(&document.software)));
    }
    let name = |names: &[String]| names.first().map(|name| designator(name, "without a name"));
    match (name(&document.growers), name(&document.farms)) {
        (Some(grower), Some(farm)) => say(format!("grower: {grower}; farm: {farm}")),
        _ => say("no grower or no farm: some terminals then hide the tasks".into()),
    }
    match document.version.split('.').next() {
        Some("3") => {}
        Some("4") => say("version 4: older terminals read only version 3".into()),
        _ => say("neither version 3 nor 4: a terminal may not read it".into()),
    }
    if document.version.starts_with('3') && !document.only_version_4.is_empty() {
        say(format!(
            "not known to version 3, which the file says it is: {}",
            document.only_version_4.join(", ")
        ));
    }
    if document.fields.is_empty() {
        say("no field (PFD) in it".into());
    }
    if document.tasks.is_empty() {
        say("no task (TSK) in it: there is nothing to load".into());
    }
    document.faults.iter().for_each(|fault| say(format!("left out: {fault}")));
    if document.more_faults > 0 {
        say(format!("{} more elements with faults were left out", document.more_faults));
    }
    notes
}
