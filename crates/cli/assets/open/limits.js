// Limits between the classes of depth: the ground from the surface down, with a slider between each two classes.

import { CLASSING, flag, setFlags } from "./choices.js";
import { byId, colourBlock, element, fill, isOff, setOff } from "./element.js";
import { unitOf } from "./units.js";

const USUAL = { us: [3, 6, 9, 12, 15, 18], si: [10, 20, 30, 40, 50] };
const DEEPEST = { us: 24, si: 60 };
const STEP = { us: 0.5, si: 1 };
/** More than eight classes cannot be told apart by their colours. */
const MOST = 7;

let system = "us";
let fieldLimits = null;
let limits = [];
let rows = [];
let classRows = [];

/** Sets up the buttons; `keep` keeps limits in the field's settings. */
export function setUpLimits(keep) {
  const whenOn = (id, press) => byId(id).addEventListener("click", () => isOff(byId(id)) || press());
  whenOn("add-limit", add);
  whenOn("usual-limits", () => {
    limits = [...usual()];
    rebuild();
    tell();
  });
  whenOn("keep-limits", () => keep([...limits]));
}

/** Takes the limits of the field and those chosen. */
export function takeLimits(settings, units) {
  system = units;
  fieldLimits = Array.isArray(settings?.classes) ? settings.classes : null;
  const given = flag("map", "classes");
  const next = given ? given.split(",").map(Number) : [...usual()];
  if (String(next) === String(limits) && rows.length === next.length) return;
  limits = next;
  rebuild();
}

/** Writes names, areas and colours of the classes beside their rows. */
export function showClasses(classes, noValue) {
  classRows.forEach((row, index) => {
    const ground = classes[index];
    row.hidden = !ground;
    if (!ground) return;
    fill(row,
      colourBlock(ground.colour),
      element("span", { class: "class-name" }, ground.name),
      element("span", { class: "class-ground" }, ground.ground));
  });
  rows.forEach(({ edge }, index) => {
    const [above, below] = [classes[index], classes[index + 1]];
    if (above && below) fill(edge, colourBlock(above.colour), colourBlock(below.colour));
  });
  fill(byId("no-value"), noValue ? `Without a value: ${noValue}.` : "");
}

const usual = () => fieldLimits ?? USUAL[system];

function rebuild() {
  rows = limits.map((_, index) => limitRow(index));
  classRows = [...limits, null].map(() => element("p", { class: "class-row" }));
  const all = [classRows[0]];
  rows.forEach((row, index) => all.push(row.box, classRows[index + 1]));
  fill(byId("limits"), all);
  refresh();
}

function limitRow(index) {
  const unit = unitOf("depth", system);
  const words = unit === "in" ? "inches" : "centimetres";
  const name = `Limit ${index + 1}`;
  const range = element("input", {
    type: "range", id: `limit-${index + 1}`, min: "0", max: DEEPEST[system], step: STEP[system],
    "aria-label": `${name}, ${words}`,
    oninput: () => move(index, Number(range.value)),
  });
  const number = element("input", {
    type: "number", id: `limit-${index + 1}-number`, min: "0", step: "any", inputmode: "decimal",
    "aria-label": `${name} as a number, ${words}`,
    onchange: () => number.value.trim() !== "" && move(index, Number(number.value), true),
  });
  const remove = element("button", {
    type: "button", id: `limit-${index + 1}-remove`, "aria-label": `Remove limit ${index + 1}`, onclick: () => removeAt(index),
  }, "Remove");
  const edge = element("span", { class: "edge", "aria-hidden": "true" });
  const box = element("div", { class: "limit-row" }, edge, range, number,
    element("span", { class: "unit", "aria-hidden": "true" }, unit), remove);
  return { box, edge, range, number, remove };
}

/** A limit stays between its neighbours. */
function move(index, wanted, isTyped = false) {
  const step = STEP[system];
  const least = index > 0 ? limits[index - 1] + step : step;
  const most = index + 1 < limits.length ? limits[index + 1] - step : Infinity;
  const kept = Math.min(Math.max(wanted, Math.min(least, limits[index])), Math.max(most, limits[index]));
  const isInOrder = (index === 0 || wanted > limits[index - 1]) && (index + 1 >= limits.length || wanted < limits[index + 1]);
  limits[index] = isTyped && isInOrder ? wanted : kept;
  refresh();
  tell();
}

function add() {
  const edges = [0, ...limits];
  const step = STEP[system];
  const last = edges[edges.length - 1];
  const usualStep = system === "si" ? 10 : 3;
  if (last + usualStep <= DEEPEST[system]) limits.push(last + usualStep);
  else {
    const gaps = edges.slice(1).map((deeper, index) => deeper - edges[index]);
    const widest = gaps.indexOf(Math.max(...gaps));
    limits.splice(widest, 0, edges[widest] + Math.max(step, Math.round(gaps[widest] / 2 / step) * step));
  }
  const added = limits.length;
  rebuild();
  tell();
  rows[added - 1].range.focus();
}

function removeAt(index) {
  if (limits.length < 2) return;
  limits.splice(index, 1);
  rebuild();
  tell();
  rows[Math.min(index, rows.length - 1)].remove.focus();
}

function refresh() {
  const unit = unitOf("depth", system);
  rows.forEach(({ range, number, remove }, index) => {
    range.value = limits[index];
    range.setAttribute("aria-valuetext", `${limits[index]} ${unit}`);
    if (document.activeElement !== number || Number(number.value) !== limits[index]) number.value = limits[index];
    remove.disabled = limits.length < 2;
  });
  setOff(byId("add-limit"), limits.length >= MOST);
  const isUsual = String(limits) === String(usual());
  setOff(byId("usual-limits"), isUsual);
  setOff(byId("keep-limits"), isUsual);
}

function tell() {
  const classes = String(limits) === String(usual()) ? null : limits.join(",");
  setFlags(CLASSING, { classes }, "limits");
}
