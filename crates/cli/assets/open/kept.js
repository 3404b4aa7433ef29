// Says when what is chosen is not in the folder, and what was set aside; a new drawing of the map does not clear it.

import { keepAll, onKeeping, onRefusal, setUnsaved } from "./choices.js";
import { byId, element, fill } from "./element.js";
import { sentences } from "./message.js";

let shown = "null";
/** Whether the file of choices was not understood when it was last read. */
let isNotUnderstood = false;

/** Listens for answers to choices that were sent. */
export function setUpKept() {
  onKeeping(({ unsaved, notes }) => {
    tell(unsaved, isNotUnderstood);
    if (notes?.length) tellNotes(notes);
  });
  onRefusal((problem) => tell(problem.body ?? problem, isNotUnderstood));
}

/** Takes what the state says of the file of choices. */
export function showKept({ choices_problem: problem, notes }) {
  if (problem) {
    isNotUnderstood = true;
    setUnsaved(true);
    tell(problem, true);
  } else if (isNotUnderstood) {
    setUnsaved(false);
    tell(null, false);
  }
  if (notes?.length) tellNotes(notes);
}

function tell(problem, isOfFile) {
  isNotUnderstood = Boolean(problem) && isOfFile;
  const words = JSON.stringify(problem ?? null);
  if (words === shown) return;
  shown = words;
  if (!problem) {
    if (byId("kept-message").contains(document.activeElement)) byId("map-heading").focus();
    return fill(byId("kept-message"));
  }
  const button = isOfFile
    ? element("button", { type: "button", id: "kept-replace", onclick: () => keepAll({ replace: true }) }, "Overwrite that file with what is chosen here")
    : element("button", { type: "button", id: "kept-again", onclick: () => keepAll() }, "Try again");
  fill(byId("kept-message"),
    element("p", {}, element("strong", {}, "What you choose is not saved. "),
      isOfFile ? "The file of choices in the folder is not understood and stays as it is until you say otherwise." : ""),
    sentences(problem),
    element("p", { class: "buttons" }, button));
}

function tellNotes(notes) {
  fill(byId("kept-notes"), notes.map((note) => element("p", {}, note)));
}
