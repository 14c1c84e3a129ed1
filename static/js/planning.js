// How far a large day is: asked every two seconds, without moving the reader about.
const place = document.getElementById("planning");
const bar = place.querySelector("progress");
const put = (name, text) => { const at = place.querySelector(`[data-${name}]`); if (at.textContent !== String(text)) at.textContent = text; };

setInterval(async () => {
  try {
    const answer = await fetch(place.dataset.state, { headers: { accept: "application/json" } });
    if (!answer.ok) return;
    const now = await answer.json();
    if (now.over) { location.reload(); return; }
    put("stage", now.stage); put("seconds", now.seconds); put("tries", now.tries); put("runs", now.runs);
    put("far", now.of ? `${now.done} of at most ${now.of} steps` : "");
    // Without a value the bar says that nobody knows how far it is.
    if (now.of) { bar.max = now.of; bar.value = now.done; } else bar.removeAttribute("value");
  } catch { /* no network: asked again */ }
}, 2000);
