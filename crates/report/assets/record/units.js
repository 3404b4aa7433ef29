"use strict";
// What a person reads, in the units chosen. Values in the recording are in those units too.

const M_PER_FT = 0.3048;
const KPA_PER_PSI = 6.894757293168361;

// The ranges are what hand rods and their gauges have (common practice): a figure outside them was typed
// in other units, or with a comma between thousands.
const UNITS = {
  us: {
    depth: "in",
    pressure: "psi",
    rod: 18,
    marks: 3,
    tile: "3 to 4 ft",
    thresholds: [20, 1000],
    rods: [4, 80],
    steps: [0.1, 20],
  },
  si: {
    depth: "cm",
    pressure: "kPa",
    rod: 45,
    marks: 5,
    tile: "0.9 to 1.2 m",
    thresholds: [140, 7000],
    rods: [10, 200],
    steps: [0.2, 50],
  },
};

// A distance on the ground: `180 ft`, `4.5 m`, with a blank that no line ends at.
function distanceWords(metres, units) {
  const [number, unit] = units === "us" ? [metres / M_PER_FT, "ft"] : [metres, "m"];
  const rounded = unit === "m" && number < 10 ? Math.round(number * 10) / 10 : Math.round(number);
  return `${rounded.toLocaleString("en-US")}\u00a0${unit}`;
}

// The number of a text, with a point or a comma before the decimals; NaN where it is none.
function numberOf(text) {
  const plain = text.trim().replace(",", ".");
  return /^\d+(\.\d*)?$|^\.\d+$/.test(plain) ? Number(plain) : NaN;
}

// The marks of a rod, from the surface to its end.
function marksOf({ rod, marks }) {
  const count = Math.floor(rod / marks + 1e-9);
  return Array.from({ length: count + 1 }, (_, k) => Number((k * marks).toFixed(2)));
}

// What an insertion said, in a few words: `9 in`, `≥ 18 in`, `stone`.
function pressWords(press, setup) {
  const unit = UNITS[setup.units].depth;
  switch (press.what) {
    case "reached":
      return `${press.depth} ${unit}`;
    case "not_reached":
      return `≥ ${press.depth} ${unit}`;
    case "stone":
      return "stone or root";
    default:
      return press.what;
  }
}
