"""Opens a plan's TASKDATA with PyPI isoxml and checks what it says.

    read_taskdata.py FOLDER

FOLDER is what crates/formats/examples/write_plan.rs wrote: the same plan in both versions, as grids of both
types and as polygons, and the truth in expected.json. Outlines are compared corner by corner through
PROJ, areas with PROJ's geodesics, and each cell of a grid with the part of the plan that GEOS finds at its
middle. Exit code 1 when a check fails.
"""

import json
import shutil
import sys
import tempfile
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import numpy as np
import pyproj
import shapely
from isoxml.converter.np_grid import to_numpy_array
from isoxml.converter.shapely_geom import ShapelyConverterV3, ShapelyConverterV4
from isoxml.models.ddi_entities import DDEntity
from isoxml.util.isoxml_io import isoxml_from_path

from read_maps import Report
from taskdata_schema import faults

VARIANTS = ["v3-type1", "v3-type2", "v3-polygons", "v4-type1", "v4-type2", "v4-polygons"]
WGS_84 = pyproj.Geod(ellps="WGS84")
# What one step of the dictionary's number is, in millimetres, kg/ha or L/ha.
STEP = {"mm": (51, 1.0), "kg/ha": (6, 0.01), "L/ha": (1, 0.0001)}
# Units that the plan's reader uses, in the same: exact factors of the inch, pound, gallon and acre.
SHOWN = {"mm": ("in", 25.4), "kg/ha": ("lb/ac", 0.45359237 / 0.40468564224), "L/ha": ("gal/ac", 3.785411784 / 0.40468564224)}
# Half of what nine decimals of a degree are, and what PROJ's versions may differ by.
DEGREES = 2e-9
LEAVE = 0


def main(folder):
    report, folder = Report(), Path(folder)
    truth = json.loads((folder / "expected.json").read_text("utf-8"))
    plane = pyproj.Transformer.from_crs(4326, truth["epsg"], always_xy=True)
    for variant in VARIANTS:
        report.place = variant
        found = faults(folder / variant / "TASKDATA")
        report.check("nothing is against the schema", not found, found)
        data, files = isoxml_from_path(folder / variant / "TASKDATA")
        check_plan(report, variant, truth, plane, data, files)
        check_archive(report, folder / f"{variant}.zip", folder / variant / "TASKDATA")
    report.place = "a damaged file"
    check_damage(report, folder)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def check_plan(report, variant, truth, plane, data, files):
    converter = (ShapelyConverterV3 if variant.startswith("v3") else ShapelyConverterV4)()
    customer = data.customers[0]
    grower = customer.designator if variant.startswith("v3") else customer.last_name
    report.check("grower", grower == truth["grower"], grower)
    report.check("farm", data.farms[0].designator == truth["farm"], data.farms[0].designator)
    check_field(report, truth, plane, data, converter)
    names = [task.designator for task in data.tasks]
    report.check("tasks in their order", names == [task["name"] for task in truth["tasks"]], names)
    for task, expected in zip(data.tasks, truth["tasks"]):
        report.place = f"{variant}, {expected['name']}"
        check_task(report, variant, truth, plane, data, files, converter, task, expected)


# --- the field ---


def check_field(report, truth, plane, data, converter):
    field = data.partfields[0]
    report.check("field", field.designator == truth["field"], field.designator)
    parts = [shapely.MultiPolygon([shapely.Polygon(p[0], p[1:]) for p in part["polygons_m"]]) for part in truth["parts"]]
    union = shapely.union_all(parts)
    outlines = [converter.to_shapely_polygon(polygon) for polygon in field.polygons]
    report.check("every outline is valid", all(outline.is_valid for outline in outlines))
    report.check("pieces of the field", len(outlines) == len(union.geoms), len(outlines))
    holes = sum(len(outline.interiors) for outline in outlines)
    report.check("holes of the field", holes == sum(len(piece.interiors) for piece in union.geoms), holes)
    whole = shapely.transform(shapely.MultiPolygon(outlines), lambda xy: np.column_stack(plane.transform(*xy.T)))
    report.near("ground that differs from the parts", whole.symmetric_difference(union).area, 0.0, 0.5)
    area = sum(part["area_m2"] for part in truth["parts"])
    report.near("area of the field", field.area, area, 1.0)
    report.near("area of the outlines", sum(area_m2(outline) for outline in outlines), area, 0.5)


def area_m2(polygon):
    oriented = shapely.geometry.polygon.orient(polygon)
    return WGS_84.geometry_area_perimeter(oriented)[0]


# --- a task ---


