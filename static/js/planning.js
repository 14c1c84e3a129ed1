// How far a large day is: asked every two seconds, without moving the reader about.
const place = document.getElementById("planning");
const STAGES = { begun: "grouping the rolls", improving: "improving the day", stopping: "coming to its end", lost: "not heard of any more: plan the day again" };
const put = (name, text) => { const at = place.querySelector(`[data-${name}]`); if (at.textContent !== String(text)) at.textContent = text; };

setInterval(async () => {
  try {
    const answer = await fetch(place.dataset.state, { headers: { accept: "application/json" } });
    if (!answer.ok) return;
    const now = await answer.json();
    if (now.over) { location.reload(); return; }
    put("stage", STAGES[now.stage]); put("seconds", now.seconds); put("tries", now.tries); put("runs", now.runs);
  } catch { /* no network: asked again */ }
}, 2000);
