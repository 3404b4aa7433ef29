// How depths between the readings are estimated, and how well that holds.

import { ESTIMATING, flag, setFlags } from "./choices.js";
import { byId, element, fill } from "./element.js";
import { flagField, flagFields } from "./flag_fields.js";

/** The method of `map` where none is chosen. */
const USUAL = "idw";

/** Sets up method, power and neighbours and gives a function that shows what is chosen. */
export function setUpMethod(system) {
  const power = flagField({
    id: "power", label: "Power of inverse distance", hint: "From 0.5 to 5. Empty: the one with the least error.",
    commands: ESTIMATING, name: "power", from: "method", system, min: "0.1",
  });
  const neighbours = flagField({
    id: "neighbours", label: "Nearest readings for each place", hint: "Empty: all, in a usual survey.",
    commands: ESTIMATING, name: "neighbours", from: "method", system, min: "1", step: "1",
  });
  const thinner = flagField({
    id: "thinner-than", label: "Map the chance that it is thinner than", hint: "Empty: not mapped.",
    commands: ["map", "report"], name: "thinner-than", kind: "depth", from: "method", system,
  });
  const refreshFields = flagFields("method-fields", [power, neighbours, thinner]);
  const radios = document.querySelectorAll("input[name=method]");
  for (const radio of radios) {
    radio.addEventListener("change", () => setFlags(ESTIMATING, flagsOf(radio.value), "method"));
  }
  return () => {
    const now = flag("map", "method") ?? USUAL;
    for (const radio of radios) radio.checked = radio.value === now;
    power.input.disabled = now !== "idw";
    neighbours.input.disabled = now === "mean";
    refreshFields();
  };
}

/** A method takes with it what only another knows. */
function flagsOf(method) {
  const flags = { method: method === USUAL ? null : method };
  if (method !== "idw") flags.power = null;
  if (method === "mean") flags.neighbours = null;
  return flags;
}

/** Shows how well the map holds, and the methods that were tried. */
export function showCheck(check) {
  const methods = check?.methods ?? [];
  fill(byId("check-words"), element("p", {}, inPlainWords(methods)));
  fill(byId("check-said"), (check?.words ?? []).map((line) => element("p", {}, line)));
  byId("check-said-part").hidden = !check?.words?.length;
  byId("methods-part").hidden = methods.length === 0;
  fill(byId("methods").tBodies[0], methods.map(({ name, error, problem, chosen }) =>
    element("tr", { class: chosen ? "chosen" : null },
      element("th", { scope: "row" }, name, chosen && element("span", { class: "chosen-word" }, " on the map")),
      element("td", { class: error ? "number" : null }, error ?? problem ?? "not tried"))));
}

/** How far off the map is, against the mean of the field. */
function inPlainWords(methods) {
  const chosen = methods.find((one) => one.chosen);
  const mean = methods.find((one) => one.name === "field mean");
  if (!chosen?.error) return "How far off this map is was not worked out.";
  const first = `Where a reading is left out and estimated from the others, this map is off by about ${chosen.error} (root mean square error, RMSE).`;
  if (!mean?.error || mean === chosen) return first;
  return `${first} The mean of the field, everywhere, would be off by about ${mean.error}.`;
}
