// Where to probe next: how the spots lie and how many there are.

import { flag, setFlags } from "./choices.js";
import { element } from "./element.js";
import { flagField } from "./flag_fields.js";

/** Ways to place spots: flag, words, and what is taken first in either system of units. */
const DESIGNS = [
  ["grid", "on a square grid", { us: "130ft", si: "40m" }],
  ["random", "at random", { us: "30", si: "30" }],
  ["stratified", "at random, divided among strata", { us: "30", si: "30" }],
  ["transects", "on lines across the passes", { us: "300ft", si: "90m" }],
  ["again", "where the chosen visit was probed", { us: "", si: "" }],
];
/** What belongs to a design, by its flag. */
const OWN = { grid: ["heading"], random: ["seed"], stratified: ["seed"], transects: ["heading", "swath"], again: ["least-sure"] };

/** The fields of the command `spots`, and a function that shows what is chosen. */
export function spotsFields(system) {
  const own = (name, label, hint, more) =>
    flagField({ id: `spots-${name}`, label, hint, commands: ["spots"], name, from: "spots", system, ...more });
  const fields = {
    grid: own("grid", "Spacing of the grid", "", { kind: "length" }),
    random: own("random", "Spots", "", { min: "1", step: "1" }),
    stratified: own("stratified", "Spots in all", "", { min: "1", step: "1" }),
    transects: own("transects", "Between two lines", "", { kind: "length" }),
    swath: own("swath", "Width of one pass", "Spots then meet wheel lanes and beds alike.", { kind: "length" }),
    "least-sure": own("least-sure", "More spots where least is known", "Empty: none.", { min: "1", step: "1" }),
    heading: own("heading", "Heading of the passes", "From north, clockwise.", { unit: "°" }),
    seed: own("seed", "Seed of the draw", "The same seed draws the same spots. Empty: 1.", { step: "1" }),
    insertions: own("insertions", "Insertions at each spot", "Empty: 4.", { min: "1", step: "1" }),
  };
  const list = element("select", { id: "spots-design" }, element("option", { value: "" }, "choose"),
    DESIGNS.map(([name, words]) => element("option", { value: name }, words)));
  list.addEventListener("change", () => {
    const flags = Object.fromEntries([...DESIGNS.map(([name]) => name), "heading", "seed", "swath", "least-sure"].map((name) => [name, null]));
    const design = DESIGNS.find(([name]) => name === list.value);
    if (design) flags[design[0]] = design[2][system()];
    if (list.value === "transects") Object.assign(flags, { heading: "0", swath: system() === "us" ? "30ft" : "9m" });
    setFlags(["spots"], flags, "spots");
  });
  const refresh = () => {
    const chosen = DESIGNS.map(([name]) => name).find((name) => flag("spots", name) !== undefined);
    list.value = chosen ?? "";
    for (const [name, field] of Object.entries(fields)) {
      field.box.hidden = !chosen || !(name === chosen || name === "insertions" || OWN[chosen].includes(name));
      field.refresh();
    }
  };
  const box = element("div", { class: "fields" },
    element("div", { class: "field wide" }, element("label", { for: "spots-design" }, "How the spots lie"), list),
    Object.values(fields).map((field) => field.box));
  return { box, refresh };
}
