//! What is said of files that others made, well or badly.

#![expect(clippy::unwrap_used, reason = "a test may panic")]
#![expect(clippy::needless_pass_by_value, reason = "made on the spot")]

use std::path::PathBuf;

use formats::{FormatError, Inspected, inspect};
use serde_json::{Value, json};

/// A folder with one file, and what is found in it.
fn found(name: &str, content: &[u8]) -> Result<Inspected, FormatError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, content).unwrap();
    inspect(&path)
}

fn square(west: f64, south: f64, side: f64) -> Value {
    let (east, north) = (west + side, south + side);
    json!([[west, south], [east, south], [east, north], [west, north], [west, south]])
}

fn feature(rings: Vec<Value>, properties: Value) -> Value {
    json!({"type": "Feature", "properties": properties,
        "geometry": {"type": "Polygon", "coordinates": rings}})
}

fn geojson(features: Vec<Value>) -> Inspected {
    let file = json!({"type": "FeatureCollection", "name": "rates", "features": features});
    found("f.json", file.to_string().as_bytes()).unwrap()
}

fn assert_notes(found: &Inspected, expected: &[&str]) {
    let all = found.notes.join("\n");
    assert_eq!(found.notes.len(), expected.len(), "{all}");
    for expected in expected {
        assert!(all.contains(expected), "{all}\nlacks {expected}");
    }
}

#[test]
fn units_are_told_by_names_or_missed() {
    let with =
        |properties: Value| geojson(vec![feature(vec![square(9.0, 50.0, 0.001)], properties)]);
    let silent = with(json!({"Rate": 250, "Name": "A"}));
    assert_notes(&silent, &["has no rate column with a unit in its name (its numbers are Rate)"]);
    assert_eq!(silent.layers[0].zones[0].values, ["250"]);
    assert_eq!(silent.layers[0].zones[0].name, "A");
    let nothing = with(json!({"note": "wet"}));
    assert_notes(&nothing, &["has no column of numbers"]);
    let said = with(json!({"Rate": 250, "Unit": "L/ha", "lime_kg_ha": 1500.5}));
    assert_notes(&said, &[]);
    assert_eq!(said.layers[0].quantities, ["rate in L/ha", "lime in kg/ha"]);
    assert_eq!(said.layers[0].zones[0].values, ["250 L/ha", "1500.5 kg/ha"]);
}

#[test]
fn odd_shapes_are_named() {
    let rate = |name: &str| json!({"name": name, "lime_kg_ha": 1});
    let bow_tie = json!([[9, 50], [9.001, 50.001], [9.001, 50], [9, 50.001], [9, 50]]);
    let found = geojson(vec![
        feature(vec![square(9.01, 50.0, 0.001)], rate("A")),
        feature(vec![square(9.0105, 50.0, 0.001)], rate("B")),
        feature(vec![bow_tie], rate("C")),
        json!({"type": "Feature", "properties": rate("D"), "geometry": null}),
        json!({"type": "Feature", "properties": rate("E"),
            "geometry": {"type": "LineString", "coordinates": [[9, 50], [9.1, 50]]}}),
        feature(
            vec![square(9.02, 50.0, 0.001)],
            json!({"name": "F", "lime_kg_ha": 1, "area_ha": 2}),
        ),
    ]);
    assert_notes(
        &found,
        &[
            "record 3 (C) is no valid polygon: ring 1 crosses itself near longitude 9.000500",
            "record 4 (D) has no place",
            "record 5 (E) is a LineString, which is no zone",
            "record 6 (F) states 4.94 ac (2 ha), its outline has 1.97 ac (0.797 ha)",
            "A and B overlap on 0.99 ac (0.399 ha)",
        ],
    );
    let extent = found.extent_deg.unwrap();
    assert!(extent.iter().zip([9.0, 50.0, 9.021, 50.001]).all(|(a, b)| (a - b).abs() < 1e-9));
}

#[test]
fn a_latitude_that_stands_first_is_seen() {
    let found =
        geojson(vec![feature(vec![square(41.93, -95.62, 0.001)], json!({"lime_kg_ha": 1}))]);
    assert_notes(&found, &["no places, such as 41.93, -95.62; the latitude seems to stand first"]);
    assert_eq!(found.extent_deg, None);
}

