"""Opens the archive of a season with readers that are not ours and checks what it says.

    read_archive.py SEASON.gpkg FOLDER

FOLDER is the field's folder that was archived; its visits are GeoJSON. GDAL reads through pyogrio, SQLite
through Python, and the archive is checked against the standard of GeoPackage by validate_gpkg of gdal-utils.
Exit code 1 when a check fails.
"""

import hashlib
import json
import sqlite3
import sys
from pathlib import Path

import numpy as np
import pyogrio
import pyproj
import shapely
from shapely.geometry import shape

from read_maps import Report
from read_survey_files import KPA_PER_PSI, check_standard, table

CM_PER_IN = 2.54
WGS_84 = pyproj.Geod(ellps="WGS84")
ATTRIBUTES = ["about", "edits", "files", "findings", "results", "run_info", "settings", "visits"]


def main(archive, folder):
    report = Report()
    report.place, archive, folder = archive, Path(archive), Path(folder)
    check_standard(report, archive)
    database = sqlite3.connect(f"file:{archive}?mode=ro", uri=True)
    database.row_factory = sqlite3.Row
    report.check("SQLite finds it sound", database.execute("PRAGMA integrity_check").fetchone()[0] == "ok")
    report.check("no key is loose", not database.execute("PRAGMA foreign_key_check").fetchall())
    check_layers(report, archive)
    check_about(report, database)
    check_files(report, database, folder)
    check_readings(report, archive, database)
    check_visits(report, database)
    check_field(report, archive, folder)
    check_results(report, database, archive.parent)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def check_layers(report, archive):
    layers = dict(pyogrio.list_layers(archive))
    missing = [name for name in ATTRIBUTES if name not in layers or layers[name] is not None]
    report.check("GDAL lists every table without a geometry", not missing, missing)
    for layer, kind in [("readings", "Point"), ("field", "MultiPolygon")]:
        info = pyogrio.read_info(archive, layer=layer)
        report.check(f"{layer} are {kind}", info["geometry_type"] == kind, info["geometry_type"])
        report.check(f"{layer} are WGS 84", info["crs"] == "EPSG:4326", info["crs"])


def check_about(report, database):
    """Every column but the row's number is explained, and nothing that is not there."""
    contents = [row[0] for row in database.execute("SELECT table_name FROM gpkg_contents")]
    columns = {(name, row[1]) for name in contents for row in database.execute(f'PRAGMA table_info("{name}")')}
    columns = {(name, column) for name, column in columns if column != "fid" and name != "about"}
    explained = {(row[0], row[1]) for row in database.execute("SELECT table_name, column_name FROM about")}
    of_columns = {pair for pair in explained if pair[1] is not None and pair[0] != "about"}
    report.check("each column is explained", columns == of_columns, columns ^ of_columns)
    of_tables = {name for name, column in explained if column is None}
    report.check("each table is explained", of_tables == set(contents), of_tables ^ set(contents))
    said = dict(database.execute("SELECT name, value FROM run_info").fetchall())
    report.check("field and program are named", said.get("field") and said.get("program"), said)


def check_files(report, database, folder):
    rows = database.execute("SELECT * FROM files ORDER BY name").fetchall()
    report.check("there are files", len(rows) > 1, len(rows))
    for row in rows:
        digest = hashlib.sha256(row["content"]).hexdigest()
        report.check(f"{row['name']}: hash", digest == row["sha256"], digest)
        report.check(f"{row['name']}: length", len(row["content"]) == row["bytes"], row["bytes"])
        at_hand = (folder / row["name"]).read_bytes()
        report.check(f"{row['name']}: the bytes of the folder", at_hand == row["content"])


# --- readings, against the files they were read from ---


def check_readings(report, archive, database):
    columns, points = table(archive, "readings")
    names = list(columns)
    rows = [dict(zip(names, values)) for values in zip(*columns.values())]
    visits = database.execute("SELECT name, content FROM files WHERE part = 'visit' ORDER BY name").fetchall()
    report.check("there are visits", visits)
    features = {row["name"]: json.loads(row["content"])["features"] for row in visits if row["name"].endswith("json")}
    read = {(row["file"], int(row["record"])) for row in rows}
    written = {(name, number) for name in features for number in range(1, len(features[name]) + 1)}
    report.check("each record is one reading", read == written and len(rows) == len(written), len(rows))
    profiles = read_profiles(database)
    report.check("no reading of a profile is loose", set(profiles) <= set(range(1, len(rows) + 1)))
    for fid, (row, point) in enumerate(zip(rows, points), 1):
        feature = features[row["file"]][int(row["record"]) - 1]
        said = feature["properties"]
        report.place = f"{archive} {row['file']} {row['point_id']}"
        report.check("place", [point.x, point.y] == feature["geometry"]["coordinates"], point)
        report.check("name", row["point_id"] == said["point_id"], row["point_id"])
        report.check("day", str(row["date"]) == said["date"], row["date"])
        moisture = said.get("moisture_pct")
        report.check("moisture", np.isnan(row["moisture_pct"]) if moisture is None else row["moisture_pct"] == moisture)
        if "threshold_psi" in said:
            report.near("threshold", row["threshold_kpa"], KPA_PER_PSI * said["threshold_psi"], 1e-6)
            report.check("the file says the threshold", row["threshold_from"] == "file", row["threshold_from"])
        if isinstance(said["depth_in"], list):
            check_profile(report, row, said, profiles.get(fid, []))
        else:
            check_depth(report, row, said)
    report.place = str(archive)


