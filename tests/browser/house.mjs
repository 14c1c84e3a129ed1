// A demonstration studio for one test file, and people who look at it in a real browser.
import { spawn } from "node:child_process";
import { createInterface } from "node:readline";
import { mkdtempSync, mkdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const require = createRequire(import.meta.url);
const AXE = require.resolve("axe-core/axe.min.js");
export const PICTURES = process.env.WETSIDE_PICTURES ?? join(tmpdir(), "wetside-pictures");

const QUIET = [
  "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
  "--disable-background-networking", "--disable-component-update", "--disable-sync",
];

/** Starts the program's demonstration and the browser. */
export async function open() {
  mkdirSync(PICTURES, { recursive: true });
  const folder = mkdtempSync(join(tmpdir(), "wetside-browser-"));
  const server = spawn(process.env.WETSIDE_BIN, ["demo", "--json", "--port", "0", "--keep", folder], {
    stdio: ["ignore", "pipe", "inherit"],
    env: { ...process.env, DATABASE_URL: "" },
  });
  const lines = createInterface({ input: server.stdout });
  const first = await new Promise((done, fail) => {
    lines.once("line", done);
    server.once("exit", (code) => fail(new Error(`the program ended with ${code}`)));
  });
  const { url, people } = JSON.parse(first);
  const browser = await chromium.launch({ executablePath: "/usr/bin/chromium", args: QUIET });
  return {
    url,
    people,
    /** A page for a person of this role, or for nobody. */
    async page(role, options = {}) {
      const context = await browser.newContext({ baseURL: url, ...options });
      const page = await context.newPage();
      page.faults = watch(page, url);
      if (role) {
        const person = people.find((p) => p.role === role);
        await page.goto("/sign-in");
        await page.fill("#email", person.email);
        await page.fill("#password", person.password);
        await page.click("main button.do");
        await page.waitForURL((at) => !at.pathname.startsWith("/sign-in"));
      }
      return page;
    },
    async close() {
      await browser.close();
      const ended = new Promise((done) => server.once("exit", done));
      server.kill("SIGTERM");
      await ended;
    },
  };
}

/** Collects what must never happen: script faults, policy violations, requests to elsewhere. */
function watch(page, url) {
  const faults = [];
  page.on("pageerror", (e) => faults.push(`script: ${e.message}`));
  page.on("console", (m) => {
    // A page that answers with an error on purpose is logged by the browser as well.
    if (m.type() === "error" && !m.text().includes("the server responded with a status")) {
      faults.push(`console: ${m.text()}`);
    }
  });
  page.on("request", (r) => {
    if (!r.url().startsWith(url) && !r.url().startsWith("data:")) faults.push(`elsewhere: ${r.url()}`);
  });
  return faults;
}

/** What axe finds wrong with the page as it stands. */
export async function axe(page) {
  // The page's own policy forbids foreign script, so the checker is run beside it.
  await page.evaluate(await readFile(AXE));
  return page.evaluate(async () => {
    const found = await window.axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"],
    });
    return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).slice(0, 3).join(" | ")}`);
  });
}

async function readFile(path) {
  const { readFile } = await import("node:fs/promises");
  return readFile(path, "utf8");
}

/** How many pixels the page is wider than its window. */
export function overhang(page) {
  return page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
}
