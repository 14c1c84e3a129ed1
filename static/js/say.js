// Speaks what a sighted reader sees appear: a region that is filled after loading is read aloud, one that is there from the start is not.
const region = document.getElementById("say");

function say(text) {
  region.textContent = "";
  setTimeout(() => { region.textContent = text; }, 150);
}

const flashes = [...document.querySelectorAll("[data-say]")].map((each) => each.textContent.trim().replace(/\s+/g, " "));
if (flashes.length > 0) say(flashes.join(" "));
document.addEventListener("say", (event) => say(event.detail));
