// Asks for the map as it would be with what is chosen now.

import { chosen } from "./choices.js";
import { latest } from "./latest.js";
import { onGone, post } from "./server.js";

const listeners = [];
let have = null;
/** Whether all of the map is wanted, whatever answers are under way. */
let isAnew = true;
let lastFrom = "visit";
let onRefused = () => {};
let onBusy = () => {};

const want = latest({
  ask: (wanted) => post("api/preview", { choices: wanted.choices, have: isAnew ? null : have }),
  show: (answer) => {
    // What was drawn before of another surface no longer counts.
    have = answer.surface ?? null;
    if (answer.view) isAnew = false;
    for (const listener of listeners) listener(answer);
  },
  fail: (problem, sent) => onRefused(problem, sent.from),
  busy: (isBusy) => onBusy(isBusy),
});

/** Calls back with each answer. */
export function onPreview(listener) {
  listeners.push(listener);
}

/** Calls back with a problem and what was changed last. */
export function onPreviewRefused(listener) {
  onRefused = listener;
}

/** Calls back with true while the program draws. */
export function onDrawing(listener) {
  onBusy = listener;
}

/** Asks for the map anew; `from` names what changed. */
export function preview(from = lastFrom) {
  lastFrom = from;
  want({ choices: chosen(), from });
}

/** Asks for all of the map again: its files have changed, or something else is on the map. */
export function previewAnew(from) {
  isAnew = true;
  preview(from);
}

onGone((gone) => {
  if (!gone) want.again();
});
