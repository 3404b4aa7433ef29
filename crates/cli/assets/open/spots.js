// Where to probe next: how many spots and how they lie.

import { element } from "./element.js";
import { flagField } from "./flag_fields.js";

/** The fields of the command `spots`, and a function that shows what is chosen. */
export function spotsFields(system) {
  const number = flagField({
    id: "spots-number", label: "Spots", hint: "Empty: as many as the last visit.", commands: ["spots"], name: "number", from: "spots", system, min: "1", step: "1",
  });
  return { box: element("div", { class: "fields" }, number.box), refresh: () => number.refresh() };
}
