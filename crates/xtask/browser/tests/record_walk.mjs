// The recording page: planned spots, other units, and no finger on the screen.

import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { loosedepth } from "../harness/program.mjs";
import { PAGES, newRecorder } from "../harness/recorder.mjs";
import { withServed } from "../harness/served.mjs";

// The first planned spot, and places near it.
const SPOT = [-95.6197988, 41.9301754];
// 0.001° of latitude are 111.1 m (a minute is 1852 m): 365 ft.
const SOUTH_OF_IT = [-95.6197988, 41.9291754];

await test("recording page: a walk", () =>
  browsing.withBrowser((browser) =>
    withServed(PAGES, async (server) => {
      at("to the first spot");
      let recorder = await newRecorder(browser, `${server}/north-bench.html`, {
        position: [...SOUTH_OF_IT, 4],
      });
      const { page } = recorder;
      same("its title", await page.title(), "North Bench: record loose-layer depths");
      await recorder.setUp({ pushes: "1" });
      await recorder.stand(...SOUTH_OF_IT, 4);
      says("the way", await recorder.text("way"), "Go 365 ft north (0°)");
      await recorder.stand(...SPOT, 4);
      says("the way", await recorder.text("way"), "You are there");
      await recorder.tap("9 in");
      says("the sketch", await recorder.text("sketch-words"), "1 of 11 planned spots done");
      await recorder.tap("Next spot");
      says("the heading", await recorder.text("spot-title"), "Spot A011: 1 of 1");
      // A011 is 0.0008072° to the east, 66.8 m at this latitude, and 0.0001099° to the north, 12.2 m.
      says("the way", await recorder.text("way"), "Go 223 ft east (80°)");

      at("half the distance between spots is 30 m");
      await recorder.stand(...SPOT, 31);
      says("the warning", await recorder.text("position-warning"), "half the distance between spots");
      await recorder.stand(...SPOT, 4);

      at("a reading far from its spot");
      await recorder.tap("12 in");
      says("what is said", await recorder.text("said"), "You are 223 ft from its planned place");
      await recorder.tap("Undo 12 in at A011");

      at("a spot that is skipped, one for later, one out of turn");
      await recorder.tap("Skip this spot");
      says("what is said", await recorder.text("said"), "Kept: skipped at A011.");
      says("the heading", await recorder.text("spot-title"), "Spot A021");
      await recorder.tap("Next spot");
      says("what is said", await recorder.text("said"), "A021 stays open.");
      says("the heading", await recorder.text("spot-title"), "Spot A031");
      await page.locator("#choose").selectOption("A051");
      says("the heading", await recorder.text("spot-title"), "Spot A051");
      await browsing.picture(page, "record-walk", { fullPage: true });

      at("without a receiver, at the planned place");
      await page.locator("#planned-place").check();
      await recorder.wait(400);
      await page.getByRole("button", { name: "6 in", exact: true }).tap();
      same("the end of the store", (await recorder.kept()).at(-1), "A051 reached 6");
      await checkAccessible(page, "a walk");
      await browsing.checkNoSidewaysScroll(page);
      await recorder.wait(60);
      await page.getByRole("button", { name: "15 in", exact: true }).tap();
      says("the question", await recorder.text("ask-words"), "A051 has its 1 insertion.");
      await recorder.tap("Yes: one more at A051");
      await recorder.wait(120);
      await page.locator("#choose").selectOption("A061");
      await page.getByRole("button", { name: "3 in", exact: true }).tap();
      const saved = await recorder.save();
      same("its name", saved.name, "north-bench-2026-04-20.geojson");
      const { features } = JSON.parse(saved.text);
      const said = features.map(({ geometry, properties }) => [
        properties.point_id,
        properties.outcome,
        properties.depth_in,
        properties.position,
        properties.accuracy_m,
        geometry.coordinates,
      ]);
      same("the file", said.slice(0, 2), [
        ["A001", "reached", 9, "receiver", 4, SPOT],
        ["A011", "skipped", null, "plan", null, [-95.6189916, 41.9302853]],
      ]);
      same("the last of it", said.slice(-2).map((one) => one.slice(0, 5)), [
        ["A051", "reached", 15, "plan", null],
        ["A061", "reached", 3, "plan", null],
      ]);
      const boundary = "demo-data/north-bench/boundary.geojson";
      const checked = loosedepth("check", saved.path, "--boundary", boundary, "--strict");
      check("there is no fault and no doubt", checked.code === 0, checked);
      browsing.checkNoErrors(recorder.seen);
      await recorder.context.close();

      at("in centimetres");
      recorder = await newRecorder(browser, `${server}/any-field-us.html`, { position: [...SPOT, 5] });
      await recorder.page.locator("[name=units][value=si]").check();
      const given = await recorder.page.evaluate(() =>
        ["threshold", "rod", "marks"].map((id) => document.getElementById(id).value),
      );
      same("threshold in kPa, rod and marks in cm", given, ["1379", "45", "5"]);
      await recorder.setUp({ rod: "60", marks: "7,5", cone: "unknown" });
      await recorder.tap("22.5 cm");
      await recorder.tap("Not reached: ≥ 60 cm");
      const metric = JSON.parse((await recorder.save()).text).features.map((f) => f.properties);
      same("depths", metric.map((p) => [p.depth_cm, p.at_least]), [[22.5, false], [60, true]]);
      same("the threshold", metric[0].threshold_kpa, 1379);
      same("the cone", metric[0].cone_mm, null);
      says("the position", await recorder.text("position"), "± 5 m");
      await recorder.tap("Change the set-up");
      check("the units are locked", await recorder.page.locator("[value=us]").isDisabled());
      check("the threshold is locked", await recorder.page.locator("#threshold").isDisabled());
      await recorder.tap("Go on recording");
      same("readings after it", (await recorder.kept()).length, 2);
      await recorder.context.close();

      at("by keyboard alone");
      recorder = await newRecorder(browser, `${server}/any-field-us.html`, {
        position: [...SPOT, 5],
        reducedMotion: "reduce",
      });
      const { keyboard } = recorder.page;
      const focused = () =>
        recorder.page.evaluate(() => document.activeElement.id || document.activeElement.textContent);
      // Goes on until what has the focus is the one wanted.
      const tabTo = async (wanted) => {
        for (let k = 0; k < 60; k += 1) {
          if ((await focused()) === wanted) return;
          await keyboard.press("Tab");
        }
        check(`the key Tab reaches ${wanted}`, false, await focused());
      };
      await tabTo("operator");
      await keyboard.type("Jo");
      await tabTo("cone");
      await keyboard.press("ArrowDown");
      await tabTo("start");
      await keyboard.press("Enter");
      same("where the focus is", await focused(), "spot-title");
      await recorder.stand(...SPOT, 5);
      await tabTo("9 in");
      const ring = await recorder.page.evaluate(() => getComputedStyle(document.activeElement).outline);
      says("the ring about what has the focus", ring, /solid 4px|4px solid/);
      await keyboard.press("Enter");
      same("the store", await recorder.kept(), ["A001 reached 9"]);
      await recorder.wait(10);
      await recorder.stand(...SPOT, 5);
      await tabTo("stone");
      await keyboard.press("Space");
      await tabTo("undo");
      await keyboard.press("Enter");
      await tabTo("moisture");
      await keyboard.type("31");
      await tabTo("note");
      await keyboard.type("dry");
      await tabTo("save");
      const download = recorder.page.waitForEvent("download");
      await keyboard.press("Enter");
      await download;
      same("the store", await recorder.kept(), ["A001 reached 9"]);
      says("the list", await recorder.text("list"), "A001 9 in; ± 16 ft; moisture 31 %; dry");
      await recorder.context.close();
    }),
  ),
);
