"""Opens a cleaned survey's files with readers that are not ours and checks what they say.

    read_survey_files.py FOLDER

FOLDER holds the survey of crates/formats/examples/write_survey.rs as survey.geojson, survey.csv and
survey.gpkg. GDAL reads through pyogrio, SQLite through Python, and the GeoPackage is checked against its
standard by validate_gpkg of gdal-utils. Exit code 1 when a check fails.
"""

import csv
import json
import sqlite3
import sys
from pathlib import Path

import geojson_validator
import numpy as np
import pyogrio
import shapely
from osgeo_utils.samples import validate_gpkg

from read_maps import Report, refuse

# Known of the example: sixty insertions, of which twelve are profiles, one a stone and one skipped; one
# more is not on Earth, so 57 make probes.
INSERTIONS, PROFILES, PROBES = 60, 12, 57
OFF_EARTH = "P31"
KPA_PER_PSI = 4.4482216152605 / 0.0254**2 / 1000


def main(folder):
    geojson_validator.configure_logging(enabled=False, level="ERROR")
    report, folder = Report(), Path(folder)
    report.place = str(folder / "survey.geojson")
    features = check_geojson(report, folder / "survey.geojson")
    report.place = str(folder / "survey.csv")
    check_csv(report, folder / "survey.csv", features)
    report.place = str(folder / "survey.gpkg")
    check_geopackage(report, folder / "survey.gpkg", features)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


# --- survey.geojson ---


def check_geojson(report, path):
    """The features by json, which GDAL must agree with."""
    text = path.read_text("utf-8")
    collection = json.loads(text, parse_constant=refuse)
    features = collection["features"]
    report.check("name", collection["name"] == "Made up, for reading", collection["name"])
    report.check("one feature a line", len(text.splitlines()) == INSERTIONS + 2)
    ids = {feature["properties"]["point_id"] for feature in features}
    report.check("every insertion is there", len(ids) == INSERTIONS, len(ids))
    rows = [feature["properties"] for feature in features]
    depths = [row for row in rows if row["point_id"] == "P07"]
    report.check("a not reached depth", depths[0]["depth_in"] == 18 and depths[0]["at_least"] is True, depths)
    on_earth = {**collection, "features": [f for f in features if f["properties"]["point_id"] != OFF_EARTH]}
    result = geojson_validator.validate_structure(on_earth)
    report.check("geojson-validator finds a valid structure", not result, result)
    meta, _, wkb, columns = pyogrio.raw.read(path)
    names = list(meta["fields"])
    report.check("GDAL reads as many features", len(wkb) == len(features), len(wkb))
    points = np.array([shapely.from_wkb(blob).coords[0] for blob in wkb])
    exact = np.array([feature["geometry"]["coordinates"] for feature in features])
    report.check("GDAL reads the same places", np.array_equal(points, exact))
    read_ids = list(columns[names.index("point_id")])
    report.check("GDAL reads the same ids", read_ids == [row["point_id"] for row in rows])
    return features


# --- survey.csv ---


