// Elements of the page, made by calls; numbers as people read them.

const SVG = "http://www.w3.org/2000/svg";

/** An element of the page; `more` holds attributes, `on` listeners; children are elements or texts. */
function make(tag, more, ...children) {
  return fitted(document.createElement(tag), more, children);
}

/** An element of a drawing. */
function draw(tag, more, ...children) {
  return fitted(document.createElementNS(SVG, tag), more, children);
}

function fitted(made, more, children) {
  for (const [name, value] of Object.entries(more || {})) {
    if (name === "on") for (const [what, then] of Object.entries(value)) made.addEventListener(what, then);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
  }
  made.append(...children.flat(2).filter((each) => each !== null && each !== undefined && each !== ""));
  return made;
}

function change(element, attributes) {
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
}

/** A number with so many digits behind the point, with a true minus. */
function digits(value, count) {
  const text = (Math.abs(value) < 0.5 * 10 ** -count ? 0 : value).toFixed(count);
  return withSign(text.replace("-", "\u2212"));
}

const inMs = (t) => `${digits(t * 1e3, 1)} ms`;

let inches = false; // whether lengths are told in inches

/** A length in m with its unit: to a millimetre, or to a hundredth of an inch. */
const inMm = (x) => inches ? `${digits(x / 0.0254, Math.abs(x) < 0.0254 ? 3 : 2)} ${sayAs("unit", "in")}`
  : `${digits(x * 1e3, Math.abs(x) < 0.01 ? 1 : 0)} mm`;

/** A line through points, as a path's "d". */
function lineThrough(points, closed) {
  return `M${points.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join("L")}${closed ? "Z" : ""}`;
}

/** A window of the page for a drawing of so many px; what it shows is told in words. */
function canvas(width, high, told) {
  return draw("svg", { width, height: high, viewBox: `0 0 ${width} ${high}`, role: "img", "aria-label": told });
}

/** Hatching: a dot or slanted lines, by a name of its own in the page. */
function hatch(name, kind) {
  const shape = kind === "dots" ? draw("circle", { cx: 3, cy: 3, r: 1, class: "dot" })
    : draw("path", { d: "M0 0V7", class: "hatched" });
  const size = kind === "dots" ? 9 : 7;
  return draw("pattern", { id: name, width: size, height: size, patternUnits: "userSpaceOnUse",
    patternTransform: kind === "dots" ? null : "rotate(45)" }, shape);
}
