// Keeps the screen at the door true: draws it afresh when something changed, when something begins
// or ends, and when it has been away.
let again = 0;
let source = null;

async function draw() {
  clearTimeout(again);
  const wall = document.getElementById("wall");
  const answer = await fetch(location.href, { cache: "no-store" }).catch(() => null);
  if (answer && answer.ok) {
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("wall");
    if (fresh) wall.replaceWith(fresh);
  } else if (answer && answer.status === 404) {
    location.reload();
    return;
  }
  plan();
}

function plan() {
  const seconds = Number(document.getElementById("wall").dataset.again) || 60;
  again = setTimeout(draw, seconds * 1000);
}

function listen() {
  source = new EventSource(document.getElementById("wall").dataset.live);
  source.addEventListener("revision", (event) => {
    if (event.data !== document.getElementById("wall").dataset.revision) draw();
  });
  source.addEventListener("error", () => {
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, 15000);
  });
}

plan();
if ("EventSource" in window) listen();
