// On the page of a bottle, opened by its code: says whether it is the one for the run that is open on this phone.
const place = document.querySelector("[data-bottle]");
const KEPT_MS = 3 * 3600 * 1000;
let open = null;
try { open = JSON.parse(localStorage.getItem("wetside-open-run")); } catch { /* none */ }
if (place && open && Date.now() - open.at < KEPT_MS) ask(place, open);

async function ask(place, { run, title }) {
  try {
    const answer = await fetch(`/runs/${run}/bottle`, {
      method: "POST", body: new URLSearchParams({ bottle: place.dataset.bottle }).toString(),
      headers: { accept: "application/json", "content-type": "application/x-www-form-urlencoded" },
    });
    if (!answer.ok) return;
    const { tone, sentence } = await answer.json();
    const said = document.createElement("p"), back = document.createElement("a");
    said.className = `flash ${tone}`; said.textContent = `${title}: ${sentence} `;
    back.href = `/runs/${run}`; back.textContent = "Back to the run";
    said.append(back); place.append(said);
  } catch { /* no network: the page says what it can */ }
}
