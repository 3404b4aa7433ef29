// The map of the report and of the local page: an ES module without dependencies. It is a file of its own, or
// part of the one module that a page holds.
//
//   import { createMap } from "./map.js";
//   const map = createMap(element, data, options);
//
// `data` is what `report::map_view` serialises. Places are metres of the page: x to the east, y to the south
// of the frame's north-west corner. `options`, all optional:
//
//   layer       "zones" | "depth" | "error" | "chance" | "change"     which ground is shown first
//   visits      [left, right], places among data.visits               [first, last]
//   readings    whether readings stand beside their probes            true
//
// What the map offers:
//
//   map.setData(data)            other data; the view stays where the frame is the same
//   map.setZones(zones, visit)   other zones and classes (what `report::zone_paths` serialises) of one visit, the
//                                right one unless given: for limits that are being dragged
//   map.setLayer(name)           see options.layer;  map.layers() lists those that there are
//   map.setVisits(left, right)   which dates are on either side of the divider
//   map.setSwipe(share)          where the divider stands, 0 at the left to 1
//   map.goTo(x, y, metres)       a place into the middle, with so many metres of ground across (as now unless given),
//                                and the crosshair on it
//   map.select(point)            a probe by its id, or { visit, index }; null for none. Marked, read out, moved into view
//   map.fit()                    the whole field
//   map.setOverlay({ shapes, pins })   shapes: [{ path, words, kind }], SVG path data in metres; pins: [{ x, y, words,
//                                kind }]. `kind` becomes a class: `shape-kind`, `pin-kind`
//   map.on(name, listener)       "place" { x, y, easting, northing, zone, probe } on a click or Enter,
//                                "select" { visit, index, id } or null, "layer" name, "visits" [left, right];
//                                gives a function that ends it
//   map.readAt(x, y)             what is known of a place, as lines of text
//   map.destroy()
//
// Keys while the map has the focus: arrows move the crosshair by a cell, with Shift by ten; + and − zoom, 0 shows
// the whole field; [ and ] move the divider; Enter chooses the nearest probe, Escape puts the crosshair away.
// Nothing moves by itself, so there is no motion to reduce.

const SVG = "http://www.w3.org/2000/svg";
const INK = "#1b2430", PAPER = "#ffffff", SURROUNDINGS = "#f3f4f6", HATCH = "#a9b0b8";
const WITHIN_GROUND = "#fcfcfb", WITHIN_LINE = "#9aa2ab", FULL = "#e07b00";
const KINDS = ["reached", "not-reached", "no-reading", "no-reading"];
const MARK = 4.5, LABEL = 12, ZONE_LABEL = 14, SIGN_STEP = 62;
let maps = 0;

