// The recording page: no reading is lost.

import { pathToFileURL } from "node:url";
import { join } from "node:path";
import { checkAccessible } from "../harness/accessibility.mjs";
import * as browsing from "../harness/browser.mjs";
import { at, check, same, says, test } from "../harness/checks.mjs";
import { PAGES, newRecorder } from "../harness/recorder.mjs";
import { withServed } from "../harness/served.mjs";

const HERE = [-95.6195, 41.9305, 5];

// A store as in a private window.
function refusedStore() {
  Storage.prototype.setItem = () => {
    throw new DOMException("The quota has been exceeded.", "QuotaExceededError");
  };
}

// A device whose other programs take plain text and nothing else.
function sharesOnlyText() {
  navigator.canShare = ({ files }) => files.every((file) => file.type === "text/plain");
  navigator.share = async ({ files }) => {
    window.sent = { name: files[0].name, text: await files[0].text() };
  };
}

// A device that sends a file only once it is told to.
function sharesInTime() {
  navigator.canShare = () => true;
  navigator.share = async ({ files }) => {
    window.sent = await files[0].text();
    await new Promise((done) => (window.letGo = done));
  };
}

// A store with room for everything but a copy of what cannot be read.
function noRoomAside() {
  const { setItem } = Storage.prototype;
  Storage.prototype.setItem = function (key, text) {
    if (key.includes("damaged")) throw new DOMException("The quota has been exceeded.", "QuotaExceededError");
    setItem.call(this, key, text);
  };
}

// A press in another window of the page, one minute on.
async function pressElsewhere(recorder, address, button) {
  const other = await recorder.context.newPage();
  await other.clock.setFixedTime(Date.parse("2026-04-20T09:01:00-05:00"));
  await other.goto(address);
  await browsing.until(other, () => receiver.fix);
  await other.getByRole("button", { name: button, exact: true }).tap();
  const isShown = (depth) => document.getElementById("here").textContent.includes(depth);
  await browsing.until(other, isShown, button);
  await other.close();
}

