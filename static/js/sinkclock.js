// The clock of the runs at the sink. Every time is worked out from the server's clock and when a step began, never counted by ticks,
// so that a sleeping phone or a lost network changes nothing.
export class Runs {
  /** `pace`: how many times as fast the server's clock runs; 1 but in a demonstration. */
  constructor(now, pace = 1, kept = "") {
    this.pace = pace; this.kept = kept;
    // A page from this device's memory says what the server's clock said when it was fetched, which may be later than what was last heard
    // of that clock and is still long ago: whichever says the later moment for this instant is nearer the truth.
    let heard = null;
    try { heard = JSON.parse(localStorage.getItem(kept)); } catch { /* nothing kept */ }
    const here = Date.now() / 1000;
    if (heard && heard.at <= here && heard.from + (here - heard.at) * pace >= now) { this.from = heard.from; this.at = heard.at; } else this.begin(now);
  }
  begin(now) {
    this.from = now; this.at = Date.now() / 1000;
    if (this.kept) localStorage.setItem(this.kept, JSON.stringify({ from: this.from, at: this.at }));
  }
  /** Seconds of UTC as the server has them. */
  now() { return this.from + (Date.now() / 1000 - this.at) * this.pace; }
  set(now) { if (Math.abs(now - this.now()) > 1.5 * this.pace) this.begin(now); }
}

export const minutes = (s) => {
  const whole = Math.max(0, Math.ceil(s));
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`;
};

/** Where one run stands at a moment: its step, what is left of it, the next cue and the next step. */
export function stand(state, now) {
  const begun = new Map(state.begun);
  const last = state.begun.length ? Math.max(...begun.keys()) : -1;
  const step = state.steps.find((s) => s.n === last) ?? null;
  const next = state.steps.find((s) => s.n === last + 1) ?? null;
  if (!step) return { step, next, left: null, over: 0, cue: null, later: [], at: state.from };
  const paused = new Map(state.paused).get(last) ?? 0;
  const start = begun.get(last) + paused + (state.paused_since ? now - state.paused_since : 0);
  const passed = now - start;
  const left = step.seconds - passed;
  const later = step.cues.map((c) => ({ ...c, due: start + c.at })).filter((c) => c.due > now - 12);
  return { step, next, left, over: Math.max(0, -left), start, passed, later, cue: later.find((c) => c.due > now - 5) ?? null, at: start + step.seconds };
}

/** What the hand does next in one run, with its moment. */
export function movement(state, now, done) {
  const where = stand(state, now);
  if (state.paused_since) return { state, at: now + 9e6, text: "paused", kind: "wait" };
  if (!where.step) return { state, at: state.from, text: where.next ? `Begin: ${where.next.name}` : "End the run", kind: "step", step: where.next };
  const cue = where.later.find((c) => !done.has(`${state.run}-${where.step.n}-${c.at}`));
  if (cue && cue.due < where.at) return { state, at: cue.due, text: cue.text, kind: "cue", key: `${state.run}-${where.step.n}-${cue.at}` };
  if (where.next) return { state, at: where.at, text: `${where.next.name}: ${where.next.does}`, kind: "step", step: where.next };
  return { state, at: where.at, text: "All hung up: end the run", kind: "end" };
}

/** A short tone, once the reader has asked for sound. */
let sound = null;
export function withSound(on) { sound = on ? (sound ?? new AudioContext()) : null; }
export function beep(high = false) {
  if (!sound) return;
  const tone = sound.createOscillator(), volume = sound.createGain();
  tone.frequency.value = high ? 880 : 520;
  volume.gain.setValueAtTime(0.25, sound.currentTime);
  volume.gain.exponentialRampToValueAtTime(0.001, sound.currentTime + 0.5);
  tone.connect(volume).connect(sound.destination);
  tone.start(); tone.stop(sound.currentTime + 0.5);
}

/** Keeps the screen awake while the page is looked at, where the device can. */
export async function stayAwake() {
  try { await navigator.wakeLock?.request("screen"); } catch { /* the device may refuse, on low battery */ }
}
document.addEventListener("visibilitychange", () => { if (!document.hidden) stayAwake(); });

/** Tells the server, now or as soon as it can be reached again; each telling has a key of its own, so that it counts once. */
const QUEUE = "wetside-told";
const read = () => { try { return JSON.parse(localStorage.getItem(QUEUE)) ?? []; } catch { return []; } };
const write = (all) => localStorage.setItem(QUEUE, JSON.stringify(all));

export function tell(address, fields, key) {
  write([...read(), { address, body: new URLSearchParams({ ...fields, once_key: key }).toString() }]);
  return send();
}

let sending = false;
export async function send() {
  if (sending) return null;
  sending = true;
  let last = null;
  try {
    for (let all = read(); all.length; all = read()) {
      const one = all[0];
      const answer = await fetch(one.address, {
        method: "POST", body: one.body,
        headers: { accept: "application/json", "content-type": "application/x-www-form-urlencoded" },
        // A network that is there and says nothing must not hold the next telling up.
        signal: AbortSignal.timeout(10_000),
      });
      if (answer.status >= 500) break;
      write(read().slice(1));
      if (answer.ok) last = await answer.json();
      else document.dispatchEvent(new CustomEvent("say", { detail: "The studio's server did not take that. Load the page again." }));
    }
  } catch { /* no network: it stays in the queue */ } finally { sending = false; }
  return last;
}
export const untold = () => read().length;

/** Other phones tell of the same runs: what the server knows is looked at at once and every few seconds. `told`: how often this page has told. */
export function listen(address, take, told) {
  const look = async () => {
    if (document.hidden) return;
    if (untold()) { const fresh = await send(); if (fresh) take(fresh); return; }
    const before = told();
    try {
      const answer = await fetch(address, { headers: { accept: "application/json" } });
      const fresh = answer.ok ? await answer.json() : null;
      // An answer from before the last telling would take back what the hand has just begun.
      if (fresh && before === told() && !untold()) take(fresh);
    } catch { /* no network: the clock goes on by itself */ }
  };
  look();
  setInterval(look, 3000);
}
addEventListener("online", send);
