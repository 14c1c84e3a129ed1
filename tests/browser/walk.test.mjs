// The thin walk through the whole job in a real browser: once with script, once without.
import { test } from "node:test";
import assert from "node:assert/strict";
import { join } from "node:path";
import { statSync } from "node:fs";
import { PICTURES, open } from "./house.mjs";

const tomorrow = () => {
  const parts = new Intl.DateTimeFormat("en-CA", { timeZone: "Europe/Dublin" });
  return parts.format(new Date(Date.now() + 24 * 3600 * 1000));
};

async function walk(house, javaScriptEnabled) {
  const date = tomorrow();
  const member = await house.page("member", { javaScriptEnabled });
  await member.goto(`/bookings/new?date=${date}`);
  await member.selectOption("#sink", { index: 1 });
  await member.fill("#date", date);
  await member.fill("#from", "09:00");
  await member.fill("#to", "09:30");
  await member.click("main button.do");
  await member.getByText("Yours").first().waitFor();

  await member.goto("/rolls/new");
  await member.selectOption("#film", { label: "Gannet 400" });
  await member.selectOption("#format", "135-36");
  await member.fill("#ei", "400");
  await member.selectOption("#count", "3");
  await member.check("#negative");
  await member.click("main button.do");
  await member.locator("p.flash", { hasText: "Handed in. Write on the film" }).waitFor();

  const lead = await house.page("lead", { javaScriptEnabled });
  await lead.goto("/days");
  await lead.fill("#date", date);
  await lead.click("main button.do");
  await lead.getByText("not yet published").first().waitFor();
  await lead.getByRole("button", { name: "Publish this day" }).click();
  const early = lead.locator("summary", { hasText: /^End run/ });
  await early.first().waitFor();
  const paper = join(PICTURES, `mix-sheet-${javaScriptEnabled ? "script" : "plain"}`);
  for (const format of ["A4", "Letter"]) {
    await lead.pdf({ path: `${paper}-${format}.pdf`, format });
    assert.ok(statSync(`${paper}-${format}.pdf`).size > 5000);
  }
  for (;;) {
    if ((await early.count()) === 0) break;
    // The day is still to come, so it asks once more.
    await early.first().click();
    const end = lead.getByRole("button", { name: /^End run/ }).first();
    await Promise.all([lead.waitForNavigation(), end.click()]);
    await lead.locator("p.flash", { hasText: "the fixer's ledger has it" }).waitFor();
  }
  await lead.goto("/baths");
  const used = Number((await lead.locator("strong.figure").first().innerText()).trim());
  assert.ok(used < 11, `the ledger took the runs: ${used} left`);
  await lead.getByRole("link", { name: "Use it" }).first().click();
  await lead.selectOption("#format", "120");
  await lead.fill("#count", "20");
  await lead.getByRole("button", { name: "Will it take them?" }).click();
  await lead.getByText("Do not put it in").first().waitFor();
  await lead.getByRole("button", { name: "They went through: record it" }).click();
  await lead.getByText("At its limit").first().waitFor();

  const visitor = await house.page(null, { javaScriptEnabled });
  await visitor.goto("/demo/letters");
  await visitor.getByText("at its limit, do not use it").first().waitFor();
  await visitor.goto("/notes/where-it-goes");
  await visitor.getByText("collect, do not pour").first().waitFor();
  for (const page of [member, lead, visitor]) assert.deepEqual(page.faults, []);
}

for (const script of [true, false]) {
  test(`from the drop box to the letter, ${script ? "with" : "without"} script`, async () => {
    const house = await open();
    try {
      await walk(house, script);
    } finally {
      await house.close();
    }
  });
}
