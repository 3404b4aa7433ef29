//! How much ground the cells of a grid give to each code or dose.

use std::collections::BTreeMap;

use super::elements::GridElement;
use super::ellipsoid::degree_m;

/// More different doses than this are summed up as a range.
const MOST_DOSES: usize = 64;
/// More values in a cell than this are no grid.
const MOST_VALUES: usize = 16;

/// Some cells and their true area on the ground.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Cells {
    pub count: usize,
    pub area_m2: f64,
}

impl Cells {
    fn add(&mut self, area_m2: f64) {
        self.count += 1;
        self.area_m2 += area_m2;
    }
}

/// Cells of a grid of type 1, by code.
///
/// # Errors
/// When the file does not have a byte for each cell.
pub(super) fn by_code(grid: &GridElement, bytes: &[u8]) -> Result<[Cells; 256], String> {
    check_size(grid, bytes, 1)?;
    let mut cells = [Cells::default(); 256];
    for (row, codes) in bytes.chunks(grid.columns as usize).enumerate() {
        let area_m2 = cell_area_m2(grid, row);
        codes.iter().for_each(|&code| cells[usize::from(code)].add(area_m2));
    }
    Ok(cells)
}

/// Cells of a grid of type 2, by what is stored in them.
pub(super) struct Doses {
    /// In ascending order; empty when there are too many.
    pub cells: BTreeMap<Vec<i32>, Cells>,
    /// Least and greatest of each value.
    pub ranges: Vec<(i32, i32)>,
    pub all: Cells,
}

/// Cells of a grid of type 2 with so many values each.
///
/// # Errors
/// When the file does not have them.
pub(super) fn by_dose(grid: &GridElement, bytes: &[u8], values: usize) -> Result<Doses, String> {
    if !(1..=MOST_VALUES).contains(&values) {
        return Err(format!("its cells would have {values} values"));
    }
    check_size(grid, bytes, 4 * values)?;
    let ranges = vec![(i32::MAX, i32::MIN); values];
    let mut doses = Doses { cells: BTreeMap::new(), ranges, all: Cells::default() };
    let mut too_many = false;
    let mut stored = Vec::with_capacity(values);
    for (row, bytes) in bytes.chunks(4 * values * grid.columns as usize).enumerate() {
        let area_m2 = cell_area_m2(grid, row);
        for cell in bytes.chunks(4 * values) {
            stored.clear();
            stored
                .extend(cell.chunks_exact(4).map(|b| i32::from_le_bytes([b[0], b[1], b[2], b[3]])));
            doses.all.add(area_m2);
            for ((least, greatest), &value) in doses.ranges.iter_mut().zip(&stored) {
                (*least, *greatest) = ((*least).min(value), (*greatest).max(value));
            }
            if too_many {
                continue;
            }
            if let Some(cells) = doses.cells.get_mut(&stored) {
                cells.add(area_m2);
            } else if doses.cells.len() == MOST_DOSES {
                too_many = true;
            } else {
                doses.cells.entry(stored.clone()).or_default().add(area_m2);
            }
        }
    }
    if too_many {
        doses.cells.clear();
    }
    Ok(doses)
}

fn check_size(grid: &GridElement, bytes: &[u8], of_cell: usize) -> Result<(), String> {
    let cells = u64::from(grid.columns) * u64::from(grid.rows);
    match cells > 0 && u128::from(cells) * of_cell as u128 == bytes.len() as u128 {
        true => Ok(()),
        false => Err(format!(
            "it has {} bytes, and {} columns and {} rows need {of_cell} for each cell",
            bytes.len(),
            grid.columns,
            grid.rows
        )),
    }
}

/// True area of a cell of a row.
fn cell_area_m2(grid: &GridElement, row: usize) -> f64 {
    let middle_deg = grid.south_deg + (row as f64 + 0.5) * grid.cell_north_deg;
    let (east_m, north_m) = degree_m(middle_deg.clamp(-90.0, 90.0));
    east_m * grid.cell_east_deg * north_m * grid.cell_north_deg
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(columns: u32, rows: u32) -> GridElement {
        GridElement {
            south_deg: 0.0,
            west_deg: 10.0,
            cell_north_deg: 0.001,
            cell_east_deg: 0.002,
            columns,
            rows,
            file: "GRD00001".into(),
            kind: "1".into(),
            template: None,
        }
    }

    /// A cell of 0.001° by 0.002° at the equator: 110.5743 m × 222.6390 m = 24 618.1 m².
    #[test]
    fn cells_are_counted_with_their_area() {
        let cells = by_code(&grid(3, 2), &[1, 2, 1, 0, 0, 1]).unwrap();
        assert_eq!([cells[0].count, cells[1].count, cells[2].count], [2, 3, 1]);
        assert!((cells[2].area_m2 - 24_618.1).abs() < 0.1, "{}", cells[2].area_m2);
        assert!(by_code(&grid(3, 2), &[1; 5]).is_err());
        assert!(by_code(&grid(u32::MAX, u32::MAX), &[1; 5]).is_err());
        assert!(by_code(&grid(0, 2), &[]).is_err());
    }

    #[test]
    fn doses_are_counted_or_summed_up() {
        let bytes = |stored: &[i32]| -> Vec<u8> {
            stored.iter().flat_map(|stored| stored.to_le_bytes()).collect()
        };
        let doses = by_dose(&grid(2, 1), &bytes(&[5, -1, 5, 7]), 2).unwrap();
        let found: Vec<_> =
            doses.cells.iter().map(|(key, cells)| (key.clone(), cells.count)).collect();
        assert_eq!(found, [(vec![5, -1], 1), (vec![5, 7], 1)]);
        assert_eq!(doses.ranges, [(5, 5), (-1, 7)]);
        let many: Vec<i32> = (0..100).collect();
        let doses = by_dose(&grid(100, 1), &bytes(&many), 1).unwrap();
        assert!(doses.cells.is_empty());
        assert_eq!((doses.ranges[0], doses.all.count), ((0, 99), 100));
        assert!(by_dose(&grid(2, 1), &bytes(&[1]), 1).is_err());
        assert!(by_dose(&grid(2, 1), &[], 0).is_err());
    }
}
