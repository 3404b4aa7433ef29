// The local page in two windows: neither undoes what the other chose.

import { readFileSync } from "node:fs";
import { join } from "node:path";
import * as browsing from "../harness/browser.mjs";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { copyOfField, withFolder } from "../harness/field.mjs";
import { newLocalPage } from "../harness/local_page.mjs";
import { withLocalPage } from "../harness/program.mjs";

const command = (local) => local.page.locator("#command-map").textContent();

await test("local page: two windows", () =>
  browsing.withBrowser((browser) =>
    withFolder(async (folder) => {
      const field = copyOfField(folder);
      await withLocalPage(field, async (address) => {
        const context = await browsing.newContext(browser);
        const first = await newLocalPage(context, address);
        await first.drawn();
        const second = await newLocalPage(context, address);
        await second.drawn();

        at("a choice in each");
        await second.page.locator("#method-mean").check();
        await browsing.until(second.page, () => document.getElementById("command-map").textContent.includes("--method mean"));
        await first.page.locator("#limit-1-number").fill("4");
        await first.page.locator("#limit-1-number").press("Tab");
        await browsing.until(first.page, () => document.getElementById("command-map").textContent.includes("--classes 4,6,"));
        says("the command in the first window", await command(first), "--method mean");
        check("its method", await first.page.locator("#method-mean").isChecked());
        const kept = readFileSync(join(field, "page.toml"), "utf8");
        says("the file of choices", kept, "mean");
        says("the file of choices", kept, "4,6,9");

        at("both after a reload");
        const before = await command(first);
        await second.page.reload();
        await second.drawn();
        same("the command", await command(second), before);
        check("the method", await second.page.locator("#method-mean").isChecked());
        same("the limit", await second.page.locator("#limit-1-number").inputValue(), "4");
        browsing.checkNoErrors(first.seen);
        browsing.checkNoErrors(second.seen);
        await context.close();
      });
    }),
  ),
);
