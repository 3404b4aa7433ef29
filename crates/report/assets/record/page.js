// The page: what is shown, and what a press does.

// Two presses of one finger come closer than a rod can be pushed twice.
const TOO_QUICK_MS = 700;
// How far a person moves about one spot, beside what the receiver errs.
const STEPS_M = 5;
// What a phone errs by in poor reception is 7 to 13 m (Merry and Bettinger 2019): the limit where no
// distance between spots is known yet.
const POOR_M = 13;

let recording = newRecording();
let isSettingUp = true;
let lastPressMs = -Infinity;
let answer = () => {};

function element(id) {
  return document.getElementById(id);
}

// Changes a text only where it differs, so that a reader of the screen is left in peace.
function write(id, text) {
  if (element(id).textContent !== text) element(id).textContent = text;
}

function say(words) {
  element("alert").hidden = true;
  write("said", words);
}

function warn(words) {
  write("said", "");
  write("alert", words);
  element("alert").hidden = false;
}

// Stores the recording as `alter` leaves it, and only then shows it. Another window of this page may have
// stored presses since, so those are read first.
function change(alter, words) {
  const next = structuredClone(latest());
  next.isSaved = false;
  alter(next);
  try {
    store(next);
  } catch {
    warn(
      "NOT KEPT. This browser's store is full or refused, so the last press is lost and nothing more can be recorded. What is listed below is safe: save the file now, then make room.",
    );
    return false;
  }
  recording = next;
  say(words ?? "");
  show();
  return true;
}

function latest() {
  try {
    return stored(KEY) ?? recording;
  } catch {
    return recording;
  }
}

// --- Presses

// An insertion that ended at a depth, or why it gave none.
function press(what, depth) {
  const now = Date.now();
  if (now >= lastPressMs && now - lastPressMs < TOO_QUICK_MS) {
    warn("Not recorded: too soon after the last press.");
    return;
  }
  recording = latest();
  const spots = spotsOf(recording);
  const id = currentSpot(recording, spots);
  const usesPlan = PLANNED.has(id) && (recording.atPlannedPlace || what === "skipped");
  const because = usesPlan ? null : noFixBecause();
  if (because) {
    warn(`Not recorded. ${because}`);
    return;
  }
  lastPressMs = now;
  const fix = usesPlan ? null : receiver.fix;
  const spot = spots.get(id);
  const moved = fix && spot?.accuracy != null ? distanceBetween(fix.at, spot.at) : 0;
  const hasLeft = fix && moved > fix.accuracy + (spot?.accuracy ?? 0) + STEPS_M;
  const keep = (isNew) => keepPress(what, depth, isNew ? followingSpot(recording, spots, id) : id, isNew && id, fix);
  if (!spot?.insertions.length || (!hasLeft && !spot.isFull)) {
    keep(false);
  } else if (hasLeft && spot.isFull) {
    keep(true);
  } else {
    const { units } = recording.setup;
    const following = followingSpot(recording, spots, id);
    ask({
      title: `Is this still ${id}?`,
      words: hasLeft
        ? `You are ${distanceWords(moved, units)} from where you recorded it.`
        : `${id} has its ${countWords(spot.insertions.length, "insertion")}.`,
      yes: `No: it is ${following}`,
      no: `Yes: one more at ${id}`,
      onYes: () => keep(true),
      onNo: () => keep(false),
    });
  }
}

function keepPress(what, depth, id, left, fix) {
  const { date, time } = dayAndTime(new Date());
  const { operator, instrument, cone } = recording.setup;
  const made = {
    what,
    spot: id,
    date,
    // A spot that is passed over may be far from where the person is.
    time: what === "skipped" ? null : time,
    at: fix?.at ?? null,
    accuracy: fix?.accuracy ?? null,
    operator: operator || null,
    instrument: instrument || null,
    cone,
  };
  if (depth !== undefined) made.depth = depth;
  if (left) made.with = true;
  const count = (spotsOf(recording).get(id)?.insertions.length ?? 0) + 1;
  const number = what === "skipped" ? "" : `, insertion ${count} of ${recording.setup.pushes}`;
  const isKept = change((next) => {
    if (left) next.presses.push({ what: "next", spot: left });
    next.presses.push(made);
    next.undone = [];
    if (next.chosen !== id) next.chosen = null;
  }, `Kept: ${pressWords(made, recording.setup)} at ${id}${number}.${farFromPlan(id, fix)}`);
  const isStill = matchMedia("(prefers-reduced-motion: reduce)").matches;
  if (isKept && !isStill) navigator.vibrate?.(60);
}