await test("recording page: the store", () =>
  browsing.withBrowser((browser) =>
    withServed(PAGES, async (server) => {
      const address = `${server}/any-field-us.html`;

      at("a store that is refused");
      let recorder = await newRecorder(browser, "about:blank");
      await recorder.page.addInitScript(refusedStore);
      await recorder.page.goto(address);
      says("the alert", await recorder.text("alert"), "This browser keeps nothing for this page");
      check("no recording can begin", await recorder.page.locator("#start").isDisabled());
      await browsing.picture(recorder.page, "record-no-store");
      await recorder.context.close();

      at("a store that fills up");
      recorder = await newRecorder(browser, address, { position: HERE });
      await recorder.setUp();
      await recorder.tap("9 in");
      await recorder.page.evaluate(refusedStore);
      await recorder.tap("12 in");
      says("the alert", await recorder.text("alert"), "NOT KEPT");
      same("what is shown", await recorder.text("here"), "Here: 9 in");
      same("the store", await recorder.kept(), ["A001 reached 9"]);
      await checkAccessible(recorder.page, "a full store");
      const saved = await recorder.save();
      same("readings in the file", saved.text.match(/"depth_in":9,/g)?.length, 1);
      await recorder.context.close();

      at("two windows of one page");
      recorder = await newRecorder(browser, address, { position: HERE });
      await recorder.setUp();
      await recorder.tap("9 in");
      await pressElsewhere(recorder, address, "6 in");
      await browsing.until(recorder.page, () =>
        document.getElementById("here").textContent.includes("9 in, 6 in"),
      );
      await recorder.tap("3 in");
      same("the store", await recorder.kept(), ["A001 reached 9", "A001 reached 6", "A001 reached 3"]);

      at("deleting asks first");
      await recorder.tap("Delete and start anew");
      says("the question", await recorder.text("ask-title"), "Delete 3 records from this device?");
      says("the question", await recorder.text("ask-words"), "in no saved file");
      await checkAccessible(recorder.page, "a question");
      await recorder.tap("Keep them");
      same("how many are stored", (await recorder.kept()).length, 3);
      await recorder.save();
      await recorder.tap("Delete and start anew");
      says("the question", await recorder.text("ask-words"), "All of them are in the file saved last.");
      await pressElsewhere(recorder, address, "12 in");
      await browsing.until(recorder.page, () => document.getElementById("tally").textContent.includes("4 insertions"));
      await recorder.tap("Delete 3 records");
      says("the alert", await recorder.text("alert"), "Nothing was deleted: another window of this page has recorded since.");
      same("how many are stored", (await recorder.kept()).length, 4);
      await recorder.tap("Delete and start anew");
      says("the question", await recorder.text("ask-words"), "in no saved file");
      await recorder.tap("Delete 4 records");
      same("the store", await recorder.kept(), []);
      check("the set-up is asked anew", await recorder.page.locator("#setup-form").isVisible());

      at("a recording of another page");
      await recorder.setUp();
      await recorder.tap("15 in");
      await recorder.page.goto(`${server}/north-bench.html`);
      says("the list", await recorder.text("other-list"), "Survey, 2026-04-20: 1 record");
      const download = recorder.page.waitForEvent("download");
      await recorder.page.getByRole("button", { name: /Save its file: Survey/ }).tap();
      same("its file", (await download).suggestedFilename(), "survey-2026-04-20.geojson");
      await checkAccessible(recorder.page, "the set-up with other recordings");
      await recorder.context.close();

      at("text in the store that is no recording");
      recorder = await newRecorder(browser, address);
      await recorder.page.evaluate(() => localStorage.setItem(KEY, '{"version":1,"presses":[{"wh'));
      await recorder.page.reload();
      check("a recording can begin", await recorder.page.locator("#start").isVisible());
      const kept = await recorder.page.evaluate(() => localStorage.getItem(`${KEY} damaged`));
      same("the text is kept", kept, '{"version":1,"presses":[{"wh');
      says("the list", await recorder.text("other-list"), "A recording that cannot be read");
      await recorder.page.evaluate(() => localStorage.setItem(KEY, "another text"));
      await recorder.page.reload();
      same("recordings that cannot be read", await recorder.page.locator("#other-list li").count(), 2);
      const both = () => [localStorage.getItem(`${KEY} damaged`), localStorage.getItem(`${KEY} damaged 2`)];
      same("both texts are kept", await recorder.page.evaluate(both), ['{"version":1,"presses":[{"wh', "another text"]);
      await recorder.page.evaluate(() => localStorage.setItem(KEY, "a third text"));
      await recorder.page.addInitScript(noRoomAside);
      await recorder.page.reload();
      says("the alert", await recorder.text("alert"), "cannot be read, and there is no room to set it aside");
      check("no recording can begin", await recorder.page.locator("#start").isDisabled());
      same("the text stays", await recorder.page.evaluate(() => localStorage.getItem(KEY)), "a third text");
      same("recordings that cannot be read, and can be saved", await recorder.page.locator("#other-list li").count(), 3);
      await checkAccessible(recorder.page, "a recording that cannot be set aside");
      await browsing.picture(recorder.page, "record-not-readable");
      await recorder.context.close();

      at("sending the file");
      recorder = await newRecorder(browser, "about:blank", { position: HERE });
      await recorder.page.addInitScript(sharesOnlyText);
      await recorder.page.goto(address);
      await recorder.setUp();
      check("nothing can be sent yet", await recorder.page.locator("#share").isHidden());
      await recorder.tap("9 in");
      await recorder.tap("Send the file");
      await browsing.until(recorder.page, () => window.sent);
      const sent = await recorder.page.evaluate(() => window.sent);
      same("its name", sent.name, "survey-2026-04-20.geojson.txt");
      same("its text", sent.text, (await recorder.save()).text);
      says("the tally", await recorder.text("tally"), "all in a saved file");
      await recorder.context.close();

      at("a press in another window while the file is sent");
      recorder = await newRecorder(browser, "about:blank", { position: HERE });
      await recorder.page.addInitScript(sharesInTime);
      await recorder.page.goto(address);
      await recorder.setUp();
      await recorder.tap("9 in");
      await recorder.tap("Send the file");
      await browsing.until(recorder.page, () => window.sent && window.letGo);
      await pressElsewhere(recorder, address, "6 in");
      await recorder.page.evaluate(() => window.letGo());
      await browsing.until(recorder.page, () => document.getElementById("said").textContent.includes("Sent."));
      says("what is said", await recorder.text("said"), "What was recorded since is not in it.");
      says("the tally", await recorder.text("tally"), "2 insertions; not yet in a file");
      await recorder.save();
      says("the tally", await recorder.text("tally"), "2 insertions; all in a saved file");
      await recorder.context.close();

      at("figures that cannot be");
      recorder = await newRecorder(browser, address, { position: HERE });
      await recorder.setUp({ units: "si", threshold: "1,379" });
      says("the alert", await recorder.text("alert"), "The threshold is a number from 140 to 7000, in kPa");
      check("the set-up stays", await recorder.page.locator("#setup-form").isVisible());
      await recorder.setUp({ units: "si", threshold: "1379", rod: "45,5" });
      await recorder.tap("Not reached: ≥ 45.5 cm");
      same("the store", await recorder.kept(), ["A001 not_reached 45.5"]);
      await recorder.context.close();

      at("the page as a file");
      const file = pathToFileURL(join(PAGES, "any-field-us.html")).href;
      recorder = await newRecorder(browser, file, { position: HERE });
      await recorder.setUp();
      await recorder.tap("9 in");
      await recorder.page.reload();
      same("what is shown after a reload", await recorder.text("here"), "Here: 9 in");
      browsing.checkSilent(recorder.seen, file);
      await browsing.checkPolicyInForce(recorder.page);
      await recorder.context.close();
    }),
  ),
);
