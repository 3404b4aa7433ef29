// The report: one file that opens anywhere, is read by pointer and keys, and prints whole.

import { readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, near, same, says, test } from "../harness/checks.mjs";
import { DEMO, withFolder } from "../harness/field.mjs";
import { printed } from "../harness/printed.mjs";
import { loosedepth, ROOT } from "../harness/program.mjs";

const DAYS = ["2025-04-14", "2025-08-24"];
const LABELS = ["Apr 14", "Aug 24"];

// The lines that the map says of a place.
const readout = (page) => page.locator(".map-readout").innerText();
// Where the divider stands: what it says, and how far the left date reaches on the picture.
const divider = (page) =>
  page.evaluate(() => ({
    share: Number(document.querySelector(".map-swipe input").value),
    drawn: Number(document.querySelector("#map clipPath rect").getAttribute("width")),
    width: document.querySelector(".map-stage").clientWidth,
  }));
// Waits until the picture shows the divider where its share says.
const settled = (page) =>
  browsing.until(page, () => {
    const share = Number(document.querySelector(".map-swipe input").value) / 100;
    const drawn = Number(document.querySelector("#map clipPath rect").getAttribute("width"));
    return Math.abs(drawn - share * document.querySelector(".map-stage").clientWidth) < 10;
  });
// The picture of the map, to see whether it is another one.
const drawn = (page) => page.locator(".map-stage canvas").evaluate((canvas) => canvas.toDataURL());

async function readByPointerAndKeys(page) {
  const stage = page.locator(".map-stage");
  await stage.scrollIntoViewIfNeeded();
  const box = await stage.boundingBox();
  const there = [box.x + box.width * 0.25, box.y + box.height * 0.35];
  await page.mouse.move(...there);
  const pointed = await readout(page);
  for (const label of LABELS) says("the readout under the pointer", pointed, label);
  says("the readout under the pointer", pointed, /map \d+(\.\d)? in/);
  says("the readout under the pointer", pointed, /Change/);
  await page.mouse.move(box.x + box.width * 0.6, box.y + box.height * 0.2);
  check("another place reads otherwise", (await readout(page)) !== pointed, pointed);

  await page.mouse.move(0, 0);
  await stage.focus();
  await page.keyboard.press("ArrowRight");
  const first = await readout(page);
  for (const label of LABELS) says("the readout by keys", first, label);
  for (let k = 0; k < 4; k += 1) await page.keyboard.press("Shift+ArrowUp");
  const second = await readout(page);
  check("the arrow keys read another place", second !== first, second);
  await page.keyboard.press("Enter");
  says("the nearest probe", await readout(page), /nearest probe/);
}

async function switchLayers(page) {
  const layers = page.locator(".map-tools input[type=radio]");
  const names = await layers.evaluateAll((all) => all.map((one) => one.value));
  for (const wanted of ["zones", "depth", "change"]) {
    check(`there is a layer ${wanted}`, names.includes(wanted), names);
  }
  const seen = new Set();
  for (const name of names) {
    await page.locator(`.map-tools input[value=${name}]`).check();
    const legend = await page.locator(".map-legend").innerText();
    // Zones are drawn as paths, the others as pictures.
    seen.add(`${await drawn(page)} ${legend}`);
    await browsing.picture(page.locator("#map-part"), `report-layer-${name}`);
  }
  same("how many different pictures and legends", seen.size, names.length);
  await page.locator(".map-tools input[value=zones]").check();
}

async function swipe(page) {
  const range = page.locator(".map-swipe input");
  await range.focus();
  const start = await divider(page);
  near("the divider in the middle", start.drawn, start.width / 2, 1);
  for (let k = 0; k < 10; k += 1) await page.keyboard.press("ArrowRight");
  await settled(page);
  const byKey = await divider(page);
  same("the divider by keys, %", byKey.share, start.share + 10);
  near("the picture of the left date", byKey.drawn, byKey.width * 0.6, 10);
  says("what a reader hears", await range.getAttribute("aria-valuetext"), "60 %");

  const stage = page.locator(".map-stage");
  const box = await stage.boundingBox();
  const middle = box.y + box.height / 2;
  await page.mouse.move(box.x + byKey.drawn, middle);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * 0.4, middle, { steps: 8 });
  await page.mouse.move(box.x + box.width * 0.2, middle, { steps: 8 });
  await page.mouse.up();
  await settled(page);
  const byMouse = await divider(page);
  near("the divider by mouse, %", byMouse.share, 20, 1);
  near("the picture of the left date", byMouse.drawn, byMouse.width * 0.2, 10);
}

