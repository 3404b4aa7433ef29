"""Opens maps with readers that are not ours and checks what they say.

    read_maps.py MAPS BOUNDARY.geojson

MAPS holds one folder per map of the field in BOUNDARY.geojson. GDAL reads through pyogrio and rasterio,
GEOS through shapely, PROJ through pyproj. Exit code 1 when a check fails or there is nothing to check.
"""

import hashlib
import json
import struct
import sys
import zlib
from decimal import Decimal
from itertools import combinations
from pathlib import Path

import geojson_validator
import numpy as np
import pyogrio
import pyproj
import rasterio
import shapely
from rio_cogeo.cogeo import cog_validate
from shapely.geometry import shape

HA_PER_AC = 0.40468564224
FILES = ["depth.tif", "map.png", "summary.json", "zones.geojson"]
WGS_84 = pyproj.Geod(ellps="WGS84")
# What geojson-validator calls valid but problematic, and is meant: a border shared by zones needs
# millimetres, a zone around another or around ground that is not field has a hole, and a border that
# follows the cells has many corners.
MEANT = ["excessive_coordinate_precision", "holes", "excessive_vertices"]
# Zones of fewer cells than this are too small to compare the mean of their cells.
ENOUGH_CELLS = 200


class Report:
    """Counts checks and prints those that fail."""

    def __init__(self):
        self.place, self.passed, self.failed = "", 0, 0

    def check(self, what, is_so, found=""):
        self.passed += bool(is_so)
        self.failed += not is_so
        if not is_so:
            print(f"FAILED {self.place}: {what}" + (f"; found {found}" if found != "" else ""))

    def near(self, what, value, expected, tolerance):
        self.check(f"{what} is {expected} within {tolerance:g}", abs(value - expected) <= tolerance, value)


def main(maps, demo_data):
    geojson_validator.configure_logging(enabled=False, level="ERROR")
    report = Report()
    # A folder without a summary of a map holds a plan, which read_sheet.py reads.
    folders = sorted(path.parent for path in Path(maps).glob("*/summary.json"))
    report.place = maps
    report.check("there is a map", folders)
    for folder in folders:
        before = report.passed
        read_map(report, folder, boundary_of(folder, Path(demo_data)))
        print(f"{folder}: {report.passed - before} passed")
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def read_map(report, folder, boundary_file):
    report.place = str(folder)
    missing = [name for name in FILES if not (folder / name).is_file()]
    report.check("all files are there", not missing, missing)
    if missing:
        return
    summary = json.loads((folder / "summary.json").read_text("utf-8"), parse_constant=refuse)
    field = read_field(boundary_file)
    to_utm = pyproj.Transformer.from_crs("OGC:CRS84", summary["crs"]["epsg"], always_xy=True).transform
    report.place = str(folder / "zones.geojson")
    zones = read_zones(report, folder / "zones.geojson")
    check_shapes(report, zones, field, to_utm)
    check_areas(report, zones, field, summary)
    report.place = str(folder / "depth.tif")
    check_raster(report, folder / "depth.tif", zones, summary, to_utm)
    check_other_rasters(report, folder, summary)
    for picture in sorted(folder.glob("*.png")):
        report.place = str(picture)
        check_picture(report, picture)
    report.place = str(folder / "summary.json")
    check_summary(report, summary, zones, boundary_file)


def refuse(constant):
    raise ValueError(f"{constant} is not JSON")


def boundary_of(folder, demo_data):
    """The boundary file that a map names by its digest."""
    summary = json.loads((folder / "summary.json").read_text("utf-8"))
    wanted = {entry["sha256"] for entry in summary["inputs"] if entry["role"] == "boundary"}
    for file in sorted(demo_data.glob("*/boundary.geojson")):
        if hashlib.sha256(file.read_bytes()).hexdigest() in wanted:
            return file
    raise SystemExit(f"{folder}: no boundary in {demo_data} has a digest of {wanted}")


def read_field(boundary_file):
    collection = json.loads(boundary_file.read_text("utf-8"))
    return shapely.union_all([shape(feature["geometry"]) for feature in collection["features"]])


# --- zones.geojson ---


