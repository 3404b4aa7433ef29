// What is done in which zones: a form made from rates.toml, and the text itself.

import { actionForm, forgetBefore } from "./rates_action.js";
import { byId, element, fill } from "./element.js";
import { clear, say } from "./message.js";
import { get, onGone, post } from "./server.js";
import { TomlDraft } from "./toml_draft.js";
import { fieldRow, hush, numberInput, sayBeside, textInput, valueOf } from "./toml_field.js";

const FILE = "rates.toml";
let draft = null;
let forms = [];
let textArea = null;
let savedText = "";
/** What the program calls the text that the file has, so that it can tell when the file has changed. */
let savedBase;
/** The text of the file that the words in the text area were made from, and its base. */
let ground = { text: "", base: undefined };
let openParts = new Set();
let classNames = [];
let folder = "";
let queue = Promise.resolve();
/** Groups with edits that could not be saved yet, with the row that was edited last. */
const waiting = new Map();

onGone((gone) => {
  if (!gone) for (const { group, row } of [...waiting.values()]) save(group, row);
});

/** Reads the rates and shows them, or how to start them. */
export async function showRates(inFolder) {
  folder = inFolder;
  clear("rates-message");
  try {
    const rates = await get("api/rates");
    if (rates.text) take(rates);
    else fill(byId("rates"), firstRates());
  } catch (problem) {
    say("rates-message", problem);
  }
}

/** Names the classes in the form as they are on the map now. */
export function nameClasses(names) {
  classNames = names;
  for (const place of document.querySelectorAll("[data-class-number]")) place.textContent = className(Number(place.dataset.classNumber));
}

const className = (number) => (classNames[number - 1] ? `${number}: ${classNames[number - 1]}` : String(number));

function firstRates() {
  const start = async () => {
    try {
      take(await post("api/rates/new"));
      byId("rates").querySelector("summary")?.focus();
    } catch (problem) {
      say("rates-message", problem);
    }
  };
  return [
    element("p", {}, "No rates yet. The first file leaves all ground alone; you then say what to do where."),
    element("p", { class: "buttons" }, element("button", { type: "button", id: "rates-new", onclick: start }, "Start the rates")),
  ];
}

function take({ text, values, problem, base }) {
  savedText = text ?? "";
  savedBase = base;
  draft ??= new TomlDraft(`loosedepth rates of ${folder}`);
  if (values) draft.take(values);
  build(values !== null, problem);
}

function build(isReadable, problem) {
  for (const part of byId("rates").querySelectorAll("details")) part.open ? openParts.add(part.id) : openParts.delete(part.id);
  const focused = document.activeElement?.id;
  forms = [];
  fill(byId("rates"),
    isReadable ? [
      actions(),
      element("p", { class: "buttons" }, element("button", { type: "button", id: "add-action", onclick: addAction }, "Add what to do elsewhere")),
      part("rates-plan", "Name, machine and money", planRows()),
      part("rates-field", "Hazards, buried lines, moisture", fieldRows()),
    ] : null,
    textPart(problem));
  for (const one of byId("rates").querySelectorAll("details")) one.open = openParts.has(one.id);
  if (problem) {
    byId("rates-text-part").open = true;
    say("rates-message", problem);
  }
  for (const { row: made, problem: kept } of waiting.values()) sayBeside(live(made), kept);
  if (focused) byId(focused)?.focus();
}

/** The row as it stands on the page now, where the form was built anew. */
function live(made) {
  const rows = forms.flatMap((form) => form.rows);
  const found = rows.find((one) => one.input.id === made.input.id);
  if (found) return found;
  const said = byId(made.said.id);
  return said ? { input: byId(made.input.id) ?? made.input, said } : made;
}

function part(id, words, rows) {
  return element("details", { id }, element("summary", {}, words), element("div", { class: "fields" }, rows));
}

/** A row of the form for one key, or for none where `path` is null; a change is saved with all that is not saved yet of its group. */
function row(group, path, { label, hint, input = textInput(""), id, after = null, onEdit = () => {} }) {
  const value = path && draft.get(path);
  if (path) input.value = value ?? "";
  const made = fieldRow({ id, label, hint, input, after });
  input.addEventListener("change", () => {
    if (path) draft.set(path, valueOf(input));
    onEdit(input.value);
    save(group, made);
  });
  const form = forms.find((one) => String(one.group) === String(group)) ?? addForm(group);
  form.rows.push(made);
  return made;
}

function addForm(group) {
  const form = { group, rows: [] };
  forms.push(form);
  return form;
}

function unit(words) {
  return element("span", { class: "unit" }, words);
}

