// Opens a plan's TASKDATA with npm isoxml and checks what it says.
//
//     node read_taskdata.mjs FOLDER
//
// FOLDER is what crates/formats/examples/write_plan.rs wrote: archives of the same plan in both versions, as
// grids of both types and as polygons, and the truth in expected.json. The library must have no warning.
// Exit code 1 when a check fails.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { isDeepStrictEqual } from "node:util";
import isoxml from "isoxml";

import { at, check, finish, near } from "./checks.mjs";

const VARIANTS = ["v3-type1", "v3-type2", "v3-polygons", "v4-type1", "v4-type2", "v4-polygons"];
// Number in the dictionary and steps in a millimetre, a kg/ha or an L/ha; unit and name that a terminal shows
// and its size in the same: exact factors of the inch, pound, gallon and acre.
const HA_PER_AC = 0.40468564224;
const QUANTITIES = {
  mm: { ddi: "0033", steps: 1, shown: "in", size: 25.4 },
  "kg/ha": { ddi: "0006", steps: 100, shown: "lb/ac", size: 0.45359237 / HA_PER_AC },
  "L/ha": { ddi: "0001", steps: 10000, shown: "gal/ac", size: 3.785411784 / HA_PER_AC },
};
// Nine decimals of a degree, and the last digit of what they are made from.
const DEGREES = 1e-9;
// Cells whose middle lies this near to a border, in degrees (2 cm), are not compared: the borders are straight
// in the plane, not in degrees.
const BORDER = 2e-7;

function same(what, found, expected) {
  check(`${what} is ${JSON.stringify(expected)?.slice(0, 100)}`, isDeepStrictEqual(found, expected), found);
}

// The nearest whole number of steps, halves upward, where the dose is a half to a millionth.
const stepsOf = (dose, steps) => Math.round(Math.round(dose * steps * 1e6) / 1e6);

async function read(folder, variant, truth) {
  at(variant);
  const manager = new isoxml.ISOXMLManager();
  await manager.parseISOXMLFile(new Uint8Array(readFileSync(join(folder, `${variant}.zip`))), "application/zip");
  same("warnings", manager.getWarnings(), []);
  same("version", manager.options.version, Number(variant[1]));
  const root = manager.rootElement.attributes;
  same("grower", root.Customer[0].attributes.CustomerLastName, truth.grower);
  same("farm", root.Farm[0].attributes.FarmDesignator, truth.farm);
  checkField(root.Partfield[0], truth);
  same("tasks", root.Task.map((task) => task.attributes.TaskDesignator), truth.tasks.map((task) => task.name));
  root.Task.forEach((task, index) => {
    at(`${variant}, ${truth.tasks[index].name}`);
    checkTask(variant, task.attributes, truth, truth.tasks[index]);
  });
}

function checkField(field, truth) {
  same("field", field.attributes.PartfieldDesignator, truth.field);
  const area = truth.parts.reduce((sum, part) => sum + part.area_m2, 0);
  near("area", field.attributes.PartfieldArea, area, 1);
  const outlines = field.toGeoJSON().coordinates;
  // The field proper with its pond, and the piece beyond the road.
  same("holes of each piece", outlines.map((rings) => rings.length - 1), [1, 0]);
}

function checkTask(variant, task, truth, expected) {
  const { ddi, steps, shown, size } = QUANTITIES[expected.unit];
  const zones = new Map(task.TreatmentZone.map((zone) => [zone.attributes.TreatmentZoneCode, zone.attributes]));
  const dose = (code) => zones.get(code).ProcessDataVariable.map((variable) => variable.attributes.ProcessDataValue);
  same("default", dose(task.DefaultTreatmentZoneCode), [stepsOf(expected.position_lost, steps)]);
  same("position lost", dose(task.PositionLostTreatmentZoneCode), [stepsOf(expected.position_lost, steps)]);
  same("outside the field", dose(task.OutOfFieldTreatmentZoneCode), [stepsOf(expected.out_of_field, steps)]);
  same("field", task.PartfieldIdRef.entity.attributes.PartfieldDesignator, truth.field);
  same("farm", task.FarmIdRef.entity.attributes.FarmDesignator, truth.farm);
  same("grower", task.CustomerIdRef.entity.attributes.CustomerLastName, truth.grower);
  same("planned", task.TaskStatus, isoxml.TaskTaskStatusEnum.Planned);
  for (const zone of zones.values()) {
    const [variable] = zone.ProcessDataVariable;
    same("data entry", variable.attributes.ProcessDataDDI, ddi);
    same("product", variable.attributes.ProductIdRef?.entity.attributes.ProductDesignator ?? null, expected.product);
    const { Offset, Scale, UnitDesignator } = variable.attributes.ValuePresentationIdRef.entity.attributes;
    same("unit shown", UnitDesignator, shown);
    const exact = variable.attributes.ProcessDataValue / steps / size;
    near("number shown", (variable.attributes.ProcessDataValue + Offset) * Scale, exact, 1e-7 * Math.max(exact, 1));
  }
  if (variant.endsWith("type2")) return checkDoses(task, truth, expected, steps);
  const own = [...zones.values()].filter((zone) => zone.TreatmentZoneCode >= 4);
  const wanted = truth.parts.map((part, index) => [part.name, expected.doses[index]]).filter(([, dose]) => dose !== null);
  same("zones in their order", own.map((zone) => zone.TreatmentZoneDesignator), wanted.map(([name]) => name));
  own.forEach((zone, index) => same("dose", dose(zone.TreatmentZoneCode), [stepsOf(wanted[index][1], steps)]));
  if (variant.endsWith("type1")) checkCodes(task, truth, expected, zones);
  else checkOutlines(zones, truth, expected);
}

