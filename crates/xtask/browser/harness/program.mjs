// The program that is tested.

import { spawn, spawnSync } from "node:child_process";

// Debug build, made before the tests.
export const PROGRAM = process.env.LOOSEDEPTH;
// The folder of the workspace.
export const ROOT = process.env.WORKSPACE;

// Runs it to its end.
export function loosedepth(...given) {
  const ended = spawnSync(PROGRAM, given, { cwd: ROOT, encoding: "utf8" });
  if (ended.error) throw ended.error;
  return { code: ended.status, out: ended.stdout, err: ended.stderr };
}

// Starts the local page of a folder, hands its address to `run`, and ends that process whatever happens.
export async function withLocalPage(folder, run) {
  const server = spawn(PROGRAM, ["open", folder, "--no-browser"], { cwd: ROOT });
  let err = "";
  server.stderr.on("data", (data) => (err += data));
  const ended = new Promise((done) => server.once("exit", done));
  try {
    const address = await new Promise((found, failed) => {
      let out = "";
      server.stdout.on("data", (data) => {
        out += data;
        const address = out.match(/http:\/\/127\.0\.0\.1:\d+\/\S*/);
        if (address) found(address[0]);
      });
      server.once("error", failed);
      server.once("exit", (code) => failed(new Error(`ended with ${code} unasked\n${out}${err}`)));
    });
    await run(address, server);
  } finally {
    server.kill("SIGTERM");
    await ended;
  }
}
