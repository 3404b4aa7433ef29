// What is chosen: a visit, two visits to compare, and the flags of each command. Every choice is kept in the field's folder.

import { latest } from "./latest.js";
import { onGone, post } from "./server.js";

let choices = { visit: null, earlier: null, later: null, flags: {} };
let commands = {};
const changeListeners = [];
const commandListeners = [];
let onRefused = () => {};

/** Commands that estimate depths between the readings, and so take the same method. */
export const ESTIMATING = ["map", "raster", "report", "compare", "season"];
/** Commands that tell ground by class, and so take the same limits. */
export const CLASSING = ["map", "report", "compare", "season"];

const keep = latest({
  ask: (wanted) => post("api/choices", wanted.choices),
  show: (answer) => takeCommands(answer.commands),
  fail: (problem, sent) => onRefused(problem, sent.from),
});

/** The choices as they are now. */
export const chosen = () => choices;

/** A flag's value, or undefined where it is not given. */
export const flag = (command, name) => choices.flags[command]?.[name];

/** The commands as they would be typed. */
export const typed = () => commands;

/** Calls back after each change with the name of what changed: `visit`, `limits`, `zones`, `method`, `compare`, `strips`. */
export function onChange(listener) {
  changeListeners.push(listener);
}

/** Calls back when the commands to type are new. */
export function onCommands(listener) {
  commandListeners.push(listener);
}

/** Calls back with a problem and what was changed when choices are refused. */
export function onRefusal(listener) {
  onRefused = listener;
}

/** Takes the choices that the folder holds. */
export function take(kept) {
  choices = { ...choices, ...kept, flags: { ...kept?.flags } };
}

/** Changes choices and keeps them. `from` names what changed. */
export function change(edit, from) {
  const next = structuredClone(choices);
  edit(next);
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
export function keepNow(from) {
  keep({ choices, from });
}

/** Takes the commands to type as they stand with what is chosen. */
export function takeCommands(texts) {
  commands = texts ?? {};
  for (const listener of commandListeners) listener(commands);
}

onGone((gone) => {
  if (!gone) keep.again();
});
