// Spots, told from the list of presses.

const PLANNED = new Map(DATA.spots.map(([id, lon, lat]) => [id, [lon, lat]]));

// Every spot that was pressed at, in order, by name: its insertions, whether it is complete, whether it
// was skipped, and its place. A spot has one place: the best fix taken there, or else the planned place.
function spotsOf({ presses, setup }) {
  const spots = new Map();
  for (const press of presses) {
    if (!spots.has(press.spot)) {
      spots.set(press.spot, { id: press.spot, insertions: [], isComplete: false, isSkipped: false });
    }
    const spot = spots.get(press.spot);
    if (press.what === "skipped") spot.isSkipped = true;
    if (press.what === "skipped" || press.what === "next") spot.isComplete = true;
    if (press.what !== "next") spot.insertions.push(press);
  }
  for (const spot of spots.values()) {
    // As many insertions as were wanted; more may follow.
    spot.isFull = spot.isSkipped || spot.insertions.length >= setup.pushes;
    Object.assign(spot, placeOf(spot));
  }
  return spots;
}

function placeOf({ id, insertions }) {
  const fixes = insertions.filter((press) => press.at);
  const best = fixes.reduce((a, b) => (a && a.accuracy <= b.accuracy ? a : b), null);
  return best
    ? { at: best.at, accuracy: best.accuracy, from: "receiver" }
    : { at: PLANNED.get(id) ?? null, accuracy: null, from: "plan" };
}

// Names of the planned spots that are not complete, in the order of the walk, from after the one that was
// pressed at last, and then from the start.
function openPlanned(recording, spots) {
  const ids = [...PLANNED.keys()];
  const last = recording.presses.filter((press) => PLANNED.has(press.spot)).at(-1);
  const from = last ? ids.indexOf(last.spot) + 1 : 0;
  const walk = [...ids.slice(from), ...ids.slice(0, from)];
  return walk.filter((id) => !isDone(spots.get(id)));
}

function isDone(spot) {
  return Boolean(spot) && (spot.isComplete || spot.isFull);
}

// The first name that no spot has: `A007`.
function freeName(recording, spots) {
  const { letters } = recording.setup;
  for (let number = 1; ; number += 1) {
    const id = letters + String(number).padStart(3, "0");
    if (!PLANNED.has(id) && !spots.has(id)) return id;
  }
}

// The spot that the next press belongs to.
function currentSpot(recording, spots) {
  const { chosen } = recording;
  if (chosen && !spots.get(chosen)?.isComplete) return chosen;
  const last = recording.presses.at(-1)?.spot;
  if (last && !spots.get(last).isComplete) return last;
  return followingSpot(recording, spots, null);
}

// The spot after one that is left.
function followingSpot(recording, spots, left) {
  const open = openPlanned(recording, spots).filter((id) => id !== left);
  if (open.length) return open[0];
  const named = left ? new Map(spots).set(left, null) : spots;
  return freeName(recording, named);
}
