// The hours in a real browser: two people watching one board, the waiting list with and without
// script, the screen at the door.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { open } from "./house.mjs";
import { axe, overhang } from "./watch.mjs";

let house;
before(async () => { house = await open(); });
after(async () => { await house?.close(); });

const day = (ahead) => {
  const parts = new Intl.DateTimeFormat("en-CA", { timeZone: "Europe/Dublin" });
  return parts.format(new Date(Date.now() + ahead * 24 * 3600 * 1000));
};

async function book(page, date, from, to) {
  await page.goto(`/bookings/new?date=${date}&from=${from}`);
  await page.selectOption("#sink", { label: "North sink" });
  await page.fill("#date", date);
  await page.fill("#from", from);
  await page.fill("#to", to);
  await page.locator("main button.do").first().click();
  await page.getByText("Yours").first().waitFor();
}

const shows = (page, text) =>
  page.waitForFunction((wanted) => document.querySelector("#board").textContent.includes(wanted), text, { timeout: 10000 });

test("two browsers watching one board see what a third person does", async () => {
  const [one, two] = [await house.page("member"), await house.page("lead")];
  for (const page of [one, two]) await page.goto(`/board?date=${day(1)}`);
  // Where somebody is on the page does not change under their hands.
  const link = two.locator("td.free a").first();
  const href = await link.getAttribute("href");
  await link.focus();
  const third = await house.page("member");
  await book(third, day(1), "12:00", "13:30");
  for (const page of [one, two]) await shows(page, "12:00 to 13:30");
  assert.equal(await two.evaluate(() => document.activeElement.getAttribute("href")), href);
  // A page that was hidden catches up when it is looked at again.
  await third.goto(`/board?date=${day(1)}`);
  await third.getByRole("button", { name: "Cancel" }).first().click();
  await one.waitForFunction(() => !document.querySelector("#board").textContent.includes("12:00 to 13:30"), null, { timeout: 10000 });
  for (const page of [one, two, third]) assert.deepEqual(page.faults, []);
});

for (const script of [true, false]) {
  test(`waiting for a full evening and thinking better of it, ${script ? "by keyboard at 360 px" : "without script"}`, async () => {
    const full = day(3);
    const viewport = script ? { width: 360, height: 740 } : { width: 1280, height: 900 };
    const waits = await house.page("newcomer", { javaScriptEnabled: script, viewport });
    await waits.goto(`/waiting?date=${full}`);
    await waits.fill("#length", "60");
    await waits.fill("#from", "17:00");
    await waits.fill("#to", "22:00");
    if (script) {
      await waits.locator("main button.do").last().focus();
      await waits.keyboard.press("Enter");
    } else {
      await waits.locator("main button.do").last().click();
    }
    await waits.locator("p.flash", { hasText: "You are on the list" }).waitFor();
    if (script) assert.equal(await overhang(waits), 0);
    await waits.getByRole("button", { name: "Take it off the list" }).click();
    await waits.locator("p.flash", { hasText: "It is off the list" }).waitFor();
    assert.deepEqual(waits.faults, []);
    await waits.context().close();
  });
}

test("the screen at the door follows the day and goes dark", async () => {
  const lead = await house.page("lead");
  await lead.goto("/wall");
  const address = await lead.locator("code").first().innerText();
  const screen = await house.page(null, { viewport: { width: 1280, height: 720 } });
  await screen.goto(address);
  await screen.getByRole("heading", { name: "North sink" }).waitFor();
  assert.deepEqual(await axe(screen), []);
  const over = await screen.evaluate(() => document.documentElement.scrollHeight - innerHeight);
  assert.ok(over <= 0, `${over} px beyond the screen`);
  await lead.getByRole("button", { name: "Make it dark" }).click();
  await screen.waitForFunction(() => document.querySelector("#wall.dark"), null, { timeout: 10000 });
  assert.equal(await screen.evaluate(() => getComputedStyle(document.querySelector("#wall")).backgroundColor), "rgb(0, 0, 0)");
  await lead.fill("#dark-minutes", "0");
  await lead.getByRole("button", { name: "Make it dark" }).click();
  await screen.getByRole("heading", { name: "North sink" }).waitFor();
  for (const page of [lead, screen]) assert.deepEqual(page.faults, []);
});
