// Talks to the program that serves this page, and says when it is gone.

/** What the program refuses, in its own sentences. */
export class Refused extends Error {
  constructor(status, body) {
    super(body.error ?? "the program did not say what is wrong");
    this.status = status;
    this.because = body.because ?? [];
    this.body = body;
  }
}

/** The program does not answer. */
export class Gone extends Error {}

const listeners = [];
let isGone = false;

/** Calls back with true when the program stops answering and with false when it answers again. */
export function onGone(listener) {
  listeners.push(listener);
}

/** Whether the program answers; asked again and again while it does not. */
async function whileGone() {
  while (isGone) {
    await new Promise((done) => setTimeout(done, 2000));
    await get("api/state").catch(() => null);
  }
}

function tell(gone) {
  if (gone === isGone) return;
  isGone = gone;
  for (const listener of listeners) listener(gone);
  if (gone) whileGone();
}

async function ask(address, options) {
  let answer;
  let body;
  try {
    answer = await fetch(address, options);
    body = await answer.text();
  } catch (problem) {
    tell(true);
    throw new Gone(String(problem));
  }
  tell(false);
  const parsed = read(body);
  if (!answer.ok) throw new Refused(answer.status, parsed ?? { error: body || answer.statusText });
  return parsed;
}

function read(body) {
  try {
    return JSON.parse(body);
  } catch {
    return null;
  }
}

/** Asks for JSON. */
export const get = (address) => ask(address, {});

/** Sends JSON and gets JSON. */
export const post = (address, value = {}) =>
  ask(address, {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(value),
  });

/** Sends files. */
export function send(address, files) {
  const form = new FormData();
  for (const file of files) form.append("file", file, file.name);
  return ask(address, { method: "POST", body: form });
}
