// What pages do in the browser besides htmx: say when there is no connection, and send nothing twice.
"use strict";

const offline = document.querySelector(".offline");
const showConnection = () => { offline.hidden = navigator.onLine; };
window.addEventListener("online", showConnection);
window.addEventListener("offline", showConnection);
document.addEventListener("htmx:sendError", () => { offline.hidden = false; });
document.addEventListener("htmx:afterOnLoad", showConnection);
showConnection();
