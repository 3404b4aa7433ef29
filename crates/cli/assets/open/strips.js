// Check strips of a plan, drawn on the map.

import { chosen, flag } from "./choices.js";
import { byId, element, fill, isOff, setOff } from "./element.js";
import { flagField, flagFields } from "./flag_fields.js";
import { latest } from "./latest.js";
import { clear, say } from "./message.js";
import { post } from "./server.js";

/** Counts the drawings that no longer hold: an answer to an older one is dropped. */
let turn = 0;
/** The choices that the drawn strips are of. */
let of = null;

/** What of the choices the strips depend on. */
const part = ({ visit, flags }) => JSON.stringify([visit, Object.entries(flags.plan ?? {}).sort()]);

/** Sets up the fields; `show` takes the parts for the map. Gives functions that show what is chosen, draw, and forget what was drawn. */
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
  const forget = () => {
    turn += 1;
    of = null;
    for (const id of ["strips-words", "strips-list"]) byId(id).replaceChildren();
    for (const id of ["strips-table-part", "strips-list-part"]) byId(id).hidden = true;
    clear("strips-message");
  };
  const want = latest({
    ask: (wanted) => post("api/strips", { choices: wanted.choices }),
    show: (answer, wanted) => {
      if (wanted.turn !== turn) return;
      const parts = answer.parts ?? [];
      clear("strips-message");
      fill(byId("strips-words"), (answer.words ?? []).map((line) => element("p", {}, line)));
      const checkFirst = [...parts].sort((a, b) => (b.kind === "check") - (a.kind === "check"));
      fill(byId("strips-list"), checkFirst.map(({ words }) => element("li", {}, words)));
      byId("strips-list-part").hidden = parts.length === 0;
      byId("strips-table").textContent = answer.table ?? "";
      byId("strips-table-part").hidden = !answer.table;
      show(parts);
    },
    fail: (problem, wanted) => {
      if (wanted.turn !== turn) return;
      forget();
      show([]);
      say("strips-message", problem);
    },
    busy: (isBusy) => {
      setOff(byId("strips"), isBusy);
      byId("strips").textContent = isBusy ? "Drawing …" : "Draw the check strips";
      busy(isBusy);
    },
  });
  const draw = () => {
    clear("strips-message");
    turn += 1;
    of = part(chosen());
    want({ choices: chosen(), turn });
  };
  /** Forgets strips of other choices than those of now, and says whether there were any. */
  const forgetOther = () => {
    const isOther = of !== null && of !== part(chosen());
    if (isOther) forget();
    return isOther;
  };
  const showChosen = () => {
    refresh();
    const isNone = !flag("plan", "check-strips");
    byId("strips-passes").disabled = isNone;
    byId("strips-seed").disabled = isNone;
  };
  return { refresh: showChosen, draw, forget, forgetOther, mayDraw: () => !isOff(byId("strips")) };
}
