//! Shapefiles written by the crate `shapefile`, which our reader does not use.

use std::path::{Path, PathBuf};

use shapefile::Point;
use shapefile::dbase::{FieldValue, Record, TableWriterBuilder};
use survey::{Insertion, LonLat, Measured, Outcome, Survey};

/// As geographic information systems write it.
pub const WGS_84: &str = r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#;
/// The same for zone 15 N.
pub const UTM_15_N: &str = r#"PROJCS["WGS_1984_UTM_Zone_15N",GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-93.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]"#;

/// Writes single depths as a shapefile into a folder.
pub fn write(folder: &Path, survey: &Survey, place: impl Fn(LonLat) -> [f64; 2]) -> PathBuf {
    let path = folder.join("survey.shp");
    let table = TableWriterBuilder::new()
        .add_character_field("POINT_ID".try_into().unwrap(), 10)
        .add_date_field("DATE".try_into().unwrap())
        .add_numeric_field("DEPTH_IN".try_into().unwrap(), 6, 2)
        .add_logical_field("AT_LEAST".try_into().unwrap())
        .add_numeric_field("MOIST_PCT".try_into().unwrap(), 6, 2)
        .add_character_field("NOTE".try_into().unwrap(), 40);
    let mut writer = shapefile::Writer::from_path(&path, table).unwrap();
    for insertion in &survey.insertions {
        let [east, north] = place(insertion.place);
        writer.write_shape_and_record(&Point::new(east, north), &record(insertion)).unwrap();
    }
    drop(writer);
    path
}

fn record(insertion: &Insertion) -> Record {
    let (inches, beyond) = match insertion.measured {
        Measured::Once(Outcome::Reached(depth)) => (Some(depth.inches()), false),
        Measured::Once(Outcome::NotReached { probed_to }) => (Some(probed_to.inches()), true),
        _ => (None, false),
    };
    let date = shapefile::dbase::Date::new(14, 4, 2025).unwrap();
    let mut record = Record::default();
    record.insert("POINT_ID".into(), FieldValue::Character(insertion.id.clone()));
    record.insert("DATE".into(), FieldValue::Date(Some(date)));
    record.insert("DEPTH_IN".into(), FieldValue::Numeric(inches));
    record.insert("AT_LEAST".into(), FieldValue::Logical(Some(beyond)));
    record.insert("MOIST_PCT".into(), FieldValue::Numeric(insertion.moisture_pct));
    record.insert("NOTE".into(), FieldValue::Character(insertion.note.clone()));
    record
}
