// Booking, moving and giving back: by mouse on the board, by keyboard alone, without script, on a phone.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { open } from "./house.mjs";

let house;
before(async () => { house = await open(); });
after(async () => { await house?.close(); });

/** A local date so many days from today, in the studio's zone. */
function day(ahead) {
  const parts = new Intl.DateTimeFormat("en-CA", { timeZone: "Europe/Dublin" });
  return parts.format(new Date(Date.now() + ahead * 24 * 3600 * 1000));
}

const free = (page, sink, from) => page.locator(`a[data-sink="${sink}"][data-from="${from}"]`);

/** The booking of that time in the list of its sink. */
const line = (page, sink, when) =>
  page.locator(`section[aria-label="${sink}"] li`, { hasText: when });

test("by mouse: the first press begins, the second ends; then moved and given back", async () => {
  const page = await house.page("member");
  await page.goto(`/board?date=${day(11)}`);
  await free(page, "North sink", "12:00").click();
  await free(page, "North sink", "13:00").click();
  await page.waitForURL(/bookings\/new/);
  assert.equal(await page.inputValue("#from"), "12:00");
  assert.equal(await page.inputValue("#to"), "13:30");
  await page.getByRole("checkbox", { name: "Tank B" }).check();
  await page.click("main button.do");
  await line(page, "North sink", "12:00 to 13:30").waitFor();

  await page.locator("td.mine a").first().click();
  assert.ok(await page.getByRole("checkbox", { name: "Tank B" }).isChecked());
  await page.fill("#from", "14:00");
  await page.fill("#to", "15:00");
  await page.getByRole("button", { name: "Keep the change" }).click();
  await line(page, "North sink", "14:00 to 15:00").waitFor();

  await line(page, "North sink", "14:00 to 15:00").getByRole("button", { name: "Cancel" }).click();
  await page.locator("p.flash", { hasText: "cancelled" }).waitFor();
  assert.equal(await page.locator("td.mine").count(), 0);
  assert.deepEqual(page.faults, []);
});

test("what is free follows the time in the form", async () => {
  const page = await house.page("member");
  const url = `/bookings/new?sink=2&date=${day(3)}&from=12:00&to=13:00`;
  await page.goto(url);
  const tank = page.getByRole("checkbox", { name: "Tank B" });
  assert.ok(await tank.isEnabled());
  await page.fill("#from", "18:00");
  await page.fill("#to", "18:30");
  await page.locator("#to").blur();
  await page.locator("label", { hasText: "Tank B" }).getByText("taken then").waitFor();
  assert.ok(!(await tank.isEnabled()));
  assert.deepEqual(page.faults, []);
});

test("by keyboard alone: booked, moved, given back", async () => {
  const page = await house.page("member");
  await page.goto(`/board?date=${day(12)}`);
  await free(page, "Harbour sink", "10:00").focus();
  await page.keyboard.press("Enter");
  assert.equal(await free(page, "Harbour sink", "10:00").getAttribute("aria-pressed"), "true");
  await page.keyboard.press("Escape");
  assert.equal(await free(page, "Harbour sink", "10:00").getAttribute("aria-pressed"), null);
  await page.keyboard.press("Enter");
  await free(page, "Harbour sink", "10:30").focus();
  await page.keyboard.press("Enter");
  await page.waitForURL(/bookings\/new/);
  await page.locator("main button.do").focus();
  await page.keyboard.press("Enter");
  await line(page, "Harbour sink", "10:00 to 11:00").waitFor();
  await line(page, "Harbour sink", "10:00 to 11:00").getByRole("link").focus();
  await page.keyboard.press("Enter");
  await page.locator("#from").focus();
  await page.keyboard.type("1030");
  await page.locator("#to").focus();
  await page.keyboard.type("1130");
  await page.getByRole("button", { name: "Keep the change" }).focus();
  await page.keyboard.press("Enter");
  await line(page, "Harbour sink", "10:30 to 11:30").waitFor();
  await line(page, "Harbour sink", "10:30 to 11:30").getByRole("link").focus();
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "Cancel this booking" }).focus();
  await page.keyboard.press("Enter");
  await page.locator("p.flash", { hasText: "cancelled" }).waitFor();
  assert.deepEqual(page.faults, []);
});

for (const [how, options] of Object.entries({
  "without script": { javaScriptEnabled: false },
  "on a phone": { viewport: { width: 360, height: 740 } },
})) {
  test(`${how}: book, be refused with the nearest time, move, give back`, async () => {
    const ahead = how === "on a phone" ? 13 : 12;
    const page = await house.page("member", options);
    await page.goto(`/board?date=${day(ahead)}`);
    await page.locator('section[aria-label="North sink"] a').first().click();
    await page.fill("#from", "09:00");
    await page.fill("#to", "10:00");
    await page.click("main button.do");
    await line(page, "North sink", "09:00 to 10:00").waitFor();

    // The same again: refused, with what would do.
    await page.goto(`/bookings/new?sink=1&date=${day(ahead)}&from=09:30&to=10:00`);
    await page.click("main button.do");
    await page.getByText("North sink: taken").first().waitFor();
    const instead = page.locator('section[aria-labelledby="instead"] a', { hasText: "North sink" });
    assert.match(await instead.innerText(), /10:00 to 10:30/);
    await instead.click();
    assert.equal(await page.inputValue("#from"), "10:00");

    await page.goto("/bookings");
    await page.locator("ol a", { hasText: "09:00 to 10:00" }).click();
    await page.fill("#to", "09:30");
    await page.getByRole("button", { name: "Keep the change" }).click();
    await line(page, "North sink", "09:00 to 09:30").waitFor();
    await line(page, "North sink", "09:00 to 09:30").getByRole("button", { name: "Cancel" }).click();
    await page.locator("p.flash", { hasText: "cancelled" }).waitFor();
    assert.deepEqual(page.faults, []);
  });
}

test("a lead sees whom a closure hits before it is done", async () => {
  const member = await house.page("member");
  await member.goto(`/bookings/new?sink=1&date=${day(14)}&from=12:00&to=13:00`);
  await member.click("main button.do");
  await line(member, "North sink", "12:00 to 13:00").waitFor();
  const lead = await house.page("lead");
  await lead.goto("/room/hours");
  await lead.fill("#day-from_date", day(14));
  await lead.fill("#day-reason", "The roof is mended");
  await lead.getByRole("button", { name: "Make it special" }).click();
  await lead.getByText("Ilse Brackwater: North sink").waitFor();
  await lead.getByRole("button", { name: "Go on: cancel them and tell their owners" }).last().click();
  await lead.locator("p.flash", { hasText: "One booking is cancelled" }).waitFor();
  await member.goto(`/board?date=${day(14)}`);
  await member.getByText("The roof is mended").first().waitFor();
  assert.deepEqual([...lead.faults, ...member.faults], []);
});
