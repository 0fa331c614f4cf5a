// What is kept on this phone, and how it comes to the yard: as a file, or as codes to be read off.

const IN_A_CODE = 300; // bytes; a code of so many is read off a phone's screen at arm's length
const CODE = "TM1"; // first in every code, so that others are not taken for ours

/** The texts of the codes: a part of the records in each, with which records, which part, of how many. */
function codeTexts(text) {
  const bytes = new TextEncoder().encode(text), sum = crc32(bytes), parts = [];
  for (let from = 0; from < bytes.length;) {
    let to = Math.min(from + IN_A_CODE, bytes.length);
    while (to < bytes.length && (bytes[to] & 0xc0) === 0x80) to--; // letters stay whole
    parts.push(new TextDecoder().decode(bytes.subarray(from, to)));
    from = to;
  }
  return parts.map((part, k) => `${CODE} ${sum} ${k + 1}/${parts.length} ${part}`);
}

/** A code drawn: dark squares on white, whatever the page's colours are. */
function codeDrawn(text) {
  const rows = qrCode(text), size = rows.length + 8, ns = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(ns, "svg");
  const draw = (tag, more) => {
    const made = document.createElementNS(ns, tag);
    for (const [name, value] of Object.entries(more)) made.setAttribute(name, value);
    svg.append(made);
  };
  svg.setAttribute("viewBox", `0 0 ${size} ${size}`);
  svg.setAttribute("class", "code");
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", say("A code to be read by another device"));
  draw("rect", { width: size, height: size, fill: "#ffffff" });
  const dark = rows.flatMap((row, y) => row.map((on, x) => (on ? `M${x + 4} ${y + 4}h1v1h-1z` : ""))).join("");
  draw("path", { d: dark, fill: "#000000", "shape-rendering": "crispEdges" });
  return svg;
}

function keptPage(root, card) {
  const { all, waiting } = card.kept;
  put(root, make("h1", {}, say("Kept on this phone")), stopBox(card));
  if (!all.entries.length && !all.cases.some((each) => each.lines.length)) {
    put(root, paragraph(say("Nothing yet. What you enter in this card is listed here until it is sent.")));
    return;
  }
  const who = make("input", { id: "who", autocomplete: "name", maxlength: 60, on: {
    input: (event) => card.change((kept) => { kept.who = event.target.value.trim(); }) } });
  who.value = all.who;
  const unnamed = make("p", { class: "trouble", role: "alert" });
  card.named = () => {
    unnamed.textContent = card.kept.all.who ? "" : say("Your name: needed, and not there. The log says who did what.");
    if (!card.kept.all.who) who.focus();
    return Boolean(card.kept.all.who);
  };
  put(root, make("div", { class: "field" }, make("label", { for: "who" }, say("Your name"), " ",
    make("span", { class: "soft" }, say("(goes with what you send)"))), who, unnamed));
  const place = make("div", {});
  put(root, waiting ? sendBox(card, place, false) : make("p", { class: "notice" }, say("All of it is sent.")), place);
  put(root, make("ul", { class: "rows" }, all.entries.map((each) => entryRow(card, each)),
    all.cases.filter((each) => each.lines.length).map((each) => make("li", {},
      make("strong", {}, say("{when}: What is wrong?", { when: momentWords(each.begun) })), " ",
      sayMany("{count} answer.", "{count} answers.", each.lines.length), " ", each.sent ? say("Sent.") : say("Not sent yet.")))));
  const again = all.entries.some((each) => each.sent) || all.cases.some((each) => each.sent);
  if (again) {
    put(root, make("details", {}, make("summary", {}, say("Send all of it again")),
      paragraph(say("What the yard has already is known there by its id and is not stored twice.")),
      sendBox(card, make("div", {}), true)));
  }
}

/** When an entry was made, and what it is. */
function entryTitle(card, { kind, at }) {
  const form = card.data.forms[kind];
  return say("{when}: {kind}", { when: momentWords(at), kind: form ? form.title : kind });
}

