// Counts checks and prints those that fail.

let passed = 0;
let failed = 0;
let place = "";

// Where the checks that follow are made.
export function at(where) {
  place = where;
}

export function check(what, isSo, found) {
  passed += isSo ? 1 : 0;
  failed += isSo ? 0 : 1;
  if (!isSo) console.log(`FAILED ${place}: ${what}; found ${JSON.stringify(found)?.slice(0, 300)}`);
}

export function near(what, found, expected, tolerance) {
  check(`${what} is ${expected} within ${tolerance}`, Math.abs(found - expected) <= tolerance, found);
}

// Says how it went, and ends with 1 when a check failed.
export function finish() {
  console.log(`${passed} passed, ${failed} failed`);
  process.exit(failed ? 1 : 0);
}