def check_task(report, variant, truth, plane, data, files, converter, task, expected):
    ddi, step = STEP[expected["unit"]]
    zones = {zone.code: zone for zone in task.treatment_zones}
    stored = {code: [pdv.process_data_value for pdv in zone.process_data_variables] for code, zone in zones.items()}
    for case, code, wanted in [
        ("default", task.default_treatment_zone_code, "position_lost"),
        ("position lost", task.position_lost_treatment_zone_code, "position_lost"),
        ("outside the field", task.out_of_field_treatment_zone_code, "out_of_field"),
    ]:
        report.check(case, stored[code] == [steps(expected[wanted], step)], stored[code])
    references = [(data.customers, task.customer_id_ref), (data.farms, task.farm_id_ref), (data.partfields, task.partfield_id_ref)]
    report.check("grower, farm and field", all(held[0].id == ref for held, ref in references))
    report.check("planned", task.status.value == "1", task.status)
    products = {product.id: product.designator for product in data.products}
    presentations = {presentation.id: presentation for presentation in data.value_presentations}
    for zone in task.treatment_zones:
        [variable] = zone.process_data_variables
        entity = DDEntity.from_bytes(variable.process_data_ddi)
        report.check("data entry", entity.ddi == ddi, entity)
        report.check("product", products.get(variable.product_id_ref) == expected["product"], variable.product_id_ref)
        check_shown(report, presentations[variable.value_presentation_id_ref], variable, expected["unit"], step)
    wanted = {part["name"]: dose for part, dose in zip(truth["parts"], expected["doses"]) if dose is not None}
    if variant.endswith("type2"):
        check_doses(report, truth, plane, files, task, expected, step)
        return
    own = [zone for zone in task.treatment_zones if zone.code >= 4]
    names = [zone.designator for zone in own]
    report.check("zones in their order", names == list(wanted), names)
    for zone in own:
        dose = stored[zone.code]
        report.check(f"dose of {zone.designator}", dose == [steps(wanted[zone.designator], step)], dose)
    if variant.endswith("type1"):
        check_codes(report, truth, plane, files, task, expected, zones)
    else:
        check_outlines(report, truth, plane, converter, task, expected)


def steps(dose, step):
    """A dose as the whole number of steps nearest to it, halves upward."""
    exact = (Decimal(repr(dose)) / Decimal(repr(step))).quantize(Decimal("0.000001"))
    return int(exact.quantize(Decimal(1), ROUND_HALF_UP))


def check_shown(report, presentation, variable, unit, step):
    name, size = SHOWN[unit]
    report.check("unit shown", presentation.unit_designator == name, presentation.unit_designator)
    shown = (variable.process_data_value + presentation.offset) * float(presentation.scale)
    dose = variable.process_data_value * step / size
    report.near("number shown", shown, dose, 1e-7 * max(dose, 1.0))
    # At least the nearest whole lb/ac, 0.01 gal/ac and 0.1 in.
    report.check("decimals", presentation.number_of_decimals in range(3), presentation.number_of_decimals)


# --- where it lies ---


def check_outlines(report, truth, plane, converter, task, expected):
    treated = [(part, dose) for part, dose in zip(truth["parts"], expected["doses"])]
    left = [part for part, dose in treated if dose is None]
    wanted = [("Leave", left)] + [(part["name"], [part]) for part, dose in treated if dose is not None]
    zones = [zone for zone in task.treatment_zones if zone.polygons]
    names = [zone.designator for zone in zones]
    report.check("zones with outlines", names == [name for name, _ in wanted], names)
    for zone, (name, parts) in zip(zones, wanted):
        polygons = [polygon for part in parts for polygon in part["polygons_m"]]
        report.check(f"pieces of {name}", len(zone.polygons) == len(polygons), len(zone.polygons))
        for found, rings in zip(zone.polygons, polygons):
            outline = converter.to_shapely_polygon(found)
            report.check(f"{name} is valid", outline.is_valid)
            read = [outline.exterior, *outline.interiors]
            report.check(f"holes of {name}", len(read) == len(rings), len(read))
            for ring, corners in zip(read, rings):
                degrees = np.column_stack(plane.transform(*np.array(corners).T, direction="INVERSE"))
                same = len(ring.coords) == len(corners) and np.abs(np.array(ring.coords, float) - degrees).max() <= DEGREES
                report.check(f"corners of {name}", same, list(ring.coords))
            report.near(f"area of {name}", found.area, area_m2(outline), 1.0)
        area = sum(part["area_m2"] for part in parts)
        read = sum(area_m2(converter.to_shapely_polygon(polygon)) for polygon in zone.polygons)
        report.near(f"whole area of {name}", read, area, 0.1)


def expected_parts(truth, plane, grid):
    """The part at the middle of each cell, by GEOS; -1 outside, -2 where a border is nearer than 1 cm."""
    lon = float(grid.minimum_east_position) + (np.arange(grid.maximum_column) + 0.5) * grid.cell_east_size
    lat = float(grid.minimum_north_position) + (np.arange(grid.maximum_row) + 0.5) * grid.cell_north_size
    points = shapely.points(*plane.transform(*np.meshgrid(lon, lat)))
    found = np.full(points.shape, -1)
    for index, part in enumerate(truth["parts"]):
        ground = shapely.MultiPolygon([shapely.Polygon(p[0], p[1:]) for p in part["polygons_m"]])
        shapely.prepare(ground)
        found[shapely.contains(ground, points)] = index
        found[shapely.distance(ground.boundary, points) < 0.01] = -2
    return found


