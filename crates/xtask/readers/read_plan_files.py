"""Opens a plan's files with readers that are not ours and checks what they say.

    read_plan_files.py FOLDER

FOLDER is what crates/formats/examples/write_plan_files.rs wrote: the files of one plan, and the truth in
expected.json. GDAL reads vectors through pyogrio and rasters through rasterio; pyshp, fastkml, gpxpy, gpx,
pandas, SQLite and json read the same files a second time, GEOS judges the polygons, PROJ measures them; the
GeoPackage, KML, GPX, GeoJSON and GeoTIFF are checked against their standards. Exit code 1 when a check fails.
"""

import json
import sqlite3
import struct
import sys
from pathlib import Path

import fastkml
import geojson_validator
import gpx
import gpxpy
import numpy as np
import pandas
import pyogrio
import pyproj
import rasterio
import shapefile
import shapely
from lxml import etree
from rio_cogeo.cogeo import cog_validate

from read_maps import Report, refuse
from read_survey_files import check_standard

METRIC = {"loosen": "cm", "gypsum": "kg_ha", "humic": "l_ha"}
HA_PER_AC = 0.40468564224
# Name of the US unit, and its size in the metric one: exact factors of the inch, pound, gallon and acre.
US = {
    "loosen": ("in", 2.54),
    "gypsum": ("lb_ac", 0.45359237 / HA_PER_AC),
    "humic": ("gal_ac", 3.785411784 / HA_PER_AC),
}
UNITS = {"loosen": "cm", "gypsum": "kg/ha", "humic": "L/ha"}
SHAPEFILE = {"loosen": ("DEPTH_CM", "DEPTH_IN"), "gypsum": ("KG_HA", "LB_AC"), "humic": ("L_HA", "GAL_AC")}
# Half of the last of three decimals, and of two.
DOSE, DEPTH_IN_DBF = 0.000501, 0.00501
GEOD = pyproj.Geod(ellps="WGS84")


def main(folder):
    geojson_validator.configure_logging(enabled=False, level="ERROR")
    report, folder = Report(), Path(folder)
    expected = json.loads((folder / "expected.json").read_text("utf-8"))
    for name, check in [
        ("plan.geojson", check_geojson),
        ("plan.gpkg", check_geopackage),
        ("plan.kml", check_kml),
        ("centres.gpx", check_gpx),
        ("centres.csv", check_csv),
    ]:
        report.place = str(folder / name)
        check(report, folder / name, expected)
    for index, operation in enumerate(expected["operations"]):
        report.place = str(folder / f"{operation}.shp")
        check_shapefile(report, folder / f"{operation}.shp", expected, index)
        report.place = str(folder / f"{operation}.tif")
        check_raster(report, folder / f"{operation}.tif", expected, index)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


# --- what holds for every format ---


def check_polygons(report, reader, polygons, expected):
    """Shapes in degrees by GEOS: valid, with the parts, holes and true area of the plan, and no overlap."""
    report.check(f"{reader}: as many shapes", len(polygons) == len(expected["parts"]), len(polygons))
    for polygon, part in zip(polygons, expected["parts"]):
        pieces = getattr(polygon, "geoms", [polygon])
        what = f"{reader}: {part['id']}"
        report.check(f"{what} is valid", polygon.is_valid, shapely.is_valid_reason(polygon))
        report.check(f"{what} has its pieces", len(pieces) == part["polygons"], len(pieces))
        holes = sum(len(piece.interiors) for piece in pieces)
        report.check(f"{what} has its holes", holes == part["holes"], holes)
        oriented = shapely.MultiPolygon([shapely.geometry.polygon.orient(piece) for piece in pieces])
        area = abs(GEOD.geometry_area_perimeter(oriented)[0])
        report.near(f"{what}: area in m2", area, part["ground_area_m2"], 2)
    for k, one in enumerate(polygons):
        for other in polygons[k + 1 :]:
            shared = one.intersection(other).area / one.area
            report.check(f"{reader}: no overlap", shared < 1e-5, shared)


