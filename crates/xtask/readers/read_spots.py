"""Opens planned spots with readers that are not ours.

    read_spots.py FOLDER BOUNDARY.geojson

FOLDER holds spots.gpx, spots.geojson, spots.csv, spots.json and spots.pdf of spots on one grid. gpxpy reads the
waypoints and the route, pyogrio (GDAL) the GeoJSON and the GPX, shapely and pyproj tell whether the spots stand inside the
boundary, off its edge, as far apart as the record says, and how long the walk is. Exit code 1 when a check fails.
"""

import csv
import json
import sys
from pathlib import Path

import gpx
import gpxpy
import pyogrio
import pyproj
import shapely
from pypdf import PdfReader
from read_maps import Report

# Positions are kept to about a millimetre, and the boundary has decimals of its own.
CLOSE_M = 0.02


def main(folder, boundary):
    folder = Path(folder)
    report = Report()
    record = json.loads((folder / "spots.json").read_text())
    report.place = str(folder / "spots.gpx")
    places = read_gpx(report, folder / "spots.gpx")
    report.place = str(folder / "spots.geojson")
    check_geojson(report, folder / "spots.geojson", places)
    report.place = str(folder / "spots.csv")
    check_table(report, folder / "spots.csv", places, record)
    report.place = str(folder / "spots.json")
    check_ground(report, record, places, Path(boundary))
    report.place = str(folder / "spots.pdf")
    check_sheet(report, folder / "spots.pdf", places)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def read_gpx(report, path):
    """The waypoints by gpxpy, in order; the route and GDAL must say the same."""
    text = path.read_text()
    issues = gpx.validate_text(text).issues
    report.check("the package gpx finds no fault", not issues, issues)
    read = gpxpy.parse(text)
    report.check("one route", len(read.routes) == 1, len(read.routes))
    places = [(point.name, point.longitude, point.latitude) for point in read.waypoints]
    route = [(point.name, point.longitude, point.latitude) for point in read.routes[0].points]
    report.check("the route passes the waypoints in order", places == route)
    names = [name for name, _, _ in places]
    report.check("names differ", len(set(names)) == len(names))
    report.check("names are short and plain", all(len(n) <= 14 and n.isascii() for n in names))
    meta, _, geometry, fields = pyogrio.raw.read(path, layer="waypoints")
    points = shapely.from_wkb(geometry)
    there = dict(zip(meta["fields"], fields))
    found = list(zip(there["name"], shapely.get_x(points), shapely.get_y(points)))
    report.check("GDAL reads the same waypoints", same(places, found))
    return places


def same(one, other):
    return len(one) == len(other) and all(
        a[0] == b[0] and abs(a[1] - b[1]) < 1e-9 and abs(a[2] - b[2]) < 1e-9
        for a, b in zip(one, other)
    )


def check_geojson(report, path, places):
    meta, _, geometry, fields = pyogrio.raw.read(path)
    points = shapely.from_wkb(geometry)
    there = dict(zip(meta["fields"], fields))
    found = list(zip(there["point_id"], shapely.get_x(points), shapely.get_y(points)))
    report.check("the same spots as the waypoints", same(places, found))
    order = list(there["walk_order"])
    report.check("in walking order", order == list(range(1, len(places) + 1)), order[:5])


def check_table(report, path, places, record):
    with path.open(newline="") as file:
        rows = list(csv.DictReader(file))
    pushes = record["insertions_per_spot"]
    report.check("a line for each insertion", len(rows) == pushes * len(places), len(rows))
    found = [(r["point_id"], float(r["longitude"]), float(r["latitude"])) for r in rows[::pushes]]
    report.check("the same spots as the waypoints", same(places, found))
    empty = all(r["date"] == r["moisture_pct"] == r["note"] == r["at_least"] == "" for r in rows)
    report.check("what is to be read is empty", empty)


def check_ground(report, record, places, boundary):
    zone = record["crs"].split()[-1]
    epsg = (32600 if zone.endswith("N") else 32700) + int(zone[:-1])
    project = pyproj.Transformer.from_crs(4326, epsg, always_xy=True).transform
    shape = json.loads(boundary.read_text())
    while "geometry" in shape or "features" in shape:
        shape = shape["features"][0] if "features" in shape else shape["geometry"]
    field = shapely.transform(
        shapely.geometry.shape(shape), lambda xy: list(zip(*project(xy[:, 0], xy[:, 1])))
    )
    points = [shapely.Point(project(lon, lat)) for _, lon, lat in places]
    report.check("every spot is inside", all(field.contains(point) for point in points))
    edge = min(field.boundary.distance(point) for point in points)
    report.check("and off the edge", edge >= record["from_edge_m"] - CLOSE_M, edge)
    spacing = record["designs"][0]["spacing_m"]
    tree = shapely.STRtree(points)
    nearest = [
        min(point.distance(points[k]) for k in tree.query(point.buffer(1.5 * spacing)) if k != own)
        for own, point in enumerate(points)
    ]
    near = [abs(away - spacing) for away in nearest]
    report.check("the nearest other is one spacing away", max(near) < CLOSE_M, max(near))
    start = shapely.Point(project(*record["walk"]["start_lon_lat"]))
    walk = shapely.LineString([start, *points]).length
    report.check("the walk is as long as it says", abs(walk - record["walk"]["length_m"]) < 1, walk)
    plain = record["walk"]["length_as_placed_m"]
    report.check("and no longer than the order it replaces", walk <= plain + 1, [walk, plain])


def check_sheet(report, path, places):
    pages = PdfReader(path).pages
    rows = -(-len(places) // 20)
    report.check("a page of map and the pages of boxes", len(pages) == rows + 1, len(pages))
    words = " ".join(page.extract_text() for page in pages[1:])
    missing = [name for name, _, _ in places if name not in words]
    report.check("every spot has its row", not missing, missing)
    size = pages[0].mediabox
    report.check("letter, landscape", (float(size.width), float(size.height)) == (792, 612), size)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
