// The server of the local page: whom it answers, and what it says.

import { request } from "node:http";
import { connect } from "node:net";
import { networkInterfaces } from "node:os";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { copyOfField, withFolder } from "../harness/field.mjs";
import { withLocalPage } from "../harness/program.mjs";

// Asks as any program could, with headers of its own.
function ask(address, { method = "GET", headers = {}, body } = {}) {
  return new Promise((answered, failed) => {
    const asked = request(address, { method, headers, agent: false }, (response) => {
      let text = "";
      response.setEncoding("utf8");
      response.on("data", (data) => (text += data));
      response.on("end", () => answered({ status: response.statusCode, headers: response.headers, text }));
    });
    asked.on("error", failed);
    asked.end(body);
  });
}

// Whether something listens at a port of another address of this machine.
function listens(host, port) {
  return new Promise((answer) => {
    const socket = connect({ host, port, timeout: 5000 });
    socket.once("connect", () => answer(true));
    socket.once("error", () => answer(false));
    socket.once("timeout", () => answer(false));
    socket.once("close", () => answer(false));
  });
}

await test("local page: its server", () =>
  withFolder((folder) =>
    withLocalPage(copyOfField(folder), async (address) => {
      const { port, origin, pathname } = new URL(address);

      at("its own page");
      const page = await ask(address);
      same("its status", page.status, 200);
      const headers = {
        "content-security-policy":
          "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; " +
          "connect-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'",
        "referrer-policy": "no-referrer",
        "x-content-type-options": "nosniff",
        "cache-control": "no-store",
      };
      for (const [name, value] of Object.entries(headers)) same(`its header ${name}`, page.headers[name], value);
      says("the token of 128 bits", pathname, /^\/[0-9a-f]{32}\/$/);

      at("others are sent away");
      const state = `${address}api/state`;
      for (const host of [`localhost:${port}`, `127.0.0.1:${port}`]) {
        same(`status for the host ${host}`, (await ask(state, { headers: { Host: host } })).status, 200);
      }
      for (const host of ["example.com", `example.com:${port}`, "127.0.0.1", `127.0.0.1.example.com:${port}`]) {
        same(`status for the host ${host}`, (await ask(state, { headers: { Host: host } })).status, 403);
      }
      for (const from of ["https://example.com", "null", `http://127.0.0.1:${Number(port) + 1}`]) {
        same(`status for the origin ${from}`, (await ask(state, { headers: { Origin: from } })).status, 403);
      }
      same("status for its own origin", (await ask(state, { headers: { Origin: origin } })).status, 200);
      const wrong = pathname.replace(/[0-9a-f]/, (digit) => (digit === "0" ? "1" : "0"));
      for (const path of ["/", "/api/state", `${wrong}api/state`, `${pathname.slice(0, -2)}/api/state`]) {
        same(`status at ${path}`, (await ask(`${origin}${path}`)).status, 404);
      }
      for (const path of ["api/results/../loosedepth.toml", "api/results/%2e%2e/loosedepth.toml", "assets/../../Cargo.toml"]) {
        const answer = await ask(`${address}${path}`);
        check(`nothing outside is given at ${path}`, answer.status === 404, answer);
      }
      const json = { "Content-Type": "application/json" };
      const large = await ask(`${address}api/choices`, { method: "POST", headers: json, body: `"${"x".repeat(3e6)}"` }).catch(
        (error) => ({ status: error.code }),
      );
      check("a body of 3 MB is refused", [413, "ECONNRESET", "EPIPE"].includes(large.status), large);
      const flag = await ask(`${address}api/choices`, {
        method: "POST",
        headers: json,
        body: JSON.stringify({ visit: "2025-04-14", flags: { map: { out: "/tmp/elsewhere" } } }),
      });
      check("no flag can say where to write", flag.status >= 400 && flag.status < 500, flag);
      says("why", JSON.parse(flag.text).error, "out");

      at("on this machine only");
      const others = Object.values(networkInterfaces()).flat().filter((one) => !one.internal);
      check("it listens at 127.0.0.1", await listens("127.0.0.1", port));
      for (const { address } of others) {
        check(`it does not listen at ${address}`, !(await listens(address, port)));
      }
    }),
  ),
);
