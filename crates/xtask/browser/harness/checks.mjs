// Counts checks and prints those that fail, with what was seen.

import { strict as assert } from "node:assert";

let passed = 0;
const faults = [];
let place = "";
let areExpected = false;

// Where the checks that follow are made.
export function at(where) {
  place = where;
  console.log(`  ${where}`);
}

// One thing that must be so.
export function check(what, isSo, seen) {
  if (isSo) {
    passed += 1;
    return;
  }
  const fault = `FAILED ${place}: ${what}${seen === undefined ? "" : `; seen: ${shown(seen)}`}`;
  faults.push(fault);
  if (!areExpected) console.log(fault);
}

// Two values that must be the same, all the way down.
export function same(what, seen, expected) {
  let isSame = true;
  try {
    assert.deepStrictEqual(seen, expected);
  } catch {
    isSame = false;
  }
  check(`${what} is ${shown(expected)}`, isSame, seen);
}

// A number that must be near another.
export function near(what, seen, expected, tolerance) {
  const isNear = Math.abs(seen - expected) <= tolerance;
  check(`${what} is ${expected} within ${tolerance}`, isNear, seen);
}

// Text that must contain other text, or match it.
export function says(what, seen, wanted) {
  const found = wanted instanceof RegExp ? wanted.test(seen ?? "") : (seen ?? "").includes(wanted);
  check(`${what} says ${wanted instanceof RegExp ? wanted : shown(wanted)}`, found, seen);
}

function shown(value) {
  const text = typeof value === "string" ? value : JSON.stringify(value, null, 1);
  return text?.length > 1200 ? `${text.slice(0, 1200)}…` : text;
}

// Runs what is tested to its end and says how it went. Fails where nothing was checked.
export async function test(name, run) {
  console.log(`${name}:`);
  try {
    await run();
  } catch (error) {
    check("it ran to its end", false, error.stack ?? String(error));
  }
  if (passed === 0) check("something was checked", false);
  console.log(`${passed} passed, ${faults.length} failed`);
  process.exitCode = faults.length ? 1 : 0;
}

// Runs checks that must fail, and gives what they said: for tests of the harness itself.
export async function faultsOf(run) {
  const before = faults.length;
  const checked = passed;
  areExpected = true;
  await run();
  areExpected = false;
  passed = checked;
  return faults.splice(before);
}
