// Two visits and their change.

import { chosen } from "./choices.js";
import { byId, element, fill, isOff, setOff } from "./element.js";
import { latest } from "./latest.js";
import { clear, say } from "./message.js";
import { post } from "./server.js";

/** Counts the comparisons that no longer hold: an answer to an older one is dropped. */
let turn = 0;
/** The choices that the comparison is of. */
let of = null;

/** What of the choices a comparison depends on. */
const part = ({ earlier, later, flags }) => JSON.stringify([earlier, later, Object.entries(flags.compare ?? {}).sort()]);

/** Sets up the comparison; `show` takes the two visits for the map, `failed` is called when there are none. Gives a function that compares. */
export function setUpCompare({ show, failed, busy }) {
  const want = latest({
    ask: (wanted) => post("api/compare", { choices: wanted.choices }),
    show: (answer, wanted) => {
      if (wanted.turn !== turn) return;
      clear("compare-message");
      const notes = (answer.notes ?? []).map((line) => element("p", { class: "hint" }, line));
      fill(byId("compare-words"), (answer.words ?? []).map((line) => element("p", {}, line)), notes);
      byId("compare-table").textContent = answer.table ?? "";
      byId("compare-table-part").hidden = !answer.table;
      show(answer.view);
    },
    fail: (problem, wanted) => {
      if (wanted.turn !== turn) return;
      forgetComparison();
      say("compare-message", problem);
      failed();
    },
    busy: (isBusy) => {
      setOff(byId("compare"), isBusy);
      byId("compare").textContent = isBusy ? "Comparing …" : "Compare the two visits";
      busy(isBusy);
    },
  });
  return () => {
    clear("compare-message");
    turn += 1;
    of = part(chosen());
    want({ choices: chosen(), turn });
  };
}

/** Whether a press of the button is to be taken. */
export const mayCompare = () => !isOff(byId("compare"));

/** Takes away what was said of two visits. */
export function forgetComparison() {
  turn += 1;
  of = null;
  byId("compare-words").replaceChildren();
  byId("compare-table-part").hidden = true;
}

/** Forgets a comparison of other choices than those of now, and says whether there was one. */
export function forgetOtherComparison() {
  const isOther = of !== null && of !== part(chosen());
  if (isOther) forgetComparison();
  return isOther;
}
