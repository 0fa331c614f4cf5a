// A machine's page: a step that is turned cancels the exact figures of the step before.
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
