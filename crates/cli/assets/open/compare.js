// Two visits and their change.

import { chosen } from "./choices.js";
import { byId, element, fill } from "./element.js";
import { latest } from "./latest.js";
import { clear, say } from "./message.js";
import { post } from "./server.js";

/** Sets up the comparison; `show` takes the two visits for the map. Gives a function that compares. */
export function setUpCompare({ show, busy }) {
  const want = latest({
    ask: (choices) => post("api/compare", { choices }),
    show: (answer, choices) => {
      clear("compare-message");
      const notes = (answer.notes ?? []).map((line) => element("p", { class: "hint" }, line));
      fill(byId("compare-words"), (answer.words ?? []).map((line) => element("p", {}, line)), notes);
      byId("compare-table").textContent = answer.table ?? "";
      byId("compare-table-part").hidden = !answer.table;
      show(answer.view, choices);
    },
    fail: (problem) => {
      forgetComparison();
      say("compare-message", problem);
    },
    busy: (isBusy) => {
      byId("compare").disabled = isBusy;
      byId("compare").textContent = isBusy ? "Comparing …" : "Compare the two visits";
      busy(isBusy);
    },
  });
  return () => {
    clear("compare-message");
    want(chosen());
  };
}

/** Takes away what was said of two visits, as others are chosen. */
export function forgetComparison() {
  byId("compare-words").replaceChildren();
  byId("compare-table-part").hidden = true;
}
