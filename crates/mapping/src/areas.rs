//! Ground of the classes of a raster's values.

use geostat::Raster;
use survey::Field;

use crate::cut::CutField;

/// True area on the ground of each of so many classes, square metres: every cell goes whole into the
/// class of its value, as far as it lies in the field. UTM's scale is taken for the same all over the
/// field, which is off by some millionths.
pub(crate) fn areas_m2(
    cut: &CutField,
    field: &Field,
    raster: &Raster,
    classes: usize,
    class_of: impl Fn(f64) -> usize,
) -> Vec<f64> {
    let with_value = raster.values.iter().enumerate().filter(|(_, value)| !value.is_nan());
    areas_of_cells_m2(cut, field, classes, with_value.map(|(cell, &value)| (cell, class_of(value))))
}

/// The same of cells that come with their class.
pub(crate) fn areas_of_cells_m2(
    cut: &CutField,
    field: &Field,
    classes: usize,
    class_of_cells: impl Iterator<Item = (usize, usize)>,
) -> Vec<f64> {
    let mut cells = vec![0.0; classes];
    for (cell, class) in class_of_cells {
        cells[class] += cut.share(cell);
    }
    let cell_m = cut.grid().cell_m();
    let cell_m2 = cell_m * cell_m * field.ground_per_plane();
    cells.into_iter().map(|count| count * cell_m2).collect()
}
