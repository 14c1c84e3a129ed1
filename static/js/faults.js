// Takes the reader to what was wrong.
document.querySelector("[data-faults]")?.focus();
