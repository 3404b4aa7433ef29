// Makes files: each is a command that the program runs, with its progress, its end and a way to stop it.

import { chosen } from "./choices.js";
import { commandPlace } from "./command.js";
import { textInWords } from "./day.js";
import { byId, element, fill, isOff, setOff } from "./element.js";
import { sentences } from "./message.js";
import { Gone, get, onGone, post } from "./server.js";

/** Commands that make files: name, button, and what they make. */
const MAKES = [
  ["map", "Make the map", "Picture, zones, raster and summary of the visit on the map."],
  ["plan", "Make the plan", "From the zones of the visit's map: operator's sheet, files for the tractor's terminal, shapefiles, GeoPackage."],
  ["compare", "Make the comparison", "Change between the two visits: picture, rasters, spots probed twice."],
  ["report", "Make the report", "One page that opens anywhere without network, for the grower."],
  ["season", "Make the season", "All visits: maps, medians, moisture, falls, tables, and the archive."],
  ["trial", "Make the trial", "Did the treatment work? Treated against check ground, between the two visits."],
  ["calendar", "Make the calendar", "Visits made and due, every 10 to 14 days."],
  ["spots", "Make the field sheet", "Where to probe next: GPX, GeoJSON, CSV and a sheet to print."],
  ["clean", "Make the clean copy", "The checked survey as GeoJSON, CSV and GeoPackage."],
  ["profile", "Make the profiles", "Cone index by depth, of surveys with profiles."],
];
const ENDS = {
  done: "Done.",
  done_with_findings: "Done; readings were left out or changed, see the findings.",
  failed: "Nothing was written.",
  stopped: "Stopped; nothing half written.",
};
/** The last job of each command that runs, for when the program comes back. */
const lastJob = new Map();
/** The job that is shown of each command. */
const shown = new Map();
/** Jobs that are followed now, by id. */
const followed = new Set();
let after = async () => {};
let fieldsOf = {};

/** Sets up a row for each command; `then` is called when a job has ended, `fields` are elements for some commands. */
export function setUpMakes({ then, fields = {} }) {
  after = then;
  fieldsOf = fields;
  fill(byId("makes"), MAKES.map(makeRow));
  onGone((gone) => {
    if (!gone) for (const [name, id] of lastJob) get(`api/jobs/${id}`).then((job) => follow(job, name), () => {});
  });
}


/** Shows the commands that the program has. */
export function offerMakes(commands) {
  for (const [name] of MAKES) byId(`make-${name}-part`).hidden = Boolean(commands) && !(name in commands);
}

/** Shows jobs that run or have lately ended. */
export function showJobs(jobs) {
  const latest = new Map((jobs ?? []).map((job) => [nameOf(job), job]));
  for (const [name, job] of latest) {
    if (name && shown.get(name) !== job.id) follow(job, name);
  }
}

/** The command of a job: the second word of what is typed. */
function nameOf(job) {
  const word = job.command?.split(/\s+/)[1];
  return MAKES.some(([name]) => name === word) ? word : null;
}

function makeRow([name, words, what]) {
  return element("div", { class: "make", role: "group", "aria-labelledby": `make-${name}`, id: `make-${name}-part` },
    element("p", { class: "make-head" },
      element("button", { type: "button", id: `make-${name}`, "aria-describedby": `make-${name}-what`, onclick: () => isOff(byId(`make-${name}`)) || run(name) }, words),
      element("span", { class: "hint", id: `make-${name}-what` }, what)),
    fieldsOf[name] ?? null,
    element("div", { id: `job-${name}`, class: "job" },
      element("div", { id: `job-${name}-said`, role: "status" }),
      element("div", { id: `job-${name}-more` })),
    commandPlace(name, "make-"));
}

async function run(name, replace = false) {
  const button = byId(`make-${name}`);
  if (byId(`job-${name}`).contains(document.activeElement)) button.focus();
  setOff(button, true);
  tell(name, element("p", {}, "Starting …"));
  fill(byId(`job-${name}-more`));
  try {
    const job = await post("api/run", { command: name, choices: chosen(), replace });
    await follow(job, name);
  } catch (problem) {
    tell(name, problem instanceof Gone ? [] : sentences(problem));
    setOff(button, false);
  }
}