def read_zones(report, path):
    """The features by two readers, which must agree: json with shapely, and GDAL."""
    text = path.read_text("utf-8")
    collection = json.loads(text, parse_constant=refuse)
    exact = json.loads(text, parse_float=Decimal)
    zones = collection["features"]
    for zone in zones:
        zone["shape"] = shape(zone["geometry"])
    report.check("there is a zone", zones)
    numbers = list(coordinates([feature["geometry"]["coordinates"] for feature in exact["features"]]))
    decimals = max(-Decimal(number).as_tuple().exponent for number in numbers)
    report.check("coordinates have at most 12 decimals", decimals <= 12, decimals)
    report.check("no crs member", "crs" not in collection)
    check_with_validator(report, json.loads(text))
    check_with_gdal(report, path, zones)
    ids = [zone["id"] for zone in zones]
    report.check("ids are unique", len(set(ids)) == len(ids), ids)
    report.check("ids are zone_id", ids == [zone["properties"]["zone_id"] for zone in zones], ids)
    return zones


def coordinates(nested):
    if isinstance(nested, list):
        for part in nested:
            yield from coordinates(part)
    else:
        yield nested


def check_with_validator(report, collection):
    structure = geojson_validator.validate_structure(collection, check_crs=True)
    report.check("geojson-validator finds no fault of structure", not structure, structure)
    problematic = [c for c in geojson_validator.main.PROBLEMATIC_CRITERIA if c not in MEANT]
    found = geojson_validator.validate_geometries(collection, criteria_problematic=problematic)
    report.check("geojson-validator finds no invalid geometry", not found["invalid"], found["invalid"])
    report.check("geojson-validator finds no problem", not found["problematic"], found["problematic"])


def check_with_gdal(report, path, zones):
    meta, _, wkb, columns = pyogrio.raw.read(path)
    names = list(meta["fields"])
    report.check("GDAL reads WGS 84", meta["crs"] in ("EPSG:4326", "OGC:CRS84"), meta["crs"])
    report.check("GDAL reads every zone", len(wkb) == len(zones), len(wkb))
    same = all(shapely.from_wkb(geometry).equals_exact(zone["shape"], 0) for geometry, zone in zip(wkb, zones))
    report.check("GDAL reads the same polygons", same)
    for name in zones[0]["properties"]:
        report.check(f"GDAL has the column {name}", name in names, names)
    areas = [zone["properties"]["area_ha"] for zone in zones]
    report.check("GDAL reads the same areas", list(columns[names.index("area_ha")]) == areas)


def check_shapes(report, zones, field, to_utm):
    """Each zone sound and inside the field, no two over each other; lengths in the map's plane."""
    field = into(to_utm, field)
    # Room for positions rounded to about a millimetre.
    allowed = field.buffer(0.005)
    plane = [into(to_utm, zone["shape"]) for zone in zones]
    for zone, in_plane in zip(zones, plane):
        name = zone["id"]
        report.check(f"{name} is valid", zone["shape"].is_valid, shapely.is_valid_reason(zone["shape"]))
        report.check(f"{name} is valid in the plane", in_plane.is_valid)
        report.check(f"{name} is inside the field", allowed.covers(in_plane), in_plane.difference(field).area)
        for polygon in polygons(zone["shape"]):
            report.check(f"{name}: outer ring is counter-clockwise", polygon.exterior.is_ccw)
            holes_turn = not any(hole.is_ccw for hole in polygon.interiors)
            report.check(f"{name}: holes are clockwise", holes_turn)
    for (a, one), (b, other) in combinations(zip(zones, plane), 2):
        overlap = one.intersection(other).area
        report.check(f"{a['id']} and {b['id']} do not overlap", overlap < 1e-6 * field.area, overlap)


def into(to_utm, geometry):
    return shapely.transform(geometry, to_utm, interleaved=False)


def polygons(geometry):
    return getattr(geometry, "geoms", [geometry])


def ground_area_ha(geometry):
    """Area on the ellipsoid; holes are taken off whatever their order."""

    def ring_m2(ring):
        return abs(WGS_84.geometry_area_perimeter(shapely.Polygon(ring))[0])

    return sum(
        ring_m2(polygon.exterior) - sum(ring_m2(hole) for hole in polygon.interiors) for polygon in polygons(geometry)
    ) / 10_000


def check_areas(report, zones, field, summary):
    field_ha, unmapped = ground_area_ha(field), summary["unmapped"]
    report.near("area of the field", summary["field"]["area_ha"], field_ha, 1e-6 * field_ha)
    whole_ha = unmapped["area_ha"]
    for zone in zones:
        said, area_ha = zone["properties"], ground_area_ha(zone["shape"])
        whole_ha += area_ha
        report.near(f"{zone['id']}: area_ha", said["area_ha"], area_ha, 1e-4 * area_ha)
        # Both are rounded to six decimals.
        report.near(f"{zone['id']}: area_ac", said["area_ac"], said["area_ha"] / HA_PER_AC, 2e-6)
        share = 100 * said["area_ha"] / summary["field"]["area_ha"]
        report.near(f"{zone['id']}: share", said["share_of_field_pct"], share, 6e-4)
    # Corners on the outline are rounded to a millimetre, which moves edges of hundreds of metres.
    report.near("zones and unmapped ground together", whole_ha, field_ha, 2e-6 * field_ha)
    shares = sum(zone["properties"]["share_of_field_pct"] for zone in zones) + unmapped["share_of_field_pct"]
    report.near("sum of the shares", shares, 100, 5e-4 * (len(zones) + 1))


