// The local page: from an empty folder to maps, limits, methods, two visits, strips and rates.

import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { DEMO, copyOfField, withFolder } from "../harness/field.mjs";
import { newLocalPage } from "../harness/local_page.mjs";
import { withLocalPage } from "../harness/program.mjs";

const read = (name) => readFileSync(join(DEMO, name), "utf8");

// The April survey, where one reading is on no mark of the rod: a doubt with a place.
function oddSurvey() {
  const survey = JSON.parse(read("visits/2025-04-14.geojson"));
  const odd = survey.features.find((feature) => feature.properties.point_id === "A041");
  Object.assign(odd.properties, { depth_in: 7.3, reading: "7.3" });
  return JSON.stringify(survey);
}

async function fromNothing(browser, folder) {
  const field = join(folder, "new-field");
  await withLocalPage(field, async (address) => {
    const context = await browsing.newContext(browser);
    const local = await newLocalPage(context, address);
    const { page } = local;
    await browsing.until(page, () => !document.getElementById("needs").hidden);
    check("there is no map yet", await page.locator("#map").isHidden());
    await browsing.picture(page, "open-empty", { fullPage: true });
    await checkAccessible(page, "an empty folder");

    at("files are dropped");
    await local.drop([["april.geojson", oddSurvey()], ["outline.geojson", read("boundary.geojson")]]);
    await local.drawn();
    says("what was taken", await local.text("files-taken"), /april\.geojson.*visit/);
    says("what was taken", await local.text("files-taken"), /outline\.geojson.*outline of the field/);
    const inFolder = readdirSync(field).sort();
    check("the folder has the outline and its settings", inFolder.includes("loosedepth.toml"), inFolder);
    await local.drop([["april.geojson", oddSurvey()]]);
    await browsing.until(page, () => document.getElementById("files-message").textContent.trim());
    says("the same again", await local.text("files-message"), "april.geojson");
    check("it may be replaced", await page.locator("#files-replace").isVisible());
    await local.drop([["notes.txt", "dear diary"]]);
    await browsing.until(page, () => /notes\.txt/.test(document.getElementById("files-message").textContent));

    at("a finding leads to its point");
    const finding = page.locator("#findings button", { hasText: "A041" }).first();
    says("the finding", await finding.innerText(), "is on no mark of the rod");
    await finding.click();
    await browsing.until(page, () => document.querySelector(".map-readout").textContent.includes("A041"));
    says("the readout", await page.locator(".map-readout").innerText(), "A041: 7.3 in");
    await browsing.picture(page, "open-finding", { fullPage: true });
    browsing.checkNoErrors({ errors: local.seen.errors.filter((error) => !/4\d\d/.test(error)) });
    await context.close();
  });
}

async function limits(local) {
  const { page } = local;
  const slider = page.locator("#limit-2");
  await slider.scrollIntoViewIfNeeded();
  const box = await slider.boundingBox();
  const [value, most] = await slider.evaluate((input) => [Number(input.value), Number(input.max)]);
  // A thumb is some 16 px wide and stays within its track.
  const x = (share) => box.x + 8 + share * (box.width - 16);
  const y = box.y + box.height / 2;
  const before = await local.text("limits");
  await local.redrawnBy(async () => {
    await page.mouse.move(x(value / most), y);
    await page.mouse.down();
    await page.mouse.move(x((value + 1) / most), y, { steps: 4 });
    await page.mouse.move(x((value + 2) / most), y, { steps: 4 });
    await page.mouse.up();
  });
  const dragged = Number(await slider.inputValue());
  check("the limit was dragged", dragged > value, dragged);
  await browsing.until(page, (before) => document.getElementById("limits").innerText !== before, before);
  const words = await local.text("limits");
  says("the classes", words, `3–${dragged} in`);
  await local.redrawnBy(async () => {
    await slider.focus();
    await page.keyboard.press("ArrowLeft");
  });
  same("the limit by key", Number(await slider.inputValue()), dragged - 0.5);
  says("the command", await page.locator("#command-map").textContent(), `--classes 3,${dragged - 0.5},9`);
}

async function methods(local) {
  const { page } = local;
  const before = await local.text("check-words");
  says("the check", before, /inverse distance/i);
  await page.locator("#method-kriging").check();
  await browsing.until(page, (before) => document.getElementById("check-words").innerText !== before, before);
  says("the check of kriging", await local.text("check-words"), /kriging/i);
  says("the check of kriging", await local.text("check-words"), /RMSE/);
  says("the command", await page.locator("#command-map").textContent(), "--method kriging");
  await browsing.picture(page, "open-kriging", { fullPage: true });
}

async function twoVisits(local) {
  const { page } = local;
  await page.locator("#earlier").selectOption("2025-04-14");
  await page.locator("#later").selectOption("2025-08-24");
  await page.locator("#show-change").check();
  await browsing.until(page, () => document.getElementById("compare-words").textContent.trim() && document.querySelector(".map-swipe input"));
  says("what is said first", await local.text("compare-words"), /moisture/i);
  says("the command", await page.locator("#command-compare").textContent(), /compare \S*north-bench 2025-04-14 2025-08-24/);
  const share = () => page.locator(".map-swipe input").inputValue();
  const before = await share();
  await page.locator(".map-swipe input").focus();
  await page.keyboard.press("ArrowRight");
  check("the divider moves", (await share()) !== before);
  await checkAccessible(page, "two visits");
  await browsing.picture(page, "open-compare", { fullPage: true });
  await page.locator("#show-visit").check();
  await local.drawn();
}

await test("local page", () =>
  browsing.withBrowser((browser) =>
    withFolder(async (folder) => {
      at("an empty folder");
      await fromNothing(browser, folder);

      at("the demo field");
      const field = copyOfField(folder);
      await withLocalPage(field, async (address) => {
        const context = await browsing.newContext(browser);
        const local = await newLocalPage(context, address);
        const { page, seen } = local;
        await local.drawn();
        same("its name", await local.text("field-name"), "North Bench");
        await browsing.checkPolicyInForce(page);
        seen.errors.length = 0;
        await browsing.picture(page, "open-desk", { fullPage: true });
        await checkAccessible(page, "the demo field");

        at("a limit is dragged");
        await limits(local);
        at("a method is chosen");
        await methods(local);
        at("two visits are compared");
        await twoVisits(local);

        at("all of it is there after a reload");
        const command = await page.locator("#command-map").textContent();
        await page.reload();
        await local.drawn();
        same("the command", await page.locator("#command-map").textContent(), command);
        check("the method", await page.locator("#method-kriging").isChecked());
        browsing.checkNoErrors(seen);
        const others = seen.requests.filter((request) => !request.includes(` ${address}`) && !/ (data|blob):/.test(request));
        same("what was asked of others", others, []);
        await context.close();

        at("on a phone");
        const phone = await browsing.newContext(browser, browsing.PHONE);
        const small = await newLocalPage(phone, address);
        await small.drawn();
        for (const width of [360, 390, 430]) {
          await small.page.setViewportSize({ width, height: 844 });
          await browsing.checkNoSidewaysScroll(small.page);
        }
        await checkAccessible(small.page, "the demo field on a phone");
        await browsing.picture(small.page, "open-phone", { fullPage: true });
        await phone.close();
      });
    }),
  ),
);
