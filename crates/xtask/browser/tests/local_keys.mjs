// The local page by keyboard alone.

import * as browsing from "../harness/browser.mjs";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { copyOfField, withFolder } from "../harness/field.mjs";
import { newLocalPage } from "../harness/local_page.mjs";
import { withLocalPage } from "../harness/program.mjs";

await test("local page: keyboard", () =>
  browsing.withBrowser((browser) =>
    withFolder((folder) =>
      withLocalPage(copyOfField(folder), async (address) => {
        const context = await browsing.newContext(browser, { reducedMotion: "reduce" });
        const local = await newLocalPage(context, address);
        const { page } = local;
        const { keyboard } = page;
        await local.drawn();
        const focused = () => page.evaluate(() => document.activeElement.id || document.activeElement.className);
        // Goes on until what has the focus is the one wanted.
        const tabTo = async (wanted) => {
          for (let k = 0; k < 250; k += 1) {
            if ((await focused()) === wanted) return;
            await keyboard.press("Tab");
          }
          check(`the key Tab reaches ${wanted}`, false, await focused());
        };

        at("the map can be passed over");
        await keyboard.press("Tab");
        same("what has the focus first", await focused(), "skip");
        await keyboard.press("Enter");
        check("the address leads there", page.url().endsWith("#measured"), page.url());
        await page.goto(address);
        await local.drawn();

        at("the map is read");
        for (let k = 0; k < 80 && !(await focused()).includes("map-stage"); k += 1) await keyboard.press("Tab");
        check("the map has the focus", (await focused()).includes("map-stage"), await focused());
        await keyboard.press("ArrowRight");
        says("the readout", await page.locator(".map-readout").innerText(), /map \d+(\.\d)? in/);

        at("a limit is moved");
        await tabTo("limit-1");
        await local.redrawnBy(() => keyboard.press("ArrowRight"));
        says("the command", await page.locator("#command-map").textContent(), "--classes 3.5,");

        at("a method is chosen");
        await tabTo("method-idw");
        const before = await local.text("check-words");
        await keyboard.press("ArrowDown");
        check("kriging is chosen", await page.locator("#method-kriging").isChecked());
        await browsing.until(page, (before) => document.getElementById("check-words").innerText !== before, before);

        at("two visits are compared");
        await tabTo("compare");
        await keyboard.press("Enter");
        await browsing.until(page, () => document.getElementById("compare-words").textContent.trim());

        at("the map is made");
        await tabTo("make-map");
        await keyboard.press("Enter");
        await browsing.until(page, () => /Done/.test(document.getElementById("job-map").textContent));
        const ring = await page.evaluate(() => {
          const { outlineStyle, outlineWidth } = getComputedStyle(document.activeElement);
          return `${outlineStyle} ${parseFloat(outlineWidth)}`;
        });
        check("what has the focus is ringed", /^(solid|auto) [1-9]/.test(ring), ring);
        await context.close();
      }),
    ),
  ),
);
