// What is looked at on every page: faults of scripts and policy, requests to elsewhere, weight,
// width, and what axe finds.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const AXE = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

/** Collects what must never happen: script faults, policy violations, requests to elsewhere. */
export function watch(page, url) {
  const faults = [];
  page.on("pageerror", (e) => faults.push(`script: ${e.message}`));
  page.on("console", (m) => {
    // A page that answers with an error on purpose is logged by the browser as well.
    if (m.type() === "error" && !m.text().includes("the server responded with a status")) {
      faults.push(`console: ${m.text()}`);
    }
  });
  const home = new URL(url).origin;
  page.on("request", (r) => {
    const at = new URL(r.url());
    if (at.origin !== home && at.protocol !== "data:") faults.push(`elsewhere: ${r.url()}`);
  });
  return faults;
}

/** Weighs what each page brings along when nothing of it is cached: bytes sent, and unpacked. */
export async function scales(page) {
  const wire = await page.context().newCDPSession(page);
  await wire.send("Network.enable");
  await wire.send("Network.setCacheDisabled", { cacheDisabled: true });
  const weight = { sent: 0, unpacked: 0 };
  wire.on("Network.loadingFinished", (e) => { weight.sent += e.encodedDataLength; });
  wire.on("Network.dataReceived", (e) => { weight.unpacked += e.dataLength; });
  return weight;
}

/** What axe finds wrong with the page as it stands. */
export async function axe(page, rules) {
  // The page's own policy forbids foreign script, so the checker is run beside it.
  await page.evaluate(AXE);
  return page.evaluate(async (values) => {
    const runOnly = { type: values.only ? "rule" : "tag", values: values.only ?? values.tags };
    const found = await window.axe.run(document, { runOnly, preload: false, resultTypes: ["violations"] });
    return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).slice(0, 3).join(" | ")}`);
  }, { only: rules, tags: RULES });
}

/** How many pixels the page is wider than its window. */
export function overhang(page) {
  return page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
}

/** The paths on this server to which the page links. */
export function links(page) {
  return page.evaluate(() => [...new Set([...document.querySelectorAll("a[href]")]
    .filter((a) => a.origin === location.origin && a.getAttribute("href")[0] !== "#")
    .map((a) => a.pathname))]);
}
