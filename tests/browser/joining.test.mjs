// A member adds a waiting roll to a published run that has a free reel, on a phone and without script.
import { test } from "node:test";
import assert from "node:assert/strict";
import { open } from "./house.mjs";

test("a waiting roll joins tomorrow's run", async () => {
  const house = await open();
  try {
    const member = await house.page("member", { javaScriptEnabled: false, viewport: { width: 360, height: 740 } });
    await member.goto("/rolls");
    await member.getByRole("link", { name: "Runs my rolls could join" }).click();
    const add = member.getByRole("button", { name: /^Add .* to this run$/ }).first();
    const ticket = (await add.innerText()).match(/[2-9A-Z]{3}-[2-9A-Z]{3}/)[0];
    await add.click();
    await member.locator("p.flash", { hasText: "Added. It is developed on" }).waitFor();
    await member.locator("h1", { hasText: ticket }).waitFor();
    await member.locator(".state", { hasText: "Planned" }).first().waitFor();
    const lead = await house.page("lead");
    await lead.goto("/days");
    await lead.locator("main ul a[href^='/days/2']:not([href*='/plan'], [href*='/what-if'])").first().click();
    await lead.getByText(`Ticket ${ticket} of`).waitFor();
    assert.deepEqual([...member.faults, ...lead.faults], []);
  } finally {
    await house.close();
  }
});
