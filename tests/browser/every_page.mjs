// Every page, every person, desk and phone, every look, and paper: no fault, no overhang, nothing
// that axe finds, read in the order in which it is seen, not too heavy, and no link to a door that is missing or closed to its reader.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { join } from "node:path";
import { PICTURES, open } from "./house.mjs";
import { PEOPLE, doors, mayOpen, pagesOf } from "./pages.mjs";
import { axe, links, overhang, scales } from "./watch.mjs";
import { tree } from "./tree.mjs";

const SIZES = { desk: { width: 1280, height: 900 }, phone: { width: 360, height: 740 } };
const LIMITS = { sent: 60 * 1024, unpacked: 200 * 1024 };
// How a page may be looked at: by day, by night, in the looks a person can choose, on paper.
const VIEWS = {
  light: { media: { colorScheme: "light", media: "screen" } },
  dark: { media: { colorScheme: "dark", media: "screen" }, only: ["color-contrast"] },
  contrast: { look: "contrast", media: { colorScheme: "light", media: "screen" }, only: ["color-contrast"] },
  red: { look: "red", media: { colorScheme: "dark", media: "screen" }, only: ["color-contrast"] },
  paper: { media: { colorScheme: "light", media: "print" }, only: ["color-contrast"] },
};

/** A day that is planned and not yet published; the demonstration has published today. */
async function planTomorrow(house) {
  const lead = await house.page("lead");
  await lead.goto("/days");
  await lead.fill("#date", new Date(Date.now() + 24 * 3600 * 1000).toISOString().slice(0, 10));
  await lead.click("main button.do");
  await lead.waitForURL(/\/plan$/);
  await lead.context().close();
}

/** The addresses at which a page stands; a page with changing ones is looked at twice at most. */
async function addresses(page, wanted, person) {
  if (wanted.at) return [wanted.at];
  const [on] = wanted.on.includes("{")
    ? await addresses(page, pagesOf(person).find((door) => door.path === wanted.on), person)
    : [wanted.on];
  if (!on) return [];
  await page.goto(on);
  return (await links(page)).filter((path) => wanted.pattern.test(path)).slice(0, 2);
}

/** Those who see a page in all views; for the others, whose page differs in few words, by day. */
const seesAll = (person, door) => person === door.who || person === PEOPLE.at(-1);

/** Looks at the open page in these views; says what is wrong. */
async function inViews(page, views, size, name) {
  const wrong = [];
  const chosen = await page.evaluate(() => document.documentElement.dataset.look ?? "");
  for (const [view, { look, media, only }] of views) {
    await page.emulateMedia(media);
    await page.evaluate((value) => { document.documentElement.dataset.look = value; }, look ?? chosen);
    // Colours are the same at any width.
    if (size === "desk" || view === "light") {
      wrong.push(...(await axe(page, only)).map((fault) => `${view}: ${fault}`));
    }
    const over = view === "paper" ? 0 : await overhang(page);
    if (over > 0) wrong.push(`${view}: ${over} px too wide`);
    // For people who want to look: WETSIDE_PICTURES names the folder.
    if (process.env.WETSIDE_PICTURES) {
      await page.screenshot({ path: join(PICTURES, `${name}-${view}.png`), fullPage: true });
    }
  }
  await page.evaluate((value) => { document.documentElement.dataset.look = value; }, chosen);
  await page.emulateMedia(VIEWS.light.media);
  return wrong;
}

/** Links of the open page that lead nowhere, or to a door that its reader may not open. */
async function deadLinks(page, person) {
  return (await links(page)).filter((path) => {
    const door = doors.find((d) => d.pattern.test(path));
    return !door || !mayOpen(person, door);
  });
}

/** Walks all pages of all people at this size. */
export function everyPageAt(size) {
  let house;
  before(async () => {
    house = await open();
    await planTomorrow(house);
  });
  after(async () => { await house?.close(); });
  for (const person of PEOPLE) test(`${person}, ${size}`, () => walk(house, person, size));
}

/** What is wrong with this address for this person. */
async function atAddress(page, path, { person, size, views, weight }) {
  Object.assign(weight, { sent: 0, unpacked: 0 });
  const wrong = [];
  const answer = await page.goto(path);
  await page.waitForLoadState("load");
  if (answer.status() >= 500) wrong.push(`${answer.status()}`);
  for (const [what, limit] of Object.entries(LIMITS)) {
    if (weight[what] > limit) wrong.push(`${weight[what]} bytes ${what}, more than ${limit}`);
  }
  wrong.push(...await inViews(page, views, size, `${person}-${size}-${path.replaceAll("/", "_")}`));
  if (size === "phone") wrong.push(...await tree(page, true));
  wrong.push(...(await deadLinks(page, person)).map((to) => `leads to ${to}, which is not open`));
  wrong.push(...page.faults.splice(0));
  return wrong.map((fault) => `${path}: ${fault}`);
}

async function walk(house, person, size) {
  const page = await house.page(person === "nobody" ? null : person,
    { viewport: SIZES[size], reducedMotion: "reduce" });
  const weight = await scales(page);
  const wrong = [];
  for (const wanted of pagesOf(person)) {
    const views = Object.entries(VIEWS).slice(0, seesAll(person, wanted) ? undefined : 1);
    const paths = await addresses(page, wanted, person);
    if (paths.length === 0) wrong.push(`${wanted.on} links to no ${wanted.path}`);
    for (const path of paths) wrong.push(...await atAddress(page, path, { person, size, views, weight }));
  }
  await page.context().close();
  assert.deepEqual(wrong, []);
}
