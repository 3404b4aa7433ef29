// What is chosen: a visit, two visits to compare, and the flags of each command. Every choice is kept in the field's folder.

import { latest } from "./latest.js";
import { onGone, post } from "./server.js";

let choices = { visit: null, earlier: null, later: null, flags: {} };
let commands = {};
/** Changes that were not sent yet, as `api/choices` takes them under `set`. */
let unsent = {};
/** Whether the file of choices does not say what is chosen here. */
let isUnsaved = false;
/** Whether a file that is not understood may be overwritten. */
let mayReplace = false;
const changeListeners = [];
const commandListeners = [];
let onRefused = () => {};
let onKept = () => {};

/** Commands that estimate depths between the readings, and so take the same method. */
export const ESTIMATING = ["map", "raster", "report", "compare", "season"];
/** Commands that tell ground by class, and so take the same limits. */
export const CLASSING = ["map", "report", "compare", "season"];
const VISITS = ["visit", "earlier", "later"];

const keep = latest({
  ask: () => send(),
  show: (answer) => {
    takeCommands(answer.commands);
    onKept(answer);
    if (answer.isWhole || isUnsaved) return;
    if (takeKept(answer.choices)) for (const listener of changeListeners) listener("others");
  },
  fail: (problem) => onRefused(problem),
});

/** Sends what is new; all choices where the file says something else. */
async function send() {
  if (isUnsaved) return sendAll();
  const set = unsent;
  unsent = {};
  try {
    return noted(await post("api/choices", { set }), false);
  } catch (problem) {
    unsent = merged(set, unsent);
    throw problem;
  }
}

async function sendAll() {
  const answer = await post("api/choices", mayReplace ? { ...choices, replace: true } : choices);
  unsent = {};
  return noted(answer, true);
}

function noted(answer, isWhole) {
  isUnsaved = Boolean(answer.unsaved);
  if (!isUnsaved) mayReplace = false;
  return { ...answer, isWhole };
}

/** Takes what is kept, which another window may have changed, with the changes that are under way here; says whether that is new. */
export function takeKept(kept) {
  if (!kept) return false;
  const next = applied(plain(kept), unsent);
  const isNew = JSON.stringify(plain(choices)) !== JSON.stringify(next);
  if (isNew) choices = next;
  return isNew;
}

/** Whether nothing that was chosen here is still on its way. */
export const isAllSent = () => keep.isIdle() && Object.keys(unsent).length === 0 && !isUnsaved;

/** Choices without empty tables, in one order. */
function plain({ visit = null, earlier = null, later = null, flags = {} }) {
  const sorted = (table) => Object.fromEntries(Object.entries(table).sort(([a], [b]) => (a < b ? -1 : 1)));
  const full = Object.entries(flags).filter(([, own]) => Object.keys(own).length > 0);
  return { visit, earlier, later, flags: sorted(Object.fromEntries(full.map(([command, own]) => [command, sorted(own)]))) };
}

/** What has to be set to come from one to the other. */
function difference(before, after) {
  const set = Object.fromEntries(VISITS.filter((which) => before[which] !== after[which]).map((which) => [which, after[which] ?? null]));
  for (const command of new Set([...Object.keys(before.flags), ...Object.keys(after.flags)])) {
    const [old, own] = [before.flags[command] ?? {}, after.flags[command] ?? {}];
    const names = [...new Set([...Object.keys(old), ...Object.keys(own)])].filter((name) => old[name] !== own[name]);
    if (names.length > 0) {
      set.flags ??= {};
      set.flags[command] = Object.fromEntries(names.map((name) => [name, own[name] ?? null]));
    }
  }
  return set;
}

/** Two changes as one; the second counts where both say something. */
function merged(first, second) {
  const flags = { ...first.flags };
  for (const [command, own] of Object.entries(second.flags ?? {})) flags[command] = { ...flags[command], ...own };
  return { ...first, ...second, ...(Object.keys(flags).length > 0 ? { flags } : {}) };
}

function applied(to, set) {
  const next = structuredClone(to);
  for (const which of VISITS) if (which in set) next[which] = set[which];
  for (const [command, own] of Object.entries(set.flags ?? {})) {
    const table = { ...next.flags[command] };
    for (const [name, value] of Object.entries(own)) {
      if (value === null) delete table[name];
      else table[name] = value;
    }
    next.flags[command] = table;
  }
  return plain(next);
}

/** The choices as they are now. */
export const chosen = () => choices;

/** A flag's value, or undefined where it is not given. */
export const flag = (command, name) => choices.flags[command]?.[name];

/** The commands as they would be typed. */
export const typed = () => commands;

/** Calls back after each change with the name of what changed: `visit`, `visits`, `limits`, `zones`, `method`, `compare`, `strips`, `spots`, `trial`, or `others` where another window changed it. */
export function onChange(listener) {
  changeListeners.push(listener);
}

/** Calls back when the commands to type are new. */
export function onCommands(listener) {
  commandListeners.push(listener);
}

/** Calls back with a problem when choices are refused. */
export function onRefusal(listener) {
  onRefused = listener;
}

/** Calls back with each answer to choices that were sent; `unsaved` says why they are not in the folder. */
export function onKeeping(listener) {
  onKept = listener;
}

/** Takes the choices that the folder holds. */
export function take(kept) {
  choices = { ...choices, ...kept, flags: { ...kept?.flags } };
}

/** Says that the folder's file of choices is not understood, or that it is again. */
export function setUnsaved(is) {
  isUnsaved = is;
}

/** Changes choices and keeps them. `from` names what changed. */
export function change(edit, from) {
  const next = structuredClone(choices);
  edit(next);
  unsent = merged(unsent, difference(choices, next));
  choices = next;
  for (const listener of changeListeners) listener(from);
  keepNow(from);
}

/** Gives flags of commands, or takes them away where the value is null; a flag without a value is "". */
export function setFlags(names, flags, from) {
  change((next) => {
    for (const command of names) {
      const own = { ...next.flags[command] };
      for (const [name, value] of Object.entries(flags)) {
        if (value === null) delete own[name];
        else own[name] = value;
      }
      next.flags[command] = own;
    }
  }, from);
}

/** Sends the choices, which also brings the commands to type. */
function keepNow(from) {
  keep({ from });
}

/** Sends all choices again; `replace` lets them take the place of a file that is not understood. */
export function keepAll({ replace = false } = {}) {
  isUnsaved = true;
  mayReplace = replace;
  keepNow("visits");
}

/** Takes the commands to type as they stand with what is chosen. */
export function takeCommands(texts) {
  commands = texts ?? {};
  for (const listener of commandListeners) listener(commands);
}

onGone((gone) => {
  if (!gone) keep.again();
});
