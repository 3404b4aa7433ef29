// The recording page: a survey from the first press to the map.

import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { loosedepth } from "../harness/program.mjs";
import { PAGES, newRecorder } from "../harness/recorder.mjs";
import { withServed } from "../harness/served.mjs";

const BOUNDARY = "demo-data/north-bench/boundary.geojson";
// Places in the demo field.
const FIRST = [-95.6195, 41.9305];
const SECOND = [-95.619, 41.9325];
const THIRD = [-95.6125, 41.931];

// What the file must hold after the walk below, letter by letter.
const line = (id, insertion, time, outcome, depth, place, accuracy, moisture, note) =>
  `{"type":"Feature","geometry":{"type":"Point","coordinates":[${place}]},"properties":{` +
  `"point_id":"${id}","insertion":${insertion},"date":"2026-04-20","time":"${time}",` +
  `"outcome":"${outcome}","depth_in":${depth},"at_least":${outcome === "not_reached"},` +
  `"threshold_psi":200,"cone_mm":12.83,"instrument":"No. 7","operator":"J. \\"Jo\\" Doe",` +
  `"accuracy_m":${accuracy},"position":"receiver","moisture_pct":${moisture},"note":${note}}}`;
const WHOLE = [
  line("A001", 1, "09:00:10", "reached", 9, FIRST, 3, 28.5, '"by the gate, a stone lies near"'),
  line("A001", 2, "09:00:20", "reached", 6, FIRST, 3, 28.5, '"by the gate, a stone lies near"'),
  line("A002", 1, "09:02:00", "reached", 12, SECOND, 4.5, null, null),
  line("A002", 2, "09:02:30", "stone", null, SECOND, 4.5, null, null),
  line("A003", 1, "09:06:00", "not_reached", 18, THIRD, 3, null, null),
  line("A003", 2, "09:06:10", "not_reached", 18, THIRD, 3, null, null),
];
const FILE = `{"type":"FeatureCollection","name":"Survey 2026-04-20","features":[\n${WHOLE.join(",\n")}\n]}\n`;

