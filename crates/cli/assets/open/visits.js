// Which visit is on the map, and which two are compared.

import { change, chosen } from "./choices.js";
import { visitInWords } from "./day.js";
import { byId, element, fill } from "./element.js";

/** Sets up the three lists of visits. */
export function setUpVisits() {
  byId("visit").addEventListener("change", (event) => change((next) => (next.visit = event.target.value), "visit"));
  for (const which of ["earlier", "later"]) {
    byId(which).addEventListener("change", (event) => {
      keepOrder();
      change((next) => (next[which] = event.target.value), "compare");
    });
  }
}

/** Shows the visits that are there; the choice is the kept one, else the last visit, and the first and last to compare. */
export function showVisits(visits) {
  const days = visits.map((visit) => visit.day);
  const { visit, earlier, later } = chosen();
  const usual = (day, other) => (days.includes(day) ? day : (other ?? null));
  const next = {
    visit: usual(visit, days.at(-1)),
    earlier: days.length > 1 ? usual(earlier, days[0]) : null,
    later: days.length > 1 ? usual(later, days.at(-1)) : null,
  };
  for (const which of ["visit", "earlier", "later"]) {
    fill(byId(which), visits.map((one) => element("option", { value: one.day }, visitInWords(one))));
    byId(which).value = next[which] ?? "";
  }
  byId("visit-row").hidden = visits.length === 0 || byId("show-change").checked;
  byId("one-visit").hidden = visits.length > 1;
  byId("two-visits").hidden = visits.length < 2;
  keepOrder();
  const isNew = ["visit", "earlier", "later"].some((which) => next[which] !== (chosen()[which] ?? null));
  if (isNew) change((all) => Object.assign(all, next), "visits");
}

/** The later visit comes after the earlier one. */
function keepOrder() {
  const [earlier, later] = [byId("earlier"), byId("later")];
  for (const option of earlier.options) option.disabled = option.value >= later.value;
  for (const option of later.options) option.disabled = option.value <= earlier.value;
}
