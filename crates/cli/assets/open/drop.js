// Files dropped on the page or chosen by a button.

import { textInWords } from "./day.js";
import { byId, element, fill } from "./element.js";
import { clear, say } from "./message.js";
import { send } from "./server.js";

/** Sets up dropping; `after` is called when files were taken. */
export function setUpDrop(after) {
  const input = byId("files-input");
  input.addEventListener("change", () => {
    const files = [...input.files];
    if (files.length > 0) give(files, after).finally(() => (input.value = ""));
  });
  let depth = 0;
  const isOver = (over) => document.body.classList.toggle("dropping", over);
  const hasFiles = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
  addEventListener("dragenter", (event) => hasFiles(event) && isOver((depth += 1) > 0));
  addEventListener("dragleave", (event) => hasFiles(event) && isOver((depth = Math.max(0, depth - 1)) > 0));
  addEventListener("dragover", (event) => hasFiles(event) && event.preventDefault());
  addEventListener("drop", (event) => {
    if (!hasFiles(event)) return;
    event.preventDefault();
    depth = 0;
    isOver(false);
    give([...event.dataTransfer.files], after);
  });
}

/** Sends files; `replace` are those of the folder that they may take the place of. */
async function give(files, after, replace = []) {
  clear("files-message");
  const names = files.map((file) => file.name).join(", ");
  fill(byId("files-taken"), element("p", {}, `Reading ${names} …`));
  try {
    const { taken } = await send(`api/files${query(replace)}`, files);
    const show = () => fill(byId("files-taken"), element("ul", { class: "taken" }, taken.map(takenItem)));
    show();
    await after(taken);
    show();
  } catch (problem) {
    byId("files-taken").replaceChildren();
    const exists = problem.body?.exists;
    say("files-message", problem, exists ? wayOut(files, after, replace, exists) : null);
  }
}

/** Names of files that may be replaced. */
const query = (replace) => (replace.length > 0 ? `?${replace.map((name) => `replace=${encodeURIComponent(name)}`).join("&")}` : "");

/** What can be done when files of the folder are in the way: each is named. */
function wayOut(files, after, replace, names) {
  const words = names.length > 1 ? `Replace these ${names.length} files in the folder` : "Replace the file in the folder";
  const press = (next) => () => {
    byId("files-input").focus();
    next();
  };
  return [
    element("ul", { class: "taken", id: "files-exist" }, names.map((name) => element("li", {}, element("strong", {}, name)))),
    element("p", { class: "buttons" },
      element("button", { type: "button", id: "files-replace",
        onclick: press(() => give(files, after, [...new Set([...replace, ...names])])) }, words),
      element("button", { type: "button", id: "files-leave", onclick: press(() => clear("files-message")) }, "Leave the folder as it is")),
  ];
}

const KINDS = {
  boundary: "outline of the field", visit: "visit", strata: "strata", rates: "rates", weather: "weather", archive: "archive of a season",
  settings: "settings", edits: "corrections", trial: "treated and check ground",
};

function takenItem({ name, kind, saved, words }) {
  return element("li", {},
    element("strong", {}, name), `: ${KINDS[kind] ?? kind}`, words ? `, ${textInWords(words)}` : "",
    saved ? element("span", { class: "hint" }, ` (kept as ${saved})`) : null);
}
