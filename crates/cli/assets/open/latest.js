// One request at a time; of those that wait only the latest counts.

import { Gone, Refused } from "./server.js";

/** How long to wait before what was dropped is asked for again. */
const PAUSE_MS = 150;

/**
 * A function that takes what is wanted and asks for it with `ask`. While one request is on its way the next waits,
 * and a later one takes its place. `show` gets the answer, what was asked, and whether a later one waits.
 */
export function latest({ ask, show, fail, busy = () => {} }) {
  let wanted = null;
  let isRunning = false;

  async function run() {
    isRunning = true;
    busy(true);
    while (wanted !== null) {
      const sent = wanted;
      wanted = null;
      try {
        const answer = await ask(sent);
        show(answer, sent, wanted !== null);
      } catch (problem) {
        if (problem instanceof Gone) {
          wanted = wanted ?? sent;
          break;
        }
        const isOld = problem instanceof Refused && problem.body.superseded;
        if (isOld) {
          // Another window was drawn for in its place: it is asked for again unless something newer is wanted.
          wanted ??= sent;
          await new Promise((done) => setTimeout(done, PAUSE_MS));
        } else if (wanted === null) fail(problem, sent);
      }
    }
    isRunning = false;
    busy(false);
  }

  const want = (value) => {
    wanted = value;
    if (!isRunning) run();
  };
  /** Sends again what could not be sent while the program was gone. */
  want.again = () => {
    if (wanted !== null && !isRunning) run();
  };
  /** Whether nothing is on its way. */
  want.isIdle = () => !isRunning && wanted === null;
  return want;
}
