// Opens a plan's shapefiles and rasters with npm shapefile and npm geotiff and checks what they say.
//
//     node read_plan_files.mjs FOLDER
//
// FOLDER is what crates/formats/examples/write_plan_files.rs wrote, with the truth in expected.json. Exit code 1
// when a check fails.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { fromArrayBuffer } from "geotiff";
import * as shapefile from "shapefile";

import { at, check, finish, near } from "./checks.mjs";

const COLUMNS = { loosen: "DEPTH_CM", gypsum: "KG_HA", humic: "L_HA" };
const UNITS = { loosen: "cm", gypsum: "kg/ha", humic: "L/ha" };
const NO_DATA = -9999;

// Twice the area inside a ring, positive where it turns counter-clockwise.
function turning(ring) {
  const [west, south] = ring[0];
  const pair = (k) => (ring[k][0] - west) * (ring[k + 1][1] - south) - (ring[k + 1][0] - west) * (ring[k][1] - south);
  return ring.slice(0, -1).reduce((sum, _, k) => sum + pair(k), 0);
}

async function checkShapefile(folder, operation, index, truth) {
  at(`${operation}.shp`);
  const path = (extension) => readFileSync(join(folder, `${operation}.${extension}`));
  const { features } = await shapefile.read(path("shp"), path("dbf"));
  check("as many shapes", features.length === truth.parts.length, features.length);
  features.forEach(({ geometry, properties }, k) => {
    const part = truth.parts[k];
    const polygons = geometry.type === "Polygon" ? [geometry.coordinates] : geometry.coordinates;
    check("pieces", polygons.length === part.polygons, polygons.length);
    const holes = polygons.flatMap((polygon) => polygon.slice(1));
    check("holes", holes.length === part.holes, holes.length);
    // As the file has them: outer rings clockwise, holes the other way.
    check("outer rings", polygons.every((polygon) => turning(polygon[0]) < 0), "a ring that turns otherwise");
    check("rings of holes", holes.every((ring) => turning(ring) > 0), "a ring that turns otherwise");
    check("number", properties.ZONE === k + 1, properties.ZONE);
    check("name", properties.NAME === part.id, properties.NAME);
    check("action", properties.ACTION === part.action, properties.ACTION);
    near(COLUMNS[operation], properties[COLUMNS[operation]], part.doses[index], 0.00501);
    near("AREA_HA", properties.AREA_HA, part.ground_area_m2 / 1e4, 0.000501);
  });
}

async function checkRaster(folder, operation, index, truth) {
  at(`${operation}.tif`);
  const bytes = readFileSync(join(folder, `${operation}.tif`));
  const tiff = await fromArrayBuffer(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  const image = await tiff.getImage();
  const { ProjectedCSTypeGeoKey: epsg } = image.getGeoKeys();
  check("plane", epsg === truth.epsg, epsg);
  check("no data", image.getGDALNoData() === NO_DATA, image.getGDALNoData());
  const metadata = await image.getGDALMetadata(0);
  check("unit", metadata.UNITTYPE === UNITS[operation], metadata);
  const [width, height] = image.getResolution();
  const [cells] = await image.readRasters();
  // The ground of each dose; parts with the same dose are one.
  const ground = new Map();
  for (const { doses, plane_area_m2 } of truth.parts) {
    const dose = Math.fround(doses[index]);
    ground.set(dose, (ground.get(dose) ?? 0) + plane_area_m2);
  }
  const found = new Map();
  for (const cell of cells) {
    if (cell !== NO_DATA) found.set(cell, (found.get(cell) ?? 0) + Math.abs(width * height));
  }
  check("as many doses", found.size === ground.size, [...found]);
  for (const [dose, area] of ground) near(`ground with ${dose} in m2`, found.get(dose) ?? 0, area, 1e-6);
}

const folder = process.argv[2];
const truth = JSON.parse(readFileSync(join(folder, "expected.json"), "utf8"));
for (const [index, operation] of truth.operations.entries()) {
  await checkShapefile(folder, operation, index, truth);
  await checkRaster(folder, operation, index, truth);
}
finish();