# --- depth.tif ---


def check_raster(report, path, zones, summary, to_utm):
    valid, errors, warnings = cog_validate(str(path), strict=True, quiet=True)
    report.check("rio-cogeo finds a valid file", valid and not errors and not warnings, [errors, warnings])
    with rasterio.open(path) as raster:
        report.check("one band of float32", raster.dtypes == ("float32",), raster.dtypes)
        report.check("no data is -9999", raster.nodata == -9999, raster.nodata)
        report.check("CRS is the summary's", raster.crs.to_epsg() == summary["crs"]["epsg"], raster.crs)
        report.check("unit is cm", raster.units == ("cm",), raster.units)
        report.check("cells are areas", raster.tags().get("AREA_OR_POINT") == "Area", raster.tags())
        grid = summary["grid"]
        report.check("size is the summary's", raster.shape == (grid["rows"], grid["columns"]), raster.shape)
        larger = max(raster.shape) > max(raster.block_shapes[0])
        report.check("overviews where larger than a tile", bool(raster.overviews(1)) == larger, raster.overviews(1))
        corner = (raster.bounds.left, raster.bounds.bottom)
        report.check("corner is the summary's", np.allclose(corner, (grid["west_m"], grid["south_m"]), 0, 1e-3), corner)
        depth_cm = raster.read(1, masked=True)
        count = int(depth_cm.count())
        report.check("cells with value are the summary's", count == grid["cells_with_value"], count)
        check_overviews(report, raster, path, depth_cm)
        rows, columns = np.indices(raster.shape)
        eastings, northings = raster.transform * (columns + 0.5, rows + 0.5)
    # A cell belongs to a zone by its middle, before the zone's borders are smoothed.
    doubtful_m = summary["settings"]["border_tolerance_m"] + 1.5 * summary["settings"]["cell_m"]
    check_zone_depths(report, zones, depth_cm, eastings, northings, to_utm, doubtful_m)


def check_other_rasters(report, folder, summary):
    """Standard error and chance: on the grid of the depths, and within what the summary says."""
    names = {path.name for path in folder.glob("*.tif")}
    report.place = str(folder / "summary.json")
    said = {name for name in summary["files"] if name.endswith(".tif")}
    report.check("names every raster", said == names, [said, names])
    with rasterio.open(folder / "depth.tif") as raster:
        grid, with_depth = (raster.shape, raster.transform), ~np.ma.getmaskarray(raster.read(1, masked=True))
    for path in sorted(folder.glob("*.tif")):
        if path.name == "depth.tif":
            continue
        report.place = str(path)
        valid, errors, warnings = cog_validate(str(path), strict=True, quiet=True)
        report.check("rio-cogeo finds a valid file", valid and not errors and not warnings, [errors, warnings])
        with rasterio.open(path) as raster:
            report.check("has the grid of the depths", (raster.shape, raster.transform) == grid)
            values = raster.read(1, masked=True)
            unit = raster.units[0]
        known = ~np.ma.getmaskarray(values)
        report.check("has values where there is a depth, and nowhere else", not (known & ~with_depth).any())
        if path.name == "standard_error.tif":
            report.check("unit is cm", unit == "cm", unit)
            error = summary["standard_error"]
            to_cm = 2.54 if "mean_in" in error else 1.0
            mean = error["mean_in" if "mean_in" in error else "mean_cm"] * to_cm
            report.near("mean error", values.mean(dtype="float64"), mean, 1e-3)
        else:
            report.check("unit is 1", unit == "1", unit)
            report.check("chances are from 0 to 1", 0 <= values.min() and values.max() <= 1)
            for cls in summary["probability"]["classes"]:
                top = 2.0 if cls["probability_below"] == 1 else cls["probability_below"]
                cells = ((values >= cls["probability_from"]) & (values < top)).sum() / known.sum()
                share = cls["share_of_field_pct"] / 100
                report.near(f"share of {cls['probability_from']}", float(cells), share, 0.01)


