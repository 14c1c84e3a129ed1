// A newcomer's way in a real browser: from the invitation to the first booking alone, refused at
// each point where something is missing. Once with script and by keyboard alone, once without script.
import { test } from "node:test";
import assert from "node:assert/strict";
import { open } from "./house.mjs";

const PASSWORD = "seven gannets over a tin roof";
const RIGHT = [
  "Reading its safety data sheet, and gloves, apron and eye protection on",
  "No, never",
  "The acid into the water",
  "Everybody out, door shut, call for help from outside",
  "At least 15 minutes, longer because it is alkaline, until help takes over",
  "I leave it alone and tell a lead",
  "I collect it in its own labelled container",
];

const inDays = (days) => {
  const parts = new Intl.DateTimeFormat("en-CA", { timeZone: "Europe/Dublin" });
  return parts.format(new Date(Date.now() + days * 24 * 3600 * 1000));
};

/** Ticks, chooses or presses, by keyboard alone where that is the story. */
async function press(control, byKeyboard, key = "Space") {
  if (!byKeyboard) return control.click();
  await control.focus();
  await control.page().keyboard.press(key);
}

/** The address in the latest letter to somebody. */
async function linkIn(house, subject) {
  const reader = await house.page(null);
  for (let tries = 0; tries < 60; tries += 1) {
    await reader.goto("/demo/letters");
    const letter = reader.getByRole("link", { name: subject }).first();
    if (await letter.count()) {
      await letter.click();
      await reader.locator("main .letter, main pre").first().waitFor();
      const text = await reader.locator("main").innerText();
      const found = text.match(/https?:\/\/\S+\/welcome\/\S+/);
      await reader.context().close();
      return new URL(found[0]).pathname;
    }
    await reader.waitForTimeout(500);
  }
  throw new Error("no invitation came");
}

/** Tries to book; says what the page answered. */
async function book(page, byKeyboard, days) {
  const date = inDays(days);
  await page.goto(`/bookings/new?date=${date}`);
  await page.selectOption("#sink", { index: 1 });
  await page.fill("#date", date);
  await page.fill("#from", "09:00");
  await page.fill("#to", "10:00");
  const answered = page.waitForResponse((r) => r.request().method() === "POST");
  await press(page.locator("main button.do").last(), byKeyboard, "Enter");
  const status = (await answered).status();
  return { status, said: status === 303 ? "" : await page.locator("[data-faults]").innerText() };
}

async function wayIn(house, script) {
  const options = { javaScriptEnabled: script };
  const lead = await house.page("lead", options);
  await lead.goto("/members");
  await lead.fill("#name", "Wren Halloway");
  await lead.fill("#email", "wren@quillhaven.example");
  await lead.selectOption("#role", "newcomer");
  await lead.getByRole("button", { name: "Send the invitation" }).click();
  await lead.locator("p.flash").first().waitFor();

  const wren = await house.page(null, options);
  await wren.goto(await linkIn(house, /invit/i));
  await wren.fill("#name", "Wren Halloway");
  await wren.fill("#password", PASSWORD);
  await press(wren.locator("main button.do").first(), script, "Enter");
  await wren.waitForURL((at) => !at.pathname.startsWith("/welcome"));

  // Nothing read: nothing booked.
  let answer = await book(wren, script, 3);
  assert.equal(answer.status, 422);
  assert.match(answer.said, /read and acknowledge these safety notes/);

  // A wrong answer is refused with the reason; then note after note, each from the way in.
  await wren.goto("/notes/mixing");
  await press(wren.getByLabel("The water into the acid"), script);
  await press(wren.getByLabel("I have read this note and will keep to it"), script);
  await press(wren.getByRole("button", { name: /^Acknowledge/ }), script, "Enter");
  await wren.getByText("never the reverse: it would boil up").first().waitFor();
  for (let notes = 0; ; notes += 1) {
    await wren.goto("/way-in");
    const next = wren.getByRole("link", { name: /^Read “/ });
    if ((await next.count()) === 0) {
      assert.equal(notes, 6);
      break;
    }
    answer = await book(wren, script, 3);
    assert.equal(answer.status, 422);
    await wren.goto("/way-in");
    await press(next, script, "Enter");
    await wren.waitForURL("**/notes/*");
    for (const right of RIGHT) {
      const choice = wren.getByLabel(right, { exact: true });
      if (await choice.count()) await press(choice, script);
    }
    await press(wren.getByLabel("I have read this note and will keep to it"), script);
    await press(wren.getByRole("button", { name: /^Acknowledge/ }), script, "Enter");
    await wren.waitForURL("**/way-in");
  }

  // Read, but not shown the room.
  await wren.getByText("You may book while a lead is on duty").waitFor();
  answer = await book(wren, script, 4);
  assert.equal(answer.status, 422);
  assert.match(answer.said, /lead is on duty/);

  // The lead signs, in person.
  await lead.goto("/safety/induction");
  await lead.getByRole("link", { name: "Wren Halloway" }).click();
  await lead.getByRole("button", { name: "Sign the ticked points" }).click();
  await lead.getByText("Tick at least one point").first().waitFor();
  for (const point of await lead.locator("input[name=point]").all()) await point.check();
  await lead.getByRole("button", { name: "Sign the ticked points" }).click();
  await lead.getByText("Sign only what you were there to see").first().waitFor();
  await lead.check("#in_person");
  await lead.getByRole("button", { name: "Sign the ticked points" }).click();
  await lead.getByText("The induction is complete").waitFor();

  await wren.goto("/way-in");
  await wren.getByText("Nothing is missing").waitFor();
  answer = await book(wren, script, 4);
  assert.equal(answer.status, 303, answer.said);
  for (const page of [lead, wren]) assert.deepEqual(page.faults, []);
}

for (const script of [true, false]) {
  test(`from the invitation to the first booking, ${script ? "by keyboard" : "without script"}`, async () => {
    const house = await open();
    try {
      await wayIn(house, script);
    } finally {
      await house.close();
    }
  });
}
