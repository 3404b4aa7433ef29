// The files in the folder of results.

import { dayInWords, visitInWords } from "./day.js";
import { byId, element, fill } from "./element.js";
import { fileLink } from "./makes.js";

/** Lists the files by their folders; those of a visit are named as the visit is. */
export function showResults(results, visits = []) {
  const folderInWords = (folder) => {
    const visit = visits.find(({ day }) => day === folder);
    const words = visit ? visitInWords(visit) : dayInWords(folder);
    return words === folder ? folder : `${words} (${folder})`;
  };
  const folders = new Map();
  for (const file of results ?? []) {
    const parts = file.path.split("/");
    const folder = parts.length > 1 ? parts[0] : "";
    folders.set(folder, [...(folders.get(folder) ?? []), { ...file, name: parts.slice(folder ? 1 : 0).join("/") }]);
  }
  byId("results-none").hidden = folders.size > 0;
  byId("all-files").hidden = folders.size === 0;
  const open = new Set([...byId("results").querySelectorAll("details")].filter((one) => one.open).map((one) => one.dataset.folder));
  fill(byId("results"), [...folders].map(([folder, files]) =>
    element("details", { open: open.has(folder) || folders.size === 1, "data-folder": folder },
      element("summary", {}, `${folder ? folderInWords(folder) : "Of the whole field"}: ${files.length} ${files.length === 1 ? "file" : "files"}`),
      element("ul", { class: "results" }, files.map((file) =>
        element("li", {}, fileLink(file.path, file.name), " ", element("span", { class: "hint" }, size(file.bytes))))))));
}

/** A size in bytes, kB or MB. */
function size(bytes) {
  if (bytes < 1000) return `${bytes} B`;
  return bytes < 1e6 ? `${Math.round(bytes / 1000)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;
}
