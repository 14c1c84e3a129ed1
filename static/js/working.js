// Works the time out while somebody types. Without this module the form's own button does it.
const form = document.querySelector("form[data-live]");
const place = document.querySelector("#worked");

let waiting;
let asked = 0;
async function workOut() {
  const mine = ++asked;
  try {
    const answer = await fetch(`${form.dataset.live}?${new URLSearchParams(new FormData(form))}`);
    if (!answer.ok || answer.redirected) return;
    const text = await answer.text();
    // Of two answers under way only the later question counts.
    if (mine === asked) place.innerHTML = text;
  } catch {
    // The network is away; the button still works when it is back.
  }
}

form?.addEventListener("input", () => {
  clearTimeout(waiting);
  waiting = setTimeout(workOut, 250);
});
