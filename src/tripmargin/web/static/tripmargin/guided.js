// The questions about a machine. Without this script they are a plain form.
"use strict";

// The key that says "next" on a phone goes on to the next box, and does not send the whole form.
document.addEventListener("keydown", (event) => {
  const box = event.target;
  if (event.key !== "Enter" || event.isComposing || !box.matches(".asked input")) return;
  event.preventDefault();
  onward(box);
});
const onward = (box) => {
  const boxes = [...document.querySelectorAll(".asked input, .guided > .buttons button")];
  boxes[boxes.indexOf(box) + 1].focus();
};
document.addEventListener("mended", ({ target }) => { if (target.matches(".asked input")) onward(target); });

// A box whose answer was refused says so to a screen reader, and no more once it is mended.
document.addEventListener("htmx:afterSwap", (event) => {
  const box = document.querySelector(`[aria-describedby~="${CSS.escape(event.target.id)}"]`);
  if (!box) return;
  if (event.target.querySelector(".trouble")) box.setAttribute("aria-invalid", "true");
  else box.removeAttribute("aria-invalid");
});
