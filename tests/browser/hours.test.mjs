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

/** Presses something by mouse, or goes to it and presses Enter. */
async function press(page, target, keys) {
  if (!keys) return target.click();
  await target.focus();
  await page.keyboard.press("Enter");
}

const phone = { width: 360, height: 740 };
for (const [how, { keys, ...options }] of Object.entries({
  "by mouse": {},
  "by keyboard at 360 px": { keys: true, viewport: phone },
  "without script at 360 px": { javaScriptEnabled: false, viewport: phone },
})) {
  test(`waiting for a full evening and thinking better of it, ${how}`, async () => {
    const waits = await house.page("newcomer", options);
    await waits.goto(`/waiting?date=${day(3)}`);
    await waits.fill("#length", "60");
    await waits.fill("#from", "17:00");
    await waits.fill("#to", "22:00");
    await press(waits, waits.getByRole("button", { name: "Put me on the list" }), keys);
    await waits.locator("p.flash", { hasText: "You are on the list" }).waitFor();
    if (options.javaScriptEnabled ?? true) assert.equal(await overhang(waits), 0);
    await press(waits, waits.getByRole("button", { name: "Take it off the list" }), keys);
    await waits.locator("p.flash", { hasText: "It is off the list" }).waitFor();
    assert.deepEqual(waits.faults, []);
    await waits.context().close();
  });

  test(`a time that comes free is offered, taken and given back, ${how}`, async () => {
    const ahead = { "by mouse": 20, "by keyboard at 360 px": 21 }[how] ?? 22;
    const date = day(ahead);
    const [owns, waits] = house.people.filter((p) => p.role === "member");
    const lead = await house.page("lead");
    await lead.goto("/room/hours");
    await lead.fill("#day-from_date", date);
    await lead.fill("#day-hours", "18:00-19:00");
    await lead.fill("#day-reason", "A short evening");
    await lead.getByRole("button", { name: "Make it special" }).click();
    await lead.getByText("A short evening").first().waitFor();
    const owner = await house.page(owns);
    await book(owner, date, "18:00", "19:00");
    const page = await house.page(waits, options);
    await page.goto(`/waiting?date=${date}`);
    await page.fill("#length", "60");
    await page.fill("#from", "18:00");
    await page.fill("#to", "19:00");
    await page.selectOption("#sink", { label: "North sink" });
    await press(page, page.getByRole("button", { name: "Put me on the list" }), keys);
    await page.locator("p.flash", { hasText: "You are on the list" }).waitFor();
    await owner.goto(`/board?date=${date}`);
    await owner.getByRole("button", { name: "Cancel" }).first().click();
    await owner.locator("p.flash", { hasText: "cancelled" }).waitFor();

    await page.goto("/waiting");
    await page.getByRole("heading", { name: "Held for you" }).waitFor();
    if (options.javaScriptEnabled ?? true) {
      assert.equal(await overhang(page), 0);
      assert.deepEqual(await axe(page), []);
    }
    await press(page, page.getByRole("button", { name: "Take it", exact: true }), keys);
    await page.locator("p.flash", { hasText: "yours" }).waitFor();
    await page.goto(`/board?date=${date}`);
    await page.locator('section[aria-label="North sink"] li', { hasText: "Yours" }).waitFor();
    await press(page, page.getByRole("button", { name: "Cancel" }).first(), keys);
    await page.locator("p.flash", { hasText: "cancelled" }).waitFor();
    for (const each of [lead, owner, page]) {
      assert.deepEqual(each.faults, []);
      await each.context().close();
    }
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
