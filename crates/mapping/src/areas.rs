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
    let mut cells = vec![0.0; classes];
    for (cell, &value) in raster.values.iter().enumerate().filter(|(_, value)| !value.is_nan()) {
        cells[class_of(value)] += cut.share(cell);
    }
    let cell_m = raster.grid.cell_m();
    let cell_m2 = cell_m * cell_m * field.ground_area_m2() / field.plane_area_m2();
    cells.into_iter().map(|count| count * cell_m2).collect()
}