function farFromPlan(id, fix) {
  if (!fix || !PLANNED.has(id)) return "";
  const away = distanceBetween(fix.at, PLANNED.get(id));
  if (away <= fix.accuracy + (DATA.spacing_m ?? 2 * STEPS_M) / 2) return "";
  const far = distanceWords(away, recording.setup.units);
  return ` You are ${far} from its planned place; the reading keeps where you are.`;
}

function nextSpot() {
  recording = latest();
  const spots = spotsOf(recording);
  const id = currentSpot(recording, spots);
  if (spots.get(id)?.insertions.length) {
    change((next) => {
      next.presses.push({ what: "next", spot: id });
      next.undone = [];
      next.chosen = null;
    }, `${id} is complete.`);
  } else if (PLANNED.has(id) && openPlanned(recording, spots).length > 1) {
    const ids = [...PLANNED.keys()].filter((other) => !isDone(spots.get(other)));
    const following = ids[(ids.indexOf(id) + 1) % ids.length];
    change((next) => (next.chosen = following), `${id} stays open.`);
  } else {
    warn(`Nothing is recorded at ${id} yet.`);
  }
}

function undo() {
  if (!latest().presses.length) return;
  const words = `Taken back: ${pressesWords(lastPresses(latest()))}.`;
  change((next) => {
    const taken = next.presses.splice(-lastPresses(next).length);
    next.undone.push(taken);
    next.chosen = taken[0].spot;
  }, words);
}

function putBack() {
  const taken = latest().undone.at(-1);
  if (!taken) return;
  change((next) => {
    next.presses.push(...next.undone.pop());
    next.chosen = null;
  }, `Put back: ${pressesWords(taken)}.`);
}

// The press that was made last, and before it one that was made with it.
function lastPresses({ presses }) {
  return presses.slice(presses.at(-1)?.with ? -2 : -1);
}

function pressesWords(presses) {
  const last = presses.at(-1);
  const what = last.what === "next" ? "“Next spot”" : pressWords(last, recording.setup);
  return `${what} at ${last.spot}`;
}

// --- What is shown

function show() {
  isSettingUp = isSettingUp || !recording.setup;
  element("setup").hidden = !isSettingUp;
  element("record").hidden = isSettingUp;
  showTally();
  if (isSettingUp) {
    showOthers();
    return;
  }
  const spots = spotsOf(recording);
  const id = currentSpot(recording, spots);
  const spot = spots.get(id);
  showSpot(id, spot);
  showDepths(spot);
  showTaken();
  showAbout(id);
  showWalk(spots, id);
  showList(spots);
  showFile();
  showPosition();
}

function countWords(count, word) {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}

function showTally() {
  const insertions = recording.presses.filter((press) => press.date && press.what !== "skipped").length;
  if (!recording.presses.length) {
    write("tally", "Nothing recorded yet");
    return;
  }
  const spots = [...spotsOf(recording).values()].filter((spot) => spot.insertions.length);
  const saved = recording.isSaved ? "all in a saved file" : "not yet in a file";
  const many = PLANNED.size ? `${spots.length} of ${PLANNED.size} spots` : countWords(spots.length, "spot");
  write("tally", `${many}, ${countWords(insertions, "insertion")}; ${saved}`);
}

function showSpot(id, spot) {
  const count = spot?.insertions.length ?? 0;
  const { pushes } = recording.setup;
  const words = spot?.isFull ? `${count} done` : `${count + 1} of ${pushes}`;
  write("spot-title", `Spot ${id}: ${words}`);
  const said = spot?.insertions.map((press) => pressWords(press, recording.setup)).join(", ");
  write("here", said ? `Here: ${said}` : "Nothing recorded here yet");
  element("next").classList.toggle("main", Boolean(spot?.isFull));
}

function showDepths(spot) {
  const { setup } = recording;
  const { depth, pressure } = UNITS[setup.units];
  write("depths-title", `Depth where the gauge first shows ${setup.threshold} ${pressure}`);
  const marks = marksOf(setup);
  const grid = element("marks-grid");
  const shown = `${marks.join(" ")} ${depth}`;
  if (grid.dataset.shown !== shown) {
    grid.dataset.shown = shown;
    grid.replaceChildren(...marks.map((mark) => depthButton(mark, depth)), element("not-reached"));
    // It takes what the marks leave of their last row.
    element("not-reached").dataset.left = String(3 - (marks.length % 3));
  }
  write("not-reached", `Not reached: ≥\u00a0${setup.rod}\u00a0${depth}`);
  element("skip").hidden = Boolean(spot?.insertions.length);
}

