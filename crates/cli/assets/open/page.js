// The page of `loosedepth open`: what is chosen, what the program answers, and where each is shown.

import { CLASSING, chosen, flag, onChange, setFlags, take, takeCommands } from "./choices.js";
import { showCommands, showTypeIn } from "./command.js";
import { forgetComparison, forgetOtherComparison, mayCompare, setUpCompare } from "./compare.js";
import { nameDays, visitInWords } from "./day.js";
import { setUpDrop } from "./drop.js";
import { byId, element, fill } from "./element.js";
import { showKept, setUpKept } from "./kept.js";
import { convertLimits, limitsInWords } from "./limit_units.js";
import { setUpLimits, showClasses, takeLimits } from "./limits.js";
import { offerMakes, setUpMakes, showJobs } from "./makes.js";
import { MapPane } from "./map_pane.js";
import { showMeasured } from "./measured.js";
import { clear, say } from "./message.js";
import { setUpMethod, showCheck } from "./method.js";
import { onDrawing, onPreview, onPreviewRefused, preview, previewAnew } from "./preview.js";
import { nameClasses, showRates } from "./rates.js";
import { showResults } from "./results.js";
import { Gone, get, onGone } from "./server.js";
import { saveLimits, setUpSettings, showSettings } from "./settings.js";
import { spotsFields } from "./spots.js";
import { setUpStrips } from "./strips.js";
import { trialFields } from "./trial.js";
import { setUpVisits, showVisits } from "./visits.js";
import { setUpZoneRules, showZones } from "./zone_rules.js";

/** Where a problem is told, by what was changed last. */
const MESSAGE_OF = {
  limits: "limits-message", zones: "zones-message", method: "method-message",
};
let state = null;
const system = () => state?.units ?? "us";
const map = new MapPane(byId("map"));

const showRules = setUpZoneRules(system);
const showMethod = setUpMethod(system);
const compare = setUpCompare({
  show: (view) => onMap() === "change" && map.showTwo(view),
  failed: () => onMap() === "change" && putOnMap("visit"),
  busy: (on) => map.busy(on),
});
const strips = setUpStrips({ system, show: showStrips, busy: (on) => map.busy(on) });
const spots = spotsFields(system);
const trial = trialFields();

const onMap = () => document.querySelector("input[name=on-the-map]:checked").value;

/** Puts something else on the map. */
function putOnMap(what) {
  byId(`show-${what}`).checked = true;
  byId("visit-row").hidden = what === "change";
  clear("map-message");
  map.clearParts();
  byId("map-key").hidden = true;
  showMapHeading();
  if (what === "change") compare();
  else if (state?.ready) previewAnew("visit");
  if (what === "strips") strips.draw();
}

function showStrips(parts) {
  if (onMap() !== "strips") {
    byId("show-strips").checked = true;
    if (map.shows !== "visit") previewAnew("visit");
  }
  map.showParts(parts);
  byId("map-key").hidden = parts.length === 0;
}

/** Takes what the program says of the folder. */
function takeState(next, isFirst = false) {
  const unitsBefore = state?.units;
  state = next;
  if (isFirst) take(next.choices);
  nameDays(next.visits);
  showKept(next);
  if (unitsBefore && unitsBefore !== next.units) convertChosen(unitsBefore, next.units);
  const name = next.field_name || next.folder_name;
  fill(byId("field-name"), name);
  document.title = `${name} – loosedepth`;
  fill(byId("folder"), next.folder);
  showNeeds(next);
  showFolder(next);
  for (const part of document.querySelectorAll(".with-map")) part.hidden = !next.ready;
  for (const part of document.querySelectorAll(".needs-map")) part.hidden = next.ready;
  document.documentElement.classList.toggle("not-ready", !next.ready);
  byId("makes").hidden = !next.ready;
  byId("on-the-map").hidden = !next.ready;
  byId("show-change").disabled = next.visits.length < 2;
  byId("map-empty").hidden = next.ready;
  byId("map").hidden = !next.ready;
  if (next.problem) say("files-message", next.problem);
  showVisits(next.visits);
  showSettings(next.needs?.length === 2 ? null : next.settings, next.units, next.folder);
  takeLimits(next.settings, next.units);
  showRules();
  showMethod();
  strips.refresh();
  spots.refresh();
  trial.refresh(next.offered?.trial?.areas);
  showResults(next.results, next.visits);
  offerMakes(next.commands);
  showJobs(next.jobs);
  showCommands();
  showTypeIn(next.type_in);
  takeCommands(next.commands);
  showMapHeading();
}

