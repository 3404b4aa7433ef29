// The harness itself: it sees the faults that the other tests rely on it to see.

import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, faultsOf, near, same, says, test } from "../harness/checks.mjs";
import { printed } from "../harness/printed.mjs";

const page = (head, body) =>
  `<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>A page</title>${head}</head>` +
  `<body><main><h1>A page</h1>${body}</main></body></html>`;
const STRICT = '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'">';
const SOUND = page(STRICT, "<p>Nothing is wrong here.</p>");

// Of a page: what a question says is wrong with it.
async function wrongWith(browser, html, question) {
  const context = await browsing.newContext(browser, { viewport: { width: 390, height: 800 } });
  const { page, seen } = await browsing.newPage(context);
  await page.setContent(html);
  const faults = await faultsOf(() => question(page, seen));
  await context.close();
  return faults;
}

await test("the harness", () =>
  browsing.withBrowser(async (browser) => {
    at("a broken page is seen");
    for (const [what, html, question] of [
      ["a button without a name", page("", "<button></button>"), (p) => checkAccessible(p, "page")],
      ["pale text", page("", '<p style="color: #bbb">pale</p>'), (p) => checkAccessible(p, "page")],
      [
        "a page that is too wide",
        page("", '<div style="width: 500px">wide</div>'),
        browsing.checkNoSidewaysScroll,
      ],
      [
        "a request",
        page("", '<img alt="" src="http://127.0.0.1:9/a.png">'),
        (_, seen) => browsing.checkSilent(seen, "about:blank"),
      ],
      [
        "an error of a script",
        page("", "<script>nothingHere()</script>"),
        (_, seen) => browsing.checkNoErrors(seen),
      ],
      ["a page without a policy", page("", "<p>open</p>"), browsing.checkPolicyInForce],
    ]) {
      const faults = await wrongWith(browser, html, question);
      check(`${what} is a fault`, faults.length > 0, faults);
    }

    at("a sound page has no fault");
    for (const [what, question] of [
      ["it is accessible", (p) => checkAccessible(p, "page")],
      ["it fits", browsing.checkNoSidewaysScroll],
      ["it is silent", (_, seen) => browsing.checkSilent(seen, "about:blank")],
    ]) {
      same(what, await wrongWith(browser, SOUND, question), []);
    }

    at("a failed check says what was seen");
    const faults = await faultsOf(() => same("the number", 3, 4));
    says("the fault", faults[0], /the number is 4; seen: 3/);

    at("a printed page is read");
    const context = await browsing.newContext(browser);
    const { page: sheet } = await browsing.newPage(context);
    await sheet.setContent(page("<style>@page { margin: 20mm }</style>", "<p>in print</p>"));
    for (const [format, width, height] of [["A4", 595, 842], ["Letter", 612, 792]]) {
      const pages = await printed(sheet, `harness-${format}`, format);
      same("how many pages there are", pages.length, 1);
      near("its width", pages[0].width_pt, width, 1.5);
      near("its height", pages[0].height_pt, height, 1.5);
      says("the page", pages[0].text, "in print");
    }
  }),
);
