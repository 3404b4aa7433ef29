// Which ground was treated and which was left, for the trial.

import { flag, setFlags } from "./choices.js";
import { element, fill } from "./element.js";

/** A list of files that tell treated ground, and a function that shows those on offer and the chosen one. */
export function trialFields() {
  const list = element("select", { id: "trial-areas", "aria-describedby": "trial-areas-hint" });
  list.addEventListener("change", () => setFlags(["trial"], { areas: list.value || null }, "trial"));
  const box = element("div", { class: "fields" },
    element("div", { class: "field wide" },
      element("label", { for: "trial-areas" }, "Treated and check ground"),
      list,
      element("p", { class: "hint", id: "trial-areas-hint" },
        "A plan with check strips that was made here, or a file with treated and check ground that was dropped.")));
  const refresh = (offered = []) => {
    fill(list, element("option", { value: "" }, "none chosen"), offered.map((path) => element("option", { value: path }, path)));
    list.value = flag("trial", "areas") ?? "";
  };
  return { box, refresh };
}