/** What the folder holds, in words. */
function showFolder({ visits, settings, needs = [] }) {
  const count = visits.length;
  const range = count > 1 ? `, ${visitInWords(visits[0])} to ${visitInWords(visits.at(-1))}` : count === 1 ? `, ${visitInWords(visits[0])}` : "";
  const parts = [
    !needs.includes("boundary") && "the outline",
    count > 0 && `${count} ${count === 1 ? "visit" : "visits"}${range}`,
    ...["strata", "rates", "weather"].map((key) => settings?.[key] && key),
  ].filter(Boolean);
  fill(byId("in-folder"), parts.length > 0 ? `In the folder: ${parts.join("; ")}.` : "");
}

function showNeeds({ needs = [], ready }) {
  const words = { boundary: "the outline of the field", visit: "a survey", settings: "its settings" };
  byId("needs").hidden = ready || needs.length === 0;
  fill(byId("needs"), needs.length > 0 && `Still missing: ${needs.map((one) => words[one] ?? one).join(" and ")}.`);
  if (needs.length > 0) {
    fill(byId("map-empty"), `No map yet. It needs ${needs.map((one) => words[one] ?? one).join(" and ")}.`);
  }
}

/** Limits that were chosen in other units become round ones of these. */
function convertChosen(from, to) {
  const given = flag("map", "classes");
  if (!given) return;
  const before = given.split(",").map(Number);
  const after = convertLimits(before, from, to);
  setFlags(CLASSING, { classes: after.join(",") }, "limits");
  fill(byId("limits-said"), element("p", {}, converted(before, from, after, to)));
}

const converted = (before, from, after, to) =>
  `The limits ${limitsInWords(before, from)} have become ${limitsInWords(after, to)}: round ones near the old.`;

function showMapHeading() {
  const { visit, earlier, later } = chosen();
  const [one, first, second] = [visit, earlier, later].map((day) => state?.visits.find((each) => each.day === day));
  const isTwo = onMap() === "change" && first && second;
  const words = isTwo ? `${visitInWords(first)} and ${visitInWords(second)}` : one && visitInWords(one);
  fill(byId("map-heading"), words ? `Map of ${words}` : "Map");
  for (const place of document.querySelectorAll(".of-visit")) {
    place.hidden = !isTwo;
    fill(place, isTwo && one ? `Of the visit of ${visitInWords(one)}; the map shows two visits.` : "");
  }
}

async function reread() {
  takeState(await get("api/state"));
}

/** After a command has ended; check strips rest on the zones of a map's files. */
async function afterMake(job, name) {
  await reread();
  if (name !== "map" || !job.files?.length) return;
  forgetStrips();
  if (onMap() === "strips") strips.draw();
}

/** After the settings or the folder have changed. */
async function afterSettings(next, { units, limits } = {}) {
  if (units) byId("limits-said").replaceChildren();
  takeState(next);
  if (limits) {
    byId("limits-said").append(element("p", {}, `In loosedepth.toml: ${converted(limits.before, units.before, limits.after, units.after)}`));
  }
  forgetDrawn();
  if (next.ready) previewAnew("visit");
}

/** Takes away a comparison and check strips, since what they rest on has changed; what is on the map is made anew. */
function forgetDrawn() {
  forgetComparison();
  forgetStrips();
  if (!state?.ready) return;
  if (onMap() === "change") compare();
  if (onMap() === "strips") strips.draw();
}

function forgetStrips() {
  strips.forget();
  map.clearParts();
  byId("map-key").hidden = true;
}

