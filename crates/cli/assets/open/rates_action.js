// One action of the rates: where, what, how much, and what that rests on.

import { element } from "./element.js";
import { rowsOf } from "./rates_verbs.js";
import { choiceInput, hush, numberInput, textInput } from "./toml_field.js";

const VERBS = [
  ["leave", "leave it alone"],
  ["loosen", "loosen the tight layer"],
  ["amend", "spread a product"],
  ["other", "something else, in words"],
];
const KEYS = {
  leave: [],
  loosen: ["name", "bottom", "margin", "cost_per_area"],
  amend: ["name", "product", "rate", "rate_is", "purity_pct", "moisture_pct", "price", "cost_per_area", "hopper", "basis", "gypsum"],
  other: ["text"],
};
/** What an action said before a choice took it away, so that choosing back loses nothing. */
let before = {};

/** Forgets what actions said before, as their numbers change. */
export const forgetBefore = () => (before = {});

/** The form of one action. `row` makes a row for a key, `saved` saves the action, `rebuild` shows all anew. */
export function actionForm({ id, index, draft, group, className, classCount, row, saved, rebuild, remove }) {
  const get = (...path) => draft.get([...group, ...path]);
  const set = (path, value) => draft.set([...group, ...path], value);
  const named = (name) => `${id}-${name}`;
  const remember = () => (before[id] = { ...before[id], ...structuredClone(get()) });
  const summary = element("summary", {}, inWords(get(), className));
  const again = () => (summary.textContent = inWords(get(), className));

  const tools = {
    get,
    set,
    kept: (key) => {
      const value = before[id]?.[key];
      return typeof value === "object" ? value : null;
    },
    text: (path, name, label, hint) => row(path, { id: named(name), label, hint, onEdit: again }),
    date: (path, name, label) => row(path, { id: named(name), label, input: textInput("", { type: "date" }) }),
    number: (path, name, label, hint, unit) => row(path, {
      id: named(name), label, hint, input: numberInput("", { min: "0" }),
      after: unit ? element("span", { class: "unit" }, unit) : null,
    }),
    select: (name, label, hint, value, options, edit) => row(null, {
      id: named(name), label, hint, input: choiceInput(value, options),
      onEdit: (chosen) => {
        remember();
        edit(chosen);
        rebuild();
      },
    }),
  };

  const changeVerb = (verb) => {
    remember();
    const { classes, zones } = get();
    const own = Object.entries(before[id]).filter(([key]) => KEYS[verb].includes(key));
    draft.set(group, { ...(classes && { classes }), ...(zones && { zones }), do: verb, ...Object.fromEntries(own) });
  };

  return element("details", { id, class: "action" }, summary,
    element("fieldset", { class: "plain" },
      element("legend", { class: "unseen" }, `Action ${index + 1}`),
      tools.select("do", "What to do", "", get("do"), VERBS, changeVerb),
      ground({ get, set, named, className, classCount, again, saved }),
      element("div", { class: "fields" }, rowsOf[get("do")]?.(tools) ?? []),
      remove && element("p", { class: "buttons" },
        element("button", { type: "button", id: named("remove"), "aria-label": `Remove this action, number ${index + 1}`, onclick: remove }, "Remove this"))));
}

/** Where: classes to tick, or zones by their ids. */
function ground({ get, set, named, className, classCount, again, saved }) {
  const isByZones = get("zones") !== undefined && get("classes") === undefined;
  const said = element("div", { class: "message", role: "alert", id: named("where-message") });
  const zones = textInput((get("zones") ?? []).join(", "), { id: named("zones"), placeholder: "Z3, Z4" });
  const boxes = Array.from({ length: Math.max(classCount, ...(get("classes") ?? [0])) }, (_, k) => {
    const box = element("input", { type: "checkbox", value: String(k + 1), id: named(`class-${k + 1}`) });
    box.checked = get("classes")?.includes(k + 1) ?? false;
    return box;
  });
  const radio = (name, isOn) => {
    const made = element("input", { type: "radio", name: named("where"), id: named(`by-${name}`) });
    made.checked = isOn;
    made.addEventListener("change", () => tell(made));
    return made;
  };
  const [byClasses, byZones] = [radio("classes", !isByZones), radio("zones", isByZones)];

  function tell(input) {
    const isZones = byZones.checked;
    set(["zones"], isZones ? zones.value.split(/[\s,]+/).filter(Boolean) : null);
    set(["classes"], isZones ? null : boxes.filter((box) => box.checked).map((box) => Number(box.value)));
    enable(isZones);
    again();
    hush({ input, said });
    saved({ input, said });
  }
  function enable(isZones) {
    zones.disabled = !isZones;
    boxes.forEach((box) => (box.disabled = isZones));
  }
  boxes.forEach((box) => box.addEventListener("change", () => tell(box)));
  zones.addEventListener("change", () => tell(zones));
  enable(isByZones);

  return element("fieldset", { class: "plain where" },
    element("legend", {}, "Where"),
    element("label", {}, byClasses, " in all zones of these classes:"),
    element("div", { class: "ticks" }, boxes.map((box, k) =>
      element("label", {}, box, " ", element("span", { "data-class-number": k + 1 }, className(k + 1))))),
    element("label", {}, byZones, " in these zones only:"),
    element("label", { class: "unseen", for: named("zones") }, "Zones by their ids"),
    zones,
    said);
}

/** `Loosen the tight layer in classes 2: 3–6 in and 3: 6–9 in`. */
function inWords(action, className) {
  const what = { leave: "Leave alone", loosen: "Loosen", amend: `Spread ${action?.product ?? (action?.gypsum ? "gypsum" : "a product")}`, other: action?.text || "Something else" }[action?.do] ?? "?";
  const zones = action?.zones?.length ? `zones ${action.zones.join(", ")}` : null;
  const classes = action?.classes?.length ? action.classes.map((number) => className(number).replace(/^\d+: /, "")).join(", ") : null;
  return `${what}: ${classes ?? zones ?? "nowhere yet"}`;
}