function depthButton(mark, unit) {
  const button = document.createElement("button");
  button.type = "button";
  const small = document.createElement("small");
  small.textContent = ` ${unit}`;
  button.append(String(mark), small);
  button.addEventListener("click", () => press("reached", mark));
  return button;
}

function showTaken() {
  const { presses, undone } = recording;
  const taken = undone.at(-1);
  write("undo", presses.length ? `Undo ${pressesWords(lastPresses(recording))}` : "Nothing to undo");
  element("undo").setAttribute("aria-disabled", String(!presses.length));
  element("put-back").hidden = !taken;
  if (taken) write("put-back", `Put back ${pressesWords(taken)}`);
}

function showAbout(id) {
  const about = recording.about[id] ?? {};
  write("about-title", `About spot ${id}`);
  for (const [field, value] of [["moisture", about.moisture], ["note", about.note]]) {
    const input = element(field);
    // What is being typed stays as it is.
    if (document.activeElement === input && input.dataset.spot === id) continue;
    input.dataset.spot = id;
    input.value = value ?? "";
    input.setAttribute("aria-invalid", "false");
    if (field === "moisture") write("moisture-fault", "");
  }
}

function showWalk(spots, id) {
  element("planned").hidden = !PLANNED.size;
  element("walk").hidden = !PLANNED.size && !spots.size && !DATA.outline.length;
  drawSketch(element("sketch"), recording, spots, id, receiver.fix);
  const done = [...PLANNED.keys()].filter((planned) => isDone(spots.get(planned))).length;
  const walked = PLANNED.size ? `${done} of ${PLANNED.size} planned spots done. ` : "";
  write("sketch-words", `Sketch of the field, north up. ${walked}The next press is for ${id}.`);
  write("sketch-key", "Filled: done. Open: to do. Cross: skipped. Ring: this spot. Diamond: you.");
  if (!PLANNED.size) return;
  const open = openPlanned(recording, spots);
  const choices = [...new Set([id, ...open, freeName(recording, spots)])];
  const select = element("choose");
  const shown = `${choices.join(" ")} ${id}`;
  if (select.dataset.shown !== shown) {
    select.dataset.shown = shown;
    select.replaceChildren(
      ...choices.map((choice) => new Option(PLANNED.has(choice) ? choice : `${choice}, off the plan`, choice)),
    );
  }
  select.value = id;
  element("planned-place").checked = recording.atPlannedPlace;
}

function showList(spots) {
  const items = [...spots.values()].filter((spot) => spot.insertions.length).reverse();
  element("list").replaceChildren(
    ...items.map((spot) => {
      const item = document.createElement("li");
      const name = document.createElement("strong");
      name.textContent = spot.id;
      const about = recording.about[spot.id] ?? {};
      const words = [
        spot.insertions.map((press) => pressWords(press, recording.setup)).join(", "),
        spot.accuracy === null ? "planned place" : `± ${distanceWords(spot.accuracy, recording.setup.units)}`,
        about.moisture === undefined ? null : `moisture ${about.moisture} %`,
        about.note || null,
      ];
      item.append(name, ` ${words.filter(Boolean).join("; ")}`);
      return item;
    }),
  );
  if (!items.length) {
    const item = document.createElement("li");
    item.textContent = "Nothing yet";
    element("list").append(item);
  }
}

function showFile() {
  const hasAny = recording.presses.some((press) => press.date);
  const state = recording.isSaved ? "Everything recorded is in the file saved last." : "There are readings that are in no saved file.";
  write("file-state", hasAny ? state : "Nothing to save yet.");
  for (const id of ["save", "finish"]) element(id).setAttribute("aria-disabled", String(!hasAny));
  element("share").hidden = !hasAny || !sharable(recording);
  if (element("as-text").open) element("text").value = hasAny ? surveyText(recording) : "";
}

// Every second, and with every fix. One line above the buttons, so that they stay where they are; what it
// means stands below them.
function showPosition() {
  if (isSettingUp) return;
  const { units } = recording.setup;
  const spots = spotsOf(recording);
  const id = currentSpot(recording, spots);
  const usesPlan = recording.atPlannedPlace && PLANNED.has(id);
  const { fix } = receiver;
  const because = noFixBecause();
  const warning = usesPlan ? "" : (because ?? poorWords(fix, spots, units));
  write("position", usesPlan ? "Position: the planned place" : positionWords(fix, because, warning, units));
  element("position").dataset.trusted = warning ? "no" : "yes";
  element("position-warning").hidden = !warning;
  write("position-warning", warning);
  element("way").hidden = !PLANNED.has(id);
  write("way", PLANNED.has(id) ? wayWords(id, fix, because, units) : "");
}