// The script's own reading of a grid: worked by hand, and the shares of ground against the table of the change.
async function decodeGrids(page) {
  const script = readFileSync(join(ROOT, "crates/report/assets/page/map.js"), "utf8");
  const { decodeGrid, classOf } = await import(`data:text/javascript,${encodeURIComponent(script)}`);
  // Runs 0 and 2 in Elias's gamma code are 1 and 011; k = 0; differences 1 and 0 folded are 110 and 0.
  const code = Buffer.from([0b10110000, 0b11000000]).toString("base64");
  same("a grid of two cells", [...decodeGrid({ columns: 2, rows: 1, step: 0.1, code })], [0.1, 0.1]);
  const classes = [{ to: 15.24 }, { to: 22.86 }, { to: null }];
  const found = [15.239999, 15.24, 22.859999, 22.86].map((value) => classOf(classes, value));
  same("classes beside limits", found, [0, 1, 1, 2]);

  const data = JSON.parse(await page.locator("#map-data").textContent());
  const { grid, half_width } = data.change;
  const [values, halves] = [decodeGrid(grid), decodeGrid(half_width)];
  const share = (isSo) => (100 * values.filter((cm, k) => isSo(cm, halves[k])).length) / values.filter((cm) => !Number.isNaN(cm)).length;
  const table = page.locator("table", { hasText: "Ground by change of the map" });
  for (const [row, isSo] of [
    ["thinner by more than the uncertainty", (cm, half) => cm < 0 && -cm > half],
    ["deeper by more than the uncertainty", (cm, half) => cm > 0 && cm > half],
  ]) {
    const told = await table.locator("tr", { hasText: row }).locator("td").last().textContent();
    // The field's edge cuts cells, and a little of the field has no value.
    near(`${row}, % of the field`, share(isSo), Number(told), 1.5);
  }
}

async function printPages(page) {
  const summary = await page.evaluate(() =>
    [...document.querySelectorAll("#in-short p, #in-short li")].map((one) => one.textContent.trim()),
  );
  const folded = await page.evaluate(() =>
    [...document.querySelectorAll("details td, details th")].map((one) => one.textContent.trim()).slice(0, 40),
  );
  // What is printed has its own line ends, and letters that belong together.
  const plain = (text) => text.normalize("NFKC").replace(/[\s\u00ad\u00a0\ufffe-]+/g, "");
  for (const [format, width, height] of [["A4", 595, 842], ["Letter", 612, 792]]) {
    const pages = await printed(page, `report-${format}`, format);
    near(`${format}: its width`, pages[0].width_pt, width, 1.5);
    near(`${format}: its height`, pages[0].height_pt, height, 1.5);
    const first = plain(pages[0].text);
    for (const sentence of summary) {
      check(`${format}: the first page has “${sentence.slice(0, 60)}”`, first.includes(plain(sentence)), pages[0].text);
    }
    check(`${format}: the map comes after the first page`, !/Themap/.test(first), pages[0].text);
    const all = plain(pages.map((one) => one.text).join("\n"));
    for (const words of folded) check(`${format}: what is folded is printed: ${words}`, all.includes(plain(words)));
    pages.forEach((one, k) => {
      if (one.left_pt === null) return;
      const fits = one.left_pt > 0 && one.bottom_pt > 0 && one.right_pt < width && one.top_pt < height;
      check(`${format}: page ${k + 1} is not cut`, fits, one);
    });
  }
}

await test("report", () =>
  browsing.withBrowser((browser) =>
    withFolder(async (folder) => {
      at("written by the program");
      const made = loosedepth("report", DEMO, ...DAYS, "--out", folder);
      check("it is made", [0, 3].includes(made.code), made);
      const path = join(folder, "report.html");
      check("it is under a megabyte", statSync(path).size < 1_000_000, statSync(path).size);
      const address = pathToFileURL(path).href;

      at("opened without a network");
      const context = await browsing.newContext(browser, { offline: true });
      const { page, seen } = await browsing.newPage(context);
      await page.goto(address);
      await browsing.until(page, () => document.querySelector(".map-stage canvas")?.width > 0);
      browsing.checkSilent(seen, address);
      await browsing.picture(page, "report-desk", { fullPage: true });

      at("read");
      await readByPointerAndKeys(page);
      at("decoded");
      await decodeGrids(page);
      at("layers");
      await switchLayers(page);
      at("two dates");
      await swipe(page);
      at("for everyone");
      await checkAccessible(page, "the report");
      browsing.checkSilent(seen, address);

      at("printed");
      await printPages(page);
      await page.emulateMedia({ media: "print" });
      await checkAccessible(page, "the report in print");
      await context.close();

      at("on a phone");
      const phone = await browsing.newContext(browser, { ...browsing.PHONE, reducedMotion: "reduce" });
      const small = await browsing.newPage(phone);
      await small.page.goto(address);
      await browsing.until(small.page, () => document.querySelector(".map-stage canvas")?.width > 0);
      for (const width of [360, 390, 430]) {
        await small.page.setViewportSize({ width, height: 844 });
        await browsing.checkNoSidewaysScroll(small.page);
      }
      await checkAccessible(small.page, "the report on a phone");
      const moving = await small.page.evaluate(() => [
        document.getAnimations().length,
        ...new Set([...document.querySelectorAll("*")].map((e) => getComputedStyle(e).transitionDuration)),
      ]);
      same("what moves where motion is to be reduced", moving, [0, "0s"]);
      await browsing.picture(small.page, "report-phone", { fullPage: true });
      browsing.checkSilent(small.seen, address);
      await browsing.checkPolicyInForce(small.page);
      await phone.close();
    }),
  ),
);
