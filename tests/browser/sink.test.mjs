// At the sink with wet hands: the network is lost and the page loaded again, two phones look at one run,
// all tanks are worked by any key, and a page without script still says what to do.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { open, PICTURES } from "./house.mjs";
import { axe, overhang } from "./watch.mjs";

let house, lead, run;
before(async () => {
  house = await open(["--starts-at", "2027-03-15T10:00:00"]);
  lead = await house.page("lead", { viewport: { width: 390, height: 800 } });
  await lead.goto("/sink");
  run = await lead.locator("ul.steps a[href^='/runs/'], ol.movements a[href^='/runs/']").first().getAttribute("href");
});
after(() => house?.close());

const left = async (page) => {
  const [m, s] = (await page.locator(".watch-left").innerText()).split(":").map(Number);
  return m * 60 + s;
};

test("a run survives a lost network and a reload, and tells what it missed", async () => {
  await lead.goto(run);
  await lead.locator("[data-go]").click();
  await lead.getByText("Begin now: Pre-soak").first().waitFor();
  await lead.locator("[data-go]").click();
  await lead.locator(".watch-step", { hasText: "Pre-soak" }).waitFor();
  await lead.waitForFunction(async () => (await caches.keys()).length > 0 && (await (await caches.open("wetside-runs")).keys()).length > 3);
  const before = await left(lead), at = Date.now();
  await lead.waitForTimeout(4000);
  await lead.context().setOffline(true);
  await lead.reload();
  await lead.locator(".watch-step", { hasText: "Pre-soak" }).waitFor();
  const passed = (Date.now() - at) / 1000;
  assert.ok(Math.abs(before - passed - await left(lead)) < 3, `${before} before, ${passed} s later ${await left(lead)}`);
  await lead.locator("[data-go]").click();
  await lead.locator(".watch-step", { hasText: "Developer" }).waitFor();
  await lead.getByText("No network. What you tell is kept").waitFor();
  await lead.screenshot({ path: join(PICTURES, "sink-offline.png") });
  await lead.reload();
  await lead.locator(".watch-step", { hasText: "Developer" }).waitFor();
  const offline = await left(lead);
  await lead.context().setOffline(false);
  await lead.waitForFunction(() => JSON.parse(localStorage.getItem("wetside-told") ?? "[]").length === 0, null, { timeout: 20_000 });

  const other = await house.page("lead", { viewport: { width: 390, height: 800 } });
  await other.goto(run);
  await other.locator(".watch-step", { hasText: "Developer" }).waitFor();
  const [mine, theirs] = [await left(lead), await left(other)];
  assert.ok(Math.abs(mine - theirs) <= 2, `one phone says ${mine}, the other ${theirs}`);
  assert.ok(mine <= offline);
  await other.locator("[data-go]").click();
  await lead.locator(".watch-step", { hasText: "Stop bath" }).waitFor({ timeout: 15_000 });
  await other.locator("[data-pause]").click();
  await lead.getByText("Paused.").waitFor({ timeout: 15_000 });
  await other.locator("[data-pause]").click();
  assert.deepEqual(await axe(lead), []);
  assert.equal(await overhang(lead), 0);
});

test("the screen is kept awake where the device can", async () => {
  const page = await house.page("lead");
  await page.addInitScript(() => {
    window.asked = [];
    Object.defineProperty(navigator, "wakeLock", { value: { request: async (kind) => { window.asked.push(kind); return {}; } } });
  });
  await page.goto(run);
  await page.locator("[data-pause]").click();
  await page.locator("[data-pause]").click();
  await page.locator("[data-go]").click();
  assert.ok((await page.evaluate(() => window.asked)).includes("screen"));
});

