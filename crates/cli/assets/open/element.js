// Makes elements of the page.

/** An element with its attributes, listeners (`onclick`) and children; children that are null are left out. */
export function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

/** The element of this id. */
export const byId = (id) => document.getElementById(id);

/** Puts these children into an element in place of what it has. */
export function fill(parent, ...children) {
  parent.replaceChildren(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false));
}

/** A square of a class's colour; the colour says nothing that the words beside it do not. */
export function colourBlock(colour) {
  const made = element("span", { class: "class-colour", "aria-hidden": "true" });
  made.style.backgroundColor = colour;
  return made;
}

/** Says that a button does nothing now; it keeps the keyboard's place, which a disabled one would lose. */
export function setOff(button, off) {
  if (off) button.setAttribute("aria-disabled", "true");
  else button.removeAttribute("aria-disabled");
}

/** Whether a press of this button does nothing now. */
export const isOff = (button) => button.getAttribute("aria-disabled") === "true";
