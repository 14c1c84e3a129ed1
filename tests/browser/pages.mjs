// Which pages the browser tests look at. The doors come from tests/doors.txt, so a new page is
// looked at as soon as it has a door; here stands only what a door alone does not tell.
import { readFileSync } from "node:fs";

/** From the least to the most trusted; each may open what the ones before may. */
export const PEOPLE = ["nobody", "newcomer", "member", "lead"];
const AUDIENCE = { Anyone: "nobody", Newcomer: "newcomer", Member: "member", Lead: "lead" };

/** Doors that lead to no page of ours. */
const NOT_PAGES = new Set([
  "/favicon.ico", "/healthz", "/readyz", "/metrics", "/me/export", "/static/{hash}/{name:.+}",
  "/live/board", "/wall/{secret}/live", "/safety/record.csv",
  "/shelf/shopping.csv", "/waste/log.csv", "/costs.csv", "/trail.csv",
  "/runs/keeper.js", "/runs/{id}/state", "/sink/states",
  "/chart/{id}/working", "/chart/recipes.csv", "/rolls/recipes", "/rolls/export.csv", "/rolls/label-sheets/{word}.css",
]);

/** Where a link to a page with a changing address is found. */
const FOUND_ON = {
  "/notes/{slug}": "/notes",
  "/notes/{slug}/versions": "/notes/labels",
  "/notes/{slug}/versions/{number}": "/notes/labels/versions",
  "/notes/{slug}/poster": "/notes/labels",
  "/notes/{slug}/edit": "/notes/labels",
  "/notes/{slug}/questions": "/notes/labels",
  "/safety/induction/{member}": "/safety/induction",
  "/demo/letters/{id}": "/demo/letters",
  "/members/{id}": "/members",
  "/room/sinks/{id}": "/room",
  "/room/tanks/{id}": "/room",
  "/room/reels/{id}": "/room",
  "/room/stations/{id}": "/room",
  "/room/rooms/{id}": "/room",
  "/bookings/{id}": "/bookings",
  "/rolls/{ticket}": "/rolls",
  "/chart/{id}": "/chart",
  "/chart/developers/{id}": "/chart/developers",
  "/days/{date}": "/days",
  "/shelf/products/{id}": "/shelf",
  "/baths/{id}": "/baths",
  "/baths/{id}/use": "/baths",
  "/baths/{id}/label": "/baths/12",
  "/baths/{id}/retire": "/baths/12",
  "/baths/{id}/recall": "/baths/12",
  "/baths/{id}/corrections/{entry}": "/baths/12",
  "/baths/{id}/rotate": "/baths/14",
  "/recall/bottles/{id}": "/shelf/bottles/13",
  "/waste/containers/{id}": "/waste",
  "/shelf/products/{id}/change": "/shelf/products/1",
  "/shelf/bottles/{id}": "/shelf/products/1",
  "/days/{date}/cards": "/days/{date}",
  "/days/{date}/plan": "/days",
  "/days/{date}/what-if": "/days",
  "/runs/{id}": "/sink",
  "/series/{id}": "/series",
};

/** Pages that are asked for with a question, and those only some may see (for others: no such page). */
const ASKED = {
  "/find": "/find?words=fixer",
  "/notes/{slug}/changes": "/notes/labels/changes?from=1&to=2",
  "/incidents/{id}": "/incidents/1",
  "/tank-cards/{id}": "/tank-cards/1",
};

/** Pages behind a secret address: here as seen with one that is no longer good. */
const SPENT = {
  "/letters/unwanted/{member}/{kind}/{seal}": "/letters/unwanted/1/reminder/spent",
  "/calendar/{secret}.ics": "/calendar/1-spent.ics",
};

const pattern = (door) =>
  new RegExp(`^${door.replace(/\{[^}]*:\.\+\}/g, ".+").replace(/\{[^}]*\}/g, "[^/]+")}$`);

export const doors = readFileSync(new URL("../doors.txt", import.meta.url), "utf8")
  .trim().split("\n")
  .map((line) => line.split(" "))
  .filter(([, method]) => method === "GET")
  .map(([who, , path]) => ({ who: AUDIENCE[who], path, pattern: pattern(path) }));

export const mayOpen = (person, door) => PEOPLE.indexOf(person) >= PEOPLE.indexOf(door.who);

/** Every page one person may open: its address, or the page that links to it. */
export function pagesOf(person) {
  return doors
    .filter((door) => mayOpen(person, door) && !NOT_PAGES.has(door.path) && !door.path.startsWith("/api/"))
    .map((door) => {
      if (FOUND_ON[door.path]) return { ...door, on: FOUND_ON[door.path] };
      return { ...door, at: ASKED[door.path] ?? SPENT[door.path] ?? door.path.replace(/\{secret\}/, "spent") };
    })
    .concat([{ who: "nobody", path: "/no-such-page", at: "/no-such-page" }]);
}