def check_doses(report, reader, row, part, operations):
    """A row by its columns: doses both ways, at the precision that is written."""
    for operation, dose in zip(operations, part["doses"]):
        name, size = US[operation]
        report.near(f"{reader}: {operation} metric", float(row[f"{operation}_{METRIC[operation]}"]), dose, DOSE)
        report.near(f"{reader}: {operation} US", float(row[f"{operation}_{name}"]), dose / size, DOSE)


def frame_of(path, layer=None):
    """Columns and shapes as GDAL gives them, in the file's order."""
    meta, _, wkb, columns = pyogrio.raw.read(path, layer=layer)
    rows = [dict(zip(meta["fields"], values)) for values in zip(*columns)]
    return meta, rows, [shapely.from_wkb(blob) for blob in wkb]


# --- vectors ---


def check_geojson(report, path, expected):
    collection = json.loads(path.read_text("utf-8"), parse_constant=refuse)
    result = geojson_validator.validate_structure(collection)
    report.check("geojson-validator: structure", not result, result)
    result = geojson_validator.validate_geometries(collection)
    bad = {**result["invalid"], **result["problematic"]}
    # Holes are counted there too, and eight decimals are meant.
    for kind in ["holes", "excessive_coordinate_precision"]:
        bad.pop(kind, None)
    report.check("geojson-validator: geometries", not bad, bad)
    _, rows, polygons = frame_of(path)
    check_polygons(report, "GDAL", polygons, expected)
    shapes = [shapely.geometry.shape(feature["geometry"]) for feature in collection["features"]]
    check_polygons(report, "json", shapes, expected)
    for feature, row, part in zip(collection["features"], rows, expected["parts"]):
        properties = feature["properties"]
        report.check("ids", feature["id"] == row["part_id"] == part["id"], feature["id"])
        report.check("action", properties["action"] == row["action"] == part["action"], row["action"])
        report.check("class", properties["class_name"] == part["class_name"], properties["class_name"])
        report.near("area_ha", properties["area_ha"], part["ground_area_m2"] / 1e4, 1e-6)
        check_doses(report, "json", properties, part, expected["operations"])
        check_doses(report, "GDAL", row, part, expected["operations"])


