// Elements of the page, made by calls: nothing that a person typed is ever read as markup.

/** An element; `more` holds attributes, `on` listeners; children are elements or texts. */
function make(tag, more, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(more || {})) {
    if (name === "on") for (const [what, then] of Object.entries(value)) made.addEventListener(what, then);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== undefined && value !== null) made.setAttribute(name, value);
  }
  put(made, ...children);
  return made;
}

/** Put elements and texts into an element; what is empty is left out. */
function put(into, ...children) {
  into.append(...children.flat(3).filter((each) => each !== null && each !== undefined && each !== ""));
}

const paragraph = (text, kind) => make("p", { class: kind }, text);
const list = (lines, kind, tag) => make(tag || "ul", { class: kind }, lines.map((line) => make("li", {}, line)));

/** Cautions, before anything that sends a person to the machine. */
function cautionBox(lines) {
  return make("section", { class: "caution", "aria-label": "Cautions" },
    make("strong", {}, "Caution"), list(lines));
}

/** A button with a listener. */
function button(text, then, kind) {
  return make("button", { type: "button", class: kind, on: { click: then } }, text);
}

/** A chance as people read it; never 0 or 100 % unless it is. */
function percentOf(chance) {
  if (chance > 0 && chance < 0.001) return "under 0.1 %";
  if (chance > 0.999 && chance < 1 - 1e-12) return "over 99.9 %";
  const digits = chance < 0.01 || (chance > 0.99 && chance < 0.999) ? 1 : 0;
  return `${Number((100 * chance).toFixed(digits))} %`;
}

/** A number as a person wrote it: {value} or {trouble}; a decimal comma is one, and is read back. */
function readNumber(text, { unit, least, most, label }) {
  const said = text.trim();
  const bare = unit && said.toLowerCase().endsWith(unit.toLowerCase()) ? said.slice(0, -unit.length).trim() : said;
  const allowed = `Allowed: a number${unit ? ` of ${unit}` : ""} from ${least} to ${most}.`;
  if (!/^[+-]?\d+([.,]\d+)?$/.test(bare)) {
    return { trouble: `${label} = “${said}”: not a number${unit ? ` of ${unit}` : ""}. ${allowed}` };
  }
  const value = Number(bare.replace(",", "."));
  if (value < least || value > most) return { trouble: `${label} = ${said}: not plausible. ${allowed}` };
  return { value, readBack: `Taken as ${value}${unit ? ` ${unit}` : ""}` };
}

/** A moment in this phone's time: "2026-03-01 07:30". */
function momentWords(iso) {
  const at = new Date(iso), two = (n) => String(n).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}`;
}