def read_profiles(database):
    """Depths and cone indices by the row of their reading; none where there is no such table."""
    profiles = {}
    tables = [row[0] for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    if "profile_readings" in tables:
        for row in database.execute("SELECT * FROM profile_readings ORDER BY fid"):
            profiles.setdefault(row["reading"], []).append((row["depth_cm"], row["cone_index_kpa"]))
    return profiles


def check_depth(report, row, said):
    inches = said["depth_in"]
    report.check("measured as one depth", row["measured"] == "single depth", row["measured"])
    if inches is None:
        report.check("no reading", row["outcome"] in ["refused", "skipped"], row["outcome"])
        numbers = [row[name] for name in ["depth_cm", "probed_to_cm", "depth_as_read", "probed_to_as_read"]]
        report.check("no number", np.isnan(numbers).all(), numbers)
        return
    expected, depth, none = ("not reached", "probed_to", "depth") if said.get("at_least") else ("reached", "depth", "probed_to")
    report.check("outcome", row["outcome"] == expected, row["outcome"])
    report.check("depth in inches", row[f"{depth}_as_read"] == inches and row["unit_as_read"] == "in", row)
    report.near("depth in cm", row[f"{depth}_cm"], CM_PER_IN * inches, 1e-6)
    report.check("no other depth", np.isnan([row[f"{none}_cm"], row[f"{none}_as_read"]]).all(), row)


def check_profile(report, row, said, readings):
    report.check("measured as a profile", row["measured"] == "profile", row["measured"])
    expected = [(CM_PER_IN * inches, KPA_PER_PSI * psi) for inches, psi in zip(said["depth_in"], said["cone_index_psi"])]
    same = len(readings) == len(expected) and np.allclose(readings, expected, 0, 1e-6)
    report.check("depths and cone indices", same, readings[:2])
    report.near("probed to", row["probed_to_cm"], CM_PER_IN * max(said["depth_in"]), 1e-6)
    psi = row["threshold_kpa"] / KPA_PER_PSI
    found = crossing(said["depth_in"], said["cone_index_psi"], psi)
    if found is None:
        report.check("not reached", row["outcome"] == "not reached" and np.isnan(row["depth_cm"]), row)
    else:
        report.near("reached at", row["depth_cm"], CM_PER_IN * found, 1e-4)


def crossing(inches, psi, threshold):
    """Where a profile first comes to the threshold, linear between its readings."""
    for k, value in enumerate(psi):
        if value >= threshold - 1e-6:
            if k == 0:
                return inches[0]
            share = (threshold - psi[k - 1]) / (value - psi[k - 1])
            return inches[k - 1] + share * (inches[k] - inches[k - 1])
    return None


# --- visits, against the readings ---


def check_visits(report, database):
    visits = database.execute("SELECT * FROM visits").fetchall()
    days = [row["first_day"] for row in visits]
    report.check("visits by date", days == sorted(days), days)
    edits = database.execute("SELECT * FROM edits").fetchall()
    for visit in visits:
        readings = database.execute("SELECT * FROM readings WHERE visit = ?", [visit["name"]]).fetchall()
        report.check(f"{visit['name']}: insertions", len(readings) == visit["insertions"], len(readings))
        used = [row for row in readings if row["used"]]
        corrected = {row["point_id"] for row in readings if row["corrected"]}
        named = {edit["point"] for edit in edits if visit["first_day"] <= edit["visit"] <= visit["last_day"]}
        report.check(f"{visit['name']}: corrected", corrected <= named, [corrected, named])
        with_depth = [row for row in used if row["outcome"] in ["reached", "not reached"]]
        # Pushes at one spot are one probe, and a correction stands beside the reading: then not so plain.
        if len(with_depth) == visit["probes"] and not corrected:
            check_median(report, visit, with_depth)


def check_median(report, visit, rows):
    readings = sorted((row["depth_cm"] if row["outcome"] == "reached" else row["probed_to_cm"], row["outcome"] != "reached") for row in rows)
    reached = sorted({depth for depth, is_deeper in readings if not is_deeper})
    report.check(f"{visit['name']}: not reached", sum(is_deeper for _, is_deeper in readings) == visit["not_reached"])
    deeper, median, is_at_least = 1.0, readings[-1][0], 1
    # Kaplan & Meier (1958): those that ended at a depth without reaching the threshold came so far.
    for k, depth in enumerate(reached):
        at_risk = sum(other >= depth for other, _ in readings)
        deeper *= 1 - readings.count((depth, False)) / at_risk
        if deeper < 0.5 - 1e-9:
            median, is_at_least = depth, 0
            break
        if deeper < 0.5 + 1e-9 and k + 1 < len(reached):
            median, is_at_least = (depth + reached[k + 1]) / 2, 0
            break
    report.near(f"{visit['name']}: median", visit["median_cm"], median, 1e-6)
    report.check(f"{visit['name']}: median reached", visit["median_is_at_least"] == is_at_least, median)


# --- the field, and what was made ---


def check_field(report, archive, folder):
    columns, outlines = table(archive, "field")
    report.check("one field", len(outlines) == 1, len(outlines))
    boundary = json.loads((folder / "boundary.geojson").read_text("utf-8"))
    features = boundary.get("features", [boundary])
    geometry = shape(features[0].get("geometry", features[0]))
    report.check("the outline is that of the file", shapely.equals(outlines[0], geometry))
    area_ha = abs(WGS_84.geometry_area_perimeter(geometry)[0]) / 1e4
    report.near("area in ha", columns["area_ha"][0] / area_ha, 1, 1e-3)


def check_results(report, database, folder):
    """Those that lie beside the archive are the ones it names."""
    for name, expected in database.execute("SELECT name, sha256 FROM results"):
        report.check(f"{name}: a hash", len(expected) == 64, expected)
        if (folder / name).is_file():
            digest = hashlib.sha256((folder / name).read_bytes()).hexdigest()
            report.check(f"{name}: the file beside it", digest == expected, digest)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