await test("recording page: a survey", () =>
  browsing.withBrowser((browser) =>
    withServed(PAGES, async (server) => {
      at("before the start");
      const recorder = await newRecorder(browser, `${server}/any-field-us.html`, {
        position: [...FIRST, 5],
      });
      const { page, seen, context } = recorder;
      await browsing.picture(page, "record-setup", { fullPage: true });
      await checkAccessible(page, "the set-up");
      for (const width of [360, 390, 430]) {
        await page.setViewportSize({ width, height: 844 });
        await browsing.checkNoSidewaysScroll(page);
      }
      await page.setViewportSize(browsing.PHONE.viewport);
      await recorder.setUp({ cone: "", operator: 'J. "Jo" Doe', instrument: "No. 7" });
      says("the alert", await recorder.text("alert"), "Choose the cone");
      check("the form is still there", await page.locator("#setup-form").isVisible());

      at("the first spot");
      await context.setOffline(true);
      await recorder.setUp({ pushes: "2" });
      await recorder.stand(...FIRST, 5);
      says("the position", await recorder.text("position"), /^Position ± 16 ft, 0 s old$/);
      await recorder.tap("9 in");
      says("what is said", await recorder.text("said"), "Kept: 9 in at A001, insertion 1 of 2.");
      same("the store", await recorder.kept(), ["A001 reached 9"]);
      await recorder.stand(...FIRST, 3);
      await recorder.tap("6 in");
      says("the heading", await recorder.text("spot-title"), "Spot A001: 2 done");
      says("the readings", await recorder.text("here"), "Here: 9 in, 6 in");
      await page.locator("#moisture").fill("130");
      says("the moisture", await recorder.text("moisture-fault"), "Not kept: moisture is a number");
      await page.locator("#moisture").fill("28,5");
      same("the moisture's fault", await recorder.text("moisture-fault"), "");
      await page.locator("#note").fill("by the gate, a stone lies near");
      await browsing.picture(page, "record-spot");
      await checkAccessible(page, "recording");
      for (const width of [360, 390, 430]) {
        await page.setViewportSize({ width, height: 844 });
        await browsing.checkNoSidewaysScroll(page);
      }
      await page.setViewportSize(browsing.PHONE.viewport);
      const small = await page.evaluate(() =>
        [...document.querySelectorAll("button, input, select")]
          .map((e) => (e.matches(".choice input") ? e.parentElement : e))
          .map((e) => [e.id || e.textContent, e.getBoundingClientRect()])
          .filter(([, { height, width }]) => height && (height < 56 || width < 56))
          .map(([name, { height, width }]) => `${name}: ${width} × ${height}`),
      );
      same("what is too small for a glove", small, []);

      at("a second spot, begun by walking on");
      await recorder.wait(90);
      await recorder.stand(...SECOND, 4.5);
      await recorder.tap("12 in");
      says("what is said", await recorder.text("said"), "Kept: 12 in at A002, insertion 1 of 2.");
      await page.getByRole("button", { name: "15 in", exact: true }).tap();
      says("the alert", await recorder.text("alert"), "too soon after the last press");
      await recorder.tap("3 in");
      await recorder.tap("Undo 3 in at A002");
      says("what is said", await recorder.text("said"), "Taken back: 3 in at A002.");
      const upToUndo = ["A001 reached 9", "A001 reached 6", "A001 next", "A002 reached 12"];
      same("the store", await recorder.kept(), upToUndo);
      await page.getByRole("button", { name: "Put back 3 in at A002", exact: true }).tap();
      same("the store", await recorder.kept(), [...upToUndo, "A002 reached 3"]);
      await page.getByRole("button", { name: "Undo 3 in at A002", exact: true }).tap();
      await recorder.tap("Stone or root");
      same("the store", await recorder.kept(), [...upToUndo, "A002 stone"]);

      at("the same after a reload");
      const before = await page.locator("#list").textContent();
      await context.setOffline(false);
      await page.reload();
      await context.setOffline(true);
      same("the list", await page.locator("#list").textContent(), before);
      says("the heading", await recorder.text("spot-title"), "Spot A002: 2 done");
      says("the tally", await recorder.text("tally"), "2 spots, 4 insertions; not yet in a file");

      at("a third spot that was not reached");
      await page.locator("#next").tap();
      says("the heading", await recorder.text("spot-title"), "Spot A003: 1 of 2");
      await recorder.wait(210);
      await recorder.stand(...THIRD, 6.5);
      await page.locator("#not-reached").tap();
      says("what is said", await recorder.text("said"), "Kept: ≥ 18 in at A003");
      await recorder.stand(...THIRD, 3);
      await recorder.tap("Not reached: ≥ 18 in");
      await browsing.picture(page, "record-list", { fullPage: true });

      at("the file");
      const saved = await recorder.save();
      same("its name", saved.name, "survey-2026-04-20.geojson");
      same("the file", saved.text, FILE);
      says("the tally", await recorder.text("tally"), "3 spots, 6 insertions; all in a saved file");
      await page.locator("#as-text summary").tap();
      await browsing.until(page, () => document.getElementById("text").value !== "");
      same("the file as text", await page.locator("#text").inputValue(), FILE);
      browsing.checkSilent(seen, recorder.address);
      await context.setOffline(false);
      await browsing.checkPolicyInForce(page);
      await context.close();

      at("the map of it");
      const checked = loosedepth("check", saved.path, "--boundary", BOUNDARY, "--strict");
      check("there is no fault and no doubt", checked.code === 0, checked);
      const folder = mkdtempSync(join(tmpdir(), "loosedepth-record-"));
      try {
        const cleaned = loosedepth("clean", saved.path, "--boundary", BOUNDARY, "--out", folder);
        same("how it ends", cleaned.code, 0);
        const table = readFileSync(join(folder, "survey.csv"), "utf8").trim().split("\n").slice(1);
        const depths = table.map((row) => row.split(",").slice(2, 8).join(","));
        same("the depths", depths, [
          "A001,2026-04-20,09:00:10,9,reached,",
          "A001,2026-04-20,09:00:20,6,reached,",
          "A002,2026-04-20,09:02:00,12,reached,",
          "A002,2026-04-20,09:02:30,,stone,",
          "A003,2026-04-20,09:06:00,18,not_reached,true",
          "A003,2026-04-20,09:06:10,18,not_reached,true",
        ]);
        const out = join(folder, "map");
        const mapped = loosedepth("map", saved.path, "--boundary", BOUNDARY, "--out", out);
        same("how the map ends", mapped.code, 0);
        const { survey } = JSON.parse(readFileSync(join(out, "summary.json"), "utf8"));
        const counts = ["features", "spots_with_reading", "insertions", "not_reached"];
        same("the map's counts", counts.map((name) => survey[name]), [6, 3, 5, 1]);
        same("the stones", survey.stopped_by_stone, 1);
        same("the moisture, %", survey.moisture_mean_pct, 28.5);
      } finally {
        rmSync(folder, { recursive: true });
      }
    }),
  ),
);