#[test]
fn metres_are_no_degrees() {
    let metres = || feature(vec![square(448_000.0, 4_650_000.0, 100.0)], json!({"lime_kg_ha": 1}));
    let found = geojson(vec![metres()]);
    assert_notes(&found, &["coordinates that are not degrees, such as 448000, 4650000"]);
    assert_eq!((found.extent_deg, found.layers[0].zones[0].area_m2), (None, None));
    let file = json!({"type": "FeatureCollection", "features": [metres()],
        "crs": {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::32615"}}});
    let found = self::found("f.json", file.to_string().as_bytes()).unwrap();
    assert_notes(&found, &["it has a crs member", "many displays want longitude and latitude"]);
    // UTM makes lengths 0.04 % too short in the middle of its zone.
    let area_m2 = found.layers[0].zones[0].area_m2.unwrap();
    assert!((area_m2 / 10_000.0 / 1.0007 - 1.0).abs() < 2e-4, "{area_m2}");
}

#[test]
fn other_wrappings_are_read() {
    let polygon = json!({"type": "Polygon", "coordinates": [square(9.0, 50.0, 0.001)]});
    let alone = found("f", polygon.to_string().as_bytes()).unwrap();
    assert_eq!(alone.layers[0].zones.len(), 1);
    let one = feature(vec![square(9.0, 50.0, 0.001)], json!({"zone_id": "Z1"})).to_string();
    assert_eq!(found("f", one.as_bytes()).unwrap().layers[0].zones[0].name, "Z1");
    let sequence = found("f", format!("{one}\n{one}\n").as_bytes()).unwrap();
    assert_eq!(sequence.layers[0].zones.len(), 2);
    let empty = found("f", br#"{"type":"Topology","objects":{}}"#).unwrap_err().to_string();
    assert!(empty.contains("it is a Topology, not GeoJSON"), "{empty}");
    let nothing = found("f", br#"{"type":"FeatureCollection","features":[]}"#).unwrap_err();
    assert!(matches!(nothing, FormatError::NoFeatures { .. }));
}

#[test]
fn tables_and_waypoints() {
    let table = found("t.txt", b"id;lon;lat;lime_t_ha\nA;9,5;50,25;2,5\nB;9,6;50,5;\n").unwrap();
    assert_eq!(table.layers[0].quantities, ["lime in t/ha"]);
    let values: Vec<_> = table.layers[0].zones.iter().map(|zone| zone.values.join(",")).collect();
    assert_eq!(values, ["2.5 t/ha", "none"]);
    assert_eq!(table.extent_deg, Some([9.5, 50.25, 9.6, 50.5]));
    let nowhere = found("t.csv", b"zone,rate_kg_ha\n1,50\n2,60\n").unwrap();
    assert_notes(&nowhere, &["it has no columns for longitude and latitude"]);
    assert_eq!(nowhere.layers[0].zones[1].values, ["60 kg/ha"]);
    let gpx = br#"<gpx version="1.1"><wpt lat="50" lon="9"><name>A&amp;B</name></wpt><trk/></gpx>"#;
    let gpx = found("w", gpx).unwrap();
    assert_eq!(gpx.layers[0].zones[0].name, "A&B");
    assert!(gpx.notes.contains(&"1 routes and tracks are not looked at".into()), "{:?}", gpx.notes);
}

#[test]
fn kml_of_others() {
    let text = r#"<kml xmlns="http://www.opengis.net/kml/2.2"><Document><name><![CDATA[R & S]]></name>
        <Folder><Placemark><name>A</name><ExtendedData><SchemaData schemaUrl="s">
        <SimpleData name="lime_kg_ha">1500</SimpleData></SchemaData></ExtendedData>
        <Polygon><outerBoundaryIs><LinearRing><coordinates>
        9,50,12 9.001,50,12 9.001,50.001,12 9,50.001,12 9,50,12 </coordinates></LinearRing></outerBoundaryIs>
        </Polygon></Placemark><Placemark><LineString><coordinates>1,2 3,4</coordinates></LineString></Placemark>
        <Placemark><Point><coordinates>x,1</coordinates></Point></Placemark></Folder></Document></kml>"#;
    let kml = found("k", text.as_bytes()).unwrap();
    let layer = &kml.layers[0];
    assert_eq!((layer.name.as_str(), layer.zones.len()), ("R & S", 3));
    assert_eq!(layer.zones[0].values, ["1500 kg/ha"]);
    assert!((layer.zones[0].area_m2.unwrap() - 7_975.0).abs() < 20.0, "{layer:?}");
    assert_notes(&kml, &["is a LineString", "coordinates that are not longitude,latitude"]);
    let deep = "<kml>".to_owned() + &"<a>".repeat(100_000);
    assert!(found("k", deep.as_bytes()).unwrap_err().to_string().contains("too deep"));
    assert!(found("k", b"<kml><Document>").unwrap_err().to_string().contains("ends within"));
}

#[test]
fn shapefiles_without_their_siblings() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.shp");
    let ring = shapefile::PolygonRing::Outer(
        [
            (448_000.0, 0.0),
            (448_000.0, 100.0),
            (448_100.0, 100.0),
            (448_100.0, 0.0),
            (448_000.0, 0.0),
        ]
        .map(|(x, y)| shapefile::Point::new(x, y))
        .to_vec(),
    );
    let mut writer = shapefile::ShapeWriter::from_path(&path).unwrap();
    writer.write_shape(&shapefile::Polygon::new(ring)).unwrap();
    drop(writer);
    let alone = inspect(&path).unwrap();
    assert_notes(
        &alone,
        &[
            "no .dbf",
            "no .prj",
            "no .cpg",
            "that are not degrees, such as 448000, 0",
            "no column of numbers",
        ],
    );
    // Given by its index, whose first bytes are the same.
    assert_eq!(inspect(&path.with_extension("shx")).unwrap(), alone);
    std::fs::remove_file(&path).unwrap();
    let lost = inspect(&path.with_extension("shx")).unwrap_err().to_string();
    assert!(lost.contains("the index of a shapefile whose .shp is not beside it"), "{lost}");
}

#[test]
fn geopackages_of_others_cannot_run_on() {
    let made = |sql: &str| {
        let db = rusqlite::Connection::open_in_memory().unwrap();
        db.execute_batch(sql).unwrap();
        found("g", &db.serialize("main").unwrap()).map_err(|error| error.to_string())
    };
    let contents = "CREATE TABLE gpkg_contents (table_name TEXT, data_type TEXT);
        CREATE TABLE gpkg_geometry_columns (table_name TEXT, column_name TEXT, srs_id INTEGER);
        INSERT INTO gpkg_contents VALUES ('t', 'features');
        INSERT INTO gpkg_geometry_columns VALUES ('t', 'geom', 4326);";
    assert!(made("CREATE TABLE t (a)").unwrap_err().contains("it has no table gpkg_contents"));
    assert_notes(
        &made(contents).unwrap(),
        &["layer t is named but not there", "no layer of shapes"],
    );
    let endless =
        "CREATE VIEW t AS WITH RECURSIVE n(geom) AS (SELECT 1 UNION ALL SELECT geom + 1 FROM n)
        SELECT * FROM n;";
    let view = made(&format!("{contents}{endless}")).unwrap();
    assert_notes(&view, &["layer t is no plain table", "no layer of shapes"]);
    let contents_view =
        "CREATE VIEW gpkg_contents AS WITH RECURSIVE n(table_name) AS (SELECT 'x' UNION ALL \
        SELECT table_name FROM n) SELECT table_name, 'features' AS data_type FROM n ORDER BY 1;
        CREATE TABLE gpkg_geometry_columns (table_name TEXT, column_name TEXT, srs_id INTEGER);";
    assert!(made(contents_view).unwrap_err().contains("no sound GeoPackage"));
    let damaged = format!("{contents} CREATE TABLE t (geom BLOB, lime_kg_ha REAL);
        INSERT INTO t VALUES (x'4750000100000000', 5), (x'47500001E6100000010300000000FFFFFF', 6), (NULL, NULL);");
    let damaged = made(&damaged).unwrap();
    assert_eq!(damaged.layers[0].zones[1].values, ["6 kg/ha"]);
    assert_notes(
        &damaged,
        &["record 1 (1) has a damaged", "record 2 (2) has a damaged", "record 3 (3) has no place"],
    );
}

/// A raster one cell wide, in tiles of 16 384 by 16 384 cells: to count its values all of them would be
/// decoded.
#[test]
fn tiles_larger_than_the_raster_are_not_decoded() {
    let (short, long) = (3_u16, 4_u16);
    let entries: [(u16, u16, u32, u32); 10] = [
        (256, long, 1, 1),
        (257, long, 1, 32_768),
        (258, short, 1, 8),
        (259, short, 1, 1),
        (262, short, 1, 1),
        (277, short, 1, 1),
        (322, long, 1, 16_384),
        (323, long, 1, 16_384),
        (324, long, 2, 134),
        (325, long, 2, 134),
    ];
    let mut tiff = b"II*\0\x08\0\0\0\x0a\0".to_vec();
    for (tag, kind, count, value) in entries {
        tiff.extend(tag.to_le_bytes().into_iter().chain(kind.to_le_bytes()));
        tiff.extend(count.to_le_bytes().into_iter().chain(value.to_le_bytes()));
    }
    tiff.extend([0; 4]);
    tiff.extend([8_u32, 8].iter().flat_map(|at| at.to_le_bytes()));
    let found = found("deep.tif", &tiff).unwrap();
    let all = found.notes.join("\n");
    assert!(all.contains("1 by 32768 cells") && all.contains("too large for its values"), "{all}");
}

#[test]
fn what_is_nothing_of_the_kind() {
    for (content, expected) in [
        (&b"\x89PNG\r\n"[..], "is a picture; what can be inspected is"),
        (b"%PDF-1.7", "is a PDF"),
        (b"\x1f\x8b\x08", "compressed with gzip"),
        (b"abc\0def", "is no text and no known format"),
        (b"<html></html>", "XML of an unknown kind"),
        (b"", "the file is empty"),
        (b"II*\0\x08\0\0\0", "is no raster that can be read"),
        (b"II*\0\xff\xff\xff\xff", "is no raster that can be read"),
        (b"SQLite format 3\0 and nothing else", "is no sound GeoPackage"),
        (b"\0\0\x27\x0a", "cut short"),
    ] {
        let problem = found("x", content).unwrap_err().to_string();
        assert!(problem.contains(expected), "{problem}");
    }
    let missing = inspect(&PathBuf::from("no/such/file")).unwrap_err();
    assert!(matches!(missing, FormatError::Unreadable { .. }));
}
