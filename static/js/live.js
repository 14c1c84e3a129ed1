// Keeps the living parts of a page fresh: listens for changes and fetches the page again. Without
// this the page stands as it was loaded, and works.
const part = document.querySelector("[data-live]");
let source = null;
let at = part ? part.dataset.revision : "";
let timer = 0;

/** By what an element is found again after the exchange. */
const trace = (element) => {
  if (!element || !element.closest("[data-live]")) return null;
  if (element.id) return `#${CSS.escape(element.id)}`;
  const form = element.closest("form");
  if (form) return `form[action="${CSS.escape(form.getAttribute("action"))}"] ${element.localName}`;
  const href = element.getAttribute("href");
  return href ? `${element.localName}[href="${CSS.escape(href)}"]` : null;
};

/** What is being typed or chosen must not be taken away. */
const busy = () => {
  const now = document.activeElement;
  if (document.querySelector("[data-live] .chosen")) return true;
  return now && now.closest("[data-live]") && now.matches("input, select, textarea, [aria-expanded=true]");
};

async function refresh(count) {
  if (busy()) {
    timer = setTimeout(() => refresh(count), 2000);
    return;
  }
  const answer = await fetch(location.href, { headers: { accept: "text/html" } }).catch(() => null);
  if (!answer || !answer.ok || answer.redirected) return;
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const focus = trace(document.activeElement);
  for (const old of document.querySelectorAll("[data-live], [data-live-too]")) {
    const next = old.id && fresh.getElementById(old.id);
    if (next) old.replaceChildren(...next.childNodes);
  }
  at = count;
  if (focus) document.querySelector(focus)?.focus({ preventScroll: true });
  if (part.dataset.say) document.dispatchEvent(new CustomEvent("say", { detail: part.dataset.say }));
}

function listen() {
  if (source || document.hidden) return;
  source = new EventSource(part.dataset.live);
  source.addEventListener("revision", (event) => {
    if (event.data === at) return;
    clearTimeout(timer);
    timer = setTimeout(() => refresh(event.data), 100);
  });
  source.addEventListener("error", () => {
    // A stream that only broke comes back by itself; one that was refused is asked for later.
    if (source?.readyState === EventSource.CLOSED) {
      source = null;
      setTimeout(listen, 15000);
    }
  });
}

if (part && "EventSource" in window) {
  // Browsers open few connections to one place, so a page nobody sees gives its own back.
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) {
      source?.close();
      source = null;
    } else {
      listen();
    }
  });
  window.addEventListener("pagehide", () => source?.close());
  listen();
}
