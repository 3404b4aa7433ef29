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

// Waits until a part of the page says so.
async function tells(page, id, words) {
  await browsing.until(page, ([id, words]) => document.getElementById(id).textContent.includes(words), [id, words]);
  check(`${id} says ${words}`, true);
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
    await local.drop([["april.geojson", read("visits/2025-04-14.geojson")]]);
    await browsing.until(page, () => document.getElementById("files-message").textContent.trim());
    says("another file of that name", await local.text("files-message"), "april.geojson");
    check("it may be replaced", await page.locator("#files-replace").isVisible());
    same("the file in the folder", readFileSync(join(field, "visits/april.geojson"), "utf8"), oddSurvey());
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
  await tells(page, "limits", `3–${dragged} in`);
  check("the classes are others", (await local.text("limits")) !== before);
  await local.redrawnBy(async () => {
    await slider.focus();
    await page.keyboard.press("ArrowLeft");
  });
  same("the limit by key", Number(await slider.inputValue()), dragged - 0.5);
  await tells(page, "command-map", `--classes 3,${dragged - 0.5},9`);
}

async function methods(local) {
  const { page } = local;
  await page.locator("#check-said-part summary").click();
  await page.locator("#methods-part summary").click();
  const before = await local.text("check-words");
  says("the check", before, /left out .* off by about \d+\.\d+ in \(root mean square error, RMSE\)/);
  says("the check in full", await local.text("check-said"), /inverse distance/i);
  says("the method on the map", await page.locator("#methods .chosen").innerText(), /inverse distance.*on the map/i);
  await page.locator("#method-kriging").check();
  await browsing.until(page, () => /kriging.*on the map/i.test(document.querySelector("#methods .chosen")?.innerText ?? ""));
  const after = await local.text("check-words");
  says("the check of kriging", after, /left out .* off by about \d+\.\d+ in \(root mean square error, RMSE\)/);
  check("its error is another", after !== before, after);
  says("the check of kriging in full", await local.text("check-said"), /kriging/i);
  await tells(page, "command-map", "--method kriging");
  await browsing.picture(page, "open-kriging", { fullPage: true });
}

async function twoVisits(local) {
  const { page } = local;
  await page.locator("#earlier").selectOption("2025-04-14");
  await page.locator("#later").selectOption("2025-08-24");
  await page.locator("#show-change").check();
  await browsing.until(page, () => document.getElementById("compare-words").textContent.trim() && document.querySelector(".map-swipe input"));
  says("what is said first", await local.text("compare-words"), /moisture/i);
  await tells(page, "command-compare", "2025-04-14 2025-08-24");
  // Where the divider lies on the map: as wide is what is shown of the earlier visit.
  const divider = () => page.locator("#map clipPath rect").first().evaluate((rect) => Number(rect.getAttribute("width")));
  const range = page.locator(".map-swipe input");
  const before = await divider();
  await range.focus();
  await page.keyboard.press("ArrowRight");
  const byKey = await divider();
  check("the divider moves right by key", byKey > before, [before, byKey]);
  const box = await range.boundingBox();
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width / 4, box.y + box.height / 2, { steps: 4 });
  await page.mouse.up();
  check("the divider moves left by hand", (await divider()) < before * 0.7, [before, await divider()]);
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
        await local.chooseVisit("2025-04-14");
        says("what the map is of", await local.text("map-heading"), /^Map of .*(14 April|Apr(il)? 14)/);
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
