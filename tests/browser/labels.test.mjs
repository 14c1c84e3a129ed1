// Labels: printed to PDF, looked at as a picture, and their codes read back by an independent
// reader (zbar): each opens the page of its roll.
import { test } from "node:test";
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { join } from "node:path";
import { PICTURES, open } from "./house.mjs";

const DPI = 300;

/** The word behind the code of one label: that part of the printed page, read by zbar. */
function read(pdf, { page, x, y, width, height }, to) {
  const dots = (mm) => String(Math.round((mm * DPI) / 25.4));
  execFileSync("pdftoppm", ["-r", String(DPI), "-gray", "-png", "-singlefile", "-f", String(page), "-l", String(page),
    "-x", dots(x), "-y", dots(y), "-W", dots(width), "-H", dots(height), pdf, to]);
  return execFileSync("zbarimg", ["--quiet", "--raw", `${to}.png`], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] }).trim();
}

/** The lead measures a sheet of single labels once, with a ruler. */
async function measure(lead, sheet) {
  await lead.goto("/rolls/label-sheets");
  for (const [name, value] of Object.entries(sheet)) await lead.fill(`#${name}`, value);
  await lead.getByRole("button", { name: "Keep it" }).click();
  await lead.locator("p.flash", { hasText: "Kept" }).waitFor();
}

/** Where the labels stand, in millimetres, as the page says. */
const places = (page) => page.locator("svg.label-sheet").evaluateAll((sheets) =>
  sheets.flatMap((sheet, n) => [...sheet.children].map((label) => {
    const [x, y] = label.getAttribute("transform").match(/[\d.]+/g).map(Number);
    return { page: n + 1, x, y };
  })));

test("the codes on printed labels open the pages of their rolls", async () => {
  const house = await open();
  try {
    const lead = await house.page("lead");
    await lead.goto("/rolls");
    const tickets = await lead.locator("#rolls tbody th a").evaluateAll((links) =>
      links.slice(0, 24).map((link) => link.getAttribute("href").split("/").at(-1)));
    assert.equal(tickets.length, 24);
    await measure(lead, { name: "Roll of single labels", page_width: "62", page_height: "80", across: "1", down: "2",
      label_width: "60", label_height: "38", left_margin: "1", top_margin: "1", gap_across: "0", gap_down: "2" });
    const sheets = [["own-1", undefined, 5, 3, 60, 38], ["a4-3x8", "A4", 24, 2, 70, 37], ["a4-5x13", "A4", 6, 1, 38.1, 21.2], ["letter-3x10", "Letter", 6, 1, 66.7, 25.4]];
    for (const [sheet, format, count, pages, width, height] of sheets) {
      const some = tickets.slice(0, count);
      const skip = format ? 2 : 1;
      await lead.goto(`/rolls/labels?sheet=${sheet}&skip=${skip}&tickets=${some.join(".")}`);
      const pdf = join(PICTURES, `labels-${sheet}.pdf`);
      await lead.pdf({ path: pdf, ...(format && { format }), preferCSSPageSize: true });
      const info = execFileSync("pdfinfo", [pdf], { encoding: "utf8" });
      assert.match(info, new RegExp(`Pages:\\s+${pages}\\b`), sheet);
      // 62 x 80 mm in points: the sheet of the studio's own measures has its own paper.
      if (!format) assert.match(info, /Page size:\s+17[56](\.\d+)? x 22[67]/);
      const found = (await places(lead)).map((at) => read(pdf, { ...at, width, height }, join(PICTURES, "label")));
      assert.deepEqual(found, some.map((ticket) => new URL(`/rolls/${ticket}`, house.url).href), sheet);
    }
    await lead.goto(`/rolls/${tickets[0]}`);
    assert.ok((await lead.locator("h1").innerText()).includes(tickets[0].slice(0, 3)));
    assert.deepEqual(lead.faults, []);
  } finally {
    await house.close();
  }
});
