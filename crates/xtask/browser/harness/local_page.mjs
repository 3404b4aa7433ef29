// A person at the local page.

import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { OUT, newPage, until } from "./browser.mjs";

// The page of a field, once it has drawn what it can.
export async function newLocalPage(context, address) {
  const { page, seen } = await newPage(context);
  await page.goto(address);
  const local = { page, seen };

  local.text = (id) => page.locator(`#${id}`).innerText();
  // Waits until a map is drawn and its zones are told.
  local.drawn = () =>
    until(page, () => {
      const canvas = document.querySelector("#map .map-stage canvas");
      const words = document.getElementById("redrawn").textContent;
      return canvas?.width > 0 && /\d+ zones?/.test(words) && !document.querySelector("#map[aria-busy]");
    });
  // Chooses a visit with other zones, and waits until the map is of it.
  local.chooseVisit = async (day) => {
    await local.redrawnBy(() => page.locator("#visit").selectOption(day));
    await local.drawn();
  };
  // The outlines of the zones on the map.
  local.zones = () =>
    page.evaluate(() =>
      [...document.querySelectorAll("#map .map-stage svg path")].map((path) => path.getAttribute("d")).join("|"),
    );
  // Does something, and waits until the zones on the map are others.
  local.redrawnBy = async (act) => {
    const before = await local.zones();
    await act();
    await until(
      page,
      (before) =>
        [...document.querySelectorAll("#map .map-stage svg path")]
          .map((path) => path.getAttribute("d"))
          .join("|") !== before,
      before,
    );
  };
  // Drops files on the page from the desktop, each a name and its text: the browser itself reads them.
  local.drop = async (files) => {
    const folder = mkdtempSync(join(tmpdir(), "loosedepth-dropped-"));
    const paths = files.map(([name, text]) => {
      writeFileSync(join(folder, name), text);
      return join(folder, name);
    });
    const debuggerOfPage = await page.context().newCDPSession(page);
    for (const type of ["dragEnter", "dragOver", "drop"]) {
      const data = { items: [], files: paths, dragOperationsMask: 1 };
      await debuggerOfPage.send("Input.dispatchDragEvent", { type, x: 600, y: 400, data });
    }
    await debuggerOfPage.detach();
    // The page sends what it has read before it says how that went.
    await until(page, () => !/^Reading /.test(document.getElementById("files-taken").textContent));
    rmSync(folder, { recursive: true });
  };
  // Makes files by a command, to its end; gives what the page says of it.
  local.make = async (name) => {
    await page.locator(`#make-${name}`).click();
    await until(
      page,
      (name) => {
        const job = document.getElementById(`job-${name}`);
        return !job.querySelector("progress") && /Done|Nothing was written|Stopped|Error/.test(job.textContent);
      },
      name,
    );
    return local.text(`job-${name}`);
  };
  // Downloads by a click; gives the name and the bytes.
  local.download = async (link) => {
    const download = page.waitForEvent("download");
    await link.click();
    const file = await download;
    const path = join(OUT, `download-${file.suggestedFilename()}`);
    await file.saveAs(path);
    return { name: file.suggestedFilename(), bytes: readFileSync(path) };
  };
  return local;
}