function checkOutlines(zones, truth, expected) {
  for (const zone of zones.values()) {
    if (!zone.PolygonTreatmentZoneonly) continue;
    const name = zone.TreatmentZoneDesignator;
    const parts = truth.parts.filter((part, index) =>
      expected.doses[index] === null ? name === "Leave" : name === part.name,
    );
    const read = zone.PolygonTreatmentZoneonly.map((polygon) =>
      polygon.attributes.LineString.map((ring) => ring.toCoordinatesArray()),
    );
    const corners = parts.flatMap((part) => part.polygons_deg);
    same(`pieces and holes of ${name}`, read.map((p) => p.map((r) => r.length)), corners.map((p) => p.map((r) => r.length)));
    const off = Math.max(...read.flat(3).map((degrees, index) => Math.abs(degrees - corners.flat(3)[index])));
    near(`corners of ${name}`, off, 0, DEGREES);
  }
}

// The part of the plan at a place: its index, -1 outside, -2 near a border.
function partAt(truth, east, north) {
  let found = -1;
  for (const [index, part] of truth.parts.entries()) {
    let inside = false;
    for (const ring of part.polygons_deg.flat()) {
      for (let k = 1; k < ring.length; k += 1) {
        const [[x0, y0], [x1, y1]] = [ring[k - 1], ring[k]];
        const along = ((east - x0) * (x1 - x0) + (north - y0) * (y1 - y0)) / ((x1 - x0) ** 2 + (y1 - y0) ** 2);
        const t = Math.min(1, Math.max(0, along));
        if (Math.hypot(x0 + t * (x1 - x0) - east, y0 + t * (y1 - y0) - north) < BORDER) return -2;
        if (y0 > north !== y1 > north && east < x0 + ((north - y0) / (y1 - y0)) * (x1 - x0)) inside = !inside;
      }
    }
    if (inside) found = index;
  }
  return found;
}

// Compares what each cell holds with what it should where its middle lies.
function compareCells(grid, truth, found, wanted) {
  const { GridMaximumColumn: columns, GridMaximumRow: rows, GridMinimumEastPosition: west } = grid.attributes;
  const { GridMinimumNorthPosition: south, GridCellEastSize: width, GridCellNorthSize: height } = grid.attributes;
  const wrong = [];
  let compared = 0;
  for (let cell = 0; cell < columns * rows; cell += 1) {
    const [column, row] = [cell % columns, Math.floor(cell / columns)];
    const part = partAt(truth, west + (column + 0.5) * width, south + (row + 0.5) * height);
    if (part === -2) continue;
    compared += 1;
    if (found(cell) !== wanted(part)) wrong.push([column, row, found(cell), wanted(part)]);
  }
  same("cells that hold another thing than their middle says", wrong, []);
  check("nearly all cells were compared", compared > 0.95 * columns * rows, compared);
  return columns * rows;
}

function checkCodes(task, truth, expected, zones) {
  const [grid] = task.Grid;
  const name = (cell) => zones.get(grid.binaryData[cell])?.TreatmentZoneDesignator;
  const cells = compareCells(grid, truth, name, (part) => {
    if (part === -1) return "Outside the field";
    return expected.doses[part] === null ? "Leave" : truth.parts[part].name;
  });
  same("bytes", grid.binaryData.length, cells);
}

function checkDoses(task, truth, expected, steps) {
  const [grid] = task.Grid;
  const bytes = new DataView(grid.binaryData.buffer, grid.binaryData.byteOffset, grid.binaryData.byteLength);
  const dose = (cell) => bytes.getInt32(4 * cell, true);
  const cells = compareCells(grid, truth, dose, (part) => {
    const wanted = part === -1 ? expected.out_of_field : (expected.doses[part] ?? 0);
    return stepsOf(wanted, steps);
  });
  same("bytes", grid.binaryData.length, 4 * cells);
  // The library leaves out cells of nothing.
  const some = Array.from({ length: cells }, (_, cell) => dose(cell)).filter((stored) => stored !== 0);
  const features = grid.toGeoJSON(["dose"]).features.map((feature) => feature.properties.dose);
  same("doses as the library reads them", features, some);
}

const folder = process.argv[2];
const truth = JSON.parse(readFileSync(join(folder, "expected.json"), "utf8"));
for (const variant of VARIANTS) await read(folder, variant, truth);
finish();
