// Pages as they come out of a printer.

import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { OUT } from "./browser.mjs";

// Prints to PDF, and gives the text of every page with its size in points.
export async function printed(page, name, format) {
  const path = join(OUT, `${name}.pdf`);
  await page.pdf({ path, format, printBackground: true, preferCSSPageSize: false });
  const reader = join(process.env.WORKSPACE, "crates/xtask/browser/read_pdf.py");
  const ended = spawnSync(process.env.PYTHON, [reader, path, path.replace(/\.pdf$/, "")], {
    encoding: "utf8",
    maxBuffer: 1 << 26,
  });
  if (ended.status !== 0) throw new Error(`${path} cannot be read: ${ended.error ?? ended.stderr}`);
  return JSON.parse(ended.stdout);
}
