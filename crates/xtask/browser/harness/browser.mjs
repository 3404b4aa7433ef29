// Chromium as Debian packages it, and pages in it that are watched.

import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { check } from "./checks.mjs";

// Where pictures, printed pages and files that were saved go: `target/browser`.
export const OUT = process.env.BROWSER_OUT;

// A phone that is held upright, and a screen on a desk.
export const PHONE = {
  viewport: { width: 390, height: 844 },
  deviceScaleFactor: 2,
  isMobile: true,
  hasTouch: true,
};
export const DESK = { viewport: { width: 1280, height: 900 } };

// Starts the browser, hands it to `run`, and ends it whatever happens.
export async function withBrowser(run) {
  mkdirSync(OUT, { recursive: true });
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM,
    // Debian's sandbox needs rights that root in a container does not have.
    args: ["--no-sandbox", "--disable-dev-shm-usage"],
  });
  try {
    await run(browser);
  } finally {
    await browser.close();
  }
}

// A context of its own: nothing kept from other tests, always the same language and zone of time.
export function newContext(browser, options = {}) {
  return browser.newContext({
    locale: "en-US",
    timezoneId: "America/Chicago",
    acceptDownloads: true,
    ...DESK,
    ...options,
  });
}

// A page that remembers what it asked of the network, what it logged as an error, and what it threw.
export async function newPage(context) {
  const page = await context.newPage();
  page.setDefaultTimeout(60_000);
  const seen = { requests: [], errors: [], page };
  page.on("request", (request) => seen.requests.push(`${request.method()} ${request.url()}`));
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) seen.errors.push(message.text());
  });
  page.on("pageerror", (error) => seen.errors.push(String(error)));
  return { page, seen };
}

// Nothing was asked of the network but the file itself, and nothing was logged as an error.
export function checkSilent(seen, itself) {
  const others = seen.requests.filter((request) => {
    const address = request.slice(request.indexOf(" ") + 1);
    return !(address === itself || /^(data|blob):/.test(address));
  });
  check("nothing is asked of the network", others.length === 0, others);
  checkNoErrors(seen);
}

// Nothing was logged as an error.
export function checkNoErrors(seen) {
  check("the console has no errors and warnings", seen.errors.length === 0, seen.errors);
}

// The page is no wider than the window, and nothing on it sticks out to the right.
export async function checkNoSidewaysScroll(page) {
  const found = await page.evaluate(() => {
    const { scrollWidth, clientWidth } = document.documentElement;
    const out = [...document.body.querySelectorAll("*")].filter((element) => {
      const { right, width, height } = element.getBoundingClientRect();
      return width > 0 && height > 0 && right > clientWidth + 1 && !isClipped(element);
    });
    // What scrolls or is cut within a part of the page does not widen the page.
    function isClipped(element) {
      for (let e = element.parentElement; e && e !== document.body; e = e.parentElement) {
        if (getComputedStyle(e).overflowX !== "visible") return true;
      }
      return element instanceof SVGElement && !(element instanceof SVGSVGElement);
    }
    return { scrollWidth, clientWidth, out: out.slice(0, 5).map((e) => e.outerHTML.slice(0, 160)) };
  });
  const fits = found.scrollWidth <= found.clientWidth && found.out.length === 0;
  check("the page does not scroll sideways", fits, found);
}

// The policy of the page refuses a script that is not its own, a style and a request.
export async function checkPolicyInForce(page) {
  const broken = await page.evaluate(async () => {
    const refused = [];
    document.addEventListener("securitypolicyviolation", (event) => {
      refused.push(event.effectiveDirective);
    });
    const script = document.createElement("script");
    script.textContent = "window.foreignScriptRan = true";
    document.head.append(script);
    script.remove();
    const style = document.createElement("style");
    style.textContent = "html { --foreign-style: 1 }";
    document.head.append(style);
    const styled = getComputedStyle(document.documentElement).getPropertyValue("--foreign-style");
    style.remove();
    const fetched = await fetch("https://example.com/").then(() => true, () => false);
    const evaluated = (() => {
      const button = document.createElement("button");
      button.setAttribute("onclick", "window.foreignScriptRan = true");
      button.click();
      return Boolean(window.foreignScriptRan);
    })();
    // The events come as tasks of their own, in this order or before an event that is sent last.
    await new Promise((done) => setTimeout(done, 0));
    return { scriptRan: Boolean(window.foreignScriptRan), styled, fetched, evaluated, refused };
  });
  check("no foreign script runs", !broken.scriptRan && !broken.evaluated, broken);
  check("no foreign style counts", broken.styled === "", broken);
  check("the page cannot ask the network", broken.fetched === false, broken);
  check("the policy refuses requests", broken.refused.includes("connect-src"), broken);
}

// Takes a picture for people to look at.
export function picture(page, name, options = {}) {
  return page.screenshot({ path: join(OUT, `${name}.png`), animations: "disabled", ...options });
}

// Waits until a question, asked of the page over and over, is answered with yes. Where it never is, says
// which question, and what the page warns of.
export async function until(page, question, argument) {
  try {
    return await page.waitForFunction(question, argument);
  } catch (error) {
    const warnings = await page.locator("[role=alert]").allInnerTexts();
    throw new Error(`${error.message}\nasked: ${question}\nalerts: ${warnings.filter(Boolean).join(" | ")}`);
  }
}
