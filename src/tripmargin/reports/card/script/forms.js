// Entries for the log, asked for on the phone: the same fields as the yard's log has.

const AFTER_TYPING = 700; // ms

/** What a person chose or typed in a form, by the field's key; kept as it is typed. */
function formPage(root, card, kind, filled) {
  const form = card.data.forms[kind], said = filled || card.recall(`form ${kind}`) || {};
  const notPassed = make("p", { class: "notice", role: "status", hidden: true },
    say("One answer is “no”: this check did not pass, and is kept so."));
  const warn = () => { notPassed.hidden = kind !== "daily check" || !boxes.some((box) => box.field.what === "yes or no" && said[box.field.key] === "no"); };
  const boxes = form.fields.map((field) => formBox(field, said, () => { card.remember(`form ${kind}`, said); warn(); }));
  warn();
  const note = make("textarea", { id: "note", maxlength: form.longest, rows: 3, on: {
    input: (event) => { said.note = event.target.value; card.remember(`form ${kind}`, said); } } });
  note.value = said.note || "";
  const answer = make("p", { class: "trouble", role: "alert" });
  const keep = () => {
    const values = {}, wrong = [];
    for (const box of boxes) {
      const found = box.read();
      if (found.trouble) wrong.push(box);
      else if (found.value !== undefined) values[box.field.key] = found.value;
    }
    if (wrong.length) {
      answer.textContent = sayMany("One answer is still to be mended above.", "{count} answers are still to be mended above.", wrong.length);
      wrong[0].element.scrollIntoView({ block: "center" });
      return;
    }
    if (!Object.keys(values).length && !(said.note || "").trim()) {
      answer.textContent = say("Nothing is entered yet.");
      return;
    }
    card.keep(kind, values, (said.note || "").trim());
    card.remember(`form ${kind}`, null);
    card.go("kept");
  };
  put(root, 
    make("h1", {}, form.title), paragraph(form.meaning),
    form.near ? cautionBox(card.data.cautions) : null,
    form.caution ? cautionBox([form.caution]) : null,
    ...(kind === "daily check" ? dailySteps(card, boxes) : boxes.map((box) => box.element)),
    boxes.some((box) => box.field.what === "text") ? null : make("div", { class: "field" }, make("label", { for: "note" }, say("Note"), " ", make("span", { class: "soft" }, say("(may stay empty)"))), note),
    notPassed, answer,
    make("div", { class: "buttons" }, button(say("Keep on this phone"), keep),
      make("a", { href: "#" }, say("Leave it"))),
  );
}

/** The daily check: its steps in order, each with what to do and what must show. */
function dailySteps(card, boxes) {
  const of = (key) => boxes.filter((box) => box.field.key === key).map((box) => box.element);
  const steps = card.data.daily.steps.map((step, k) => make("section", { class: "step" },
    make("h2", {}, stepParts(step, k + 1)),
    make("p", { class: "expect" }, make("strong", {}, say("Must show:")), " ", step.lines.join(" ")),
    of(`lamps/${step.step}`)));
  const asked = new Set(card.data.daily.steps.map((step) => `lamps/${step.step}`));
  const rest = boxes.filter((box) => !box.field.key.startsWith("lamps/") && !asked.has(box.field.key));
  return [...steps, ...card.data.daily.notes.map((line) => paragraph(line, "soft")),
    make("h2", {}, say("All in all")), rest.map((box) => box.element)];
}

/** What is done in a step of the daily check; where it is several things, each in a line: 1a, 1b. */
function stepParts({ ways, called }, number) {
  if (ways.length < 2) return `${number}. ${ways[0] || called}`;
  return ways.map((way, k) => make("span", { class: "part" }, `${number}${String.fromCharCode(97 + k)}. ${way}`));
}

/** One field: its element, and `read` that gives {value}, {trouble} or neither where it is empty. */
function formBox(field, said, changed) {
  const trouble = make("p", { class: "trouble", role: "alert" }), back = make("p", { class: "help" });
  const id = `box ${field.key}`.replace(/\W+/g, "-");
  const set = (value) => { said[field.key] = value; changed(); };
  const read = () => {
    const text = (said[field.key] || "").trim();
    let found = {};
    if (!text) found = field.required ? { trouble: say("{label}: needed, and not answered yet.", { label: field.label }) } : {};
    else if (field.what === "yes or no") found = { value: text === "yes" };
    else if (field.what === "quantity") {
      found = readNumber(text, field);
      back.textContent = found.readBack || "";
      if (found.value !== undefined) found = { value: Number((found.value * field.factor).toPrecision(12)) };
    } else found = { value: text };
    trouble.textContent = found.trouble || "";
    element.classList.toggle("wrong", Boolean(found.trouble));
    return found;
  };
  // Told a moment after the typing, not when the box is left: nothing moves under a thumb then.
  let timer = 0;
  const soon = () => { clearTimeout(timer); timer = setTimeout(read, AFTER_TYPING); };
  const choices = field.what === "yes or no" ? [["yes", say("Yes")], ["no", say("No")]] : field.choices;
  let element;
  if (choices) {
    element = make("fieldset", { class: "field" }, make("legend", {}, field.label, optional(field)),
      make("div", { class: "plates" }, choices.map(([value, text]) => make("label", {},
        make("input", { type: "radio", name: id, value, checked: said[field.key] === value,
          on: { change: () => { set(value); trouble.textContent = ""; element.classList.remove("wrong"); } } }), text))));
  } else {
    const input = make(field.what === "text" ? "textarea" : "input", { id, autocomplete: "off", maxlength: field.what === "text" ? 2000 : 200,
      inputmode: field.what === "quantity" ? "decimal" : "text",
      on: { input: (event) => { set(event.target.value); soon(); } } });
    input.value = said[field.key] || "";
    element = make("div", { class: "field" }, make("label", { for: id }, field.label, optional(field)),
      make("div", { class: "with-unit" }, input, field.unit ? make("span", { class: "unit" }, field.unit_said) : null));
  }
  if (field.help) element.append(paragraph(field.help, "help"));
  element.append(back, trouble);
  return { field, element, read };
}

const optional = (field) => (field.required ? "" : [" ", make("span", { class: "soft" }, say("(may stay empty)"))]);
