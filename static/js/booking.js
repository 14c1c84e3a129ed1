// Keeps what is free in step with the time in the form; without this a button asks for it.
const form = document.querySelector("form[data-booking]");
const say = (detail) => document.dispatchEvent(new CustomEvent("say", { detail }));
let asked = 0;

async function look() {
  const button = form.querySelector("button[formmethod=get]");
  const query = new URLSearchParams(new FormData(form));
  query.delete("once_key");
  const turn = ++asked;
  const answer = await fetch(`${button.getAttribute("formaction")}?${query}`);
  if (!answer.ok || turn !== asked) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const fresh = page.getElementById("with-it");
  const old = document.getElementById("with-it");
  if (!fresh || !old) return;
  const focused = document.activeElement?.closest("#with-it") ? document.activeElement.name : null;
  if (focused) return;
  old.replaceWith(fresh);
  say(fresh.querySelector("[data-at]")?.textContent ?? "");
}

form?.addEventListener("change", (event) => {
  if (["sink", "date", "from", "to", "from_pass", "to_pass"].includes(event.target.name)) look();
});
