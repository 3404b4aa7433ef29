// A folder on a web server of this machine, as a recording page lies on one.

import { readFileSync } from "node:fs";
import { createServer } from "node:http";
import { join } from "node:path";

// Serves a folder, hands its address to `run`, and ends the server whatever happens.
export async function withServed(folder, run) {
  const server = createServer((request, response) => {
    try {
      const body = readFileSync(join(folder, new URL(request.url, "http://here").pathname));
      response.writeHead(200, { "Content-Type": "text/html; charset=utf-8" }).end(body);
    } catch {
      response.writeHead(404).end();
    }
  });
  await new Promise((listening) => server.listen(0, "127.0.0.1", listening));
  try {
    await run(`http://127.0.0.1:${server.address().port}`);
  } finally {
    server.closeAllConnections();
    await new Promise((closed) => server.close(closed));
  }
}