export function createMap(root, data, options = {}) {
  const id = `map-${++maps}`;
  const listeners = {};
  const state = {
    layer: options.layer || "zones",
    left: 0,
    right: 0,
    swipe: 0.5,
    readings: options.readings !== false,
    probes: true,
    names: true,
    cross: null,
    hover: null,
    selected: null,
    scale: 1, // pixels per metre
    tx: 0,
    ty: 0,
    width: 0,
    height: 0,
  };
  let grids, rasters, zonePaths, fieldPath, overlay = { shapes: [], pins: [] };
  const probe2d = document.createElement("canvas").getContext("2d");
  const dom = build();

  // ---- data ----

  function adopt(fresh) {
    data = fresh;
    grids = new Map();
    rasters = new Map();
    zonePaths = new Map();
    fieldPath = new Path2D(data.field);
    const last = data.visits.length - 1;
    const [left, right] = options.visits || [0, last];
    state.left = Math.min(left, last);
    state.right = Math.min(right, last);
    if (!layers().includes(state.layer)) state.layer = "zones";
    state.selected = null;
  }

  function layers() {
    const has = (name) => data.visits.some((visit) => visit[name]);
    return ["zones", "depth", ...["error", "chance"].filter(has), ...(data.change ? ["change"] : [])];
  }

  const shown = () => (state.layer === "change" ? data.change.visits : [state.left, state.right]);
  const isSwiped = () => state.layer !== "change" && state.left !== state.right;
  const dividerX = () => Math.round(state.swipe * state.width);
  const visitAt = (px) => (isSwiped() && px < dividerX() ? state.left : state.right);

  function grid(data) {
    if (!grids.has(data)) grids.set(data, decodeGrid(data));
    return grids.get(data);
  }

  function valueAt(data, x, y) {
    if (!data) return NaN;
    const column = Math.floor((x - data.x) / data.cell), row = Math.floor((y - data.y) / data.cell);
    const inside = column >= 0 && row >= 0 && column < data.columns && row < data.rows;
    return inside ? grid(data)[row * data.columns + column] : NaN;
  }

  function zoneAt(visit, x, y) {
    if (!zonePaths.has(visit)) zonePaths.set(visit, data.visits[visit].zones.zones.map((zone) => new Path2D(zone.path)));
    const k = zonePaths.get(visit).findIndex((path) => probe2d.isPointInPath(path, x, y, "evenodd"));
    return k < 0 ? null : data.visits[visit].zones.zones[k];
  }

  const isInField = (x, y) => probe2d.isPointInPath(fieldPath, x, y, "evenodd");

  function nearestProbe(visit, x, y) {
    let best = null;
    data.visits[visit].probes.forEach(([px, py, kind], index) => {
      const metres = Math.hypot(px - x, py - y);
      if (kind < 2 && (!best || metres < best.metres)) best = { visit, index, metres };
    });
    return best;
  }

  const isNotReached = (near) => Boolean(near) && data.visits[near.visit].probes[near.index][2] === 1;

  // ---- words ----

  const tidy = (number, decimals) => String(Number(number.toFixed(decimals))).replace("-", "−").replace(/^−0$/, "0");
  const signed = (number) => (tidy(number, 1) === "0" ? "0" : (number > 0 ? "+" : "") + tidy(number, 1));
  const depthOf = (cm) => cm / data.units.depth_cm;
  const depthText = (cm) => `${tidy(depthOf(cm), 1)} ${data.units.depth}`;
  const distanceText = (m) => `${Math.round(m / data.units.distance_m).toLocaleString("en")} ${data.units.distance}`;

  function probeText([, , kind, name, reading]) {
    const read = ["", ", not reached", "stopped by a stone, no reading", "skipped, no reading"][kind];
    if (kind > 1) return read;
    const depth = kind === 1 ? `≥ ${reading.replace("+", "")}` : reading;
    return `${name}: ${depth} ${data.units.depth}${kind === 1 ? `, ${data.threshold} not reached` : ""}`;
  }

  function visitLine(k, x, y) {
    const visit = data.visits[k], zone = zoneAt(k, x, y);
    const cm = valueAt(visit.depth, x, y);
    const near = nearestProbe(k, x, y), isBound = isNotReached(near);
    const parts = [];
    if (Number.isNaN(cm)) parts.push("no value: nothing measured nearby");
    else parts.push(`map ${depthText(cm)}${isBound ? " or deeper" : ""}`);
    if (zone) parts.push(`zone ${zone.label}, ${visit.zones.classes[zone.class].name}`);
    const error = valueAt(visit.error && visit.error.grid, x, y);
    if (!Number.isNaN(error)) parts.push(`standard error ${depthText(error)}`);
    const chance = valueAt(visit.chance && visit.chance.grid, x, y);
    if (!Number.isNaN(chance)) parts.push(`${visit.chance.title.replace("Chance", "chance")}: ${tidy(chance * 100, 0)} %`);
    if (near) parts.push(`nearest probe ${probeText(visit.probes[near.index])}, ${distanceText(near.metres)} away`);
    return { head: visit.label, text: parts.join("; ") };
  }

  function changeLine(x, y) {
    const [a, b] = shown();
    if (a === b) return null;
    const { change } = data;
    // A reading that was not reached is a bound, and so is what is worked out from it.
    const bounds = [a, b].filter((k) => isNotReached(nearestProbe(k, x, y))).map((k) => data.visits[k].label);
    const bound = bounds.length ? `; not exact: ${data.threshold} was not reached at the nearest probe on ${bounds.join(" and ")}` : "";
    if (change && change.visits[0] === a && change.visits[1] === b) {
      const cm = valueAt(change.grid, x, y), half = valueAt(change.half_width, x, y);
      if (Number.isNaN(cm)) return { head: "Change", text: "no value: not measured nearby on both dates" };
      const amount = `${signed(depthOf(cm))} ${data.units.depth}`;
      if (Number.isNaN(half)) return { head: "Change", text: `${amount}; how sure that is, is not known${bound}` };
      const ends = [cm - half, cm + half].map((end) => signed(depthOf(end)));
      const which = Math.abs(cm) <= half ? "within its uncertainty" : cm < 0 ? "thinner" : "deeper";
      const sure = `${tidy(change.confidence * 100, 0)} % interval ${ends[0]} to ${ends[1]} ${data.units.depth}`;
      return { head: "Change", text: `${amount}, ${sure}: ${which}${bound}` };
    }
    const cm = valueAt(data.visits[b].depth, x, y) - valueAt(data.visits[a].depth, x, y);
    if (Number.isNaN(cm)) return null;
    const amount = `${signed(depthOf(cm))} ${data.units.depth}`;
    return { head: "Difference", text: `${amount}; how sure that is was not worked out for these dates${bound}` };
  }

  function readAt(x, y) {
    if (!isInField(x, y)) return [{ head: "", text: "Outside the field" }];
    const [a, b] = shown();
    const lines = (a === b ? [a] : [a, b]).map((k) => visitLine(k, x, y));
    return [...lines, changeLine(x, y)].filter(Boolean);
  }

  // ---- page ----

  function build() {
    root.replaceChildren();
    root.classList.add("field-map");
    const dom = {};
    dom.tools = add(root, "div", { class: "map-tools" });
    dom.frame = add(root, "div", { class: "map-frame" });
    dom.stage = add(dom.frame, "div", { class: "map-stage", tabindex: "0", role: "application", "aria-describedby": `${id}-help` });
    dom.canvas = add(dom.stage, "canvas", { "aria-hidden": "true" });
    dom.svg = add(dom.stage, "svg", { "aria-hidden": "true", focusable: "false", preserveAspectRatio: "none" });
    dom.buttons = add(dom.frame, "div", { class: "map-zoom", role: "group", "aria-label": "Zoom" });
    for (const [words, sign, act] of [["Zoom in", "+", () => zoomBy(1.6)], ["Zoom out", "−", () => zoomBy(1 / 1.6)], ["All: the whole field", "All", fit]]) {
      add(dom.buttons, "button", { type: "button", "aria-label": words, title: words }, sign).addEventListener("click", act);
    }
    dom.swipe = add(root, "div", { class: "map-swipe" });
    dom.readout = add(root, "dl", { class: "map-readout" });
    dom.live = add(root, "p", { class: "visually-hidden", "aria-live": "polite" });
    dom.help = add(root, "p", { class: "map-help", id: `${id}-help` });
    add(dom.help, "span", { class: "for-touch" }, "Touch the ground to read it; two fingers zoom, one moves the map that was zoomed. ");
    add(dom.help, "span", { class: "for-mouse" }, "Point at the ground to read it; click the map to zoom with the wheel. Keys: arrows read cell by cell, with Shift ten; + and − zoom, 0 shows all; [ and ] move the divider.");
    dom.legend = add(root, "div", { class: "map-legend" });
    dom.facts = add(root, "div", { class: "map-facts" });
    const svg = dom.svg;
    dom.defs = add(svg, "defs");
    dom.clips = ["left", "right"].map((side) => add(add(dom.defs, "clipPath", { id: `${id}-${side}` }), "rect", { y: 0 }));
    dom.sides = ["left", "right"].map((side) => {
      const group = add(svg, "g", { "clip-path": `url(#${id}-${side})` });
      return { group, zones: add(group, "g"), labels: null };
    });
    dom.outline = add(svg, "path", { fill: "none", stroke: INK, "stroke-width": 1.6, "vector-effect": "non-scaling-stroke", "fill-rule": "evenodd" });
    dom.shapes = add(svg, "g");
    dom.signs = add(svg, "g", { "text-anchor": "middle", "font-size": 17 });
    for (const [k, side] of ["left", "right"].entries()) {
      const group = add(svg, "g", { "clip-path": `url(#${id}-${side})` });
      dom.sides[k].marks = add(group, "g");
      dom.sides[k].labels = add(group, "g", { "text-anchor": "middle", fill: INK, stroke: PAPER, "stroke-width": 3, "stroke-linejoin": "round", "paint-order": "stroke" });
    }
    dom.pins = add(svg, "g");
    dom.divider = add(svg, "g");
    dom.cross = add(svg, "g");
    dom.furniture = add(svg, "g", { "font-size": 12, fill: INK });
    return dom;
  }

  function buildTools() {
    dom.tools.replaceChildren();
    const names = { zones: "Zones", depth: "Depth, before zones", error: "Standard error", change: "Change" };
    const chance = data.visits.find((visit) => visit.chance);
    if (chance) names.chance = chance.chance.title;
    const ground = add(dom.tools, "fieldset", { class: "map-choice" });
    add(ground, "legend", {}, "Ground");
    for (const name of layers()) {
      const label = add(ground, "label");
      const input = add(label, "input", { type: "radio", name: `${id}-layer`, value: name, "data-key": name });
      input.checked = name === state.layer;
      input.addEventListener("change", () => setLayer(name));
      label.append(` ${names[name]}`);
    }
    const marks = add(dom.tools, "fieldset", { class: "map-choice" });
    add(marks, "legend", {}, "Marks");
    for (const [name, words] of [["probes", "Probes"], ["readings", `Readings, ${data.units.depth}`], ["names", "Zone names"]]) {
      const label = add(marks, "label");
      const input = add(label, "input", { type: "checkbox" });
      input.checked = state[name];
      input.addEventListener("change", () => { state[name] = input.checked; draw(); });
      label.append(` ${words}`);
    }
    if (data.visits.length < 2) return;
    const dates = add(dom.tools, "fieldset", { class: "map-choice map-dates" });
    add(dates, "legend", {}, "Dates");
    for (const [side, words] of [["left", "Left"], ["right", "Right"]]) {
      const label = add(dates, "label", {}, `${words} `);
      const select = add(label, "select", { "data-key": side });
      data.visits.forEach((visit, k) => add(select, "option", { value: k }, visit.label));
      select.value = state[side];
      select.addEventListener("change", () => {
        state[side] = Number(select.value);
        if (state.layer === "change") state.layer = "zones";
        refresh();
        emit("visits", [state.left, state.right]);
      });
    }
  }

  function buildSwipe() {
    dom.swipe.replaceChildren();
    dom.swipe.hidden = !isSwiped();
    if (!isSwiped()) return;
    const [left, right] = [state.left, state.right].map((k) => data.visits[k].label);
    const input = { type: "range", min: 0, max: 100, step: 1, id: `${id}-swipe`, "data-key": "swipe" };
    add(dom.swipe, "label", { for: input.id, class: "visually-hidden" }, `Divider between ${left} at the left and ${right} at the right`);
    add(dom.swipe, "span", { "aria-hidden": "true" }, `◂ ${left}`);
    dom.range = add(dom.swipe, "input", input);
    add(dom.swipe, "span", { "aria-hidden": "true" }, `${right} ▸`);
    dom.range.value = Math.round(state.swipe * 100);
    rangeText();
    dom.range.addEventListener("input", () => setSwipe(dom.range.value / 100));
  }

  function rangeText() {
    dom.range.setAttribute("aria-valuetext", `left date on ${dom.range.value} % of the map's width`);
  }

  function buildLegend() {
    dom.legend.replaceChildren();
    dom.facts.replaceChildren();
    const [a, b] = shown();
    const visits = a === b || state.layer === "change" ? [b] : [a, b];
    const columns = visits.map((k) => data.visits[k]);
    const titles = { zones: "Loose-layer depth", depth: "Loose-layer depth", change: "Change of the loose layer" };
    const part = (visit) => state.layer === "change" ? data.change : state.layer === "depth" ? visit.zones : visit[state.layer];
    const classes = (part(columns[columns.length - 1]) || part(columns[0]) || { classes: [] }).classes;
    const sameClasses = columns.every((visit) => part(visit) && JSON.stringify(part(visit).classes.map((c) => c.name)) === JSON.stringify(classes.map((c) => c.name)));
    const table = add(dom.legend, "table");
    let title = titles[state.layer] || (part(columns[columns.length - 1]) || part(columns[0]) || {}).title;
    if (state.layer === "change") title += `, ${data.visits[a].label} to ${data.visits[b].label}`;
    add(table, "caption", {}, title);
    const hasGround = state.layer === "zones" || state.layer === "error" || state.layer === "chance";
    if (hasGround) {
      const head = add(add(table, "thead"), "tr");
      add(head, "th", { scope: "col" }, "Class");
      for (const visit of columns) add(head, "th", { scope: "col", class: "number" }, `Ground, ${visit.label}`);
    }
    const body = add(table, "tbody");
    classes.forEach((one, k) => {
      const row = add(body, "tr");
      legendName(row, { fill: one.colour, sign: one.sign, ink: one.ink }, one.name);
      if (!hasGround) return;
      for (const visit of columns) {
        const there = sameClasses ? part(visit).classes[k].ground : visit === columns[columns.length - 1] ? one.ground : "";
        add(row, "td", { class: "number" }, there || "–");
      }
    });
    if (state.layer === "change") {
      const words = `within its uncertainty (${tidy(data.change.confidence * 100, 0)} %), or that is not known`;
      legendName(add(body, "tr"), { fill: WITHIN_GROUND, hatch: WITHIN_LINE, turn: -45 }, words);
    }
    const last = add(body, "tr");
    legendName(last, { fill: PAPER, hatch: HATCH, turn: 45 }, "no value");
    if (hasGround) for (const visit of columns) add(last, "td", { class: "number" }, state.layer === "zones" ? visit.zones.unmapped_words.split(",")[0] : "");
    buildMarks(columns);
    for (const visit of a === b ? [data.visits[b]] : [data.visits[a], data.visits[b]]) {
      const words = add(dom.facts, "p");
      add(words, "strong", {}, `${visit.label}: `);
      words.append(visit.facts.join(" "));
    }
  }

  function buildMarks(columns) {
    const kinds = new Set(columns.flatMap((visit) => visit.probes.map((probe) => KINDS[probe[2]])));
    const date = state.layer === "change" ? `, ${columns[0].label}` : "";
    const words = {
      reached: `probe: ${data.threshold} first reached, ${date ? date.slice(2) : data.units.depth}`,
      "not-reached": `probe: ${data.threshold} not reached to the depth probed${date || " (+)"}; the map is a lower bound near it`,
      "no-reading": "no reading: a stone, or skipped",
    };
    const list = add(dom.legend, "ul", { class: "map-marks" });
    for (const kind of ["reached", "not-reached", "no-reading"].filter((kind) => kinds.has(kind))) {
      const item = add(list, "li");
      const svg = add(item, "svg", { class: "swatch-mark", viewBox: "-9 -9 18 18", width: 18, height: 18, "aria-hidden": "true" });
      drawMark(svg, kind, 6);
      item.append(words[kind]);
    }
    if (columns.some((visit) => visit.zones.zones.some((zone) => zone.label.endsWith("*")))) add(list, "li", {}, "* zone with few probes");
    add(list, "li", {}, "no value: nothing measured nearby, so no colour");
    if (state.layer === "depth") add(list, "li", {}, "colours run on between the limits");
  }

  function legendName(row, paint, words) {
    const name = add(add(row, "th", { scope: "row" }), "span", { class: "legend-name" });
    swatch(name, paint);
    add(name, "span", {}, words);
  }

  function swatch(parent, { fill, sign, ink, hatch, turn }) {
    const svg = add(parent, "svg", { class: "swatch", width: 30, height: 18, viewBox: "0 0 30 18", "aria-hidden": "true" });
    add(svg, "rect", { width: 30, height: 18, fill });
    if (hatch) for (let k = -20; k < 34; k += 7) add(svg, "path", { d: turn > 0 ? `M${k} 0l18 18` : `M${k} 18l18 -18`, stroke: hatch, "stroke-width": 1.4 });
    if (sign) add(svg, "text", { x: 15, y: 14, "text-anchor": "middle", "font-size": 15, fill: ink }, sign);
    add(svg, "rect", { x: 0.5, y: 0.5, width: 29, height: 17, fill: "none", stroke: "#55606d", "stroke-opacity": 0.5 });
  }

  // ---- view ----

  const toPixel = (x, y) => [x * state.scale + state.tx, y * state.scale + state.ty];
  const toPlace = (px, py) => [(px - state.tx) / state.scale, (py - state.ty) / state.scale];
  const fitScale = () => Math.min((state.width - 24) / data.frame.width, (state.height - 64) / data.frame.height);

  function measure() {
    const width = Math.round(dom.stage.clientWidth);
    if (width < 60) return false; // not shown, or about to be
    const wish = (data.frame.height / data.frame.width) * (width - 24) + 64;
    const most = Math.max(300, Math.min(width * 1.25, window.innerHeight * 0.8));
    const height = Math.round(Math.max(240, Math.min(wish, most)));
    if (width === state.width && height === state.height) return false;
    const centre = state.width ? toPlace(state.width / 2, state.height / 2) : null;
    const zoom = centre ? state.scale / fitScale() : 1;
    Object.assign(state, { width, height });
    dom.stage.style.aspectRatio = `${width} / ${height}`;
    dom.svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    // Two pixels a point at least: the map is printed too.
    const dots = Math.max(2, window.devicePixelRatio || 1);
    Object.assign(dom.canvas, { width: width * dots, height: height * dots });
    if (!centre || zoom <= 1.001) fit();
    else look(centre[0], centre[1], zoom * fitScale());
    return true;
  }

  function look(x, y, scale) {
    const least = fitScale();
    state.scale = Math.max(least, Math.min(scale, 60));
    state.tx = state.width / 2 - x * state.scale;
    state.ty = state.height / 2 - y * state.scale;
    // Not farther out than the field's middle.
    const [cx, cy] = toPlace(state.width / 2, state.height / 2);
    const inside = [Math.max(0, Math.min(cx, data.frame.width)), Math.max(0, Math.min(cy, data.frame.height))];
    state.tx = state.width / 2 - inside[0] * state.scale;
    state.ty = state.height / 2 - inside[1] * state.scale;
    dom.stage.classList.toggle("is-near", state.scale > least * 1.001);
    draw();
  }

  function fit() {
    const scale = fitScale();
    state.scale = scale;
    // The strip below the field holds the scale bar.
    look(data.frame.width / 2, data.frame.height / 2 + 20 / scale, scale);
  }

  function zoomBy(factor, px = state.width / 2, py = state.height / 2) {
    const [x, y] = toPlace(px, py);
    const scale = Math.max(fitScale(), Math.min(state.scale * factor, 60));
    if (scale <= fitScale() * 1.001) return fit();
    look(x + (state.width / 2 - px) / scale, y + (state.height / 2 - py) / scale, scale);
  }

  function keepInView(x, y) {
    const [px, py] = toPixel(x, y);
    const edge = 30;
    if (px < edge || py < edge || px > state.width - edge || py > state.height - edge) look(x, y, state.scale);
  }

  // ---- drawing ----

  let asked = false;
  function draw() {
    if (asked) return;
    asked = true;
    requestAnimationFrame(() => { asked = false; drawNow(); });
  }

  function drawNow() {
    if (!state.width) return;
    drawCanvas();
    const matrix = `matrix(${state.scale} 0 0 ${state.scale} ${state.tx} ${state.ty})`;
    const middle = isSwiped() ? dividerX() : 0;
    setAttributes(dom.clips[0], { x: 0, width: middle, height: state.height });
    setAttributes(dom.clips[1], { x: middle, width: state.width - middle, height: state.height });
    setAttributes(dom.outline, { transform: matrix });
    setAttributes(dom.shapes, { transform: matrix });
    for (const side of dom.sides) {
      setAttributes(side.zones, { transform: matrix });
      side.zones.setAttribute("display", state.layer === "zones" ? "inline" : "none");
    }
    const taken = [furnitureRoom()];
    dom.sides.forEach((side, k) => drawMarks(side, k === 0 ? state.left : state.right, k === 1 || isSwiped(), taken));
    drawSigns(taken);
    drawPins();
    drawDivider();
    drawCross();
    drawFurniture();
  }

  function drawZones() {
    dom.sides.forEach((side, k) => {
      side.zones.replaceChildren();
      const { zones, classes } = data.visits[k === 0 ? state.left : state.right].zones;
      for (const zone of zones) add(side.zones, "path", { d: zone.path, fill: classes[zone.class].colour, "fill-rule": "evenodd", stroke: PAPER, "stroke-width": 1.3, "stroke-linejoin": "round", "vector-effect": "non-scaling-stroke" });
      for (const zone of zones) add(side.zones, "path", { d: zone.path, fill: "none", "fill-rule": "evenodd", stroke: INK, "stroke-opacity": 0.5, "stroke-width": 0.7, "stroke-linejoin": "round", "vector-effect": "non-scaling-stroke" });
    });
    dom.outline.setAttribute("d", data.field);
  }

  function drawCanvas() {
    const canvas = dom.canvas, dots = canvas.width / state.width, ctx = canvas.getContext("2d");
    ctx.setTransform(dots, 0, 0, dots, 0, 0);
    ctx.fillStyle = SURROUNDINGS;
    ctx.fillRect(0, 0, state.width, state.height);
    const inField = (paint) => {
      ctx.save();
      ctx.setTransform(dots * state.scale, 0, 0, dots * state.scale, dots * state.tx, dots * state.ty);
      ctx.clip(fieldPath, "evenodd");
      paint();
      ctx.restore();
    };
    inField(() => {
      ctx.setTransform(dots, 0, 0, dots, 0, 0);
      ctx.fillStyle = PAPER;
      ctx.fillRect(0, 0, state.width, state.height);
      hatch(ctx, HATCH, 1, 8, 1.4);
    });
    if (state.layer === "zones") return;
    const sides = isSwiped() ? [[state.left, 0, dividerX()], [state.right, dividerX(), state.width]] : [[state.right, 0, state.width]];
    for (const [visit, from, to] of sides) {
      const raster = rasterOf(visit);
      if (!raster) continue;
      inField(() => {
        const clip = new Path2D();
        clip.rect((from - state.tx) / state.scale, -1e6, (to - from) / state.scale, 2e6);
        ctx.clip(clip);
        ctx.imageSmoothingEnabled = state.layer === "depth" && state.scale * raster.data.cell < 4;
        const { x, y, cell, columns, rows } = raster.data;
        ctx.drawImage(raster.picture, x, y, columns * cell, rows * cell);
        if (raster.within) ctx.drawImage(withinPicture(raster, dots), 0, 0, canvas.width, canvas.height, -state.tx / state.scale, -state.ty / state.scale, state.width / state.scale, state.height / state.scale);
      });
    }
  }

  function hatch(ctx, colour, fall, step, width) {
    ctx.strokeStyle = colour;
    ctx.lineWidth = width;
    ctx.beginPath();
    for (let k = -state.height; k < state.width + state.height; k += step * Math.SQRT2) {
      ctx.moveTo(k, fall > 0 ? 0 : state.height);
      ctx.lineTo(k + state.height, fall > 0 ? state.height : 0);
    }
    ctx.stroke();
  }

  // Ground whose change is within its uncertainty, hatched, as large as the view.
  function withinPicture(raster, dots) {
    const picture = document.createElement("canvas");
    Object.assign(picture, { width: dom.canvas.width, height: dom.canvas.height });
    const ctx = picture.getContext("2d");
    const { x, y, cell, columns, rows } = raster.data;
    ctx.imageSmoothingEnabled = false;
    ctx.setTransform(dots * state.scale, 0, 0, dots * state.scale, dots * state.tx, dots * state.ty);
    ctx.drawImage(raster.within, x, y, columns * cell, rows * cell);
    ctx.setTransform(dots, 0, 0, dots, 0, 0);
    ctx.globalCompositeOperation = "source-atop";
    hatch(ctx, WITHIN_LINE, -1, 9, 1);
    return picture;
  }

  function rasterOf(visit) {
    const key = state.layer === "change" ? "change" : `${state.layer} ${visit}`;
    if (!rasters.has(key)) rasters.set(key, makeRaster(visit));
    return rasters.get(key);
  }

  function makeRaster(visit) {
    if (state.layer === "change") {
      const { grid: data_, half_width, classes } = data.change;
      const values = grid(data_), halves = grid(half_width);
      const isSure = (k) => Math.abs(values[k]) > halves[k];
      const colours = classes.map((one) => rgb(one.colour)), pale = rgb(WITHIN_GROUND);
      const picture = paint(data_, values, (value, k) => (isSure(k) ? colours[classOf(classes, value)] : null));
      const within = paint(data_, values, (value, k) => (isSure(k) ? null : pale));
      return { data: data_, picture, within };
    }
    const shownVisit = data.visits[visit];
    if (state.layer === "depth") {
      const colour = depthColour(shownVisit.zones.classes);
      return { data: shownVisit.depth, picture: paint(shownVisit.depth, grid(shownVisit.depth), colour) };
    }
    const part = shownVisit[state.layer];
    if (!part) return null;
    const colours = part.classes.map((one) => rgb(one.colour));
    return { data: part.grid, picture: paint(part.grid, grid(part.grid), (value) => colours[classOf(part.classes, value)]) };
  }

  function drawMarks(side, visit, isShown, taken) {
    side.marks.replaceChildren();
    side.labels.replaceChildren();
    if (!isShown) return;
    const at = data.visits[visit];
    const isOut = (px, py) => px < -20 || py < -20 || px > state.width + 20 || py > state.height + 20 || (isSwiped() && visitAt(px) !== visit);
    const text = (px, py, words, size, weight) => add(side.labels, "text", { x: px, y: py, "font-size": size, "font-weight": weight }, words);
    const radius = Math.min(MARK, Math.max(2.6, state.scale * 9));
    // Closer than this there is no room for numbers; they come with zooming in.
    const isRoomy = Math.sqrt((data.frame.width * data.frame.height) / Math.max(1, at.probes.length)) * state.scale > 34;
    const probes = state.probes ? at.probes.map((probe) => [...toPixel(probe[0], probe[1]), probe]).filter(([px, py]) => !isOut(px, py)) : [];
    for (const [px, py] of probes) taken.push([px - radius - 1, py - radius - 1, px + radius + 1, py + radius + 1]);
    if (state.names && state.layer === "zones") {
      for (const zone of at.zones.zones) {
        const [px, py] = toPixel(zone.at[0], zone.at[1]), half = zone.label.length * ZONE_LABEL * 0.32;
        if (zone.at[2] * state.scale < 7 || isOut(px, py)) continue;
        for (const [dx, dy] of [[0, 0], [0, -14], [0, 14], [half + 8, 0], [-half - 8, 0], [half + 8, 14], [-half - 8, -14]]) {
          const [zx, zy] = toPlace(px + dx, py + dy);
          const room = [px + dx - half, py + dy - 8, px + dx + half, py + dy + 8];
          if (meets(taken, room) || zoneAt(visit, zx, zy) !== zone) continue;
          taken.push(room);
          text(px + dx, py + dy + 5, zone.label, ZONE_LABEL, 600);
          break;
        }
      }
    }
    for (const [px, py, probe] of probes) {
      drawMark(side.marks, KINDS[probe[2]], radius, px, py);
      // The readings of one date would be taken for changes.
      if (!state.readings || !isRoomy || !probe[4] || state.layer === "change") continue;
      const half = probe[4].length * LABEL * 0.31 + 1, tall = LABEL * 0.4 + 1, away = radius + 3;
      for (const [dx, dy] of [[away + half, 0], [-away - half, 0], [0, -away - tall], [0, away + tall]]) {
        const room = [px + dx - half, py + dy - tall, px + dx + half, py + dy + tall];
        if (room[0] < 0 || room[2] > state.width || meets(taken, room)) continue;
        taken.push(room);
        text(px + dx, py + dy + LABEL * 0.36, probe[4], LABEL, 400);
        break;
      }
    }
  }

  // Signs on ground that changed: in grey both ends are alike.
  function drawSigns(taken) {
    dom.signs.replaceChildren();
    if (state.layer !== "change") return;
    const { grid: data_, half_width, classes } = data.change;
    for (let py = SIGN_STEP / 2; py < state.height; py += SIGN_STEP) {
      for (let px = SIGN_STEP / 2; px < state.width; px += SIGN_STEP) {
        const [x, y] = toPlace(px, py);
        const cm = valueAt(data_, x, y);
        if (!(Math.abs(cm) > valueAt(half_width, x, y)) || !isInField(x, y)) continue;
        const one = classes[classOf(classes, cm)];
        const room = [px - 8, py - 8, px + 8, py + 8];
        if (one.sign && !meets(taken, room)) add(dom.signs, "text", { x: px, y: py + 6, fill: one.ink }, one.sign);
      }
    }
  }

  function drawPins() {
    dom.pins.replaceChildren();
    for (const pin of overlay.pins) {
      const [px, py] = toPixel(pin.x, pin.y);
      const group = add(dom.pins, "g", { class: `pin pin-${pin.kind || "plain"}`, transform: `translate(${px} ${py})` });
      add(group, "path", { d: "M0 0L-6 -11A6.8 6.8 0 1 1 6 -11Z", fill: FULL, stroke: INK, "stroke-width": 1.2 });
      if (pin.words) add(group, "title", {}, pin.words);
    }
    if (!state.selected) return;
    const [x, y] = data.visits[state.selected.visit].probes[state.selected.index];
    const [px, py] = toPixel(x, y);
    add(dom.pins, "circle", { cx: px, cy: py, r: 11, fill: "none", stroke: PAPER, "stroke-width": 5 });
    add(dom.pins, "circle", { cx: px, cy: py, r: 11, fill: "none", stroke: FULL, "stroke-width": 2.6 });
  }

  function drawDivider() {
    dom.divider.replaceChildren();
    if (!isSwiped()) return;
    const x = dividerX();
    add(dom.divider, "path", { d: `M${x} 0V${state.height}`, stroke: PAPER, "stroke-width": 4 });
    add(dom.divider, "path", { d: `M${x} 0V${state.height}`, stroke: INK, "stroke-width": 1.6 });
    add(dom.divider, "path", { class: "map-handle", d: `M${x} ${state.height - 34}l13 16v18h-26v-18z`, fill: INK, stroke: PAPER, "stroke-width": 1.6 });
    const dates = [[state.left, x - 12, "end"], [state.right, x + 12, "start"]];
    for (const [visit, at, anchor] of dates) {
      const words = data.visits[visit].label, room = anchor === "end" ? x - 10 : state.width - x - 10;
      const wide = words.length * 7.2 + 12;
      if (wide > room) continue;
      add(dom.divider, "rect", { x: anchor === "end" ? at - wide + 6 : at - 6, y: 4, width: wide, height: 22, rx: 3, fill: PAPER, "fill-opacity": 0.92 });
      add(dom.divider, "text", { x: at, y: 20, "text-anchor": anchor, "font-size": 13, "font-weight": 600, fill: INK }, words);
    }
  }

  function drawCross() {
    dom.cross.replaceChildren();
    if (!state.cross) return;
    const [px, py] = toPixel(...state.cross);
    const d = `M${px - 16} ${py}H${px - 5}M${px + 5} ${py}H${px + 16}M${px} ${py - 16}V${py - 5}M${px} ${py + 5}V${py + 16}`;
    add(dom.cross, "path", { d, fill: "none", stroke: PAPER, "stroke-width": 5, "stroke-linecap": "round" });
    add(dom.cross, "path", { d, fill: "none", stroke: INK, "stroke-width": 2, "stroke-linecap": "round" });
  }

  const furnitureRoom = () => [0, state.height - 34, state.width, state.height];

  function drawFurniture() {
    dom.furniture.replaceChildren();
    const y = state.height - 12, most = Math.min(160, state.width * 0.35) / state.scale / data.units.distance_m;
    const power = 10 ** Math.floor(Math.log10(most));
    const length = [5, 2, 1].find((digit) => digit * power <= most) * power;
    const width = length * data.units.distance_m * state.scale;
    add(dom.furniture, "rect", { x: 0, y: state.height - 34, width: width + 92, height: 34, fill: PAPER, "fill-opacity": 0.82 });
    add(dom.furniture, "path", { d: `M12 ${y - 6}V${y}H${12 + width}V${y - 6}`, fill: "none", stroke: INK, "stroke-width": 1.6 });
    add(dom.furniture, "text", { x: 18 + width, y: y + 1 }, `${Number(length.toFixed(2)).toLocaleString("en")} ${data.units.distance}`);
    const north = add(dom.furniture, "g", { transform: `translate(${state.width - 20} ${state.height - 16}) rotate(${data.frame.true_north})` });
    add(north, "circle", { r: 15, fill: PAPER, "fill-opacity": 0.82 });
    add(north, "path", { d: "M0 -12L5 8L0 4Z", fill: INK, stroke: INK });
    add(north, "path", { d: "M0 -12L-5 8L0 4Z", fill: PAPER, stroke: INK });
    add(dom.furniture, "text", { x: state.width - 20, y: state.height - 34, "text-anchor": "middle", "font-weight": 600, stroke: PAPER, "stroke-width": 3, "paint-order": "stroke" }, "N");
  }

  // ---- reading out ----

  function showReadout(place, isSaid) {
    dom.readout.replaceChildren();
    if (!place) {
      const line = add(dom.readout, "div");
      add(line, "dt", {}, "Readout");
      add(line, "dd", {}, "Point at the map, or focus it and use the arrow keys.");
      return;
    }
    const lines = readAt(...place);
    for (const { head, text } of lines) {
      const line = add(dom.readout, "div");
      add(line, "dt", {}, head || "Here");
      add(line, "dd", {}, text);
    }
    if (isSaid) dom.live.textContent = lines.map(({ head, text }) => (head ? `${head}: ${text}` : text)).join(". ");
  }

  function moveCross(right, down) {
    const { cell, x, y } = data.visits[state.right].depth;
    const from = state.cross || toPlace(state.width / 2, state.height / 2);
    const middle = (at, start) => (Math.floor((at - start) / cell) + 0.5) * cell + start;
    const inside = (at, most) => Math.max(cell / 2, Math.min(at, most - cell / 2));
    state.cross = [inside(middle(from[0], x) + right * cell, data.frame.width), inside(middle(from[1], y) + down * cell, data.frame.height)];
    keepInView(...state.cross);
    draw();
    showReadout(state.cross, true);
  }

  function choose(x, y, metres) {
    const near = nearestProbe(visitAt(toPixel(x, y)[0]), x, y);
    const probe = near && near.metres <= metres ? { visit: near.visit, index: near.index } : null;
    select(probe);
    const zone = zoneAt(visitAt(toPixel(x, y)[0]), x, y);
    emit("place", { x, y, easting: data.frame.west + x, northing: data.frame.north - y, zone: zone && zone.id, probe });
  }

  function select(point) {
    let found = point;
    if (typeof point === "string") {
      const visit = [state.right, state.left].find((k) => data.visits[k].probes.some((probe) => probe[3] === point));
      found = visit === undefined ? null : { visit, index: data.visits[visit].probes.findIndex((probe) => probe[3] === point) };
    }
    state.selected = found;
    if (found) {
      const [x, y, , name] = data.visits[found.visit].probes[found.index];
      state.cross = [x, y];
      keepInView(x, y);
      showReadout([x, y], true);
      emit("select", { ...found, id: name });
    } else emit("select", null);
    draw();
  }

  // ---- pointer and keys ----

  const fingers = new Map();
  let drag = null;

  function pixelOf(event) {
    const box = dom.stage.getBoundingClientRect();
    return [((event.clientX - box.left) / box.width) * state.width, ((event.clientY - box.top) / box.height) * state.height];
  }

  function onDown(event) {
    if (event.button > 0) return;
    const at = pixelOf(event);
    fingers.set(event.pointerId, at);
    dom.stage.setPointerCapture(event.pointerId);
    const onDivider = isSwiped() && Math.abs(at[0] - dividerX()) < 16;
    drag = fingers.size > 1 ? { pinch: spread() } : { from: at, onDivider, moved: false };
  }

  function spread() {
    const [a, b] = [...fingers.values()];
    return { distance: Math.hypot(a[0] - b[0], a[1] - b[1]), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  }

  function onMove(event) {
    const at = pixelOf(event), last = fingers.get(event.pointerId);
    if (!last) {
      state.hover = toPlace(...at);
      dom.stage.classList.toggle("is-on-divider", isSwiped() && Math.abs(at[0] - dividerX()) < 16);
      return showReadout(state.hover, false);
    }
    fingers.set(event.pointerId, at);
    if (fingers.size > 1) {
      const now = spread();
      if (drag.pinch) zoomBy(now.distance / Math.max(1, drag.pinch.distance), ...now.middle);
      drag = { pinch: now, moved: true };
      return;
    }
    if (!drag || drag.pinch) return;
    if (Math.hypot(at[0] - drag.from[0], at[1] - drag.from[1]) > 4) drag.moved = true;
    if (drag.onDivider) return setSwipe(at[0] / state.width);
    if (!drag.moved) return;
    const [x, y] = toPlace(state.width / 2 - (at[0] - last[0]), state.height / 2 - (at[1] - last[1]));
    if (dom.stage.classList.contains("is-near")) look(x, y, state.scale);
  }

  function onUp(event) {
    const at = pixelOf(event);
    fingers.delete(event.pointerId);
    if (event.type === "pointerup" && drag && !drag.moved && !drag.pinch && !drag.onDivider) {
      state.cross = toPlace(...at);
      draw();
      showReadout(state.cross, true);
      choose(...state.cross, 14 / state.scale);
    }
    if (!fingers.size) drag = null;
  }

  function onWheel(event) {
    if (document.activeElement !== dom.stage && !event.ctrlKey) return;
    if (event.deltaY > 0 && !dom.stage.classList.contains("is-near")) return;
    event.preventDefault();
    zoomBy(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0018)), ...pixelOf(event));
  }

  function onKey(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const far = event.shiftKey ? 10 : 1;
    const acts = {
      ArrowLeft: () => moveCross(-far, 0),
      ArrowRight: () => moveCross(far, 0),
      ArrowUp: () => moveCross(0, -far),
      ArrowDown: () => moveCross(0, far),
      "+": () => zoomBy(1.4, ...crossPixel()),
      "=": () => zoomBy(1.4, ...crossPixel()),
      "-": () => zoomBy(1 / 1.4, ...crossPixel()),
      0: fit,
      "[": () => setSwipe(state.swipe - 0.05),
      "]": () => setSwipe(state.swipe + 0.05),
      Enter: () => state.cross && choose(...state.cross, Infinity),
      Escape: () => { state.cross = null; showReadout(null); select(null); },
    };
    if (!acts[event.key]) return;
    event.preventDefault();
    acts[event.key]();
  }

  const crossPixel = () => (state.cross ? toPixel(...state.cross) : [state.width / 2, state.height / 2]);

  // ---- what the map offers ----

  function refresh() {
    const focused = root.contains(document.activeElement) && document.activeElement.dataset.key;
    buildTools();
    buildSwipe();
    if (focused) (root.querySelector(`[data-key="${focused}"]`) || dom.stage).focus();
    buildLegend();
    drawZones();
    const [a, b] = shown().map((k) => data.visits[k].label);
    dom.stage.setAttribute("aria-label", `Map of the field, ${a === b ? b : `${a} and ${b}`}. Arrow keys read the ground.`);
    showReadout(state.cross);
    draw();
  }

  function setData(fresh) {
    const before = JSON.stringify(data.frame);
    adopt(fresh);
    refresh();
    if (JSON.stringify(data.frame) !== before) { state.width = 0; measure(); }
  }

  function setZones(zones, visit = state.right) {
    data.visits[visit].zones = zones;
    zonePaths.delete(visit);
    rasters.delete(`depth ${visit}`);
    buildLegend();
    drawZones();
    draw();
  }

  function setLayer(name) {
    if (!layers().includes(name)) return;
    state.layer = name;
    refresh();
    emit("layer", name);
  }

  function setVisits(left, right) {
    Object.assign(state, { left, right });
    refresh();
    emit("visits", [left, right]);
  }

  function setSwipe(share) {
    state.swipe = Math.max(0, Math.min(1, share));
    if (isSwiped()) {
      dom.range.value = Math.round(state.swipe * 100);
      rangeText();
    }
    draw();
  }

  function goTo(x, y, metres) {
    state.cross = [x, y];
    look(x, y, metres ? state.width / metres : state.scale);
    showReadout(state.cross, true);
  }

  function setOverlay({ shapes = [], pins = [] }) {
    overlay = { shapes, pins };
    dom.shapes.replaceChildren();
    for (const shape of shapes) {
      const path = add(dom.shapes, "path", { class: `shape shape-${shape.kind || "plain"}`, d: shape.path, fill: "none", stroke: INK, "stroke-width": 2, "fill-rule": "evenodd", "vector-effect": "non-scaling-stroke" });
      if (shape.words) add(path, "title", {}, shape.words);
    }
    draw();
  }

  function on(name, listener) {
    (listeners[name] ||= new Set()).add(listener);
    return () => listeners[name].delete(listener);
  }

  function emit(name, detail) {
    for (const listener of listeners[name] || []) listener(detail);
  }

  dom.stage.addEventListener("pointerdown", onDown);
  dom.stage.addEventListener("pointermove", onMove);
  dom.stage.addEventListener("pointerup", onUp);
  dom.stage.addEventListener("pointercancel", onUp);
  dom.stage.addEventListener("pointerleave", () => { state.hover = null; showReadout(state.cross); });
  dom.stage.addEventListener("wheel", onWheel, { passive: false });
  dom.stage.addEventListener("keydown", onKey);
  const observer = new ResizeObserver(() => measure());
  adopt(data);
  observer.observe(dom.stage);
  refresh();
  measure();

  const lines = (x, y) => readAt(x, y).map(({ head, text }) => (head ? `${head}: ${text}` : text));
  const destroy = () => { observer.disconnect(); root.replaceChildren(); };
  return { setData, setZones, setLayer, setVisits, setSwipe, goTo, select, fit, setOverlay, on, readAt: lines, layers, destroy };
}

