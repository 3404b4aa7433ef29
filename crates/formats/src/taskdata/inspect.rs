//! TASKDATA in plain words: what a terminal will see.

use std::path::Path;

use geo::{Coord, GeodesicArea, LineString, Polygon};

use super::designator::designator;
use super::dictionary::known;
use super::document::{Document, GridElement, Outline, Task, TreatmentZone, Variable, shown};
use super::source::Source;
use super::tally::{Cells, Doses, by_code, by_dose};
use crate::error::FormatError;
use crate::input::text;
use crate::inspected::{Inspected, InspectedLayer, InspectedZone};

/// More files of elements than this are not read.
const MOST_EXTERNAL: usize = 100;
/// Names in one sentence; the others are counted.
const MOST_NAMES: usize = 8;

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

/// A task, and notes on it.
fn layer(
    document: &Document,
    task: &Task,
    source: &mut Source,
    extent: &mut Extent,
    notes: &mut Vec<String>,
) -> Result<InspectedLayer, FormatError> {
    let name = designator(&task.name, &task.id);
    let mut say = |note: String| notes.push(format!("task {name}: {note}"));
    task_notes(document, task).into_iter().for_each(&mut say);
    let mut zones = Vec::new();
    let mut with_ground = vec![false; task.zones.len()];
    if let Some(grid) = task.grids.first() {
        extent.add_grid(grid);
        match grid_zones(document, task, grid, source)? {
            Ok(found) => {
                found.notes.into_iter().for_each(&mut say);
                found.used.into_iter().for_each(|zone| with_ground[zone] = true);
                zones.extend(found.zones);
            }
            Err(problem) => say(format!("the grid {} is of no use: {problem}", shown(&grid.file))),
        }
    }
    for (index, zone) in task.zones.iter().enumerate() {
        if !zone.polygons.is_empty() {
            with_ground[index] = true;
            extent.add_outlines(&zone.polygons);
            zones.push(InspectedZone {
                name: zone_name(zone),
                area_m2: Some(zone.polygons.iter().map(area_m2).sum()),
                holes: zone.polygons.iter().map(|outline| holes(outline).count()).sum(),
                values: values(document, zone),
            });
        }
    }
    let idle = idle_zones(task, &with_ground);
    if !idle.is_empty() {
        say(format!("without ground: {}", several(&idle)));
    }
    Ok(InspectedLayer {
        name,
        quantities: quantities(document, task),
        zones,
        defaults: defaults(document, task),
    })
}

/// What a grid says.
#[derive(Default)]
struct GridFound {
    zones: Vec<InspectedZone>,
    /// Indices of the treatment zones that it gives ground to.
    used: Vec<usize>,
    notes: Vec<String>,
}

/// Reads a grid's file, or says why it is of no use.
fn grid_zones(
    document: &Document,
    task: &Task,
    grid: &GridElement,
    source: &mut Source,
) -> Result<Result<GridFound, String>, FormatError> {
    let is_name = grid.file.strip_prefix("GRD").is_some_and(|number| {
        number.len() == 5 && number.bytes().all(|byte| byte.is_ascii_digit())
    });
    if !is_name {
        return Ok(Err("its file's name is not GRD and five digits".into()));
    }
    let wanted = format!("{}.bin", grid.file);
    let Some(file) = source.file(&wanted)? else {
        return Ok(Err(format!("its file {wanted} is missing")));
    };
    let found = match grid.kind.as_str() {
        "1" => by_code(grid, &file.bytes).map(|cells| coded(document, task, &cells)),
        "2" => dosed(document, task, grid, &file.bytes),
        other => Err(format!("type {} is neither 1 nor 2", shown(other))),
    };
    Ok(found.map(|mut found| {
        let cell = |size: f64| survey::units::tidy(size, 1);
        let middle = grid.south_deg + grid.cell_north_deg * f64::from(grid.rows) / 2.0;
        let (east_m, north_m) = super::ellipsoid::degree_m(middle.clamp(-90.0, 90.0));
        let size = format!(
            "grid of type {}, {} columns and {} rows, cells of {} m by {} m",
            grid.kind,
            grid.columns,
            grid.rows,
            cell(grid.cell_east_deg * east_m),
            cell(grid.cell_north_deg * north_m)
        );
        found.notes.insert(0, size);
        if file.name != wanted {
            found.notes.push(format!("its file is called {}, not {wanted}", shown(&file.name)));
        }
        found
    }))
}

