// What pages do in the browser besides htmx: say when there is no connection, and send nothing twice.
"use strict";

const offline = document.querySelector(".offline:not(.refused)");
const showConnection = () => { offline.hidden = navigator.onLine; };
window.addEventListener("online", showConnection);
window.addEventListener("offline", showConnection);
document.addEventListener("htmx:sendError", () => { offline.hidden = false; });
document.addEventListener("htmx:afterOnLoad", showConnection);
showConnection();

// An answer that is swapped nowhere must not look like none.
const refused = document.querySelector(".refused");
document.addEventListener("htmx:responseError", (event) => {
  refused.textContent = refused.dataset[event.detail.xhr.status] || refused.dataset.other;
  refused.hidden = false;
});
document.addEventListener("htmx:beforeRequest", () => { refused.hidden = true; });

// Pictures are drawn by the server: it is told how wide this screen is.
const tellWidth = () => {
  document.cookie = `tripmargin_width=${window.innerWidth};path=/;max-age=31536000;samesite=lax`;
};
tellWidth();
window.addEventListener("resize", tellWidth);

// The number beside a slider follows it at once; the picture comes a moment later.
document.addEventListener("input", (event) => {
  const told = event.target.dataset && document.getElementById(event.target.dataset.told || "");
  if (!told) return;
  const number = event.target.value.replace(".", document.body.dataset.decimalSign);
  told.textContent = `${number} ${event.target.dataset.unit}`;
});
