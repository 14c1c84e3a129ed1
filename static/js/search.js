// Shows what is found while somebody types. Without this module the form's own button does it.
const form = document.querySelector("form[data-search]");
const shown = document.querySelector("#shown");
const count = document.querySelector("#shown-count");

let waiting;
let asked = 0;
async function look() {
  const mine = ++asked;
  const filled = [...new FormData(form)].filter(([, value]) => value !== "");
  const address = `${form.getAttribute("action")}?${new URLSearchParams(filled)}`;
  try {
    const answer = await fetch(address);
    // A whole ticket leads to its roll; the button goes there.
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const found = page.querySelector("#shown");
    // Of two answers under way only the later question counts.
    if (!found || mine !== asked) return;
    shown.replaceChildren(...found.childNodes);
    count.textContent = page.querySelector("#shown-count").textContent;
    history.replaceState(null, "", address);
  } catch {
    // The network is away; the button still works when it is back.
  }
}

form?.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(look, 250);
});
