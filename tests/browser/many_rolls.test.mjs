// Many rolls handed in and carried through to their owners by a lead's taps on the pages, and as
// many again through the API. WETSIDE_ROLLS says how many; ops/check/many_rolls takes 500.
import { test } from "node:test";
import assert from "node:assert/strict";
import { open } from "./house.mjs";

const COUNT = Number(process.env.WETSIDE_ROLLS ?? 10);
const WAY = ["planned", "loaded", "on_the_hook", "ready", "picked_up"];

/** Calls the API as one person; a key makes each call one effect. */
function caller(url, token) {
  return async (path, body, key) => {
    const headers = { authorization: `Bearer ${token}`, "content-type": "application/json" };
    if (key) headers["idempotency-key"] = key;
    const answer = await fetch(`${url}/api/v1${path}`, body ? { method: "POST", headers, body: JSON.stringify(body) } : { headers });
    const said = await answer.json();
    assert.ok(answer.ok, `${path}: ${answer.status} ${JSON.stringify(said)}`);
    return said;
  };
}

async function token(house, role) {
  const { email, password } = house.people.find((person) => person.role === role);
  const answer = await fetch(`${house.url}/api/v1/tokens`, {
    method: "POST", headers: { "content-type": "application/json" },
    body: JSON.stringify({ email, password, label: "walk" }),
  });
  return (await answer.json()).token;
}

/** Hands in by the form, as many at once as it takes; the tickets. */
async function handIn(member, count) {
  const tickets = [];
  while (tickets.length < count) {
    const now = Math.min(24, count - tickets.length);
    await member.goto("/rolls/new");
    await member.selectOption("#film", { label: "Gannet 400" });
    await member.fill("#ei", "400");
    await member.selectOption("#count", String(now));
    await member.check("#negative");
    await member.click("main button.do");
    const said = await member.locator("p.flash", { hasText: "Write on the film" }).innerText();
    tickets.push(...said.match(/[2-9A-Z]{3}-[2-9A-Z]{3}/g));
  }
  return tickets.map((ticket) => ticket.replace("-", ""));
}

test(`${COUNT} rolls by the pages and ${COUNT} by the API from the drop box to their owners`, async () => {
  const house = await open();
  try {
    const member = await house.page("member");
    const lead = await house.page("lead");
    const byPages = await handIn(member, COUNT);
    for (const ticket of byPages) {
      await lead.goto(`/rolls/${ticket}`);
      for (const state of WAY) {
        await Promise.all([lead.waitForNavigation(), lead.locator("form.act button.do").first().click()]);
        await lead.locator("p.flash", { hasText: "Now:" }).waitFor();
        assert.ok(state);
      }
      await lead.locator(".state", { hasText: "Picked up" }).first().waitFor();
    }
    const own = caller(house.url, await token(house, "member"));
    const all = caller(house.url, await token(house, "lead"));
    const byApi = [];
    for (let n = 0; n < COUNT; n++) {
      const wish = { film: "Harbour Pan 100", format: "120", ei: 100 };
      const { ticket } = await own("/rolls", wish, `roll ${n}`);
      assert.equal((await own("/rolls", wish, `roll ${n}`)).ticket, ticket, "sent twice, handed in once");
      for (const status of WAY) await all(`/rolls/${ticket}/state`, { status });
      byApi.push(ticket);
    }
    const found = new Set();
    for (let next = ""; next !== null;) {
      const page = await all(`/rolls?status=picked_up${next && `&after=${next}`}`);
      page.items.forEach((roll) => found.add(roll.ticket));
      next = page.next;
    }
    const missing = [...byPages, ...byApi].filter((ticket) => !found.has(ticket));
    assert.deepEqual(missing, []);
    assert.equal(new Set([...byPages, ...byApi]).size, 2 * COUNT, "every ticket is its own");
    for (const page of [member, lead]) assert.deepEqual(page.faults, []);
  } finally {
    await house.close();
  }
});