function positionWords(fix, because, warning, units) {
  if (!fix) return "No position";
  if (because) return `Position ${ageWords(ageMs())} old: too old`;
  const words = `Position ± ${distanceWords(fix.accuracy, units)}, ${ageWords(ageMs())} old`;
  return warning ? `${words}: poor` : words;
}

function poorWords(fix, spots, units) {
  const places = [...spots.values()].filter((spot) => spot.at).map((spot) => spot.at);
  const spacing = DATA.spacing_m ?? spacingOf(places);
  const limit = spacing === null ? POOR_M : spacing / 2;
  if (fix.accuracy <= limit) return "";
  const half = spacing === null ? "" : `, half the distance between spots`;
  return `Poor position: off by more than ${distanceWords(limit, units)}${half}. Wait for a better one where the sky is open; a reading taken now may belong elsewhere.`;
}

function wayWords(id, fix, because, units) {
  if (!fix || because) return "The way is not known without a position";
  const to = PLANNED.get(id);
  const far = distanceBetween(fix.at, to);
  if (far <= Math.max(fix.accuracy, 3)) return "You are there, as far as the receiver can tell";
  return `Go ${distanceWords(far, units)} ${bearingWords(bearingBetween(fix.at, to))}`;
}

// --- Questions

function ask({ title, words, yes, no, onYes, onNo = () => {} }) {
  for (const [id, text] of [["ask-title", title], ["ask-words", words], ["ask-yes", yes], ["ask-no", no]]) {
    write(id, text);
  }
  answer = (isYes) => (isYes ? onYes : onNo)();
  element("ask").showModal();
}

function answered(isYes) {
  const then = answer;
  answer = () => {};
  element("ask").close();
  then(isYes);
}

// --- The file

function save() {
  recording = latest();
  if (!recording.presses.some((press) => press.date)) {
    warn("Nothing to save yet.");
    return;
  }
  const text = surveyText(recording);
  saveText(text, fileName(recording));
  markSaved(text, `Saved as ${fileName(recording)}, among the downloads.`);
}

// Only what the text of a file holds is saved: another window may have recorded more in the meantime.
function markSaved(text, words) {
  const now = latest();
  recording = { ...now, isSaved: surveyText(now) === text };
  try {
    store(recording);
  } catch {
    // The file is what counts; the store was told of when it failed.
  }
  say(recording.isSaved ? words : `${words} What was recorded since is not in it.`);
  show();
}

async function share() {
  const shared = latest();
  const file = sharable(shared);
  if (!file) return;
  try {
    await navigator.share({ files: [file], title: file.name });
    markSaved(surveyText(shared), "Sent.");
  } catch (error) {
    if (error.name !== "AbortError") warn("The file could not be sent. Save it instead.");
  }
}

function finish() {
  recording = latest();
  if (!recording.presses.length) return;
  const asked = JSON.stringify(recording.presses);
  const count = recording.presses.filter((press) => press.date).length;
  ask({
    title: `Delete ${countWords(count, "record")} from this device?`,
    words: recording.isSaved
      ? "All of them are in the file saved last."
      : "Some of them are in no saved file. Keep them, and save the file first.",
    yes: "Keep them",
    no: `Delete ${countWords(count, "record")}`,
    onYes: () => say("Nothing was deleted."),
    onNo: () => {
      recording = latest();
      if (JSON.stringify(recording.presses) !== asked) {
        show();
        warn("Nothing was deleted: another window of this page has recorded since. Look, and ask again.");
        return;
      }
      const { setup } = recording;
      localStorage.removeItem(KEY);
      recording = { ...newRecording() };
      isSettingUp = true;
      showSetup(setup, false);
      show();
      warn("Deleted. A new recording can begin.");
      element("setup-title").focus();
    },
  });
}

function showOthers() {
  const others = otherRecordings();
  element("others").hidden = !others.length;
  element("other-list").replaceChildren(
    ...others.map(({ key, recording: other }) => {
      const item = document.createElement("li");
      const count = other?.presses.filter((press) => press.date).length;
      const words = other
        ? `${other.field ?? "Survey"}, ${firstDay(other)}: ${countWords(count, "record")}`
        : "A recording that cannot be read";
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = "Save its file";
      button.setAttribute("aria-label", `Save its file: ${words}`);
      button.addEventListener("click", () => {
        if (other) saveText(surveyText(other), fileName(other));
        else saveText(localStorage.getItem(key) ?? "", "recording.txt");
      });
      const drop = document.createElement("button");
      drop.type = "button";
      drop.textContent = "Delete it";
      drop.setAttribute("aria-label", `Delete it: ${words}`);
      drop.addEventListener("click", () =>
        ask({
          title: "Delete it from this device?",
          words,
          yes: "Keep it",
          no: "Delete it",
          onYes: () => {},
          onNo: () => {
            localStorage.removeItem(key);
            showOthers();
          },
        }),
      );
      item.append(words, button, drop);
      return item;
    }),
  );
}