// The values of a grid: see `grid_code.rs`, which writes them and says how.
export function decodeGrid({ columns, rows, step, code }) {
  const text = atob(code);
  let at = 0;
  const bit = () => { const one = (text.charCodeAt(at >> 3) >> (7 - (at & 7))) & 1; at += 1; return one; };
  const count = columns * rows, values = new Float64Array(count).fill(NaN), steps = new Int32Array(count);
  const has = new Uint8Array(count);
  for (let cell = 0, isValue = 0; cell < count; isValue ^= 1) {
    let after = 0, number = 1;
    while (!bit()) after += 1;
    while (after--) number = (number << 1) | bit();
    has.fill(isValue, cell, cell + number - 1);
    cell += number - 1;
  }
  let last = 0;
  for (let row = 0; row < rows; row++) {
    let k = -1;
    for (let column = 0; column < columns; column++) {
      const cell = row * columns + column;
      if (!has[cell]) continue;
      if (k < 0) { k = 0; for (let n = 0; n < 4; n++) k = (k << 1) | bit(); }
      let number = 0;
      while (bit()) number += 1;
      for (let n = 0; n < k; n++) number = (number << 1) | bit();
      const left = column > 0 && has[cell - 1], above = row > 0 && has[cell - columns];
      let guess = last;
      if (left && above && has[cell - columns - 1]) {
        const a = steps[cell - 1], b = steps[cell - columns], c = steps[cell - columns - 1];
        guess = c >= Math.max(a, b) ? Math.min(a, b) : c <= Math.min(a, b) ? Math.max(a, b) : a + b - c;
      } else if (left) guess = steps[cell - 1];
      else if (above) guess = steps[cell - columns];
      last = guess + ((number >>> 1) ^ -(number & 1));
      steps[cell] = last;
      values[cell] = last * step;
    }
  }
  return values;
}

