// The picture at the top of README.md: taken by this test, kept in the repository when asked for
// with WETSIDE_WRITE_PICTURE=1. The days in it differ from one run to the next, so it is held
// against the README by its name, its kind and its size only.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { readFileSync, writeFileSync } from "node:fs";
import { open } from "./house.mjs";

const KEPT = new URL("./picture/board.png", import.meta.url);
const SIZE = { width: 1200, height: 900 };

let house;
before(async () => { house = await open(); });
after(async () => { await house?.close(); });

/** Width and height as a PNG says them in its first chunk (PNG specification, IHDR). */
const measures = (png) => ({ width: png.readUInt32BE(16), height: png.readUInt32BE(20) });

test("the README shows a present picture of a busy evening", async () => {
  const page = await house.page("lead", { viewport: SIZE, reducedMotion: "reduce" });
  const day = new Date(Date.now() + 3 * 24 * 3600 * 1000).toISOString().slice(0, 10);
  await page.goto(`/board?date=${day}`);
  await page.locator("#board, main table").first().waitFor();
  await page.getByRole("rowheader", { name: "16:00" }).first().evaluate((row) => row.scrollIntoView());
  const picture = await page.screenshot();
  assert.deepEqual(measures(picture), SIZE);
  if (process.env.WETSIDE_WRITE_PICTURE) writeFileSync(KEPT, picture);
  const readme = readFileSync(new URL("../../README.md", import.meta.url), "utf8");
  assert.match(readme, /!\[[^\]]{20,}\]\(tests\/browser\/picture\/board\.png\)/);
  assert.deepEqual(measures(readFileSync(KEPT)), SIZE);
  assert.deepEqual(page.faults, []);
});
