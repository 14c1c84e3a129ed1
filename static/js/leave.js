// Asks before a long form that has been written in is left. Sending it is not leaving it.
let written = false;

document.addEventListener("input", (event) => { if (event.target.closest("form[data-long]")) written = true; });
document.addEventListener("submit", () => { written = false; });
addEventListener("beforeunload", (event) => { if (written) event.preventDefault(); });
