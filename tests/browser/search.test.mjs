// What is found on the time chart and among the rolls: while somebody types, and without script by
// the button.
import { test } from "node:test";
import assert from "node:assert/strict";
import { open } from "./house.mjs";

test("the chart and the rolls are searched while somebody types", async () => {
  const house = await open();
  try {
    for (const javaScriptEnabled of [true, false]) {
      const lead = await house.page("lead", { javaScriptEnabled });
      const search = async (words) => {
        await lead.fill("#search", words);
        if (!javaScriptEnabled) await lead.getByRole("button", { name: "Search" }).click();
      };
      await lead.goto("/chart");
      await search("gannet 800");
      await lead.locator("#shown-count", { hasText: "1 recipe found" }).waitFor();
      assert.equal(await lead.locator("#chart tbody tr").count(), 1);
      await search("no such film");
      await lead.locator("#shown", { hasText: "Nothing on the chart fits" }).waitFor();
      await lead.goto("/rolls");
      await search("dagny skerry");
      await lead.locator("#shown-count", { hasText: "found" }).waitFor();
      const owners = await lead.locator("#rolls td[data-label=Owner]").allInnerTexts();
      assert.ok(owners.length > 0 && owners.every((owner) => owner.includes("Dagny")), owners.join());
      assert.deepEqual(lead.faults, []);
      await lead.context().close();
    }
  } finally {
    await house.close();
  }
});
