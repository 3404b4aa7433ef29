// A person with a phone and a recording page.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import { OUT, PHONE, newContext, newPage, until } from "./browser.mjs";
import { check } from "./checks.mjs";

// Where the examples of the page lie.
export const PAGES = process.env.RECORD_PAGES;

// The page on a phone at nine o'clock of an April morning, with a position.
export async function newRecorder(browser, address, options = {}) {
  const { position = null, ...rest } = options;
  const context = await newContext(browser, { ...PHONE, ...rest });
  const { page, seen } = await newPage(context);
  let now = Date.parse("2026-04-20T09:00:00-05:00");
  let place = position;
  const recorder = { context, page, seen, address };

  // Lets time pass. Timers go on as they are.
  recorder.wait = async (seconds) => {
    now += seconds * 1000;
    await page.clock.setFixedTime(now);
  };
  // A fix of the receiver, as soon as the page has it.
  recorder.stand = async (longitude, latitude, accuracy) => {
    place = [longitude, latitude, accuracy];
    await context.setGeolocation({ longitude, latitude, accuracy });
    await until(
      page,
      ([lon, lat, accuracy]) =>
        typeof receiver !== "undefined" &&
        receiver.fix?.at[0] === lon &&
        receiver.fix.at[1] === lat &&
        receiver.fix.accuracy === accuracy &&
        Date.now() - receiver.fix.taken < 1000,
      [longitude, latitude, accuracy],
    );
  };
  recorder.text = async (id) =>
    (await page.locator(`#${id}`).textContent()).replaceAll("\u00a0", " ");
  // Presses after ten seconds, in which the receiver has gone on to say the same.
  recorder.tap = async (button) => {
    await recorder.wait(10);
    if (place) await recorder.stand(...place);
    await page.getByRole("button", { name: button, exact: true }).tap();
  };
  recorder.setUp = async (fields = {}) => {
    const { cone = "12.83", units, ...texts } = fields;
    if (units) await page.locator(`[name=units][value=${units}]`).check();
    if (cone) await page.locator("#cone").selectOption(cone);
    for (const [id, text] of Object.entries(texts)) await page.locator(`#${id}`).fill(text);
    await page.locator("#start").tap();
  };
  // What the store holds: the presses, each in a word.
  recorder.kept = () =>
    page.evaluate(() => {
      const text = localStorage.getItem(KEY);
      return JSON.parse(text ?? '{"presses":[]}').presses.map((press) =>
        [press.spot, press.what, press.depth].filter((part) => part !== undefined).join(" "),
      );
    });
  // Saves the file; gives its name, its text and its path.
  recorder.save = async () => {
    const download = page.waitForEvent("download");
    await page.locator("#save").tap();
    const file = await download;
    const name = file.suggestedFilename();
    const path = join(OUT, name);
    await file.saveAs(path);
    return { name, path, text: readFileSync(path, "utf8") };
  };

  await page.clock.setFixedTime(now);
  if (position) {
    await context.grantPermissions(["geolocation"]);
    const [longitude, latitude, accuracy] = position;
    await context.setGeolocation({ longitude, latitude, accuracy });
  }
  const response = await page.goto(address);
  check("the page is there", !response || response.ok() || address.startsWith("file:"), address);
  return recorder;
}
