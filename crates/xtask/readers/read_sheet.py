"""Opens the plans in a folder of results with readers that are not ours.

    read_sheet.py MAPS

The operator's sheet is read by pypdf and drawn by PDFium, and must be one page that says what plan.json says
and looks like the picture beside it. The other files must have the areas and doses of plan.json: GDAL reads
them through pyogrio, and the tasks are read by PyPI isoxml. Exit code 1 when a check fails or there is no plan.
"""

import json
import sys
from pathlib import Path

import numpy as np
import pyogrio
import pypdf
import pypdfium2
import pyproj
from isoxml.util.isoxml_io import isoxml_from_path
from PIL import Image
from read_maps import Report

DPI = 200
# Two renderers smooth edges and letters in their own way; a part left out changes far more.
MOST_DIFFERENCE = 3.0
# Cells as wide as a pass follow borders and strips of one pass only roughly.
GRID_SHARE = 0.05
WGS_84 = pyproj.Geod(ellps="WGS84")


def main(maps):
    report = Report()
    folders = sorted(path.parent for path in Path(maps).glob("*/plan.json"))
    report.place = maps
    report.check("there is a plan", folders)
    for folder in folders:
        plan = json.loads((folder / "plan.json").read_text("utf-8"))
        report.place = str(folder)
        there = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
        named = sorted([*plan["files"], "plan.json"])
        report.check("plan.json names every other file", named == there, there)
        read_sheet(report, folder, plan)
        read_areas(report, folder, plan)
        read_tasks(report, folder, plan)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def read_sheet(report, folder, plan):
    path = folder / "operator.pdf"
    report.place = str(path)
    pages = pypdf.PdfReader(path).pages
    report.check("one page", len(pages) == 1, len(pages))
    size = [float(length) for length in pages[0].mediabox]
    report.check("letter size, landscape", size == [0, 0, 792, 612], size)
    fonts = [font.get_object() for font in pages[0]["/Resources"]["/Font"].values()]
    described = [font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object() for font in fonts]
    embedded = all("/FontFile2" in font or "/FontFile3" in font for font in described)
    report.check("fonts are inside", embedded)
    words = " ".join(pages[0].extract_text().split())
    said = [plan["field"], *plan["stamps"], *plan["hazards"], *plan["stop_rules"], *plan["cautions"]]
    for sentence in said:
        report.check(f"says {sentence!r}", " ".join(sentence.split()) in words)
    for part in plan["parts"]:
        report.check(f"names {part['zone_id']}", part["zone_id"] in words)
    drawn = pypdfium2.PdfDocument(path)[0].render(scale=DPI / 72).to_pil().convert("L")
    picture = Image.open(folder / "operator.png").convert("L")
    report.check("is as large as the picture", drawn.size == picture.size, [drawn.size, picture.size])
    difference = np.abs(np.asarray(drawn, dtype=float) - np.asarray(picture, dtype=float)).mean()
    report.check("looks like the picture", difference < MOST_DIFFERENCE, difference)


def read_areas(report, folder, plan):
    """Each part with its ground, in the files that have both."""
    expected = {part["id"]: part["area_ha"] for part in plan["parts"]}
    files = ["plan.geojson", "plan.gpkg", *(name for name in plan["files"] if name.endswith(".shp"))]
    for name in files:
        report.place = str(folder / name)
        layer = "zones" if name.endswith(".gpkg") else None
        meta, _, _, columns = pyogrio.raw.read(folder / name, layer=layer)
        by_name = {field.lower(): column for field, column in zip(meta["fields"], columns)}
        ids = by_name.get("part_id", by_name.get("name"))
        found = {str(part): float(area) for part, area in zip(ids, by_name["area_ha"])}
        same = found.keys() == expected.keys() and all(abs(found[k] - expected[k]) < 6e-4 for k in expected)
        report.check("parts and their ground are those of plan.json", same, found)


def read_tasks(report, folder, plan):
    """What each task's grid would do, summed over its cells, against the plan: a machine follows the grid."""
    path = folder / "TASKDATA"
    report.place = str(path)
    data, _ = isoxml_from_path(path)
    names = [task.designator for task in data.tasks]
    report.check("a task for each operation", len(names) == len(plan["operations"]), names)
    for number, task in enumerate(data.tasks):
        operation = plan["operations"][number]
        report.place = f"{path}, {operation['name']}"
        [grid] = task.grids
        dose = {zone.code: zone.process_data_variables[0].process_data_value for zone in task.treatment_zones}
        codes = np.fromfile(path / f"{grid.filename}.bin", dtype=np.uint8)
        report.check("every code is a zone of the task", set(codes.tolist()) <= set(dose), set(codes.tolist()))
        south, west = float(grid.minimum_north_position), float(grid.minimum_east_position)
        north, east = south + float(grid.cell_north_size), west + float(grid.cell_east_size)
        cell_m2 = abs(WGS_84.polygon_area_perimeter([west, east, east, west], [south, south, north, north])[0])
        treated_ha = sum(dose[code] > 0 for code in codes.tolist()) * cell_m2 / 10_000
        planned_ha = operation["treated_ha"]
        near = abs(treated_ha - planned_ha) < GRID_SHARE * planned_ha
        report.check(f"treats {planned_ha} ha, as far as cells can", near, treated_ha)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
