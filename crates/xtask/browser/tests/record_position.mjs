// The recording page: no reading without a position that can be trusted.

import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, near, same, says, test } from "../harness/checks.mjs";
import { PAGES, newRecorder } from "../harness/recorder.mjs";
import { withServed } from "../harness/served.mjs";

const HERE = [-95.6195, 41.9305];
// About 60 m to the east of it.
const THERE = [-95.6187758, 41.9305];

// A receiver that the test speaks for, with the time it says it took each fix.
function receiverOfTest() {
  const listeners = [];
  Object.defineProperty(navigator, "geolocation", {
    value: { watchPosition: (told) => listeners.push(told), clearWatch: () => listeners.splice(0) },
  });
  window.tell = (ageMs, accuracy) => {
    const coords = { longitude: -95.6195, latitude: 41.9305, accuracy };
    for (const told of listeners) told({ coords, timestamp: Date.now() - ageMs });
  };
}

await test("recording page: positions", () =>
  browsing.withBrowser((browser) =>
    withServed(PAGES, async (server) => {
      const address = `${server}/any-field-us.html`;

      at("no position is given");
      let recorder = await newRecorder(browser, address);
      await recorder.setUp();
      await browsing.until(recorder.page, () => receiver.problem.includes("may not use"));
      await recorder.tap("9 in");
      says("the alert", await recorder.text("alert"), /Not recorded.*may not use your position/);
      same("the store", await recorder.kept(), []);
      check("nothing is listed", (await recorder.text("list")) === "Nothing yet");
      await recorder.context.close();

      at("a position that grows old");
      recorder = await newRecorder(browser, address, { position: [...HERE, 5] });
      await recorder.setUp();
      await recorder.stand(...HERE, 5);
      await recorder.wait(15);
      const nine = recorder.page.getByRole("button", { name: "9 in", exact: true });
      await nine.tap();
      same("the store", await recorder.kept(), ["A001 reached 9"]);
      await recorder.wait(1);
      await nine.tap();
      says("the alert", await recorder.text("alert"), "The position is 16 s old; it may be 15 s");
      same("the store", await recorder.kept(), ["A001 reached 9"]);
      await browsing.until(recorder.page, () =>
        document.getElementById("position-warning").textContent.includes("16 s old"),
      );
      same("the position", await recorder.text("position"), "Position 16 s old: too old");
      await browsing.picture(recorder.page, "record-old-position");
      const top = async () => (await nine.boundingBox()).y;
      const whileOld = await top();
      await recorder.tap("9 in");
      near("how far the button moved, px", (await top()) - whileOld, 0, 0.5);
      same("the store with a new one", await recorder.kept(), ["A001 reached 9", "A001 reached 9"]);
      check("the alert is gone", await recorder.page.locator("#alert").isHidden());

      at("a position that errs");
      await recorder.stand(...HERE, 13);
      check("13 m is no warning", await recorder.page.locator("#position-warning").isHidden());
      await recorder.stand(...HERE, 20);
      same("the position", await recorder.text("position"), "Position ± 66 ft, 0 s old: poor");
      says("the warning", await recorder.text("position-warning"), "Poor position: off by more than 43 ft.");
      await browsing.picture(recorder.page, "record-poor-position");
      await checkAccessible(recorder.page, "a poor position");

      at("a person who has moved");
      await recorder.stand(...THERE, 4);
      await recorder.tap("6 in");
      says("the question", await recorder.text("ask-title"), "Is this still A001?");
      says("the question", await recorder.text("ask-words"), "You are 196 ft from where you recorded it.");
      await browsing.picture(recorder.page, "record-moved");
      await recorder.page.keyboard.press("Escape");
      same("how many are stored", (await recorder.kept()).length, 2);
      await recorder.tap("6 in");
      await recorder.tap("No: it is A002");
      same("the end of the store", (await recorder.kept()).slice(-2), ["A001 next", "A002 reached 6"]);
      await recorder.tap("Undo 6 in at A002");
      same("how many are stored", (await recorder.kept()).length, 2);
      await recorder.tap("Put back 6 in at A002");
      same("the end of the store", (await recorder.kept()).slice(-2), ["A001 next", "A002 reached 6"]);
      await recorder.context.close();

      at("times of the receiver");
      recorder = await newRecorder(browser, "about:blank");
      await recorder.page.addInitScript(receiverOfTest);
      await recorder.page.goto(address);
      await recorder.setUp();
      const tell = (ageMs) => recorder.page.evaluate((ageMs) => window.tell(ageMs, 5), ageMs);
      const three = recorder.page.getByRole("button", { name: "3 in", exact: true });
      await tell(300_000);
      await three.tap();
      says("a fix kept from before is old", await recorder.text("alert"), "The position is 5 min old");
      await tell(1_000);
      await three.tap();
      same("the store", await recorder.kept(), ["A001 reached 3"]);
      // The receiver's clock is 40 s behind: the first fixes look old, and then they are understood.
      await recorder.page.reload();
      for (const [k, is] of [[1, "40 s old"], [2, "40 s old"], [3, "0 s old"]]) {
        await recorder.wait(2);
        await tell(40_000);
        says(`the age of fix ${k}`, await recorder.text("position"), is);
      }
      await recorder.wait(2);
      await recorder.page.evaluate(() => window.tell(-5_000, 5));
      says("a fix from the future is of now", await recorder.text("position"), "0 s old");
      await recorder.context.close();
    }),
  ),
);
