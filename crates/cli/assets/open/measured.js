// What was read: facts, findings beside the map, notes.

import { byId, element, fill } from "./element.js";

const FIRST = 4;
const WORDS = { fault: "Fault", doubt: "Doubt", note: "Note" };

/** Shows facts, findings and notes of a visit; `goTo` brings the map to a finding's place. */
export function showMeasured({ facts = [], findings = [], notes = [], table = "" }, goTo) {
  byId("measured-body").hidden = false;
  fill(byId("facts"), facts.map(([name, value]) => element("div", {}, element("dt", {}, name), element("dd", {}, value))));
  fill(byId("notes"), notes.map((note) => element("li", {}, note)));
  byId("notes").hidden = notes.length === 0;
  byId("table").textContent = table;
  showFindings(findings, goTo);
}

function showFindings(findings, goTo) {
  const more = byId("findings-more");
  const items = findings.map((finding) => item(finding, goTo));
  byId("findings-none").hidden = findings.length > 0;
  byId("findings").hidden = findings.length === 0;
  fill(byId("findings"), items);
  const isLong = items.length > FIRST + 1;
  more.hidden = !isLong;
  if (!isLong) return;
  items.slice(FIRST).forEach((one) => (one.hidden = true));
  more.textContent = `Show all ${items.length} findings`;
  more.onclick = () => {
    items.forEach((one) => (one.hidden = false));
    more.hidden = true;
    (items[FIRST].querySelector("button") ?? byId("findings")).focus();
  };
}

function item(finding, goTo) {
  const words = [element("strong", { class: "severity" }, WORDS[finding.severity] ?? finding.severity), " ", finding.words];
  if (!finding.at) return element("li", { class: "finding" }, words);
  return element("li", {},
    element("button", { type: "button", class: "finding", title: "Show it on the map", onclick: () => goTo(finding) }, words));
}
