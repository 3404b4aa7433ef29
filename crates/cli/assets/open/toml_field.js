// A field of a form that stands for one key of a TOML file.

import { element, fill } from "./element.js";
import { Gone } from "./server.js";
import { sentences } from "./message.js";

/**
 * A row with a label, an input and a place for what the reader says of it.
 * `input` is the element; `read` gives its value for the file, or null for none.
 */
export function fieldRow({ id, label, hint, input, after = null }) {
  input.id = id;
  const said = element("div", { class: "message", id: `${id}-message`, role: "alert" });
  const about = [hint && `${id}-hint`, `${id}-message`].filter(Boolean).join(" ");
  input.setAttribute("aria-describedby", about);
  const isWide = ["SELECT", "TEXTAREA"].includes(input.tagName);
  const box = element("div", { class: isWide ? "field wide" : "field" },
    element("label", { for: id }, label),
    after ? element("span", { class: "with-unit" }, input, after) : input,
    hint && element("p", { class: "hint", id: `${id}-hint` }, hint),
    said);
  return { box, input, said };
}

/** Shows beside a field what the program refuses, or that it could not be asked. */
export function sayBeside({ input, said }, problem) {
  input.setAttribute("aria-invalid", "true");
  if (problem instanceof Gone) fill(said, element("p", { class: "error" }, "Not saved: the program does not answer. Copy what you typed to the page of the program when it is open again."));
  else fill(said, sentences(problem), element("p", { class: "because" }, "Not saved yet."));
}

/** Takes away what was said beside a field. */
export function hush({ input, said }) {
  input.removeAttribute("aria-invalid");
  said.replaceChildren();
}

/** A text input for a key. */
export function textInput(value, attributes = {}) {
  const input = element("input", { type: "text", autocomplete: "off", ...attributes });
  input.value = value ?? "";
  return input;
}

/** A number input for a key. */
export function numberInput(value, attributes = {}) {
  return textInput(value, { type: "number", step: "any", inputmode: "decimal", ...attributes });
}

/** A list to choose from; `options` are pairs of value and words. */
export function choiceInput(value, options, attributes = {}) {
  const input = element("select", attributes, options.map(([key, words]) => element("option", { value: key }, words)));
  input.value = value ?? options[0][0];
  return input;
}

/** What an input says: text, number or nothing. */
export function valueOf(input) {
  const typed = input.value.trim();
  if (typed === "") return null;
  if (input.type === "number") return Number.isFinite(Number(typed)) ? Number(typed) : typed;
  return typed;
}
