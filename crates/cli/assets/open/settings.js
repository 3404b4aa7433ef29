// About the field: its name, crop, planting day, threshold and units, kept in loosedepth.toml.

import { byId, element, fill } from "./element.js";
import { convertLimits } from "./limit_units.js";
import { onGone, post } from "./server.js";
import { TomlDraft } from "./toml_draft.js";
import { choiceInput, fieldRow, hush, numberInput, sayBeside, textInput, valueOf } from "./toml_field.js";

const FILE = "loosedepth.toml";
let rows = [];
let draft = null;
let units = "us";
let after = async () => {};

/** Builds the form; `then` takes the state that follows a saved change, and what new units did to the limits. */
export function setUpSettings(then) {
  after = then;
  const key = (name, label, hint, input) => ({ name, row: fieldRow({ id: `settings-${name.replace("_", "-")}`, label, hint, input }) });
  rows = [
    key("name", "Name of the field", "", textInput("")),
    key("crop", "Crop", "Corn has growing degrees; of other crops note the stages you see.", textInput("")),
    key("planted", "Planted", "", textInput("", { type: "date" })),
    key("threshold", "Pressure that ends the loose layer", "With its unit: 200psi, 1379kPa. Empty: what the survey says.", textInput("")),
    key("units", "Units", "Limits of classes become round ones of the new units.",
      choiceInput("us", [["us", "inches, psi, acres, feet"], ["si", "centimetres, kPa, hectares, metres"]])),
    key("moisture_within", "Soil moistures count as equal within", "Percentage points. Empty: 3.", numberInput("", { min: "0" })),
  ];
  for (const one of rows) one.row.input.addEventListener("change", () => edit(one));
  fill(byId("settings"), element("div", { class: "fields" }, rows.map((one) => one.row.box)),
    element("p", { class: "hint" }, "Saved as you go in loosedepth.toml in the field's folder; comments there stay."));
  onGone((gone) => gone || rows.filter(({ name }) => draft?.differs([name])).forEach(save));
}

/** Shows what the file says, and what was typed but is not saved yet. */
export function showSettings(settings, system, folder) {
  units = system;
  draft ??= new TomlDraft(`loosedepth settings of ${folder}`);
  byId("settings-part").hidden = !settings;
  draft.take(settings ?? {});
  for (const one of rows) {
    const isUnsaved = draft.differs([one.name]);
    if (document.activeElement === one.row.input && one.row.input.type !== "select-one") continue;
    one.row.input.value = draft.get([one.name]) ?? (one.name === "units" ? system : "");
    if (!isUnsaved) hush(one.row);
    else if (!one.row.said.firstChild) save(one);
  }
}

function edit(one) {
  draft.set([one.name], valueOf(one.row.input));
  save(one);
}

async function save(one) {
  const group = [one.name];
  const set = draft.steps(group);
  if (set.length === 0) return hush(one.row);
  const isNewUnits = one.name === "units" && one.row.input.value !== units;
  const news = isNewUnits ? { units: { before: units, after: one.row.input.value } } : {};
  const limits = draft.get(["classes"]);
  if (isNewUnits && Array.isArray(limits)) {
    news.limits = { before: limits, after: convertLimits(limits, news.units.before, news.units.after, FILE) };
    set.push({ at: ["classes"], to: news.limits.after });
  }
  try {
    const state = await post("api/settings", { file: FILE, set });
    draft.accept(group);
    hush(one.row);
    await after(state, news);
  } catch (problem) {
    sayBeside(one.row, problem);
  }
}

/** Keeps limits between classes for every visit. */
export const saveLimits = (limits) => post("api/settings", { file: FILE, set: [{ at: ["classes"], to: limits }] });