/** What was answered to one field. */
function valueSaid(card, kind, key, value) {
  const form = card.data.forms[kind], field = form && form.fields.find((one) => one.key === key);
  const told = field ? valueWords(field, value) : String(value);
  const step = card.data.daily ? card.data.daily.steps.findIndex((one) => key === `lamps/${one.step}`) : -1;
  if (step >= 0) return say("Step {number} as expected: {value}", { number: step + 1, value: told });
  const label = field ? field.label : key;
  return label.endsWith("?") ? [label, told].join(" ") : say("{label}: {value}", { label, value: told });
}

function entryRow(card, each) {
  const said = Object.entries(each.values).map(([key, value]) => valueSaid(card, each.kind, key, value));
  const failed = each.kind === "daily check" && checkOutcome(each.values) === "failed";
  return make("li", {}, make("strong", {}, entryTitle(card, each)),
    failed ? make("p", { class: "notice" }, say("This check did not pass.")) : null,
    list(said), each.note ? paragraph(each.note) : null,
    make("p", {}, each.sent ? say("Sent.") : each.left_out ? say("Left out.") : say("Not sent yet."), " ",
      each.sent ? "" : button(each.left_out ? say("Send it after all") : say("Leave it out"), () => {
        card.change(() => { each.left_out = !each.left_out; }); card.draw(); }, "quiet")));
}

function valueWords(field, value) {
  if (field.what === "yes or no") return value ? say("yes") : say("no");
  if (field.choices) return (field.choices.find(([name]) => name === value) || [0, value])[1];
  if (field.what === "quantity") return withUnit(Number((value / field.factor).toPrecision(6)), field.unit_said);
  return String(value);
}

/** The ways to send; it counts as sent only when a person says that it arrived. */
function sendBox(card, place, again) {
  const text = () => JSON.stringify(card.kept.records(card.data.machine, { again }));
  const arrived = make("div", {}, paragraph(say("When the yard's log has taken it:")),
    button(say("It has arrived"), () => { card.kept.sent(); card.draw(); }));
  const file = () => {
    const name = `card-${card.data.machine.replace(/[^\w-]+/g, "-")}-${new Date().toISOString().slice(0, 16).replace(/\D/g, "")}.json`;
    const link = make("a", { download: name, href: URL.createObjectURL(new Blob([text()], { type: "application/json" })) });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    place.replaceChildren(paragraph(say("Saved as {name}. Bring the file to the yard: “Import” on the log's page, or: tripmargin log import {name}", { name })), arrived);
  };
  const codes = () => place.replaceChildren(codesBox(codeTexts(text())), arrived);
  return make("section", {}, make("h2", {}, again ? say("Again") : say("Bring it to the yard")),
    make("div", { class: "buttons" }, button(say("As a file"), () => card.named() && file()),
      button(say("As codes"), () => card.named() && codes(), "second")), again ? place : null);
}

function codesBox(texts) {
  let at = 0;
  const where = make("p", { role: "status" }), drawn = make("div", {}), written = make("code", { class: "text" });
  const show = (k) => {
    at = (k + texts.length) % texts.length;
    where.textContent = say("Code {number} of {count}", { number: at + 1, count: texts.length });
    drawn.replaceChildren(codeDrawn(texts[at]));
    written.textContent = texts[at];
  };
  show(0);
  return make("section", { class: "codes" },
    paragraph(texts.length > 1 ? say("Photograph each code, or scan it with any reader. The order does not matter.") : say("Photograph the code, or scan it with any reader.")),
    where, drawn, texts.length > 1 ? make("div", { class: "buttons" }, button(sayAs("code", "Before"), () => show(at - 1), "second"),
      button(sayAs("code", "Next"), () => show(at + 1), "second")) : null,
    make("details", {}, make("summary", {}, say("The code's text")), written));
}
