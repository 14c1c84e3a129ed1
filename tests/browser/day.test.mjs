// A whole day as its lead sees it: twenty-four rolls in four developers, three tanks, two sinks and a
// member's booking; planned, changed, published, printed on both papers, run, and what it leaves behind.
import { test } from "node:test";
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { open, PICTURES } from "./house.mjs";
import { axe } from "./watch.mjs";

const DAY = "2027-03-15";
/** Film, index, format and how many: in four developers of the chart. */
const BAG = [["Gannet 400", 400, "135-36", 8], ["Harbour Pan 100", 100, "135-36", 6], ["Mudlark 50", 50, "135-36", 5], ["Gannet 400", 800, "135-36", 5]];

async function api(house, role, path, body) {
  house.tokens ??= {};
  const person = house.people.find((p) => p.role === role);
  house.tokens[role] ??= (await (await fetch(`${house.url}/api/v1/tokens`, {
    method: "POST", headers: { "content-type": "application/json" },
    body: JSON.stringify({ email: person.email, password: person.password, label: "day" }),
  })).json()).token;
  const headers = { authorization: `Bearer ${house.tokens[role]}`, "content-type": "application/json" };
  const answer = await fetch(`${house.url}/api/v1${path}`, body ? { method: "POST", headers, body: JSON.stringify(body) } : { headers });
  const said = await answer.json();
  assert.ok(answer.ok, `${path}: ${answer.status} ${JSON.stringify(said)}`);
  return said;
}

const letters = (house) => readdirSync(join(house.folder, "letters")).map((name) => readFileSync(join(house.folder, "letters", name), "utf8"));
const fixerLeft = async (house) => (await api(house, "member", "/baths")).items.filter((b) => b.kind === "fixer").reduce((sum, b) => sum + b.remaining, 0);
const press = (page, name) => Promise.all([page.waitForNavigation(), page.getByRole("button", { name }).first().click()]);