function planRows() {
  const own = (key, label, hint, more = {}) => row(["plan"], ["plan", key], { id: `rates-${key}`, label, hint, ...more }).box;
  return [
    own("name", "Name of the plan", ""),
    own("farm", "Farm", ""),
    own("grower", "Grower", ""),
    own("swath", "Width of one pass", "With its unit: 30ft, 9m."),
    own("heading", "Heading of the passes", "From north, clockwise.", { input: numberInput("", { min: "0", max: "360" }), after: unit("°") }),
    own("currency", "Currency of all prices", "Three letters: USD."),
  ];
}

function fieldRows() {
  const group = ["field"];
  const own = (id, path, label, hint, more = {}) => row(group, ["field", ...path], { id: `rates-${id}`, label, hint, ...more }).box;
  const percent = () => ({ input: numberInput("", { min: "0" }), after: unit("%") });
  const tillage = (id, key, label, hint) => row(["tillage"], ["tillage", key], { id: `rates-${id}`, label, hint }).box;
  return [
    hazards(group),
    together("Buried lines", "Call before you dig: in the US 811, three business days ahead. The marks show public lines, not private ones.",
      own("ticket", ["buried_lines", "ticket"], "Ticket of the one-call centre", ""),
      own("valid-until", ["buried_lines", "valid_until"], "Its last day", "", { input: textInput("", { type: "date" }) })),
    together("Moisture in which the soil may be loosened", "In percent of field capacity; wet soil smears and is tighter afterwards.",
      own("above", ["moisture", "above_pct"], "Not below", "Empty: no lower limit.", percent()),
      own("below", ["moisture", "below_pct"], "Below", "", percent()),
      own("source", ["moisture", "source"], "Where the limits come from", "Such as your state's copy of NRCS Code 324.")),
    together("The tool where the plan says nothing", "",
      tillage("signal-lost", "signal_lost", "Depth where the position is lost", "With its unit. Empty: the shallowest set depth."),
      tillage("out-of-field", "out_of_field", "Depth outside the field", "With its unit. Empty: at the surface.")),
    noTill(group),
  ];
}

/** Fields that belong together. */
function together(legend, hint, ...rows) {
  return element("fieldset", { class: "plain" }, element("legend", {}, legend),
    hint && element("p", { class: "hint" }, hint), element("div", { class: "fields" }, rows));
}

function hazards(group) {
  const input = element("textarea", { rows: "3" });
  input.value = (draft.get(["field", "hazards"]) ?? []).join("\n");
  const made = fieldRow({ id: "rates-hazards", label: "Hazards on the field", hint: "One a line: overhead lines, drain tile, soft ground.", input });
  input.addEventListener("change", () => {
    const lines = input.value.split("\n").map((line) => line.trim()).filter(Boolean);
    draft.set(["field", "hazards"], lines.length > 0 ? lines : null);
    save(group, made);
  });
  addForm(group).rows.push(made);
  return made.box;
}

function noTill(group) {
  const input = element("input", { type: "checkbox", id: "rates-no-till" });
  input.checked = draft.get(["field", "long_term_no_till"]) === true;
  const said = element("div", { class: "message", role: "alert" });
  input.addEventListener("change", () => {
    draft.set(["field", "long_term_no_till"], input.checked || null);
    save(group, { input, said });
  });
  return element("div", { class: "field wide" }, element("label", {}, input, " No-till for a long time: look at roots before loosening"), said);
}

function actions() {
  const list = draft.get(["action"]) ?? [];
  return list.map((_, index) => {
    const id = `rates-action-${index + 1}`;
    const group = ["action", index];
    return actionForm({
      id, index, draft, group, className, classCount: Math.max(classNames.length, 1),
      row: (path, more) => row(group, path && [...group, ...path], more).box,
      saved: (made) => save(group, made),
      rebuild: () => build(true, null),
      remove: list.length > 1 ? () => removeAction(index) : null,
    });
  });
}

function addAction() {
  const count = draft.get(["action"])?.length ?? 0;
  draft.set(["action", count], { do: "leave" });
  build(true, null);
  const added = byId(`rates-action-${count + 1}`);
  added.open = true;
  added.querySelector("summary").focus();
}

function removeAction(index) {
  queue = queue.then(async () => {
    const isOnlyHere = draft.saved.action?.[index] === undefined;
    try {
      if (!isOnlyHere) await post("api/settings", { file: FILE, set: [{ at: ["action", index], to: null }] });
      draft.saved.action?.splice(index, 1);
      draft.wanted.action.splice(index, 1);
      draft.keep();
      waiting.clear();
      forgetBefore();
      await reread();
      byId("add-action").focus();
    } catch (problem) {
      say("rates-message", problem);
    }
  });
}

