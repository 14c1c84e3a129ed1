// Labels: printed to PDF, looked at as a picture, and their codes read back by an independent
// reader (zbar): each opens the page of its roll.
import { test } from "node:test";
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { PICTURES, open } from "./house.mjs";

/** The words behind all codes of a picture. */
function codes(picture) {
  const found = execFileSync("zbarimg", ["--quiet", "--raw", picture], { encoding: "utf8" });
  return found.trim().split("\n").sort();
}

test("the codes on printed labels open the pages of their rolls", async () => {
  const house = await open();
  try {
    const lead = await house.page("lead");
    await lead.goto("/rolls");
    const tickets = await lead.locator("#rolls tbody th a").evaluateAll((links) =>
      links.slice(0, 30).map((link) => link.getAttribute("href").split("/").at(-1)));
    assert.equal(tickets.length, 30);
    const wanted = tickets.map((ticket) => new URL(`/rolls/${ticket}`, house.url).href).sort();
    for (const [sheet, format, pages] of [["a4-3x8", "A4", 2], ["a4-5x13", "A4", 1], ["letter-3x10", "Letter", 2]]) {
      await lead.goto(`/rolls/labels?sheet=${sheet}&skip=2&tickets=${tickets.join(".")}`);
      const pdf = join(PICTURES, `labels-${sheet}.pdf`);
      await lead.pdf({ path: pdf, format, preferCSSPageSize: true });
      const info = execFileSync("pdfinfo", [pdf], { encoding: "utf8" });
      assert.match(info, new RegExp(`Pages:\\s+${pages}\\b`), sheet);
      execFileSync("pdftoppm", ["-r", "300", "-png", pdf, join(PICTURES, `labels-${sheet}`)]);
      const found = [];
      for (let page = 1; page <= pages; page++) found.push(...codes(join(PICTURES, `labels-${sheet}-${page}.png`)));
      assert.deepEqual(found.sort(), wanted, sheet);
    }
    await lead.goto(`/rolls/${tickets[0]}`);
    assert.ok((await lead.locator("h1").innerText()).includes(tickets[0].slice(0, 3)));
    assert.deepEqual(lead.faults, []);
  } finally {
    await house.close();
  }
});