test("a day from the drop box to the hook", { timeout: 600_000 }, async () => {
  const house = await open(["--starts-at", `${DAY}T08:30:00`, "--faster", "30"]);
  try {
    const lead = await house.page("lead", { viewport: { width: 1280, height: 900 } });
    const recipes = (await api(house, "member", "/recipes")).items;
    const wanted = new Set();
    for (const [film, ei, format, count] of BAG) {
      const own = recipes.filter((r) => r.film === film && r.ei === ei);
      const recipe = own.find((r) => !wanted.has(r.developer)) ?? own[0];
      wanted.add(recipe.developer);
      for (let n = 0; n < count; n++) await api(house, "member", "/rolls", { film, ei, format, recipe_id: recipe.id });
    }
    assert.ok(wanted.size >= 3, [...wanted].join(", "));

    // A fresh fixer, so that the day is not cut short by the spent one.
    const fresh = { product: "1", volume_ml: "2000", water_parts: "4", label: "Fixer for the day", place: "working", material: "film", way: "shared",
      rolls_per_litre: "20", margin: "75", least_ml: "300", minutes: "5", keeps_days: "60" };
    const mixed = await lead.request.post("/baths", { form: fresh, headers: { origin: house.url }, maxRedirects: 0 });
    assert.equal(mixed.status(), 303, await mixed.text());

    // Planned, from a click to the page.
    await lead.goto("/days");
    await lead.fill("input[name=date]", DAY);
    const before = Date.now();
    await press(lead, "Plan the day");
    console.log(`planned: ${Date.now() - before} ms from the click to the page`);
    await lead.getByText("not yet published").first().waitFor();
    const runs = await lead.locator(".slip.run").count();
    assert.ok(runs >= 4, `${runs} runs`);
    await lead.locator("svg.timeline, svg").first().waitFor();
    await lead.screenshot({ path: join(PICTURES, "day-plan.png"), fullPage: true });
    assert.deepEqual(await axe(lead), []);

    // Changed: a roll held back, undone; warmer; another tank tolerance beside it.
    await lead.selectOption("select[name=roll]", { index: 1 });
    await lead.selectOption("select[name=act]", "hold");
    await press(lead, "Change this roll");
    await lead.getByText("held back:").first().waitFor();
    await press(lead, "Undo the last change");
    await lead.getByText("Undone.").first().waitFor();
    await lead.locator("input[name^=temperature-]").first().fill("21.5");
    await press(lead, "Plan with these");
    await lead.getByText("at 20.0").first().waitFor();
    await lead.goto(`/days/${DAY}/what-if`);
    await lead.getByText("Open one hour longer").first().waitFor();
    await lead.screenshot({ path: join(PICTURES, "day-what-if.png"), fullPage: true });

    // Published, and printed.
    await lead.goto(`/days/${DAY}/plan`);
    const count = letters(house).length;
    await press(lead, "Publish this day");
    await lead.getByText("Published. Sinks, tanks and reels are booked.").first().waitFor();
    for (const [paper, query, format] of [["a4", "", "A4"], ["letter", "?paper=letter&us=yes", "Letter"]]) {
      await lead.goto(`/days/${DAY}${query}`);
      await lead.pdf({ path: join(PICTURES, `day-sheet-${paper}.pdf`), preferCSSPageSize: true, format });
      await lead.goto(`/days/${DAY}/cards${query}`);
      await lead.pdf({ path: join(PICTURES, `day-cards-${paper}.pdf`), preferCSSPageSize: true, format });
    }
    await lead.goto(`/days/${DAY}`);
    await lead.screenshot({ path: join(PICTURES, "day-sheet.png"), fullPage: true });
    const sheet = await api(house, "member", `/mix-sheets/${DAY}`);
    const tickets = sheet.runs.flatMap((r) => r.rolls);
    for (const ticket of tickets) {
      // As it is written on film: in two groups.
      const spoken = `${ticket.slice(0, 3)}-${ticket.slice(3)}`;
      assert.ok(await lead.getByText(spoken).count() > 0, `${ticket} is on the sheet`);
    }

    // Run at the sink: every step from the page, by the clock.
    const own = sheet.runs.find((r) => !r.ended && r.start >= `${DAY}T09`);
    const before_fixer = await fixerLeft(house);
    const phone = await house.page("lead", { viewport: { width: 360, height: 740 } });
    await phone.goto(`/runs/${own.id}`);
    await phone.screenshot({ path: join(PICTURES, "day-run-phone.png") });
    await phone.fill("input[name=celsius]", "21.0");
    await press(phone, "Correct the time");
    await phone.getByText("Develop for").first().waitFor();
    const go = phone.locator("[data-go]");
    await go.click();
    for (let n = 0; n < 12; n++) {
      const says = await go.innerText();
      if (!says.startsWith("Begin now") && !says.startsWith("All hung up")) break;
      await go.click();
      if (says.startsWith("All hung up")) break;
      if (n === 1) await phone.screenshot({ path: join(PICTURES, "day-run-developing.png") });
      // The clock runs thirty times as fast: a step of a minute is over in two seconds.
      await phone.waitForFunction(() => /^(Now:|0:0)/.test(document.querySelector(".watch-cue")?.textContent ?? "") || document.querySelector(".watch-left")?.textContent.startsWith("over"), null, { timeout: 60_000 });
    }
    await phone.getByText("Do the negatives look milky").first().waitFor({ timeout: 30_000 });
    await phone.screenshot({ path: join(PICTURES, "day-run-over.png") });

    // Its rolls hang, the fixer's ledger has it once, the owners heard.
    const after_fixer = await fixerLeft(house);
    assert.ok(Math.abs(before_fixer - after_fixer - own.fixer) < 1e-6, `${before_fixer} - ${after_fixer} is ${own.fixer}`);
    for (const ticket of own.rolls) {
      const roll = await api(house, "lead", `/rolls/${ticket}`);
      assert.equal(roll.status, "on_the_hook");
      await api(house, "lead", `/rolls/${ticket}/state`, { status: "ready" });
    }
    await lead.waitForTimeout(8000);
    const sent = letters(house);
    assert.ok(sent.length > count, `${sent.length} letters, ${count} before publishing`);
    assert.deepEqual([lead.faults, phone.faults], [[], []]);
  } finally {
    await house.close();
  }
});
