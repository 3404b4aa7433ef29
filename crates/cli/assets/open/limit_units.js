// Limits between classes in the other system of units.

import { unitOf } from "./units.js";

const CM_IN_AN_INCH = 2.54;
/** Round limits: the first of these steps that keeps all limits apart. */
const STEPS = { us: [1, 0.5, 0.25], si: [5, 1, 0.5] };
/** Limits before they were converted, by where they stand and what they became: changed back they are the same again. */
const before = new Map();

/** These limits as round ones of the other system; `place` tells those of the page from those of a file. */
export function convertLimits(limits, from, to, place) {
  if (from === to) return limits;
  const back = before.get(`${place} ${from} ${limits}`);
  if (back) return back;
  const exact = limits.map((limit) => (to === "si" ? limit * CM_IN_AN_INCH : limit / CM_IN_AN_INCH));
  const tries = STEPS[to].map((step) => exact.map((limit) => Math.max(step, Math.round(limit / step) * step)));
  const areApart = (some) => some.every((limit, index) => index === 0 || limit > some[index - 1]);
  const round = tries.find(areApart) ?? exact.map((limit) => Number(limit.toFixed(2)));
  before.set(`${place} ${to} ${round}`, limits);
  return round;
}

/** Limits with their unit. */
export const limitsInWords = (limits, system) => `${limits.join(", ")} ${unitOf("depth", system)}`;
