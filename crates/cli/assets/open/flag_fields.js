// Fields that are flags of commands: a number with its unit, or a plain number.

import { flag, setFlags } from "./choices.js";
import { byId, element } from "./element.js";
import { numberOf, unitOf } from "./units.js";

/**
 * A labelled number field for a flag of one or more commands.
 * `kind` is a quantity of units.js, or null for a plain number that `unit` follows, such as "°".
 */
export function flagField({ id, label, hint, commands, name, kind = null, unit = "", from, min = "0", step = "any", system, alone = () => ({}) }) {
  const shown = kind ? unitOf(kind, system()) : unit;
  const input = element("input", {
    type: "number", id, min, step, inputmode: "decimal",
    "aria-describedby": [hint ? `${id}-hint` : "", shown ? `${id}-unit` : ""].join(" ").trim() || null,
    onchange: () => {
      const typed = input.value.trim();
      const value = typed === "" ? null : kind ? typed + unitOf(kind, system()) : typed;
      setFlags(commands, { [name]: value, ...(value === null ? alone() : {}) }, from);
    },
  });
  const unitPlace = element("span", { class: "unit", id: `${id}-unit` }, shown);
  const box = element("div", { class: "field" },
    element("label", { for: id }, label),
    element("span", { class: "with-unit" }, input, unitPlace),
    hint && element("p", { class: "hint", id: `${id}-hint` }, hint));
  const refresh = () => {
    if (kind) unitPlace.textContent = unitOf(kind, system());
    // What is being typed stays.
    if (document.activeElement === input) return;
    const value = flag(commands[0], name);
    input.value = kind ? numberOf(value, unitOf(kind, system())) : (value ?? "");
  };
  return { box, input, refresh };
}

/** Puts fields into a place, and gives a function that shows what is chosen in all of them. */
export function flagFields(placeId, fields) {
  byId(placeId).append(...fields.map((field) => field.box));
  return () => fields.forEach((field) => field.refresh());
}
