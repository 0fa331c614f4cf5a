// Instants in the picture of a stop are dragged, and their number boxes follow. Without this script the
// boxes are typed into.
"use strict";

const REACH = 15; // px of the picture, either side of a line: a thumb is wide
// Boxes hold numbers as the language writes them.
const sign = document.body.dataset.decimalSign || ".";
const read = (box) => Number(sign === "," ? box.value.replace(",", ".") : box.value);
for (const line of document.querySelectorAll("[data-instant]")) {
  const box = document.getElementsByName(`i.${line.dataset.instant}`)[0];
  const sheet = line.ownerSVGElement, plot = sheet?.querySelector("[data-from]");
  if (!box || !plot) continue;
  const [from, to, left, right] = ["from", "to", "left", "right"].map((name) => Number(plot.dataset[name]));
  const first = Number(line.dataset.time), zero = 1000 * first - read(box); // s, ms
  const { x, y, width, height } = line.getBBox();
  const hit = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  const size = { x: x - REACH, y, width: width + 2 * REACH, height, fill: "transparent", class: "hit" };
  for (const [name, value] of Object.entries(size)) hit.setAttribute(name, value);
  sheet.append(hit);

  const now = () => (zero + read(box)) / 1000;
  const put = (time) => {
    const kept = Math.min(to, Math.max(from, time));
    box.value = (1000 * kept - zero).toFixed(1).replace(".", sign);
    const moved = `translate(${(((kept - first) / (to - from)) * (right - left)).toFixed(1)} 0)`;
    line.setAttribute("transform", moved);
    hit.setAttribute("transform", moved);
  };
  let held;
  hit.addEventListener("pointerdown", (event) => {
    if (!box.value.trim() || Number.isNaN(now())) return;
    held = { x: event.clientX, time: now() };
    hit.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  hit.addEventListener("pointermove", (event) => {
    if (!held) return;
    const wide = sheet.getBoundingClientRect().width / sheet.viewBox.baseVal.width;
    put(held.time + ((event.clientX - held.x) / wide / (right - left)) * (to - from));
  });
  for (const end of ["pointerup", "pointercancel"]) hit.addEventListener(end, () => { held = null; });
  box.addEventListener("change", () => { if (box.value.trim() && !Number.isNaN(now())) put(now()); });
}
