//! A grid in words: its codes or doses as zones with their ground.

use survey::units::tidy;

use super::attributes::shown;
use super::described_task::{several, values, zone_name, zone_of};
use super::document::Document;
use super::elements::{GridElement, Task, Variable};
use super::ellipsoid::degree_m;
use super::source::Source;
use super::tally::{Cells, Doses, by_code, by_dose};
use crate::error::FormatError;
use crate::inspected::InspectedZone;

/// What a grid says.
#[derive(Default)]
pub(super) struct GridFound {
    pub zones: Vec<InspectedZone>,
    /// Indices of the treatment zones that it gives ground to.
    pub used: Vec<usize>,
    pub notes: Vec<String>,
}

/// Reads a grid's file, or says why it is of no use.
pub(super) fn grid_zones(
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
        let cell = |size: f64| tidy(size, 1);
        let middle = grid.south_deg + grid.cell_north_deg * f64::from(grid.rows) / 2.0;
        let (east_m, north_m) = degree_m(middle.clamp(-90.0, 90.0));
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
