// Fills the recipes in when film and index are known. Without this module a button of the form does it.
const form = document.querySelector("form[data-recipes]");
const list = form?.elements.recipe;

let asked = 0;
async function look() {
  const film = form.elements.film.value;
  const ei = form.elements.ei.value.trim();
  if (!film || !/^\d{1,5}$/.test(ei)) return;
  const mine = ++asked;
  try {
    const answer = await fetch(`${form.dataset.recipes}?${new URLSearchParams({ film, ei })}`);
    if (!answer.ok || answer.redirected) return;
    const found = await answer.json();
    if (mine !== asked) return;
    const kept = list.value;
    list.replaceChildren(list.options[0], ...found.map(({ value, text }) => new Option(text, value)));
    if (found.some(({ value }) => value === kept)) list.value = kept;
  } catch {
    // The network is away; the form works as it is.
  }
}

form?.elements.film.addEventListener("change", look);
form?.elements.ei.addEventListener("input", look);
