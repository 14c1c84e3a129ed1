// A demonstration studio for one test file, and people who look at it in a real browser.
import { spawn } from "node:child_process";
import { createInterface } from "node:readline";
import { mkdtempSync, mkdirSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { launch } from "./chromium.mjs";
import { watch } from "./watch.mjs";

export const PICTURES = process.env.WETSIDE_PICTURES ?? join(tmpdir(), "wetside-pictures");

/** An afternoon, so that what is looked at does not hang on the hour at which somebody tests. */
const AFTERNOON = `${new Date().toISOString().slice(0, 10)}T14:00:00`;

/** Starts the program's demonstration, with more to say to it where that is wanted, and the browser. */
export async function open(more = ["--starts-at", AFTERNOON]) {
  mkdirSync(PICTURES, { recursive: true });
  const folder = mkdtempSync(join(tmpdir(), "wetside-browser-"));
  const server = spawn(process.env.WETSIDE_BIN, ["demo", "--json", "--port", "0", "--keep", folder, ...more], {
    stdio: ["ignore", "pipe", "inherit"],
    env: { ...process.env, DATABASE_URL: "" },
  });
  const lines = createInterface({ input: server.stdout });
  const first = await new Promise((done, fail) => {
    lines.once("line", done);
    server.once("exit", (code) => fail(new Error(`the program ended with ${code}`)));
  });
  const { url, people } = JSON.parse(first);
  const browser = await launch();
  return {
    url,
    people,
    folder,
    /** A page for a person, for one of this role, or for nobody. */
    async page(role, options = {}) {
      const context = await browser.newContext({ baseURL: url, ...options });
      const page = await context.newPage();
      page.faults = watch(page, url);
      if (role) {
        const person = role.email ? role : people.find((p) => p.role === role);
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
