// A machine's page: a step that is turned cancels the exact figures of the step before, and what is
// kept is what the sliders show.
"use strict";

// htmx tells of every cancelled request on the console, as of an error. Here it is what was wanted.
document.addEventListener("htmx:beforeSend", ({ detail: { xhr } }) => {
  const cancelled = xhr.onabort;
  xhr.onabort = (event) => {
    const tell = console.error;
    console.error = () => {};
    try {
      cancelled.call(xhr, event);
    } finally {
      console.error = tell;
    }
  };
});

// What is kept is what the sliders show now: the last answer may still be on its way.
document.addEventListener("click", ({ target }) => {
  const link = target.closest("a[data-turns]");
  if (!link) return;
  const turns = new FormData(document.getElementById("turns"));
  link.search = new URLSearchParams(turns).toString();
});