def check_overviews(report, raster, path, depth_cm):
    for level, factor in enumerate(raster.overviews(1)):
        with rasterio.open(path, overview_level=level) as overview:
            smaller = overview.read(1, masked=True)
        within = smaller.min() >= depth_cm.min() and smaller.max() <= depth_cm.max()
        report.check(f"overview {factor} lies within the depths", within, [smaller.min(), smaller.max()])
        report.near(f"overview {factor}: mean", smaller.mean(), depth_cm.mean(), 0.03 * depth_cm.mean())


def check_zone_depths(report, zones, depth_cm, eastings, northings, to_utm, doubtful_m):
    """The cells whose middles lie in a zone, against what the zone says of its depth: single cells where they
    are not so near its border that they may be another zone's."""
    unit = "in" if "mean_depth_in" in zones[0]["properties"] else "cm"
    cm = {"in": 2.54, "cm": 1.0}[unit]
    weighted, shares, of_all = 0.0, 0.0, []
    for zone in zones:
        said = zone["properties"]
        in_plane = into(to_utm, zone["shape"])
        shapely.prepare(in_plane)
        inside = shapely.contains_xy(in_plane, eastings, northings)
        depths = depth_cm[inside].compressed() / cm
        within_zone = in_plane.buffer(-doubtful_m)
        cells = depth_cm[shapely.contains_xy(within_zone, eastings, northings)]
        report.check(f"{zone['id']}: every cell has a value", not np.ma.getmaskarray(cells).any())
        of_all.append(depths)
        weighted += said["share_of_field_pct"] * said[f"mean_depth_{unit}"]
        shares += said["share_of_field_pct"]
        least, most = said[f"min_depth_{unit}"], said[f"max_depth_{unit}"]
        if cells.count():
            inner = cells.compressed() / cm
            within = inner.min() >= least - 0.0051 and inner.max() <= most + 0.0051
            report.check(f"{zone['id']}: cells are {least} to {most} deep", within, [inner.min(), inner.max()])
        if len(depths) >= ENOUGH_CELLS:
            mean = said[f"mean_depth_{unit}"]
            report.near(f"{zone['id']}: mean of the cells", depths.mean(), mean, 0.01 * mean + 0.005)
    mean = weighted / shares
    report.near("mean of all cells in zones", np.concatenate(of_all).mean(), mean, 0.01 * mean)


# --- map.png ---


def check_picture(report, path):
    """The chunks, by the PNG specification (third edition), clauses 5.3 and 11."""
    data = path.read_bytes()
    report.check("PNG signature", data[:8] == b"\x89PNG\r\n\x1a\n")
    chunks, at = {}, 8
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        content = data[at + 8 : at + 8 + length]
        (crc,) = struct.unpack(">I", data[at + 8 + length : at + 12 + length])
        report.check(f"checksum of {kind.decode()}", crc == zlib.crc32(kind + content))
        chunks[kind] = chunks.get(kind, b"") + content
        last, at = kind, at + 12 + length
    report.check("ends with IEND", last == b"IEND" and at == len(data), last)
    size = struct.unpack(">II", chunks[b"IHDR"][:8])
    report.check("2200 x 1700 pixels", size == (2200, 1700), size)
    density = struct.unpack(">IIB", chunks.get(b"pHYs", bytes(9)))
    report.check("200 dots per inch: 7874 per metre", density == (7874, 7874, 1), density)
    report.check("pixels can be inflated", len(zlib.decompress(chunks[b"IDAT"])) > 1700 * 2200)


# --- summary.json ---


def check_summary(report, summary, zones, boundary_file):
    report.check("program is named", summary["program"]["name"] == "loosedepth", summary["program"])
    report.check("number of zones", summary["zones"] == len(zones), summary["zones"])
    digest = hashlib.sha256(boundary_file.read_bytes()).hexdigest()
    digests = [entry["sha256"] for entry in summary["inputs"]]
    report.check("boundary's digest is among the inputs", digest in digests, digests)
    name = pyproj.CRS.from_epsg(summary["crs"]["epsg"]).name
    report.check("CRS has EPSG's name", summary["crs"]["name"] == name, summary["crs"]["name"])
    for said in summary["classes"]:
        areas = [z["properties"]["area_ha"] for z in zones if z["properties"]["class_no"] == said["class_no"]]
        report.near(f"class {said['class_no']}: area", said["area_ha"], sum(areas), 1e-6 * (len(areas) + 1))
    area_ha = summary["field"]["area_ha"]
    report.near("area in acres", summary["field"]["area_ac"], area_ha / HA_PER_AC, 2e-6)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