// The class of a value; a limit belongs to the class above it. Values of a grid were rounded within their class.
export function classOf(classes, value) {
  let k = 0;
  while (k + 1 < classes.length && classes[k].to !== null && value >= classes[k].to) k += 1;
  return k;
}

// A class begins in its own colour and ends in the next one's; the deepest has one colour.
function depthColour(classes) {
  const colours = classes.map((one) => rgb(one.colour));
  return (cm) => {
    const k = classOf(classes, cm), { from, to } = classes[k];
    if (to === null) return colours[k];
    const part = (cm - from) / (to - from);
    return colours[k].map((channel, n) => Math.round(channel + part * (colours[k + 1][n] - channel)));
  };
}

function rgb(colour) {
  return [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16));
}

// A grid as a picture, a pixel a cell; cells without a value or colour are clear.
function paint({ columns, rows }, values, colourOf) {
  const canvas = document.createElement("canvas");
  Object.assign(canvas, { width: columns, height: rows });
  const ctx = canvas.getContext("2d"), picture = ctx.createImageData(columns, rows);
  values.forEach((value, k) => {
    const colour = Number.isNaN(value) ? null : colourOf(value, k);
    if (colour) picture.data.set([...colour, 255], k * 4);
  });
  ctx.putImageData(picture, 0, 0);
  return canvas;
}

