// The watchers themselves: each must see a page that is wrong in just the way it watches for,
// and find nothing on one that is well.
import { test, before, after } from "node:test";
import assert from "node:assert/strict";
import { randomBytes } from "node:crypto";
import { createServer } from "node:http";
import { launch } from "./chromium.mjs";
import { tree } from "./tree.mjs";
import { axe, links, overhang, scales, watch } from "./watch.mjs";

const leaf = (inside) => `<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Sink</title>
  <meta name="viewport" content="width=device-width"></head><body><main><h1>Sink</h1>${inside}</main></body></html>`;
const PAGES = {
  "/well": leaf("<p>North sink is free. <a href='/board'>Board</a> <a href='#top'>Up</a></p>"),
  "/fault": leaf("<script src='/fault.js'></script>"),
  "/fault.js": "throw new Error('the tap is dry')",
  "/inline": leaf("<script>document.title = 'changed'</script>"),
  "/elsewhere": leaf("<img alt='' src='http://studio.example/drop.png'>"),
  "/wide": leaf("<pre>".concat("reel ".repeat(200), "</pre>")),
  "/nameless": leaf("<button></button>"),
  "/pale": leaf("<p><font color='#cccccc'>Pale on white</font></p>"),
  "/alike": leaf("<a href='/one'>Read</a> <a href='/two'>Read</a> <button></button>"),
  "/jump": leaf("<h4>Deep</h4>"),
  "/turned": leaf("<link rel='stylesheet' href='/turned.css'><div><p>read first</p><p>seen first</p></div>"),
  "/turned.css": "div { display: flex; flex-direction: column-reverse }",
  "/heavy": leaf(`<p hidden>${randomBytes(60_000).toString("base64")}</p>`),
};

let server, browser, url;
before(async () => {
  server = createServer((request, response) => {
    const [, ending] = request.url.match(/\.(js|css)$/) ?? [];
    response.writeHead(PAGES[request.url] ? 200 : 404, {
      "content-type": { js: "text/javascript", css: "text/css" }[ending] ?? "text/html",
      "content-security-policy": "default-src 'self'; img-src *",
    });
    response.end(PAGES[request.url] ?? leaf("<p>Not here.</p>"));
  });
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  url = `http://127.0.0.1:${server.address().port}`;
  browser = await launch();
});
after(async () => {
  await browser?.close();
  server?.close();
});

async function seen(path) {
  const page = await browser.newPage({ viewport: { width: 360, height: 740 } });
  const faults = watch(page, url);
  const weight = await scales(page);
  await page.goto(url + path);
  const found = { faults, weight, over: await overhang(page), axe: await axe(page), links: await links(page), tree: await tree(page, true) };
  await page.close();
  return found;
}

test("a page that is well has no fault", async () => {
  const found = await seen("/well");
  assert.deepEqual([found.faults, found.over, found.axe, found.links, found.tree], [[], 0, [], ["/board"], []]);
  assert.ok(found.weight.sent > 100 && found.weight.sent < 2000, `${found.weight.sent}`);
});

for (const [path, told] of [["/fault", /script: the tap is dry/], ["/inline", /console: .*policy/i],
  ["/elsewhere", /elsewhere: http:\/\/studio\.example/]]) {
  test(`${path} is told`, async () => {
    assert.match((await seen(path)).faults.join("\n"), told);
  });
}

test("a page wider than the phone is told", async () => {
  assert.ok((await seen("/wide")).over > 100);
});

test("a button without a name and pale words are told", async () => {
  assert.match((await seen("/nameless")).axe.join("\n"), /button-name/);
  assert.match((await seen("/pale")).axe.join("\n"), /color-contrast/);
});

test("names, headings and the order of reading are told", async () => {
  assert.match((await seen("/alike")).tree.join("\n"), /button without a name[^]*two links called “Read”/);
  assert.match((await seen("/jump")).tree.join("\n"), /jumps from level 1 to 4/);
  assert.match((await seen("/turned")).tree.join("\n"), /“seen first” is read after “read first” and stands above it/);
});

test("a heavy page is weighed, on the wire and unpacked", async () => {
  const { weight } = await seen("/heavy");
  assert.ok(weight.sent > 80_000 && weight.unpacked > 80_000, JSON.stringify(weight));
});