def check_size(report, truth, plane, grid):
    """Cells of the size asked for, over all of the field."""
    west, south = float(grid.minimum_east_position), float(grid.minimum_north_position)
    east = west + grid.maximum_column * grid.cell_east_size
    north = south + grid.maximum_row * grid.cell_north_size
    middle = (south + north) / 2
    for what, (lon, lat) in [("east", (west + grid.cell_east_size, middle)), ("north", (west, middle + grid.cell_north_size))]:
        report.near(f"cell {what}", WGS_84.inv(west, middle, lon, lat)[2], truth["cell_m"], 1e-4)
    corners = np.array([c for part in truth["parts"] for polygon in part["polygons_deg"] for ring in polygon for c in ring])
    inside = (corners >= [west - 1e-9, south - 1e-9]).all() and (corners <= [east + 1e-9, north + 1e-9]).all()
    report.check("the grid covers the field", inside)
    tight = corners.max(axis=0) > [east - grid.cell_east_size, north - grid.cell_north_size]
    report.check("no row or column too many", tight.all())


def check_codes(report, truth, plane, files, task, expected, zones):
    [grid] = task.grids
    check_size(report, truth, plane, grid)
    codes = to_numpy_array(files[grid.filename], grid)
    parts = expected_parts(truth, plane, grid)
    names = np.array([zones[code].designator for code in range(256) if code in zones], object)
    lookup = np.array([list(zones).index(code) if code in zones else -1 for code in range(256)])
    doses = expected["doses"]
    wanted = [part["name"] if dose is not None else "Leave" for part, dose in zip(truth["parts"], doses)]
    wanted = np.array([*wanted, None, "Outside the field"], object)[parts]
    same = (names[lookup[codes]] == wanted) | (parts == -2)
    report.check("each cell has the zone at its middle", same.all(), np.argwhere(~same)[:5].tolist())
    report.check("few cells lie on a border", (parts == -2).sum() < 20, int((parts == -2).sum()))


def check_doses(report, truth, plane, files, task, expected, step):
    [grid] = task.grids
    check_size(report, truth, plane, grid)
    doses = to_numpy_array(files[grid.filename], grid)
    parts = expected_parts(truth, plane, grid)
    wanted = [LEAVE if dose is None else steps(dose, step) for dose in expected["doses"]]
    wanted = np.array([*wanted, 0, steps(expected["out_of_field"], step)])[parts]
    same = (doses == wanted) | (parts == -2)
    report.check("each cell has the dose at its middle", same.all(), np.argwhere(~same)[:5].tolist())


# --- the archive, and damage ---


def check_archive(report, path, folder):
    with tempfile.TemporaryDirectory() as place:
        shutil.unpack_archive(path, place)
        names = sorted(str(file.relative_to(place)) for file in Path(place).rglob("*") if file.is_file())
        expected = sorted(f"TASKDATA/{file.name}" for file in folder.iterdir())
        report.check("files of the archive", names == expected, names)
        same = all((Path(place) / name).read_bytes() == (folder / Path(name).name).read_bytes() for name in names)
        report.check("the archive holds the folder's bytes", same)


# Changes that a schema or a careful reader must find, and a word of what is said of each.
DAMAGE = [
    ('<TZN A="4"', '<TZN A="255"', "above 254"),
    ('<TZN A="4"', '<TZN A="2"', "code 2 2 times"),
    ('B="Z1"', f'B="{"x" * 33}"', "of length 33"),
    ('A="0033"', 'A="033"', "is not bytes"),
    ('C="PDT1"', 'C="PDT9"', "not there"),
    (' H="2"', "", "H names no zone"),
    (' H="2"', ' H="200"', "H names no zone"),
    ('B="356"', 'B="35.6"', "is not int"),
    ('B="356"', 'B="2147483648"', "above 2147483647"),
    ('A="TSK1"', 'A="TASK1"', "not like"),
    ('<PFD A="PFD1"', '<PFD A="PFD1" Q="1"', "no attribute Q"),
    ('VersionMajor="3"', 'VersionMajor="7"', "neither 3 nor 4"),
    ('G="GRD00001"', 'G="GRD00009"', "no file"),
    ('A="VPN2"', 'A="VPN1"', "given 2 times"),
]


def check_damage(report, folder):
    """The schema's checks find what they are for."""
    original = folder / "v3-type1" / "TASKDATA"
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / "TASKDATA"
        shutil.copytree(original, copy)
        text = (original / "TASKDATA.XML").read_text("utf-8")
        for old, new, said in DAMAGE:
            damaged = text.replace(old, new, 1)
            (copy / "TASKDATA.XML").write_text(damaged, "utf-8")
            found = faults(copy) if damaged != text else ["nothing was damaged"]
            report.check(f"{new or old} is found", any(said in fault for fault in found), found)
        (copy / "TASKDATA.XML").write_text(text, "utf-8")
        for change in [lambda cells: cells[:-1], lambda cells: cells[:-1] + b"\xc8"]:
            (copy / "GRD00001.bin").write_bytes(change((original / "GRD00001.bin").read_bytes()))
            report.check("a damaged grid is found", faults(copy))


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
