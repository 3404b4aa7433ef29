// The command that does the same when typed, with a button that copies it.

import { onCommands, typed } from "./choices.js";
import { element, fill } from "./element.js";

let typeIn = "";

/** Fills each place with `data-command` and keeps it up to date. */
export function showCommands() {
  for (const place of document.querySelectorAll("[data-command]")) {
    if (!place.firstChild) place.append(...parts(place.dataset.command, place.dataset.prefix ?? ""));
  }
  onCommands(refresh);
  refresh(typed());
}

/** Says in which folder the commands are typed. */
export function showTypeIn(path) {
  typeIn = path ?? "";
  refresh(typed());
}

/** A place for the command of this name; `prefix` tells it from another of the same command. */
export const commandPlace = (name, prefix) => element("div", { class: "typed", "data-command": name, "data-prefix": prefix });

function parts(name, prefix) {
  const code = element("code", { id: `${prefix}command-${name}`, class: "command", tabindex: "0", role: "group", "aria-label": `The command ${name}, typed` });
  const said = element("span", { class: "copied", role: "status" });
  const copy = async () => {
    fill(said, (await copied(code)) ? "Copied." : "Marked: copy it with Ctrl+C or ⌘C.");
    setTimeout(() => said.replaceChildren(), 4000);
  };
  return [
    element("details", {},
      element("summary", {}, "The same, typed"),
      element("p", { class: "hint type-in" }, "Typed in ", element("span", { class: "path" })),
      element("p", { class: "command-row" }, code),
      element("p", { class: "buttons" },
        element("button", { type: "button", id: `${prefix}copy-${name}`, "aria-label": `Copy the command ${name}`, onclick: copy }, "Copy"),
        said)),
  ];
}

async function copied(code) {
  try {
    await navigator.clipboard.writeText(code.textContent);
    return true;
  } catch {
    getSelection().selectAllChildren(code);
    return false;
  }
}

function refresh(commands) {
  for (const place of document.querySelectorAll("[data-command]")) {
    const text = commands[place.dataset.command];
    place.hidden = !text;
    const code = place.querySelector("code");
    if (code && text) code.textContent = text;
    const at = place.querySelector(".type-in");
    if (at) {
      at.hidden = !typeIn;
      at.querySelector(".path").textContent = typeIn;
    }
  }
}
