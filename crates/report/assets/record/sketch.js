// A small map: the field, the spots, the person.

const SVG = "http://www.w3.org/2000/svg";
const WIDTH = 360;
const EDGE = 34;

function drawSketch(svg, recording, spots, current, here) {
  svg.querySelectorAll(":scope > :not(title)").forEach((child) => child.remove());
  const recorded = [...spots.values()].filter((spot) => spot.at && !PLANNED.has(spot.id));
  const fixed = [...DATA.outline.flat(), ...PLANNED.values(), ...recorded.map((spot) => spot.at)];
  const places = here ? [...fixed, ...(isNear(here.at, fixed) ? [here.at] : [])] : fixed;
  if (places.length === 0) {
    svg.setAttribute("hidden", "");
    return;
  }
  svg.removeAttribute("hidden");
  const page = framed(places);
  svg.setAttribute("viewBox", `0 0 ${WIDTH} ${page.height}`);
  const add = (name, attributes, text) => {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    if (text) element.textContent = text;
    svg.append(element);
  };
  const path = DATA.outline.map((ring) => `M${ring.map((p) => page.at(p).join(" ")).join("L")}Z`);
  if (path.length) add("path", { class: "outline", d: path.join("") });
  const marks = [...PLANNED].map(([id, at]) => ({ at, spot: spots.get(id), id }));
  for (const { at, spot, id } of [...marks, ...recorded.map((spot) => ({ at: spot.at, spot, id: spot.id }))]) {
    const [x, y] = page.at(at);
    if (spot?.isSkipped) {
      add("path", { class: "cross", d: `M${x - 5} ${y - 5}l10 10m0 -10l-10 10` });
    } else {
      add("circle", { class: isDone(spot) ? "done" : "open", cx: x, cy: y, r: 5 });
    }
    if (id === current) add("circle", { class: "wanted", cx: x, cy: y, r: 11 });
  }
  if (here && isNear(here.at, fixed)) {
    const [x, y] = page.at(here.at);
    add("circle", { class: "reach", cx: x, cy: y, r: Math.max(here.accuracy * page.scale, 1) });
    add("path", { class: "you", d: `M${x} ${y - 10}l9 10l-9 10l-9 -10Z` });
  }
  add("path", { class: "you", d: "M18 10l7 20l-7 -5l-7 5Z" });
  add("text", { x: 12, y: 48 }, "N");
}

// Whether a place belongs on the map: a person still on the road would shrink the field to a dot.
function isNear(at, places) {
  if (places.length === 0) return true;
  return Math.min(...places.map((place) => distanceBetween(at, place))) < 400;
}

// North up, the whole in the width of the map.
function framed(places) {
  const lons = places.map(([lon]) => lon);
  const lats = places.map(([, lat]) => lat);
  const west = Math.min(...lons);
  const north = Math.max(...lats);
  const middle = (north + Math.min(...lats)) / 2;
  const flat = ([lon, lat]) => [stepBetween([west, middle], [lon, middle])[0], (north - lat) * M_PER_DEG];
  const [width, height] = flat([Math.max(...lons), Math.min(...lats)]);
  const room = WIDTH - 2 * EDGE;
  const scale = Math.min(room / Math.max(width, 1), room / Math.max(height, 1), 10);
  const round = (number) => Math.round(number * 10) / 10;
  const left = (WIDTH - width * scale) / 2;
  return {
    scale,
    height: Math.round(Math.max(height * scale + 2 * EDGE, 120)),
    at: (place) => {
      const [east, south] = flat(place);
      return [round(left + east * scale), round(EDGE + south * scale)];
    },
  };
}
