// WCAG 2.2 AA, as far as axe-core can tell.

import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { check } from "./checks.mjs";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];
const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

// No rule of these levels is broken, and rules were tried.
export async function checkAccessible(page, what) {
  // Brought in by the debugger, for which the page's policy does not count: it stays in force.
  const debuggerOfPage = await page.context().newCDPSession(page);
  await debuggerOfPage.send("Runtime.evaluate", { expression: AXE });
  await debuggerOfPage.detach();
  const found = await page.evaluate(async (tags) => {
    const result = await window.axe.run(document, {
      runOnly: { type: "tag", values: tags },
      resultTypes: ["violations"],
    });
    return {
      passes: result.passes.length,
      violations: result.violations.map((violation) => ({
        rule: violation.id,
        help: violation.help,
        at: violation.nodes.slice(0, 4).map((node) => ({
          html: node.html.slice(0, 200),
          why: node.failureSummary?.slice(0, 300),
        })),
      })),
    };
  }, TAGS);
  check(`${what}: rules were tried`, found.passes >= 4, found.passes);
  check(`${what}: no rule of WCAG 2.2 AA is broken`, found.violations.length === 0, found.violations);
}
