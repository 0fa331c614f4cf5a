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
  return make("section", { class: "caution", "aria-label": say("Cautions") },
    make("strong", {}, say("Caution")), list(lines));
}

/** A button with a listener. */
function button(text, then, kind) {
  return make("button", { type: "button", class: kind, on: { click: then } }, text);
}

/** A chance as people read it; never 0 or 100 % unless it is. */
function percentOf(chance) {
  if (chance > 0 && chance < 0.001) return say("under {percent:.1f} %", { percent: 0.1 });
  if (chance > 0.999 && chance < 1 - 1e-12) return say("over {percent:.1f} %", { percent: 99.9 });
  const digits = chance < 0.01 || (chance > 0.99 && chance < 0.999) ? 1 : 0;
  return `${withSign(String(Number((100 * chance).toFixed(digits))))} %`;
}

/** A number as a person wrote it: {value} or {trouble}; a decimal comma is one, and is read back. */
function readNumber(text, { unit, unit_said: called = unit, least, most, label }) {
  const seen = text.trim(), behind = [called, unit].find((each) => each && seen.toLowerCase().endsWith(each.toLowerCase()));
  const bare = behind ? seen.slice(0, -behind.length).trim() : seen;
  const allowed = unit ? say("Allowed: a number of {unit} from {least} to {most}.", { unit: called, least, most })
    : say("Allowed: a number from {least} to {most}.", { least, most });
  if (!/^[+-]?\d+([.,]\d+)?$/.test(bare)) {
    return { trouble: unit ? say("{label} = “{seen}”: not a number of {unit}. {allowed}", { label, seen, unit: called, allowed })
      : say("{label} = “{seen}”: not a number. {allowed}", { label, seen, allowed }) };
  }
  const value = Number(bare.replace(",", "."));
  if (value < least || value > most) return { trouble: say("{label} = {seen}: not plausible. {allowed}", { label, seen, allowed }) };
  return { value, readBack: say("Taken as {value}", { value: withUnit(value, called) }) };
}

/** A number as it is read, with its unit where it has one. */
const withUnit = (value, unit) => (unit ? `${withSign(String(value))} ${unit}` : withSign(String(value)));

/** A moment in this phone's time: "2026-03-01 07:30". */
function momentWords(iso) {
  const at = new Date(iso), two = (n) => String(n).padStart(2, "0");
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}`;
}