/** Says how a job begins and ends; its steps and buttons are beside this, so that they are not read out one by one. */
const tell = (name, ...words) => fill(byId(`job-${name}-said`), ...words);

/** Asks for a job until it has ended. */
async function follow(job, name) {
  if (followed.has(job.id)) return;
  followed.add(job.id);
  shown.set(name, job.id);
  lastJob.set(name, job.id);
  let now = job;
  const wasRunning = now.state === "running";
  try {
    while (now.state === "running") {
      showRunning(now, name);
      await new Promise((done) => setTimeout(done, 300));
      now = await get(`api/jobs/${now.id}`);
    }
    setOff(byId(`make-${name}`), false);
    showEnd(now, name);
    lastJob.delete(name);
    if (wasRunning) await after(now, name);
  } catch (problem) {
    if (!(problem instanceof Gone)) {
      tell(name, sentences(problem));
      fill(byId(`job-${name}-more`));
    }
  } finally {
    followed.delete(job.id);
    setOff(byId(`make-${name}`), false);
  }
}

function showRunning(job, name) {
  const place = byId(`job-${name}-more`);
  setOff(byId(`make-${name}`), true);
  let bar = place.querySelector("progress");
  if (!bar) {
    const stop = element("button", { type: "button", id: `stop-${name}`, "aria-label": `Stop ${name}`,
      onclick: () => post(`api/jobs/${job.id}/stop`).catch(() => {}) }, "Stop");
    bar = element("progress", { "aria-label": `Progress of ${name}` });
    tell(name, element("p", {}, "Running."));
    fill(place, element("p", { class: "progress" }, bar, stop), element("p", { class: "doing" }));
  }
  if (job.of > 0) {
    bar.max = job.of;
    bar.value = job.step ?? 0;
  }
  const doing = place.querySelector(".doing");
  const words = job.of > 0 ? `Step ${job.step} of ${job.of}${job.doing ? `: ${textInWords(job.doing)}` : ""}` : textInWords(job.doing ?? "");
  if (doing.textContent !== words) doing.textContent = words;
}

function showEnd(job, name) {
  const place = byId(`job-${name}-more`);
  const had = place.contains(document.activeElement);
  const replace = element("p", { class: "buttons" },
    element("button", { type: "button", id: `replace-${name}`, onclick: () => run(name, true) }, "Replace them"));
  const isFailed = job.state === "failed";
  tell(name, isFailed ? problemLines(job.err) : element("p", {}, ENDS[job.state] ?? job.state));
  fill(place,
    isFailed && job.exists ? replace : null,
    files(job),
    said(job, isFailed, name));
  if (had) (byId(`replace-${name}`) ?? byId(`make-${name}`)).focus();
}

/** The terminal's error and why. */
function problemLines(err) {
  const lines = (err ?? "").split("\n").map((line) => line.trim()).filter(Boolean);
  const start = lines.findIndex((line) => line.startsWith("error:"));
  if (start < 0) return element("p", { class: "error" }, lines.at(-1) ?? "It failed and did not say why.");
  return lines.slice(start).map((line) => {
    const words = line.replace(/^error:\s*/, "");
    return words === line ? element("p", { class: "because" }, line) : element("p", { class: "error" }, element("strong", {}, "Error: "), words);
  });
}

function files(job) {
  if (!job.files?.length) return null;
  return element("p", {}, `${job.files.length} ${job.files.length === 1 ? "file" : "files"}: `,
    job.files.flatMap((path, k) => [k > 0 ? ", " : "", fileLink(path)]));
}

/** A link that downloads a file of the results. */
export function fileLink(path, words = path.split("/").pop()) {
  return element("a", { href: `api/results/${path.split("/").map(encodeURIComponent).join("/")}`, download: path.split("/").pop() }, words);
}

function said(job, isFailed, name) {
  const text = [job.out, isFailed ? "" : job.err].filter(Boolean).join("\n").trim();
  if (!text) return null;
  return element("details", {}, element("summary", {}, "What the command said"),
    element("pre", { tabindex: "0", role: "region", "aria-label": `What the command ${name} said` }, text));
}
