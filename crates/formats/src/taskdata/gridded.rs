//! A plan's parts on a grid, and the grid's files.

use geo::{Coord, CoordsIter};
use plan::Plan;
use survey::EastNorth;
use survey::units::tidy;

use super::TaskdataSettings;
use super::grid::Grid;
use super::ground::Ground;
use super::settings::{USUAL_CELL_M, Zones};
use super::task::{OUT_OF_FIELD, Task, ZoneNames, check_codes};
use super::xml::Element;
use crate::error::FormatError;
use crate::write::Output;

/// A part whose cells cover more or less than its ground by more than this share is told.
const MOST_OFF: f64 = 0.25;

/// Which part each cell of a grid belongs to.
pub(super) struct Gridded {
    grid: Grid,
    cell_m: f64,
    /// The part that holds the cell's middle, in the order of the file.
    part_of: Vec<Option<usize>>,
    /// Cells of each part.
    cells: Vec<usize>,
}

impl Gridded {
    /// Lays a grid over the parts of a plan.
    ///
    /// # Errors
    /// When the cell size makes no grid.
    pub fn new(plan: &Plan, settings: &TaskdataSettings) -> Result<Gridded, FormatError> {
        let cell_m = settings.cell_m.or(plan.swath_m).unwrap_or(USUAL_CELL_M);
        let problem = |problem| FormatError::Taskdata { problem };
        let grid = Grid::over(extent(plan), cell_m).map_err(problem)?;
        let ground = Ground::of(&plan.parts);
        let part_of: Vec<Option<usize>> = grid
            .centres()
            .map(|centre| {
                // A place that cannot be projected is far outside the field.
                let place: EastNorth = plan.utm.project(centre).ok()?;
                ground.part_at(Coord::from(place))
            })
            .collect();
        let mut cells = vec![0; plan.parts.len()];
        part_of.iter().flatten().for_each(|&part| cells[part] += 1);
        if cells.iter().all(|&count| count == 0) {
            return Err(problem(format!(
                "no cell of {} m has its middle in the field; choose smaller cells",
                tidy(cell_m, 2)
            )));
        }
        Ok(Gridded { grid, cell_m, part_of, cells })
    }

    /// What the grid does not show as the plan has it.
    pub fn warnings(&self, plan: &Plan) -> Vec<String> {
        let cell = tidy(self.cell_m, 2);
        let mut warnings = Vec::new();
        if let Some(swath_m) = plan.swath_m.filter(|swath_m| self.cell_m < swath_m - 1e-9) {
            warnings.push(format!(
                "cells of {cell} m are narrower than a pass of {} m: the machine cannot follow each of \
                 them",
                tidy(swath_m, 2)
            ));
        }
        let names = |chosen: &dyn Fn(usize) -> bool| {
            let chosen = (0..plan.parts.len()).filter(|&part| chosen(part));
            chosen.map(|part| plan.parts[part].id.as_str()).collect::<Vec<_>>().join(", ")
        };
        let lost = names(&|part| self.cells[part] == 0);
        if !lost.is_empty() {
            warnings.push(format!(
                "no middle of a {cell} m cell lies in {lost}: the machine will not see it; choose smaller \
                 cells"
            ));
        }
        let off = names(&|part| {
            let share = self.cells[part] as f64 * self.cell_m * self.cell_m
                / plan.parts[part].ground_area_m2;
            self.cells[part] > 0 && (share - 1.0).abs() > MOST_OFF
        });
        if !off.is_empty() {
            warnings.push(format!(
                "in {cell} m cells the area differs by more than {:.0} % for {off}; smaller cells come closer",
                MOST_OFF * 100.0
            ));
        }
        warnings
    }

    /// The tasks and the files of their grids.
    ///
    /// # Errors
    /// When there are more zones than codes.
    pub fn tasks(
        &self,
        plan: &Plan,
        zones: Zones,
        tasks: &[Task],
        names: Vec<String>,
    ) -> Result<(Vec<Element>, Vec<Output>), FormatError> {
        let zone_names = ZoneNames::of(plan);
        let mut elements = Vec::new();
        let mut files = Vec::new();
        for ((task, name), number) in tasks.iter().zip(names).zip(1..) {
            let file = format!("GRD{number:05}");
            let (bytes, element) = match zones {
                Zones::GridType2 => {
                    let bytes = self.doses(task);
                    let grid = self.grid.element(&file, bytes.len(), 2);
                    (bytes, task.element_of_doses(name, grid))
                }
                Zones::GridType1 | Zones::Polygons => {
                    check_codes(plan)?;
                    let bytes = self.codes(task);
                    let grid = self.grid.element(&file, bytes.len(), 1);
                    // Only codes that stand in the grid get a zone.
                    let ground = |parts: &[usize]| {
                        let used = parts.iter().any(|&part| self.cells[part] > 0);
                        used.then(Vec::new)
                    };
                    (bytes, task.element(name, &zone_names, &ground, Some(grid)))
                }
            };
            elements.push(element);
            files.push(Output { name: format!("TASKDATA/{file}.bin"), bytes });
        }
        Ok((elements, files))
    }

    /// Grid type 1: a byte with the code of its zone for each cell.
    fn codes(&self, task: &Task) -> Vec<u8> {
        let codes: Vec<u8> = (0..self.cells.len()).map(|part| task.code(part)).collect();
        self.part_of.iter().map(|part| part.map_or(OUT_OF_FIELD, |part| codes[part])).collect()
    }

    /// Grid type 2: the stored dose of each cell, a little-endian 32-bit integer.
    fn doses(&self, task: &Task) -> Vec<u8> {
        self.part_of.iter().flat_map(|&part| task.dose(part).to_le_bytes()).collect()
    }
}

/// West, south, east and north of all parts, degrees.
pub(super) fn extent(plan: &Plan) -> [f64; 4] {
    let corners = plan.parts.iter().flat_map(|part| part.polygons.coords_iter());
    let start = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    corners.fold(start, |[west, south, east, north], corner| {
        let place = plan.utm.unproject(EastNorth::from(corner));
        [
            west.min(place.lon_deg),
            south.min(place.lat_deg),
            east.max(place.lon_deg),
            north.max(place.lat_deg),
        ]
    })
}
