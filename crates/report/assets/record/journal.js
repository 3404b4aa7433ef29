// The recording: a list of presses, kept in the browser's store. All else follows from the list.
// A press counts once it is in the store and has been read back; only then is it shown.

const STORE = "loosedepth recording ";
const DATA = JSON.parse(document.getElementById("page-data").textContent);
const KEY = STORE + DATA.key;

// A recording before its set-up.
function newRecording() {
  return {
    version: 1,
    field: DATA.field,
    setup: null,
    presses: [],
    // Presses taken back, in lists as they belong together, the last one last: they can be put back
    // until something else is pressed.
    undone: [],
    // Of a spot by its name: moisture and note.
    about: {},
    // A spot of the plan that the person goes to, out of turn.
    chosen: null,
    atPlannedPlace: false,
    // Whether a file has been saved since the last change.
    isSaved: false,
  };
}

// What is in the store under a key: a recording, or null. Throws where the store is refused, and where
// what is there cannot be read and cannot be set aside.
function stored(key) {
  const text = localStorage.getItem(key);
  if (text === null) return null;
  try {
    const recording = JSON.parse(text);
    if (recording.version === 1 && Array.isArray(recording.presses)) return recording;
  } catch {
    // Told below.
  }
  // Something else wrote there, or the text is cut. It is kept beside others of that kind, and can be
  // looked at.
  let aside = `${key} damaged`;
  for (let k = 2; localStorage.getItem(aside) !== null; k += 1) aside = `${key} damaged ${k}`;
  localStorage.setItem(aside, text);
  localStorage.removeItem(key);
  return null;
}

// Puts a recording into the store and reads it back. Throws where the store refuses or is full.
function store(recording) {
  const text = JSON.stringify(recording);
  localStorage.setItem(KEY, text);
  if (localStorage.getItem(KEY) !== text) throw new Error("the store does not give back what it took");
}

// Whether the store takes anything at all.
function storeWorks() {
  try {
    const probe = `${STORE}probe`;
    localStorage.setItem(probe, "kept");
    const isKept = localStorage.getItem(probe) === "kept";
    localStorage.removeItem(probe);
    return isKept;
  } catch {
    return false;
  }
}

// Recordings of other pages of this kind, and what is this page's own but cannot be read, by key.
function otherRecordings() {
  const keys = Array.from({ length: localStorage.length }, (_, k) => localStorage.key(k));
  return keys
    .filter((key) => key.startsWith(STORE))
    .sort()
    .map((key) => ({ key, recording: readable(localStorage.getItem(key)) }))
    .filter(({ key, recording }) => key !== KEY || !recording)
    .filter(({ recording }) => !recording || recording.presses.length > 0);
}

function readable(text) {
  try {
    const recording = JSON.parse(text);
    return recording.version === 1 && recording.setup ? recording : null;
  } catch {
    return null;
  }
}

// Day and time of day of a moment, as the person's clock shows them.
function dayAndTime(moment) {
  const two = (number) => String(number).padStart(2, "0");
  return {
    date: `${moment.getFullYear()}-${two(moment.getMonth() + 1)}-${two(moment.getDate())}`,
    time: `${two(moment.getHours())}:${two(moment.getMinutes())}:${two(moment.getSeconds())}`,
  };
}