// A circle: reached. A triangle that points down: not reached. A cross: no reading.
function drawMark(parent, kind, radius, x = 0, y = 0) {
  const edge = Math.max(1, radius / 3.5);
  if (kind === "reached") add(parent, "circle", { cx: x, cy: y, r: radius, fill: PAPER, stroke: INK, "stroke-width": edge });
  if (kind === "not-reached") {
    const r = radius * 1.25, half = (r * Math.sqrt(3)) / 2;
    add(parent, "path", { d: `M${x - half} ${y - r / 2}H${x + half}L${x} ${y + r}Z`, fill: PAPER, stroke: INK, "stroke-width": edge, "stroke-linejoin": "round" });
  }
  if (kind === "no-reading") {
    const arm = radius * 0.9, d = `M${x - arm} ${y - arm}l${2 * arm} ${2 * arm}m0 ${-2 * arm}l${-2 * arm} ${2 * arm}`;
    add(parent, "path", { d, fill: "none", stroke: PAPER, "stroke-width": 4 });
    add(parent, "path", { d, fill: "none", stroke: INK, "stroke-width": 1.7 });
  }
}

function meets(taken, room) {
  return taken.some((other) => other[0] < room[2] && room[0] < other[2] && other[1] < room[3] && room[1] < other[3]);
}

function add(parent, tag, attributes = {}, text) {
  const isSvg = tag === "svg" || parent.namespaceURI === SVG;
  const element = isSvg ? document.createElementNS(SVG, tag) : document.createElement(tag);
  setAttributes(element, attributes);
  if (text !== undefined) element.textContent = text;
  parent.append(element);
  return element;
}

function setAttributes(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
}
