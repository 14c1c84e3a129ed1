// One run at the sink: a large count-down from the clock, the cue of the hand, and what comes next. The forms below do the same without script.
import { Runs, beep, listen, minutes, send, stand, stayAwake, tell, untold, withSound } from "./sinkclock.js";

const place = document.getElementById("watch");
if (place) begin(place);

function begin(place) {
  const kept = `wetside-run-${JSON.parse(place.dataset.state).run}`;
  let state = JSON.parse(place.dataset.state);
  // A page brought back without network is older than what this phone has seen and told since, and so is the clock in it.
  const clock = new Runs(state.now, state.pace, "wetside-clock");
  try { const mine = JSON.parse(localStorage.getItem(kept)); if (mine && mine.now > state.now) state = mine; } catch { /* nothing kept */ }
  const may = place.dataset.may === "yes", serial = place.dataset.once;
  let told = 0, rung = "", sounds = false, ending = false;
  place.hidden = false;
  if (may) localStorage.setItem("wetside-open-run", JSON.stringify({ run: state.run, title: state.title, at: Date.now() }));
  place.innerHTML = `<p class="watch-step"></p><p class="watch-left" role="timer" aria-live="off"></p><p class="watch-cue"></p><p class="watch-next"></p>
    <p class="acts"><button type="button" class="do" data-go></button> <button type="button" class="link" data-pause></button> <button type="button" class="link" data-sound>Sound the cues</button></p><p class="help" data-net></p>`;
  const find = (s) => place.querySelector(s);
  const [go, pause, noise] = [find("[data-go]"), find("[data-pause]"), find("[data-sound]")];
  go.hidden = pause.hidden = !may;

  const put = (fields) => {
    const at = Math.floor(clock.now());
    follow(fields, at);
    localStorage.setItem(kept, JSON.stringify({ ...state, now: clock.now() }));
    tell(place.dataset.tell, { ...fields, at }, `${serial}-${at}-${told++}`).then((fresh) => { if (fresh) take(fresh); });
  };
  // What this phone tells is shown at once; the server's answer then takes its place.
  const follow = (fields, at) => {
    if (fields.kind === "loaded") state.loaded = true;
    if (fields.kind === "paused") state.paused_since = at;
    if (state.paused_since && fields.kind !== "paused" && fields.kind !== "measured") {
      const n = state.begun.length ? state.begun[state.begun.length - 1][0] : 0;
      const before = new Map(state.paused);
      state.paused = [...before.set(n, (before.get(n) ?? 0) + at - state.paused_since)];
      state.paused_since = null;
    }
    if (fields.kind === "step" && !state.begun.some(([n]) => n === Number(fields.step))) state.begun.push([Number(fields.step), at]);
    draw();
  };
  const take = (fresh) => {
    if (fresh.run !== state.run) return;
    if (fresh.over && !state.over) location.reload();
    state = fresh; clock.set(fresh.now); localStorage.setItem(kept, JSON.stringify(state)); draw();
  };

  go.addEventListener("click", () => {
    stayAwake();
    const where = stand(state, clock.now());
    if (!state.loaded) put({ kind: "loaded" });
    else if (where.next) put({ kind: "step", step: where.next.n });
    else { ending = true; told++; tell(place.dataset.end, {}, `${serial}-end`).then((fresh) => { if (fresh) take(fresh); }); draw(); }
  });
  pause.addEventListener("click", () => put({ kind: state.paused_since ? "went_on" : "paused" }));
  noise.addEventListener("click", () => { sounds = !sounds; withSound(sounds); noise.textContent = sounds ? "Silence the cues" : "Sound the cues"; if (sounds) beep(); });
  document.querySelector("#by-form")?.classList.add("plain-only");

  function draw() {
    const now = clock.now(), where = stand(state, now);
    const name = !state.loaded ? "Load in the dark" : where.step ? where.step.name : "Ready to begin";
    find(".watch-step").textContent = name;
    const left = find(".watch-left");
    left.textContent = where.left === null ? "" : where.left >= 0 ? minutes(where.left) : `over by ${minutes(where.over)}`;
    left.classList.toggle("late", where.left !== null && where.left < 0);
    const out = where.left !== null && where.left <= 10 && where.left >= 0 && where.step.cues.length;
    const cue = where.cue;
    const text = state.paused_since ? "Paused. What is in the tank goes on working." : cue ? (cue.due <= now ? cue.text : `${cue.text} in ${minutes(cue.due - now)}`) : where.left !== null && where.left < 0 ? `Now: ${where.next ? where.next.name : "end the run"}` : "";
    find(".watch-cue").textContent = text;
    find(".watch-cue").classList.toggle("due", Boolean(cue && cue.due <= now) || Boolean(out));
    find(".watch-next").textContent = where.next ? `Next: ${where.next.name}. ${where.next.does}` : "Next: end the run.";
    go.disabled = ending;
    go.textContent = ending ? "The end of the run is being told" : !state.loaded ? "Loaded: do not open" : where.next ? `Begin now: ${where.next.name}` : "All hung up: end the run";
    pause.hidden = !may || !where.step;
    pause.textContent = state.paused_since ? "Go on" : "Pause";
    find("[data-net]").textContent = untold() ? "No network. What you tell is kept on this device and sent when it is back." : "";
    const mark = cue && cue.due <= now ? `${where.step.n}-${cue.at}` : where.left !== null && where.left <= 0 ? `${where.step?.n}-end` : "";
    if (mark && mark !== rung) {
      rung = mark; beep(mark.endsWith("end"));
      document.dispatchEvent(new CustomEvent("say", { detail: mark.endsWith("end") ? `${where.step.name} is over. ${where.next ? where.next.name : "End the run."}` : cue.text }));
    }
  }
  draw();
  setInterval(draw, 200);
  listen(`/runs/${state.run}/state`, take, () => told);
  keep();
}

/** Keeps this page and its files on the device, so that a reload without network finds them. */
async function keep() {
  if (!navigator.serviceWorker || !globalThis.caches) return;
  try {
    await navigator.serviceWorker.register("/runs/keeper.js");
    const files = performance.getEntriesByType("resource").map((e) => e.name).filter((name) => new URL(name).pathname.startsWith("/static/"));
    await (await caches.open("wetside-runs")).addAll([location.pathname, ...new Set(files)]);
  } catch { /* a device that keeps nothing still has the clock while the page is open */ }
}
