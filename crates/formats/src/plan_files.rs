//! All files of a plan but the machine's own, in a fixed order.

use plan::Plan;

use crate::error::FormatError;
use crate::geojson::plan_geojson;
use crate::kml::plan_kml;
use crate::plan_csv::plan_csv;
use crate::plan_geopackage::plan_geopackage;
use crate::plan_geotiff::plan_geotiffs;
use crate::plan_gpx::plan_gpx;
use crate::plan_rows::Rows;
use crate::plan_shapefile::plan_shapefiles;
use crate::write::Output;

/// What may be chosen of a plan's files.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PlanFileSettings {
    /// Side of a raster's cell in metres; `None` is 2 m.
    pub cell_m: Option<f64>,
}

/// A plan as GeoJSON (`plan.geojson`), GeoPackage (`plan.gpkg`) and KML (`plan.kml`), places inside its
/// parts as GPX and CSV (`centres.gpx`, `centres.csv`), then for each operation a shapefile of five files
/// and a raster, under its slug: `loosen.shp`, `loosen.tif`. The same plan gives the same bytes.
///
/// # Errors
/// [`FormatError::Plan`] where its parts and operations do not fit each other or a number is too large for
/// a format, [`FormatError::InvalidZone`] where an outline cannot be written so that it is valid.
pub fn plan_files(plan: &Plan, settings: &PlanFileSettings) -> Result<Vec<Output>, FormatError> {
    let rows = Rows::of(plan)?;
    let file = |name: &str, bytes: Vec<u8>| Output { name: name.into(), bytes };
    let mut files = vec![
        file("plan.geojson", plan_geojson(&rows).into_bytes()),
        file("plan.gpkg", plan_geopackage(&rows)?),
        file("plan.kml", plan_kml(&rows).into_bytes()),
        file("centres.gpx", plan_gpx(&rows).into_bytes()),
        file("centres.csv", plan_csv(&rows).into_bytes()),
    ];
    files.extend(plan_shapefiles(&rows)?);
    files.extend(plan_geotiffs(&rows, settings.cell_m)?);
    Ok(files)
}
