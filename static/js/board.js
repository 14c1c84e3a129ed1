// Choosing a time on the board: the first press is the beginning, the second the end. Without this
// a press leads to the form with its beginning filled in, where the end is typed.
const day = () => document.querySelector("[data-day]");
const say = (detail) => document.dispatchEvent(new CustomEvent("say", { detail }));
let begun = null;

const cells = () => [...document.querySelectorAll("[data-day] td.free a[data-from]")];
/** The column of a cell: its place among the heads, counted over rowspans by its left edge. */
const column = (link) => Math.round(link.getBoundingClientRect().left);

/** The free cells from the beginning to here without a gap, or null. */
function stretch(from, to) {
  const here = cells().filter((link) => column(link) === column(from));
  const [a, b] = [here.indexOf(from), here.indexOf(to)];
  if (a < 0 || b < a) return null;
  const part = here.slice(a, b + 1);
  const whole = part.every((link, i) => i === 0 || part[i - 1].dataset.to === link.dataset.from);
  return whole ? part : null;
}

function clear() {
  begun = null;
  for (const link of cells()) link.parentElement.classList.remove("chosen");
  for (const link of cells()) link.removeAttribute("aria-pressed");
}

function press(event) {
  const link = event.target.closest("td.free a[data-from]");
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey || event.button > 0) return;
  if (!begun || column(begun) !== column(link) || !stretch(begun, link)) {
    event.preventDefault();
    clear();
    begun = link;
    link.parentElement.classList.add("chosen");
    link.setAttribute("aria-pressed", "true");
    say(`${link.dataset.sink} from ${link.dataset.from}. Now press the last stretch you want; Escape begins anew.`);
    return;
  }
  event.preventDefault();
  const to = new URL(begun.href);
  to.searchParams.set("to", link.dataset.to);
  location.assign(to);
}

function show(link) {
  if (!begun || !link) return;
  const part = column(begun) === column(link) ? stretch(begun, link) : null;
  for (const each of cells()) each.parentElement.classList.toggle("chosen", each === begun || Boolean(part?.includes(each)));
}

if (day()) {
  const how = document.querySelector("[data-how]");
  if (how) how.textContent = "Press the first stretch you want, then the last.";
  document.addEventListener("click", (event) => { if (event.target.closest("[data-day]")) press(event); });
  document.addEventListener("keydown", (event) => { if (event.key === "Escape" && begun) { clear(); say("Nothing is chosen."); } });
  for (const name of ["pointerover", "focusin"]) document.addEventListener(name, (event) => show(event.target.closest?.("td.free a[data-from]")));
  // The page may come back from the browser's memory.
  addEventListener("pageshow", clear);
}
