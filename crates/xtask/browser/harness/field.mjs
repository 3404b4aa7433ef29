// The demo field, copied so that a test can write into it.

import { cpSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { ROOT } from "./program.mjs";

export const DEMO = join(ROOT, "demo-data/north-bench");

// A new folder that is handed to `run`, and deleted whatever happens.
export async function withFolder(run) {
  const folder = mkdtempSync(join(tmpdir(), "loosedepth-browser-"));
  try {
    await run(folder);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

// A copy of the demo field in such a folder, without results.
export function copyOfField(folder, name = "north-bench") {
  const field = join(folder, name);
  cpSync(DEMO, field, { recursive: true, filter: (path) => !path.includes("results") });
  return field;
}
