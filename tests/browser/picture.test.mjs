// The pictures in README.md: taken by this test, kept in the repository when asked for with
// WETSIDE_WRITE_PICTURE=1. The days in them differ from one run to the next, so they are held
// against the README by their names, their kind and their sizes only.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { readFileSync, statSync, writeFileSync } from "node:fs";
import { open } from "./house.mjs";

const day = (ahead) => new Date(Date.now() + ahead * 24 * 3600 * 1000).toISOString().slice(0, 10);

/** What is looked at: its file, at what size, where, and what stands at its top. */
const PICTURES = [
  { file: "board", width: 1200, height: 900, at: () => `/board?date=${day(3)}`,
    top: (page) => page.getByRole("rowheader", { name: "16:00" }).first() },
  { file: "sheet", width: 1000, height: 900, at: () => `/days/${day(0)}`,
    top: (page) => page.getByRole("heading", { name: "Runs", exact: true }) },
  { file: "bath", width: 1000, height: 620, at: () => "/baths/12",
    top: (page) => page.getByRole("heading", { name: "Its life so far" }) },
  { file: "sink", width: 390, height: 760, at: () => "/sink", top: (page) => page.locator("h1") },
  { file: "today", width: 390, height: 760, at: () => "/",
    top: (page) => page.getByRole("heading", { name: "What waits for you" }) },
];
const MOST_BYTES = 160 * 1024;

let house;
before(async () => { house = await open(); });
after(async () => { await house?.close(); });

/** Width and height as a PNG says them in its first chunk (PNG specification, IHDR). */
const measures = (png) => ({ width: png.readUInt32BE(16), height: png.readUInt32BE(20) });

for (const { file, width, height, at, top } of PICTURES) {
  test(`the README shows a present picture: ${file}`, async () => {
    const kept = new URL(`./picture/${file}.png`, import.meta.url);
    const viewport = { width, height };
    const page = await house.page("lead", { viewport, reducedMotion: "reduce" });
    await page.goto(at());
    const head = top(page);
    await head.waitFor();
    await head.evaluate((row) => row.scrollIntoView());
    const picture = await page.screenshot();
    assert.deepEqual(measures(picture), viewport);
    if (process.env.WETSIDE_WRITE_PICTURE) writeFileSync(kept, picture);
    const readme = readFileSync(new URL("../../README.md", import.meta.url), "utf8");
    assert.match(readme, new RegExp(`!\\[[^\\]]{20,}\\]\\(tests/browser/picture/${file}\\.png\\)`));
    assert.deepEqual(measures(readFileSync(kept)), viewport);
    assert.ok(statSync(kept).size < MOST_BYTES, `${file}.png is too heavy for a README`);
    assert.deepEqual(page.faults, []);
  });
}
