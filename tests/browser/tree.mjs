// What the accessibility tree says of a page: names, landmarks, headings, and whether it is read in
// the order in which it is seen.

/** Roles that nobody can use without a name. */
const NAMED = new Set([
  "button", "link", "textbox", "searchbox", "combobox", "checkbox", "radio", "spinbutton", "slider",
  "image", "img", "table", "region", "dialog", "alertdialog", "figure", "DisclosureTriangle",
]);
/** Landmarks in the order in which a page has them; navigation may stand anywhere. */
const ORDER = ["banner", "main", "contentinfo"];

const value = (node, name) => node.properties?.find((p) => p.name === name)?.value.value;

/** The nodes that are read, in the order in which they are read. */
async function read(page) {
  const wire = await page.context().newCDPSession(page);
  const { nodes } = await wire.send("Accessibility.getFullAXTree");
  await wire.detach();
  const byId = new Map(nodes.map((node) => [node.nodeId, node]));
  const all = [];
  const walk = (node, within) => {
    const role = node.role?.value ?? "";
    const name = node.name?.value?.trim() ?? "";
    if (!node.ignored) all.push({ role, name, within, level: value(node, "level"), url: value(node, "url") });
    const inner = node.ignored ? within : [...within, role];
    for (const id of node.childIds ?? []) if (byId.has(id)) walk(byId.get(id), inner);
  };
  if (nodes.length) walk(nodes[0], []);
  return all;
}

function landmarks(nodes) {
  const wrong = [];
  const places = ORDER.map((role) => nodes.findIndex((node) => node.role === role)).filter((at) => at >= 0);
  if (places.some((at, n) => n > 0 && at < places[n - 1])) wrong.push("landmarks out of order");
  const mains = nodes.filter((node) => node.role === "main").length;
  if (mains !== 1) wrong.push(`${mains} main landmarks`);
  for (const role of ["navigation", "region", "complementary"]) {
    const names = nodes.filter((node) => node.role === role).map((node) => node.name);
    if (names.length > 1 && new Set(names).size < names.length) wrong.push(`two of ${role} called the same: ${names}`);
  }
  return wrong;
}

function headings(nodes) {
  const wrong = [];
  const levels = nodes.filter((node) => node.role === "heading").map((node) => node.level);
  if (levels.filter((level) => level === 1).length !== 1) wrong.push(`headings of level 1: ${levels.filter((l) => l === 1).length}`);
  levels.forEach((level, n) => {
    if (n > 0 && level > levels[n - 1] + 1) wrong.push(`a heading jumps from level ${levels[n - 1]} to ${level}`);
  });
  return wrong;
}

/** Within these the words around a link say what it is about (WCAG 2.2, 2.4.4). */
const TELLING = ["row", "listitem", "cell", "gridcell", "paragraph", "definition"];

/** Two links that are read alike, with nothing around them to tell them apart, lead to one place. */
function alike(nodes) {
  const to = new Map();
  const wrong = [];
  for (const { role, name, url, within } of nodes) {
    if (role !== "link" || !name || !url || within.some((of) => TELLING.includes(of))) continue;
    if (to.has(name) && to.get(name) !== url) wrong.push(`two links called “${name}”: ${to.get(name)} and ${url}`);
    to.set(name, url);
  }
  return wrong;
}

/** In one column, what is read later never stands wholly above what was read before it. */
function order(page) {
  return page.evaluate(() => {
    const seen = [...document.querySelectorAll("main :is(h1, h2, h3, h4, p, li, label, input, select, textarea, button, caption, tr)")]
      .filter((e) => e.checkVisibility() && !e.closest("svg, [aria-hidden=true], .unseen, .qr") && getComputedStyle(e).position === "static")
      .map((e) => ({ box: e.getBoundingClientRect(), text: (e.innerText || e.name || e.tagName).trim().slice(0, 40), e }))
      .filter(({ box }) => box.width > 1 && box.height > 1);
    const wrong = [];
    for (let n = 1; n < seen.length; n += 1) {
      const [before, after] = [seen[n - 1], seen[n]];
      // A cell's words lie within its row, and a row that scrolls by itself is read by its own order.
      if (before.e.contains(after.e)) continue;
      // What stands beside it, further along the line, may begin higher.
      if (after.box.left >= before.box.right - 1) continue;
      if (after.box.bottom <= before.box.top - 1) wrong.push(`“${after.text}” is read after “${before.text}” and stands above it`);
    }
    return wrong;
  });
}

/** Everything wrong with the open page as it is read. `narrow`: it is shown in one column. */
export async function tree(page, narrow) {
  const nodes = await read(page);
  const nameless = nodes.filter((node) => NAMED.has(node.role) && !node.name).map((node) => `${node.role} without a name`);
  const found = [...nameless, ...landmarks(nodes), ...headings(nodes), ...alike(nodes)];
  return narrow ? [...found, ...(await order(page))] : found;
}