def check_geopackage(report, path, expected):
    check_standard(report, path)
    layers = sorted(pyogrio.list_layers(path)[:, 0])
    report.check("tables", layers == ["operations", "run_info", "zones"], layers)
    info = pyogrio.read_info(path, layer="zones")
    report.check("many polygons", info["geometry_type"] == "MultiPolygon", info["geometry_type"])
    report.check("WGS 84", info["crs"] == "EPSG:4326", info["crs"])
    _, rows, polygons = frame_of(path, "zones")
    check_polygons(report, "GDAL", polygons, expected)
    database = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    database.row_factory = sqlite3.Row
    report.check("SQLite finds it sound", database.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    report.check("no key is loose", not database.execute("PRAGMA foreign_key_check").fetchall())
    records = database.execute("SELECT * FROM zones ORDER BY fid").fetchall()
    # Behind a header of 8 bytes and an envelope of 32 comes well-known binary.
    check_polygons(report, "SQLite", [shapely.from_wkb(record["geom"][40:]) for record in records], expected)
    for record, row, part in zip(records, rows, expected["parts"]):
        west, east, south, north = struct.unpack("<4d", record["geom"][8:40])
        bounds = shapely.from_wkb(record["geom"][40:]).bounds
        report.check("envelope", bounds == (west, south, east, north), bounds)
        report.check("ids", record["part_id"] == row["part_id"] == part["id"], row["part_id"])
        report.check("action", record["action"] == part["action"], record["action"])
        check_doses(report, "SQLite", record, part, expected["operations"])
        check_doses(report, "GDAL", row, part, expected["operations"])
    operations = [record["operation"] for record in database.execute("SELECT * FROM operations ORDER BY fid")]
    report.check("operations", operations == expected["operations"], operations)


def check_kml(report, path, expected):
    schema = Path(fastkml.__file__).parent / "schema" / "ogckml22.xsd"
    schema = etree.XMLSchema(etree.parse(str(schema)))
    schema.validate(etree.parse(str(path)))
    report.check("the schema of KML 2.2", not schema.error_log, schema.error_log)
    _, rows, polygons = frame_of(path)
    check_polygons(report, "GDAL", polygons, expected)
    document = fastkml.KML.from_string(path.read_bytes()).features[0]
    marks = [mark for mark in document.features if isinstance(mark, fastkml.Placemark)]
    check_polygons(report, "fastkml", [shapely.geometry.shape(mark.geometry) for mark in marks], expected)
    report.check("name", document.name == "Höhe \"North\", <Bench> & 'Sons' ]]>", document.name)
    for mark, row, part in zip(marks, rows, expected["parts"]):
        report.check("names", mark.name == row["Name"] == part["id"], mark.name)
        description = row.get("Description", row.get("description"))
        report.check("action", mark.description == description == part["action"], description)
        data = {item.name: item.value for item in mark.extended_data.elements}
        check_doses(report, "fastkml", data, part, expected["operations"])
        if "loosen_cm" in row:
            check_doses(report, "GDAL", row, part, expected["operations"])


# --- places ---


def check_place(report, reader, lon, lat, part, shapes):
    inside = shapely.contains_xy(shapes[part["id"]], lon, lat)
    report.check(f"{reader}: the place of {part['id']} lies inside", inside, (lon, lat))


def shapes_of(path):
    _, rows, polygons = frame_of(path.parent / "plan.geojson")
    return {row["part_id"]: polygon for row, polygon in zip(rows, polygons)}


def check_gpx(report, path, expected):
    text, shapes = path.read_text("utf-8"), shapes_of(path)
    result = gpx.validate_text(text)
    issues = getattr(result, "issues", result)
    report.check("gpx finds it valid", not issues, issues)
    by_gpxpy, by_gpx = gpxpy.parse(text), gpx.from_string(text)
    _, rows, points = frame_of(path, "waypoints")
    parts = expected["parts"]
    counts = [len(by_gpxpy.waypoints), len(by_gpx.wpt), len(rows)]
    report.check("as many waypoints", counts == [len(parts)] * 3, counts)
    for a, b, row, point, part in zip(by_gpxpy.waypoints, by_gpx.wpt, rows, points, parts):
        report.check("names", a.name == b.name == row["name"] == part["id"], a.name)
        report.check("actions", a.description == b.desc == row["desc"] == part["action"], a.description)
        same = (a.longitude, a.latitude) == (float(b.lon), float(b.lat)) == (point.x, point.y)
        report.check("places", same, (a.longitude, point.x))
        check_place(report, "gpxpy", a.longitude, a.latitude, part, shapes)


def check_csv(report, path, expected):
    table, shapes = pandas.read_csv(path, dtype=str, keep_default_na=False), shapes_of(path)
    options = {"X_POSSIBLE_NAMES": "lon*", "Y_POSSIBLE_NAMES": "lat*", "AUTODETECT_TYPE": "YES"}
    meta, _, wkb, columns = pyogrio.raw.read(path, **options)
    rows = [dict(zip(meta["fields"], values)) for values in zip(*columns)]
    report.check("as many lines", len(table) == len(rows) == len(expected["parts"]), len(table))
    for (_, line), row, blob, part in zip(table.iterrows(), rows, wkb, expected["parts"]):
        report.check("ids", line["part"] == row["part"] == part["id"], line["part"])
        report.check("action", line["action"] == row["action"] == part["action"], line["action"])
        report.near("area_ha", float(line["area_ha"]), part["ground_area_m2"] / 1e4, 0.0000501)
        check_doses(report, "pandas", line, part, expected["operations"])
        check_doses(report, "GDAL", row, part, expected["operations"])
        point = shapely.from_wkb(blob)
        same = (point.x, point.y) == (float(line["longitude"]), float(line["latitude"]))
        report.check("places", same, (point.x, line["longitude"]))
        check_place(report, "pandas", point.x, point.y, part, shapes)


# --- one file for each operation ---


def check_shapefile(report, path, expected, index):
    operation = expected["operations"][index]
    meta, rows, polygons = frame_of(path)
    report.check("WGS 84", pyproj.CRS(meta["crs"]).to_epsg() == 4326, meta["crs"])
    report.check("encoding", meta["encoding"] == "UTF-8", meta["encoding"])
    check_polygons(report, "GDAL", polygons, expected)
    reader = shapefile.Reader(str(path.with_suffix("")))
    check_polygons(report, "pyshp", [shapely.geometry.shape(shape) for shape in reader.shapes()], expected)
    metric, us = SHAPEFILE[operation]
    names = ["ZONE", "NAME", "ACTION", "RATE", "UNIT", metric, us, "AREA_HA", "AREA_AC"]
    by_pyshp = [field[0] for field in reader.fields if field[0] != "DeletionFlag"]
    report.check("columns", meta["fields"].tolist() == names == by_pyshp, by_pyshp)
    tolerance = DEPTH_IN_DBF if operation == "loosen" else DOSE
    for number, (row, record, part) in enumerate(zip(rows, reader.records(), expected["parts"]), 1):
        dose, (unit, size) = part["doses"][index], US[operation]
        report.check("numbers", row["ZONE"] == record["ZONE"] == number, row["ZONE"])
        report.check("names", row["NAME"] == record["NAME"] == part["id"], row["NAME"])
        report.check("actions", row["ACTION"] == record["ACTION"] == part["action"], row["ACTION"])
        report.check("units", row["UNIT"] == record["UNIT"] == unit.replace("_", "/"), row["UNIT"])
        for reader_name, values in [("GDAL", row), ("pyshp", record)]:
            report.near(f"{reader_name}: RATE", values["RATE"], dose / size, DOSE)
            report.near(f"{reader_name}: {metric}", values[metric], dose, tolerance)
            report.near(f"{reader_name}: {us}", values[us], dose / size, tolerance)
            report.near(f"{reader_name}: AREA_HA", values["AREA_HA"], part["ground_area_m2"] / 1e4, 0.000501)


def check_raster(report, path, expected, index):
    valid, errors, warnings = cog_validate(str(path), strict=True, quiet=True)
    report.check("rio-cogeo: valid without warnings", valid and not errors and not warnings, [errors, warnings])
    _, rows, polygons = frame_of(path.parent / "plan.geojson")
    operation = expected["operations"][index]
    with rasterio.open(path) as raster:
        report.check("unit", raster.units == (UNITS[operation],), raster.units)
        report.check("no data", raster.nodata == -9999, raster.nodata)
        report.check("plane", raster.crs.to_epsg() == expected["epsg"], raster.crs)
        cells, transform = raster.read(1), raster.transform
        to_plane = pyproj.Transformer.from_crs(4326, expected["epsg"], always_xy=True)
    left = np.ones(cells.shape, bool)
    rows_north, columns_east = np.indices(cells.shape)
    easts, norths = transform * (columns_east + 0.5, rows_north + 0.5)
    for polygon, part in zip(polygons, expected["parts"]):
        plane = shapely.transform(polygon, lambda lonlat: np.column_stack(to_plane.transform(*lonlat.T)))
        inside = shapely.contains_xy(plane, easts, norths)
        dose = np.float32(part["doses"][index])
        found = np.unique(cells[inside])
        report.check(f"cells of {part['id']}", found.tolist() == [dose], found)
        area = inside.sum() * transform.a**2
        report.near(f"ground of {part['id']} in m2", area, part["plane_area_m2"], 1e-6)
        left &= ~inside
    report.check("no data elsewhere", (cells[left] == -9999).all(), np.unique(cells[left]))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
