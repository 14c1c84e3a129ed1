// The time for one's own roll: worked out while somebody types, and without script by the button.
import { test } from "node:test";
import assert from "node:assert/strict";
import { open } from "./house.mjs";

test("a time follows what is typed, on a phone and without script", async () => {
  const house = await open();
  try {
    for (const javaScriptEnabled of [true, false]) {
      const viewport = { width: 360, height: 740 };
      const member = await house.page("member", { javaScriptEnabled, viewport });
      await member.goto("/chart?search=gannet+800");
      await member.locator("#chart tbody th a").first().click();
      await member.locator("#worked", { hasText: "11:00" }).waitFor();
      await member.fill("#at", "22,0");
      if (!javaScriptEnabled) await member.getByRole("button", { name: "Work it out" }).click();
      // 660 s × 2.5^((20 - 22) / 10) = 549 s, to a quarter of a minute 9:15.
      await member.locator("#worked", { hasText: "9:15" }).waitFor();
      await member.fill("#at", "27");
      if (!javaScriptEnabled) await member.getByRole("button", { name: "Work it out" }).click();
      await member.locator("#worked", { hasText: "No time for this" }).waitFor();
      assert.deepEqual(member.faults, []);
      await member.context().close();
    }
  } finally {
    await house.close();
  }
});
