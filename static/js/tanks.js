// All tanks on one page, in the order of the next movement of the hand. Any key, tap or foot switch says "done" to the first.
import { Runs, beep, listen, minutes, movement, stand, stayAwake, tell, untold, withSound } from "./sinkclock.js";

const place = document.getElementById("tanks");
let states = JSON.parse(place.dataset.states);
if (states.length) begin();

function begin() {
  const clock = new Runs(states[0].now, states[0].pace), done = new Set(), serial = crypto.randomUUID?.() ?? String(Math.random()).slice(2);
  let told = 0, rung = "";
  place.hidden = false;
  place.innerHTML = `<p class="watch-step"></p><p class="watch-left" role="timer" aria-live="off"></p><p class="watch-cue"></p>
    <p class="acts"><button type="button" class="do" data-go>Done</button> <button type="button" class="link" data-sound>Sound the cues</button></p>
    <p class="help">Any key, a tap on “Done” or a foot switch says that the first movement is done. <span data-net></span></p><ol class="movements"></ol>`;
  const find = (s) => place.querySelector(s);
  let sounds = false;

  const order = (now) => states.filter((s) => !s.over).map((s) => movement(s, now, done)).sort((a, b) => a.at - b.at);
  const put = (move) => {
    stayAwake();
    if (move.kind === "cue") { done.add(move.key); return draw(); }
    if (move.kind === "end") { location.href = `/runs/${move.state.run}`; return; }
    if (move.kind !== "step" || !move.step) return;
    const at = Math.floor(clock.now());
    if (!move.state.begun.some(([n]) => n === move.step.n)) move.state.begun.push([move.step.n, at]);
    tell(`/runs/${move.state.run}/tell`, { kind: "step", step: move.step.n, at }, `${serial}-${told++}`).then((fresh) => { if (fresh) take([fresh]); });
    draw();
  };
  const take = (fresh) => {
    for (const one of fresh) {
      clock.set(one.now);
      const at = states.findIndex((s) => s.run === one.run);
      if (at >= 0) states[at] = one; else states.push(one);
    }
    draw();
  };
  const advance = () => { const first = order(clock.now())[0]; if (first) put(first); };
  find("[data-go]").addEventListener("click", advance);
  find("[data-sound]").addEventListener("click", (event) => { sounds = !sounds; withSound(sounds); event.target.textContent = sounds ? "Silence the cues" : "Sound the cues"; if (sounds) beep(); });
  // Keys that move about a page or belong to the browser keep their meaning.
  document.addEventListener("keydown", (event) => {
    const busy = event.repeat || event.ctrlKey || event.altKey || event.metaKey || event.target.closest("button, a, input, select, textarea, summary");
    if (busy || ["Tab", "Shift", "Escape", "F5"].includes(event.key)) return;
    event.preventDefault(); advance();
  });

  function draw() {
    const now = clock.now(), all = order(now), first = all[0];
    if (!first) return;
    find(".watch-step").textContent = `${first.state.title}, ${first.state.sink}`;
    const wait = first.at - now;
    find(".watch-left").textContent = wait > 0 ? `in ${minutes(wait)}` : wait > -5 ? "now" : `${minutes(-wait)} ago`;
    find(".watch-cue").textContent = first.text;
    find(".watch-cue").classList.toggle("due", wait <= 0);
    find("[data-net]").textContent = untold() ? "No network: what you tell is kept and sent later." : "";
    const list = find(".movements");
    list.replaceChildren(...all.map((m) => {
      const li = document.createElement("li"), link = document.createElement("a"), where = stand(m.state, now);
      link.href = `/runs/${m.state.run}`; link.textContent = m.state.title;
      const left = where.left === null ? "" : `, ${where.step.name}, ${where.left >= 0 ? `${minutes(where.left)} left` : `over by ${minutes(where.over)}`}`;
      li.append(link, `${left}: ${m.text}${m.at > now && m.at < now + 9e5 ? ` in ${minutes(m.at - now)}` : ""}`);
      return li;
    }));
    const mark = wait <= 0 ? `${first.state.run}-${first.key ?? first.step?.n ?? "end"}` : "";
    if (mark && mark !== rung) { rung = mark; beep(first.kind === "step"); document.dispatchEvent(new CustomEvent("say", { detail: `${first.state.title}: ${first.text}` })); }
  }
  draw();
  setInterval(draw, 250);
  listen("/sink/states", (fresh) => {
    if (Array.isArray(fresh)) states = states.filter((s) => fresh.some((n) => n.run === s.run));
    take([fresh].flat());
  }, () => told);
}
