// A step takes seconds to work out: say so once the form is on its way, and send it once.
"use strict";

document.addEventListener("submit", (event) => {
  const form = event.target.closest("[data-working]");
  if (!form) return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  form.dataset.sent = "1";
  for (const said of form.querySelectorAll("[data-said]")) {
    said.textContent = said.dataset.said;
    said.classList.add("htmx-request");
  }
});
// Back from the next page, the form may be sent again.
window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("[data-working]")) {
    delete form.dataset.sent;
    for (const said of form.querySelectorAll("[data-said]")) said.textContent = "";
  }
});
