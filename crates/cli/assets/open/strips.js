// Check strips of a plan, drawn on the map.

import { chosen, flag } from "./choices.js";
import { byId, element, fill } from "./element.js";
import { flagField, flagFields } from "./flag_fields.js";
import { latest } from "./latest.js";
import { clear, say } from "./message.js";
import { post } from "./server.js";

/** Sets up the fields; `show` takes the parts for the map. Gives functions that show what is chosen and that draw. */
export function setUpStrips({ system, show, busy }) {
  const own = (id, name, label, hint, more) => flagField({ id, name, label, hint, commands: ["plan"], from: "strips", system, ...more });
  const withoutStrips = () => ({ "strip-passes": null, seed: null });
  const refresh = flagFields("strips-fields", [
    own("strips-number", "check-strips", "Check strips", "Empty: none.", { min: "1", step: "1", alone: withoutStrips }),
    own("strips-passes", "strip-passes", "Passes in each strip", "Empty: one.", { min: "1", step: "1" }),
    own("strips-swath", "swath", "Width of one pass", "Empty: as in the rates.", { kind: "length" }),
    own("strips-heading", "heading", "Heading of the passes", "From north, clockwise. Empty: as in the rates.", { unit: "°" }),
    own("strips-seed", "seed", "Seed of the draw", "The same seed draws the same passes. Empty: 1.", { min: "0", step: "1" }),
  ]);
  const want = latest({
    ask: (choices) => post("api/strips", { choices }),
    show: (answer, choices) => {
      clear("strips-message");
      fill(byId("strips-words"), (answer.words ?? []).map((line) => element("p", {}, line)));
      byId("strips-table").textContent = answer.table ?? "";
      byId("strips-table-part").hidden = !answer.table;
      show(answer.parts ?? [], choices);
    },
    fail: (problem) => {
      byId("strips-words").replaceChildren();
      byId("strips-table-part").hidden = true;
      say("strips-message", problem);
    },
    busy: (isBusy) => {
      byId("strips").disabled = isBusy;
      byId("strips").textContent = isBusy ? "Drawing …" : "Draw the check strips";
      busy(isBusy);
    },
  });
  const draw = () => {
    clear("strips-message");
    want(chosen());
  };
  const showChosen = () => {
    refresh();
    const isNone = !flag("plan", "check-strips");
    byId("strips-passes").disabled = isNone;
    byId("strips-seed").disabled = isNone;
  };
  return { refresh: showChosen, draw };
}