// --- The start

function startRecording(event) {
  event.preventDefault();
  for (const name of setupFields) element(name).removeAttribute("aria-invalid");
  const { setup, field, words } = readSetup();
  if (!setup) {
    element(field).setAttribute("aria-invalid", "true");
    warn(words);
    element(field).focus();
    return;
  }
  const isNew = !recording.setup;
  isSettingUp = false;
  if (!change((next) => (next.setup = setup))) {
    isSettingUp = true;
    show();
    return;
  }
  if (isNew) navigator.storage?.persist?.();
  listen(positionChanged);
  window.scrollTo(0, 0);
  element("spot-title").focus();
}

function changeSetup() {
  isSettingUp = true;
  showSetup(recording.setup, recording.presses.length > 0);
  write("start", "Go on recording");
  show();
  window.scrollTo(0, 0);
  element("setup-title").focus();
}

function positionChanged() {
  if (isSettingUp) return;
  showPosition();
  const spots = spotsOf(recording);
  drawSketch(element("sketch"), recording, spots, currentSpot(recording, spots), receiver.fix);
}

function aboutTyped(field, value) {
  const id = element(field).dataset.spot;
  change((next) => {
    const about = { ...next.about[id], [field]: value };
    if (value === undefined || value === "") delete about[field];
    next.about[id] = about;
  });
}

function moistureTyped() {
  const text = element("moisture").value;
  const number = numberOf(text);
  const isWrong = text.trim() !== "" && !(number >= 0 && number <= 100);
  element("moisture").setAttribute("aria-invalid", String(isWrong));
  write("moisture-fault", isWrong ? "Not kept: moisture is a number from 0 to 100, in percent." : "");
  if (!isWrong) aboutTyped("moisture", text.trim() === "" ? undefined : number);
}

function begin() {
  const on = (id, kind, act) => element(id).addEventListener(kind, act);
  on("setup-form", "submit", startRecording);
  for (const radio of document.querySelectorAll("[name=units]")) {
    radio.addEventListener("change", () => {
      const { threshold, rod, marks } = inUnits(firstSetup(), unitsChosen());
      for (const [id, value] of Object.entries({ threshold, rod, marks })) element(id).value = value;
      showUnits(unitsChosen());
    });
  }
  on("not-reached", "click", () => press("not_reached", recording.setup.rod));
  on("stone", "click", () => press("stone"));
  on("skip", "click", () => press("skipped"));
  on("undo", "click", undo);
  on("put-back", "click", putBack);
  on("next", "click", nextSpot);
  on("moisture", "input", moistureTyped);
  on("note", "input", () => aboutTyped("note", element("note").value.trim()));
  on("choose", "change", () => change((next) => (next.chosen = element("choose").value)));
  on("planned-place", "change", () => change((next) => (next.atPlannedPlace = element("planned-place").checked)));
  on("save", "click", save);
  on("share", "click", share);
  on("as-text", "toggle", showFile);
  on("change-setup", "click", changeSetup);
  on("finish", "click", finish);
  on("alert", "click", () => (element("alert").hidden = true));
  on("ask-yes", "click", () => answered(true));
  on("ask-no", "click", () => answered(false));
  // Closed by the key Escape: neither answer.
  on("ask", "cancel", () => (answer = () => {}));
  window.addEventListener("storage", () => {
    recording = latest();
    show();
  });
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden && !isSettingUp) listen(positionChanged);
  });
  setInterval(showPosition, 1000);

  if (!storeWorks()) {
    showSetup(firstSetup(), false);
    element("setup").hidden = false;
    element("start").disabled = true;
    warn(
      "This browser keeps nothing for this page: a private window, or its store is switched off or full. A recording would be lost, so none can begin. Open the page in an ordinary window, or make room.",
    );
    return;
  }
  try {
    recording = stored(KEY) ?? newRecording();
  } catch {
    showSetup(firstSetup(), false);
    element("setup").hidden = false;
    element("start").disabled = true;
    showOthers();
    warn(
      "What this browser keeps for this page cannot be read, and there is no room to set it aside. Save its file and delete it in the list below, or make room; then load the page again.",
    );
    return;
  }
  isSettingUp = !recording.setup;
  showSetup(recording.setup ?? firstSetup(), recording.presses.length > 0);
  show();
  if (!isSettingUp) listen(positionChanged);
}

begin();
