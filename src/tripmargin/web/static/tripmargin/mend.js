// A comma in a number is mended at one touch. Without this script the button sends its whole form.
"use strict";

// A comma is the decimal sign in some languages: there it is read so, as the server reads it
// (tripmargin/ground/decimal_commas.py), and asked about only where it may mean something else.
const comma = document.body.dataset.decimalSign === ",";
window.tripmarginTyped = (text) => (comma
  ? text.replace(/\d[\d.,]*\d/g, (number) => (/^\d+,\d+$/.test(number) ? number.replace(",", ".") : number)) : text);
// What a button offers, as the language writes it.
window.tripmarginSpelled = (text) => (comma ? text.replace(/(\d)\.(\d)/g, "$1,$2") : text);

// What may be meant: the comma as a decimal sign, then as one between thousands
// (tripmargin/ground/decimal_commas.py says the same to the server).
window.tripmarginMeant = (said) => {
  const text = window.tripmarginTyped(said);
  const held = (text.match(/\d[\d.,]*\d/g) || []).filter((number) => number.includes(","));
  const read = (shape, as) => held.every((number) => shape.test(number))
    && text.replace(/\d[\d.,]*\d/g, (number) => (number.includes(",") ? as(number) : number));
  if (!held.length) return [];
  const both = [
    read(/^(\d+,\d+|\d{1,3}(\.\d{3})+,\d+)$/, (number) => number.replaceAll(".", "").replace(",", ".")),
    read(/^\d{1,3}(,\d{3})+(\.\d+)?$/, (number) => number.replaceAll(",", "")),
  ];
  return [...new Set(both.filter(Boolean))];
};

// Buttons that fill a box and send nothing are of no use without this script.
for (const one of document.querySelectorAll("[data-with-script]")) one.hidden = false;

// The box gets what the button offers. Where a script of the page goes on from there ("mended") or the
// box asks the server by itself, the form is not sent.
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-mend]");
  if (!button) return;
  const box = document.getElementsByName(button.dataset.mend)[0];
  if (!box) return;
  box.value = button.dataset.mended || button.value;
  box.removeAttribute("aria-invalid");
  const asks = box.closest("[hx-get],[hx-post]");
  const goesOn = !box.dispatchEvent(new CustomEvent("mended", { bubbles: true, cancelable: true }));
  if (asks || goesOn) event.preventDefault();
  if (asks) box.dispatchEvent(new Event("change", { bubbles: true }));
});
