// A second press while the first is under way would send the form twice; the server's once-key would catch it, this spares the wait.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-once]") || event.defaultPrevented) return;
  if (form.dataset.sent) return event.preventDefault();
  form.dataset.sent = "yes";
  event.submitter?.setAttribute("aria-disabled", "true");
  document.dispatchEvent(new CustomEvent("say", { detail: "Sending." }));
});

// The page may come back from the browser's memory: then it must work again.
addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) {
    delete form.dataset.sent;
    form.querySelectorAll("button[aria-disabled]").forEach((button) => button.removeAttribute("aria-disabled"));
  }
});
