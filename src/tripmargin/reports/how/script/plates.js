// Big plates, one of which is picked.

/** A group of radio plates; `then` is told the value. */
function plates(name, title, choices, picked, then, note) {
  const boxes = choices.map(({ value, words }) => make("label", {},
    make("input", { type: "radio", name, value, checked: value === picked, on: { change: () => then(value) } }),
    make("span", {}, words)));
  return make("fieldset", { "data-group": name }, make("legend", {}, title),
    note ? make("p", { class: "soft" }, note) : null, make("div", { class: "plates" }, boxes));
}

/** Set what a group shows as picked, without telling anybody. */
function pick(group, value) {
  for (const box of group.querySelectorAll("input")) box.checked = box.value === value;
}