/// Zones of a grid of codes.
fn coded(document: &Document, task: &Task, cells: &[Cells; 256]) -> GridFound {
    let mut found = GridFound::default();
    let mut defined = [false; 256];
    for (index, zone) in task.zones.iter().enumerate() {
        let code = usize::from(zone.code);
        let Cells { count, area_m2 } = cells[code];
        if count == 0 || std::mem::replace(&mut defined[code], true) {
            continue;
        }
        found.used.push(index);
        // Ground outside the field is no zone, however much of the grid it takes.
        if task.out_of_field == Some(zone.code) {
            found.notes.push(format!("{count} cells lie outside the field"));
            continue;
        }
        found.zones.push(InspectedZone {
            name: zone_name(zone),
            area_m2: Some(area_m2),
            holes: 0,
            values: values(document, zone),
        });
    }
    let unknown: Vec<String> = (0..256)
        .filter(|&code| cells[code].count > 0 && !defined[code])
        .map(|code| format!("{code} ({} cells)", cells[code].count))
        .collect();
    if !unknown.is_empty() {
        found.notes.push(format!("codes in the grid that no zone defines: {}", several(&unknown)));
    }
    found
}

/// Zones of a grid of doses: one for each dose, or one for all when there are many.
fn dosed(
    document: &Document,
    task: &Task,
    grid: &GridElement,
    bytes: &[u8],
) -> Result<GridFound, String> {
    let template = grid.template.ok_or("it does not say which zone tells what its numbers are")?;
    let index = task.zones.iter().position(|zone| zone.code == template);
    let index = index.ok_or_else(|| format!("its zone {template} is not defined"))?;
    let variables = &task.zones[index].variables;
    let doses = by_dose(grid, bytes, variables.len())?;
    let outside = zone_of(task, task.out_of_field)
        .map(|zone| zone.variables.iter().map(|variable| variable.stored).collect::<Vec<i32>>());
    let text = |stored: &[i32]| -> Vec<String> {
        let pairs = variables.iter().zip(stored);
        pairs.map(|(variable, &stored)| document.value(variable, stored)).collect()
    };
    let zone = |(stored, cells): (&Vec<i32>, &Cells)| {
        let values = text(stored);
        let also = match Some(stored) == outside.as_ref() {
            true => ", as outside the field",
            false => "",
        };
        InspectedZone {
            name: format!("cells of {}{also}", values.join(" and ")),
            area_m2: Some(cells.area_m2),
            holes: 0,
            values,
        }
    };
    let mut zones: Vec<InspectedZone> = doses.cells.iter().map(zone).collect();
    if zones.is_empty() {
        zones.push(range_zone(document, variables, &doses));
    }
    let note = "a grid of type 2 has doses in its cells; not every terminal reads it".to_owned();
    Ok(GridFound { zones, used: vec![index], notes: vec![note] })
}

fn range_zone(document: &Document, variables: &[Variable], doses: &Doses) -> InspectedZone {
    let range = |(variable, &(least, greatest)): (&Variable, &(i32, i32))| {
        format!("{} to {}", document.value(variable, least), document.value(variable, greatest))
    };
    InspectedZone {
        name: format!("{} cells of many doses", doses.all.count),
        area_m2: Some(doses.all.area_m2),
        holes: 0,
        values: variables.iter().zip(&doses.ranges).map(range).collect(),
    }
}

/// Notes on a task apart from its ground.
fn task_notes(document: &Document, task: &Task) -> Vec<String> {
    let mut notes = Vec::new();
    if task.status != "1" {
        notes.push("its status is not planned".into());
    }
    if !task.has_owner {
        notes.push("no grower or no farm: some terminals then hide it".into());
    }
    let is_known = |id: &String| document.fields.iter().any(|field| field.id == *id);
    if !task.field.as_ref().is_some_and(is_known) {
        notes.push("its field is not in the file".into());
    }
    match (task.grids.len(), task.zones.iter().any(|zone| !zone.polygons.is_empty())) {
        (0, true) => notes.push(
            "zones as polygons only; a terminal that works by place need only read grids".into(),
        ),
        (0, false) => notes.push("no grid and no polygons: nothing says where".into()),
        (2.., _) => notes.push("more than one grid; only the first is described".into()),
        _ => {}
    }
    if task.zones.iter().any(|zone| zone.code == 255) {
        notes.push("code 255 is none that the standard has".into());
    }
    let mut seen = [false; 256];
    let again = |zone: &&TreatmentZone| std::mem::replace(&mut seen[usize::from(zone.code)], true);
    if let Some(zone) = task.zones.iter().find(again) {
        notes.push(format!("code {} is defined more than once", zone.code));
    }
    let variables = || task.zones.iter().flat_map(|zone| &zone.variables);
    let unknown = variables().map(|variable| variable.ddi).filter(|&ddi| known(ddi).is_none());
    let unknown: std::collections::BTreeSet<u16> = unknown.collect();
    if !unknown.is_empty() {
        let unknown: Vec<String> = unknown.iter().map(u16::to_string).collect();
        notes.push(format!("data entries that are not known here: {}", several(&unknown)));
    }
    notes
}