/** Saves what is not saved yet of a group; what is refused is told beside the row that was edited. */
function save(group, made) {
  queue = queue.then(async () => {
    const set = draft.steps(group);
    const rows = forms.find((one) => String(one.group) === String(group))?.rows ?? [];
    if (set.length > 0) {
      try {
        await post("api/settings", { file: FILE, set });
        draft.accept(group);
      } catch (problem) {
        waiting.set(String(group), { group, row: made, problem });
        sayBeside(live(made), problem);
        return;
      }
    }
    waiting.delete(String(group));
    [...rows, live(made)].forEach(hush);
    clear("rates-message");
    await rereadText();
    dispatchEvent(new CustomEvent("rates-saved"));
  });
  return queue;
}

async function rereadText() {
  const { text, base } = await get("api/rates").catch(() => ({}));
  if (text === undefined) return;
  const isTyped = textArea && textArea.value !== ground.text;
  savedText = text;
  savedBase = base;
  if (textArea && !isTyped) {
    textArea.value = text;
    ground = { text, base };
  }
}

async function reread() {
  take(await get("api/rates"));
}

/** Where a text that is not saved yet is kept in this browser. */
const textName = () => `loosedepth text of rates of ${folder}`;

function keepText(text) {
  try {
    if (text === null || text === ground.text) localStorage.removeItem(textName());
    else localStorage.setItem(textName(), JSON.stringify({ text, of: ground.text }));
  } catch {
    // A browser may refuse to keep anything; the text then lives as long as the page.
  }
}

/** A text that was typed and not saved, and the text of the file that it was made from. */
function keptText() {
  try {
    const kept = JSON.parse(localStorage.getItem(textName()));
    return typeof kept?.text === "string" ? kept : null;
  } catch {
    return null;
  }
}

function textPart(problem) {
  const isTyped = textArea !== null && textArea.value !== ground.text;
  const kept = isTyped ? null : keptText();
  const input = element("textarea", { rows: "16", spellcheck: "false", class: "code", wrap: "off" });
  const fitsFile = kept && kept.of === savedText;
  input.value = isTyped ? textArea.value : fitsFile ? kept.text : savedText;
  if (!isTyped) ground = { text: savedText, base: savedBase };
  textArea = input;
  const made = fieldRow({ id: "rates-text", label: "rates.toml", hint: "The file as it stands; the form above writes into it and keeps your comments.", input });
  const state = element("div", { id: "rates-text-state", class: "hint", role: "status" });
  const showState = () => fill(state, input.value !== ground.text && element("p", {}, "Typed here and not saved yet."));
  input.addEventListener("input", () => {
    keepText(input.value);
    showState();
  });
  showState();
  if (kept && !fitsFile && kept.text !== savedText) fill(state, olderText(kept, input, showState));
  const button = (id, press, words) => element("button", { type: "button", id, onclick: press }, words);
  const changed = (refused) => {
    sayBeside(made, refused);
    made.said.append(element("p", { class: "buttons" },
      button("rates-text-overwrite", () => saveText(true), "Overwrite the file with this text"),
      button("rates-text-file", () => showFile().catch((again) => sayBeside(made, again)), "Show the file as it is now")));
  };
  const saveText = async (overwrite = false) => {
    if (!overwrite && ground.text !== savedText) {
      return changed({ error: "rates.toml has changed since this text was begun", because: ["the form above or another window has written into it"] });
    }
    try {
      const answer = await post("api/rates", { text: input.value, ...(overwrite || ground.base === undefined ? {} : { base: ground.base }) });
      if (answer.problem) return sayBeside(made, answer.problem);
      hush(made);
      draft.saved = draft.wanted = {};
      ground = { text: input.value, base: answer.base };
      keepText(null);
      take(answer);
      byId("rates-text-save").focus();
      dispatchEvent(new CustomEvent("rates-saved"));
    } catch (refused) {
      if (refused.body?.changed) changed(refused);
      else sayBeside(made, refused);
    }
  };
  return element("details", { id: "rates-text-part" },
    element("summary", {}, "The text of the file"),
    made.box,
    state,
    element("p", { class: "buttons" }, button("rates-text-save", () => saveText(), "Save the text")));
}

/** Gives up what was typed and shows the file as it is now. */
async function showFile() {
  const now = await get("api/rates");
  textArea = null;
  ground = { text: now.text ?? "", base: now.base };
  keepText(null);
  take(now);
  byId("rates-text").focus();
}

/** What to do with a text that was typed before the file changed: nothing of it is taken unasked. */
function olderText(kept, input, showState) {
  const press = (isWanted) => () => {
    if (isWanted) {
      input.value = kept.text;
      ground = { text: kept.of, base: "" };
    }
    keepText(isWanted ? kept.text : null);
    showState();
    input.focus();
  };
  return [
    element("p", {}, "A text was typed here before and not saved; the file has changed since. The file is shown."),
    element("p", { class: "buttons" },
      element("button", { type: "button", id: "rates-text-typed", onclick: press(true) }, "Show what was typed"),
      element("button", { type: "button", id: "rates-text-forget", onclick: press(false) }, "Forget it")),
  ];
}
