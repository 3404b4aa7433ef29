// Says what went wrong beside what caused it, in the sentences of the terminal.

import { byId, element, fill } from "./element.js";
import { Gone } from "./server.js";

/** Empties the place for messages of this id. */
export function clear(id) {
  byId(id)?.replaceChildren();
}

/** Shows a problem; `more` are elements that help out of it, such as a button. */
export function say(id, problem, ...more) {
  if (problem instanceof Gone) return;
  fill(byId(id), sentences(problem), ...more);
  byId(id).scrollIntoView({ block: "nearest" });
}

/** A problem as paragraphs: the first sentence, then why. */
export function sentences(problem) {
  const because = problem.because ?? problem.body?.because ?? [];
  return [
    element("p", { class: "error" }, element("strong", {}, "Error: "), problem.error ?? problem.message),
    ...because.map((line) => element("p", { class: "because" }, "because: " + line)),
  ];
}