/// What the machine does where no zone says anything.
fn defaults(document: &Document, task: &Task) -> Vec<String> {
    let cases = [
        ("by default", task.default),
        ("with the position lost", task.position_lost),
        ("outside the field", task.out_of_field),
    ];
    let sentence = |(case, code): (&str, Option<u8>)| match (code, zone_of(task, code)) {
        (None, _) => format!("{case}: not said; the terminal decides"),
        (Some(code), None) => format!("{case}: zone {code}, which is not defined"),
        (_, Some(zone)) => {
            let values = zone.variables.iter().map(|variable| document.value_with_zero(variable));
            let values: Vec<String> = values.collect();
            match values.is_empty() {
                true => format!("{case}: nothing is set"),
                false => format!("{case}: {}", values.join(" and ")),
            }
        }
    };
    cases.map(sentence).to_vec()
}

fn zone_of(task: &Task, code: Option<u8>) -> Option<&TreatmentZone> {
    task.zones.iter().find(|zone| Some(zone.code) == code)
}

/// Each thing that the task sets, once.
fn quantities(document: &Document, task: &Task) -> Vec<String> {
    let mut quantities: Vec<String> = Vec::new();
    let mut seen = std::collections::BTreeSet::new();
    for variable in task.zones.iter().flat_map(|zone| &zone.variables) {
        let quantity = document.quantity(variable);
        if seen.insert(quantity.clone()) {
            quantities.push(quantity);
        }
    }
    quantities
}

/// Names of zones without ground that nothing refers to.
fn idle_zones(task: &Task, with_ground: &[bool]) -> Vec<String> {
    let is_referred_to = |code: u8| {
        [task.default, task.position_lost, task.out_of_field].contains(&Some(code))
            || task.grids.iter().any(|grid| grid.template == Some(code))
    };
    let zones = task.zones.iter().zip(with_ground);
    let idle = zones.filter(|(zone, with_ground)| !**with_ground && !is_referred_to(zone.code));
    idle.map(|(zone, _)| zone_name(zone)).collect()
}

fn zone_name(zone: &TreatmentZone) -> String {
    designator(&zone.name, &format!("zone {}", zone.code))
}

fn values(document: &Document, zone: &TreatmentZone) -> Vec<String> {
    let value = |variable: &Variable| document.value(variable, variable.stored);
    zone.variables.iter().map(value).collect()
}

/// Some names; the others are counted.
fn several(names: &[String]) -> String {
    match names.len() {
        ..=MOST_NAMES => names.join(", "),
        more => format!("{} and {} more", names[..MOST_NAMES].join(", "), more - MOST_NAMES),
    }
}

fn holes(outline: &Outline) -> impl Iterator<Item = &super::document::Ring> {
    outline.rings.iter().filter(|ring| ring.is_hole)
}

/// True area of an outline: what its outer rings hold without its holes.
fn area_m2(outline: &Outline) -> f64 {
    let signed = outline.rings.iter().map(|ring| {
        let polygon = Polygon::new(LineString::new(ring.corners.clone()), Vec::new());
        let area_m2 = match ring.corners.len() {
            ..3 => 0.0,
            _ => polygon.geodesic_area_signed().abs(),
        };
        if ring.is_hole { -area_m2 } else { area_m2 }
    });
    // From zero, since the sum of nothing is minus zero.
    signed.fold(0.0, |sum, area_m2| sum + area_m2)
}

/// West, south, east and north of what was added.
#[derive(Default)]
struct Extent(Option<[f64; 4]>);

impl Extent {
    fn add(&mut self, place: Coord) {
        let [west, south, east, north] = self.0.unwrap_or([place.x, place.y, place.x, place.y]);
        self.0 =
            Some([west.min(place.x), south.min(place.y), east.max(place.x), north.max(place.y)]);
    }

    fn add_outlines(&mut self, outlines: &[Outline]) {
        let rings = outlines.iter().flat_map(|outline| &outline.rings);
        rings.flat_map(|ring| &ring.corners).for_each(|&corner| self.add(corner));
    }

    fn add_grid(&mut self, grid: &GridElement) {
        self.add(Coord { x: grid.west_deg, y: grid.south_deg });
        let east = grid.west_deg + grid.cell_east_deg * f64::from(grid.columns);
        let north = grid.south_deg + grid.cell_north_deg * f64::from(grid.rows);
        self.add(Coord { x: east.min(180.0), y: north.min(90.0) });
    }
}
