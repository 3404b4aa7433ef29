// Files dropped on the page or chosen by a button.

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

async function give(files, after, replace = false) {
  clear("files-message");
  const names = files.map((file) => file.name).join(", ");
  fill(byId("files-taken"), element("p", {}, `Reading ${names} …`));
  try {
    const { taken } = await send(`api/files${replace ? "?replace=true" : ""}`, files);
    fill(byId("files-taken"), element("ul", { class: "taken" }, taken.map(takenItem)));
    await after(taken);
  } catch (problem) {
    byId("files-taken").replaceChildren();
    const again = problem.body?.exists &&
      element("p", { class: "buttons" },
        element("button", { type: "button", id: "files-replace", onclick: () => give(files, after, true) }, "Replace the file in the folder"));
    say("files-message", problem, again || null);
  }
}

const KINDS = {
  boundary: "outline of the field", visit: "visit", strata: "strata", rates: "rates", weather: "weather", archive: "archive of a season",
  settings: "settings", edits: "corrections", trial: "treated and check ground",
};

function takenItem({ name, kind, saved, words }) {
  return element("li", {},
    element("strong", {}, name), `: ${KINDS[kind] ?? kind}`, words ? `, ${words}` : "",
    saved ? element("span", { class: "hint" }, ` (kept as ${saved})`) : null);
}
