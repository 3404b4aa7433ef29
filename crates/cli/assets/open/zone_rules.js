// Rules of zones: how wide, how small, how many, along which passes.

import { flagField, flagFields } from "./flag_fields.js";
import { byId, element, fill } from "./element.js";

/** Sets up the fields and gives a function that shows what is chosen. */
export function setUpZoneRules(system) {
  const rule = (id, label, hint, more) =>
    flagField({ id, label, hint, commands: ["map", "report"], name: id, from: "zones", system, ...more });
  return flagFields("zone-rules-fields", [
    rule("swath", "Width of one pass", "Ground narrower than two passes goes to its neighbours.", { kind: "length" }),
    rule("heading", "Heading of the passes", "From north, clockwise; needs the width of a pass.", { unit: "°", min: "0" }),
    rule("narrowest-zone", "Narrowest zone", "Empty: two passes.", { kind: "length" }),
    rule("smallest-zone", "Smallest zone", "Smaller patches join a neighbour. Empty: a quarter acre (0.1 ha), or a hundredth of the field.", { kind: "area" }),
    rule("most-zones", "Most zones", "More than seven are hard to work by. Empty: no limit.", { min: "1", step: "1" }),
  ]);
}

/** Lists the zones; a click goes to the zone. */
export function showZones(zones, goTo) {
  fill(byId("zone-list"), zones.map((zone) =>
    element("li", {}, element("button", { type: "button", class: "finding", onclick: () => goTo(zone) }, `${zone.label}: ${zone.words}`))));
}