setUpKept();
setUpVisits();
setUpLimits(async (limits) => {
  clear("limits-message");
  try {
    const next = await saveLimits(limits);
    setFlags(CLASSING, { classes: null }, "limits");
    takeState(next);
    previewAnew("limits");
  } catch (problem) {
    say("limits-message", problem);
  }
});
setUpSettings(afterSettings);
setUpDrop(async (taken) => {
  const wasReady = state?.ready;
  await reread();
  const visits = taken.filter(({ kind }) => kind === "visit");
  forgetDrawn();
  if (taken.some(({ kind }) => kind === "rates")) await showRates(state.folder);
  if (state.ready) previewAnew("visit");
  if (!wasReady && state.ready) await showRates(state.folder);
  if (visits.length > 0 && onMap() !== "visit") putOnMap("visit");
});
setUpMakes({ then: afterMake, fields: { spots: spots.box, trial: trial.box } });

for (const radio of document.querySelectorAll("input[name=on-the-map]")) {
  radio.addEventListener("change", () => putOnMap(radio.value));
}
byId("compare").addEventListener("click", () => mayCompare() && putOnMap("change"));
byId("strips").addEventListener("click", () => strips.mayDraw() && putOnMap("strips"));
addEventListener("rates-saved", () => {
  forgetStrips();
  if (onMap() === "strips") strips.draw();
});

onChange((from) => {
  showRules();
  showMethod();
  strips.refresh();
  spots.refresh();
  if (from === "others" && state) {
    const { visit, earlier, later } = chosen();
    const isKnown = (day) => !day || state.visits.some((one) => one.day === day);
    // Another window has taken in a visit.
    if (![visit, earlier, later].every(isKnown)) return void reread().then(() => previewAnew("visit"), () => {});
    takeLimits(state.settings, state.units);
    showVisits(state.visits);
    trial.refresh(state.offered?.trial?.areas);
  }
  showMapHeading();
  if (!state?.ready) return;
  const isOtherPair = forgetOtherComparison();
  const areOtherStrips = strips.forgetOther();
  if (areOtherStrips) {
    map.clearParts();
    byId("map-key").hidden = true;
  }
  if (onMap() === "change" && isOtherPair) compare();
  if (onMap() === "strips" && (areOtherStrips || from === "strips")) strips.draw();
  if (!["spots", "trial", "compare", "strips"].includes(from)) preview(from);
});

onPreview((answer) => {
  for (const id of ["map-message", "limits-message", "zones-message", "method-message"]) clear(id);
  const { classes, zones, unmapped_words: unmapped } = answer.zones;
  // While two visits are on the map only the words beside it are of this one.
  if (onMap() !== "change") {
    if (answer.view) map.show(answer.view);
    map.zones(answer.zones);
  }
  showClasses(classes, unmapped);
  showZones(zones, (zone) => map.goToZone(zone.id));
  showCheck(answer.check);
  showMeasured(answer, (finding) => map.goTo(finding.at, finding.point));
  nameClasses(classes.map(({ name }) => name));
  if (onMap() !== "change") redrawn(zones.length, answer.milliseconds);
});
onPreviewRefused((problem, from) => say(MESSAGE_OF[from] ?? "map-message", problem));
onDrawing((on) => map.busy(on));

let redrawnTimer = 0;

/** Says, once the hand rests, that the map is drawn. */
function redrawn(count, milliseconds) {
  clearTimeout(redrawnTimer);
  redrawnTimer = setTimeout(() => {
    const time = milliseconds >= 0 ? `, drawn in ${Math.round(milliseconds)} ms` : "";
    fill(byId("redrawn"), `${count} ${count === 1 ? "zone" : "zones"}${time}.`);
  }, 500);
}

onGone((gone) => {
  const words = "The program has stopped, so nothing is redrawn or saved now. Start loosedepth open again: the page then has a new address. What was saved is in the folder; what you typed here since, copy to the new page.";
  fill(byId("gone"), gone ? words : "");
  document.documentElement.classList.toggle("is-gone", gone);
  if (!gone && state) reread().catch(() => {});
});

async function start() {
  try {
    takeState(await get("api/state"), true);
  } catch (problem) {
    if (!(problem instanceof Gone)) say("map-message", problem);
    return;
  }
  if (!state.ready) return;
  preview("visit");
  await showRates(state.folder);
}

start();
