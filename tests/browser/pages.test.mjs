// Every page, every person, desk and phone, light and dark: no fault, no overhang, axe clean.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { join } from "node:path";
import { PICTURES, axe, open, overhang } from "./house.mjs";

const PAGES = {
  nobody: ["/", "/notes", "/notes/before-you-begin", "/notes/mixing", "/notes/where-it-goes", "/sign-in",
    "/apply", "/reset", "/demo/letters", "/no-such-page"],
  newcomer: ["/", "/me", "/board", "/days"],
  member: ["/", "/me", "/board", "/bookings/new", "/rolls", "/rolls/new", "/chart", "/baths", "/days"],
  lead: ["/", "/me", "/board", "/rolls", "/chart", "/baths", "/days", "/members", "/room", "/studio", "/letters"],
};
const SIZES = { desk: { width: 1280, height: 900 }, phone: { width: 360, height: 740 } };

let house;
before(async () => { house = await open(); });
after(async () => { await house?.close(); });

for (const [who, paths] of Object.entries(PAGES)) {
  for (const [size, viewport] of Object.entries(SIZES)) {
    for (const scheme of ["light", "dark"]) {
      test(`${who}, ${size}, ${scheme}`, async () => {
        const page = await house.page(who === "nobody" ? null : who, { viewport, colorScheme: scheme });
        const wrong = [];
        for (const path of paths) {
          let bytes = 0;
          const weigh = async (r) => { bytes += (await r.sizes().catch(() => null))?.responseBodySize ?? 0; };
          page.on("requestfinished", (r) => { weigh(r); });
          const answer = await page.goto(path);
          if (answer.status() >= 500) wrong.push(`${path}: ${answer.status()}`);
          const over = await overhang(page);
          if (over > 0) wrong.push(`${path} is ${over} px too wide`);
          for (const fault of await axe(page)) wrong.push(`${path}: ${fault}`);
          if (bytes > 60 * 1024) wrong.push(`${path} weighs ${bytes} bytes`);
          const name = `${who}-${size}-${scheme}-${path.replaceAll("/", "_")}.png`;
          await page.screenshot({ path: join(PICTURES, name), fullPage: true });
          wrong.push(...page.faults.splice(0).map((f) => `${path}: ${f}`));
        }
        await page.context().close();
        assert.deepEqual(wrong, []);
      });
    }
  }
}
