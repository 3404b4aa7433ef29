// What is so for the whole recording: asked at the start, and changed later.

const setupFields = ["operator", "instrument", "cone", "threshold", "rod", "marks", "pushes", "letters"];

// More marks than this are no marks of a hand rod, and their buttons would be too many.
const MOST_MARKS = 40;

function firstSetup() {
  return {
    operator: "",
    instrument: "",
    cone: "",
    units: DATA.units,
    threshold: DATA.threshold,
    rod: DATA.rod,
    marks: DATA.marks,
    pushes: DATA.pushes,
    letters: "A",
  };
}

// The same in the other units: a threshold is converted, a rod has other marks.
function inUnits(setup, units) {
  if (units === DATA.units) {
    const { threshold, rod, marks } = DATA;
    return { ...setup, units, threshold, rod, marks };
  }
  const factor = units === "si" ? KPA_PER_PSI : 1 / KPA_PER_PSI;
  const { rod, marks } = UNITS[units];
  return { ...setup, units, threshold: Math.round(DATA.threshold * factor), rod, marks };
}

function showSetup(setup, isLocked) {
  for (const name of setupFields) element(name).value = setup[name] ?? "";
  if (setup.cone === null) element("cone").value = "unknown";
  for (const radio of document.querySelectorAll("[name=units]")) {
    radio.checked = radio.value === setup.units;
    radio.disabled = isLocked;
  }
  element("threshold").disabled = isLocked;
  element("locked-help").hidden = !isLocked;
  showUnits(setup.units);
}

function showUnits(units) {
  for (const span of document.querySelectorAll(".unit")) span.textContent = UNITS[units][span.dataset.of];
  element("tile").textContent = UNITS[units].tile;
}

function unitsChosen() {
  return document.querySelector("[name=units]:checked").value;
}

// What the form says: the set-up, or the first field that is wrong, with words.
function readSetup() {
  const units = unitsChosen();
  const text = (name) => element(name).value.trim();
  const number = (name) => numberOf(text(name));
  const setup = {
    operator: text("operator"),
    instrument: text("instrument"),
    cone: text("cone") === "unknown" ? null : Number(text("cone")),
    units,
    threshold: number("threshold"),
    rod: number("rod"),
    marks: number("marks"),
    pushes: number("pushes"),
    letters: text("letters"),
  };
  const { depth, pressure, thresholds, rods, steps } = UNITS[units];
  const isIn = (value, [least, most]) => value >= least && value <= most;
  const range = ([least, most], unit) => `is a number from ${least} to ${most}, in ${unit}`;
  const wrong = [
    ["cone", text("cone") === "", "Choose the cone, or say that you do not know it."],
    [
      "threshold",
      !isIn(setup.threshold, thresholds),
      `The threshold ${range(thresholds, pressure)}, without a comma between thousands.`,
    ],
    ["rod", !isIn(setup.rod, rods), `The length of the rod ${range(rods, depth)}.`],
    ["marks", !isIn(setup.marks, steps), `The step between marks ${range(steps, depth)}.`],
    ["marks", setup.marks > setup.rod, "The marks are farther apart than the rod is long."],
    ["marks", setup.rod / setup.marks > MOST_MARKS, `That makes more than ${MOST_MARKS} marks.`],
    ["pushes", !(Number.isInteger(setup.pushes) && setup.pushes > 0), "Insertions: 1, 2, 3 …"],
    ["letters", setup.letters === "", "Give the spots a letter to begin their names with."],
  ].find(([, isWrong]) => isWrong);
  return wrong ? { field: wrong[0], words: wrong[2] } : { setup };
}