def check_csv(report, path, features):
    """Line by line the same as the features, of which a profile takes a line for each reading."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, strict=True))
    expected = list(lines_of(features))
    report.check("as many lines as readings", len(rows) == len(expected), len(rows))
    for number, (row, (place, said)) in enumerate(zip(rows, expected), 1):
        read = [float(row.pop("longitude")), float(row.pop("latitude"))]
        report.check(f"record {number}: place", read == place, read)
        known = {name: text for name, text in row.items() if text != ""}
        report.check(f"record {number}: the same is known", known == said, [known, said])


def lines_of(features):
    """Place and texts of each line that the features make."""
    for number, feature in enumerate(features, 1):
        said = feature["properties"]
        lengths = [len(value) for value in said.values() if isinstance(value, list)]
        for reading in range(max(lengths, default=1)):
            values = {name: value[reading] if isinstance(value, list) else value for name, value in said.items()}
            line = {name: as_text(value) for name, value in values.items() if value is not None}
            if lengths:
                line["insertion"] = str(number)
            yield feature["geometry"]["coordinates"], line


def as_text(value):
    if isinstance(value, str):
        return value
    return json.dumps(value)


# --- survey.gpkg ---


def check_standard(report, path):
    """Against the requirements of the GeoPackage standard."""
    try:
        found = validate_gpkg.check(str(path), abort_at_first_error=False, warning_as_error=True)
    except validate_gpkg.GPKGCheckException as error:
        found = [error]
    report.check("validate_gpkg finds a valid file", not found, found)


def check_geopackage(report, path, features):
    check_standard(report, path)
    layers = sorted(pyogrio.list_layers(path)[:, 0])
    expected = ["findings", "insertions", "probes", "profiles", "run_info"]
    report.check("tables", layers == expected, layers)
    for layer in ["probes", "insertions"]:
        info = pyogrio.read_info(path, layer=layer)
        report.check(f"{layer} are points", info["geometry_type"] == "Point", info["geometry_type"])
        report.check(f"{layer} are WGS 84", info["crs"] == "EPSG:4326", info["crs"])
    database = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    database.row_factory = sqlite3.Row
    report.check("SQLite finds it sound", database.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    report.check("no key is loose", not database.execute("PRAGMA foreign_key_check").fetchall())
    check_insertions(report, path, database, features)
    check_probes(report, path)
    check_findings(report, database)


def table(path, layer):
    """A layer as a dictionary of columns, by GDAL, and its points."""
    meta, _, wkb, columns = pyogrio.raw.read(path, layer=layer)
    return dict(zip(meta["fields"], columns)), None if wkb is None else shapely.from_wkb(wkb)


def check_insertions(report, path, database, features):
    columns, points = table(path, "insertions")
    report.check("every insertion has a row", len(points) == INSERTIONS, len(points))
    firsts = {feature["properties"]["point_id"]: feature for feature in reversed(features)}
    for point_id, point in zip(columns["point_id"], points):
        place = firsts[point_id]["geometry"]["coordinates"]
        report.check(f"{point_id}: place", [point.x, point.y] == place, point)
    for row in database.execute("SELECT * FROM insertions WHERE depth_cm IS NOT NULL"):
        inches = firsts[row["point_id"]]["properties"]["depth_in"]
        report.near(f"{row['point_id']}: depth in cm", row["depth_cm"], 2.54 * inches, 1e-6)
    outcomes = list(columns["outcome"])
    counts = [outcomes.count(outcome) for outcome in ["profile", "not_reached", "stone", "skipped"]]
    report.check("outcomes", counts == [PROFILES, 1, 1, 1], counts)
    report.check("text of all kinds", set(columns["operator"]) == {'Åsa "A", Jr.'}, set(columns["operator"]))
    readings = [said for _, said in lines_of(features) if "cone_index_psi" in said]
    sql = "SELECT point_id, p.depth_cm, cone_index_kpa FROM profiles p JOIN insertions i ON i.fid = p.insertion ORDER BY p.fid"
    rows = database.execute(sql).fetchall()
    report.check("every reading has a row", len(rows) == len(readings), len(rows))
    for row, reading in zip(rows, readings):
        report.check("reading's point", row["point_id"] == reading["point_id"], row["point_id"])
        report.near("reading's depth", row["depth_cm"], 2.54 * float(reading["depth_in"]), 1e-6)
        report.near("reading's cone index", row["cone_index_kpa"], KPA_PER_PSI * float(reading["cone_index_psi"]), 1e-6)


def check_probes(report, path):
    columns, points = table(path, "probes")
    report.check("every spot has a row", len(points) == PROBES, len(points))
    report.check("the unreadable are not among them", OFF_EARTH not in columns["point_id"])
    # Profiles of 25 psi per inch reach 200 psi at 8 in.
    of_profiles = [cm for name, cm in zip(columns["point_id"], columns["depth_cm"]) if int(name[1:]) % 5 == 0]
    report.check("profiles reach 200 psi at 20.32 cm", np.allclose(of_profiles, 20.32, 0, 1e-6), of_profiles)
    outcomes = list(columns["outcome"])
    report.check("one is not reached", outcomes.count("not_reached") == 1, outcomes)


def check_findings(report, database):
    rows = database.execute("SELECT severity, subject, text FROM findings").fetchall()
    faults = [tuple(row) for row in rows if row["severity"] == "fault"]
    about = f"point {OFF_EARTH}"
    report.check("the one fault is told", len(faults) == 1 and faults[0][1].startswith(about), faults)
    said = dict(database.execute("SELECT name, value FROM run_info").fetchall())
    report.check("threshold", said["threshold_psi"] == "200", said)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
