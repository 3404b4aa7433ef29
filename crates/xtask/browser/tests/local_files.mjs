// The local page: the files it makes are those of the command it shows; rates, strips, stopping.

import { existsSync, readFileSync, readdirSync } from "node:fs";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { copyOfField, withFolder } from "../harness/field.mjs";
import { newLocalPage } from "../harness/local_page.mjs";
import { typed, withLocalPage } from "../harness/program.mjs";

const filesOf = (folder) => readdirSync(folder, { recursive: true, withFileTypes: true }).filter((one) => one.isFile()).length;

// Makes files on the page, downloads each, types the command that the page shows beside a copy of the field
// as it was, and compares.
async function makesTheSame(local, name, elsewhere) {
  const { page } = local;
  const said = await local.make(name);
  says(`${name}: what is said of it`, said, "Done");
  const command = await page.locator(`#make-command-${name}`).textContent();
  const ended = typed(command, elsewhere);
  check(`${name}: the command can be typed: ${command}`, [0, 3].includes(ended.code), ended);
  const links = page.locator(`#job-${name} a`);
  const count = await links.count();
  check(`${name}: there are files`, count > 0, said);
  if (count === 0) return 0;
  // The page is at rest once the list of results has them too.
  const last = await links.last().getAttribute("href");
  await browsing.until(page, (last) => document.querySelector(`#results a[href="${last}"]`), last);
  for (let k = 0; k < count; k += 1) {
    const link = links.nth(k);
    const address = await link.getAttribute("href");
    const path = decodeURIComponent(address.replace("api/results/", ""));
    const answer = await page.context().request.get(new URL(address, page.url()).href);
    says(`${name}: how ${path} is sent`, answer.headers()["content-disposition"], "attachment");
    const bytes = await answer.body();
    if (k === 0) check(`${name}: a press downloads ${path}`, (await local.download(link)).bytes.equals(bytes), bytes.length);
    const own = join(elsewhere, "north-bench/results", path);
    check(`${name}: ${path} is written by the command too`, existsSync(own), path);
    if (existsSync(own)) check(`${name}: ${path} has the same bytes`, bytes.equals(readFileSync(own)), bytes.length);
  }
  return count;
}

await test("local page: files", () =>
  browsing.withBrowser((browser) =>
    withFolder(async (folder) => {
      const elsewhere = join(folder, "elsewhere");
      mkdirSync(elsewhere);
      const field = copyOfField(folder);
      const copy = copyOfField(elsewhere);
      const run = async (address) => {
        const context = await browsing.newContext(browser);
        const local = await newLocalPage(context, address);
        const { page, seen } = local;
        await local.drawn();

        at("a map with limits of its own");
        await local.chooseVisit("2025-04-14");
        says("what the map is of", await local.text("map-heading"), /^Map of .*(14 April|Apr(il)? 14)/);
        await local.redrawnBy(async () => {
          await page.locator("#limit-2-number").fill("6.5");
          await page.locator("#limit-2-number").press("Tab");
        });
        same("how many files", await makesTheSame(local, "map", elsewhere), 4);
        await checkAccessible(page, "files made");
        await browsing.picture(page, "open-files", { fullPage: true });

        at("once more, over what is there");
        says("what is said", await local.make("map"), "--replace");
        await page.locator("#replace-map").click();
        await browsing.until(page, () => /Done/.test(document.getElementById("job-map").textContent));

        at("check strips on the map");
        await page.locator("#strips-number").fill("3");
        await page.locator("#strips-number").press("Tab");
        await page.locator("#strips").click();
        await browsing.until(page, () => document.getElementById("strips-words").textContent.trim());
        await browsing.until(page, () => document.querySelector("#map .shape-check"));
        // A strip lies in several zones, in each as a part of its own.
        const strips = (await page.locator("body").textContent()).match(/check strip \d+/g) ?? [];
        same("the strips", [...new Set(strips)].sort(), ["check strip 1", "check strip 2", "check strip 3"]);
        check("treated ground is drawn too", (await page.locator("#map .shape-treated").count()) > 0);
        await browsing.picture(page, "open-strips", { fullPage: true });
        await checkAccessible(page, "check strips");

        at("rates");
        await page.locator("#rates-text-part summary").click();
        const before = readFileSync(join(field, "rates.toml"), "utf8");
        same("the text of the file", await page.locator("#rates-text").inputValue(), before);
        const comments = before.match(/#.*/g)?.length ?? 0;
        await page.locator("#rates-plan summary").click();
        await page.locator("#rates-name").fill("North Bench, trial of the page");
        await page.locator("#rates-name").press("Tab");
        await browsing.until(page, () => document.getElementById("rates-text").value.includes("trial of the page"));
        const after = readFileSync(join(field, "rates.toml"), "utf8");
        says("the file", after, 'name = "North Bench, trial of the page"');
        same("its comments", after.match(/#.*/g)?.length ?? 0, comments);
        const wrong = page.locator("#rates-swath-message");
        await page.locator("#rates-swath").fill("wide");
        await page.locator("#rates-swath").press("Tab");
        await browsing.until(page, () => document.getElementById("rates-swath-message").textContent.trim());
        says("what is wrong", await wrong.innerText(), "wide");
        same("the file after a value that cannot be", readFileSync(join(field, "rates.toml"), "utf8"), after);
        await page.locator("#rates-swath").fill("40 ft");
        await page.locator("#rates-swath").press("Tab");
        await browsing.until(page, () => /^swath = "40 ?ft"/m.test(document.getElementById("rates-text").value));
        says("the file", readFileSync(join(field, "rates.toml"), "utf8"), /^swath = "40 ?ft"/m);
        same("what is wrong", (await wrong.innerText()).trim(), "");

        at("a plan");
        typed(`cp ${field}/rates.toml ${copy}/rates.toml`, elsewhere);
        await makesTheSame(local, "plan", elsewhere);

        at("a comparison");
        await page.locator("#earlier").selectOption("2025-04-14");
        await page.locator("#later").selectOption("2025-08-24");
        await makesTheSame(local, "compare", elsewhere);

        at("a field sheet");
        await page.locator("#spots-design").selectOption("grid");
        await makesTheSame(local, "spots", elsewhere);

        at("a report");
        await makesTheSame(local, "report", elsewhere);

        at("a job is stopped");
        const inResults = filesOf(join(field, "results"));
        await page.locator("#make-season").click();
        await page.locator("#stop-season").click();
        await browsing.until(page, () => document.getElementById("job-season").textContent.includes("Stopped"));
        same("files in the folder of results", filesOf(join(field, "results")), inResults);
        browsing.checkNoErrors({ errors: seen.errors.filter((error) => !/422/.test(error)) });

        at("all files as one");
        const { name, bytes } = await local.download(page.locator("#results-zip"));
        says("its name", name, /\.zip$/);
        same("its first bytes", bytes.subarray(0, 4).toString("latin1"), "PK\u0003\u0004");
        await context.close();
      };
      await withLocalPage("north-bench", run, folder);
    }),
  ),
);