test("all tanks on one page, worked by any key", async () => {
  const page = await house.page("lead", { viewport: { width: 820, height: 900 } });
  await page.goto("/sink");
  // Two cues in a row may have the same words: then the moment of the next movement is later.
  const first = () => page.evaluate(() => {
    const [words, left] = [".watch-step, .watch-cue", ".watch-left"].map((s) => [...document.querySelectorAll(s)].map((e) => e.textContent).join(", "));
    const [, m, sec] = left.match(/(\d+):(\d\d)/) ?? [0, 0, 0];
    return { words, due: Date.now() / 1000 + (left.endsWith("ago") ? -1 : 1) * (Number(m) * 60 + Number(sec)) };
  });
  const before = await first();
  await page.screenshot({ path: join(PICTURES, "sink-all.png"), fullPage: true });
  await page.keyboard.press("PageDown");
  for (let now = await first(); now.words === before.words && now.due < before.due + 5; now = await first()) await page.waitForTimeout(200);
  assert.deepEqual(await axe(page), []);
  assert.deepEqual(page.faults, []);
});

test("without script a run is a list of steps with clock times", async () => {
  const page = await house.page("lead", { javaScriptEnabled: false, viewport: { width: 360, height: 740 } });
  await page.goto(run);
  const steps = await page.locator("ol.steps > li").allInnerTexts();
  assert.ok(steps.length >= 8 && steps.every((s) => /\d\d:\d\d/.test(s)), steps.join("\n"));
  await page.locator("#by-form button.do").click();
  await page.locator("[aria-current=step]").waitFor();
  await page.screenshot({ path: join(PICTURES, "sink-plain.png"), fullPage: true });
});

// The phone's own camera opens what the code on a printed label says; an independent reader (zbar) reads it here.
test("the code on a bottle's label opens whether it is the one for this step", async () => {
  const phone = await house.page("lead", { viewport: { width: 390, height: 800 } });
  await phone.goto("/baths");
  const labels = await phone.locator("main a").evaluateAll((links) => links.map((a) => [a.textContent.trim(), a.getAttribute("href")]));
  const path = (name) => labels.find(([text, href]) => text.startsWith(name) && /^\/baths\/\d+$/.test(href))?.[1];
  const scanned = async (name) => {
    await phone.goto(`${path(name)}/label`);
    const to = join(PICTURES, "bottle-code");
    await phone.pdf({ path: `${to}.pdf`, format: "A4" });
    execFileSync("pdftoppm", ["-r", "300", "-gray", "-png", "-singlefile", `${to}.pdf`, to]);
    const word = execFileSync("zbarimg", ["--quiet", "--raw", `${to}.png`], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] }).trim();
    assert.ok(word.startsWith(house.url), word);
    return word;
  };
  const [fixer, stop] = [await scanned("Fixer 12"), await scanned("Stop")];
  await phone.goto("/sink");
  const another = await phone.locator("ul.steps a[href^='/runs/'], ol.movements a[href^='/runs/']").last().getAttribute("href");
  await phone.goto(another);
  const begin = async (name) => {
    for (let n = 0; n < 6 && !await phone.locator(".watch-step", { hasText: name }).count(); n++) {
      await phone.locator("[data-go]").click();
      await phone.waitForTimeout(1500);
    }
  };
  await begin("Stop bath");
  // It is the stop bath's turn; the fixer is fetched for the next step.
  await phone.goto(stop);
  await phone.getByText("the one for this step, Stop bath").waitFor();
  await phone.goto(fixer);
  await phone.getByText("the one for the next step, Fixer").waitFor();
  await phone.screenshot({ path: join(PICTURES, "bottle-opened.png") });
  await phone.getByRole("link", { name: "Back to the run" }).click();
  await begin("Fixer");
  await phone.goto(stop);
  await phone.getByText("No. This step wants").waitFor();
  // A scanner that types what it reads does the same, without script too.
  const plain = await house.page("lead", { javaScriptEnabled: false });
  await plain.goto(another);
  await plain.fill("[name=bottle]", fixer);
  await plain.getByRole("button", { name: "Check the bottle" }).click();
  await plain.getByText("Yes: this is Fixer 12").waitFor();
  assert.deepEqual(phone.faults, []);
});
